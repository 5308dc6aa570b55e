//! Loads the words that facts are made of, and checks that they fit together.

use crate::file::{
    BoneRow, ContentFile, JointRow, LandmarkRow, MovementRow, NamedRow, NerveRow, SourceRow,
};
use crate::load::read::items;
use crate::load::{gather, key, look_up, option, rows, value, values};
use crate::model::LandmarkKey;
use crate::movement_name::MovementIndex;
use crate::problem::Report;
use crate::vocabulary::{Bone, Joint, Landmark, Movement, Named, Nerve, Source, Vocabulary};

/// The vocabulary of all files.
pub(super) fn vocabulary(files: &[ContentFile], report: &mut Report<'_>) -> Vocabulary {
    let vocabulary = Vocabulary {
        bones: gather(files, |file| file.bone.as_ref(), report),
        landmarks: gather(files, |file| file.landmark.as_ref(), report),
        joints: gather(files, |file| file.joint.as_ref(), report),
        movements: gather(files, |file| file.movement.as_ref(), report),
        nerves: gather(files, |file| file.nerve.as_ref(), report),
        regions: gather(files, |file| file.region.as_ref(), report),
        groups: gather(files, |file| file.group.as_ref(), report),
        sources: gather(files, |file| file.source.as_ref(), report),
    };
    check_nerves(files, &vocabulary, report);
    check_landmarks(files, &vocabulary, report);
    check_joints(files, &vocabulary, report);
    check_movements(files, &vocabulary, report);
    check_words_of_movements(files, &vocabulary, report);
    vocabulary
}

impl From<&BoneRow> for Bone {
    fn from(row: &BoneRow) -> Self {
        Self {
            name: value(row.name.as_ref()),
            latin: value(row.latin.as_ref()),
            plural: value(row.plural.as_ref()),
            row: option(row.row.as_ref()),
        }
    }
}

impl From<&LandmarkRow> for Landmark {
    fn from(row: &LandmarkRow) -> Self {
        Self {
            name: value(row.name.as_ref()),
            also: values(row.also.as_ref()),
            latin: option(row.latin.as_ref()),
            bone: option(row.bone.as_ref()),
            within: option(row.within.as_ref()),
            plural: value(row.plural.as_ref()),
            stands_alone: value(row.stands_alone.as_ref()),
        }
    }
}

impl From<&JointRow> for Joint {
    fn from(row: &JointRow) -> Self {
        Self {
            name: value(row.name.as_ref()),
            segment: value(row.segment.as_ref()),
            also: values(row.also.as_ref()),
            movements: values(row.movements.as_ref()),
        }
    }
}

impl From<&MovementRow> for Movement {
    fn from(row: &MovementRow) -> Self {
        Self {
            name: value(row.name.as_ref()),
            verb: value(row.verb.as_ref()),
            also: values(row.also.as_ref()),
            opposite: key(row.opposite.as_ref()),
        }
    }
}

impl From<&NerveRow> for Nerve {
    fn from(row: &NerveRow) -> Self {
        let roots = items(row.roots.as_ref()).iter().map(|root| root.value.0.clone());
        let branch_of = option(row.branch_of.as_ref());
        Self { name: value(row.name.as_ref()), roots: roots.collect(), branch_of }
    }
}

impl From<&NamedRow> for Named {
    fn from(row: &NamedRow) -> Self {
        Self { name: value(row.name.as_ref()) }
    }
}

impl From<&SourceRow> for Source {
    fn from(row: &SourceRow) -> Self {
        Self { citation: value(row.citation.as_ref()), licence: value(row.licence.as_ref()) }
    }
}

fn check_landmarks(files: &[ContentFile], vocabulary: &Vocabulary, report: &mut Report<'_>) {
    for (key, row) in rows(files, |f| f.landmark.as_ref()) {
        if let Some(bone) = &row.bone {
            look_up(bone, &vocabulary.bones, report);
        }
        let Some(larger) = &row.within else { continue };
        look_up(larger, &vocabulary.landmarks, report);
        if goes_round(&key.value, vocabulary) {
            report.add(larger.place, format!("landmark `{}` lies within itself", key.value));
        }
    }
}

/// Whether the chain of larger landmarks comes back to where it starts.
fn goes_round(start: &LandmarkKey, vocabulary: &Vocabulary) -> bool {
    vocabulary.with_larger(start).any(|(_, landmark)| landmark.within.as_ref() == Some(start))
}

fn check_nerves(files: &[ContentFile], vocabulary: &Vocabulary, report: &mut Report<'_>) {
    for (key, row) in rows(files, |f| f.nerve.as_ref()) {
        let Some(trunk) = &row.branch_of else { continue };
        look_up(trunk, &vocabulary.nerves, report);
        if vocabulary.with_trunks(&trunk.value).any(|nerve| *nerve == key.value) {
            report.add(trunk.place, format!("nerve `{}` is a branch of itself", key.value));
        }
    }
}

fn check_joints(files: &[ContentFile], vocabulary: &Vocabulary, report: &mut Report<'_>) {
    for (_, row) in rows(files, |f| f.joint.as_ref()) {
        for movement in items(row.movements.as_ref()) {
            look_up(movement, &vocabulary.movements, report);
        }
    }
}

fn check_movements(files: &[ContentFile], vocabulary: &Vocabulary, report: &mut Report<'_>) {
    for (key, row) in rows(files, |f| f.movement.as_ref()) {
        if let Some(verb) = row.verb.as_ref().filter(|verb| verb.value.matches("{}").count() != 1) {
            report.add(verb.place, "verb needs `{}` once, for what moves");
        }
        let Some(opposite) = &row.opposite else { continue };
        let Some(movement) = look_up(opposite, &vocabulary.movements, report) else { continue };
        if movement.opposite != key.value {
            let message = format!(
                "opposite of `{}` is `{}`, whose own opposite is `{}`",
                key.value, opposite.value, movement.opposite
            );
            report.add(opposite.place, message);
        }
    }
}

/// Other words for a movement that hold at some joint only must name one.
fn check_words_of_movements(
    files: &[ContentFile],
    vocabulary: &Vocabulary,
    report: &mut Report<'_>,
) {
    let index = MovementIndex::of(vocabulary);
    for (_, row) in rows(files, |f| f.movement.as_ref()) {
        for words in items(row.also.as_ref()) {
            if let Some(place) = index.unknown_place(&words.value) {
                let message = format!(
                    "no joint is called `{place}`, and nothing that moves: use the name or the \
                     segment of a joint, or one of its words under `also`"
                );
                report.add(words.place, message);
            }
        }
    }
}
