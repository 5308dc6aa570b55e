//! A rehearsal: simulated students of differing ability, with pairs of muscles that they are made
//! to confuse, play through real sockets.
//!
//! They know what a student knows: the clues that were shown, and (as the data of the course has
//! it) which muscles fit them, how each looks and what it does. They never look at the answer.

mod conduct;
mod knowledge;
mod socket;
mod student;

use std::net::SocketAddr;
use std::sync::Arc;

use myonym_content::Course;
use myonym_wire::{HostKey, JoinWord};
use tokio::task::JoinSet;

use knowledge::Knowledge;

pub(crate) use conduct::{Progress, conduct};

/// What a rehearsal needs.
#[derive(Debug, Clone)]
pub(crate) struct Plan {
    /// The server, on this machine.
    pub(crate) server: SocketAddr,
    /// The review.
    pub(crate) word: JoinWord,
    /// A key that conducts it.
    pub(crate) key: HostKey,
    /// Number of students.
    pub(crate) students: u16,
    /// The muscle list of the review.
    pub(crate) course: Arc<Course>,
    /// Whether its rounds show pictures.
    pub(crate) pictured: bool,
    /// What the students' abilities, guesses and slips are drawn from.
    pub(crate) seed: u64,
}

impl Plan {
    /// The pairs that the students are made to confuse, as `(asked, said)` names.
    pub(crate) fn confused(&self) -> Vec<(String, String)> {
        let knowledge = Knowledge::new(&self.course, false);
        let name = |muscle| self.course.name_of(muscle).unwrap_or_default();
        knowledge.planted().iter().map(|(asked, said)| (name(asked), name(said))).collect()
    }
}

/// Lets the students come in and play until the review ends or the set is dropped.
pub(crate) fn students(plan: &Plan) -> JoinSet<()> {
    let knowledge = Arc::new(Knowledge::new(&plan.course, plan.pictured));
    let mut students = JoinSet::new();
    for number in 0..plan.students {
        let student = student::Student::new(number, plan, knowledge.clone());
        students.spawn(student.play());
    }
    students
}
