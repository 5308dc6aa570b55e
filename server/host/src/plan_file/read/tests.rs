//! Plans that can be read, and plans that cannot.

use std::path::Path;

use proptest::prelude::*;
use proptest::sample::select;

use super::*;
use crate::plan_file::{Row, write};

fn plan(text: &str) -> Result<PlanFile, Vec<String>> {
    let file = SourceFile { path: "plan.toml".to_owned(), text: text.to_owned() };
    let none = |list: &str| match Path::new(list).extension() {
        Some(_) => Ok(Some(SourceFile { path: list.to_owned(), text: OWN.to_owned() })),
        None => Ok(None),
    };
    let told = |problems: Vec<Problem>| problems.iter().map(ToString::to_string).collect();
    read(&file, Catalogue::bundled(), none).map_err(told)
}

const OWN: &str = "name: Practical\nteres minor\n    also: little teres\ndeltoid\n";

#[test]
fn a_plan_is_read() {
    let text = r#"
        # For Monday.
        list = "shoulder"
        seed = 7
        limit = "1m30s"

        [[round]]
        muscle = "M. teres minor"

        [[round]]
        muscle = "teres minor"
        beside = "Soleus"
        why = "never told apart"

        [[round]]
        muscle = "deltoid"
        task = "picture"

        [[round]]
        muscle = "deltoid"
        task = "contrast"
    "#;
    let PlanFile { list, own_list, seed, limit_ms, rounds } = plan(text).unwrap();
    assert_eq!(
        (list.as_str(), own_list, seed, limit_ms),
        ("shoulder", None, Some(7), Some(90_000))
    );
    let asks: Vec<(String, String)> =
        rounds.iter().map(|round| (round.asks(), round.why.clone())).collect();
    let told = |asks: &str, why: &str| (asks.to_owned(), why.to_owned());
    assert_eq!(
        asks,
        [
            told("teres minor", ""),
            told("teres minor beside soleus", "never told apart"),
            told("deltoid, picture", ""),
            told("deltoid beside its nearest", ""),
        ]
    );
    assert_eq!(rounds[1].planned.task, Task::Contrast);
    assert_eq!(rounds[1].planned.beside, Some(MuscleKey::new("soleus")));
}

#[test]
fn a_list_of_ones_own_may_be_planned_for_with_its_own_names() {
    let text = "list = \"own.txt\"\nlimit = 30\n[[round]]\nmuscle = \"little teres\"\n";
    let PlanFile { own_list, limit_ms, rounds, seed, .. } = plan(text).unwrap();
    assert_eq!(own_list.unwrap().path, "own.txt");
    assert_eq!((limit_ms, seed, rounds[0].name.as_str()), (Some(30_000), None, "teres minor"));
}

/// Every problem at once, each with its place and what may have been meant.
#[test]
fn everything_that_is_wrong_is_told() {
    let text = "list = \"sholder\"\nsed = 7\nseed = -1\nlimit = \"9h\"\n[[round]]\nmuscel = \"deltoid\"\n\
                [[round]]\nmuscle = \"teres minr\"\ntask = \"contrst\"\n[[round]]\nmuscle = \"teres\"\n\
                [[round]]\nmuscle = \"deltoid\"\ntask = \"name\"\nbeside = \"deltoid\"\nwhy = 3\n";
    let told = plan(text).unwrap_err();
    assert_eq!(
        told,
        [
            "plan.toml:1:8: no muscle list is called `sholder`; nearest: `shoulder`",
            "plan.toml:2:1: unknown field `sed`; nearest: `seed`",
            "plan.toml:3:8: seed: write a whole number from 0, such as 7",
            "plan.toml:4:9: limit: write a time from 1s to 10m, such as \"45s\"",
            "plan.toml:5:1: missing field `muscle`",
            "plan.toml:6:1: unknown field `muscel`; nearest: `muscle`",
            "plan.toml:8:10: no muscle is called `teres minr`; nearest: `teres minor`",
            "plan.toml:9:8: unknown task `contrst`: write name, picture, movement, contrast; nearest: `contrast`",
            "plan.toml:11:10: `teres` fits several muscles: teres major, teres minor",
            "plan.toml:15:10: `beside` belongs to the task `contrast`",
            "plan.toml:15:10: deltoid stands beside itself",
            "plan.toml:16:7: expected text in quotes, found integer",
        ]
    );
}

#[test]
fn what_is_no_plan_is_told() {
    let check = |text: &str, expected: &str| {
        let told = plan(text).unwrap_err().join("\n");
        assert!(told.contains(expected), "{told}");
    };
    check("", "plan.toml:1:1: missing field `list`");
    check("list = \"shoulder\"\n", "missing field `round`");
    check("list = \"shoulder\"\nround = []\n", "2:9: a plan needs at least one round");
    check("list = \"shoulder\"\nround = 3\n", "2:9: rounds stand each under a line [[round]]");
    check("list = \"shoulder\n", "plan.toml:1:");
    check("list = \"shoulder\n", "TOML syntax");
    let off = "list = \"shoulder\"\n[[round]]\nmuscle = \"soleus\"\n";
    check(off, "3:10: soleus is not on the list shoulder, introductory course");
    let many = "[[round]]\nmuscle = \"deltoid\"\n".repeat(501);
    check(&format!("list = \"shoulder\"\n{many}"), "a review has at most 500 rounds");
}

proptest! {
    /// What is written is read back as it was meant.
    #[test]
    fn a_written_plan_is_read_back(
        seed in 0..u64::try_from(i64::MAX).unwrap(),
        rows in prop::collection::vec(
            (
                select(vec!["teres minor", "deltoid", "supraspinatus"]),
                select(vec![Task::Name, Task::Picture, Task::Movement, Task::Contrast]),
                prop::option::of(select(vec!["teres major", "soleus"])),
                "[a-z \"\\\\'#=\n\t\u{e9}]{0,30}",
            ),
            1..6,
        ),
    ) {
        let rows: Vec<Row> = rows
            .into_iter()
            .map(|(muscle, task, beside, why)| Row {
                muscle: muscle.to_owned(),
                task,
                beside: beside.filter(|_| task == Task::Contrast).map(str::to_owned),
                why: why.trim().to_owned(),
            })
            .collect();
        let read = plan(&write("shoulder", seed, &rows)).unwrap();
        prop_assert_eq!(read.seed, Some(seed));
        let back = read.rounds.into_iter().map(|round| Row {
            muscle: round.name,
            task: round.planned.task,
            beside: round.beside,
            why: round.why,
        });
        prop_assert_eq!(back.collect::<Vec<_>>(), rows);
    }
}
