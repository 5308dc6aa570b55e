//! Statements: what may be said of a muscle, and of whom else it would be true.
//!
//! A statement is taken to be true of another muscle whenever any source lets it: a variant form,
//! a place known only coarsely, a run that overlaps, an action that it only assists. A student
//! who thinks of that muscle is then never told wrongly that it is ruled out.

use std::collections::BTreeSet;

use crate::claim::Claim;
use crate::clue::{Clue, ClueKind};
use crate::list::FactKind;
use crate::model::{
    Action, Attachment, BoneKey, End, LandmarkKey, Level, Muscle, MuscleKey, Role, Span,
};
use crate::name;
use crate::own_list::{OwnAbout, OwnFact};
use crate::place::{Placed, finest};
use crate::vocabulary::Vocabulary;
use crate::words::{
    a_bone, action_phrase, is_whole_bone, listed, nerve_name, place_phrase, spaced, subject,
    the_attachment, the_attachments,
};

/// A sentence about one muscle with what it claims.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Statement {
    pub(crate) clue: Clue,
    pub(crate) rank: Rank,
    /// It is true of a muscle if any of these is.
    claims: Vec<Claim>,
}

/// How soon a statement is wanted as a clue.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Rank {
    /// What the course is about: main actions and attachments.
    Chief,
    /// Facts that help where those do not single a muscle out: lesser actions, nerves.
    Further,
    /// What only sorts muscles: roots, groups, regions.
    Sorting,
}

impl Statement {
    /// Those of `muscles` of whom the statement is true.
    pub(crate) fn fits<'a>(
        &self,
        v: &Vocabulary,
        muscles: &[Placed<'a>],
    ) -> BTreeSet<&'a MuscleKey> {
        let fitting = self.claims.iter().flat_map(|claim| claim.fitting(v, muscles));
        fitting.map(|muscle| &muscle.key).collect()
    }

    /// Whether it is said in the course's own words, so that it cannot be held against another muscle.
    pub(crate) fn is_own(&self) -> bool {
        self.claims.iter().any(|claim| matches!(claim, Claim::Own(_)))
    }

    /// What the statement names, in words.
    pub(crate) fn about(&self, v: &Vocabulary) -> Vec<String> {
        self.claims.iter().flat_map(|claim| claim.about(v)).collect()
    }

    /// How much of a muscle's names the sentence has in it.
    pub(crate) fn naming(&self, names: &Names) -> Naming {
        let said = name::words(&self.clue.text);
        let has = |name: &Vec<String>| {
            !name.is_empty() && said.windows(name.len()).any(|run| run == name.as_slice())
        };
        if names.whole.iter().any(has) {
            Naming::Whole
        } else if names.noun.as_ref().is_some_and(|noun| said.contains(noun)) {
            Naming::Noun
        } else {
            Naming::None
        }
    }
}

/// The names of a muscle in the words that sentences are searched for.
pub(crate) struct Names {
    whole: Vec<Vec<String>>,
    noun: Option<String>,
}

impl Names {
    pub(crate) fn of(muscle: &Muscle) -> Self {
        let whole = [&muscle.name, &muscle.latin].into_iter().chain(&muscle.synonyms);
        let whole = whole.map(|name| name::words(name)).collect();
        Self { whole, noun: name::noun(&muscle.name) }
    }
}

/// How much of a muscle's name a sentence has in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Naming {
    /// Nothing.
    None,
    /// The noun, as `obturator membrane` has that of obturator internus.
    Noun,
    /// A name in full, as `deltoid tuberosity` has.
    Whole,
}

/// What a course teaches of a muscle: facts of its level, less the hidden kinds. A finer place
/// takes the place of the coarser one that it lies within.
pub(crate) fn taught(v: &Vocabulary, muscle: &Muscle, level: Level, hide: &[FactKind]) -> Muscle {
    let mut taught = muscle.clone();
    taught.actions.retain(|action| action.level <= level);
    taught.innervation.retain(|supply| supply.level <= level);
    for ends in [&mut taught.origins, &mut taught.insertions] {
        ends.retain(|attachment| attachment.level <= level);
        *ends = finest(v, ends).cloned().collect();
    }
    if level < Level::Full {
        taught.innervation.iter_mut().for_each(|supply| supply.roots.clear());
    }
    for kind in hide {
        match kind {
            FactKind::Action => taught.actions.clear(),
            FactKind::Attachment => {
                taught.origins.clear();
                taught.insertions.clear();
            }
            FactKind::Innervation => taught.innervation.clear(),
        }
    }
    taught
}

