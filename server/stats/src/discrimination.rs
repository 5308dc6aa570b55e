//! Whether those who know more answer this rather than that.

/// A correlation or difference from -1 to 1, if there was anything to see.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Discrimination {
    /// So much; below 0 the weaker students do better, and the item is likely at fault.
    Of(f64),
    /// All answered alike, or all know alike: nothing can be said. Not the same as 0.
    NoInformation,
}

impl Discrimination {
    /// The number, where there is one.
    pub const fn value(self) -> Option<f64> {
        match self {
            Self::Of(value) => Some(value),
            Self::NoInformation => None,
        }
    }
}

/// Pearson's correlation; with yes and no as 1 and 0 on one side it is the point-biserial.
pub(crate) fn correlation(
    pairs: impl ExactSizeIterator<Item = (f64, f64)> + Clone,
) -> Discrimination {
    let (firsts, seconds) = (pairs.clone().map(|pair| pair.0), pairs.clone().map(|pair| pair.1));
    if !varies(firsts.clone()) || !varies(seconds.clone()) {
        return Discrimination::NoInformation;
    }
    let (x, y) = (mean(firsts), mean(seconds));
    let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
    for pair in pairs {
        let (dx, dy) = (pair.0 - x, pair.1 - y);
        xx += dx * dx;
        yy += dy * dy;
        xy += dx * dy;
    }
    Discrimination::Of((xy / (xx * yy).sqrt()).clamp(-1.0, 1.0))
}

/// Numbers against which one yes-or-no after the other is held: the point-biserial of each is
/// [`correlation`] to the last bit, and what it needs of the numbers alone is reckoned once.
pub(crate) struct Numbers {
    /// Each less the mean of all.
    deviations: Vec<f64>,
    squares: f64,
    varies: bool,
}

impl Numbers {
    pub(crate) fn new(numbers: impl ExactSizeIterator<Item = f64> + Clone) -> Self {
        let varies = varies(numbers.clone());
        let y = mean(numbers.clone());
        let deviations: Vec<f64> = numbers.map(|number| number - y).collect();
        let squares = deviations.iter().fold(0.0, |sum, dy| sum + dy * dy);
        Self { deviations, squares, varies }
    }

    /// `yes` has an entry for each number, of which `times` are true.
    pub(crate) fn with(&self, yes: impl Iterator<Item = bool>, times: usize) -> Discrimination {
        let all = self.deviations.len();
        if times == 0 || times == all || !self.varies {
            return Discrimination::NoInformation;
        }
        let x = crate::responses::count(times) / crate::responses::count(all);
        let (mut xx, mut xy) = (0.0, 0.0);
        for (yes, dy) in yes.zip(&self.deviations) {
            let dx = if yes { 1.0 - x } else { 0.0 - x };
            xx += dx * dx;
            xy += dx * dy;
        }
        Discrimination::Of((xy / (xx * self.squares).sqrt()).clamp(-1.0, 1.0))
    }
}

fn varies(mut values: impl Iterator<Item = f64>) -> bool {
    let Some(first) = values.next() else { return false };
    // The same share comes out the same to the last digit, however many answers it is of.
    values.any(|value| value.total_cmp(&first).is_ne())
}

fn mean(values: impl ExactSizeIterator<Item = f64>) -> f64 {
    let number = crate::responses::count(values.len());
    values.sum::<f64>() / number
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn numbers_reckoned_once_give_the_same_to_the_last_bit(
            pairs in prop::collection::vec((any::<bool>(), 0.0..=1.0_f64), 0..60),
        ) {
            let numbers = Numbers::new(pairs.iter().map(|pair| pair.1));
            let times = pairs.iter().filter(|pair| pair.0).count();
            let found = numbers.with(pairs.iter().map(|pair| pair.0), times);
            let value = |yes| if yes { 1.0 } else { 0.0 };
            let expected = correlation(pairs.iter().map(|pair| (value(pair.0), pair.1)));
            prop_assert_eq!(found.value().map(f64::to_bits), expected.value().map(f64::to_bits));
        }
    }
}
