//! What goes wrong, and when.

use anyhow::{Result, ensure};
use myonym_engine::Review;
use myonym_wire::Millis;
use rand::RngExt as _;
use rand::seq::IndexedRandom as _;

use super::disk::look;
use super::ear::Peer;
use super::fault::Fault;
use super::net::{Due, Up};
use super::student::Step;
use super::world::World;

#[derive(Debug, Clone, Copy)]
enum Weather {
    Cut,
    HalfOpen,
    Stall,
    PauseStorm,
    ClassDrop,
    SeatTaken,
    SlowDisk,
    FullDisk,
    UntoldCommit,
    Kill,
    Stop,
    InstructorGone,
    Leave,
}

const WEATHER: [(Weather, u32); 13] = [
    (Weather::Cut, 18),
    (Weather::HalfOpen, 8),
    (Weather::Stall, 6),
    (Weather::PauseStorm, 3),
    (Weather::ClassDrop, 4),
    (Weather::SeatTaken, 6),
    (Weather::SlowDisk, 9),
    (Weather::FullDisk, 5),
    (Weather::UntoldCommit, 4),
    (Weather::Kill, 7),
    (Weather::Stop, 5),
    (Weather::InstructorGone, 5),
    (Weather::Leave, 3),
];

impl World {
    /// Something goes wrong, and again after a while.
    pub(super) fn weather(&mut self) {
        if self.calm {
            return;
        }
        let wait = self.random.random_range(200..3_000);
        self.after(wait, Due::Weather);
        let drawn = WEATHER.choose_weighted(&mut self.random, |(_, weight)| *weight);
        let Ok((weather, _)) = drawn else { return };
        let who = self.random.random_range(0..self.students.len());
        match weather {
            Weather::Cut => self.cut_student(who, Fault::Cut, 0),
            Weather::HalfOpen => {
                let learns = self.random.random_range(3_000..11_000);
                self.cut_student(who, Fault::HalfOpen, learns);
            }
            Weather::Stall => self.stalls(who, 4_000),
            Weather::PauseStorm => {
                self.stalls(who, 12_000);
                self.after(1, Due::Pauses(100));
            }
            Weather::ClassDrop => {
                self.faults.count(Fault::ClassDrop);
                (0..self.students.len()).for_each(|who| self.cut_student(who, Fault::Cut, 0));
            }
            Weather::SeatTaken => self.takes_seat(who),
            Weather::SlowDisk => {
                look(&self.disk).slow_ms = self.random.random_range(100..1_200);
                self.heals_in(1_000, 5_000);
            }
            Weather::FullDisk => self.fills_disk(),
            Weather::UntoldCommit => look(&self.disk).untold = true,
            Weather::Kill => {
                look(&self.disk).slow_ms = self.random.random_range(4..300);
                let (untold, looks) =
                    (self.random.random_bool(0.4), self.random.random_range(0..500));
                self.heals_in(1_000, 3_000);
                self.at(self.now(), Due::KillSoon { untold, looks });
            }
            Weather::Stop => self.stops(),
            Weather::InstructorGone => {
                if let Some(number) = self.instructors[0].conn {
                    self.faults.count(Fault::InstructorGone);
                    self.cut(number, 50);
                }
            }
            Weather::Leave => self.after(0, Due::Student(who, Step::Leave)),
        }
    }

    fn heals_in(&mut self, from: u64, to: u64) {
        let wait = self.random.random_range(from..to);
        self.after(wait, Due::DiskHeals);
    }

    fn cut_student(&mut self, who: usize, fault: Fault, learns_ms: u64) {
        if let Some(number) = self.students[who].conn {
            self.faults.count(fault);
            self.cut(number, learns_ms);
        }
    }

    /// Breaks a connection off: the client knows it at once, the host later.
    pub(super) fn cut(&mut self, number: u64, learns_ms: u64) {
        let lost = self.random.random_bool(0.6);
        let late = self.random.random_range(0..200);
        let Some(conn) = self.conns.get_mut(&number) else { return };
        conn.lost |= lost || learns_ms > 0;
        self.after(learns_ms.max(late), Due::Arrive(number, Up::Gone));
        self.breaks(number, 0);
    }

