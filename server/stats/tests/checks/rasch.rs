//! Abilities and difficulties on one scale.

use myonym_stats::Responses;
use myonym_stats::rasch::{Fit, NoFit, Place, Spread, chance, fit, information};
use proptest::prelude::{Strategy, any, prop_assert, proptest};
use proptest::test_runner::Config as ProptestConfig;
use rand::rngs::ChaCha8Rng;
use rand::{Rng as _, SeedableRng as _};
use serde::Deserialize;

use crate::reference::{check, lsat, responses};

fn at(places: &[Place]) -> Vec<f64> {
    places.iter().map(|place| place.at).collect()
}

fn errors(places: &[Place]) -> Vec<f64> {
    places.iter().map(|place| place.error).collect()
}

/// Difficulties may lie anywhere: greatest marginal likelihood.
fn free(ability: f64) -> Spread {
    Spread::new(ability, None).unwrap()
}

#[test]
fn greatest_likelihood_of_the_law_school_test() {
    let found = fit(&lsat(), free(1.0)).unwrap();
    let ltm = check("irt.lsat6.rasch_1");
    ltm.finds_all("b", &at(&found.difficulties));
    ltm.finds("loglik", found.log_likelihood);
    let girth = check("irt.lsat6.girth");
    girth.finds_all("rasch_a1_b", &at(&found.difficulties));
}

/// A common discrimination is the spread of abilities: the likelihood is greatest at the published
/// one, and there gives the published difficulties.
#[test]
fn a_common_discrimination_is_the_spread_of_abilities() {
    let check = check("irt.lsat6.rasch_free");
    let tests = lsat();
    let height = |a: f64| fit(&tests, free(a)).unwrap().log_likelihood;
    // Golden section.
    let (mut low, mut high) = (0.5, 1.0);
    while high - low > 1e-6 {
        let third = (high - low) * 0.381_966_011_250_105;
        if height(low + third) < height(high - third) {
            low += third;
        } else {
            high -= third;
        }
    }
    let a: f64 = f64::midpoint(low, high);
    check.finds("a", a);
    let found = fit(&tests, free(a)).unwrap();
    check.finds("loglik", found.log_likelihood);
    let scaled: Vec<f64> = at(&found.difficulties).into_iter().map(|b| b / a).collect();
    check.finds_all("b", &scaled);
}

#[test]
fn greatest_posterior_of_the_law_school_test() {
    let check = check("irt.lsat6.mmap");
    let found = fit(&lsat(), Spread::default()).unwrap();
    check.finds_all("b", &at(&found.difficulties));
    check.finds("log_post_without_prior_const", found.log_posterior);
}

/// One item was answered rightly by all.
#[test]
fn a_small_class() {
    let check = check("irt.small.mmap");
    let class = responses(check.input("responses"));
    let found = fit(&class, Spread::default()).unwrap();
    check.finds_all("b", &at(&found.difficulties));
    check.finds_all("eap", &at(&found.abilities));
    check.finds_all("sd", &errors(&found.abilities));
    check.finds("objective", found.log_posterior);
    assert_eq!(fit(&class, free(1.0)), Err(NoFit::Alike(0)));
}

#[test]
fn a_small_class_with_gaps() {
    let missing = check("irt.small.missing");
    let found = fit(&responses(missing.input("responses")), Spread::default()).unwrap();
    missing.finds_all("b", &at(&found.difficulties));
    missing.finds_all("eap", &at(&found.abilities));
    let spread = check("irt.small.errors");
    spread.all_near(&errors(&found.difficulties), &spread.expected::<Vec<f64>>());
}

#[test]
fn information_agrees() {
    #[derive(Deserialize)]
    struct Input {
        theta: f64,
        a: f64,
        b: f64,
    }
    let check = check("irt.info");
    let inputs: Vec<Input> = check.inputs();
    let each = |f: fn(f64, f64, f64) -> f64| -> Vec<f64> {
        inputs.iter().map(|Input { theta, a, b }| f(*theta, *b, *a)).collect()
    };
    check.finds_all("P", &each(chance));
    check.finds_all("I", &each(information));
    assert!(information(800.0, -800.0, 1.0) >= 0.0, "far apart is next to nothing, and a number");
}

