//! Gauss-Hermite quadrature: an integral over a normal distribution as a sum over nodes.

/// A node and the logarithm of its weight; weights sum to 1.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Node {
    pub(crate) at: f64,
    pub(crate) ln_weight: f64,
}

/// The rule of `size` nodes for N(0, 1), in ascending order: exact for polynomials up to degree
/// 2 size - 1.
///
/// The nodes are the eigenvalues of the Jacobi matrix, which has 0 on its diagonal and √k beside
/// it; they are found by bisection on Sturm's count, which cannot miss one. A weight is `1 / Σ h_k²`
/// over the orthonormal polynomials at its node. Golub GH, Welsch JH 1969, Math. Comp. 23:221-230.
pub(crate) fn rule(size: u32) -> Vec<Node> {
    let found = (0..size).map(|place| {
        let at = bisect(size, place);
        Node { at, ln_weight: -squares(size, at).ln() }
    });
    found.collect()
}

/// From the logarithms of weights over nodes to weights that sum to 1, and the logarithm of what
/// they summed to.
pub(crate) fn posterior(ln_weights: Vec<f64>) -> (Vec<f64>, f64) {
    let largest = ln_weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let unscaled: Vec<f64> = ln_weights.into_iter().map(|ln| (ln - largest).exp()).collect();
    let sum: f64 = unscaled.iter().sum();
    (unscaled.into_iter().map(|weight| weight / sum).collect(), largest + sum.ln())
}

/// The eigenvalue with `place` others below it.
fn bisect(size: u32, place: u32) -> f64 {
    let widest = 2.0 * f64::from(size).sqrt();
    let (mut low, mut high) = (-widest, widest);
    loop {
        let middle = low.midpoint(high);
        if middle <= low || middle >= high {
            return middle;
        }
        if below(size, middle) > place {
            high = middle;
        } else {
            low = middle;
        }
    }
}

/// How many eigenvalues lie below `x`: the negative pivots of the matrix less x.
fn below(size: u32, x: f64) -> u32 {
    let mut pivot = -x;
    let mut negative = u32::from(pivot < 0.0);
    for k in 1..size {
        // A pivot of 0 counts as one just above it.
        let safe = if pivot.abs() < f64::MIN_POSITIVE { f64::MIN_POSITIVE } else { pivot };
        pivot = -x - f64::from(k) / safe;
        negative += u32::from(pivot < 0.0);
    }
    negative
}

/// `Σ h_k(x)²` for k below `size`, by `h_{k+1} = (x h_k - √k h_{k-1}) / √(k+1)`.
fn squares(size: u32, x: f64) -> f64 {
    let (mut before, mut here, mut sum) = (0.0, 1.0, 1.0);
    for k in 1..size {
        let k = f64::from(k);
        (before, here) = (here, (x * here - (k - 1.0).sqrt() * before) / k.sqrt());
        sum += here * here;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moment(rule: &[Node], power: i32) -> f64 {
        rule.iter().map(|node| node.ln_weight.exp() * node.at.powi(power)).sum()
    }

    /// Abramowitz M, Stegun IA 1964, Handbook of Mathematical Functions, table 25.10, n = 3 and 5,
    /// rescaled from exp(-x²) to the normal density: nodes times √2, weights by √π.
    #[test]
    fn small_rules_agree_with_the_printed_table() {
        let scale = |x: f64| x * std::f64::consts::SQRT_2;
        let share = |w: f64| w / std::f64::consts::PI.sqrt();
        let three = [(-1.224_744_871_392, 0.295_408_975_2), (0.0, 1.181_635_900_6)];
        let five = [
            (-2.020_182_870_456, 0.019_953_242_06),
            (-0.958_572_464_614, 0.393_619_323_2),
            (0.0, 0.945_308_720_5),
        ];
        for (size, printed) in [(3, &three[..]), (5, &five[..])] {
            for (node, (at, weight)) in rule(size).iter().zip(printed) {
                assert!((node.at - scale(*at)).abs() < 1e-11, "{}", node.at);
                assert!((node.ln_weight.exp() - share(*weight)).abs() < 1e-10);
            }
        }
    }

    /// The even moments of N(0, 1) are 1, 3, 15, ...: (2m - 1)!!; the odd ones are 0.
    #[test]
    fn moments_are_those_of_the_normal_distribution() {
        for size in [1, 2, 20, 61, 121] {
            let rule = rule(size);
            let mut expected = 1.0;
            for half in 0..size.min(30) {
                let found = moment(&rule, i32::try_from(2 * half).unwrap());
                assert!((found / expected - 1.0).abs() < 1e-11, "{size}, {half}: {found}");
                let odd = moment(&rule, i32::try_from(2 * half + 1).unwrap());
                assert!(odd.abs() < 1e-11 * expected.max(1.0) * 10.0, "{size}, {half}: {odd}");
                expected *= f64::from(2 * half + 1);
            }
        }
    }

    #[test]
    fn nodes_ascend_and_mirror() {
        let rule = rule(61);
        assert!(rule.windows(2).all(|pair| pair[0].at < pair[1].at));
        for (left, right) in rule.iter().zip(rule.iter().rev()) {
            assert!((left.at + right.at).abs() < 1e-13);
            assert!((left.ln_weight - right.ln_weight).abs() < 1e-11);
        }
    }
}
