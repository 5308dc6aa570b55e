//! Words and numbers as the screens say them. A meaning is always a word; colour only repeats it.

use std::collections::BTreeSet;

use myonym_wire::{
    CloseWhy, EndWhy, Millis, Motion, Pace, ReviewInfo, ScoreRule, Spelling, Task, TimeAllowance,
    Verdict, VoteRow,
};

/// The sign of a verdict, three columns wide.
pub(crate) fn sign(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Right => "[+]",
        Verdict::Near => "[~]",
        Verdict::Wrong => "[x]",
        Verdict::Silent => "[ ]",
    }
}

/// The word of a verdict.
pub(crate) fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Right => "right",
        Verdict::Near => "near-miss",
        Verdict::Wrong => "wrong",
        Verdict::Silent => "no answer",
    }
}

/// What is typed in a round.
pub(crate) fn thing(task: Task) -> &'static str {
    match task {
        Task::Name | Task::Picture | Task::Contrast => "muscle",
        Task::Movement => "movement",
    }
}

/// What a round asks a class, as a sentence.
pub(crate) fn asked(task: Task) -> &'static str {
    match task {
        Task::Name | Task::Picture => "Which muscle is it?",
        Task::Movement => "Which movement does it make?",
        Task::Contrast => "Which of the two is it?",
    }
}

/// What a round wants, as a sentence.
pub(crate) fn wanted(task: Task) -> &'static str {
    match task {
        Task::Name => "Type the muscle's name and press Enter.",
        Task::Picture => "Which muscle is it? Type its name and press Enter.",
        Task::Movement => "Which movement does it make? Type one and press Enter.",
        Task::Contrast => "Which of the two is it? Press 1 or 2, or type its name and press Enter.",
    }
}

/// That a round is closed, and why, as a sentence.
pub(crate) fn close_why(why: CloseWhy) -> &'static str {
    match why {
        CloseWhy::TimeUp => "Time is up: the round is closed.",
        CloseWhy::AllAnswered => "Everyone here has answered: the round is closed.",
        CloseWhy::Instructor => "The instructor has closed the round.",
    }
}

/// Why a review ended, as a sentence.
pub(crate) fn end_why(why: EndWhy, pace: Pace) -> &'static str {
    match why {
        EndWhy::Finished => "All rounds are done.",
        EndWhy::Instructor if matches!(pace, Pace::Group { .. }) => {
            "The study group has ended the review."
        }
        EndWhy::Instructor => "The instructor has ended the review.",
        EndWhy::Abandoned => "The review was closed because nobody came back to it.",
    }
}

/// That the time stands still, as a sentence for who has not answered.
pub(crate) fn paused(pace: Pace) -> &'static str {
    match pace {
        Pace::Instructor | Pace::Automatic { .. } => {
            "Paused by the instructor. You can type now, and press Enter when it goes on."
        }
        Pace::Group { .. } => "Paused. You can type now, and press Enter when it goes on.",
    }
}

/// What a study group's vote is on.
pub(crate) fn motion(motion: Motion) -> &'static str {
    match motion {
        Motion::Skip => "skip",
        Motion::Pause => "pause",
        Motion::Resume => "go on",
        Motion::Next => "next",
        Motion::End => "end",
    }
}

/// How the votes of a study group stand, `own` being what the reader is for.
pub(crate) fn votes(rows: &[VoteRow], own: &BTreeSet<Motion>, present: u32) -> String {
    if rows.is_empty() {
        return format!("nothing yet; it takes {} of {present} here", present / 2 + 1);
    }
    let row = |row: &VoteRow| {
        let you = if own.contains(&row.motion) { ", you too" } else { "" };
        format!("{} {} of {}{you}", motion(row.motion), row.yes, row.needed)
    };
    rows.iter().map(row).collect::<Vec<_>>().join(";  ")
}

/// Whole seconds, rounded up: `27 s`, or `2:05` from two minutes on.
pub(crate) fn seconds(time: Millis) -> String {
    let whole = time.0.div_ceil(1_000);
    if whole < 120 { format!("{whole} s") } else { format!("{}:{:02}", whole / 60, whole % 60) }
}

