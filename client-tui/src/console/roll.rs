//! The roll: who has a seat, in the order of their names.

use myonym_wire::{RollRow, StudentId, TimeAllowance};

/// The students of a review, and the one that the keys act upon.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Roll {
    rows: Vec<RollRow>,
    picked: Option<StudentId>,
}

impl Roll {
    /// A roll as the server tells it.
    pub(crate) fn new(rows: Vec<RollRow>) -> Self {
        let mut roll = Self::default();
        for row in rows {
            roll.set(row);
        }
        roll
    }

    /// The rows, by name.
    pub(crate) fn rows(&self) -> &[RollRow] {
        &self.rows
    }

    /// Takes in one student: a new one, or what has changed.
    pub(crate) fn set(&mut self, row: RollRow) {
        self.rows.retain(|other| other.student != row.student);
        let at = self.rows.partition_point(|other| key(other) < key(&row));
        self.rows.insert(at, row);
    }

    /// Takes a student off.
    pub(crate) fn drop(&mut self, student: StudentId) {
        if self.picked == Some(student) {
            let at = self.picked_at().unwrap_or(0);
            let next = self.rows.get(at + 1).or_else(|| self.rows.get(at.checked_sub(1)?));
            self.picked = next.map(|row| row.student);
        }
        self.rows.retain(|row| row.student != student);
    }

    /// Says that nobody has answered yet.
    pub(crate) fn new_round(&mut self) {
        self.rows.iter_mut().for_each(|row| row.answered = false);
    }

    /// Students connected now.
    pub(crate) fn present(&self) -> u32 {
        count(&self.rows, |row| row.present)
    }

    /// Students with time of their own.
    pub(crate) fn with_own_time(&self) -> u32 {
        count(&self.rows, |row| row.time != TimeAllowance::Standard)
    }

    /// Students whose answer the open round has.
    pub(crate) fn answered(&self) -> u32 {
        count(&self.rows, |row| row.answered)
    }

    /// The student that the keys act upon.
    pub(crate) fn picked(&self) -> Option<&RollRow> {
        self.rows.get(self.picked_at()?)
    }

    /// The place of that student in the rows.
    pub(crate) fn picked_at(&self) -> Option<usize> {
        let picked = self.picked?;
        self.rows.iter().position(|row| row.student == picked)
    }

    /// Moves to another student, `by` rows down or up.
    pub(crate) fn pick(&mut self, by: isize) {
        let last = self.rows.len().saturating_sub(1);
        let at = match self.picked_at() {
            Some(at) => at.saturating_add_signed(by).min(last),
            None if by > 0 => 0,
            None => last,
        };
        self.picked = self.rows.get(at).map(|row| row.student);
    }
}

fn count(rows: &[RollRow], is: impl Fn(&RollRow) -> bool) -> u32 {
    u32::try_from(rows.iter().filter(|row| is(row)).count()).unwrap_or(u32::MAX)
}

fn key(row: &RollRow) -> (String, StudentId) {
    (row.name.to_lowercase(), row.student)
}

#[cfg(test)]
mod tests {
    use uuid::Uuid;

    use super::*;

    fn row(number: u128, name: &str, present: bool) -> RollRow {
        let student = StudentId(Uuid::from_u128(number));
        let time = TimeAllowance::Standard;
        RollRow { student, name: name.to_owned(), present, answered: true, time }
    }

    fn names(roll: &Roll) -> Vec<&str> {
        roll.rows().iter().map(|row| row.name.as_str()).collect()
    }

    #[test]
    fn rows_are_kept_by_name_and_each_student_once() {
        let mut roll = Roll::new(vec![row(1, "Zoe", true), row(2, "ana", true)]);
        roll.set(row(3, "Ben", false));
        roll.set(row(1, "Zoe", false));
        assert_eq!(names(&roll), ["ana", "Ben", "Zoe"]);
        assert_eq!((roll.present(), roll.answered()), (1, 3));
        roll.new_round();
        assert_eq!(roll.answered(), 0);
    }

    #[test]
    fn the_pick_follows_its_student() {
        let mut roll = Roll::new(vec![row(1, "Ana", true), row(2, "Ben", true)]);
        assert_eq!(roll.picked(), None);
        roll.pick(1);
        assert_eq!(roll.picked_at(), Some(0));
        roll.set(row(3, "Aaa", true));
        assert_eq!(roll.picked().map(|row| row.name.as_str()), Some("Ana"));
        roll.pick(9);
        assert_eq!(roll.picked_at(), Some(2));
        roll.drop(StudentId(Uuid::from_u128(2)));
        assert_eq!(roll.picked().map(|row| row.name.as_str()), Some("Ana"));
        roll.drop(StudentId(Uuid::from_u128(1)));
        roll.drop(StudentId(Uuid::from_u128(3)));
        assert_eq!(roll.picked(), None);
        roll.pick(-1);
        assert_eq!(roll.picked(), None);
    }
}
