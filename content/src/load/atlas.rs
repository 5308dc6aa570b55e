//! Loads the atlas: looks up every key, and checks that its numbers can be what they say.

use std::collections::{BTreeMap, BTreeSet};

use myonym_mechanics::{Freedom, FreedomId, Motion, Point, Posture, Segment, SegmentId, Vec3};

use crate::atlas::{
    Atlas, Ball, Condition, JointFreedom, Line, Miss, Place, Position, Shape, Stop, StopKind,
};
use crate::file::{
    ContentFile, FreedomRow, MotionRow, PathRow, PointRow, PositionRow, SegmentRow, ShapeRow,
};
use crate::load::read::{At, Filled, Keyed, Number, Triple, items};
use crate::load::{Definitions, key, look_up, option, rows, value, values};
use crate::model::{
    Action, Attachment, FreedomKey, LandmarkKey, Muscle, MuscleKey, SegmentKey, SourceKey,
};
use crate::problem::Report;
use crate::vocabulary::Vocabulary;

/// Spread of a via point that says none, in millimetres: two finger-breadths hold nine of ten.
const VIA_SPREAD_MM: f64 = 5.0;
/// No part of a body lies farther from the hip than this, in metres; millimetres would.
const REACH: f64 = 2.0;

/// The atlas of all files.
pub(super) fn atlas(
    files: &[ContentFile],
    vocabulary: &Vocabulary,
    muscles: &BTreeMap<MuscleKey, Muscle>,
    report: &mut Report<'_>,
) -> Atlas {
    let mut loader = AtlasLoader { vocabulary, muscles, report, atlas: Atlas::default() };
    loader.segments(files);
    loader.freedoms(files);
    loader.conditions(files);
    loader.positions(files);
    loader.paths(files);
    loader.shapes(files);
    loader.misses(files);
    loader.atlas
}

struct AtlasLoader<'l, 'f> {
    vocabulary: &'l Vocabulary,
    muscles: &'l BTreeMap<MuscleKey, Muscle>,
    report: &'l mut Report<'f>,
    atlas: Atlas,
}

impl AtlasLoader<'_, '_> {
    fn segments(&mut self, files: &[ContentFile]) {
        let mut definitions = Definitions::new();
        let mut found: Vec<(&At<SegmentKey>, &SegmentRow)> = Vec::new();
        for (key, row) in rows(files, |file| file.segment.as_ref()) {
            definitions.define(key, self.report);
            if !self.atlas.segments.contains_key(&key.value) {
                self.atlas.segments.insert(key.value.clone(), SegmentId(found.len()));
                found.push((key, row));
            }
        }
        for (_, row) in &found {
            let carried_by = self.segment(row.carried_by.as_ref());
            self.atlas.linkage.segments.push(Segment { carried_by });
        }
        for (id, (key, _)) in found.into_iter().enumerate() {
            let linkage = &self.atlas.linkage;
            let carrier = linkage.segments[id].carried_by;
            if carrier.is_some_and(|carrier| linkage.carries(SegmentId(id), carrier)) {
                self.report.add(key.place, format!("segment `{}` carries itself", key.value));
            }
        }
    }

    fn freedoms(&mut self, files: &[ContentFile]) {
        let mut definitions = Definitions::new();
        let found: Vec<&FreedomRow> = files
            .iter()
            .flat_map(|file| items(file.freedom.as_ref()))
            .map(|row| &row.value)
            .collect();
        let ids: BTreeMap<FreedomKey, FreedomId> = found
            .iter()
            .enumerate()
            .map(|(id, row)| (key(row.key.as_ref()), FreedomId(id)))
            .collect();
        for (id, row) in found.into_iter().enumerate() {
            if let Some(key) = &row.key {
                definitions.define(key, self.report);
            }
            self.movements(row);
            let sources = self.sources(row.sources.as_ref());
            let motions = items(row.moves.as_ref()).iter();
            let motions = motions.filter_map(|row| self.motion(&row.value)).collect();
            let turned_by = items(row.turned_by.as_ref()).iter();
            let turned_by =
                turned_by.filter_map(|key| look_up(key, &ids, self.report).copied()).collect();
            let spread = self.spread(row.spread_mm.as_ref(), 0.0);
            self.atlas.linkage.freedoms.push(Freedom { motions, turned_by, spread });
            let mut judged_at: Vec<Posture> = items(row.judged_at.as_ref())
                .iter()
                .map(|posture| self.posture(&posture.value, &ids))
                .collect();
            if judged_at.is_empty() {
                judged_at.push(Posture::new());
            }
            self.atlas.freedoms.push(JointFreedom {
                key: key(row.key.as_ref()),
                id: FreedomId(id),
                joint: key(row.joint.as_ref()),
                positive: key(row.positive.as_ref()),
                negative: key(row.negative.as_ref()),
                axis: value(row.axis.as_ref()),
                judged_at,
                sources,
            });
        }
    }

