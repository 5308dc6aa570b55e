//! The seat kept on disk, so that a terminal that was killed comes back to the same seat.
//!
//! One small file for each address and join word, in the user's own state folder, readable by the
//! user alone. It holds names and seat tokens; nothing else of a review is ever written here.

use std::fs;
use std::io::{self, Write as _};
use std::path::PathBuf;

use myonym_wire::{JoinWord, SeatToken};
use serde::{Deserialize, Serialize};

/// Whose seat, and in which review, as the student reaches it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct SeatPlace {
    /// Host and port.
    pub(crate) address: String,
    /// Whether it is reached by TLS; a seat is the same either way.
    pub(crate) secure: bool,
    /// The join word.
    pub(crate) word: JoinWord,
    /// The name that is asked for. Without one, a seat is found only if it is the only one, so
    /// that students at one computer do not take each other's.
    pub(crate) name: Option<String>,
}

/// What is needed to come back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct KeptSeat {
    /// The name that was asked for.
    pub(crate) name: String,
    /// The token.
    pub(crate) seat: SeatToken,
}

/// The folder of kept seats. Every fault in it is harmless: the seat is then kept in memory only.
#[derive(Debug, Clone)]
pub(crate) struct SeatFolder(Option<PathBuf>);

impl SeatFolder {
    /// The user's own folder, if the platform has one.
    pub(crate) fn of_user() -> Self {
        let dirs = directories::ProjectDirs::from("", "", "myonym");
        Self(
            dirs.map(|dirs| {
                dirs.state_dir().unwrap_or_else(|| dirs.data_local_dir()).join("seats")
            }),
        )
    }

    /// A folder at a given place.
    #[cfg(test)]
    pub(crate) fn at(path: PathBuf) -> Self {
        Self(Some(path))
    }

    /// The seat kept for a place.
    pub(crate) fn find(&self, place: &SeatPlace) -> Option<KeptSeat> {
        let mut seats = self.seats(place);
        match &place.name {
            Some(name) => seats.into_iter().find(|seat| seat.name == *name),
            None if seats.len() == 1 => seats.pop(),
            None => None,
        }
    }

    /// Keeps a seat; an older one under the same name goes.
    pub(crate) fn keep(&self, place: &SeatPlace, seat: KeptSeat) {
        let mut seats = self.seats(place);
        seats.retain(|other| other.name != seat.name);
        seats.push(seat);
        seats.drain(..seats.len().saturating_sub(MOST_SEATS));
        self.write(place, &seats);
    }

    /// Forgets the seat of a place.
    pub(crate) fn forget(&self, place: &SeatPlace) {
        let mut seats = self.seats(place);
        seats.retain(|seat| place.name.as_ref().is_some_and(|name| seat.name != *name));
        self.write(place, &seats);
    }

    fn seats(&self, place: &SeatPlace) -> Vec<KeptSeat> {
        let text = self.file(place).and_then(|file| fs::read_to_string(file).ok());
        text.and_then(|text| serde_json::from_str(&text).ok()).unwrap_or_default()
    }

    fn write(&self, place: &SeatPlace, seats: &[KeptSeat]) {
        if let Err(error) = self.try_write(place, seats) {
            tracing::warn!(%error, "the seat is not kept on disk");
        }
    }

    fn try_write(&self, place: &SeatPlace, seats: &[KeptSeat]) -> io::Result<()> {
        let (Some(folder), Some(file)) = (&self.0, self.file(place)) else { return Ok(()) };
        fs::create_dir_all(folder)?;
        // Written beside and then moved, so that a half-written file is never read.
        let fresh = file.with_extension(format!("new{}", std::process::id()));
        let mut options = fs::OpenOptions::new();
        options.write(true).create(true).truncate(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        let mut out = options.open(&fresh)?;
        out.write_all(serde_json::to_string(seats)?.as_bytes())?;
        out.sync_all()?;
        fs::rename(&fresh, &file)
    }

    fn file(&self, place: &SeatPlace) -> Option<PathBuf> {
        // The address may hold signs that a file name must not; `%` and the sign's number keep
        // two addresses apart.
        let spelt = |c: char| {
            let plain = c.is_ascii_alphanumeric() || c == '-';
            if plain { c.to_string() } else { format!("%{:02x}", u32::from(c)) }
        };
        let name: String = place.address.to_ascii_lowercase().chars().map(spelt).collect();
        self.0.as_ref().map(|folder| folder.join(format!("{name}+{}.json", place.word)))
    }
}

/// Seats kept for one review; a computer room with one account is smaller.
const MOST_SEATS: usize = 64;

#[cfg(test)]
mod tests {
    use super::*;

