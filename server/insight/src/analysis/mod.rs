//! From observations to what to teach tomorrow.

mod found;

pub use found::{
    Analysis, Area, AreaKind, Aspect, Basis, Cell, ConfusionMap, CueFound, Direction, Distractor,
    FORM, Flag, FlagKind, Item, Named, Pair, Progress, Reliability, ReviewLine, Teach,
};