    /// Checks that the joint has both movements, and that each is the other's opposite.
    fn movements(&mut self, row: &FreedomRow) {
        let Some(joint) = &row.joint else { return };
        let Some(has) = look_up(joint, &self.vocabulary.joints, self.report) else { return };
        for movement in [&row.positive, &row.negative].into_iter().flatten() {
            if !has.movements.contains(&movement.value) {
                let message = format!("joint `{}` has no `{}`", joint.value, movement.value);
                self.report.add(movement.place, message);
            }
        }
        let (Some(positive), Some(negative)) = (&row.positive, &row.negative) else { return };
        let opposite = self.vocabulary.movements.get(&positive.value).map(|m| &m.opposite);
        if opposite.is_some_and(|opposite| *opposite != negative.value) {
            let message = format!("`{}` is not undone by `{}`", positive.value, negative.value);
            self.report.add(negative.place, message);
        }
    }

    fn motion(&mut self, row: &MotionRow) -> Option<Motion> {
        let segment = self.segment(row.segment.as_ref());
        let through = self.place(row.through.as_ref());
        if let Some(along) = &row.along
            && Vec3::from(along.value.0).unit().is_none()
        {
            self.report.add(along.place, "an axis needs a direction");
        }
        Some(Motion {
            segment: segment?,
            through: through?,
            along: Vec3::from(row.along.as_ref()?.value.0),
            rate: row.rate.as_ref().map_or(1.0, |rate| rate.value.0),
            pitch: 0.0,
        })
    }

    fn posture(
        &mut self,
        angles: &Keyed<FreedomKey, At<Number>>,
        ids: &BTreeMap<FreedomKey, FreedomId>,
    ) -> Posture {
        let angles = angles.0.iter().filter_map(|(key, degrees)| {
            let id = look_up(key, ids, self.report)?;
            Some((*id, degrees.value.0.to_radians()))
        });
        angles.collect()
    }

    fn conditions(&mut self, files: &[ContentFile]) {
        let ids = self.freedom_ids();
        for row in files.iter().flat_map(|file| items(file.condition.as_ref())) {
            if let Some(joint) = &row.value.joint {
                look_up(joint, &self.vocabulary.joints, self.report);
            }
            let posture = row.value.posture.as_ref();
            let posture = posture.map(|posture| self.posture(&posture.value, &ids));
            self.atlas.conditions.push(Condition {
                joint: key(row.value.joint.as_ref()),
                words: value(row.value.words.as_ref()),
                posture: posture.unwrap_or_default(),
            });
        }
    }

    fn positions(&mut self, files: &[ContentFile]) {
        let mut definitions = Definitions::new();
        for (key, row) in rows(files, |file| file.position.as_ref()) {
            definitions.define(key, self.report);
            look_up(key, &self.vocabulary.landmarks, self.report);
            let position = self.position(key, row);
            if let Some(position) = position {
                self.atlas.positions.entry(key.value.clone()).or_insert(position);
            }
        }
    }

    fn position(&mut self, key: &At<LandmarkKey>, row: &PositionRow) -> Option<Position> {
        let segment = self.segment(row.segment.as_ref());
        let spread = self.spread(row.spread_mm.as_ref(), 0.0);
        let sources = self.sources(row.sources.as_ref());
        let at = match (&row.at, &row.each) {
            (Some(_), None) => Place::One(self.place(row.at.as_ref())?),
            (None, Some(each)) => {
                let each = each.value.0.iter();
                let each = each.filter_map(|(number, at)| {
                    Some((number.value.0.clone(), self.place(Some(at))?))
                });
                Place::Each(each.collect())
            }
            (Some(_), Some(_)) | (None, None) => {
                self.report.add(key.place, "a position needs either `at` or `each`");
                return None;
            }
        };
        Some(Position { segment: segment?, at, spread, sources })
    }

