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

fn varies(mut values: impl Iterator<Item = f64>) -> bool {
    let Some(first) = values.next() else { return false };
    // The same share comes out the same to the last digit, however many answers it is of.
    values.any(|value| value.total_cmp(&first).is_ne())
}

fn mean(values: impl ExactSizeIterator<Item = f64>) -> f64 {
    let number = crate::responses::count(values.len());
    values.sum::<f64>() / number
}
