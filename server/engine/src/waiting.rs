//! Whom an open round waits for.

use std::collections::BTreeMap;

use myonym_wire::StudentId;

/// A student's limit; no limit is the longest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Limit {
    /// In milliseconds.
    Of(u32),
    /// The round waits until the instructor closes it.
    Unlimited,
}

/// The students who still may answer, with their limits. Kept as events come, so that one answer
/// does not cost a look at the whole class.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Waiting {
    students: BTreeMap<StudentId, Limit>,
    by_limit: BTreeMap<Limit, u32>,
}

impl Waiting {
    /// Waits for a student as long as `limit`; `None` waits no more.
    pub(crate) fn set(&mut self, student: StudentId, limit: Option<Limit>) {
        let before = match limit {
            Some(limit) => self.students.insert(student, limit),
            None => self.students.remove(&student),
        };
        if let Some(limit) = limit {
            *self.by_limit.entry(limit).or_insert(0) += 1;
        }
        if let Some(before) = before
            && let Some(count) = self.by_limit.get_mut(&before)
        {
            *count -= 1;
            if *count == 0 {
                self.by_limit.remove(&before);
            }
        }
    }

    /// Whether nobody is waited for.
    pub(crate) fn is_empty(&self) -> bool {
        self.students.is_empty()
    }

    /// The longest limit of those waited for.
    pub(crate) fn longest(&self) -> Option<Limit> {
        self.by_limit.last_key_value().map(|(limit, _)| *limit)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use uuid::Uuid;

    use super::*;

    proptest! {
        /// The count by limit is what a look at every student would find.
        #[test]
        fn counts_agree_with_a_look_at_everyone(
            acts in prop::collection::vec((0_u128..6, prop::option::of(0_u32..4)), 0..60),
        ) {
            let mut waiting = Waiting::default();
            for (student, limit) in acts {
                let limit = limit.map(|n| if n == 0 { Limit::Unlimited } else { Limit::Of(n) });
                waiting.set(StudentId(Uuid::from_u128(student)), limit);
                prop_assert_eq!(waiting.longest(), waiting.students.values().max().copied());
                let counted: u32 = waiting.by_limit.values().sum();
                prop_assert_eq!(counted as usize, waiting.students.len());
            }
        }
    }
}
