//! Likeness and favour.

use myonym_stats::Square;
use myonym_stats::similarity::{Fit, NoFit, closed_form, fit};
use proptest::prelude::*;

use crate::reference::{check, vision};

fn flat(rows: &[Vec<f64>]) -> Vec<f64> {
    rows.concat()
}

fn fitted(fit: &Fit) -> Vec<f64> {
    let size = fit.fitted.size();
    (0..size).flat_map(|a| (0..size).map(move |b| fit.fitted.at(a, b))).collect()
}

#[test]
fn greatest_likelihood_of_vision() {
    let check = check("scm.vision");
    let found = fit(&vision()).unwrap();
    let deviance = found.deviance.unwrap();
    check.finds("G2", deviance.statistic);
    check.near_by("published_G2", deviance.statistic, check.wanted("published_G2"));
    check.near_by("G2", found.pearson.unwrap().statistic, check.wanted("X2"));
    assert_eq!(deviance.freedom, check.wanted::<u32>("df"));
    let want = |key: &str| flat(&check.wanted::<Vec<Vec<f64>>>(key));
    let near = |key: &str, found: &[f64]| {
        assert_eq!(found.len(), want(key).len());
        found.iter().zip(want(key)).for_each(|(found, want)| check.near_by(key, *found, want));
    };
    near("fitted", &fitted(&found));
    near("eta", &flat(&found.likeness.eta));
    check.finds_all("beta", &found.likeness.beta);
}

#[test]
fn closed_form_of_vision() {
    let check = check("scm.luce.closed");
    let found = closed_form(&vision()).unwrap();
    check.all_near(&flat(&found.eta), &flat(&check.wanted::<Vec<Vec<f64>>>("eta")));
    check.finds_all("beta", &found.beta);
}

/// What a table was made from comes back.
#[test]
fn parameters_are_recovered() {
    let check = check("scm.recovery");
    let totals: Vec<f64> = check.input("row_totals");
    let eta: Vec<Vec<f64>> = check.input("eta");
    let shares: Vec<Vec<f64>> = check.wanted("P");
    let expected = |row: &Vec<f64>, total: &f64| row.iter().map(|share| share * total).collect();
    // From the parameters, as the shares are printed to twelve digits only.
    let made: Vec<Vec<f64>> = model(&eta, &check.input::<Vec<f64>>("beta"), &totals);
    let printed: Vec<Vec<f64>> =
        shares.iter().zip(&totals).map(|(row, total)| expected(row, total)).collect();
    for (made, printed) in flat(&made).into_iter().zip(flat(&printed)) {
        assert!((made - printed).abs() < 1e-9);
    }
    let table = Square::new(&made).unwrap();
    let by_likelihood = fit(&table).unwrap();
    check.finds("G2", by_likelihood.deviance.unwrap().statistic);
    for found in [&by_likelihood.likeness, &closed_form(&table).unwrap()] {
        check.all_near(&flat(&found.eta), &flat(&check.wanted::<Vec<Vec<f64>>>("eta")));
        check.finds_all("beta", &found.beta);
        for (asked, row) in shares.iter().enumerate() {
            for (answered, share) in row.iter().enumerate() {
                check.near(found.probability(asked, answered), *share);
            }
        }
    }
}

#[test]
fn an_empty_cell_needs_a_prior() {
    let empty =
        Square::new(&[vec![20.0, 10.0, 5.0], vec![3.0, 30.0, 15.0], vec![0.0, 5.0, 40.0]]).unwrap();
    assert_eq!(closed_form(&empty), None);
    // One empty cell does not hinder the likelihood: the others bring the contest round.
    assert!(fit(&empty).is_ok());
    assert!(closed_form(&empty.plus(0.5).unwrap()).is_some());

    let never = Square::new(&[vec![0.0, 1.0], vec![1.0, 1.0]]).unwrap();
    assert_eq!(fit(&never), Err(NoFit::EmptyDiagonal(0)));
    let apart = Square::new(&[vec![5.0, 0.0], vec![0.0, 5.0]]).unwrap();
    assert_eq!(fit(&apart), Err(NoFit::OneWay));
    let one_way = Square::new(&[vec![5.0, 2.0], vec![0.0, 5.0]]).unwrap();
    assert_eq!(fit(&one_way), Err(NoFit::OneWay));
    for table in [never, apart, one_way] {
        let found = fit(&table.plus(0.5).unwrap()).unwrap();
        assert!(found.likeness.beta.iter().all(|beta| beta.is_finite()));
        // Two categories leave the model no freedom to fail.
        assert_eq!(found.deviance, None);
    }
    assert_eq!(apart_from_nothing().plus(-1.0), None);
    assert_eq!(apart_from_nothing().plus(f64::NAN), None);
}

