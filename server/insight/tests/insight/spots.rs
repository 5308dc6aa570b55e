//! Weak spots for the console.

use myonym_content::Course;
use myonym_insight::{Tally, weak_spots};
use myonym_wire::{DifferenceShown, HardRow, MapCell, PairRow, WeakSpots};

use crate::class::{catalogue, class_of_24, tally};

fn cell(asked: &str, said: &str, count: u32) -> MapCell {
    MapCell { asked: asked.to_owned(), said: said.to_owned(), count, of: 24 }
}

#[test]
fn weak_spots_of_a_class() {
    let catalogue = catalogue();
    let list = catalogue.lists().next().unwrap();
    let course = Course::new(&catalogue, list).unwrap();
    let tally = tally(&[class_of_24()]);
    let spots = weak_spots(|a, b| course.contrast(a, b), &tally, 1);
    let hard = &tally.hardest()[0];
    assert_eq!(
        spots,
        WeakSpots {
            hardest: vec![HardRow {
                muscle: "teres minor".to_owned(),
                right: 8,
                asked: 24,
                low: hard.rate_right.low,
                high: hard.rate_right.high,
            }],
            pairs: vec![PairRow {
                asked: "teres minor".to_owned(),
                said: "teres major".to_owned(),
                count: 9,
                of: 24,
                apart: Some(DifferenceShown {
                    aspect: "action".to_owned(),
                    asked: "rotates the arm laterally".to_owned(),
                    said: "rotates the arm medially".to_owned(),
                }),
            }],
            // Every confused pair of the class, not only the one that is set out.
            map: vec![
                cell("teres minor", "teres major", 9),
                cell("infraspinatus", "supraspinatus", 4),
                cell("teres minor", "infraspinatus", 3),
                cell("teres major", "teres minor", 2),
                cell("teres minor", "deltoid", 1),
            ],
        }
    );
}

#[test]
fn what_everybody_knew_is_no_weak_spot() {
    let spots = weak_spots(|_, _| None, &tally(&[class_of_24()]), 10);
    let muscles: Vec<&str> = spots.hardest.iter().map(|row| row.muscle.as_str()).collect();
    assert_eq!(muscles, ["teres minor", "infraspinatus", "teres major"]);
    assert!(spots.pairs.iter().all(|pair| pair.apart.is_none()));
    assert_eq!(weak_spots(|_, _| None, &Tally::default(), 10), WeakSpots::default());
}
