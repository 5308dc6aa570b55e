//! Study groups that students open by themselves: whether, how many, and which seat opened which.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use myonym_wire::{ErrorCode, JoinWord, Pace, ReviewSettings, SeatToken};

use crate::metrics::{COUNTS, Limit};
use crate::reviews::{OpenFault, Reviews};
use crate::room::RoomHandle;
use crate::secrets::TokenHash;

/// Study groups at once.
pub(crate) const GROUPS: usize = 200;

/// Why a study group does not open.
#[derive(Debug, thiserror::Error)]
pub(crate) enum GatherFault {
    /// This server takes none.
    #[error("this server takes no study groups; ask whoever runs it")]
    NotTaken,
    /// The pace is not a study group's.
    #[error("the pace of a study group is `group`")]
    Pace,
    /// Rounds chosen by what the class answered before are for an instructor to ask for.
    #[error("a study group is not adaptive: its rounds are drawn")]
    Adaptive,
    /// A section is the instructor's to name.
    #[error("a study group belongs to no section")]
    Section,
    /// There are as many as can be.
    #[error("this server has {GROUPS} study groups and takes no more just now; try again later")]
    Full,
    /// Too many came from one address.
    #[error("too many study groups were opened from here; wait a minute and try again")]
    TooFast,
    /// As for any review.
    #[error(transparent)]
    Open(#[from] OpenFault),
}

impl GatherFault {
    /// The refusal that a client gets.
    pub(crate) fn code(&self) -> ErrorCode {
        match self {
            Self::NotTaken => ErrorCode::NotAllowed,
            Self::Pace | Self::Adaptive | Self::Section => ErrorCode::BadField,
            Self::Full | Self::TooFast => ErrorCode::SlowDown,
            Self::Open(fault) => fault.code(),
        }
    }
}

/// Which seat opened which study group, so that a wish that is sent again opens no second one.
#[derive(Debug, Default)]
pub(crate) struct Gathered {
    by_seat: Mutex<BTreeMap<TokenHash, JoinWord>>,
}

impl Gathered {
    /// Remembers seats of a study group that is taken up.
    pub(crate) fn remember(&self, word: &JoinWord, seats: impl Iterator<Item = TokenHash>) {
        let mut by_seat = self.by_seat.lock().unwrap_or_else(PoisonError::into_inner);
        by_seat.extend(seats.map(|seat| (seat, word.clone())));
    }

    /// Forgets a study group whose room is closed.
    pub(crate) fn forget(&self, word: &JoinWord) {
        let mut by_seat = self.by_seat.lock().unwrap_or_else(PoisonError::into_inner);
        by_seat.retain(|_, kept| kept != word);
    }
}

impl Reviews {
    /// The study group that this seat opened, or a new one. `is_fast` says whether too many were
    /// opened from the same place.
    pub(crate) fn gather(
        self: &Arc<Self>,
        settings: &ReviewSettings,
        seat: Option<&SeatToken>,
        is_fast: bool,
    ) -> Result<Gathering, GatherFault> {
        let seat = seat.map(|seat| TokenHash::of(seat.reveal()));
        // Held until the group is open: the same wish may come twice at once.
        let mut by_seat = self.gathered.by_seat.lock().unwrap_or_else(PoisonError::into_inner);
        let known = seat.and_then(|seat| by_seat.get(&seat)).and_then(|word| self.room(word));
        if let Some(room) = known {
            return Ok(Gathering { room, is_new: false });
        }
        self.may_gather(settings, is_fast)?;
        let (room, _) = self.open(settings, None)?;
        if let Some(seat) = seat {
            by_seat.insert(seat, room.word.clone());
        }
        Ok(Gathering { room, is_new: true })
    }

    fn may_gather(&self, settings: &ReviewSettings, is_fast: bool) -> Result<(), GatherFault> {
        if !self.takes_groups {
            return Err(GatherFault::NotTaken);
        }
        if !matches!(settings.pace, Pace::Group { .. }) {
            return Err(GatherFault::Pace);
        }
        if settings.adaptive {
            return Err(GatherFault::Adaptive);
        }
        if settings.section.is_some() {
            return Err(GatherFault::Section);
        }
        if is_fast {
            COUNTS.limits.one(Limit::Gatherings);
            return Err(GatherFault::TooFast);
        }
        if self.groups() >= GROUPS {
            COUNTS.limits.one(Limit::Groups);
            return Err(GatherFault::Full);
        }
        Ok(())
    }
}

/// A study group, found or opened.
#[derive(Debug)]
pub(crate) struct Gathering {
    /// Its room.
    pub(crate) room: RoomHandle,
    /// Whether it was opened just now.
    pub(crate) is_new: bool,
}
