//! Answers handed on to other programs, one by one and under pseudonyms.
//!
//! Nothing here knows who a pseudonym is, and nothing here reads a file or a clock: records come
//! in, bytes go to a writer.

pub mod parquet;
mod record;
pub mod xapi;

use std::io;

use thiserror::Error;

pub use record::{AnswerRecord, Score};

/// Why an export stopped.
#[derive(Debug, Error)]
pub enum ExportError {
    /// The writer failed.
    #[error("cannot write the export")]
    Write(#[from] io::Error),
    /// A statement is no JSON.
    #[error("cannot write a statement")]
    Json(#[from] serde_json::Error),
    /// The Parquet file cannot be made.
    #[error("cannot write the table")]
    Parquet(#[from] ::parquet::errors::ParquetError),
}