fn apart_from_nothing() -> Square {
    Square::new(&[vec![0.0; 3], vec![0.0; 3], vec![0.0; 3]]).unwrap()
}

/// A whole class's table, nearly empty: one answer a row more, and it fits.
#[test]
fn a_large_sparse_table_fits() {
    let size = 80;
    let mut rows = vec![vec![0.0; size]; size];
    for (a, row) in rows.iter_mut().enumerate() {
        row[a] = 15.0;
        row[(a + 1) % size] = 4.0;
        row[(a * 7 + 3) % size] += 2.0;
    }
    let found = fit(&Square::new(&rows).unwrap().plus(1.0 / 80.0).unwrap()).unwrap();
    let sum: f64 = found.likeness.beta.iter().sum();
    assert!((sum - 1.0).abs() < 1e-12);
    assert!(found.deviance.unwrap().p.is_finite());
}

/// Expected counts of the model.
fn model(eta: &[Vec<f64>], beta: &[f64], totals: &[f64]) -> Vec<Vec<f64>> {
    let row = |(eta, total): (&Vec<f64>, &f64)| {
        let parts: Vec<f64> = eta.iter().zip(beta).map(|(eta, beta)| eta * beta).collect();
        let sum: f64 = parts.iter().sum();
        parts.into_iter().map(|part| total * part / sum).collect()
    };
    eta.iter().zip(totals).map(row).collect()
}

type Parts = (Vec<f64>, Vec<f64>, Vec<f64>);

fn parts() -> impl Strategy<Value = Parts> {
    (2usize..6).prop_flat_map(|size| {
        let list = |low: f64, high: f64, size| proptest::collection::vec(low..high, size);
        (list(0.02, 1.5, size * size), list(0.1, 1.0, size), list(5.0, 500.0, size))
    })
}

fn likeness((cells, favour, _): &Parts) -> (Vec<Vec<f64>>, Vec<f64>) {
    let size = favour.len();
    let eta = |a: usize, b: usize| if a == b { 1.0 } else { cells[a.min(b) * size + a.max(b)] };
    let sum: f64 = favour.iter().sum();
    let rows = (0..size).map(|a| (0..size).map(|b| eta(a, b)).collect()).collect();
    (rows, favour.iter().map(|part| part / sum).collect())
}

fn close(a: &[f64], b: &[f64]) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-7)
}

proptest! {
    #[test]
    fn any_model_is_recovered(parts in parts()) {
        let (eta, beta) = likeness(&parts);
        let table = Square::new(&model(&eta, &beta, &parts.2)).unwrap();
        for found in [fit(&table).unwrap().likeness, closed_form(&table).unwrap()] {
            prop_assert!(close(&flat(&found.eta), &flat(&eta)));
            prop_assert!(close(&found.beta, &beta));
        }
    }

    /// The likelihood equations of quasi-symmetry: rows, columns and pairs keep their totals.
    #[test]
    fn a_fit_keeps_totals(cells in proptest::collection::vec(1u32..50, 16)) {
        let rows: Vec<Vec<f64>> =
            cells.chunks(4).map(|row| row.iter().copied().map(f64::from).collect()).collect();
        let table = Square::new(&rows).unwrap();
        let found = fit(&table).unwrap();
        for a in 0..4 {
            let sum = |at: &dyn Fn(usize) -> f64| (0..4).map(at).sum::<f64>();
            let (want, have) = (sum(&|b| table.at(a, b)), sum(&|b| found.fitted.at(a, b)));
            prop_assert!((want - have).abs() < 1e-6);
            let (want, have) = (sum(&|b| table.at(b, a)), sum(&|b| found.fitted.at(b, a)));
            prop_assert!((want - have).abs() < 1e-6);
        }
        // Fitted counts follow the model.
        let again = fit(&found.fitted).unwrap();
        prop_assert!(again.deviance.unwrap().statistic < 1e-9);
        prop_assert!(close(&again.likeness.beta, &found.likeness.beta));
    }
}