fn finite(found: &Fit) -> bool {
    let places = found.difficulties.iter().chain(&found.abilities);
    places.into_iter().all(|place| place.at.is_finite() && place.error > 0.0 && place.error < 10.0)
        && found.log_likelihood.is_finite()
        && found.log_posterior.is_finite()
}

#[test]
fn little_or_nothing_is_no_trouble() {
    let empty = fit(&Responses::default(), Spread::default()).unwrap();
    assert!(empty.difficulties.is_empty() && empty.abilities.is_empty());
    let of = |rows: &[&[Option<bool>]]| {
        Responses::new(rows.iter().map(|row| row.to_vec()).collect()).unwrap()
    };
    let near = |place: Place, at: f64, error: f64| {
        assert!((place.at - at).abs() < 1e-9 && (place.error - error).abs() < 1e-9, "{place:?}");
    };
    // Nobody answered: what was taken beforehand is what is known.
    let silent = fit(&of(&[&[None, None], &[None, None]]), Spread::default()).unwrap();
    silent.difficulties.iter().for_each(|place| near(*place, 0.0, 2.0));
    silent.abilities.iter().for_each(|place| near(*place, 0.0, 1.0));
    let itemless = fit(&of(&[&[], &[]]), Spread::default()).unwrap();
    assert_eq!(itemless.abilities.len(), 2);
    let all_right = fit(&of(&[&[Some(true); 40][..]; 60]), Spread::default()).unwrap();
    let all_wrong = fit(&of(&[&[Some(false); 40][..]; 60]), Spread::default()).unwrap();
    for (right, wrong) in all_right.difficulties.iter().zip(&all_wrong.difficulties) {
        assert!(right.at < -1.0 && (right.at + wrong.at).abs() < 1e-6);
    }
    let one = fit(&of(&[&[Some(true)]]), Spread::default()).unwrap();
    assert!([silent, itemless, all_right, all_wrong, one].iter().all(finite));
    assert_eq!(fit(&of(&[&[None], &[Some(true)]]), free(1.0)), Err(NoFit::Alike(0)));
    for (ability, difficulty) in
        [(0.0, None), (f64::NAN, None), (1.0, Some(0.0)), (1.0, Some(f64::INFINITY))]
    {
        assert_eq!(Spread::new(ability, difficulty), None);
    }
}

/// A class drawn from the model, each student asked a third of 30 items: what it was drawn from is
/// found again within the errors that the fit states. The root mean square of (found - true) /
/// error is near 1; the bounds are our estimate, some 3 standard errors of it.
#[test]
fn a_drawn_class_is_found_again() {
    let (students, items) = (150, 30);
    let mut random = ChaCha8Rng::seed_from_u64(11);
    let mut unit = || f64::from(random.next_u32()) / f64::from(u32::MAX);
    let abilities: Vec<f64> = (0..students).map(|_| normal(&mut unit)).collect();
    let difficulties: Vec<f64> = (0..items).map(|_| 2.0 * normal(&mut unit)).collect();
    let rows = abilities.iter().map(|ability| {
        let answer = |b: &f64| (unit() < 1.0 / 3.0).then(|| unit() < chance(*ability, *b, 1.0));
        difficulties.iter().map(answer).collect()
    });
    let found = fitted(rows.collect());
    let off = |places: &[Place], truth: &[f64]| {
        let squares = places.iter().zip(truth).map(|(place, at)| {
            let off = (place.at - at) / place.error;
            off * off
        });
        (squares.sum::<f64>() / f64::from(u32::try_from(places.len()).unwrap())).sqrt()
    };
    let (ability, difficulty) =
        (off(&found.abilities, &abilities), off(&found.difficulties, &difficulties));
    assert!((0.8..1.2).contains(&ability), "{ability}");
    assert!((0.6..1.4).contains(&difficulty), "{difficulty}");
}

