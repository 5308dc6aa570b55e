//! Reviews that are planned, proposed from earlier ones, or chosen round by round.

use std::fs;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Class, Instructor, Program, Ran, TestHost};
use serde_json::{Value, json};
use tempfile::TempDir;

const PLAN: &str = "\
list = \"shoulder\"
seed = 7
limit = \"30s\"

[[round]]
muscle = \"M. teres minor\"
beside = \"teres major\"
why = \"taken for teres major last week\"

[[round]]
muscle = \"deltoid\"

[[round]]
muscle = \"teres major\"
task = \"contrast\"
beside = \"soleus\"
why = \"an easy one\"
";

/// A file that goes away with its folder.
fn file(folder: &TempDir, name: &str, text: &str) -> Result<String> {
    let path = folder.path().join(name);
    fs::write(&path, text)?;
    Ok(path.display().to_string())
}

fn said(ran: &Ran, code: i32, part: &str) -> Result<()> {
    let text = if code == 0 { &ran.out } else { &ran.err };
    ensure!(ran.code == Some(code) && text.contains(part), "{code} and `{part}`, but {ran:?}");
    Ok(())
}

#[tokio::test]
async fn a_planned_review_with_a_choice_between_two() -> Result<()> {
    let folder = TempDir::new()?;
    let plan = file(&folder, "plan.toml", PLAN)?;
    let mut class = Class::gather(&["--plan", &plan], 4).await?;
    let told = &class.instructor.conducting;
    assert_eq!(
        (&told["review"]["rounds"], &told["review"]["limit_ms"]),
        (&json!(3), &json!(30_000))
    );
    assert_eq!(told["review"]["tasks"], json!(["name", "contrast"]));
    let coming = json!({
        "round": 1, "task": "contrast", "muscle": "teres minor", "beside": "teres major",
        "why": "taken for teres major last week",
    });
    assert_eq!(told["coming"], coming);
    let asked = class.open_round().await?;
    assert_eq!(asked.muscle.key, "teres-minor");
    check_offered(&class, 0)?;
    choose(&mut class, asked.round).await?;
    let reveal = check_reveal(&mut class).await?;
    // What separates the two: common practice, no source.
    let apart = reveal["contrast"]["apart"].to_string();
    ensure!(
        apart.contains("rotates the arm laterally") && apart.contains("line of pull"),
        "{apart}"
    );
    // No round was named after it, so the second has no reason to tell.
    let asked = class.open_round().await?;
    assert_eq!(asked.muscle.key, "deltoid");
    for student in &mut class.students {
        student.answer_recorded(asked.round, "deltoid").await?;
    }
    class.everyone("round_closed").await?;
    class.reveal().await?;
    let coming = class.instructor.client.expect("coming").await?;
    assert_eq!((&coming["round"], &coming["why"]), (&json!(3), &json!("an easy one")));
    let asked = class.open_round().await?;
    // The other one may stand outside the list; nobody answers.
    assert_eq!(
        (asked.muscle.key.as_str(), offered(&class)?),
        ("teres-major", sorted(["soleus", "teres major"]))
    );
    class.close_round().await?;
    let reveal = class.reveal().await?;
    assert_eq!(
        (&reveal["contrast"]["said"], &reveal["contrast"]["count"]),
        (&json!("soleus"), &json!(0))
    );
    class.instructor.say("next").await?;
    class.everyone_to_the_end().await?;
    // What the plan says is for the instructor alone.
    for student in &class.students {
        let heard = json!(student.client.heard()).to_string();
        ensure!(!heard.contains("last week") && !heard.contains("an easy one"), "{heard}");
    }
    check_counts(&class).await?;
    class.host.is_sound()
}

/// The two names in an order drawn from the seed, to everyone, and again to who comes back.
fn check_offered(class: &Class, student: usize) -> Result<()> {
    let opened = class.students[student].client.heard_of("round_opened");
    let opened = opened.last().context("no round")?;
    assert_eq!(opened["task"], "contrast");
    assert_eq!(offered(class)?, sorted(["teres major", "teres minor"]));
    let told = opened["clue"].to_string();
    ensure!(!told.contains("teres"), "the clue names it: {told}");
    Ok(())
}