    fn place(address: &str, word: &str) -> SeatPlace {
        let (address, word) = (address.to_owned(), word.parse().unwrap());
        SeatPlace { address, secure: false, word, name: None }
    }

    fn named(name: &str) -> SeatPlace {
        SeatPlace { name: Some(name.to_owned()), ..place("192.0.2.7:7645", "radius-talus") }
    }

    fn seat(name: &str, bits: u128) -> KeptSeat {
        KeptSeat { name: name.to_owned(), seat: SeatToken::from_bits(bits) }
    }

    #[test]
    fn a_seat_is_found_at_its_own_place_only() {
        let folder = tempfile::tempdir().unwrap();
        let seats = SeatFolder::at(folder.path().join("deep/seats"));
        let here = place("[2001:db8::7]:7645", "radius-talus");
        assert_eq!(seats.find(&here), None);
        seats.keep(&here, seat("Ana", 1));
        seats.keep(&here, seat("Ana", 2));
        assert_eq!(seats.find(&here), Some(seat("Ana", 2)));
        assert_eq!(seats.find(&place("[2001:db8::7]:7646", "radius-talus")), None);
        assert_eq!(seats.find(&place("[2001:db8::7]:7645", "radius-ulna")), None);
        seats.forget(&here);
        assert_eq!(seats.find(&here), None);
    }

    #[test]
    fn students_at_one_computer_keep_their_own_seats() {
        let folder = tempfile::tempdir().unwrap();
        let seats = SeatFolder::at(folder.path().to_owned());
        seats.keep(&named("Ana"), seat("Ana", 1));
        assert_eq!(seats.find(&SeatPlace { name: None, ..named("") }), Some(seat("Ana", 1)));
        seats.keep(&named("Ben"), seat("Ben", 2));
        assert_eq!(seats.find(&named("Ana")), Some(seat("Ana", 1)));
        assert_eq!(seats.find(&named("Ben")), Some(seat("Ben", 2)));
        assert_eq!(seats.find(&named("Zoe")), None);
        // Whose seat it would be cannot be told.
        assert_eq!(seats.find(&SeatPlace { name: None, ..named("") }), None);
        seats.forget(&named("Ana"));
        assert_eq!(seats.find(&named("Ana")), None);
        assert_eq!(seats.find(&named("Ben")), Some(seat("Ben", 2)));
    }

    #[test]
    fn a_review_keeps_a_bounded_number_of_seats() {
        let folder = tempfile::tempdir().unwrap();
        let seats = SeatFolder::at(folder.path().to_owned());
        for number in 0..=MOST_SEATS {
            seats.keep(&named(""), seat(&number.to_string(), number as u128));
        }
        assert_eq!(seats.find(&named("0")), None);
        assert!(seats.find(&named("1")).is_some());
    }

    #[test]
    fn a_spoilt_file_is_no_seat() {
        let folder = tempfile::tempdir().unwrap();
        let seats = SeatFolder::at(folder.path().to_owned());
        let here = place("192.0.2.7:7645", "radius-talus");
        for text in ["", "{", "{\"name\":\"A\",\"seat\":\"short\"}", "\u{0}"] {
            fs::write(seats.file(&here).unwrap(), text).unwrap();
            assert_eq!(seats.find(&here), None, "{text:?}");
        }
    }

    #[cfg(unix)]
    #[test]
    fn nobody_else_may_read_it() {
        use std::os::unix::fs::PermissionsExt as _;
        let folder = tempfile::tempdir().unwrap();
        let seats = SeatFolder::at(folder.path().to_owned());
        let here = place("192.0.2.7:7645", "radius-talus");
        seats.keep(&here, seat("Ana", 1));
        let mode = fs::metadata(seats.file(&here).unwrap()).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
    }

    #[test]
    fn without_a_folder_nothing_is_kept_and_nothing_fails() {
        let seats = SeatFolder(None);
        let here = place("192.0.2.7:7645", "radius-talus");
        seats.keep(&here, seat("Ana", 1));
        seats.forget(&here);
        assert_eq!(seats.find(&here), None);
    }
}
