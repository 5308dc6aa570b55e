//! A class: a host, an instructor and students in their seats.

use anyhow::{Context as _, Result, ensure};
use serde_json::Value;

use crate::host::TestHost;
use crate::log::ReviewLog;
use crate::muscles::Named;
use crate::people::{Instructor, Student};
use crate::recount::Recount;

/// A class in a review of its own.
#[derive(Debug)]
pub struct Class {
    /// The host.
    pub host: TestHost,
    /// The instructor, with the pace in hand.
    pub instructor: Instructor,
    /// The students.
    pub students: Vec<Student>,
    opened: u16,
}

/// The round that is open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    /// Its number.
    pub round: u16,
    /// The muscle described, as the log (and no client) knows it.
    pub muscle: Named,
}

impl Class {
    /// Starts a host with these options and gathers a class of this many students.
    pub async fn gather(options: &[&str], students: usize) -> Result<Self> {
        Self::gather_at(TestHost::start(options).await?, students).await
    }

    /// Gathers a class at a host that runs.
    pub async fn gather_at(host: TestHost, students: usize) -> Result<Self> {
        let instructor = Instructor::conduct(host.address, Some(&host.word), &host.key).await?;
        let mut class = Self { host, instructor, students: Vec::new(), opened: 0 };
        for number in 1..=students {
            class.join(&format!("Student {number}")).await?;
        }
        Ok(class)
    }

    /// One more student takes a seat.
    pub async fn join(&mut self, name: &str) -> Result<&mut Student> {
        let student = Student::join(self.host.address, &self.host.word, name).await?;
        self.students.push(student);
        self.students.last_mut().context("a student joined just now")
    }

    /// Everyone comes back after a stop, to the seat of before; the instructor with the key that was
    /// printed at first.
    pub async fn come_back(&mut self) -> Result<()> {
        let (address, word, key) = (self.host.address, &self.host.word, &self.host.key);
        self.instructor = Instructor::conduct(address, Some(word), key).await?;
        for student in &mut self.students {
            let seat = student.seat.clone();
            *student = seat.take(address).await?;
        }
        Ok(())
    }

    /// Opens the next round and waits until every student knows of it.
    pub async fn open_round(&mut self) -> Result<Asked> {
        let command = if self.opened == 0 { "start" } else { "next" };
        self.instructor.say(command).await?;
        let told = self.instructor.client.expect("round_opened").await?;
        for student in &mut self.students {
            let own = student.client.expect("round_opened").await?;
            ensure!(own == told, "a student was told {own}, the instructor {told}");
        }
        let (round, muscle) = self.review_log()?.asked()?;
        ensure!(told["round"] == round, "the log is in round {round}, the class in {told}");
        self.opened = round;
        Ok(Asked { round, muscle })
    }

    /// Closes the open round.
    pub async fn close_round(&mut self) -> Result<Value> {
        self.instructor.say("close_round").await?;
        self.everyone("round_closed").await
    }

    /// Reveals the closed round and waits until everyone has seen it and the standings.
    pub async fn reveal(&mut self) -> Result<Value> {
        self.instructor.say("reveal").await?;
        let revealed = self.everyone("revealed").await?;
        self.everyone("standings").await?;
        Ok(revealed["reveal"].clone())
    }

    /// Ends the review and waits until every connection of a student is closed.
    pub async fn end(&mut self) -> Result<Value> {
        self.instructor.say("end").await?;
        self.everyone_to_the_end().await
    }

    /// Waits until the review has ended for everyone.
    pub async fn everyone_to_the_end(&mut self) -> Result<Value> {
        let ended = self.everyone("ended").await?;
        for student in &mut self.students {
            student.client.expect("summary").await?;
            student.client.expect_close(1000).await?;
        }
        self.instructor.client.expect("weak_spots").await?;
        Ok(ended)
    }

    /// Waits until everyone has heard a message of this type, the same for all.
    pub async fn everyone(&mut self, kind: &str) -> Result<Value> {
        let told = self.instructor.client.expect(kind).await?;
        for student in &mut self.students {
            let own = student.client.expect(kind).await?;
            ensure!(own == told, "a student was told {own}, the instructor {told}");
        }
        Ok(told)
    }

    /// The review in the log.
    pub fn review_log(&self) -> Result<ReviewLog> {
        let log = self.host.log()?;
        let found = log.reviews.into_iter().find(|review| review.word == self.host.word);
        found.context("the review is not in the log")
    }

    /// The review counted again from the log.
    pub fn recount(&self) -> Result<Recount> {
        Recount::of(&self.review_log()?)
    }
}