/// One is right, by its Latin name; one takes the other, and one another muscle and then the other;
/// one is silent.
async fn choose(class: &mut Class, round: u16) -> Result<()> {
    class.students[0].answer_recorded(round, "Musculus teres minor").await?;
    class.students[1].answer_recorded(round, "teres major").await?;
    class.students[2].answer(round, "infraspinatus").await?;
    let which = class.students[2].client.expect("which_one").await?;
    let mut among: Vec<String> = serde_json::from_value(which["among"].clone())?;
    among.sort_unstable();
    assert_eq!(among, sorted(["teres major", "teres minor"]));
    class.students[2].answer_recorded(round, "teres majr").await?;
    let seat = class.students[3].seat.clone();
    class.students[3] = seat.take(class.host.address).await?;
    let moment = &class.students[3].seated["moment"];
    let opened = class.students[0].client.heard_of("round_opened");
    assert_eq!(moment["offered"], opened.last().context("no round")?["offered"]);
    class.close_round().await?;
    Ok(())
}

async fn check_reveal(class: &mut Class) -> Result<Value> {
    let reveal = class.reveal().await?;
    assert_eq!(
        (&reveal["task"], &reveal["answer"]["name"]),
        (&json!("contrast"), &json!("teres minor"))
    );
    let spread = json!([
        { "name": "teres major", "count": 2, "verdict": "wrong" },
        { "name": "teres minor", "count": 1, "verdict": "right" },
    ]);
    assert_eq!(reveal["spread"], spread);
    assert_eq!(
        (&reveal["contrast"]["said"], &reveal["contrast"]["count"]),
        (&json!("teres major"), &json!(2))
    );
    assert_eq!(reveal["pictures"].as_array().map(Vec::len), Some(2));
    let result = |student: usize| {
        let heard = class.students[student].client.heard_of("result");
        let result = heard.last().context("no result")?;
        Ok::<_, anyhow::Error>((result["verdict"].clone(), result["points"].clone()))
    };
    // The wrong one of two earns nothing, though the two are neighbours.
    assert_eq!(
        (result(1)?, result(2)?),
        ((json!("wrong"), json!(0.0)), (json!("wrong"), json!(0.0)))
    );
    assert_eq!((result(0)?.0, result(3)?), (json!("right"), (json!("silent"), json!(0.0))));
    Ok(reveal)
}

/// Choices are no names: the report counts the one round that asked for a name.
async fn check_counts(class: &Class) -> Result<()> {
    let data = class.host.data().display().to_string();
    let told = Program::run(&["report", "1", "--json", "--data", &data]).await?;
    let report: Value = serde_json::from_str(&told.out)?;
    let items = report["items"].as_array().context("no items")?;
    assert_eq!(items.len(), 1, "{items:?}");
    assert_eq!((&items[0]["muscle"]["key"], &items[0]["asked"]), (&json!("deltoid"), &json!(4)));
    assert_eq!(report["pairs"], json!([]));
    Ok(())
}

fn offered(class: &Class) -> Result<Vec<String>> {
    let opened = class.students[0].client.heard_of("round_opened");
    let offered = opened.last().context("no round")?["offered"].clone();
    let mut offered: Vec<String> = serde_json::from_value(offered)?;
    offered.sort_unstable();
    Ok(offered)
}

fn sorted(names: [&str; 2]) -> Vec<String> {
    names.map(ToOwned::to_owned).to_vec()
}

#[tokio::test]
async fn a_plan_that_cannot_be_held_tells_every_line() -> Result<()> {
    let folder = TempDir::new()?;
    let data = folder.path().join("data").display().to_string();
    let wrong = PLAN.replace("shoulder", "sholder").replace("deltoid", "deltiod");
    let plan = file(&folder, "plan.toml", &wrong.replace("task =", "tsk ="))?;
    let place = ["--headless", "--port", "0", "--data", &data];
    let host =
        async |options: &[&str]| Program::run(&[&["host"][..], &place[..], options].concat()).await;
    let ran = host(&["--plan", &plan]).await?;
    said(&ran, 1, &format!("{plan}:1:8: no muscle list is called `sholder`; nearest: `shoulder`"))?;
    said(&ran, 1, &format!("{plan}:11:10: no muscle is called `deltiod`; nearest: `deltoid`"))?;
    said(&ran, 1, &format!("{plan}:15:1: unknown field `tsk`; nearest: `task`"))?;
    said(&ran, 1, "3 problems found")?;
    said(&host(&["--plan", "no-such.toml"]).await?, 1, "the plan no-such.toml cannot be read")?;
    for other in [&["--rounds", "3"][..], &["--list", "shoulder"], &["--adaptive"]] {
        said(&host(&[&["--plan", &plan][..], other].concat()).await?, 2, "--plan")?;
    }
    // Nothing was opened on the way.
    ensure!(!Program::run(&["report", "--data", &data]).await?.out.contains("shoulder"));
    Ok(())
}