    fn paths(&mut self, files: &[ContentFile]) {
        let mut seen = BTreeSet::new();
        for row in files.iter().flat_map(|file| items(file.path.as_ref())) {
            let At { value: path, place } = row;
            let (Some(muscle_key), name) = (&path.muscle, option(path.name.as_ref())) else {
                continue;
            };
            let muscle = look_up(muscle_key, self.muscles, self.report);
            let part = option(path.part.as_ref());
            if let (Some(muscle), Some(part)) = (muscle, &path.part)
                && muscle.part(&part.value).is_none()
            {
                let parts = muscle.parts.iter().map(|part| part.key.as_str());
                self.report.add_unknown(part.place, "part", part.value.as_str(), parts);
            }
            if !seen.insert((muscle_key.value.clone(), part.clone(), name.clone())) {
                self.report.add(*place, "this line of pull is there already: give it a name");
            }
            let stops = self.stops(row, muscle);
            if let Some(stops) = stops {
                let line = Line { part, name, stops };
                self.atlas.lines.entry(muscle_key.value.clone()).or_default().push(line);
            }
        }
    }

    fn stops(&mut self, path: &At<PathRow>, muscle: Option<&Muscle>) -> Option<Vec<Stop>> {
        let points = items(path.value.points.as_ref());
        let stops: Vec<Option<Stop>> = points.iter().map(|point| self.stop(point)).collect();
        let (Some(first), Some(last)) = (points.first(), points.last()) else { return None };
        if points.len() < 2 {
            self.report.add(path.place, "a line of pull needs an origin and an insertion");
            return None;
        }
        for (end, point, attachments) in [
            ("origin", first, muscle.map(|muscle| &muscle.origins)),
            ("insertion", last, muscle.map(|muscle| &muscle.insertions)),
        ] {
            match (&point.value.at, attachments) {
                (None, _) => {
                    self.report.add(point.place, format!("the {end} needs `at`, its landmark"));
                }
                (Some(at), Some(attachments)) => self.attached(end, at, attachments),
                (Some(_), None) => {}
            }
        }
        stops.into_iter().collect()
    }

    /// Checks that a muscle has an attachment at this landmark, a larger or a finer one.
    fn attached(&mut self, end: &str, at: &At<LandmarkKey>, attachments: &[Attachment]) {
        if look_up(at, &self.vocabulary.landmarks, self.report).is_none() {
            return;
        }
        let within = |inner: &LandmarkKey, outer: &LandmarkKey| {
            self.vocabulary.with_larger(inner).any(|(key, _)| key == outer)
        };
        let own =
            |one: &Attachment| within(&one.landmark, &at.value) || within(&at.value, &one.landmark);
        let variant = |one: &Attachment| {
            one.variants.iter().any(|variant| within(&variant.landmark, &at.value))
        };
        if !attachments.iter().any(|one| own(one) || variant(one)) {
            let message = format!("the muscle has no {end} on `{}`", at.value);
            self.report.add(at.place, message);
        }
    }

    fn stop(&mut self, row: &At<PointRow>) -> Option<Stop> {
        let At { value: row, place } = row;
        let own = row.xyz.as_ref().map(|_| self.place(row.xyz.as_ref()));
        let on = row.on.as_ref().map(|on| self.segment(Some(on)));
        let sources = self.sources(row.sources.as_ref());
        if own.is_some() && sources.is_empty() {
            self.report.add(*place, "a place of its own needs `sources`");
        }
        let (kind, position) = match (&row.at, &row.why) {
            (Some(at), None) => {
                let landmark = look_up(at, &self.vocabulary.landmarks, self.report);
                let position = self.atlas.positions.get(&at.value);
                if landmark.is_some() && position.is_none() && (own.is_none() || on.is_none()) {
                    let message = format!("landmark `{}` has no position: add one", at.value);
                    self.report.add(at.place, message);
                }
                (StopKind::Attachment(at.value.clone()), position)
            }
            (None, Some(why)) => (StopKind::Via(why.value.clone()), None),
            (Some(_), Some(_)) | (None, None) => {
                let message = "a point needs either `at`, its landmark, or `why` it bends there";
                self.report.add(*place, message);
                return None;
            }
        };
        let span = row.span.as_ref().map(|span| &span.value);
        let at = own.unwrap_or_else(|| position.and_then(|position| position.at.of(span)));
        let segment = on.unwrap_or_else(|| position.map(|position| position.segment));
        let usual = position.map_or(VIA_SPREAD_MM, |position| position.spread * 1e3);
        let spread = self.spread(row.spread_mm.as_ref(), usual);
        if at.is_none() || segment.is_none() {
            let told = row.at.is_some() && own_place_is_told(row);
            if !told {
                self.report.add(*place, "a point needs `on`, its segment, and `xyz`, its place");
            }
        }
        let until = self.until(row);
        Some(Stop { kind, point: Point { segment: segment?, at: at?, spread }, until, sources })
    }

