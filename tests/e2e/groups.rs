//! Study groups: students who hold a review of their own, without an instructor.

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Board, Client, Instructor, Named, Program, Role, Student, TestHost};
use serde_json::{Value, json};

/// Rounds and reveals that last until the members vote otherwise.
fn slow(rounds: u16) -> Value {
    json!({ "rounds": rounds, "limit_ms": 600_000, "pace": { "kind": "group", "reveal_ms": 600_000 } })
}

async fn say(student: &mut Student, kind: &str) -> Result<()> {
    student.client.say(json!({ "type": kind })).await
}

fn asked(host: &TestHost, word: &str) -> Result<Named> {
    Ok(host.log()?.review(word)?.asked()?.1)
}

/// From the gathering to the end, with a board beside it: two members decide together, and when one
/// has left the other decides alone.
#[tokio::test]
async fn a_study_group_from_gathering_to_end() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let address = host.address;
    let mut ada = Student::gather(address, "Ada", slow(5)).await?;
    let word = ada.seat.word.clone();
    let mut board = Board::watch(address, &word).await?;
    let mut ben = Student::join(address, &word, "Ben").await?;
    assert_eq!(ben.seated["review"]["pace"]["kind"], "group");

    say(&mut ben, "start").await?;
    for member in [&mut ada, &mut ben] {
        assert_eq!(member.client.expect("round_opened").await?["round"], 1);
    }
    // Once it has begun there is nothing to start.
    say(&mut ada, "start").await?;
    ada.client.expect_error("not_now").await?;

    ada.vote("skip", true).await?;
    ben.expect_votes(&[("skip", 1, 2)]).await?;
    ada.vote("skip", false).await?;
    ben.expect_votes(&[]).await?;
    ada.vote("skip", true).await?;
    ben.expect_votes(&[("skip", 1, 2)]).await?;
    // The same vote twice is one vote.
    ada.vote("skip", true).await?;
    say(&mut ada, "start").await?;
    ada.client.expect_error("not_now").await?;
    ben.vote("skip", true).await?;
    for member in [&mut ada, &mut ben] {
        member.client.expect("round_skipped").await?;
        // After a skip the next round opens at once.
        assert_eq!(member.client.expect("round_opened").await?["round"], 2);
    }

    ada.vote("pause", true).await?;
    ben.vote("pause", true).await?;
    ben.client.expect("paused").await?;
    ada.client.expect("paused").await?;
    ben.vote("pause", true).await?;
    ben.client.expect_error("not_now").await?;
    ben.vote("resume", true).await?;
    ada.expect_votes(&[("resume", 1, 2)]).await?;
    ada.vote("resume", true).await?;
    ben.client.expect("resumed").await?;
    ada.client.expect("resumed").await?;

    let muscle = asked(&host, &word)?;
    ada.answer_recorded(2, &muscle.name).await?;
    ben.answer_recorded(2, &muscle.name).await?;
    for member in [&mut ada, &mut ben] {
        member.client.expect("revealed").await?;
        member.client.expect("standings").await?;
    }
    // One who is for it, and then the other leaves: one of one is more than half.
    ada.vote("next", true).await?;
    ben.expect_votes(&[("next", 1, 2)]).await?;
    say(&mut ben, "leave").await?;
    ben.client.expect_close(1000).await?;
    assert_eq!(ada.client.expect("round_opened").await?["round"], 3);
    ada.vote("end", true).await?;
    assert_eq!(ada.client.expect("ended").await?["why"], "instructor");
    ada.client.expect("summary").await?;
    ada.client.expect_close(1000).await?;
    board.client.expect("ended").await?;
    board.client.expect("weak_spots").await?;
    ensure!(host.log()?.review(&word)?.ended);
    host.is_sound()
}

/// What a member hears before a reveal holds no answer, whatever is voted meanwhile.
#[tokio::test]
async fn no_member_hears_an_answer_before_the_reveal() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut ada = Student::gather(host.address, "Ada", slow(4)).await?;
    let word = ada.seat.word.clone();
    let mut ben = Student::join(host.address, &word, "Ben").await?;
    say(&mut ada, "start").await?;
    for round in 1..=4_u16 {
        for member in [&mut ada, &mut ben] {
            assert_eq!(member.client.expect("round_opened").await?["round"], round);
        }
        let muscle = asked(&host, &word)?;
        ada.answer_recorded(round, &muscle.name).await?;
        ben.vote("pause", true).await?;
        ada.expect_votes(&[("pause", 1, 2)]).await?;
        let seat = ben.vanish();
        ben = seat.take(host.address).await?;
        for message in since_opened(ada.client.heard()).iter().chain(ben.client.heard()) {
            hides(message, &muscle)?;
        }
        ben.vote("skip", true).await?;
        ada.vote("skip", true).await?;
        ada.client.expect("round_skipped").await?;
        ben.client.expect("round_skipped").await?;
    }
    ada.client.expect("ended").await?;
    host.is_sound()
}