/// From what a class confused to a plan on the disk to the next review.
#[tokio::test]
async fn a_plan_is_proposed_written_down_and_held() -> Result<()> {
    let mut class = Class::gather(&["--section", "Lab A"], 12).await?;
    // Every muscle of the list once, so that teres minor is among them.
    for _ in 0..18 {
        let asked = class.open_round().await?;
        for (number, student) in class.students.iter_mut().enumerate() {
            let confuses = asked.muscle.key == "teres-minor" && number < 9;
            let typed = if confuses { "teres major" } else { &asked.muscle.name };
            student.answer_recorded(asked.round, typed).await?;
        }
        class.everyone("round_closed").await?;
        class.reveal().await?;
    }
    class.instructor.say("next").await?;
    class.everyone_to_the_end().await?;
    let data = class.host.data().display().to_string();
    let folder = TempDir::new()?;
    let path = folder.path().join("next.toml").display().to_string();
    let plan = async |options: &[&str]| {
        Program::run(&[&["plan", "--data", &data, "--seed", "3"][..], options].concat()).await
    };
    let shown = plan(&["--rounds", "10"]).await?;
    said(&shown, 0, "10 rounds of shoulder, introductory course, from 1 review (seed 3)")?;
    said(&shown, 0, "teres minor beside teres major")?;
    said(&shown, 0, "9 of 12")?;
    assert_eq!(plan(&["all", "--rounds", "10"]).await?.out, shown.out);
    said(&plan(&["--section", "Lab B"]).await?, 1, "did you mean Lab A?")?;
    said(&plan(&["--list", "sholder"]).await?, 1, "nearest: shoulder")?;
    said(&plan(&["--section", "lab a", "--rounds", "10", "--file", &path]).await?, 0, "--plan")?;
    let written = fs::read_to_string(&path)?;
    ensure!(written.contains("task = \"contrast\"\nbeside = \"teres major\"\n"), "{written}");
    let again = plan(&["--rounds", "4", "--file", &path]).await?;
    said(&again, 1, "is there already; --force writes over it")?;
    assert_eq!(fs::read_to_string(&path)?, written);
    said(&plan(&["--rounds", "4", "--file", &path, "--force"]).await?, 0, "4 rounds")?;
    fs::write(&path, &written)?;
    let mut next = Class::gather(&["--plan", &path], 1).await?;
    assert_eq!(next.instructor.conducting["review"]["rounds"], 10);
    let planned = next.instructor.conducting["coming"]["muscle"].clone();
    let asked = next.open_round().await?;
    assert_eq!(planned, asked.muscle.name.as_str());
    next.host.is_sound()?;
    class.host.is_sound()
}

/// What was planned is in the log: a review goes on without the file.
#[tokio::test]
async fn a_planned_review_goes_on_after_a_kill_without_its_file() -> Result<()> {
    let folder = TempDir::new()?;
    let plan = file(&folder, "plan.toml", PLAN)?;
    let host = TestHost::start_to_be_restarted(&["--plan", &plan]).await?;
    fs::remove_file(&plan)?;
    let mut class = Class::gather_at(host, 1).await?;
    let coming = class.instructor.conducting["coming"].clone();
    let before = class.open_round().await?;
    let two = offered(&class)?;
    class.host.kill9().await?;
    class.host.restart().await?;
    class.come_back().await?;
    assert_eq!(class.instructor.conducting["coming"], coming);
    let moment = &class.students[0].seated["moment"];
    let mut again: Vec<String> = serde_json::from_value(moment["offered"].clone())?;
    again.sort_unstable();
    assert_eq!((&moment["phase"], again), (&json!("open"), two));
    class.students[0].answer_recorded(before.round, "teres minor").await?;
    class.everyone("round_closed").await?;
    assert_eq!(class.reveal().await?["contrast"]["count"], 0);
    class.host.is_sound()
}