/// A student's time beside the class: `1.5x`, `no limit`, or `class time`.
pub(crate) fn allowance(time: TimeAllowance) -> String {
    match time {
        TimeAllowance::Standard => "class time".to_owned(),
        TimeAllowance::Stretched { percent } if percent % 100 == 0 => format!("{}x", percent / 100),
        TimeAllowance::Stretched { percent } => format!("{:.1}x", f64::from(percent) / 100.0),
        TimeAllowance::Untimed => "no limit".to_owned(),
    }
}

/// Points as a class reads them: whole, or to one tenth where less than one was earned. The
/// server's hundredths decide the places.
pub(crate) fn points(points: f64) -> String {
    let is_small = (0.05..0.95).contains(&points.abs());
    points_to(points, usize::from(is_small))
}

/// Points to a number of decimals.
pub(crate) fn points_to(points: f64, decimals: usize) -> String {
    let said = format!("{points:.decimals$}");
    match said.strip_prefix('-') {
        // Nothing is not less than nothing.
        Some(bare) if bare.chars().all(|c| matches!(c, '0' | '.')) => bare.to_owned(),
        Some(_) | None => said,
    }
}

/// Points with their noun: `66 points`, `1 point`.
pub(crate) fn some_points(points: f64) -> String {
    let said = self::points(points);
    let noun = if matches!(said.as_str(), "1" | "-1") { "point" } else { "points" };
    format!("{said} {noun}")
}

/// `place 4 of 24`; nothing for a first place without points, which everyone has.
pub(crate) fn place(total: f64, place: u32, of: u32) -> Option<String> {
    (place > 1 || points(total) != "0").then(|| format!("place {place} of {of}"))
}

/// Points and the place that they give, as a sentence.
pub(crate) fn standing(total: f64, place: u32, of: u32) -> String {
    match self::place(total, place, of) {
        Some(place) => format!("{} in all, {place}.", some_points(total)),
        None => format!("{} in all.", some_points(total)),
    }
}

/// A count with its noun: `1 student`, `2 students`.
pub(crate) fn count(number: impl Into<u64>, one: &str, many: &str) -> String {
    let number = number.into();
    format!("{number} {}", if number == 1 { one } else { many })
}

/// A Roman numeral, as plates number their parts.
pub(crate) fn roman(number: usize) -> String {
    let mut left = number;
    let mut numeral = String::new();
    for (value, sign) in NUMERALS {
        while left >= value {
            numeral.push_str(sign);
            left -= value;
        }
    }
    numeral
}

/// What a student should know of how a review is marked, one sentence each.
pub(crate) fn terms(review: &ReviewInfo, time: TimeAllowance) -> Vec<String> {
    let limit_ms = time.limit_ms(review.limit_ms);
    let limit = match limit_ms {
        Some(ms) => format!("You have {} for a round.", seconds(Millis(ms.into()))),
        None => "You have no time limit.".to_owned(),
    };
    let timed = limit_ms.is_some();
    let moves = review.tasks.contains(&Task::Movement);
    let rule = match review.rule {
        ScoreRule::SpeedWeighted if timed => {
            "A right name earns 100 points at once and 50 at the limit; a near-miss earns a small \
             part of that, a wrong name nothing."
        }
        ScoreRule::SpeedWeighted => {
            "A right name earns 100 points; a near-miss earns a small part of that, a wrong name \
             nothing."
        }
        ScoreRule::SignedResidualTime if timed => {
            "A right name earns 100 points at once and none at the limit; a wrong name costs as \
             many, a near-miss somewhat less. If you do not know, give no answer."
        }
        ScoreRule::SignedResidualTime => {
            "A right name earns 100 points; a wrong name costs as many, a near-miss somewhat less. \
             If you do not know, give no answer."
        }
    };
    let spelling = match review.spelling {
        Spelling::Tolerant if moves => "A slip of spelling counts if only one thing can be meant.",
        Spelling::Tolerant => "A slip of spelling counts if only one muscle can be meant.",
        Spelling::Strict => "Spelling counts: a misspelt name is wrong.",
    };
    // Names alone are what everyone expects.
    let rule = if moves { rule.replace(" name", " answer") } else { rule.to_owned() };
    let mut terms: Vec<String> = tasks(&review.tasks).into_iter().collect();
    terms.extend([limit, rule]);
    if review.tasks.contains(&Task::Contrast) {
        terms.push("Where two are offered, the other one is wrong, however near it is.".to_owned());
    }
    terms.push(spelling.to_owned());
    terms
}

