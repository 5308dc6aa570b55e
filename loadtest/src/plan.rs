//! The open-loop schedule: when each answer of a round falls due, whatever the server does.

use std::thread;
use std::time::{Duration, Instant};

use clap::ValueEnum;
use rand::rngs::ChaCha8Rng;
use rand::{RngExt, SeedableRng};
use serde::Serialize;

/// How the answers of a round lie in its window.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum, Serialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum Arrivals {
    /// Each at its own random instant, all instants of the window alike.
    Spread,
    /// The same, in the first tenth of the window: everybody knows the muscle at once.
    Burst,
}

/// The answers of one round, soonest first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Plan {
    due: Vec<Due>,
}

/// One answer that falls due.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Due {
    /// Time since the round's origin.
    after: Duration,
    /// Index of the student.
    student: usize,
}

impl Plan {
    /// One answer of each student. It follows from the arguments alone.
    pub(crate) fn new(
        seed: u64,
        round: u16,
        students: usize,
        window: Duration,
        arrivals: Arrivals,
    ) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(seed ^ (u64::from(round) << 48));
        let span = match arrivals {
            Arrivals::Spread => window,
            Arrivals::Burst => window / 10,
        };
        let nanos = u64::try_from(span.as_nanos()).unwrap_or(u64::MAX).max(1);
        let mut due: Vec<Due> = (0..students)
            .map(|student| Due {
                after: Duration::from_nanos(random.random_range(0..nanos)),
                student,
            })
            .collect();
        due.sort_unstable();
        Self { due }
    }

    /// The students in the order in which they answer, each with the planned instant, from which
    /// latency counts.
    pub(crate) fn from(&self, origin: Instant) -> impl Iterator<Item = (usize, Instant)> + '_ {
        self.due.iter().map(move |due| (due.student, origin + due.after))
    }

    /// Calls `wake` whenever an answer is due, on a thread of its own that does nothing else: a
    /// sleeping thread wakes to some 50 us, a wait for sockets only to a millisecond.
    pub(crate) fn pace(&self, origin: Instant, mut wake: impl FnMut()) {
        for Due { after, .. } in &self.due {
            let wait = (origin + *after).saturating_duration_since(Instant::now());
            if !wait.is_zero() {
                thread::sleep(wait);
            }
            wake();
        }
    }
}

/// Time from the opening of a round to its origin, so that every student has the clue before the
/// first answer falls due: 200 ms, and 20 us for each student.
pub(crate) fn lead(students: usize) -> Duration {
    Duration::from_millis(200) + Duration::from_micros(20) * u32::try_from(students).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    const WINDOW: Duration = Duration::from_secs(3);

    fn plan(seed: u64, round: u16, arrivals: Arrivals) -> Plan {
        Plan::new(seed, round, 300, WINDOW, arrivals)
    }

    #[test]
    fn a_plan_follows_from_its_arguments() {
        assert_eq!(plan(1, 2, Arrivals::Spread), plan(1, 2, Arrivals::Spread));
        assert_ne!(plan(1, 2, Arrivals::Spread), plan(1, 3, Arrivals::Spread));
        assert_ne!(plan(1, 2, Arrivals::Spread), plan(2, 2, Arrivals::Spread));
    }

    #[test]
    fn each_student_answers_once_inside_the_window() {
        let check = |arrivals: Arrivals, within: Duration| {
            let due = plan(7, 1, arrivals).due;
            assert!(due.is_sorted_by_key(|due| due.after), "{arrivals:?}");
            assert!(due.iter().all(|due| due.after < within), "{arrivals:?}");
            let mut students: Vec<usize> = due.iter().map(|due| due.student).collect();
            students.sort_unstable();
            assert_eq!(students, (0..300).collect::<Vec<_>>(), "{arrivals:?}");
        };
        check(Arrivals::Spread, WINDOW);
        check(Arrivals::Burst, WINDOW / 10);
    }

    #[test]
    fn spread_answers_fill_the_window() {
        // Of 300 uniform instants each third holds 100, give or take 4 standard deviations (33).
        let due = plan(7, 1, Arrivals::Spread).due;
        for third in 0..3 {
            let range = WINDOW * third / 3..WINDOW * (third + 1) / 3;
            let held = due.iter().filter(|due| range.contains(&due.after)).count();
            assert!((67..=133).contains(&held), "third {third} holds {held}");
        }
    }

    #[test]
    fn planned_instants_follow_from_the_plan_alone() {
        let plan = plan(7, 1, Arrivals::Spread);
        let origin = Instant::now();
        let want: Vec<_> = plan.due.iter().map(|due| (due.student, origin + due.after)).collect();
        assert_eq!(plan.from(origin).collect::<Vec<_>>(), want);
        // An origin in the past: all are due, so nothing waits, and each is called once.
        let mut calls = 0;
        plan.pace(origin.checked_sub(WINDOW).unwrap(), || calls += 1);
        assert_eq!(calls, 300);
    }
}