/// Simulated students play every kind of review.
#[tokio::test]
async fn rehearsals_are_planned_and_chosen_too() -> Result<()> {
    let folder = TempDir::new()?;
    let plan = file(&folder, "plan.toml", PLAN)?;
    let data = folder.path().join("data").display().to_string();
    let rehearse = async |options: &[&str]| {
        let place = ["--data", &data, "--port", "0", "--address", "127.0.0.1", "--limit", "1s"];
        Program::run(&[&["host", "--rehearse", "6"][..], &place, options].concat()).await
    };
    let planned = rehearse(&["--plan", &plan]).await?;
    said(&planned, 0, "round  1 of 3  teres minor, one of two")?;
    said(&planned, 0, "round  3 of 3  teres major, one of two")?;
    let dealt = rehearse(&["--tasks", "contrast", "--rounds", "2"]).await?;
    ensure!(dealt.out.matches(", one of two").count() == 2, "{dealt:?}");
    said(&rehearse(&["--adaptive", "--rounds", "3"]).await?, 0, "round  3 of 3")?;
    said(&Program::run(&["plan", "--rehearsals", "--data", &data]).await?, 0, "from 3 reviews")
}

#[tokio::test]
async fn an_instructor_may_open_an_adaptive_review_from_anywhere() -> Result<()> {
    let class = Class::gather(&[], 0).await?;
    assert_eq!(class.instructor.conducting["review"]["adaptive"], false);
    let settings = json!({ "adaptive": true, "list": "rotator-cuff" });
    let mut opened = Instructor::open(class.host.address, &class.host.key, settings).await?;
    assert_eq!(opened.conducting["review"]["adaptive"], true);
    assert_eq!(chosen(&mut opened, 1).await?["round"], 1);
    class.host.is_sound()
}

#[tokio::test]
async fn an_adaptive_review_goes_on_after_a_kill_as_it_was_chosen() -> Result<()> {
    let options = ["--adaptive", "--rounds", "4"];
    let host = TestHost::start_to_be_restarted(&options).await?;
    let mut class = Class::gather_at(host, 3).await?;
    assert_eq!(class.instructor.conducting["review"]["adaptive"], true);
    for round in 1..=4_u16 {
        // Once it is told, the choice is on the disk: what comes after a power cut is what was told.
        let coming = chosen(&mut class.instructor, round).await?;
        class.host.kill9().await?;
        class.host.restart().await?;
        class.come_back().await?;
        assert_eq!(class.instructor.conducting["coming"], coming, "round {round}");
        let asked = class.open_round().await?;
        assert_eq!((asked.round, &coming["muscle"]), (round, &json!(asked.muscle.name)));
        for student in &mut class.students {
            student.answer_recorded(asked.round, &asked.muscle.name).await?;
        }
        class.everyone("round_closed").await?;
        class.reveal().await?;
    }
    class.instructor.say("next").await?;
    class.everyone_to_the_end().await?;
    check_choices(&class)?;
    let data = class.host.data().display().to_string();
    let told = Program::run(&["report", "1", "--json", "--data", &data]).await?;
    let report: Value = serde_json::from_str(&told.out)?;
    // Not everyone who is asked in such a review is asked the same: no reliability is defined.
    let reliability = &report["reliability"][0];
    ensure!(reliability["kr20"].is_null(), "{reliability}");
    ensure!(reliability["words"].as_str().is_some_and(|words| words.contains("chosen")));
    class.host.is_sound()
}

/// What the instructor is told of the round that comes next, whenever it is chosen.
async fn chosen(instructor: &mut Instructor, round: u16) -> Result<Value> {
    let told = instructor.conducting["coming"].clone();
    if told["round"] == round {
        return Ok(told);
    }
    loop {
        let mut coming = instructor.client.expect("coming").await?;
        if coming["round"] == round {
            coming.as_object_mut().context("no object")?.remove("type");
            return Ok(coming);
        }
    }
}

/// Every round that was opened is the one that the log chose last, once for each, before it opened.
fn check_choices(class: &Class) -> Result<()> {
    let log = class.review_log()?;
    let mut chosen: Vec<Value> = Vec::new();
    let mut opened = 0;
    for row in
        log.rows.iter().filter(|row| ["replanned", "round_opened"].contains(&row.kind.as_str()))
    {
        if row.kind == "replanned" {
            chosen.push(row.body.clone());
            continue;
        }
        opened += 1;
        let last = chosen.last().context("opened before it was chosen")?;
        assert_eq!(last["round"], opened);
        assert_eq!(last["planned"]["muscle"], row.body["muscle"]);
        ensure!(last["why"].as_str().is_some_and(|why| !why.is_empty()), "{last}");
    }
    assert_eq!((chosen.len(), opened), (4, 4));
    Ok(())
}