fn since_opened(heard: &[Value]) -> &[Value] {
    let opened = heard.iter().rposition(|message| message["type"] == "round_opened");
    &heard[opened.unwrap_or(0)..]
}

fn hides(message: &Value, muscle: &Named) -> Result<()> {
    let text = message.to_string().to_lowercase();
    for name in [&muscle.name, &muscle.key] {
        ensure!(!text.contains(&name.to_lowercase()), "{name} is told in {message}");
    }
    Ok(())
}

/// Votes of one who is not there count for nothing, and one who comes back is told how they stand.
#[tokio::test]
async fn only_members_who_are_connected_count() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut ada = Student::gather(host.address, "Ada", slow(2)).await?;
    let word = ada.seat.word.clone();
    let mut ben = Student::join(host.address, &word, "Ben").await?;
    let mut eve = Student::join(host.address, &word, "Eve").await?;
    ben.vote("end", true).await?;
    ada.expect_votes(&[("end", 1, 2)]).await?;
    let seat = ben.vanish();
    ada.expect_votes(&[]).await?;
    // One of the two who are left is no more than half.
    eve.vote("end", true).await?;
    ada.expect_votes(&[("end", 1, 2)]).await?;
    eve.vote("end", false).await?;
    ada.expect_votes(&[]).await?;
    let mut ben = seat.take(host.address).await?;
    ben.expect_votes(&[("end", 1, 2)]).await?;
    ada.expect_votes(&[("end", 1, 2)]).await?;
    ada.vote("end", true).await?;
    eve.client.expect("ended").await?;
    host.is_sound()
}

/// Elsewhere these are the instructor's to do.
#[tokio::test]
async fn a_class_has_no_votes() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut student = Student::join(host.address, &host.word, "Ada").await?;
    let own_time = json!({ "type": "own_time", "time": { "kind": "untimed" } });
    let vote = json!({ "type": "vote", "motion": "end", "yes": true });
    for message in [json!({ "type": "start" }), vote, own_time] {
        student.client.say(message).await?;
        student.client.expect_error("not_allowed").await?;
    }
    assert_eq!(host.log()?.review(&host.word)?.of("voted").count(), 0);
    host.is_sound()
}

#[tokio::test]
async fn a_member_sets_their_own_time_and_the_host_may_still_command() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut ada = Student::gather(host.address, "Ada", slow(2)).await?;
    let word = ada.seat.word.clone();
    let more = json!({ "kind": "stretched", "percent": 200 });
    ada.client.say(json!({ "type": "own_time", "time": more })).await?;
    assert_eq!(ada.client.expect("time_changed").await?["time"], more);
    let mut instructor = Instructor::conduct(host.address, Some(&word), &host.key).await?;
    instructor.say("start").await?;
    ada.client.expect("round_opened").await?;
    instructor.say("skip").await?;
    ada.client.expect("round_skipped").await?;
    host.is_sound()
}

/// The same wish sent again, as by a program that heard no answer, opens nothing anew; not even
/// after a stop of the server, over which votes do not last.
#[tokio::test]
async fn the_same_wish_takes_the_same_seat_over_a_stop() -> Result<()> {
    let mut host = TestHost::start_to_be_restarted(&[]).await?;
    let gather = json!({ "type": "gather", "settings": slow(2), "name": "Ada", "listed": true,
        "seat": "0123456789abcdef0123456789abcdef" });
    let seated = async |host: &TestHost| {
        let mut client = Client::open(host.address, Role::Student).await?;
        client.hello(gather.clone()).await?;
        let seated = client.expect("seated").await?;
        let told = (seated["student"].clone(), seated["review"]["word"].clone());
        Ok::<_, anyhow::Error>((client, told))
    };
    let (_first, place) = seated(&host).await?;
    let (_again, same) = seated(&host).await?;
    assert_eq!(place, same);
    let word = place.1.as_str().context("no word")?.to_owned();
    let mut ben = Student::join(host.address, &word, "Ben").await?;
    ben.vote("end", true).await?;
    ben.expect_votes(&[("end", 1, 2)]).await?;
    host.kill9().await?;
    host.restart().await?;
    let ben = ben.seat.take(host.address).await?;
    let (_third, same) = seated(&host).await?;
    assert_eq!(place, same);
    assert_eq!(host.log()?.reviews.len(), 2);
    ensure!(!host.log()?.review(&word)?.ended, "ended by a vote from before the stop");
    drop(ben);
    host.is_sound()
}

