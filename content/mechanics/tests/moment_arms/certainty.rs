//! How sure arms are: laws of the standard deviation, chance drawn by ourselves, and chance drawn by
//! others.

use std::collections::BTreeMap;

use myonym_mechanics::{Certainty, Estimate, FreedomId, Linkage, Point, Posture};
use proptest::prelude::*;
use serde::Deserialize;

use crate::chance::{Chance, normal_below};
use crate::models::{Model, parse};
use crate::random_linkage::{Nesting, Scene, scene};

fn with_spread(path: &[Point], spread: f64) -> Vec<Point> {
    path.iter().map(|point| Point { spread, ..*point }).collect()
}

fn blurred(scene: &Scene, spread: f64) -> Scene {
    let mut scene = scene.clone();
    scene.path = with_spread(&scene.path, spread);
    for freedom in &mut scene.linkage.freedoms {
        freedom.spread = spread;
    }
    scene
}

fn estimate(scene: &Scene, freedom: FreedomId) -> Option<Estimate> {
    scene.linkage.estimate(&scene.posture, freedom, &scene.path)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// What is exact stays exact.
    #[test]
    fn no_spread_no_doubt(scene in scene(Nesting::Ordered)) {
        for freedom in scene.freedoms() {
            let estimate = estimate(&scene, freedom);
            prop_assert_eq!(estimate.map(|estimate| estimate.arm_mm), scene.pose().arm_mm(freedom, &scene.path));
            prop_assert!(estimate.is_none_or(|estimate| estimate.sd_mm.abs() < 1e-12));
        }
    }

    /// Twice the spread, twice the standard deviation; the arm stays.
    #[test]
    fn the_deviation_grows_with_the_spread(scene in scene(Nesting::Ordered), by in 0.1..5.0_f64) {
        for freedom in scene.freedoms() {
            let [one, more] = [0.004, 0.004 * by].map(|spread| estimate(&blurred(&scene, spread), freedom));
            let Some((one, more)) = one.zip(more) else { continue };
            prop_assert!((one.arm_mm - more.arm_mm).abs() < 1e-12);
            prop_assert!((one.sd_mm * by - more.sd_mm).abs() < 1e-6 * more.sd_mm.max(1.0));
        }
    }

    /// A point that no crossing touches has no say.
    #[test]
    fn points_far_from_the_crossing_do_not_matter(scene in scene(Nesting::Ordered), at in 0_usize..6) {
        let mut longer = blurred(&scene, 0.004);
        let first = longer.path[0];
        let mut far = first;
        far.at = far.at + scene.path[at % scene.path.len()].at + scene.path[0].at;
        longer.path.insert(0, far);
        prop_assume!(longer.is_stretched());
        let shorter = blurred(&scene, 0.004);
        for freedom in scene.freedoms() {
            let [short, long] = [&shorter, &longer].map(|scene| estimate(scene, freedom));
            let Some((short, long)) = short.zip(long) else { continue };
            prop_assert!((short.sd_mm - long.sd_mm).abs() < 1e-6 * short.sd_mm.max(1.0));
        }
    }
}

/// Draws of each line; a standard deviation from so many is right to 3.5 % (one in its turn).
const DRAWS: u32 = 400;

/// Standard deviation of an arm when points and axes are off by chance.
fn drawn_sd_mm(
    linkage: &Linkage,
    posture: &Posture,
    freedom: FreedomId,
    path: &[Point],
    chance: &mut Chance,
) -> f64 {
    let mut drawn = linkage.clone();
    let arms: Vec<f64> = (0..DRAWS)
        .map(|_| {
            // All axes of the hip run through its centre, and so share its error.
            let shift = chance.shift(linkage.freedoms[freedom.0].spread);
            for (drawn, exact) in drawn.freedoms.iter_mut().zip(&linkage.freedoms) {
                if exact.spread > 0.0 {
                    drawn.motions[0].through = exact.motions[0].through + shift;
                }
            }
            drawn.pose(posture).arm_mm(freedom, &chance.draw(path)).expect("crosses")
        })
        .collect();
    let mean = arms.iter().sum::<f64>() / f64::from(DRAWS);
    (arms.iter().map(|arm| (arm - mean).powi(2)).sum::<f64>() / f64::from(DRAWS - 1)).sqrt()
}

/// Lines of the leg model over the hip, straight and bent by 60 degrees, with points off by 5 mm and
/// the hip's centre by 4 mm.
#[test]
fn the_deviation_is_what_chance_gives() {
    let model = Model::read("gait2392");
    let mut linkage = model.linkage.clone();
    let freedoms =
        ["hip flexion/extension", "hip adduction/abduction", "hip internal/external rotation"]
            .map(|name| model.freedom(name).expect("an axis"));
    for freedom in freedoms {
        linkage.freedoms[freedom.0].spread = 0.004;
    }
    let mut chance = Chance::new();
    let mut worst: f64 = 0.0;
    for degrees in [0.0, 60.0_f64] {
        let posture = Posture::from([(freedoms[0], degrees.to_radians())]);
        for element in ["glut_med1", "glut_max2", "peri", "semimem", "add_long", "rect_fem", "gem"]
        {
            let path = with_spread(&model.line(element).points, 0.005);
            for freedom in freedoms {
                let estimate = linkage.estimate(&posture, freedom, &path).expect("crosses");
                let drawn = drawn_sd_mm(&linkage, &posture, freedom, &path, &mut chance);
                worst = worst.max((estimate.sd_mm / drawn - 1.0).abs());
            }
        }
    }
    println!("standard deviations differ by up to {worst:.3} of themselves");
    // Four standard deviations of what 400 draws tell.
    assert!(worst < 0.14, "{worst}");
}