    /// The angle beyond which a line lifts off a via point.
    fn until(&mut self, row: &PointRow) -> Option<(FreedomId, f64)> {
        let until = row.until.as_ref()?;
        let angles = self.posture(&until.value, &self.freedom_ids());
        if row.at.is_some() || angles.len() != 1 {
            self.report.add(until.place, "`until` is for a via point, and names one freedom");
        }
        angles.into_iter().next()
    }

    fn freedom_ids(&self) -> BTreeMap<FreedomKey, FreedomId> {
        self.atlas.freedoms.iter().map(|freedom| (freedom.key.clone(), freedom.id)).collect()
    }

    fn shapes(&mut self, files: &[ContentFile]) {
        for row in files.iter().flat_map(|file| items(file.shape.as_ref())) {
            let shape = self.shape(&row.value);
            self.atlas.shapes.extend(shape);
        }
    }

    fn shape(&mut self, row: &ShapeRow) -> Option<Shape> {
        if let Some(bone) = &row.bone {
            look_up(bone, &self.vocabulary.bones, self.report);
        }
        let segment = self.segment(row.segment.as_ref());
        let mut balls = Vec::new();
        for ball in items(row.balls.as_ref()) {
            let [x, y, z, radius] = ball.value.0;
            if radius <= 0.0 || radius > 0.2 || [x, y, z].iter().any(|n| n.abs() > REACH) {
                self.report.add(ball.place, "a ball needs a place and a radius, both in metres");
            }
            balls.push(Ball { at: Vec3::new(x, y, z), radius });
        }
        let mut solids = Vec::new();
        for solid in items(row.solids.as_ref()) {
            let mut hull = Vec::new();
            for index in &solid.value.0 {
                if let Some(ball) = balls.get(index.value.0) {
                    hull.push(*ball);
                } else {
                    let message = format!("there is no ball {}, counted from 0", index.value.0);
                    self.report.add(index.place, message);
                }
            }
            solids.push(hull);
        }
        Some(Shape { bone: key(row.bone.as_ref()), segment: segment?, solids })
    }

    fn misses(&mut self, files: &[ContentFile]) {
        for row in files.iter().flat_map(|file| items(file.miss.as_ref())) {
            let At { value: row, place } = row;
            let miss = Miss {
                muscle: key(row.muscle.as_ref()),
                part: option(row.part.as_ref()),
                joint: key(row.joint.as_ref()),
                movement: key(row.movement.as_ref()),
                why: value(row.why.as_ref()),
            };
            let claimed = |action: &Action| {
                action.part == miss.part
                    && action.joint == miss.joint
                    && action.movement == miss.movement
            };
            let muscle = self.muscles.get(&miss.muscle);
            if !muscle.is_some_and(|muscle| muscle.actions.iter().any(claimed)) {
                self.report.add(*place, "no muscle has this action: there is nothing to miss");
            }
            self.atlas.misses.push(miss);
        }
    }

    fn segment(&mut self, segment: Option<&At<SegmentKey>>) -> Option<SegmentId> {
        look_up(segment?, &self.atlas.segments, self.report).copied()
    }

    fn place(&mut self, place: Option<&At<Triple>>) -> Option<Vec3> {
        let At { value: Triple(numbers), place } = place?;
        if numbers.iter().any(|number| number.abs() > REACH) {
            self.report.add(*place, format!("more than {REACH} m from the hips: metres are meant"));
        }
        Some(Vec3::from(*numbers))
    }

    /// A spread in metres.
    fn spread(&mut self, spread: Option<&At<Number>>, usual_mm: f64) -> f64 {
        if let Some(At { value: Number(mm), place }) = spread
            && !(0.0..=100.0).contains(mm)
        {
            self.report.add(*place, "a spread lies from 0 to 100 mm");
        }
        spread.map_or(usual_mm, |spread| spread.value.0) * 1e-3
    }

    fn sources(&mut self, sources: Option<&At<Filled<At<SourceKey>>>>) -> Vec<SourceKey> {
        for source in items(sources) {
            look_up(source, &self.vocabulary.sources, self.report);
        }
        values(sources)
    }
}

/// Whether a missing place of an attachment was reported where its landmark was looked up.
fn own_place_is_told(row: &PointRow) -> bool {
    row.xyz.is_none() || row.on.is_none()
}
