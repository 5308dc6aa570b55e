//! What a run is asked to do.

use std::str::FromStr;

use anyhow::{Result, ensure};
use clap::{Parser, ValueEnum};

/// Breaks things under the real program and counts what is lost.
#[derive(Debug, Parser)]
#[expect(clippy::struct_excessive_bools, reason = "switches of a command line")]
pub(crate) struct Options {
    /// What random moments and places follow from
    #[arg(long, default_value_t = 1)]
    seed: u64,

    /// Only the faults of these names
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    only: Vec<String>,

    /// How often each is tried
    #[arg(long, value_enum, default_value_t = Size::Short)]
    size: Size,

    /// Minutes that the soak lasts, in place of the size's own
    #[arg(long, value_name = "N")]
    minutes: Option<u64>,

    /// Part of a fault and network that it is played in, for the program's own use
    #[arg(long, hide = true)]
    inside: Option<Inside>,

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
    /// How long the soak lasts, if that was asked for.
    pub(crate) minutes: Option<u64>,
    /// The network that the fault is played in, if it runs in one already.
    pub(crate) inside: Option<Inside>,
    fault: &'static str,
}

/// A part of a fault and the two namespaces that it is played in.
#[derive(Debug, Clone)]
pub(crate) struct Inside {
    /// What the fault is told.
    pub(crate) part: String,
    /// Where the host is to be.
    pub(crate) of_host: String,
    /// Where the class is: the program runs there.
    pub(crate) of_class: String,
}

impl FromStr for Inside {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let fields: Vec<_> = text.split(',').map(ToOwned::to_owned).collect();
        let wrong = |fields| format!("part,namespace,namespace in place of {fields:?}");
        let fields = <[_; 3]>::try_from(fields).map_err(wrong);
        let [part, of_host, of_class] = fields?;
        Ok(Self { part, of_host, of_class })
    }
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

    pub(crate) fn is_inside(&self) -> bool {
        self.inside.is_some()
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
        let names: Vec<_> = all.iter().map(&name).collect();
        let strange = self.only.iter().find(|only| !names.contains(&only.as_str()));
        ensure!(strange.is_none(), "{strange:?} is no fault; there are: {}", names.join(", "));
        let wanted = |fault: &&F| {
            let (name, filter) = (name(fault), self.filter.as_deref().unwrap_or_default());
            let any = self.only.is_empty();
            (any || self.only.iter().any(|only| only == name)) && name.contains(filter)
        };
        Ok(all.iter().filter(wanted).collect())
    }

    pub(crate) fn given(&self, fault: &'static str) -> Given {
        let (size, seed, minutes) = (self.size, self.seed, self.minutes);
        Given { size, seed, minutes, inside: self.inside.clone(), fault }
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

    /// The name of the fault.
    pub(crate) fn fault(&self) -> &'static str {
        self.fault
    }

    /// Tells whoever waits how far it is.
    #[expect(clippy::print_stderr, reason = "progress of a long run; the table is on the output")]
    pub(crate) fn say(&self, what: &str) {
        eprintln!("{}: {what}", self.fault);
    }
}
