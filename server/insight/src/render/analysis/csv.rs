//! The analysis as comma-separated values.

use myonym_engine::AskedAgainWhy;
use serde::Serialize;

use super::cells::{RenderError, cell};
use super::words;
use crate::analysis::{
    Analysis, AreaKind, CueFound, Direction, FlagKind, Item, Pair, Progress, Reliability, Teach,
};
use crate::estimate::{Estimate, wilson};
use crate::own::OwnTotals;
use crate::predicted::Predicted;

/// The analysis as one long table, a row for each number: RFC 4180 with a header row and line
/// feeds, UTF-8. A program that reads it picks rows by `table` and `measure`; new measures may
/// come, and those that are there keep their names and meanings.
///
/// | column | what it holds |
/// | --- | --- |
/// | `table` | what the row is about: `review`, `teach`, `pair` (one muscle answered for another), `muscle`, `instead` (a wrong answer for a muscle), `form` (a misspelt name), `unclear` (a typed name that fits several muscles or none), `clue` (overlooked), `area`, `progress`, `reliability`, `movement`, `movement_instead`, `contrast` (a choice between two) |
/// | `place` | place in its table, from 1, as the analysis orders it |
/// | `asked` | the muscle asked; of `form` the muscle meant; of `teach` the first muscle concerned |
/// | `said` | the muscle answered; of `teach` the second muscle; of `contrast` the other one offered; of `movement_instead` the movement |
/// | `kind` | of `clue` and `area` its kind; of the measures `flag`, `direction` and `apart_*` which one |
/// | `text` | words: a headline, a sentence, a typed form, a clue, an area, a side of a contrast |
/// | `section`, `review`, `opened_s` | of `review`, `progress`, `reliability`: section, join word, and seconds since 1970 |
/// | `measure` | what is counted or measured, see below |
/// | `count`, `of` | a count, and of how many |
/// | `value`, `low`, `high` | the value with its 95 % interval, to four decimals, probabilities to six |
///
/// | `table` | its measures |
/// | --- | --- |
/// | `review` | `students` and `rounds` (counts; `text` is the muscle list), `right` (of those asked) |
/// | `teach` | `headline`, `sentence` (texts), `at_stake` (wrong answers to be expected when it is asked again) |
/// | `pair` | `said` (share of the answers given), `expected` (drawn towards like pairs), `other_way` (the other way round), `either` (both ways), `direction` (`kind`: `this_way`, `other_way`, `not_shown`, `too_few`), `p` and `p_corrected` (of the direction), `likeness` (0 to 1), `favourite` (times what all alike would be), `stands_out` (1 or 0: beyond what favourite guesses explain), `neighbours` (1 or 0), `apart_asked` and `apart_said` (`kind` is the aspect, `text` the side) |
/// | `muscle` | `right`, `near` (wrong answers that earned some credit), `omitted`, `timed_out` (of those asked), `pictured_right` (of those shown a picture), `clues_right` (of those told clues in words, where others were shown a picture), `rounds`, `rest_correlation`, `upper_lower`, `median_ms`, `clues_needed`, `misspelt` (share), `logit`, `logit_standard_error`, `flag` (`kind`, with words) |
/// | `instead` | `said` (of those asked), `rest_mean` (share), `rest_correlation` |
/// | `form` | `typed` (a count; `text` is the form) |
/// | `unclear` | `typed` (a count; `text` is what was typed, `kind` `which_one` or `unknown_name`) |
/// | `clue` | `overlooked` (of the answers while it was on the screen), `expected` |
/// | `area` | `right` |
/// | `progress` | `ability` (logits), `as_share`, `students` |
/// | `reliability` | `students`, `rounds`, `kr20`, `standard_error` (rounds; `text` says what to make of it) |
/// | `movement` | `right`, `near`, `silent` (of those asked) |
/// | `movement_instead` | `said` (of those asked) |
/// | `contrast` | `right`, `wrong` (chose the other), `silent` (of those to whom the two were offered) |
///
/// A measure that has no value has no row. Text that a spreadsheet would take for a formula is
/// given a leading apostrophe (OWASP, "CSV Injection"): it begins with `=`, `+`, `-`, `@` or a control
/// character.
pub fn csv(found: &Analysis) -> Result<String, RenderError> {
    // The header is written by hand, so that an analysis without rows has one too.
    let mut writer = ::csv::WriterBuilder::new().has_headers(false).from_writer(Vec::new());
    writer.write_record(HEADER)?;
    for row in rows(found) {
        writer.serialize(row)?;
    }
    let bytes = writer.into_inner().map_err(|e| RenderError::Unfinished(e.to_string()))?;
    String::from_utf8(bytes).map_err(|e| RenderError::Unfinished(e.to_string()))
}