/// All that may be said of a muscle, going by what is taught of it: by kind, then text.
pub(crate) fn statements(v: &Vocabulary, taught: &Muscle) -> Vec<Statement> {
    let mut said = general(v, taught);
    said.extend(actions(v, taught));
    for end in [End::Origin, End::Insertion] {
        said.extend(bones(v, taught, end));
        said.extend(single_places(v, taught, end));
        said.extend(all_places(v, taught, end));
    }
    said.extend(nerves(v, taught));
    said.sort_by(|a, b| (&a.clue, a.rank).cmp(&(&b.clue, b.rank)));
    one_of_each_text(said)
}

/// Sentences that read alike are one statement, true wherever any of them is: `It arises from the
/// sphenoid bone.` is said of the bone and of a place that is known no closer.
fn one_of_each_text(said: Vec<Statement>) -> Vec<Statement> {
    let mut told: Vec<Statement> = Vec::with_capacity(said.len());
    for one in said {
        match told.iter_mut().find(|known| known.clue.text == one.clue.text) {
            Some(known) => known.claims.extend(one.claims),
            None => told.push(one),
        }
    }
    told
}

/// Puts a course's own wording in the place of what the data say of the same thing. The bone that a
/// place is on stays: it is true in either wording.
pub(crate) fn reworded(
    said: Vec<Statement>,
    muscle: &MuscleKey,
    facts: &[OwnFact],
) -> Vec<Statement> {
    let own: Vec<&OwnFact> = facts.iter().filter(|fact| fact.muscle == *muscle).collect();
    let replaced = |kind: ClueKind| own.iter().any(|fact| rewords(fact.about, kind));
    let mut said: Vec<Statement> =
        said.into_iter().filter(|statement| !replaced(statement.clue.kind)).collect();
    said.extend(own.iter().map(|fact| {
        let wording = &fact.wording;
        let (kind, text) = match fact.about {
            OwnAbout::Origin => (ClueKind::Origin, format!("It arises from {wording}.")),
            OwnAbout::Insertion => (ClueKind::Insertion, format!("It inserts on {wording}.")),
            OwnAbout::Action => (ClueKind::Action, format!("It {wording}.")),
            OwnAbout::Nerve => (ClueKind::Nerve, format!("It is supplied by {wording}.")),
        };
        statement(kind, text, Claim::Own(muscle.clone()))
    }));
    said
}

/// Whether a fact of the course's own takes the place of a kind of clue.
pub(crate) fn rewords(about: OwnAbout, kind: ClueKind) -> bool {
    match about {
        OwnAbout::Origin => kind == ClueKind::Origin,
        OwnAbout::Insertion => kind == ClueKind::Insertion,
        OwnAbout::Action => kind == ClueKind::Action,
        OwnAbout::Nerve => matches!(kind, ClueKind::Nerve | ClueKind::Roots),
    }
}

fn statement(kind: ClueKind, text: String, claim: Claim) -> Statement {
    let rank = match kind {
        ClueKind::Region | ClueKind::Group | ClueKind::Roots | ClueKind::Picture => Rank::Sorting,
        ClueKind::Nerve => Rank::Further,
        ClueKind::Joint
        | ClueKind::Action
        | ClueKind::OriginBone
        | ClueKind::InsertionBone
        | ClueKind::Origin
        | ClueKind::Insertion
        | ClueKind::Attachments => Rank::Chief,
    };
    Statement { clue: Clue { kind, text }, rank, claims: vec![claim] }
}

fn general(v: &Vocabulary, muscle: &Muscle) -> Vec<Statement> {
    let region = v.regions.get(&muscle.region).map(|region| region.name.clone());
    let text = membership(&region.unwrap_or_else(|| spaced(&muscle.region)), "is a muscle of");
    let mut said = vec![statement(ClueKind::Region, text, Claim::Region(muscle.region.clone()))];
    for key in &muscle.groups {
        let group = v.groups.get(key).map(|group| group.name.clone());
        let text = membership(&group.unwrap_or_else(|| spaced(key)), "belongs to");
        said.push(statement(ClueKind::Group, text, Claim::Group(key.clone())));
    }
    said
}

