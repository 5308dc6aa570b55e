//! A log that is on disk before anyone is told of what stands in it, with the least that this takes:
//! the words of the client as they came, in a file that was laid out beforehand.

use std::fs::File;
use std::io::{self, Seek, SeekFrom, Write};
use std::path::Path;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

use anyhow::Context;

use super::Peer;

/// Least time from the beginning of one commit to that of the next, as the server's log has it: what
/// comes alone is committed at once.
const PAUSE: Duration = Duration::from_millis(4);
/// Length of the file, which is written from the start again when it is full: a file that grows costs
/// more to sync.
const LENGTH: usize = 4 * 1_024 * 1_024;

/// The way to the thread that writes.
#[derive(Debug)]
pub(super) struct Ledger<P: Peer>(Sender<Entry<P>>);

/// What happened, and what follows once it is on disk.
#[derive(Debug)]
struct Entry<P: Peer> {
    happened: String,
    to: Vec<Arc<P>>,
    told: P::Parcel,
}

impl<P: Peer> Ledger<P> {
    /// A log in a new file. Its thread ends with it.
    pub(super) fn new(path: &Path) -> anyhow::Result<Self> {
        let file = lay_out(path).with_context(|| format!("cannot write {}", path.display()))?;
        let (entries, queue) = channel();
        thread::Builder::new().name("ledger".to_owned()).spawn(move || {
            if let Err(fault) = write(file, &queue) {
                // Who waits for it is never told, which the report of the run shows.
                eprintln!("the ledger ended: {fault}");
            }
        })?;
        Ok(Self(entries))
    }

    /// Tells some when it is on disk.
    pub(super) fn keep(
        &self,
        happened: &str,
        to: Vec<Arc<P>>,
        told: &P::Parcel,
    ) -> anyhow::Result<()> {
        let entry = Entry { happened: happened.to_owned(), to, told: told.clone() };
        self.0.send(entry).ok().context("the ledger has ended")
    }
}

fn lay_out(path: &Path) -> io::Result<File> {
    let mut file = File::create_new(path)?;
    file.write_all(&vec![0; LENGTH])?;
    file.sync_all()?;
    file.rewind()?;
    Ok(file)
}

fn write<P: Peer>(mut file: File, queue: &Receiver<Entry<P>>) -> io::Result<()> {
    let mut began: Option<Instant> = None;
    let mut lines = Vec::new();
    while let Ok(first) = queue.recv() {
        if let Some(began) = began {
            thread::sleep(PAUSE.saturating_sub(began.elapsed()));
        }
        began = Some(Instant::now());
        let entries: Vec<_> = std::iter::once(first).chain(queue.try_iter()).collect();
        lines.clear();
        for Entry { happened, .. } in &entries {
            lines.extend_from_slice(happened.as_bytes());
            lines.push(b'\n');
        }
        if file.stream_position()? + lines.len() as u64 > LENGTH as u64 {
            file.seek(SeekFrom::Start(0))?;
        }
        file.write_all(&lines)?;
        file.sync_data()?;
        for Entry { to, told, .. } in entries {
            for peer in to {
                peer.send(&told);
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::path::PathBuf;
    use std::sync::mpsc::Receiver;

    use super::*;

    /// Someone who looks into the file whenever something is told.
    #[derive(Debug)]
    struct Reader {
        path: PathBuf,
        seen: Sender<(String, String)>,
    }

    impl Peer for Reader {
        type Parcel = String;

        fn pack(text: &str) -> String {
            text.to_owned()
        }

        fn send(&self, told: &String) {
            let text = std::fs::read_to_string(&self.path).unwrap();
            let kept = text.trim_end_matches('\0').to_owned();
            self.seen.send((kept, told.clone())).unwrap();
        }
    }

    #[test]
    fn what_is_told_stands_in_the_file() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ledger");
        let (seen, sights): (_, Receiver<(String, String)>) = channel();
        let reader = Arc::new(Reader { path: path.clone(), seen });
        let ledger = Ledger::new(&path).unwrap();
        for n in 1..=3 {
            let to = vec![reader.clone(); 2];
            ledger.keep(&format!("answer {n}"), to, &format!("recorded {n}")).unwrap();
        }
        for n in [1, 1, 2, 2, 3, 3] {
            let (kept, told) = sights.recv().unwrap();
            assert_eq!(told, format!("recorded {n}"));
            assert!(kept.contains(&format!("answer {n}\n")), "{kept}");
        }
        assert!(Ledger::<Reader>::new(&path).is_err(), "another's file is not written over");
    }
}