/// Each student's own numbers as rows of the same table, without its header: `table` is `student`,
/// `text` what the student is called, and the measures are `right`, `near`, `wrong` and `silent`, of
/// the rounds asked, and `points`.
pub fn own_rows(students: &[(String, OwnTotals)]) -> Result<String, RenderError> {
    let mut writer = ::csv::WriterBuilder::new().has_headers(false).from_writer(Vec::new());
    for (place, (name, own)) in students.iter().enumerate() {
        let row = Row { text: cell(name), ..of("student", place + 1) };
        let counts = [
            ("right", own.right),
            ("near", own.near),
            ("wrong", own.wrong),
            ("silent", own.silent),
        ];
        for (measure, count) in counts {
            writer.serialize(row.shared(measure, count, own.asked))?;
        }
        writer.serialize(row.valued("points", own.points))?;
    }
    let bytes = writer.into_inner().map_err(|e| RenderError::Unfinished(e.to_string()))?;
    String::from_utf8(bytes).map_err(|e| RenderError::Unfinished(e.to_string()))
}

/// One row; empty text and `None` are empty cells.
#[derive(Debug, Clone, Default, Serialize)]
struct Row {
    table: &'static str,
    place: usize,
    asked: String,
    said: String,
    kind: String,
    text: String,
    section: String,
    review: String,
    opened_s: Option<i64>,
    measure: &'static str,
    count: Option<u32>,
    of: Option<u32>,
    value: Option<String>,
    low: Option<String>,
    high: Option<String>,
}

const HEADER: [&str; 15] = [
    "table", "place", "asked", "said", "kind", "text", "section", "review", "opened_s", "measure",
    "count", "of", "value", "low", "high",
];

impl Row {
    /// The same row with another measure.
    fn measuring(&self, measure: &'static str) -> Self {
        Self { measure, ..self.clone() }
    }

    fn counted(&self, measure: &'static str, count: u32) -> Self {
        Self { count: Some(count), ..self.measuring(measure) }
    }

    fn shared(&self, measure: &'static str, count: u32, of: u32) -> Self {
        let row = Self { count: Some(count), of: Some(of), ..self.measuring(measure) };
        match wilson(count, of) {
            Some(Estimate { value, low, high, .. }) => row.between(value, low, high),
            None => row,
        }
    }

    fn valued(&self, measure: &'static str, value: f64) -> Self {
        Self { value: Some(number(value)), ..self.measuring(measure) }
    }

    fn between(self, value: f64, low: f64, high: f64) -> Self {
        let (low, high) = (Some(number(low)), Some(number(high)));
        Self { value: Some(number(value)), low, high, ..self }
    }

    fn saying(&self, measure: &'static str, kind: &str, text: &str) -> Self {
        Self { kind: cell(kind), text: cell(text), ..self.measuring(measure) }
    }
}

fn number(value: f64) -> String {
    format!("{value:.4}")
}