/// What rounds ask for, as a sentence, where it is not names from clues alone.
fn tasks(tasks: &[Task]) -> Option<String> {
    let asks = |task: &Task| match task {
        Task::Name => "name a muscle from clues",
        Task::Picture => "name a muscle from a picture",
        Task::Movement => "tell a movement that a muscle makes from where it is attached",
        Task::Contrast => "choose between two muscles from clues",
    };
    let asks: Vec<&str> = tasks.iter().map(asks).collect();
    let (last, others) = asks.split_last().filter(|_| *tasks != [Task::Name])?;
    let or = if others.is_empty() { "" } else { ", or " };
    Some(format!("A round asks you to {}{or}{last}.", others.join(", ")))
}

/// Who moves the review on, and what its rounds go by, as sentences for students.
pub(crate) fn how_it_goes(review: &ReviewInfo) -> String {
    let pace = match review.pace {
        Pace::Instructor => "The instructor opens each round.",
        Pace::Automatic { .. } => "Once it has begun, rounds follow each other by themselves.",
        Pace::Group { .. } => {
            "Anyone here starts it. Rounds then follow each other by themselves, and what more than \
             half of those here vote for is done."
        }
    };
    let chosen =
        if review.adaptive { " Each is chosen by what the class has answered." } else { "" };
    format!("{pace}{chosen}")
}

/// The two muscles offered, as a sentence; nothing where none are.
pub(crate) fn offered(names: &[String]) -> Option<String> {
    (!names.is_empty()).then(|| format!("Offered: {}.", names.join(" or ")))
}

const NUMERALS: [(usize, &str); 9] = [
    (100, "C"),
    (90, "XC"),
    (50, "L"),
    (40, "XL"),
    (10, "X"),
    (9, "IX"),
    (5, "V"),
    (4, "IV"),
    (1, "I"),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_review_is_described_as_it_goes() {
        let adaptive = ReviewInfo { adaptive: true, ..crate::samples::review() };
        let said =
            "The instructor opens each round. Each is chosen by what the class has answered.";
        assert_eq!(how_it_goes(&adaptive), said);
        let of_two =
            ReviewInfo { tasks: vec![Task::Name, Task::Contrast], ..crate::samples::review() };
        let terms = terms(&of_two, TimeAllowance::Standard).join(" ");
        assert!(terms.contains("choose between two muscles from clues"), "{terms}");
        assert!(terms.contains("the other one is wrong"), "{terms}");
    }

    #[test]
    fn numbers_are_said_as_people_say_them() {
        let check = |got: String, want: &str| assert_eq!(got, want);
        check(seconds(Millis(0)), "0 s");
        check(seconds(Millis(26_001)), "27 s");
        check(seconds(Millis(119_000)), "119 s");
        check(seconds(Millis(125_000)), "2:05");
        check(points(87.25), "87");
        check(points(0.0), "0");
        check(points(-0.001), "0");
        check(points(0.31), "0.3");
        check(points(-62.75), "-63");
        check(points_to(251.25, 1), "251.2");
        check(points_to(-0.04, 1), "0.0");
        check(some_points(1.17), "1 point");
        check(some_points(0.0), "0 points");
        check(standing(0.0, 1, 24), "0 points in all.");
        check(standing(0.0, 2, 24), "0 points in all, place 2 of 24.");
        check(standing(66.5, 1, 24), "66 points in all, place 1 of 24.");
        check(count(1_u32, "student", "students"), "1 student");
        check(count(0_u32, "student", "students"), "0 students");
        check(roman(1), "I");
        check(roman(4), "IV");
        check(roman(9), "IX");
        check(roman(14), "XIV");
        check(roman(255), "CCLV");
        check(allowance(TimeAllowance::Stretched { percent: 150 }), "1.5x");
        check(allowance(TimeAllowance::Stretched { percent: 1000 }), "10x");
    }
}
