//! A whole review of thirty students, checked against a recount of the log.

use std::collections::BTreeMap;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Asked, Class, CountedRound, Named, Program, Recount, hundredths, shoulder};
use serde_json::{Value, json};

const STUDENTS: usize = 30;
const ROUNDS: usize = 5;

#[tokio::test]
async fn thirty_students_play_a_whole_review() -> Result<()> {
    let rounds = ROUNDS.to_string();
    let mut class = Class::gather(&["--rounds", &rounds], STUDENTS).await?;
    let list = shoulder()?;
    let mut attempts = Vec::new();
    for _ in 0..ROUNDS {
        let asked = class.open_round().await?;
        attempts.extend(everyone_answers(&mut class, &list, &asked).await?);
        class.close_round().await?;
        let reveal = class.reveal().await?;
        check_reveal(&class, &asked, &reveal)?;
        check_results(&class, usize::from(asked.round))?;
    }
    class.instructor.say("next").await?;
    let ended = class.everyone_to_the_end().await?;
    assert_eq!(ended["why"], "finished");
    check_attempts(&class, &attempts)?;
    check_summaries(&class)?;
    check_report(&class).await?;
    class.host.is_sound()
}

/// Under the rule that takes points away the recount holds as well, and silence is worth nothing.
#[tokio::test]
async fn wrong_answers_cost_points_under_signed_residual_time() -> Result<()> {
    let mut class = Class::gather(&["--rule", "signed-residual-time", "--rounds", "2"], 4).await?;
    let list = shoulder()?;
    for _ in 0..2 {
        let asked = class.open_round().await?;
        let wrong = list.iter().find(|named| named.key != asked.muscle.key).context("no other")?;
        class.students[0].answer_recorded(asked.round, &asked.muscle.name).await?;
        class.students[1].answer_recorded(asked.round, &wrong.name).await?;
        class.students[2].answer_recorded(asked.round, &asked.muscle.latin).await?;
        class.close_round().await?;
        class.reveal().await?;
        check_results(&class, usize::from(asked.round))?;
    }
    let points = |student: usize| {
        let results = class.students[student].client.heard_of("result");
        let total = results.last().and_then(|result| result["total"].as_f64());
        total.context("no result")
    };
    assert!(points(0)? > 0.0 && points(1)? < 0.0);
    assert_eq!(hundredths(points(3)?), 0);
    class.host.is_sound()
}

/// What student `number` types in a round: five of ten the name, one its Latin name, two the next
/// muscle of the list, one the muscle after it, and one nothing.
fn typed(list: &[Named], asked: &Asked, number: usize) -> Option<String> {
    let at = list.iter().position(|named| *named == asked.muscle)?;
    let further = |steps: usize| Some(list[(at + steps) % list.len()].name.clone());
    match (number * 7 + usize::from(asked.round) * 3) % 10 {
        0..=4 => Some(asked.muscle.name.clone()),
        5 => Some(asked.muscle.latin.clone()),
        6 | 7 => further(1),
        8 => further(2),
        _ => None,
    }
}

/// Everyone types at once; then everyone waits. Gives the attempts by student.
async fn everyone_answers(
    class: &mut Class,
    list: &[Named],
    asked: &Asked,
) -> Result<Vec<(usize, String)>> {
    let mut attempts = Vec::new();
    for (number, student) in class.students.iter_mut().enumerate() {
        if let Some(text) = typed(list, asked, number) {
            attempts.push((number, student.answer(asked.round, &text).await?));
        }
    }
    for (number, attempt) in &attempts {
        class.students[*number].expect_recorded(attempt).await?;
    }
    Ok(attempts)
}

fn check_reveal(class: &Class, asked: &Asked, reveal: &Value) -> Result<()> {
    assert_eq!(reveal["answer"]["name"], asked.muscle.name.as_str());
    assert_eq!(reveal["answer"]["latin"], asked.muscle.latin.as_str());
    let rows = reveal["spread"].as_array().context("no spread")?;
    let count = |row: &Value| row["count"].as_u64().unwrap_or_default();
    let total: u64 = rows.iter().map(count).sum();
    let silent = reveal["silent"].as_u64().context("no count of the silent")?;
    assert_eq!(usize::try_from(total + silent)?, STUDENTS, "the spread adds up");
    assert!(rows.is_sorted_by(|a, b| count(a) >= count(b)), "commonest first: {rows:?}");

    let recount = class.recount()?;
    let round = recount.rounds.last().context("no round")?;
    let name = |row: &Value| row["name"].as_str().unwrap_or_default().to_owned();
    let told: BTreeMap<String, u64> = rows.iter().map(|row| (name(row), count(row))).collect();
    assert_eq!(told, round.spread());
    check_contrast(round, &reveal["contrast"])
}

