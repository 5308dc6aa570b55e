//! What a run is asked to do.

use anyhow::{Result, ensure};
use clap::{Parser, ValueEnum};

/// Breaks things under the real program and counts what is lost.
#[derive(Debug, Parser)]
#[expect(clippy::struct_excessive_bools, reason = "switches of a command line")]
pub(crate) struct Options {
    /// What random moments and places follow from
    #[arg(long, default_value_t = 1)]
    seed: u64,

    /// Only the fault of this name
    #[arg(long, value_name = "NAME")]
    only: Option<String>,

    /// How often each is tried
    #[arg(long, value_enum, default_value_t = Size::Short)]
    size: Size,

    /// Only faults with this in their names, as `cargo test` filters its tests
    filter: Option<String>,

    /// Taken for the sake of `cargo test`, and of no effect
    #[arg(long, hide = true)]
    nocapture: bool,

    /// Taken for the sake of `cargo test`, and of no effect
    #[arg(long, hide = true)]
    exact: bool,

    /// Taken for the sake of `cargo test`, and of no effect
    #[arg(long, short, hide = true)]
    quiet: bool,

    /// Taken for the sake of `cargo test`, and of no effect
    #[arg(long, hide = true)]
    test_threads: Option<usize>,

    /// Names no test: for runners that would start them one by one
    #[arg(long, hide = true)]
    list: bool,

    /// Taken for the sake of such runners
    #[arg(long, hide = true)]
    format: Option<String>,

    /// Taken for the sake of such runners
    #[arg(long, hide = true)]
    ignored: bool,
}

/// How often each fault is tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Size {
    /// A few times, with every `cargo test`.
    Short,
    /// As often as it takes to believe the numbers; what this machine does not allow is a failure.
    Whole,
}

/// What a fault is given.
#[derive(Debug, Clone)]
pub(crate) struct Given {
    /// How often.
    pub(crate) size: Size,
    /// What everything random follows from.
    pub(crate) seed: u64,
    fault: &'static str,
}

impl Options {
    /// Those of this run; `None` if there is nothing to run.
    pub(crate) fn read() -> Option<Self> {
        let options = Self::parse();
        (!options.list && !options.ignored).then_some(options)
    }

    pub(crate) fn size(&self) -> Size {
        self.size
    }

    pub(crate) fn seed(&self) -> u64 {
        self.seed
    }

    /// The faults that are asked for.
    pub(crate) fn choose<'a, F>(
        &self,
        all: &'a [F],
        name: impl Fn(&F) -> &'static str,
    ) -> Result<Vec<&'a F>> {
        let only = self.only.as_deref();
        let known = only.is_none_or(|only| all.iter().any(|fault| name(fault) == only));
        let names: Vec<_> = all.iter().map(&name).collect();
        ensure!(known, "no fault has that name; there are: {}", names.join(", "));
        let wanted = |fault: &&F| {
            let filter = self.filter.as_deref().unwrap_or_default();
            only.is_none_or(|only| name(fault) == only) && name(fault).contains(filter)
        };
        Ok(all.iter().filter(wanted).collect())
    }

    pub(crate) fn given(&self, fault: &'static str) -> Given {
        Given { size: self.size, seed: self.seed, fault }
    }
}

impl Given {
    /// One of the two, by the size of the run.
    pub(crate) fn pick<T>(&self, short: T, whole: T) -> T {
        match self.size {
            Size::Short => short,
            Size::Whole => whole,
        }
    }

    /// Tells whoever waits how far it is.
    #[expect(clippy::print_stderr, reason = "progress of a long run; the table is on the output")]
    pub(crate) fn say(&self, what: &str) {
        eprintln!("{}: {what}", self.fault);
    }
}