/// `It is one of the scapulohumeral muscles.`, and for what is not called muscles `It belongs to
/// the rotator cuff.`
fn membership(whole: &str, otherwise: &str) -> String {
    let is_plural = whole.split(' ').any(|word| word == "muscles");
    let belongs = if is_plural { "is one of" } else { otherwise };
    format!("It {belongs} the {whole}.")
}

fn actions(v: &Vocabulary, muscle: &Muscle) -> Vec<Statement> {
    muscle.actions.iter().flat_map(|action| of_action(v, muscle, action)).collect()
}

fn of_action(v: &Vocabulary, muscle: &Muscle, action: &Action) -> [Statement; 2] {
    let rank = match action.role {
        Role::PrimeMover => Rank::Chief,
        Role::Assists | Role::Stabilises => Rank::Further,
    };
    let Action { joint, movement, .. } = action;
    let name = v.joints.get(joint).map_or_else(|| spaced(joint), |joint| joint.name.clone());
    let on_joint = format!("It acts on the {name}.");
    let on_joint = statement(ClueKind::Joint, on_joint, Claim::Joint(joint.clone()));
    let phrase = action_phrase(v, muscle, action);
    let text = match action.part {
        Some(_) => sentence(&phrase),
        None => sentence(&format!("it {phrase}")),
    };
    let steadies = action.role == Role::Stabilises;
    let claim = Claim::Action { joint: joint.clone(), movement: movement.clone(), steadies };
    let moving = statement(ClueKind::Action, text, claim);
    [on_joint, moving].map(|said| Statement { rank, ..said })
}

fn bones(v: &Vocabulary, muscle: &Muscle, end: End) -> Vec<Statement> {
    let attachments = muscle.attachments(end);
    let on = |attachment: &Attachment| v.bone_of(&attachment.landmark).cloned();
    let bones: BTreeSet<BoneKey> = attachments.iter().filter_map(on).collect();
    let kind = match end {
        End::Origin => ClueKind::OriginBone,
        End::Insertion => ClueKind::InsertionBone,
    };
    let say = |bone: BoneKey| {
        let here = attachments.iter().filter(|attachment| on(attachment).as_ref() == Some(&bone));
        let here: Vec<&Attachment> = here.collect();
        let partly = if here.len() < attachments.len() { "partly " } else { "" };
        let text = format!("it {} {}.", verb(end, partly, false), a_bone(v, &bone, &here));
        statement(kind, sentence(&text), Claim::Bone(end, bone))
    };
    bones.into_iter().map(say).collect()
}

/// One statement for each place, and one for each larger landmark that it lies within; none for
/// a whole bone, of which [`bones`] tells.
fn single_places(v: &Vocabulary, muscle: &Muscle, end: End) -> Vec<Statement> {
    let attachments = muscle.attachments(end);
    let partly = if attachments.len() > 1 { "partly " } else { "" };
    let mut said = Vec::new();
    for attachment in attachments {
        let (part, many) = subject(muscle, attachment.part.as_ref());
        let partly = if part.is_some() { "" } else { partly };
        let subject = part.unwrap_or_else(|| "it".to_owned());
        let mut say = |place: String, landmark: &LandmarkKey, span: Option<Span>| {
            let text = sentence(&format!("{subject} {} {place}", verb(end, partly, many)));
            let claim = Claim::Places(end, vec![(landmark.clone(), span)]);
            said.push(statement(place_kind(end), text, claim));
        };
        let Attachment { landmark, span, portion, .. } = attachment;
        if span.is_some() || portion.is_some() || !is_whole_bone(v, landmark) {
            say(the_attachment(v, attachment), landmark, span.clone());
        }
        let larger = v.with_larger(landmark).skip(1).map(|(larger, _)| larger);
        for larger in larger.filter(|larger| !is_whole_bone(v, larger)) {
            say(format!("the {}", place_phrase(v, larger)), larger, None);
        }
    }
    said
}

fn all_places(v: &Vocabulary, muscle: &Muscle, end: End) -> Option<Statement> {
    let attachments = muscle.attachments(end);
    let all = the_attachments(v, muscle, end);
    if all.len() < 2 {
        return None;
    }
    let text = sentence(&format!("it {} {}", verb(end, "", false), listed(&all)));
    let places = attachments.iter().map(|place| (place.landmark.clone(), place.span.clone()));
    Some(statement(place_kind(end), text, Claim::Places(end, places.collect())))
}