/// The contrast is with the commonest wrong answer.
fn check_contrast(round: &CountedRound, contrast: &Value) -> Result<()> {
    let mut wrong = round.spread();
    wrong.remove(&round.name);
    let most = wrong.values().max().copied().context("nobody was wrong")?;
    assert_eq!(contrast["asked"], round.name.as_str());
    assert_eq!(contrast["count"], most);
    let said = contrast["said"].as_str().context("no muscle said")?;
    assert_eq!(wrong.get(said), Some(&most));
    let apart = contrast["apart"].as_array().context("nothing sets them apart")?;
    ensure!(!apart.is_empty(), "{said} and {} are told apart by nothing", round.name);
    Ok(())
}

/// Each student's own result and the standings, after so many rounds.
fn check_results(class: &Class, rounds: usize) -> Result<()> {
    let recount = class.recount()?;
    let round = recount.rounds.get(rounds - 1).context("no such round")?;
    let standings = recount.standings_after(rounds)?;
    for student in &class.students {
        let id = student.seat.id.as_str();
        let own = standings.iter().find(|standing| standing.student == id).context("no place")?;
        let order = last_of(student.client.heard(), &["revealed", "result", "standings"]);
        ensure!(order.is_sorted(), "the reveal came out of order: {order:?}");
        let result = student.client.heard_of("result").last().copied().context("no result")?;
        let points = recount.points(round, id)?;
        assert_eq!(result["round"], rounds);
        assert_eq!(result["points"].as_f64().map(hundredths), points);
        assert_eq!(result["total"].as_f64().map(hundredths), Some(own.points));
        assert_eq!((&result["place"], &result["of"]), (&json!(own.place), &json!(standings.len())));
        assert_eq!(result["verdict"], verdict(round, id));
    }
    let told = class.instructor.client.heard_of("standings").last().copied().context("none")?;
    let rows = told["rows"].as_array().context("no rows")?;
    assert_eq!(rows.len(), standings.len().min(10));
    for (row, standing) in rows.iter().zip(&standings) {
        assert_eq!(row["place"], standing.place);
        assert_eq!(row["points"].as_f64().map(hundredths), Some(standing.points));
        assert_eq!(row["name"].as_str(), name_of(class, &standing.student));
    }
    Ok(())
}

/// Where the last message of each type stands.
fn last_of(heard: &[Value], kinds: &[&str]) -> Vec<Option<usize>> {
    let last = |kind: &&str| heard.iter().rposition(|message| message["type"] == **kind);
    kinds.iter().map(last).collect()
}

fn verdict(round: &CountedRound, student: &str) -> &'static str {
    match round.answers.get(student) {
        None => "silent",
        Some(answer) if answer.exact => "right",
        Some(answer) if answer.credit > 0.0 => "near",
        Some(_) => "wrong",
    }
}

fn name_of<'a>(class: &'a Class, student: &str) -> Option<&'a str> {
    let student = class.students.iter().find(|known| known.seat.id == student)?;
    Some(student.seat.name.as_str())
}

/// Every answer was received once, recorded once, and stands in the log once.
fn check_attempts(class: &Class, attempts: &[(usize, String)]) -> Result<()> {
    let recorded = class.review_log()?.recorded()?;
    assert_eq!(recorded.len(), attempts.len());
    for (number, attempt) in attempts {
        let student = &class.students[*number];
        for kind in ["received", "recorded"] {
            let told = student.client.heard_of(kind);
            let own = told.iter().filter(|told| told["attempt"] == attempt.as_str()).count();
            assert_eq!(own, 1, "{kind} {attempt}");
        }
        let kept =
            recorded.iter().filter(|(id, _, kept)| (id, kept) == (&student.seat.id, attempt));
        assert_eq!(kept.count(), 1, "{attempt} in the log");
    }
    Ok(())
}

