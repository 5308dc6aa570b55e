//! How sure arms are: laws of the standard deviation, chance drawn by ourselves, and chance drawn
//! by others.

use std::collections::BTreeMap;

use myonym_mechanics::{Certainty, Estimate, FreedomId, Point, Posture, Vec3};
use proptest::prelude::*;
use serde::Deserialize;

use crate::chance::{Chance, normal_below};
use crate::models::{Model, parse};
use crate::random_linkage::{Nesting, Scene, place, scene};

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
            let arm_mm = scene.pose().arm_mm(freedom, &scene.path);
            prop_assert_eq!(estimate.map(|estimate| estimate.arm_mm), arm_mm);
            prop_assert!(estimate.is_none_or(|estimate| estimate.sd_mm.abs() < 1e-12));
        }
    }

    /// Twice the spread, twice the standard deviation; the arm stays.
    #[test]
    fn the_deviation_grows_with_the_spread(scene in scene(Nesting::Ordered), by in 0.1..5.0_f64) {
        for freedom in scene.freedoms() {
            let sd = |spread| estimate(&blurred(&scene, spread), freedom);
            let [one, more] = [0.004, 0.004 * by].map(sd);
            let Some((one, more)) = one.zip(more) else { continue };
            prop_assert!((one.arm_mm - more.arm_mm).abs() < 1e-12);
            prop_assert!((one.sd_mm * by - more.sd_mm).abs() < 1e-6 * more.sd_mm.max(1.0));
        }
    }

    /// A point that no crossing touches has no say.
    #[test]
    fn points_far_from_the_crossing_do_not_matter(
        scene in scene(Nesting::Ordered), shift in place(),
    ) {
        let shorter = blurred(&scene, 0.004);
        let mut longer = shorter.clone();
        let first = longer.path[0];
        longer.path.insert(0, Point { at: first.at + shift, ..first });
        prop_assume!(longer.is_stretched());
        for freedom in scene.freedoms() {
            let [short, long] = [&shorter, &longer].map(|scene| estimate(scene, freedom));
            let Some((short, long)) = short.zip(long) else { continue };
            prop_assert!((short.sd_mm - long.sd_mm).abs() < 1e-6 * short.sd_mm.max(1.0));
        }
    }
}

/// Draws of each line; a standard deviation from so many is right to 3.5 % (one in its turn).
const DRAWS: u32 = 400;

/// Standard deviation of an arm when points and axes are off by chance. Axes through one place (the
/// centre of the hip) share their error.
fn drawn_sd_mm(scene: &Scene, freedom: FreedomId, chance: &mut Chance) -> f64 {
    let mut drawn = scene.linkage.clone();
    let arms: Vec<f64> = (0..DRAWS)
        .map(|_| {
            let mut shifts: Vec<(Vec3, Vec3)> = Vec::new();
            for (drawn, exact) in drawn.freedoms.iter_mut().zip(&scene.linkage.freedoms) {
                let place = exact.motions[0].through;
                let known = shifts.iter().find(|(other, _)| *other == place).copied();
                let (_, shift) = known.unwrap_or_else(|| (place, chance.shift(exact.spread)));
                shifts.push((place, shift));
                drawn.motions[0].through = place + shift;
            }
            let path = chance.draw(&scene.path);
            drawn.pose(&scene.posture).arm_mm(freedom, &path).expect("crosses")
        })
        .collect();
    let mean = mean(arms.iter().copied());
    let squares = arms.iter().map(|arm| (arm - mean).powi(2)).sum::<f64>();
    (squares / f64::from(DRAWS - 1)).sqrt()
}

const HIP: [&str; 3] =
    ["hip flexion/extension", "hip adduction/abduction", "hip internal/external rotation"];
const KNEE: &str = "knee flexion/extension";

/// How far the standard deviations of lines over the hip are from drawn ones, as a share; with
/// points, the hip's centre and the knee's axis off by so many millimetres.
fn worst_share(bent: &[(&str, f64)], elements: &[&str], [points, hip, knee]: [f64; 3]) -> f64 {
    let mut model = Model::read("gait2392");
    let id = |name: &str| model.freedom(name).expect("an axis");
    let freedoms = HIP.map(id);
    let posture: Posture =
        bent.iter().map(|&(name, degrees)| (id(name), degrees.to_radians())).collect();
    let spreads = HIP.map(|name| (id(name), hip)).into_iter().chain([(id(KNEE), knee)]);
    for (freedom, spread) in spreads.collect::<Vec<_>>() {
        model.linkage.freedoms[freedom.0].spread = spread * 1e-3;
    }
    let mut chance = Chance::new();
    let mut worst: f64 = 0.0;
    for element in elements {
        let path = with_spread(&model.line(element).points, points * 1e-3);
        let scene = Scene { linkage: model.linkage.clone(), posture: posture.clone(), path };
        for freedom in freedoms {
            let said = estimate(&scene, freedom).expect("crosses").sd_mm;
            let drawn = drawn_sd_mm(&scene, freedom, &mut chance);
            worst = worst.max((said / drawn - 1.0).abs());
        }
    }
    worst
}

/// Lines of the leg model over the hip, with points off by 5 mm and the hip's centre by 4 mm; and,
/// with the knee bent too, the knee's axis by 10 mm, which moves the far end.
#[test]
fn the_deviation_is_what_chance_gives() {
    let lines = ["glut_med1", "glut_max2", "peri", "semimem", "add_long", "rect_fem", "gem"];
    let straight = worst_share(&[], &lines, [5.0, 4.0, 0.0]);
    let bent = worst_share(&[(HIP[0], 60.0)], &lines, [5.0, 4.0, 0.0]);
    let knee = [(HIP[0], 30.0), (KNEE, 90.0)];
    let knee = worst_share(&knee, &["semimem", "bifemlh", "grac"], [1.0, 0.0, 10.0]);
    println!("deviations differ by up to {straight:.3}, {bent:.3} and {knee:.3} of themselves");
    // Four standard deviations of what 400 draws tell.
    assert!(straight < 0.14 && bent < 0.14 && knee < 0.14, "{straight} {bent} {knee}");
}

/// Axes that share a place share the larger of their spreads, whichever of them is bent.
#[test]
fn axes_through_one_place_are_off_together() {
    let model = Model::read("gait2392");
    let [flexion, adduction, _] = HIP.map(|name| model.freedom(name).expect("an axis"));
    let posture = Posture::from([(flexion, 1.0)]);
    let sd_mm = |of_flexion, of_adduction| {
        let mut linkage = model.linkage.clone();
        linkage.freedoms[flexion.0].spread = of_flexion;
        linkage.freedoms[adduction.0].spread = of_adduction;
        let path = &model.line("peri").points;
        linkage.estimate(&posture, adduction, path).expect("crosses").sd_mm
    };
    let both = sd_mm(0.004, 0.004);
    assert!(both > 1.0, "{both}");
    assert!((both - sd_mm(0.004, 0.0)).abs() < 1e-9 && (both - sd_mm(0.0, 0.004)).abs() < 1e-9);
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
/// the share p of their draws. A share of 100 draws strays by up to 5 % (one standard deviation),
/// and where points lie closer together than the noise the first order is too sure: long head of
/// biceps on the head of the humerus, flexors of the toes under them. Tolerances are from looking.
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
