//! Shapes that tell points apart without colour.

use maud::{Markup, html};

use super::figure::Px;

/// A shape of a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Shape {
    /// A filled circle.
    Circle,
    /// A hollow triangle on its base.
    Triangle,
    /// A hollow diamond.
    Diamond,
    /// A hollow square.
    Square,
    /// A plus sign.
    Plus,
    /// A diagonal cross.
    Cross,
    /// A hollow triangle on its tip.
    Wedge,
    /// A plus and a cross.
    Star,
}

/// All of them, the easiest to tell apart first.
pub(super) const SHAPES: [Shape; 8] = [
    Shape::Circle,
    Shape::Square,
    Shape::Triangle,
    Shape::Cross,
    Shape::Diamond,
    Shape::Plus,
    Shape::Wedge,
    Shape::Star,
];

/// A mark at a place, about 10 across, in the colour of its class.
pub(super) fn mark(shape: Shape, x: f64, y: f64, class: &str) -> Markup {
    let path = match shape {
        Shape::Circle => {
            return html! { circle cx=(Px(x)) cy=(Px(y)) r="4.5" class={ "mark filled " (class) } {} };
        }
        Shape::Triangle => "M0-6L5.5 4.5H-5.5Z",
        Shape::Diamond => "M0-6.5L6 0L0 6.5L-6 0Z",
        Shape::Square => "M-4.8-4.8H4.8V4.8H-4.8Z",
        Shape::Plus => "M0-6V6M-6 0H6",
        Shape::Cross => "M-4.8-4.8L4.8 4.8M4.8-4.8L-4.8 4.8",
        Shape::Wedge => "M0 6L5.5-4.5H-5.5Z",
        Shape::Star => "M0-6V6M-6 0H6M-4.2-4.2L4.2 4.2M4.2-4.2L-4.2 4.2",
    };
    html! {
        path d=(path) transform={ "translate(" (Px(x)) " " (Px(y)) ")" } class={ "mark " (class) } {}
    }
}
