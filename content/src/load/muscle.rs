//! Loads muscles: looks up every key of every fact.

use std::collections::BTreeMap;

use crate::catalogue::OtherMuscle;
use crate::file::{ActionRow, AttachmentRow, ContentFile, InnervationRow, MuscleRow};
use crate::load::read::{At, Filled, Root, items};
use crate::load::{Definitions, key, look_up, option, rows, value, values};
use crate::model::{
    Action, Attachment, AttachmentVariant, Innervation, LandmarkKey, Muscle, MuscleKey, NerveKey,
    Part, PartKey, Role, RootsVariant, SourceKey, Span,
};
use crate::problem::{Place, Report};
use crate::vocabulary::Vocabulary;

/// The muscles of all files.
pub(super) fn muscles(
    files: &[ContentFile],
    vocabulary: &Vocabulary,
    report: &mut Report<'_>,
) -> BTreeMap<MuscleKey, Muscle> {
    let mut definitions = Definitions::new();
    let mut muscles = BTreeMap::new();
    for row in files.iter().flat_map(|file| items(file.muscle.as_ref())) {
        let muscle = MuscleLoader::new(&row.value, vocabulary, report).muscle();
        if let Some(key) = &row.value.key {
            definitions.define(key, report);
            muscles.entry(key.value.clone()).or_insert(muscle);
        }
    }
    muscles
}

/// The muscles known by name only, of all files.
pub(super) fn others(
    files: &[ContentFile],
    vocabulary: &Vocabulary,
    report: &mut Report<'_>,
) -> BTreeMap<MuscleKey, OtherMuscle> {
    let mut definitions = Definitions::new();
    let mut others = BTreeMap::new();
    for (key, row) in rows(files, |file| file.other.as_ref()) {
        definitions.define(key, report);
        if let Some(region) = &row.region {
            look_up(region, &vocabulary.regions, report);
        }
        others.entry(key.value.clone()).or_insert_with(|| OtherMuscle {
            key: key.value.clone(),
            name: value(row.name.as_ref()),
            latin: option(row.latin.as_ref()),
            synonyms: values(row.synonyms.as_ref()),
            abbreviations: values(row.abbreviations.as_ref()),
            region: option(row.region.as_ref()),
        });
    }
    others
}

/// Loads one muscle.
struct MuscleLoader<'l, 'f> {
    row: &'l MuscleRow,
    vocabulary: &'l Vocabulary,
    report: &'l mut Report<'f>,
    parts: Definitions<PartKey>,
}

impl<'l, 'f> MuscleLoader<'l, 'f> {
    fn new(row: &'l MuscleRow, vocabulary: &'l Vocabulary, report: &'l mut Report<'f>) -> Self {
        Self { row, vocabulary, report, parts: Definitions::new() }
    }

    fn muscle(&mut self) -> Muscle {
        let row = self.row;
        if let Some(region) = &row.region {
            look_up(region, &self.vocabulary.regions, self.report);
        }
        for group in items(row.groups.as_ref()) {
            look_up(group, &self.vocabulary.groups, self.report);
        }
        Muscle {
            key: key(row.key.as_ref()),
            name: value(row.name.as_ref()),
            latin: value(row.latin.as_ref()),
            synonyms: values(row.synonyms.as_ref()),
            abbreviations: values(row.abbreviations.as_ref()),
            region: key(row.region.as_ref()),
            groups: values(row.groups.as_ref()),
            parts: self.parts(),
            origins: self.attachments(row.origin.as_ref()),
            insertions: self.attachments(row.insertion.as_ref()),
            actions: self.actions(),
            innervation: self.innervation(),
        }
    }

    fn parts(&mut self) -> Vec<Part> {
        let mut parts = Vec::new();
        for At { value: row, .. } in items(self.row.parts.as_ref()) {
            if let Some(key) = &row.key {
                self.parts.define(key, self.report);
            }
            parts.push(Part {
                key: key(row.key.as_ref()),
                name: value(row.name.as_ref()),
                accepted: values(row.accepted.as_ref()),
            });
        }
        parts
    }

    fn attachments(&mut self, list: Option<&At<Filled<At<AttachmentRow>>>>) -> Vec<Attachment> {
        let mut seen = Seen::default();
        let mut attachments = Vec::new();
        for At { value: row, place } in items(list) {
            let attachment = self.attachment(row);
            let Attachment { landmark, span, part, .. } = &attachment;
            seen.add((landmark.clone(), span.clone(), part.clone()), *place, self.report);
            attachments.push(attachment);
        }
        attachments
    }

    fn attachment(&mut self, row: &AttachmentRow) -> Attachment {
        let landmark = self.landmark(row.at.as_ref(), row.span.as_ref());
        let variants = items(row.variants.as_ref()).iter().map(|At { value: variant, .. }| {
            let at = variant.at.as_ref().or(row.at.as_ref());
            AttachmentVariant {
                landmark: self.landmark(at, variant.span.as_ref()),
                span: option(variant.span.as_ref()),
                sources: self.sources(variant.sources.as_ref()),
            }
        });
        let variants = variants.collect();
        Attachment {
            landmark,
            span: option(row.span.as_ref()),
            portion: option(row.portion.as_ref()),
            part: self.part(row.part.as_ref()),
            level: value(row.level.as_ref()),
            sources: self.sources(row.sources.as_ref()),
            variants,
        }
    }