fn nerves(v: &Vocabulary, muscle: &Muscle) -> Vec<Statement> {
    let partly = if muscle.innervation.len() > 1 { "partly " } else { "" };
    let mut said = Vec::new();
    for supply in &muscle.innervation {
        let name = nerve_name(v, supply);
        let (part, many) = subject(muscle, supply.part.as_ref());
        let partly = if part.is_some() { "" } else { partly };
        let subject = part.unwrap_or_else(|| "it".to_owned());
        let is = if many { "are" } else { "is" };
        let text = sentence(&format!("{subject} {is} supplied {partly}by the {name}"));
        said.push(statement(ClueKind::Nerve, text, Claim::Nerve(supply.nerve.clone())));
        if !supply.roots.is_empty() {
            let word = if supply.roots.len() > 1 { "roots" } else { "root" };
            let roots = listed(&supply.roots);
            let text = sentence(&format!(
                "{subject} {is} supplied {partly}from the spinal {word} {roots}"
            ));
            let claim = Claim::Roots(supply.roots.iter().cloned().collect());
            said.push(statement(ClueKind::Roots, text, claim));
        }
    }
    said
}

fn place_kind(end: End) -> ClueKind {
    match end {
        End::Origin => ClueKind::Origin,
        End::Insertion => ClueKind::Insertion,
    }
}

pub(crate) fn verb(end: End, partly: &str, many: bool) -> String {
    let s = if many { "" } else { "s" };
    match end {
        End::Origin if many => format!("arise {partly}from"),
        End::Origin => format!("arises {partly}from"),
        End::Insertion => format!("insert{s} {partly}on"),
    }
}

