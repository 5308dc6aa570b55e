//! A picture of a muscle as plain lines, for a page or a terminal to draw at its own size.

use serde::{Deserialize, Serialize};

/// A muscle with the bones concerned, seen from one side.
///
/// Where the page shows it 360 pixels wide, a unit is half a pixel.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Picture {
    /// From where it is seen.
    pub view: View,
    /// Width of the picture in its own units.
    pub width: u16,
    /// Height of the picture in its own units.
    pub height: u16,
    /// Units for each decimetre of the body, so that two pictures can be compared.
    pub scale: u16,
    /// What to draw, from back to front.
    pub strokes: Vec<Stroke>,
    /// Words to write, where the picture is labelled.
    pub labels: Vec<Label>,
    /// The same in words, for those who do not see it. Its first sentence is a heading.
    pub text: String,
}

/// From where a right-sided muscle is seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum View {
    /// From the front: the right side of the body is on the left.
    Front,
    /// From behind: the right side of the body is on the right.
    Back,
    /// From the right side: the front is on the right.
    Side,
    /// From above: the front is at the top, the right side on the right.
    Above,
}

/// What a stroke or a label belongs to. Colour may show it, but never alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Part {
    /// The outline of a bone that the muscle is attached to, closed.
    Bone,
    /// The outline of another bone, by which one finds one's way.
    Neighbour,
    /// The line of pull, from origin to insertion. Its label is a heading.
    Muscle,
    /// An origin: red, and a disc marked O.
    Origin,
    /// An insertion: blue, and a square marked I.
    Insertion,
    /// Where the bone goes when the muscle shortens; the head of the arrow is at the end.
    Motion,
    /// The centre of the joint that it moves.
    Joint,
}

/// A line or an outline.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Stroke {
    /// What it belongs to.
    pub part: Part,
    /// Whether the last point is joined to the first, and the inside filled.
    pub closed: bool,
    /// Whether a bone lies before it, so that it is drawn broken.
    #[serde(default, skip_serializing_if = "is_false")]
    pub behind: bool,
    /// Its points, x to the right and y down; one point alone is a mark.
    pub points: Vec<[i16; 2]>,
    /// Closed lines round what is not filled.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub holes: Vec<Vec<[i16; 2]>>,
}

/// Words beside a point.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
pub struct Label {
    /// What it names.
    pub part: Part,
    /// The point that it names.
    pub at: [i16; 2],
    /// Where the text stands: its left end if `right`, else its right end; the base line of the
    /// first line.
    pub text_at: [i16; 2],
    /// Whether the text runs to the right of `text_at`.
    pub right: bool,
    /// The words, in lines; from one base line to the next it is [`Label::LINE`].
    pub lines: Vec<String>,
}

impl Label {
    /// Size of the letters, in units of the picture: room is kept for this size.
    pub const LETTERS: u16 = 26;
    /// From one base line to the next.
    pub const LINE: u16 = 30;

    /// The words in one line.
    pub fn words(&self) -> String {
        self.lines.join(" ")
    }
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands over a reference")]
fn is_false(flag: &bool) -> bool {
    !flag
}
