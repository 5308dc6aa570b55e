//! Faults of the network and of those behind it. They mostly wait, so they are played at the same time;
//! the soak, which looks at memory, is played alone.

mod clock;
mod cohort;
mod delays;
mod duplicates;
mod half_open;
mod hall;
mod inside;
mod lan;
mod lossy;
mod partition;
mod process;
mod proxy;
mod slow_reader;
mod soak;
mod storm;

use futures_util::FutureExt as _;

use crate::Fault;

/// Those that are played side by side.
pub(crate) const SIDE_BY_SIDE: &[Fault] = &[
    Fault { name: "slow-reader", run: |given| slow_reader::run(given).boxed_local() },
    Fault { name: "half-open", run: |given| half_open::run(given).boxed_local() },
    Fault { name: "storm", run: |given| storm::run(given).boxed_local() },
    Fault { name: "lossy", run: |given| lossy::run(given).boxed_local() },
    Fault { name: "partition", run: |given| partition::run(given).boxed_local() },
    Fault { name: "delays", run: |given| delays::run(given).boxed_local() },
    Fault { name: "duplicates", run: |given| duplicates::run(given).boxed_local() },
    Fault { name: "clock", run: |given| clock::run(given).boxed_local() },
];

/// The one that is played alone.
pub(crate) const SOAK: Fault = Fault { name: "soak", run: |given| soak::run(given).boxed_local() };