fn rows(found: &Analysis) -> Vec<Row> {
    let mut rows = reviews(found);
    table(&mut rows, &found.teach, teach);
    table(&mut rows, &found.pairs, pair);
    table(&mut rows, &found.items, item);
    table(&mut rows, &found.cues, clue);
    table(&mut rows, &found.areas, |place, area| {
        let kind = match area.kind {
            AreaKind::Aspect => "aspect",
            AreaKind::Group => "group",
            AreaKind::Region => "region",
        };
        let row = Row { kind: kind.to_owned(), text: cell(&area.name), ..of("area", place) };
        vec![row.shared("right", area.right, area.of)]
    });
    table(&mut rows, &found.progress, progress);
    table(&mut rows, &found.reliability, reliability);
    table(&mut rows, &found.movements, movement);
    table(&mut rows, &found.contrasts, |place, chosen| {
        let (asked, said) = (cell(&chosen.asked.name), cell(&chosen.other.name));
        let row = Row { asked, said, ..of("contrast", place) };
        let counts = [("right", chosen.right), ("wrong", chosen.wrong), ("silent", chosen.silent)];
        counts.map(|(measure, count)| row.shared(measure, count, chosen.shown)).to_vec()
    });
    table(&mut rows, &found.unclear, |place, form| {
        let row = Row { asked: cell(&form.asked_name), ..of("unclear", place) };
        let kind = match form.why {
            AskedAgainWhy::WhichOne => "which_one",
            AskedAgainWhy::UnknownName => "unknown_name",
        };
        vec![Row { count: Some(form.count), ..row.saying("typed", kind, &form.typed) }]
    });
    rows
}

fn table<T>(rows: &mut Vec<Row>, things: &[T], of: impl Fn(usize, &T) -> Vec<Row>) {
    rows.extend(things.iter().enumerate().flat_map(|(place, thing)| of(place + 1, thing)));
}

fn of(table: &'static str, place: usize) -> Row {
    Row { table, place, ..Row::default() }
}

fn reviews(found: &Analysis) -> Vec<Row> {
    let mut rows = Vec::new();
    table(&mut rows, &found.basis.reviews, |place, line| {
        let row = Row {
            text: cell(&line.list),
            section: cell(line.section.as_deref().unwrap_or_default()),
            review: cell(&line.word),
            opened_s: Some(line.opened_s),
            ..of("review", place)
        };
        vec![
            row.counted("students", line.persons),
            row.counted("rounds", line.rounds),
            row.shared("right", line.right, line.asked),
        ]
    });
    rows
}

fn teach(place: usize, teach: &Teach) -> Vec<Row> {
    let muscle = |place: usize| teach.muscles.get(place).map(|muscle| cell(&muscle.name));
    let row = Row {
        asked: muscle(0).unwrap_or_default(),
        said: muscle(1).unwrap_or_default(),
        ..of("teach", place)
    };
    vec![
        row.saying("headline", "", &teach.headline),
        row.saying("sentence", "", &teach.sentence),
        row.valued("at_stake", teach.at_stake),
    ]
}

fn pair(place: usize, pair: &Pair) -> Vec<Row> {
    let row =
        Row { asked: cell(&pair.asked.name), said: cell(&pair.said.name), ..of("pair", place) };
    let expected = row.measuring("expected");
    let direction = match pair.direction {
        Direction::ThisWay { .. } => "this_way",
        Direction::OtherWay { .. } => "other_way",
        Direction::NotShown { .. } => "not_shown",
        Direction::TooFew => "too_few",
    };
    let mut rows = vec![
        row.shared("said", pair.count, pair.of),
        expected.between(pair.shrunken, pair.shrunken_low, pair.shrunken_high),
        row.shared("other_way", pair.back.0, pair.back.1),
        row.saying("direction", direction, words::direction(pair.direction)),
    ];
    if let Some(Estimate { value, low, high, .. }) = pair.either {
        rows.push(row.measuring("either").between(value, low, high));
    }
    if let Some((p, corrected)) = words::chances(pair.direction) {
        let exact =
            |measure, p: f64| Row { value: Some(format!("{p:.6}")), ..row.measuring(measure) };
        rows.extend([exact("p", p), exact("p_corrected", corrected)]);
    }
    rows.extend(pair.similarity.map(|likeness| row.valued("likeness", likeness)));
    rows.extend(pair.favourite.map(|times| row.valued("favourite", times)));
    rows.push(row.counted("stands_out", u32::from(pair.stands_out)));
    rows.push(row.counted("neighbours", u32::from(pair.neighbours)));
    for apart in pair.apart.iter().chain(&pair.line_of_pull) {
        rows.push(row.saying("apart_asked", &apart.aspect, &apart.first));
        rows.push(row.saying("apart_said", &apart.aspect, &apart.second));
    }
    rows
}

