//! A program in a terminal: what it draws, and keys for it.

use std::path::Path;
use std::process::Stdio;

use anyhow::{Context as _, Result, bail};
use tokio::io::{AsyncReadExt as _, AsyncWriteExt as _};
use tokio::process::{Child, ChildStdin, ChildStdout, Command};
use tokio::time::timeout;

use crate::DEADLINE;

const ROWS: usize = 24;
const COLUMNS: usize = 80;

/// A program in a terminal of 80 by 24, which `script` of util-linux lends it.
#[derive(Debug)]
pub struct Terminal {
    child: Child,
    keys: ChildStdin,
    out: ChildStdout,
    screen: Screen,
}

impl Terminal {
    /// Starts a program with its files under `home`.
    pub fn start(program: &Path, arguments: &[&str], home: &Path) -> Result<Self> {
        let quoted = |word: &str| format!("'{word}'");
        let words = [program.to_str().context("an odd path")?].into_iter();
        let words: Vec<String> = words.chain(arguments.iter().copied()).map(quoted).collect();
        let command = format!("stty rows {ROWS} cols {COLUMNS} && exec {}", words.join(" "));
        let mut child = Command::new("script")
            .args(["--quiet", "--flush", "--return", "--command", &command, "/dev/null"])
            .env("TERM", "xterm-256color")
            .env("HOME", home)
            .env("XDG_DATA_HOME", home.join("data"))
            .env("XDG_STATE_HOME", home.join("state"))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .kill_on_drop(true)
            .spawn()
            .context("cannot run script (of util-linux)")?;
        let keys = child.stdin.take().context("no keys")?;
        let out = child.stdout.take().context("no output")?;
        Ok(Self { child, keys, out, screen: Screen::default() })
    }

    /// Types keys: `\r` is Enter.
    pub async fn keys(&mut self, keys: &str) -> Result<()> {
        self.keys.write_all(keys.as_bytes()).await?;
        Ok(self.keys.flush().await?)
    }

    /// The screen, once it shows this.
    pub async fn until(&mut self, shown: &str) -> Result<String> {
        let is_shown = async {
            while !self.screen.text().contains(shown) && self.more().await? {}
            Ok::<_, anyhow::Error>(())
        };
        // A clock on the screen goes on drawing, so the whole wait has one deadline.
        let end = timeout(DEADLINE, is_shown).await;
        let text = self.screen.text();
        match end {
            Ok(read) if text.contains(shown) => read.map(|()| text),
            _ => bail!("`{shown}` is not shown; the screen was\n{text}"),
        }
    }

    /// Waits until the program ends; its exit code.
    pub async fn ended(&mut self) -> Result<Option<i32>> {
        let end = async {
            while self.more().await? {}
            Ok::<_, anyhow::Error>(self.child.wait().await?.code())
        };
        timeout(DEADLINE, end).await.context("it does not end")?
    }

    async fn more(&mut self) -> Result<bool> {
        let mut bytes = [0; 4096];
        let count = self.out.read(&mut bytes).await?;
        self.screen.feed(&bytes[..count]);
        Ok(count > 0)
    }
}

/// As much of a terminal (ECMA-48) as programs here use: placing, clearing and writing; colours are
/// passed by.
#[derive(Debug)]
struct Screen {
    cells: [[char; COLUMNS]; ROWS],
    row: usize,
    column: usize,
    /// What came and is not whole yet.
    pending: Vec<u8>,
}

impl Default for Screen {
    fn default() -> Self {
        Self { cells: [[' '; COLUMNS]; ROWS], row: 0, column: 0, pending: Vec::new() }
    }
}

impl Screen {
    fn text(&self) -> String {
        let line = |row: &[char; COLUMNS]| row.iter().collect::<String>().trim_end().to_owned();
        self.cells.iter().map(line).collect::<Vec<_>>().join("\n")
    }

    fn feed(&mut self, bytes: &[u8]) {
        self.pending.extend(bytes);
        let pending = std::mem::take(&mut self.pending);
        let whole = pending.utf8_chunks().next().map_or("", |chunk| chunk.valid());
        let mut rest = whole;
        while let Some(length) = self.draw(rest) {
            rest = &rest[length..];
        }
        let used = whole.len() - rest.len();
        self.pending = pending[used..].to_vec();
    }

    /// Draws what `text` begins with; how many bytes that was, or `None` if it is not whole.
    fn draw(&mut self, text: &str) -> Option<usize> {
        let first = text.chars().next()?;
        match first {
            '\u{1b}' => return self.escape(text),
            '\r' => self.column = 0,
            '\n' => self.row = (self.row + 1).min(ROWS - 1),
            _ => {
                if let Some(cell) = self.cells[self.row].get_mut(self.column) {
                    *cell = first;
                    self.column += 1;
                }
            }
        }
        Some(first.len_utf8())
    }

    fn escape(&mut self, text: &str) -> Option<usize> {
        match text.chars().nth(1)? {
            '[' => {
                let end = 2 + text[2..].find(|c| ('@'..='~').contains(&c))?;
                self.control(&text[2..end], text[end..].chars().next()?);
                Some(end + 1)
            }
            ']' => Some(text.find('\u{7}')? + 1),
            '(' => text.char_indices().nth(3).map(|(at, _)| at).or(Some(text.len())),
            other => Some(1 + other.len_utf8()),
        }
    }

    fn control(&mut self, numbers: &str, what: char) {
        match (what, numbers) {
            ('H', _) => {
                let mut places = numbers.split(';').map(|place| place.parse().unwrap_or(1_usize));
                let mut next = |most: usize| places.next().unwrap_or(1).clamp(1, most) - 1;
                (self.row, self.column) = (next(ROWS), next(COLUMNS));
            }
            ('J', "2") | ('h', "?1049") => self.cells = [[' '; COLUMNS]; ROWS],
            ('K', "" | "0") => self.cells[self.row][self.column..].fill(' '),
            _ => {}
        }
    }
}
