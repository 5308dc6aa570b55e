//! From where a muscle is seen.

use myonym_content::atlas::{Line, Stop};
use myonym_wire::View;

use crate::flat::{plus, sight};
use crate::scene::{Side, mean};
use crate::turning::Turning;

/// In the order that settles a tie.
pub(crate) const VIEWS: [View; 4] = [View::Front, View::Back, View::Side, View::Above];

/// What is known of a muscle when its view is chosen.
pub(crate) struct Subject<'a> {
    /// What it turns.
    pub(crate) turnings: &'a [Turning],
    /// Its lines of pull.
    pub(crate) lines: &'a [&'a Line],
}

impl Subject<'_> {
    /// How much a view shows: of each moment arm, in millimetres, the share that is seen; all that
    /// by the share that is seen of the length of the lines, and by how well bones are known from
    /// there. Only strong arms count: those of at least half the greatest.
    pub(crate) fn shown_mm(&self, view: View) -> f64 {
        let greatest = self.turnings.iter().map(Turning::weight_mm).fold(0.0, f64::max);
        let strong = self.turnings.iter().filter(|one| one.weight_mm() >= greatest / 2.0);
        let arms: f64 = strong.map(|one| self.seen_mm(one, view)).sum();
        arms * self.length_seen(view) * known(view)
    }

    /// How much a view shows of what one turning does, in millimetres of its moment arm.
    pub(crate) fn seen_mm(&self, turning: &Turning, view: View) -> f64 {
        let ends = self.lines.iter().filter_map(|line| line.stops.last());
        let seen = ends.map(|stop| turning.seen(view, stop.point.at));
        turning.weight_mm() * mean(seen).unwrap_or_default()
    }

    fn length_seen(&self, view: View) -> f64 {
        let share = |pair: &[Stop]| {
            let run = pair[1].point.at - pair[0].point.at;
            [run.across(sight(view)).norm(), run.norm()]
        };
        let pieces = self.lines.iter().flat_map(|line| line.stops.windows(2)).map(share);
        let [seen, all] = pieces.fold([0.0, 0.0], plus);
        if all > 0.0 { seen / all } else { 0.0 }
    }

    /// The view that shows most. The front and the back show the same: of them the one in which
    /// clearly more of the lines lies before the bones, or else the one on whose side of the
    /// bones' middle the lines lie. Otherwise a tie goes to the earlier of front, back, side, above.
    pub(crate) fn best_view(&self, side: impl Fn(View) -> Side) -> View {
        let shown = |view| (self.shown_mm(view) * 1e3).round();
        let most = VIEWS.map(shown).into_iter().fold(0.0, f64::max);
        let fitting = VIEWS.into_iter().filter(|view| shown(*view) >= most);
        fitting.reduce(|best, next| if clearer(side(next), side(best)) { next } else { best }).unwrap_or(View::Front)
    }
}

/// Whether lines lie more before the bones on one side than on the other.
fn clearer(one: Side, other: Side) -> bool {
    if (one.uncovered - other.uncovered).abs() >= CLEARLY {
        one.uncovered > other.uncovered
    } else {
        one.nearer > other.nearer
    }
}

/// A difference of what bones hide that counts.
const CLEARLY: f64 = 0.2;

/// How well bones are known from there: our estimate, since most plates show the front or the back
/// and hardly any the body from above.
fn known(view: View) -> f64 {
    match view {
        View::Front | View::Back => 1.0,
        View::Side => 0.65,
        View::Above => 0.4,
    }
}

#[cfg(test)]
mod tests {
    use myonym_content::atlas::JointFreedom;
    use myonym_content::derived::Derived;
    use myonym_content::model::{FreedomKey, JointKey, MovementKey};
    use myonym_mechanics::{Certainty, FreedomId, Motion, SegmentId, Vec3};
    use proptest::collection::vec;
    use proptest::prelude::*;

    use super::*;

    fn freedom() -> JointFreedom {
        JointFreedom {
            key: FreedomKey::new("a"),
            id: FreedomId(0),
            joint: JointKey::new("b"),
            positive: MovementKey::new("c"),
            negative: MovementKey::new("d"),
            axis: String::new(),
            judged_at: Vec::new(),
            sources: Vec::new(),
        }
    }

    fn turning(freedom: &JointFreedom, along: Vec3, arm_mm: f64) -> Turning {
        let motion =
            Motion { segment: SegmentId(0), through: Vec3::default(), along, rate: 1.0, pitch: 0.0 };
        let derived = Derived {
            part: None,
            freedom: freedom.key.clone(),
            joint: freedom.joint.clone(),
            movement: freedom.positive.clone(),
            arm_mm: arm_mm.abs(),
            sd_mm: 1.0,
            certainty: Certainty::Sure,
        };
        Turning { freedom, motion, derived, arm_mm, share: 1.0, course: crate::turning::Course::Swings }
    }

}

#[cfg(test)]
mod dump {
    #[test]
    fn apart() {
        let c = myonym_content::Catalogue::bundled();
        for (a, b) in [("teres-minor","teres-major"),("gluteus-medius","gluteus-minimus"),("biceps-femoris","semitendinosus"),("pectineus","adductor-longus"),("supraspinatus","infraspinatus"),("subscapularis","infraspinatus"),("rhomboid-major","rhomboid-minor"),("gastrocnemius","soleus"),("biceps-brachii","brachialis"),("biceps-brachii","triceps-brachii"),("pectoralis-major","pectoralis-minor"),("fibularis-longus","fibularis-tertius")] {
            let m = |k: &str| c.muscle(&myonym_content::model::MuscleKey::new(k)).unwrap();
            println!("{a} {b}: {:?}", myonym_content::explain::set_apart(&c.atlas, &c.vocabulary, m(a), m(b)));
        }
    }
    #[test]
    fn dump() {
        let c = myonym_content::Catalogue::bundled();
        for m in c.muscles() {
            let t = crate::turning::turnings(&c.atlas, &m.key);
            if t.is_empty() { continue; }
            let s = crate::turning::shown(&t, m);
            let lines: Vec<_> = c.atlas.lines(&m.key).iter().collect();
            let sub = super::Subject { turnings: &s, lines: &lines };
            let g = s.iter().map(|t| t.weight_mm()).fold(0.0, f64::max);
            let v: Vec<String> = super::VIEWS.iter().skip(1).map(|v| format!("{:?}{:.0}", v, sub.shown_mm(*v))).collect();
            println!("{:30} {:?} {} {}", m.key.as_str(), sub.best_view(|view| crate::scene::Scene::new(&c.atlas, &c.vocabulary, &lines, None, view).side(&lines)), v.join(" "), s.iter().take(6).map(|t| format!("{}{}{}:{:.0}{:?}[{:.1},{:.1},{:.1}]", if t.is_sure() {"!"} else {""}, if t.weight_mm()*2.0>=g {"*"} else {""}, t.derived.movement.as_str().to_owned()+"@"+t.derived.joint.as_str(), t.weight_mm(), t.course, t.motion.along.x, t.motion.along.y, t.motion.along.z)).collect::<Vec<_>>().join(" "));
        }
    }
}