/// Nearly normal: the sum of twelve uniform numbers less 6.
fn normal(unit: &mut impl FnMut() -> f64) -> f64 {
    (0..12).map(|_| unit()).sum::<f64>() - 6.0
}

fn sparse() -> impl Strategy<Value = Vec<Vec<Option<bool>>>> {
    (1usize..8, 1usize..25).prop_flat_map(|(items, students)| {
        let row = proptest::collection::vec(any::<Option<bool>>(), items);
        proptest::collection::vec(row, students)
    })
}

fn fitted(rows: Vec<Vec<Option<bool>>>) -> Fit {
    fit(&Responses::new(rows).unwrap(), Spread::default()).unwrap()
}

fn close<'a>(
    a: impl IntoIterator<Item = &'a Place>,
    b: impl IntoIterator<Item = &'a Place>,
) -> bool {
    a.into_iter()
        .zip(b)
        .all(|(a, b)| (a.at - b.at).abs() < 1e-7 && (a.error - b.error).abs() < 1e-7)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn a_fit_does_not_hang_on_order(rows in sparse()) {
        let there = fitted(rows.clone());
        prop_assert!(finite(&there));
        let mut turned = rows.clone();
        for row in &mut turned {
            row.reverse();
        }
        turned.reverse();
        let turned = fitted(turned);
        prop_assert!(close(&there.difficulties, turned.difficulties.iter().rev()));
        prop_assert!(close(&there.abilities, turned.abilities.iter().rev()));
    }

    /// Who answered nothing, and what nobody was asked, tell nothing of the rest.
    #[test]
    fn silence_changes_nothing(rows in sparse()) {
        let there = fitted(rows.clone());
        let mut more = rows.clone();
        more.push(vec![None; rows[0].len()]);
        for row in &mut more {
            row.push(None);
        }
        let after = fitted(more);
        prop_assert!(close(&there.difficulties, &after.difficulties));
        prop_assert!(close(&there.abilities, &after.abilities));
        let (student, item) = (after.abilities.last().unwrap(), after.difficulties.last().unwrap());
        prop_assert!(student.at.abs() < 1e-9 && (student.error - 1.0).abs() < 1e-9);
        prop_assert!(item.at.abs() < 1e-9 && (item.error - 2.0).abs() < 1e-9);
    }

    /// Right for wrong throughout: the scale turns about 0.
    #[test]
    fn right_and_wrong_mirror(rows in sparse()) {
        let turned = rows.iter().map(|row| row.iter().map(|cell| cell.map(|it| !it)).collect());
        let (there, back) = (fitted(rows.clone()), fitted(turned.collect()));
        for (a, b) in there.difficulties.iter().zip(&back.difficulties) {
            prop_assert!((a.at + b.at).abs() < 1e-7);
        }
    }

    /// Asked the same, more right answers are more ability; asked by the same, fewer right answers
    /// are more difficulty.
    #[test]
    fn order_follows_scores(rows in proptest::collection::vec(
        proptest::collection::vec(any::<bool>(), 5), 2..20,
    )) {
        let found = fitted(rows.iter().map(|row| row.iter().copied().map(Some).collect()).collect());
        let score = |student: usize| rows[student].iter().filter(|right| **right).count();
        let known = |item: usize| rows.iter().filter(|row| row[item]).count();
        for (a, b) in (0..rows.len()).flat_map(|a| (0..rows.len()).map(move |b| (a, b))) {
            let gap = found.abilities[a].at - found.abilities[b].at;
            prop_assert!(score(a) <= score(b) || gap > 0.0);
        }
        for (a, b) in (0..5).flat_map(|a| (0..5).map(move |b| (a, b))) {
            let gap = found.difficulties[a].at - found.difficulties[b].at;
            prop_assert!(known(a) >= known(b) || gap > 0.0);
        }
    }
}