fn check_summaries(class: &Class) -> Result<()> {
    let recount = class.recount()?;
    for student in &class.students {
        let id = student.seat.id.as_str();
        let summary = student.client.heard_of("summary").last().copied().context("no summary")?;
        let rows = summary["rounds"].as_array().context("no rounds")?;
        assert_eq!(rows.len(), ROUNDS);
        for (row, round) in rows.iter().zip(&recount.rounds) {
            assert_eq!(row["asked"], round.name.as_str());
            assert_eq!(row["verdict"], verdict(round, id));
            let said = round.answers.get(id).and_then(|answer| answer.said.as_deref());
            assert_eq!(row["answer"].as_str(), said);
            assert_eq!(row["points"].as_f64().map(hundredths), recount.points(round, id)?);
        }
        let total = summary["total"].as_f64().map(hundredths);
        assert_eq!(total, Some(recount.total_after(ROUNDS, id)?));
        check_again(&recount, id, summary)?;
    }
    Ok(())
}

/// What a student is asked to look at again is what that student missed.
fn check_again(recount: &Recount, student: &str, summary: &Value) -> Result<()> {
    let missed = recount.rounds.iter().filter(|round| verdict(round, student) != "right");
    let mut missed: Vec<&str> = missed.map(|round| round.name.as_str()).collect();
    let again = summary["again"].as_array().context("no list")?;
    let mut again: Vec<&str> = again.iter().filter_map(|row| row["muscle"].as_str()).collect();
    missed.sort_unstable();
    again.sort_unstable();
    assert_eq!(again, missed);
    Ok(())
}

/// The report counts what was played.
async fn check_report(class: &Class) -> Result<()> {
    let data = class.host.data().display().to_string();
    let ran = Program::run(&["report", "1", "--json", "--data", &data]).await?;
    ensure!(ran.code == Some(0), "{ran:?}");
    let report: Value = serde_json::from_str(&ran.out)?;
    let recount = class.recount()?;
    let review = &report["basis"]["reviews"][0];
    assert_eq!(review["word"], class.host.word.as_str());
    assert_eq!((&review["persons"], &review["rounds"]), (&json!(STUDENTS), &json!(ROUNDS)));
    let answers: usize = recount.rounds.iter().map(|round| round.answers.len()).sum();
    let silent: usize = recount.rounds.iter().map(|round| round.silent.len()).sum();
    let total = |field: &str| report["basis"][field].as_u64();
    let counted = [ROUNDS, answers, silent].map(|count| u64::try_from(count).ok());
    assert_eq!(["rounds", "answers", "silent"].map(total), counted);

    let rows = report["items"].as_array().context("no muscles")?;
    assert_eq!(rows.len(), ROUNDS);
    for round in &recount.rounds {
        let row = rows.iter().find(|row| row["muscle"]["key"] == round.muscle.as_str());
        let row = row.with_context(|| format!("{} is not in the report", round.name))?;
        let with = |wanted: &str| {
            round.answers.keys().filter(|student| verdict(round, student) == wanted).count()
        };
        assert_eq!(row["asked"], round.answers.len() + round.silent.len());
        let silent = ["omitted", "timed_out"].map(|how| row[how].as_u64().unwrap_or_default());
        assert_eq!(silent.iter().sum::<u64>(), u64::try_from(round.silent.len())?);
        assert_eq!(row["right"], with("right"));
    }
    check_pairs(&recount, report["pairs"].as_array().context("no pairs")?);
    Ok(())
}

fn check_pairs(recount: &Recount, pairs: &[Value]) {
    let mut counted: BTreeMap<(String, String), u64> = BTreeMap::new();
    for round in &recount.rounds {
        for (said, count) in round.spread().into_iter().filter(|(said, _)| *said != round.name) {
            *counted.entry((round.name.clone(), said)).or_insert(0) += count;
        }
    }
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let told = pairs.iter().map(|pair| {
        let count = pair["count"].as_u64().unwrap_or_default();
        ((text(&pair["asked"]["name"]), text(&pair["said"]["name"])), count)
    });
    assert_eq!(told.collect::<BTreeMap<_, _>>(), counted);
}
