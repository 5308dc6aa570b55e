//! How likely one unknown rate is larger than others.

use statrs::function::beta::ln_beta;

use crate::Beta;
use crate::beta::Logit;

/// P(θ₂ > θ₁) of two independent rates.
///
/// In closed form if α₂ is a whole number:
/// `Σ_{i<α₂} B(α₁+i, β₁+β₂) / ((β₂+i) B(1+i, β₂) B(α₁, β₁))` (Cook JD 2005, technical report, M. D. Anderson Cancer Center); else by [`largest`].
pub fn greater(first: Beta, second: Beta) -> f64 {
    let whole = second.alpha().round();
    if (second.alpha() - whole).abs() > 0.0 {
        return largest(&[first, second]).last().copied().unwrap_or(0.5);
    }
    let (a1, b1, b2) = (first.alpha(), first.beta(), second.beta());
    let before = ln_beta(a1, b1);
    let steps = std::iter::successors(Some(0.0), |i| Some(i + 1.0)).take_while(|i| *i < whole);
    let terms =
        steps.map(|i| (ln_beta(a1 + i, b1 + b2) - before - ln_beta(1.0 + i, b2)).exp() / (b2 + i));
    terms.sum::<f64>().min(1.0)
}

/// Of each of several independent rates the probability that it is the largest: how often
/// [`order`](crate::thompson::order) puts it first.
///
/// `P_i = ∫ f_i Π_{j≠i} F_j`, by the trapezoidal rule over the logit of the rate, where the integrand
/// is smooth and dies away on both sides, so the rule converges faster than any power of its step.
pub fn largest(known: &[Beta]) -> Vec<f64> {
    let mut found: Vec<f64> = (0..known.len()).map(|place| first(known, place)).collect();
    // They are a distribution; what the rule leaves over is spread evenly.
    let sum: f64 = found.iter().sum();
    for probability in &mut found {
        *probability /= sum;
    }
    found
}

fn first(known: &[Beta], place: usize) -> f64 {
    let own = known[place];
    let integrand = |at: f64| {
        let logit = Logit(at);
        let others = known.iter().enumerate().filter(|(other, _)| *other != place);
        own.logit_density(logit) * others.map(|(_, beta)| beta.below(logit)).product::<f64>()
    };
    let low = own.logit_quantile(LEFT_OUT).0;
    let high = -own.mirrored().logit_quantile(LEFT_OUT).0;
    let (mut steps, mut step) = (64_u32, (high - low) / 64.0);
    let mut sum: f64 = (0..=steps).map(|k| integrand(low + f64::from(k) * step)).sum();
    loop {
        // The points between those that there are.
        let between: f64 = (0..steps).map(|k| integrand(low + (f64::from(k) + 0.5) * step)).sum();
        let settled = (between - sum).abs() * step < CLOSE;
        sum += between;
        (steps, step) = (2 * steps, step / 2.0);
        if settled || steps >= MOST_STEPS {
            return sum * step;
        }
    }
}

/// The probability left out on either side.
const LEFT_OUT: f64 = 1e-14;
const CLOSE: f64 = 1e-11;
const MOST_STEPS: u32 = 1 << 14;
