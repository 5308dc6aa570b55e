//! Places by points.

use myonym_wire::StudentId;

use crate::review::Review;
use crate::score::Points;

/// One student's place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Standing {
    /// Who.
    pub student: StudentId,
    /// Place from 1; equal points share a place, and the next place counts those above.
    pub place: u32,
    /// Points so far.
    pub points: Points,
}

/// All seated students, most points first, then by id so that the order is always the same.
pub fn standings(review: &Review) -> Vec<Standing> {
    let mut rows: Vec<(StudentId, Points)> =
        review.seats().iter().map(|(student, seat)| (*student, seat.total)).collect();
    rows.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
    let mut places: Vec<Standing> = Vec::with_capacity(rows.len());
    for (above, (student, points)) in (1_u32..).zip(rows) {
        let place = match places.last() {
            Some(last) if last.points == points => last.place,
            _ => above,
        };
        places.push(Standing { student, place, points });
    }
    places
}
