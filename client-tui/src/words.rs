//! Words and numbers as the screens say them. A meaning is always a word; colour only repeats it.

use myonym_wire::{
    CloseWhy, EndWhy, Millis, Pace, ReviewInfo, ScoreRule, Spelling, TimeAllowance, Verdict,
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
        Verdict::Near => "near",
        Verdict::Wrong => "wrong",
        Verdict::Silent => "no answer",
    }
}

/// Why a round closed, as the end of a sentence.
pub(crate) fn close_why(why: CloseWhy) -> &'static str {
    match why {
        CloseWhy::TimeUp => "the time is up",
        CloseWhy::AllAnswered => "everyone here has answered",
        CloseWhy::Instructor => "the instructor closed it",
    }
}

/// Why a review ended, as a sentence.
pub(crate) fn end_why(why: EndWhy) -> &'static str {
    match why {
        EndWhy::Finished => "All rounds are done.",
        EndWhy::Instructor => "The instructor has ended the review.",
        EndWhy::Abandoned => "The review was closed because nobody came back to it.",
    }
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

/// Points to one hundredth.
pub(crate) fn points(points: f64) -> String {
    format!("{points:.2}")
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
    let rule = match review.rule {
        ScoreRule::SpeedWeighted if timed => {
            "A right name earns 100 points at once and 50 at the limit; a near one earns a part, \
             a wrong one nothing."
        }
        ScoreRule::SpeedWeighted => "A right name earns most, a near one a part, a wrong one none.",
        ScoreRule::SignedResidualTime => {
            "A right name earns points, and a wrong one costs as many. If you do not know, no \
             answer is better."
        }
    };
    let spelling = match review.spelling {
        Spelling::Tolerant => "A slip of spelling counts if only one muscle can be meant.",
        Spelling::Strict => "Spelling counts: a misspelt name is wrong.",
    };
    vec![limit, rule.to_owned(), spelling.to_owned()]
}

/// Who moves the review on, as a sentence for students.
pub(crate) fn pace(pace: Pace) -> &'static str {
    match pace {
        Pace::Instructor => "The instructor opens each round.",
        Pace::Automatic { .. } => "Once it has begun, rounds follow each other by themselves.",
    }
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
    fn numbers_are_said_as_people_say_them() {
        let check = |got: String, want: &str| assert_eq!(got, want);
        check(seconds(Millis(0)), "0 s");
        check(seconds(Millis(26_001)), "27 s");
        check(seconds(Millis(119_000)), "119 s");
        check(seconds(Millis(125_000)), "2:05");
        check(points(87.5), "87.50");
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
