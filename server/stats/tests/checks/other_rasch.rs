//! Other fits of the Rasch model.

use myonym_stats::rasch::conditional::{self, NoFit};
use myonym_stats::rasch::{self, Spread, joint, pairwise};
use myonym_stats::{Responses, Square};
use proptest::prelude::*;

use crate::reference::{check, lsat, responses};

fn at(found: &conditional::Fit) -> Vec<f64> {
    found.difficulties.iter().map(|place| place.at).collect()
}

#[test]
fn conditional_likelihood_agrees() {
    let check = check("irt.lsat6.cml");
    let found = conditional::fit(&lsat()).unwrap();
    check.finds_all("b", &at(&found));
    check.finds("cond_loglik", found.log_likelihood);
}

#[test]
fn pairs_agree() {
    let check = check("irt.lsat6.pairwise");
    let table = pairwise::table(&lsat()).unwrap();
    assert_eq!(Square::new(&check.wanted::<Vec<Vec<f64>>>("n_ij")).as_ref(), Some(&table));
    check.finds_all("b", &pairwise::fit(&table).unwrap());
}

#[test]
fn joint_posterior_agrees() {
    let check = check("irt.small.jmap");
    let spread = Spread::new(check.input("sd_theta"), Some(check.input("sd_b"))).unwrap();
    let class = responses(check.input("responses"));
    let found = joint::fit(&class, spread).unwrap();
    check.finds_all("theta", &found.abilities);
    check.finds_all("b", &found.difficulties);
    check.finds("objective", -found.log_posterior);
    // Item 0 was answered rightly by all: only what is taken beforehand holds it.
    let free = Spread::new(1.0, None).unwrap();
    assert_eq!(joint::fit(&class, free), Err(rasch::NoFit::Alike(0)));
    assert_eq!(conditional::fit(&class), Err(NoFit::NeverWorse(0)));
}

fn of(rows: &[&[u8]]) -> Responses {
    responses(
        rows.iter().map(|row| row.iter().map(|it| (*it < 2).then_some(*it)).collect()).collect(),
    )
}

/// By hand; 2 is not asked.
#[test]
fn no_conditional_fit_says_why() {
    let why = |rows: &[&[u8]]| conditional::fit(&of(rows)).unwrap_err();
    assert_eq!(why(&[&[0, 1], &[0, 1]]), NoFit::NeverBetter(0));
    assert_eq!(why(&[&[1, 0, 1], &[0, 0, 1], &[0, 1, 1], &[1, 0, 1]]), NoFit::NeverWorse(2));
    // Compared within pairs only.
    let apart: [&[u8]; 4] = [&[1, 0, 2, 2], &[0, 1, 2, 2], &[2, 2, 1, 0], &[2, 2, 0, 1]];
    assert_eq!(why(&apart), NoFit::Apart(2));
    // Between the pairs, but one way only.
    let one_way: [&[u8]; 4] = [&[1, 0, 0, 0], &[0, 1, 0, 0], &[1, 1, 1, 0], &[1, 1, 0, 1]];
    assert_eq!(why(&one_way), NoFit::Apart(2));
    // A single item is compared with nothing.
    assert_eq!(why(&[&[1], &[0]]), NoFit::NeverBetter(0));
    assert_eq!(conditional::fit(&Responses::default()), Ok(conditional::Fit::default()));
    assert_eq!(pairwise::table(&of(&[&[1], &[0]])), None);
    assert_eq!(pairwise::fit(&pairwise::table(&of(&one_way)).unwrap()), None);
    let mended = pairwise::table(&of(&one_way)).unwrap().plus(0.5).unwrap();
    assert!(pairwise::fit(&mended).unwrap().iter().all(|b| b.is_finite()));
}

