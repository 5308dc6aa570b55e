//! Writes the sample pages of the tests into a folder, to look at and to print:
//! `cargo run -p myonym-insight --example pages -- FOLDER`.

use std::path::PathBuf;
use std::{env, fs, io};

use myonym_insight::render::analysis;

#[expect(unreachable_pub, reason = "shared with the tests, which a crate of their own holds")]
#[path = "../tests/insight/samples/mod.rs"]
mod samples;

fn main() -> io::Result<()> {
    let folder = PathBuf::from(env::args().nth(1).unwrap_or_else(|| ".".to_owned()));
    fs::create_dir_all(&folder)?;
    for (name, found) in samples::all() {
        fs::write(folder.join(format!("{name}.html")), analysis::html(&found))?;
        fs::write(folder.join(format!("{name}.txt")), analysis::terminal(&found, 80))?;
        fs::write(folder.join(format!("{name}.json")), analysis::json(&found))?;
        let table = analysis::csv(&found).map_err(io::Error::other)?;
        fs::write(folder.join(format!("{name}.csv")), table)?;
    }
    Ok(())
}
