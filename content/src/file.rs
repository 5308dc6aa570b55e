//! The data files' format: what may stand in one, row by row, and its JSON Schema.
//!
//! Rows hold what was written, not yet looked up. Every field may be absent, because a row with
//! one broken field must still show its other broken fields.

use schemars::{JsonSchema, Schema};

use crate::list::FactKind;
use crate::load::read::{At, Filled, Index, Keyed, Number, Quadruple, Root, RowNumber, Triple};
use crate::load::rows::rows;
use crate::model::{
    BoneKey, FreedomKey, GroupKey, JointKey, LandmarkKey, Level, ListKey, MovementKey, MuscleKey,
    NerveKey, PartKey, RegionKey, Role, SegmentKey, SourceKey, Span,
};

/// The JSON Schema of a data file, as committed in `content/schema/`.
pub fn schema() -> Schema {
    schemars::schema_for!(ContentFile)
}

rows! {
    /// A data file of Myonym. One file may hold any of these: a course's own file can bring
    /// muscles, the words that they need, and muscle lists.
    ContentFile {
        /// Muscles with all their facts.
        may muscle: Vec<At<MuscleRow>>,
        /// Muscles known by name only, by key.
        may other: Keyed<MuscleKey, OtherRow>,
        /// Muscle lists.
        may list: Vec<At<ListRow>>,
        /// Bones, by key.
        may bone: Keyed<BoneKey, BoneRow>,
        /// Landmarks and soft structures, by key.
        may landmark: Keyed<LandmarkKey, LandmarkRow>,
        /// Joints, by key.
        may joint: Keyed<JointKey, JointRow>,
        /// Movements, by key.
        may movement: Keyed<MovementKey, MovementRow>,
        /// Nerves, by key.
        may nerve: Keyed<NerveKey, NerveRow>,
        /// Regions of the body, by key.
        may region: Keyed<RegionKey, NamedRow>,
        /// Compartments, layers and named groups, by key.
        may group: Keyed<GroupKey, NamedRow>,
        /// Sources of facts, by key.
        may source: Keyed<SourceKey, SourceRow>,
        /// What moves as one, by key.
        may segment: Keyed<SegmentKey, SegmentRow>,
        /// Axes about which joints turn.
        may freedom: Vec<At<FreedomRow>>,
        /// Where landmarks lie, by their key.
        may position: Keyed<LandmarkKey, PositionRow>,
        /// Lines of pull of muscles.
        may path: Vec<At<PathRow>>,
        /// Shapes of bones.
        may shape: Vec<At<ShapeRow>>,
        /// Postures that the conditions of actions mean.
        may condition: Vec<At<ConditionRow>>,
        /// Taught actions that the atlas is known not to bear out.
        may miss: Vec<At<MissRow>>,
    }

    /// A muscle with all its facts.
    MuscleRow {
        /// Key: lower-case words joined by hyphens, such as `teres-minor`.
        must key: MuscleKey,
        /// English name, such as `teres minor`.
        must name: String,
        /// Latin name in full, such as `musculus teres minor`.
        must latin: String,
        /// Other names in use.
        may synonyms: Vec<At<String>>,
        /// Short forms in use, such as `lats`.
        may abbreviations: Vec<At<String>>,
        /// Region of the body.
        must region: RegionKey,
        /// Compartments, layers and named groups that it belongs to.
        may groups: Vec<At<GroupKey>>,
        /// Parts or heads, in the order taught.
        may parts: Vec<At<PartRow>>,
        /// The ends that stay put.
        must origin: Filled<At<AttachmentRow>>,
        /// The ends that move.
        must insertion: Filled<At<AttachmentRow>>,
        /// What it does.
        must action: Filled<At<ActionRow>>,
        /// What supplies it.
        must nerve: Filled<At<InnervationRow>>,
    }

    /// A part or head of a muscle.
    PartRow {
        /// Key within the muscle, such as `long-head`.
        must key: PartKey,
        /// English name without the muscle's, such as `long head`.
        must name: String,
        /// Other forms that name this part in full, such as `upper trapezius`.
        may accepted: Vec<At<String>>,
    }

    /// One attachment of a muscle.
    AttachmentRow {
        /// The landmark.
        must at: LandmarkKey,
        /// Which of a row of bones, such as `3-5`, `T2-T5` or `C1`.
        may span: Span,
        /// How much of the landmark, in words before its name, such as `lateral third of`.
        may portion: String,
        /// The part of the muscle that attaches here; left out for the whole muscle.
        may part: PartKey,
        /// Which courses teach it; introductory if left out.
        may level: Level,
        /// Who says so: at least one.
        must sources: Filled<At<SourceKey>>,
        /// The same attachment as other sources have it.
        may variants: Vec<At<VariantRow>>,
    }

    /// An attachment as another source has it.
    VariantRow {
        /// The landmark; left out where it is the same.
        may at: LandmarkKey,
        /// Which of a row of bones.
        may span: Span,
        /// Who says so: at least one.
        must sources: Filled<At<SourceKey>>,
    }

    /// One action of a muscle.
    ActionRow {
        /// The joint.
        must joint: JointKey,
        /// The movement; the joint must have it.
        must movement: MovementKey,
        /// The part that the muscle plays in it; prime mover if left out.
        may role: Role,
        /// The part of the muscle that does it; left out for the whole muscle.
        may part: PartKey,
        /// A condition in words after the movement, such as `from the flexed position`.
        may condition: String,
        /// Which courses teach it; introductory if left out.
        may level: Level,
        /// Who says so: at least one.
        must sources: Filled<At<SourceKey>>,
    }

    /// One nerve of a muscle.
    InnervationRow {
        /// The nerve.
        must nerve: NerveKey,
        /// Spinal roots that reach this muscle; left out for cranial nerves.
        may roots: Vec<At<Root>>,
        /// The part supplied; left out for the whole muscle.
        may part: PartKey,
        /// Which courses teach it; introductory if left out.
        may level: Level,
        /// Who says so: at least one.
        must sources: Filled<At<SourceKey>>,
        /// The roots as other sources have them.
        may variants: Vec<At<RootsRow>>,
    }

    /// The roots of a nerve as another source has them.
    RootsRow {
        /// Spinal roots.
        must roots: Filled<At<Root>>,
        /// Who says so: at least one.
        must sources: Filled<At<SourceKey>>,
    }

    /// A muscle known by name only.
    OtherRow {
        /// English name.
        must name: String,
        /// Latin name in full.
        may latin: String,
        /// Other names in use.
        may synonyms: Vec<At<String>>,
        /// Short forms in use.
        may abbreviations: Vec<At<String>>,
        /// Region of the body.
        may region: RegionKey,
    }

    /// A muscle list: the muscles that a course teaches.
    ListRow {
        /// Key, such as `shoulder`.
        must key: ListKey,
        /// Name for people.
        must name: String,
        /// How much of each muscle the course teaches; introductory if left out.
        may level: Level,
        /// The muscles, in the order taught: at least one.
        must muscles: Filled<At<MuscleKey>>,
        /// Kinds of fact that the course leaves out.
        may hide: Vec<At<FactKind>>,
    }

    /// A bone or a row of like bones.
    BoneRow {
        /// English name without an article.
        must name: String,
        /// Latin name.
        must latin: String,
        /// Whether the name is a plural, such as `ribs`.
        may plural: bool,
        /// The first and last of a row of like bones, such as `1-12`; a span must lie within.
        may row: Span,
    }

    /// A landmark of a bone, or a soft structure.
    LandmarkRow {
        /// English name without an article and without the bone. A finer landmark's name tells
        /// the larger one too: `floor of the intertubercular sulcus`.
        must name: String,
        /// Other names of the very same place, such as `crest of the greater tubercle`.
        may also: Vec<At<String>>,
        /// Latin name.
        may latin: String,
        /// The bone that carries it; left out for a soft structure, and where `within` tells it.
        may bone: BoneKey,
        /// The larger landmark that this one is part of.
        may within: LandmarkKey,
        /// Whether the name is a plural.
        may plural: bool,
        /// Whether the name needs no bone after it, such as `acromion`.
        may stands_alone: bool,
    }

    /// A joint.
    JointRow {
        /// English name.
        must name: String,
        /// What moves, without an article, such as `arm`.
        must segment: String,
        /// Other words for the joint or for what moves, as a student may type them.
        may also: Vec<At<String>>,
        /// The movements that it has.
        must movements: Filled<At<MovementKey>>,
    }

    /// A movement.
    MovementRow {
        /// Noun, such as `lateral rotation`.
        must name: String,
        /// Verb, third person, with `{}` for what moves: `rotates {} laterally`.
        must verb: String,
        /// Other words for it, as a student may type them: `external rotation`, `turns {} outwards`;
        /// with `of the` and a joint or what moves, only there: `radial deviation of the hand`.
        may also: Vec<At<String>>,
        /// The movement that undoes it; the movement itself where it is the same to the other side.
        must opposite: MovementKey,
    }

    /// A nerve.
    NerveRow {
        /// English name.
        must name: String,
        /// Roots of the whole nerve; left out for cranial nerves.
        may roots: Vec<At<Root>>,
        /// The nerve that this one is a branch of: a muscle that the branch supplies is supplied by
        /// the trunk too.
        may branch_of: NerveKey,
    }

    /// A region, compartment, layer or group.
    NamedRow {
        /// English name.
        must name: String,
    }

    /// A source of facts.
    SourceRow {
        /// Full citation.
        must citation: String,
        /// Licence of the facts as taken.
        must licence: String,
    }

    /// A segment of the body.
    SegmentRow {
        /// The segment that takes it along; left out for the one that everything hangs on.
        may carried_by: SegmentKey,
    }

    /// One axis about which a joint turns.
    FreedomRow {
        /// Key, such as `glenohumeral-rotation`.
        must key: FreedomKey,
        /// The joint.
        must joint: JointKey,
        /// The movement that a turn by the right-hand rule about the axis makes.
        must positive: MovementKey,
        /// The movement to the other side; the same where it is the same to both sides, and then
        /// the positive side is the right.
        must negative: MovementKey,
        /// The axis in words that follow `the`, such as `long axis of the shoulder joint`.
        must axis: String,
        /// What turns: the first is the segment that the joint moves, others follow it.
        must moves: Filled<At<MotionRow>>,
        /// Freedoms whose posture turns this axis along.
        may turned_by: Vec<At<FreedomKey>>,
        /// Postures in which its actions are read, in degrees by freedom: the best of them counts.
        /// The reference posture if left out.
        may judged_at: Vec<At<Keyed<FreedomKey, At<Number>>>>,
        /// Standard deviation of where the axis lies, in millimetres.
        must spread_mm: Number,
        /// Who says so: at least one.
        must sources: Filled<At<SourceKey>>,
    }

    /// One segment turning about one axis.
    MotionRow {
        /// The segment; it takes along all that it carries.
        must segment: SegmentKey,
        /// A place on the axis, in metres.
        must through: Triple,
        /// Direction of the axis.
        must along: Triple,
        /// Turn for each unit of the freedom; 1 if left out.
        may rate: Number,
    }

    /// Where a landmark lies.
    PositionRow {
        /// The segment that it moves with.
        must segment: SegmentKey,
        /// The place in metres: forwards, up, to the right.
        may at: Triple,
        /// For a row of like bones: the place on each, by number, such as `T2`.
        may each: Keyed<RowNumber, At<Triple>>,
        /// Standard deviation of each coordinate, in millimetres.
        must spread_mm: Number,
        /// Who says so: at least one.
        must sources: Filled<At<SourceKey>>,
    }

    /// A line of pull.
    PathRow {
        /// The muscle.
        must muscle: MuscleKey,
        /// The part that it belongs to; left out for the whole muscle.
        may part: PartKey,
        /// Words that tell several lines apart, such as `upper fibres`.
        may name: String,
        /// From the origin over via points to the insertion.
        must points: Filled<At<PointRow>>,
    }

    /// A point of a line of pull.
    PointRow {
        /// The landmark, for an attachment.
        may at: LandmarkKey,
        /// Which of a row of bones.
        may span: Span,
        /// The segment, for a via point, or where it is not that of the landmark.
        may on: SegmentKey,
        /// The place in metres, where it is not that of the landmark.
        may xyz: Triple,
        /// Standard deviation of each coordinate, in millimetres: for a via point 5 if left out.
        may spread_mm: Number,
        /// Why the line bends here, for a via point.
        may why: String,
        /// For a via point: the freedom and the angle in degrees beyond which the line lifts off.
        may until: Keyed<FreedomKey, At<Number>>,
        /// Who says so: at least one where `xyz` is given.
        may sources: Filled<At<SourceKey>>,
    }

    /// A condition of an action as a posture.
    ConditionRow {
        /// The joint of the actions that it is said of.
        must joint: JointKey,
        /// Its words, as in `condition` of the action.
        must words: String,
        /// The posture, in degrees by freedom.
        must posture: Keyed<FreedomKey, At<Number>>,
    }

    /// A taught action that the atlas is known not to bear out.
    MissRow {
        /// The muscle.
        must muscle: MuscleKey,
        /// The part that the action is said of.
        may part: PartKey,
        /// The joint.
        must joint: JointKey,
        /// The movement.
        must movement: MovementKey,
        /// Why: words that follow a colon, without a full stop.
        must why: String,
    }

    /// The shape of a bone.
    ShapeRow {
        /// The bone.
        must bone: BoneKey,
        /// The segment that it moves with.
        must segment: SegmentKey,
        /// Balls: place and radius, in metres.
        must balls: Filled<At<Quadruple>>,
        /// Solids: each the convex hull of the balls with these numbers, from 0.
        must solids: Filled<At<Filled<At<Index>>>>,
    }
}