/// With a capital letter and a full stop.
pub(crate) fn sentence(text: &str) -> String {
    let mut rest = text.chars();
    let first = rest.next().map(|letter| letter.to_ascii_uppercase());
    let stop = if text.ends_with('.') { "" } else { "." };
    first.into_iter().chain(rest).collect::<String>() + stop
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;
    use crate::catalogue::Catalogue;
    use crate::model::ListKey;

    /// Of whom a sentence about one muscle is true, among the muscles of the shoulder.
    #[test]
    fn a_statement_is_true_wherever_any_source_lets_it() {
        let v = &Catalogue::bundled().vocabulary;
        let shoulder = Catalogue::bundled().list(&ListKey::new("shoulder-full")).unwrap();
        let all = shoulder.muscles.iter().map(|key| Catalogue::bundled().muscle(key).unwrap());
        let all: Vec<Placed<'_>> = all.map(|muscle| Placed::new(v, muscle)).collect();
        let check = |muscle: &str, text: &str, expected: &[&str]| {
            let muscle = Catalogue::bundled().muscle(&MuscleKey::new(muscle)).unwrap();
            let said = statements(v, &taught(v, muscle, Level::Full, &[]));
            let said = said.iter().find(|said| said.clue.text == text).expect(text);
            let fits = said.fits(v, &all);
            let fits: Vec<&str> = fits.iter().map(|key| key.as_str()).collect();
            assert_eq!(fits, expected, "{text}");
        };
        // Shannon 1948 applied by hand to eight muscles gives 3, 3 and 2 (ig.clue); pectoralis
        // major joins them by OpenStax 2e, which has it insert on the greater tubercle.
        check(
            "teres-minor",
            "It rotates the arm laterally.",
            &["deltoid", "infraspinatus", "teres-minor"],
        );
        check(
            "teres-minor",
            "It inserts on the greater tubercle of the humerus.",
            &["infraspinatus", "pectoralis-major", "supraspinatus", "teres-minor"],
        );
        check("teres-minor", "It is supplied by the axillary nerve.", &["deltoid", "teres-minor"]);
        // Sources add or leave out a root: coracobrachialis has C5 to C7, or C6 and C7.
        check(
            "latissimus-dorsi",
            "It is supplied from the spinal roots C6, C7 and C8.",
            &["coracobrachialis", "latissimus-dorsi", "triceps-brachii"],
        );
        // Gray 1918 tells the facets apart.
        check(
            "teres-minor",
            "It inserts on the inferior facet of the greater tubercle of the humerus.",
            &["pectoralis-major", "teres-minor"],
        );
        // Sulcus (OpenStax 2e) and medial lip (Gray 1918): the sulcus alone never decides.
        check(
            "teres-major",
            "It inserts on the intertubercular sulcus of the humerus.",
            &["latissimus-dorsi", "pectoralis-major", "teres-major"],
        );
        check(
            "teres-major",
            "It inserts on the medial lip of the intertubercular sulcus of the humerus.",
            &["teres-major"],
        );
        // T2-T5 lies within the run of trapezius, C7-T12, and apart from C7-T1.
        check(
            "rhomboid-major",
            "It arises from the spinous processes of T2-T5.",
            &["rhomboid-major", "trapezius"],
        );
        // Helping counts: both biceps and coracobrachialis flex the arm.
        check(
            "coracobrachialis",
            "It flexes the arm.",
            &["biceps-brachii", "coracobrachialis", "deltoid", "pectoralis-major"],
        );
    }

    /// Else the sentence, told of one, would rule the other out.
    #[test]
    fn a_sentence_said_of_two_muscles_is_true_of_both() {
        let v = &Catalogue::bundled().vocabulary;
        let all = Catalogue::bundled().muscles().map(|muscle| Placed::new(v, muscle));
        let all: Vec<Placed<'_>> = all.collect();
        for level in [Level::Introductory, Level::Full] {
            let mut said: BTreeMap<String, Vec<(&Muscle, Statement)>> = BTreeMap::new();
            for Placed { muscle, .. } in &all {
                for one in statements(v, &taught(v, muscle, level, &[])) {
                    said.entry(one.clue.text.clone()).or_default().push((muscle, one));
                }
            }
            let mut untrue = Vec::new();
            for (text, of) in &said {
                let own: BTreeSet<_> = of.iter().map(|(muscle, _)| &muscle.key).collect();
                for (muscle, one) in of {
                    let others = &own - &one.fits(v, &all);
                    if !others.is_empty() {
                        untrue.push(format!("{text} of {}, not of {others:?}", muscle.key));
                    }
                }
            }
            assert!(untrue.is_empty(), "{untrue:#?}");
        }
    }

    #[test]
    fn to_steady_a_joint_is_not_to_move_it() {
        let v = &Catalogue::bundled().vocabulary;
        let muscle = |key| Catalogue::bundled().muscle(&MuscleKey::new(key)).unwrap();
        let mut steady = muscle("supraspinatus").clone();
        steady.actions[0].role = Role::Stabilises;
        let [_, steadies] = of_action(v, &steady, &steady.actions[0]);
        let both = [&steady, muscle("deltoid")].map(|muscle| Placed::new(v, muscle));
        assert_eq!(steadies.fits(v, &both).len(), 1);
        let [_, moves] = of_action(v, muscle("deltoid"), &muscle("deltoid").actions[0]);
        assert_eq!(moves.fits(v, &both).len(), 1);
    }

    #[test]
    fn a_full_course_has_the_finest_place_of_each_part() {
        let v = &Catalogue::bundled().vocabulary;
        let muscle = |key| Catalogue::bundled().muscle(&MuscleKey::new(key)).unwrap();
        let check = |key, end, level, expected: &[&str]| {
            let taught = taught(v, muscle(key), level, &[]);
            assert_eq!(the_attachments(v, &taught, end), expected, "{key} {level:?}");
        };
        check(
            "teres-minor",
            End::Insertion,
            Level::Introductory,
            &["the greater tubercle of the humerus"],
        );
        check(
            "teres-minor",
            End::Insertion,
            Level::Full,
            &["the inferior facet of the greater tubercle of the humerus"],
        );
        let spine = "the spine of the scapula (middle part)";
        let trapezius = taught(v, muscle("trapezius"), Level::Full, &[]);
        let places = the_attachments(v, &trapezius, End::Insertion);
        assert!(places.iter().any(|place| place == spine), "{places:?}");
        check(
            "triceps-brachii",
            End::Origin,
            Level::Introductory,
            &[
                "the infraglenoid tubercle of the scapula (long head)",
                "the posterior surface of the shaft of the humerus (lateral head and medial head)",
            ],
        );
    }
}