async fn refused(host: &TestHost, settings: Value, code: &str) -> Result<Value> {
    let mut client = Client::open(host.address, Role::Student).await?;
    let gather = json!({ "type": "gather", "settings": settings, "name": "Ada" });
    // Some of it does not keep to the schema either.
    client.say_text(gather.to_string()).await?;
    let error = client.expect_error(code).await?;
    client.expect_close(1008).await?;
    Ok(error)
}

#[tokio::test]
async fn what_is_no_study_group_is_refused() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let with = |field: &str, value: Value| {
        let mut settings = slow(2);
        settings[field] = value;
        settings
    };
    refused(&host, json!({}), "bad_field").await?;
    refused(&host, with("pace", json!({ "kind": "automatic", "reveal_ms": 0 })), "bad_field")
        .await?;
    let error = refused(&host, with("list", json!("pectoral-fins")), "bad_field").await?;
    ensure!(error["message"].to_string().contains("shoulder"), "{error}");
    refused(&host, with("adaptive", json!(true)), "bad_field").await?;
    refused(&host, with("section", json!("Lab A")), "bad_field").await?;
    refused(&host, with("limit_ms", json!(999_999)), "bad_field").await?;
    // What was refused does not count; five that were opened do.
    for _ in 0..5 {
        Student::gather(host.address, "Ada", slow(2)).await?;
    }
    refused(&host, slow(2), "slow_down").await?;
    assert_eq!(host.log()?.reviews.len(), 6);
    host.is_sound()
}

#[tokio::test]
async fn a_host_may_take_no_study_groups_or_nothing_else() -> Result<()> {
    let without = TestHost::start(&["--no-study-groups"]).await?;
    refused(&without, slow(2), "not_allowed").await?;
    without.is_sound()?;

    let alone = TestHost::start(&["--study-groups-only"]).await?;
    assert_eq!(alone.log()?.reviews.len(), 0);
    let mut ada = Student::gather(alone.address, "Ada", slow(2)).await?;
    say(&mut ada, "start").await?;
    ada.client.expect("round_opened").await?;
    alone.is_sound()
}

/// Names may be looked up in a study group, so that its answers are not the class's unless they are
/// asked for.
#[tokio::test]
async fn reports_and_plans_leave_study_groups_out() -> Result<()> {
    let mut host = TestHost::start(&["--study-groups-only"]).await?;
    let mut ada = Student::gather(host.address, "Ada", slow(1)).await?;
    let word = ada.seat.word.clone();
    say(&mut ada, "start").await?;
    ada.client.expect("round_opened").await?;
    ada.answer_recorded(1, "trapezius").await?;
    ada.client.expect("revealed").await?;
    let mut class = Instructor::open(host.address, &host.key, json!({ "rounds": 1 })).await?;
    let mut ben = Student::join(host.address, &class.word()?, "Ben").await?;
    class.say("start").await?;
    ben.client.expect("round_opened").await?;
    ben.answer_recorded(1, "deltoid").await?;
    class.client.expect("round_closed").await?;
    class.say("reveal").await?;
    class.client.expect("revealed").await?;
    host.stop().await?;

    let data = host.data().display().to_string();
    let run = async |arguments: &[&str]| {
        Program::run(&[&[arguments[0], "--data", &data], &arguments[1..]].concat()).await
    };
    let list = run(&["report"]).await?;
    assert_eq!(list.out.matches("study group, ").count(), 1, "{}", list.out);
    let counted = async |arguments: &[&str]| {
        let ran = run(&[arguments, &["--json"]].concat()).await?;
        let found: Value = serde_json::from_str(&ran.out).with_context(|| format!("{ran:?}"))?;
        let answers = found["basis"]["answers"].as_u64().context("no answers")?;
        Ok::<_, anyhow::Error>((answers, ran.err.contains("1 study group left out")))
    };
    assert_eq!(counted(&["report", "all"]).await?, (1, true));
    assert_eq!(counted(&["report", "all", "--study-groups"]).await?, (2, false));
    assert_eq!(counted(&["report", &word]).await?, (1, false));
    let told = run(&["report", "all"]).await?.out.split_whitespace().collect::<Vec<_>>().join(" ");
    ensure!(told.contains("1 study group left out"), "{told}");

    let plan = run(&["plan", "--seed", "1", "--rounds", "3"]).await?;
    ensure!(plan.out.contains("from 1 review "), "{plan:?}");
    ensure!(plan.err.contains("1 study group left out"), "{plan:?}");
    let both = run(&["plan", "--seed", "1", "--rounds", "3", "--study-groups"]).await?;
    ensure!(both.out.contains("from 2 reviews ") && both.err.is_empty(), "{both:?}");
    host.is_sound()
}
