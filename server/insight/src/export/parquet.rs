//! Answers as one Parquet file: a row each, for notebooks and databases.
//!
//! The format: Apache Parquet (parquet-format 2). Strings are UTF-8, times are milliseconds in UTC,
//! only `section` and `answer` may be missing. What each column holds stands in the file's own
//! key-value metadata, under `column.` and its name.

use std::io::Write;
use std::sync::Arc;

use parquet::basic::{LogicalType, Repetition, TimeUnit, Type as Physical};
use parquet::data_type::{BoolType, ByteArray, ByteArrayType, DataType, DoubleType, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedColumnWriter, SerializedFileWriter};
use parquet::schema::types::Type;

use super::{AnswerRecord, ExportError};

/// Rows are held until there are this many, then written as a row group: some megabytes at most,
/// however long the export.
pub const ROWS_OF_A_GROUP: usize = 16_384;

/// Writes the answers as a Parquet file and says how many they are.
pub fn write(
    records: impl IntoIterator<Item = AnswerRecord>,
    to: &mut (impl Write + Send),
) -> Result<u64, ExportError> {
    let mut file = SerializedFileWriter::new(to, Arc::new(schema()?), Arc::new(properties()))?;
    let mut records = records.into_iter();
    let mut written = 0;
    loop {
        let group: Vec<AnswerRecord> = records.by_ref().take(ROWS_OF_A_GROUP).collect();
        if group.is_empty() {
            break;
        }
        let mut row_group = file.next_row_group()?;
        for (_, _, values) in &COLUMNS {
            if let Some(mut column) = row_group.next_column()? {
                values.write(&group, &mut column)?;
                column.close()?;
            }
        }
        row_group.close()?;
        written += u64::try_from(group.len()).unwrap_or(u64::MAX);
    }
    file.close()?;
    Ok(written)
}

/// Name, what it holds, and where it comes from.
type Column = (&'static str, &'static str, Values);

/// How a column comes out of a record.
enum Values {
    Text(fn(&AnswerRecord) -> String),
    MaybeText(fn(&AnswerRecord) -> Option<String>),
    Flag(fn(&AnswerRecord) -> bool),
    Whole(fn(&AnswerRecord) -> i64),
    Moment(fn(&AnswerRecord) -> i64),
    Real(fn(&AnswerRecord) -> f64),
}

const COLUMNS: [Column; 17] = [
    (
        "pseudonym",
        "stands for one student, the same in every row of theirs",
        Values::Text(|record| record.pseudonym.clone()),
    ),
    ("review", "id of the review (UUID)", Values::Text(|record| record.review.to_string())),
    (
        "section",
        "section of the course that the review was held for",
        Values::MaybeText(|record| record.section.clone()),
    ),
    ("list", "name of the muscle list", Values::Text(|record| record.list.clone())),
    ("round", "number of the round in the review, from 1", Values::Whole(|r| i64::from(r.round.0))),
    (
        "task",
        "what was asked for: name (from clues), picture (a name from a picture), movement",
        Values::Text(|record| record.task_key().to_owned()),
    ),
    ("asked_key", "key of the muscle asked", Values::Text(|r| r.asked.key.as_str().to_owned())),
    ("asked", "name of the muscle asked", Values::Text(|record| record.asked.name.clone())),
    (
        "answer",
        "the muscle or movement answered; missing if what was typed is none",
        Values::MaybeText(|record| record.answer.clone()),
    ),
    ("is_right", "whether the answer was right", Values::Flag(|record| record.right)),
    ("score_raw", "points earned", Values::Real(|record| record.score.raw())),
    ("score_min", "fewest points possible", Values::Real(|record| record.score.min())),
    ("score_max", "most points possible", Values::Real(|record| record.score.max())),
    ("score_scaled", "points from -1 to 1", Values::Real(|record| record.score.scaled())),
    (
        "elapsed_ms",
        "elapsed time credited, in milliseconds",
        Values::Whole(|record| whole(record.elapsed_ms)),
    ),
    (
        "into_review_ms",
        "when the answer came, in milliseconds since the review opened",
        Values::Whole(|record| whole(record.at_ms)),
    ),
    ("answered_at", "when the answer came, UTC", Values::Moment(AnswerRecord::moment_ms)),
];

fn whole(number: u64) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

fn schema() -> Result<Type, ParquetError> {
    let fields = COLUMNS.iter().map(|(name, _, values)| values.field(name).map(Arc::new));
    Type::group_type_builder("answers").with_fields(fields.collect::<Result<_, _>>()?).build()
}

fn properties() -> WriterProperties {
    let documented =
        |(name, holds, _): &Column| KeyValue::new(format!("column.{name}"), (*holds).to_owned());
    WriterProperties::builder()
        .set_created_by(concat!("Myonym version ", env!("CARGO_PKG_VERSION")).to_owned())
        .set_key_value_metadata(Some(COLUMNS.iter().map(documented).collect()))
        .build()
}

impl Values {
    fn field(&self, name: &str) -> Result<Type, ParquetError> {
        let utc = LogicalType::timestamp(true, TimeUnit::MILLIS);
        let (physical, logical) = match self {
            Self::Text(_) | Self::MaybeText(_) => (Physical::BYTE_ARRAY, Some(LogicalType::String)),
            Self::Flag(_) => (Physical::BOOLEAN, None),
            Self::Whole(_) => (Physical::INT64, None),
            Self::Moment(_) => (Physical::INT64, Some(utc)),
            Self::Real(_) => (Physical::DOUBLE, None),
        };
        let repetition = match self {
            Self::MaybeText(_) => Repetition::OPTIONAL,
            Self::Text(_) | Self::Flag(_) | Self::Whole(_) | Self::Moment(_) | Self::Real(_) => {
                Repetition::REQUIRED
            }
        };
        Type::primitive_type_builder(name, physical)
            .with_logical_type(logical)
            .with_repetition(repetition)
            .build()
    }

    fn write(
        &self,
        rows: &[AnswerRecord],
        column: &mut SerializedColumnWriter<'_>,
    ) -> Result<(), ParquetError> {
        let bytes = |text: String| ByteArray::from(text.into_bytes());
        match self {
            Self::Text(of) => {
                let texts: Vec<ByteArray> = rows.iter().map(|row| bytes(of(row))).collect();
                all::<ByteArrayType>(column, &texts, None)
            }
            Self::MaybeText(of) => {
                let texts: Vec<Option<String>> = rows.iter().map(of).collect();
                let levels: Vec<i16> = texts.iter().map(|text| i16::from(text.is_some())).collect();
                let there: Vec<ByteArray> = texts.into_iter().flatten().map(bytes).collect();
                all::<ByteArrayType>(column, &there, Some(&levels))
            }
            Self::Flag(of) => {
                all::<BoolType>(column, &rows.iter().map(of).collect::<Vec<_>>(), None)
            }
            Self::Whole(of) | Self::Moment(of) => {
                all::<Int64Type>(column, &rows.iter().map(of).collect::<Vec<_>>(), None)
            }
            Self::Real(of) => {
                all::<DoubleType>(column, &rows.iter().map(of).collect::<Vec<_>>(), None)
            }
        }
    }
}

/// Writes all values of a column; `levels` say which rows have one.
fn all<T: DataType>(
    column: &mut SerializedColumnWriter<'_>,
    values: &[T::T],
    levels: Option<&[i16]>,
) -> Result<(), ParquetError> {
    column.typed::<T>().write_batch(values, levels, None).map(|_| ())
}