    /// Looks a landmark up and checks that a span fits the row of bones that carries it.
    fn landmark(
        &mut self,
        landmark: Option<&At<LandmarkKey>>,
        span: Option<&At<Span>>,
    ) -> LandmarkKey {
        let Some(landmark) = landmark else { return LandmarkKey::new("") };
        if look_up(landmark, &self.vocabulary.landmarks, self.report).is_some()
            && let Some(span) = span
        {
            let bone = self.vocabulary.bone_of(&landmark.value);
            match bone.and_then(|bone| self.vocabulary.bones.get(bone)?.row.as_ref()) {
                None => {
                    let message =
                        format!("landmark `{}` is not on a row of bones: no span", landmark.value);
                    self.report.add(span.place, message);
                }
                Some(row) if !span.value.lies_within(row) => {
                    let message = format!("span `{}` is not within {row}", span.value);
                    self.report.add(span.place, message);
                }
                Some(_) => {}
            }
        }
        landmark.value.clone()
    }

    fn actions(&mut self) -> Vec<Action> {
        let mut seen = Seen::default();
        let mut actions = Vec::new();
        for At { value: row, place } in items(self.row.action.as_ref()) {
            self.check_movement(row);
            let action = Action {
                joint: key(row.joint.as_ref()),
                movement: key(row.movement.as_ref()),
                role: value(row.role.as_ref()),
                part: self.part(row.part.as_ref()),
                condition: option(row.condition.as_ref()),
                level: value(row.level.as_ref()),
                sources: self.sources(row.sources.as_ref()),
            };
            // A muscle may do a movement, and besides steady the joint while others do it.
            let steadies = action.role == Role::Stabilises;
            let Action { joint, movement, part, .. } = &action;
            let fact = (joint.clone(), movement.clone(), part.clone(), steadies);
            seen.add(fact, *place, self.report);
            actions.push(action);
        }
        actions
    }

    fn check_movement(&mut self, row: &ActionRow) {
        let joint = row.joint.as_ref();
        let joint = joint.and_then(|joint| look_up(joint, &self.vocabulary.joints, self.report));
        let Some(movement) = &row.movement else { return };
        look_up(movement, &self.vocabulary.movements, self.report);
        let Some(joint) = joint else { return };
        let known = self.vocabulary.movements.contains_key(&movement.value);
        if known && !joint.movements.contains(&movement.value) {
            let message = format!("the {} has no movement `{}`", joint.name, movement.value);
            self.report.add(movement.place, message);
        }
    }

    fn innervation(&mut self) -> Vec<Innervation> {
        let mut seen = Seen::default();
        let mut innervation = Vec::new();
        for At { value: row, place } in items(self.row.nerve.as_ref()) {
            let nerve = self.nerve(row);
            seen.add((nerve.nerve.clone(), nerve.part.clone()), *place, self.report);
            innervation.push(nerve);
        }
        innervation
    }

    fn nerve(&mut self, row: &InnervationRow) -> Innervation {
        if let Some(nerve) = &row.nerve {
            look_up(nerve, &self.vocabulary.nerves, self.report);
        }
        let nerve = key(row.nerve.as_ref());
        let variants =
            items(row.variants.as_ref()).iter().map(|At { value: variant, .. }| RootsVariant {
                roots: self.roots(&nerve, variant.roots.as_ref()),
                sources: self.sources(variant.sources.as_ref()),
            });
        let variants = variants.collect();
        Innervation {
            roots: self.roots(&nerve, row.roots.as_ref()),
            part: self.part(row.part.as_ref()),
            level: value(row.level.as_ref()),
            sources: self.sources(row.sources.as_ref()),
            variants,
            nerve,
        }
    }

    /// The roots that reach the muscle; each must be one of its nerve's.
    fn roots(
        &mut self,
        nerve: &NerveKey,
        roots: Option<&At<impl AsRef<[At<Root>]>>>,
    ) -> Vec<String> {
        let whole = self.vocabulary.nerves.get(nerve);
        for root in items(roots) {
            let Some(whole) = whole.filter(|whole| !whole.roots.contains(&root.value.0)) else {
                continue;
            };
            let all = match whole.roots.as_slice() {
                [] => "none".to_owned(),
                all => all.join(", "),
            };
            let message = format!("`{}` is not a root of the {}: {all}", root.value.0, whole.name);
            self.report.add(root.place, message);
        }
        items(roots).iter().map(|root| root.value.0.clone()).collect()
    }

    fn sources(&mut self, sources: Option<&At<Filled<At<SourceKey>>>>) -> Vec<SourceKey> {
        for source in items(sources) {
            look_up(source, &self.vocabulary.sources, self.report);
        }
        values(sources)
    }

    fn part(&mut self, part: Option<&At<PartKey>>) -> Option<PartKey> {
        if let Some(part) = part {
            look_up(part, &self.parts.places, self.report);
        }
        option(part)
    }
}

/// Reports a fact that the same list has already told.
struct Seen<F> {
    facts: BTreeMap<F, Place>,
}

impl<F: Ord> Default for Seen<F> {
    fn default() -> Self {
        Self { facts: BTreeMap::new() }
    }
}

impl<F: Ord> Seen<F> {
    fn add(&mut self, fact: F, place: Place, report: &mut Report<'_>) {
        if let Some(first) = self.facts.get(&fact) {
            let first = report.words(*first);
            report.add(place, format!("this fact is already at {first}"));
        } else {
            self.facts.insert(fact, place);
        }
    }
}
