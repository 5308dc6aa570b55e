//! Reviews that are opened over the wire by the text of a plan or of a muscle list.

use std::fs;

use anyhow::{Context as _, Result, ensure};
use myonym_tests::{Client, Role, TestHost};
use serde_json::{Value, json};

const LIST: &str = "name: Two of the shoulder\n\nteres minor\nM. deltoideus\n";
const PLAN: &str = "\
list = \"shoulder\"
seed = 7
limit = \"20s\"

[[round]]
muscle = \"teres minor\"
beside = \"teres major\"
why = \"missed on Monday\"

[[round]]
muscle = \"deltoid\"
";

async fn open(host: &TestHost, texts: Value) -> Result<Client> {
    let mut hello = json!({ "type": "open", "key": host.key, "settings": { "limit_ms": 9_000 } });
    for (field, text) in texts.as_object().context("fields")? {
        hello[field] = text.clone();
    }
    let mut client = Client::open(host.address, Role::Instructor).await?;
    client.hello(hello).await?;
    Ok(client)
}

#[tokio::test]
async fn a_plan_or_a_list_may_come_as_text() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let mut planned = open(&host, json!({ "plan": PLAN })).await?;
    let told = planned.expect("conducting").await?;
    let review = &told["review"];
    assert_eq!((&review["rounds"], &review["limit_ms"]), (&json!(2), &json!(20_000)));
    assert_eq!(told["coming"]["why"], "missed on Monday");
    assert_eq!(told["coming"]["beside"], "teres major");

    let mut listed = open(&host, json!({ "own_list": LIST })).await?;
    let told = listed.expect("conducting").await?;
    assert_eq!(told["review"]["list"], "Two of the shoulder");
    assert_eq!(
        (&told["review"]["rounds"], &told["review"]["limit_ms"]),
        (&json!(2), &json!(9_000))
    );

    let of_own = PLAN.replace("\"shoulder\"", "\"practical.txt\"");
    let mut both = open(&host, json!({ "plan": of_own, "own_list": LIST })).await?;
    let told = both.expect("conducting").await?;
    assert_eq!(told["review"]["list"], "Two of the shoulder");
    host.is_sound()
}

/// What is wrong is told with its line; and no file of the server is read for a text.
#[tokio::test]
async fn what_is_wrong_in_a_text_is_told_with_its_line() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let list = host.data().join("secret.txt");
    fs::write(&list, LIST)?;
    let on_disk = PLAN.replace("shoulder", &list.display().to_string());
    let check = async |texts: Value, wanted: &str| {
        let mut client = open(&host, texts).await?;
        let error = client.expect_error("bad_field").await?;
        let message = error["message"].as_str().context("no message")?;
        ensure!(message.contains(wanted), "{message}");
        client.expect_close(1008).await
    };
    check(json!({ "plan": PLAN.replace("deltoid", "deltiod") }), "plan:11").await?;
    check(json!({ "plan": "list = " }), "plan:1").await?;
    check(json!({ "own_list": "teres minor\nhippocampus\n" }), "own_list:2").await?;
    check(json!({ "plan": on_disk }), "no muscle list").await?;
    assert_eq!(host.log()?.reviews.len(), 1);
    host.is_sound()
}
