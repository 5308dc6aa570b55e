//! Points and places counted again from the log's raw credit, time and limit, by the formulas that
//! the wire documents and by nothing else of the project.

use std::collections::{BTreeMap, BTreeSet};

use anyhow::{Context as _, Result, bail};
use serde_json::Value;

use crate::log::ReviewLog;

/// A review counted again.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Recount {
    /// Rounds that were revealed, in order.
    pub rounds: Vec<CountedRound>,
    /// Students with a seat at the end.
    pub seats: BTreeSet<String>,
    rule: String,
}

/// One round that was revealed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CountedRound {
    /// Its number.
    pub round: u64,
    /// Key of the muscle described.
    pub muscle: String,
    /// English name of the muscle described.
    pub name: String,
    /// Answers by student.
    pub answers: BTreeMap<String, CountedAnswer>,
    /// Students who were here and gave none.
    pub silent: BTreeSet<String>,
}

/// One answer.
#[derive(Debug, Clone, PartialEq)]
pub struct CountedAnswer {
    /// Which try.
    pub attempt: String,
    /// English name of the muscle meant.
    pub said: Option<String>,
    /// Whether it is right.
    pub exact: bool,
    /// Credit c, from 0 to 1.
    pub credit: f64,
    /// Elapsed time t in milliseconds.
    pub elapsed_ms: f64,
    /// Limit d in milliseconds; `None` is untimed.
    pub limit_ms: Option<f64>,
}

/// A student's place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Standing {
    /// Place from 1; equals share one.
    pub place: u64,
    /// Who.
    pub student: String,
    /// Points in hundredths.
    pub points: i64,
}

impl Recount {
    /// Counts a review again.
    pub fn of(log: &ReviewLog) -> Result<Self> {
        let mut recount = Self::default();
        let mut open = CountedRound::default();
        for row in &log.rows {
            let body = &row.body;
            match row.kind.as_str() {
                "opened" => recount.rule = text(body, "settings", "rule")?,
                "seated" => drop(recount.seats.insert(field(body, "student")?)),
                "removed" => drop(recount.seats.remove(&field(body, "student")?)),
                "round_opened" => {
                    open = CountedRound {
                        round: body["round"].as_u64().context("no round")?,
                        muscle: field(body, "muscle")?,
                        name: field(body, "name")?,
                        ..CountedRound::default()
                    };
                }
                "answered" => {
                    open.answers.insert(field(body, "student")?, CountedAnswer::of(body)?);
                }
                "round_closed" => {
                    let silent = body["silent"].as_array().context("no silent")?;
                    open.silent =
                        silent.iter().filter_map(Value::as_str).map(ToOwned::to_owned).collect();
                }
                "revealed" => recount.rounds.push(open.clone()),
                _ => {}
            }
        }
        Ok(recount)
    }

    /// Points of a student in a round, in hundredths; `None` if the student was not there.
    pub fn points(&self, round: &CountedRound, student: &str) -> Result<Option<i64>> {
        let Some(answer) = round.answers.get(student) else {
            return Ok(round.silent.contains(student).then_some(0));
        };
        let c = answer.credit;
        let share = answer.limit_ms.map_or(0.0, |d| (answer.elapsed_ms / d).min(1.0));
        Ok(Some(match self.rule.as_str() {
            "speed_weighted" => hundredths(100.0 * c * (1.0 - share / 2.0)),
            "signed_residual_time" => hundredths(100.0 * (2.0 * c - 1.0) * (1.0 - share)),
            other => bail!("no rule is called {other}"),
        }))
    }

    /// Points of a student over the first rounds, in hundredths.
    pub fn total_after(&self, rounds: usize, student: &str) -> Result<i64> {
        let points = self.rounds.iter().take(rounds).map(|round| self.points(round, student));
        points.map(|points| Ok(points?.unwrap_or(0))).sum()
    }

    /// Places after the first rounds, most points first, then by student.
    pub fn standings_after(&self, rounds: usize) -> Result<Vec<Standing>> {
        let mut totals = Vec::new();
        for student in &self.seats {
            totals.push((self.total_after(rounds, student)?, student));
        }
        totals.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(b.1)));
        let place = |points: i64| totals.iter().filter(|(other, _)| *other > points).count() + 1;
        let standing = |(points, student): &(i64, &String)| {
            let place = u64::try_from(place(*points))?;
            Ok(Standing { place, student: (*student).clone(), points: *points })
        };
        totals.iter().map(standing).collect()
    }
}

impl CountedRound {
    /// How many meant each name.
    pub fn spread(&self) -> BTreeMap<String, u64> {
        let mut spread = BTreeMap::new();
        for answer in self.answers.values() {
            let name = answer.said.clone().unwrap_or_else(|| "(no such name)".to_owned());
            *spread.entry(name).or_insert(0) += 1;
        }
        spread
    }
}

impl CountedAnswer {
    fn of(body: &Value) -> Result<Self> {
        Ok(Self {
            attempt: field(body, "attempt")?,
            said: body["said_name"].as_str().map(ToOwned::to_owned),
            exact: body["exact"].as_bool().context("no exact")?,
            credit: body["credit"].as_f64().context("no credit")?,
            elapsed_ms: body["elapsed_ms"].as_f64().context("no time")?,
            limit_ms: body["limit_ms"].as_f64(),
        })
    }
}

/// Points as told (to one hundredth) in whole hundredths.
#[expect(clippy::cast_possible_truncation, reason = "points of a review stay far below 2^52")]
pub fn hundredths(points: f64) -> i64 {
    (points * 100.0).round() as i64
}

fn field(body: &Value, name: &str) -> Result<String> {
    let text = body[name].as_str().map(ToOwned::to_owned);
    text.with_context(|| format!("no {name} in {body}"))
}

fn text(body: &Value, object: &str, name: &str) -> Result<String> {
    field(&body[object], name)
}