fn item(place: usize, item: &Item) -> Vec<Row> {
    let row = Row { asked: cell(&item.muscle.name), ..of("muscle", place) };
    let mut rows = vec![
        row.shared("right", item.right, item.asked),
        row.shared("near", item.near, item.asked),
        row.shared("omitted", item.omitted, item.asked),
        row.shared("timed_out", item.timed_out, item.asked),
        row.counted("rounds", item.rounds),
    ];
    if item.pictured > 0 {
        let (right, asked) = item.from_clues();
        rows.push(row.shared("pictured_right", item.pictured_right, item.pictured));
        rows.push(row.shared("clues_right", right, asked));
    }
    rows.extend(item.rest_correlation.map(|rest| row.valued("rest_correlation", rest)));
    rows.extend(item.upper_lower.map(|apart| row.valued("upper_lower", apart)));
    let median =
        item.median_ms.map(|ms| Row { value: Some(ms.to_string()), ..row.measuring("median_ms") });
    rows.extend(median);
    rows.extend(item.clues_needed.map(|clues| row.counted("clues_needed", u32::from(clues))));
    rows.extend(item.misspelt.map(|share| row.valued("misspelt", share)));
    if let Some((logit, error)) = item.logit {
        rows.extend([row.valued("logit", logit), row.valued("logit_standard_error", error)]);
    }
    rows.extend(item.flags.iter().map(|flag| row.saying("flag", flag_key(flag.kind), &flag.words)));
    for said in &item.instead {
        let row = Row { table: "instead", said: cell(&said.said.name), ..row.clone() };
        rows.push(row.shared("said", said.count, item.asked));
        rows.extend(said.rest_mean.map(|rest| row.valued("rest_mean", rest)));
        rows.extend(said.correlation.map(|rest| row.valued("rest_correlation", rest)));
    }
    rows.extend(item.forms.iter().map(|(form, count)| {
        let row = Row { table: "form", text: cell(form), ..row.clone() };
        row.counted("typed", *count)
    }));
    rows
}

fn flag_key(kind: FlagKind) -> &'static str {
    match kind {
        FlagKind::KeyedWrong => "keyed_wrong",
        FlagKind::Ambiguous => "ambiguous",
        FlagKind::NotDiscriminating => "not_discriminating",
        FlagKind::TooEasy => "too_easy",
        FlagKind::TooHard => "too_hard",
        FlagKind::RunsOut => "runs_out",
        FlagKind::Spelling => "spelling",
    }
}

fn clue(place: usize, cue: &CueFound) -> Vec<Row> {
    let kind = words::aspect(cue.aspect).to_owned();
    let row = Row { kind, text: cell(&cue.about), ..of("clue", place) };
    vec![row.shared("overlooked", cue.overlooked, cue.shown), row.valued("expected", cue.shrunken)]
}

fn progress(place: usize, point: &Progress) -> Vec<Row> {
    let row = Row {
        section: cell(point.section.as_deref().unwrap_or_default()),
        opened_s: Some(point.opened_s),
        ..of("progress", place)
    };
    vec![
        row.measuring("ability").between(point.ability, point.low, point.high),
        row.valued("as_share", point.as_share),
        row.counted("students", point.persons),
    ]
}

fn reliability(place: usize, line: &Reliability) -> Vec<Row> {
    let row = Row { review: cell(&line.word), ..of("reliability", place) };
    let row = Row { text: cell(&line.words), ..row };
    let mut rows = vec![row.counted("students", line.persons), row.counted("rounds", line.rounds)];
    rows.extend(line.kr20.map(|kr20| row.valued("kr20", kr20)));
    rows.extend(line.standard_error.map(|error| row.valued("standard_error", error)));
    rows
}

fn movement(place: usize, moves: &Predicted) -> Vec<Row> {
    let row = Row { asked: cell(&moves.name), ..of("movement", place) };
    let mut rows = vec![
        row.shared("right", moves.right, moves.asked),
        row.shared("near", moves.near, moves.asked),
        row.shared("silent", moves.silent, moves.asked),
    ];
    rows.extend(moves.instead.iter().map(|said| {
        let row = Row { table: "movement_instead", said: cell(&said.movement), ..row.clone() };
        row.shared("said", said.count, moves.asked)
    }));
    rows
}