#[derive(Deserialize)]
struct SignKept {
    noise_sd_mm: [f64; 3],
    rows: Vec<SignKeptRow>,
}

#[derive(Deserialize)]
struct SignKeptRow {
    model: String,
    freedom: String,
    kept: BTreeMap<String, [f64; 3]>,
}

/// What we say of a sign, and the share of draws of others in which it was right.
struct Said {
    name: String,
    estimate: Estimate,
    kept: f64,
}

impl Said {
    /// How much surer we are than the draws.
    fn too_sure(&self) -> f64 {
        normal_below(self.estimate.arm_mm.abs() / self.estimate.sd_mm) - self.kept
    }
}

/// All signs under one of the noises of the file.
fn said(file: &SignKept, column: usize) -> Vec<Said> {
    let spread = file.noise_sd_mm[column] * 1e-3;
    let row = |row: &SignKeptRow| {
        let model = Model::read(&row.model);
        let freedom = model.freedom(&row.freedom).expect("an axis");
        let said = |(element, kept): (&String, &[f64; 3])| {
            let path = with_spread(&model.line(element).with_contacts, spread);
            let estimate = model.linkage.estimate(&Posture::new(), freedom, &path);
            let name = format!("{element}, {}", row.freedom);
            Said { name, estimate: estimate.expect("crosses"), kept: kept[column] }
        };
        row.kept.iter().map(said).collect::<Vec<_>>()
    };
    file.rows.iter().flat_map(row).collect()
}

fn mean(numbers: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = numbers.fold((0.0, 0.0), |(sum, count), x| (sum + x, count + 1.0));
    sum / count
}

/// Noise drawn by others (`sign-kept.json`): a sign to which we give the chance p is right in about
/// the share p of their draws. A share of 100 draws strays by up to 5 % (one standard deviation), and
/// where points lie closer together than the noise the first order is too sure: long head of biceps
/// on the head of the humerus, flexors of the toes under them. Tolerances are from looking.
#[test]
fn signs_are_as_sure_as_we_say() {
    let file: SignKept =
        parse(include_str!("../../../../tests/reference/biomechanics/sign-kept.json"));
    for (column, (off, by_row)) in [(0.02, 0.1), (0.03, 0.15), (0.04, 0.2)].into_iter().enumerate()
    {
        let said = said(&file, column);
        let bias = mean(said.iter().map(Said::too_sure));
        let spread = mean(said.iter().map(|said| said.too_sure().powi(2))).sqrt();
        let by_size = |a: &&Said, b: &&Said| a.too_sure().abs().total_cmp(&b.too_sure().abs());
        let worst = said.iter().max_by(by_size).expect("some row");
        println!(
            "{} signs at {} mm: too sure by {bias:.4} on average, {spread:.4} in the root mean square; \
             worst {} ({:.3})",
            said.len(),
            file.noise_sd_mm[column],
            worst.name,
            worst.too_sure(),
        );
        assert_eq!(said.len(), 230);
        assert!(bias.abs() < 0.01 && spread < off, "{bias} {spread}");
        assert!(worst.too_sure().abs() < by_row, "{} {}", worst.name, worst.too_sure());
    }
}

/// The three words mean what their comments say, on average over the draws of others.
#[test]
fn the_three_words_mean_what_they_say() {
    let file: SignKept =
        parse(include_str!("../../../../tests/reference/biomechanics/sign-kept.json"));
    for column in 0..file.noise_sd_mm.len() {
        let said = said(&file, column);
        let kept = |certainty: Certainty| {
            let those = said.iter().filter(move |said| said.estimate.certainty() == certainty);
            mean(those.map(|said| said.kept))
        };
        let [cannot, likely, sure] =
            [Certainty::CannotSay, Certainty::Likely, Certainty::Sure].map(kept);
        println!("{} mm: {cannot:.3} {likely:.3} {sure:.3}", file.noise_sd_mm[column]);
        assert!(cannot < 0.841 && 0.841 < likely && likely < 0.975 && 0.975 < sure);
    }
}

#[test]
fn certainty_changes_at_one_and_1_96_deviations() {
    let certainty = |arm_mm, sd_mm| Estimate { arm_mm, sd_mm }.certainty();
    assert_eq!(certainty(0.99, 1.0), Certainty::CannotSay);
    assert_eq!(certainty(-1.0, 1.0), Certainty::Likely);
    assert_eq!(certainty(1.95, 1.0), Certainty::Likely);
    assert_eq!(certainty(-1.96, 1.0), Certainty::Sure);
    // Exact things are sure, unless there is nothing to be sure of.
    assert_eq!(certainty(-0.1, 0.0), Certainty::Sure);
    assert_eq!(certainty(0.0, 0.0), Certainty::CannotSay);
    assert_eq!(certainty(1.0, f64::NAN), Certainty::CannotSay);
}
