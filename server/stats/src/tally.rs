//! So many of so many.

/// `hits` of `of` trials; never more hits than trials.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    hits: u32,
    of: u32,
}

impl Tally {
    /// `None` if there are more hits than trials.
    pub const fn new(hits: u32, of: u32) -> Option<Self> {
        if hits > of { None } else { Some(Self { hits, of }) }
    }

    /// How many hit.
    pub const fn hits(self) -> u32 {
        self.hits
    }

    /// How many did not.
    pub const fn misses(self) -> u32 {
        self.of - self.hits
    }

    /// Number of trials.
    pub const fn of(self) -> u32 {
        self.of
    }

    /// Hits by trials; `None` of no trials.
    pub fn rate(self) -> Option<f64> {
        (self.of > 0).then(|| f64::from(self.hits) / f64::from(self.of))
    }

    /// Both tallies as one. Of a pair that is confused in both directions this is the pair index,
    /// `(n_ab + n_ba) / (N_a + N_b)`. `None` past 2³² trials.
    pub fn together(self, other: Self) -> Option<Self> {
        let of = self.of.checked_add(other.of)?;
        Some(Self { hits: self.hits + other.hits, of })
    }
}
