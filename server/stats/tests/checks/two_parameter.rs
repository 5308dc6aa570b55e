//! Items that discriminate more or less.

use myonym_stats::Responses;
use myonym_stats::rasch::{Place, chance};
use myonym_stats::two_parameter::{Fit, Item, NoFit, fit};
use proptest::prelude::*;
use rand::SeedableRng as _;
use rand::rngs::ChaCha8Rng;

use crate::reference::{check, lsat};

fn discriminations(found: &Fit) -> Vec<f64> {
    found.items.iter().map(|item| item.discrimination.at).collect()
}

fn difficulties(found: &Fit) -> Vec<f64> {
    found.items.iter().map(|item| item.difficulty().unwrap()).collect()
}

#[test]
fn the_law_school_test_agrees() {
    let found = fit(&lsat()).unwrap();
    let ltm = check("irt.lsat6.2pl");
    ltm.finds_all("a", &discriminations(&found));
    ltm.finds_all("b", &difficulties(&found));
    ltm.finds("loglik", found.log_likelihood);
    let girth = check("irt.lsat6.girth");
    girth.finds_all("twopl_a", &discriminations(&found));
    girth.finds_all("twopl_b", &difficulties(&found));
    // Both stop a little below the top.
    let heights = check("irt.lsat6.2pl.heights");
    for height in heights.expected::<Vec<f64>>() {
        assert!(found.log_likelihood > height, "{} is below {height}", found.log_likelihood);
        heights.near(found.log_likelihood, height);
    }
}

fn of(rows: &[&[Option<bool>]]) -> Responses {
    Responses::new(rows.iter().map(|row| row.to_vec()).collect()).unwrap()
}

const YES: Option<bool> = Some(true);
const NO: Option<bool> = Some(false);

#[test]
fn little_has_no_fit() {
    assert_eq!(fit(&Responses::default()), Err(NoFit::TooFew));
    assert_eq!(fit(&of(&[&[YES, NO], &[NO, YES]])), Err(NoFit::TooFew));
    assert_eq!(fit(&of(&[&[YES, NO, YES], &[NO, NO, YES]])), Err(NoFit::Alike(1)));
    assert_eq!(fit(&of(&[&[YES, NO, None], &[NO, YES, None]])), Err(NoFit::Alike(2)));
    // Whoever is right is right throughout: steps, not slopes.
    assert_eq!(fit(&of(&[&[YES; 4], &[NO; 4], &[YES; 4], &[NO; 4]])), Err(NoFit::NotFound));
    let flat = Place { at: 0.0, error: 1.0 };
    assert_eq!(Item { easiness: flat, discrimination: flat }.difficulty(), None);
}

/// A class drawn from the model is found again within the errors that the fit states; bounds are our
/// estimate. One item in eight is not asked.
#[test]
fn a_drawn_class_is_found_again() {
    let truth = [(0.7, -1.5), (1.0, -0.5), (1.4, 0.0), (0.9, 0.4), (1.8, 0.8), (1.2, 1.6)];
    let mut random = ChaCha8Rng::seed_from_u64(5);
    let mut unit = || f64::from(random.next_u32()) / f64::from(u32::MAX);
    let rows = (0..3000).map(|_| {
        // Nearly normal.
        let ability: f64 = (0..12).map(|_| unit()).sum::<f64>() - 6.0;
        let answer =
            |(a, b): &(f64, f64)| (unit() < 0.875).then(|| unit() < chance(ability, *b, *a));
        truth.iter().map(answer).collect()
    });
    let found = fit(&Responses::new(rows.collect()).unwrap()).unwrap();
    for (item, (a, b)) in found.items.iter().zip(truth) {
        let Item { easiness, discrimination } = item;
        assert!((discrimination.at - a).abs() < 3.5 * discrimination.error, "{item:?}");
        assert!((easiness.at + a * b).abs() < 3.5 * easiness.error, "{item:?}");
        assert!(discrimination.error < 0.3 && easiness.error < 0.3, "{item:?}");
    }
}

fn sparse() -> impl Strategy<Value = Vec<Vec<Option<bool>>>> {
    (0usize..6, 0usize..40).prop_flat_map(|(items, students)| {
        let row = proptest::collection::vec(any::<Option<bool>>(), items);
        proptest::collection::vec(row, students)
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// Whatever the answers: numbers or a reason, and the order of items does not matter.
    #[test]
    fn numbers_or_a_reason(rows in sparse()) {
        let Ok(found) = fit(&Responses::new(rows.clone()).unwrap()) else { return Ok(()) };
        let places = found.items.iter().flat_map(|it| [it.easiness, it.discrimination]);
        for place in places.chain(found.abilities.iter().copied()) {
            prop_assert!(place.at.is_finite() && place.error > 0.0 && place.error.is_finite());
        }
        prop_assert_eq!(found.abilities.len(), rows.len());
        prop_assert!(found.log_likelihood < 0.0);
        prop_assert!(discriminations(&found).iter().sum::<f64>() >= 0.0);
    }
}