/// Two items by hand: 6 students right on the first alone, 2 on the second alone. The difference is
/// ln 3, its error √(1/6 + 1/2), and a difficulty is half of it.
#[test]
fn two_items_are_a_pair() {
    let class = of(&[&[[1, 0]; 6][..], &[[0, 1]; 2], &[[1, 1]; 3], &[[0, 0]]]
        .concat()
        .iter()
        .map(<[u8; 2]>::as_slice)
        .collect::<Vec<&[u8]>>());
    let found = conditional::fit(&class).unwrap();
    let (half, error) = (3.0_f64.ln() / 2.0, (1.0 / 6.0 + 0.5_f64).sqrt() / 2.0);
    for (place, want) in found.difficulties.iter().zip([-half, half]) {
        assert!((place.at - want).abs() < 1e-9 && (place.error - error).abs() < 1e-9, "{place:?}");
    }
    let likelihood = 6.0 * 0.75_f64.ln() + 2.0 * 0.25_f64.ln();
    assert!((found.log_likelihood - likelihood).abs() < 1e-9);
}

fn sparse() -> impl Strategy<Value = Vec<Vec<Option<bool>>>> {
    (0usize..6, 0usize..25).prop_flat_map(|(items, students)| {
        let row = proptest::collection::vec(any::<Option<bool>>(), items);
        proptest::collection::vec(row, students)
    })
}

/// ln P(answers | score) of a student by going through all answers of the same score.
fn brute_force(row: &[Option<bool>], difficulties: &[f64]) -> f64 {
    let asked: Vec<usize> = (0..row.len()).filter(|&item| row[item].is_some()).collect();
    let weight = |right: &dyn Fn(usize) -> bool| {
        let chosen = (0..asked.len()).filter(|&place| right(place));
        (-chosen.map(|place| difficulties[asked[place]]).sum::<f64>()).exp()
    };
    let given = |place: usize| row[asked[place]] == Some(true);
    let score = (0..asked.len()).filter(|&place| given(place)).count();
    let alike = (0u32..1 << asked.len()).filter(|set| set.count_ones() as usize == score);
    let all: f64 = alike.map(|set| weight(&|place| set >> place & 1 == 1)).sum();
    (weight(&given) / all).ln()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Numbers or a reason; the likelihood is that of the definition, and no neighbour has more.
    #[test]
    fn conditional_fits_are_tops(rows in sparse(), by in -0.1..0.1f64, which in 0usize..6) {
        let class = Responses::new(rows.clone()).unwrap();
        let Ok(found) = conditional::fit(&class) else { return Ok(()) };
        let mut b = at(&found);
        prop_assert!(b.iter().sum::<f64>().abs() < 1e-9);
        prop_assert!(found.difficulties.iter().all(|place| place.error > 0.0 && place.error.is_finite()));
        let height = |b: &[f64]| rows.iter().map(|row| brute_force(row, b)).sum::<f64>();
        prop_assert!((height(&b) - found.log_likelihood).abs() < 1e-9);
        if !b.is_empty() {
            let which = which % b.len();
            b[which] += by;
            prop_assert!(height(&b) <= found.log_likelihood + 1e-9);
        }
    }

    /// Always there, finite, mirrored if right and wrong are; whoever answered nothing is at 0.
    #[test]
    fn joint_fits_are_always_there(rows in sparse()) {
        let fit = |rows| joint::fit(&Responses::new(rows).unwrap(), Spread::default()).unwrap();
        let found = fit(rows.clone());
        prop_assert!(found.log_posterior <= 0.0);
        let turned = rows.iter().map(|row| row.iter().map(|cell| cell.map(|it| !it)).collect());
        let back = fit(turned.collect());
        let both = found.difficulties.iter().zip(&back.difficulties);
        for (a, b) in both.chain(found.abilities.iter().zip(&back.abilities)) {
            prop_assert!((a + b).abs() < 1e-7 && a.is_finite());
        }
        for (row, ability) in rows.iter().zip(&found.abilities) {
            prop_assert!(row.iter().any(Option::is_some) || ability.abs() < 1e-9);
        }
    }
}