    fn stalls(&mut self, who: usize, most_ms: u64) {
        let until = self.now().plus(Millis(self.random.random_range(most_ms / 2..most_ms)));
        let number = self.conn_of(Peer::Student(who));
        if let Some(conn) = number.and_then(|number| self.conns.get_mut(&number)) {
            conn.stalled = until;
            self.at(until, Due::Wakes);
        }
    }

    /// The same student from another device, while the first is still there.
    fn takes_seat(&mut self, who: usize) {
        let student = &mut self.students[who];
        if student.conn.is_none() || !student.has_seat() || self.host.is_none() {
            return;
        }
        let entrant = student.entrant(&mut self.random, &mut self.faults);
        self.faults.count(Fault::SeatTaken);
        self.students[who].conn = Some(self.connect(Peer::Student(who), entrant));
    }

    fn fills_disk(&mut self) {
        let unreadable = self.random.random_bool(0.4);
        {
            let mut disk = look(&self.disk);
            (disk.full, disk.unreadable) = (true, unreadable);
        }
        self.heals_in(400, 4_500);
        if self.random.random_bool(0.15) {
            let looks = self.random.random_range(50..500);
            self.at(self.now(), Due::KillSoon { untold: true, looks });
        }
    }

    pub(super) fn disk_heals(&self) {
        let mut disk = look(&self.disk);
        (disk.full, disk.unreadable, disk.slow_ms) = (false, false, 4);
    }

    pub(super) async fn kill_soon(&mut self, untold: bool, looks: u32) -> Result<()> {
        let (unsynced, unanswered, full) = {
            let disk = look(&self.disk);
            (disk.unsynced > 0, disk.unanswered > 0, disk.full)
        };
        let found = if untold { unanswered } else { unsynced };
        if !found && looks > 0 && !self.calm {
            self.after(2, Due::KillSoon { untold, looks: looks - 1 });
            return Ok(());
        }
        // A host that is closing ends in order.
        if self.stopping || self.calm {
            return Ok(());
        }
        let Some(host) = self.host.take() else { return Ok(()) };
        self.faults.count(match (full, unsynced, unanswered) {
            (true, ..) => Fault::KillInTrouble,
            (_, true, _) => Fault::KillLost,
            (_, _, true) => Fault::KillUntold,
            _ => Fault::KillIdle,
        });
        host.kill(&self.disk).await?;
        self.everyone_breaks();
        let wait = self.random.random_range(50..3_000);
        self.after(wait, Due::HostStarts);
        Ok(())
    }

    fn everyone_breaks(&mut self) {
        let held: Vec<u64> =
            self.conns.iter().filter(|(_, conn)| conn.line.is_some()).map(|(n, _)| *n).collect();
        for number in held {
            let (lost, wait) = (self.random.random_bool(0.5), self.random.random_range(0..1_500));
            if let Some(conn) = self.conns.get_mut(&number) {
                conn.line = None;
                conn.lost |= lost;
            }
            self.breaks(number, wait);
        }
    }

    /// Asks the host to stop; what it leaves is looked at once it has.
    pub(super) fn stops(&mut self) {
        let Some(host) = self.host.as_ref().filter(|_| !self.stopping) else { return };
        host.ask_to_stop();
        self.stopping = true;
        if !self.calm {
            let open = look(&self.disk).has_open_round();
            self.faults.count(if open { Fault::StopInRound } else { Fault::Stop });
        }
        // Something has to be due while the room waits for the disk.
        self.after(3_000, Due::Wakes);
    }

    pub(super) fn calms(&mut self) {
        self.calm = true;
        self.disk_heals();
        let now = self.now();
        self.conns.values_mut().for_each(|conn| conn.stalled = conn.stalled.min(now));
        for who in 0..self.students.len() {
            if !self.students[who].removed {
                self.after(12_000, Due::Student(who, Step::Connect));
            }
        }
        for board in 0..self.boards.len() {
            self.after(12_000, Due::Board(board));
        }
        self.after(15_000, Due::End);
    }

    /// What a room leaves that saved all it did is what its log replays to.
    pub(super) fn check_left(&self, left: &Review) -> Result<()> {
        let disk = look(&self.disk);
        let (last, unsaved) = (disk.last(), left.seq() > disk.last());
        ensure!(!unsaved || disk.failed, "{:?} is done, and {last:?} is on disk", left.seq());
        if let Some(replayed) = Review::replay(&disk.logged).filter(|_| !unsaved) {
            ensure!(*left == replayed, "the log does not replay to what the room left");
        }
        Ok(())
    }
}
