//! From a typed name to an answer: spelling decides which muscle or movement was meant, anatomy
//! alone decides the credit.

use myonym_content::{Course, MovementResolution, MuscleKey, NamedMovement, Resolution};
use myonym_wire::{Spelling, Task, Verdict};

use crate::event::{AskedAgainWhy, SaidMovement, SpellingFound};
use crate::movement::Makes;
use crate::round::OpenRound;
use crate::score::{self, NEAR_MOST};

/// What a typed name comes to.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Marked {
    /// An answer.
    Answer(Said),
    /// Not an answer yet: the student is asked again.
    AskAgain { why: AskedAgainWhy, among: Vec<String> },
    /// Nothing was typed.
    Empty,
}

/// What an answer says and what it is worth.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Said {
    pub(crate) muscle: Option<MuscleKey>,
    pub(crate) movement: Option<SaidMovement>,
    pub(crate) name: Option<String>,
    pub(crate) spelling: SpellingFound,
    pub(crate) exact: bool,
    pub(crate) credit: f64,
}

/// Marks what was typed in a round.
///
/// In strict spelling a misspelt name is an answer and wrong, and a half name is asked for in full
/// without a list to choose from, which would give the spelling away.
pub(crate) fn mark(course: &Course, spelling: Spelling, round: &OpenRound, typed: &str) -> Marked {
    let strict = spelling == Spelling::Strict;
    match round.task {
        Task::Name | Task::Picture => {
            let said = |muscle| named(course, &round.muscle, muscle);
            judge(strict, muscle_meant(course, typed), said)
        }
        Task::Movement => {
            let makes = || Makes::of(course, &round.muscle);
            judge(strict, movement_meant(course, typed), |movement| moved(&makes(), movement))
        }
        Task::Contrast => chosen(course, round, typed),
    }
}

/// What a typed name may mean.
enum Meant<T> {
    One(T, SpellingFound),
    /// Several, by name.
    Several(Vec<String>),
    /// None; those that are like it, by name.
    Unknown(Vec<String>),
    Nothing,
}

fn muscle_meant(course: &Course, typed: &str) -> Meant<MuscleKey> {
    let names = |muscles: Vec<MuscleKey>| {
        muscles.iter().filter_map(|muscle| course.name_of(muscle)).collect()
    };
    match course.resolve(typed) {
        Resolution::Exact { muscle } => Meant::One(muscle, SpellingFound::Exact),
        Resolution::Misspelt { muscle, .. } => Meant::One(muscle, SpellingFound::Misspelt),
        Resolution::WhichOne { among } => Meant::Several(names(among)),
        Resolution::Unknown { nearest } => Meant::Unknown(names(nearest)),
        Resolution::Empty => Meant::Nothing,
    }
}

fn movement_meant(course: &Course, typed: &str) -> Meant<NamedMovement> {
    let names = |movements: Vec<NamedMovement>| movements.into_iter().map(|it| it.name).collect();
    match course.resolve_movement(typed) {
        MovementResolution::Exact { movement } => Meant::One(movement, SpellingFound::Exact),
        MovementResolution::Misspelt { movement, .. } => {
            Meant::One(movement, SpellingFound::Misspelt)
        }
        MovementResolution::WhichOne { among } => Meant::Several(names(among)),
        MovementResolution::Unknown { nearest } => Meant::Unknown(names(nearest)),
        MovementResolution::Empty => Meant::Nothing,
    }
}

fn judge<T>(strict: bool, meant: Meant<T>, say: impl FnOnce(T) -> Said) -> Marked {
    match meant {
        Meant::One(it, SpellingFound::Misspelt) if strict => {
            let said = say(it);
            let spelling = SpellingFound::Misspelt;
            Marked::Answer(Said { spelling, exact: false, credit: 0.0, ..said })
        }
        Meant::One(it, spelling) => Marked::Answer(Said { spelling, ..say(it) }),
        Meant::Several(names) => Marked::AskAgain {
            why: AskedAgainWhy::WhichOne,
            among: if strict { Vec::new() } else { names },
        },
        Meant::Unknown(_) if strict => Marked::Answer(Said {
            muscle: None,
            movement: None,
            name: None,
            spelling: SpellingFound::NoSuchName,
            exact: false,
            credit: 0.0,
        }),
        Meant::Unknown(nearest) => {
            Marked::AskAgain { why: AskedAgainWhy::UnknownName, among: nearest }
        }
        Meant::Nothing => Marked::Empty,
    }
}

fn named(course: &Course, asked: &MuscleKey, muscle: MuscleKey) -> Said {
    let exact = muscle == *asked;
    Said {
        credit: score::credit(exact, course.nearness(asked, &muscle)),
        name: course.name_of(&muscle),
        muscle: Some(muscle),
        movement: None,
        spelling: SpellingFound::Exact,
        exact,
    }
}

/// Which of the two muscles offered was chosen. Their names are on the screen, so spelling is not
/// asked for, and half a name that only one of them has is enough. Any other name is asked about.
fn chosen(course: &Course, round: &OpenRound, typed: &str) -> Marked {
    let offered = |muscle: &MuscleKey| round.offered.iter().find(|one| one.muscle == *muscle);
    let (meant, spelling) = match course.resolve(typed) {
        Resolution::Exact { muscle } => (vec![muscle], SpellingFound::Exact),
        Resolution::Misspelt { muscle, .. } => (vec![muscle], SpellingFound::Misspelt),
        Resolution::WhichOne { among } => (among, SpellingFound::Exact),
        Resolution::Unknown { .. } => (Vec::new(), SpellingFound::NoSuchName),
        Resolution::Empty => return Marked::Empty,
    };
    match meant.iter().filter_map(offered).collect::<Vec<_>>().as_slice() {
        [one] => {
            let exact = one.muscle == round.muscle;
            Marked::Answer(Said {
                muscle: Some(one.muscle.clone()),
                movement: None,
                name: Some(one.name.clone()),
                spelling,
                exact,
                credit: score::credit_of_two(exact),
            })
        }
        _ => Marked::AskAgain {
            why: AskedAgainWhy::WhichOne,
            among: round.offered.iter().map(|one| one.name.clone()).collect(),
        },
    }
}

fn moved(makes: &Makes, said: NamedMovement) -> Said {
    let NamedMovement { name, movement, joints } = said;
    let movement = SaidMovement { movement, joints };
    let (exact, credit) = match makes.verdict(&movement) {
        Verdict::Right => (true, 1.0),
        Verdict::Near => (false, NEAR_MOST),
        Verdict::Wrong | Verdict::Silent => (false, 0.0),
    };
    Said {
        muscle: None,
        movement: Some(movement),
        name: Some(name),
        spelling: SpellingFound::Exact,
        exact,
        credit,
    }
}
