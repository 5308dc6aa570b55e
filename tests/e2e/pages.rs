//! What browsers load over HTTP, and the forms of the desk.

use std::fs;

use anyhow::{Context as _, Result, bail, ensure};
use myonym_tests::{Class, Client, Program, Response, Role, TestHost, encoded, http, post};
use serde_json::{Value, json};

/// Path of the first style that a page loads, and the hash of the set in it.
fn style_of(page: &Response) -> Result<(String, String)> {
    let path = page.body.split('"').find(|part| part.starts_with("/assets/"));
    let path = path.context("a page without style")?;
    let hash = path.split('/').nth(2).context("no hash")?;
    Ok((path.to_owned(), hash.to_owned()))
}

#[tokio::test]
async fn pages_come_guarded_and_are_not_sent_twice() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let get = async |request: &str| http(host.address, request).await;
    for path in ["/", "/?word=radius-talus", "/board", "/desk"] {
        let page = get(&format!("GET {path} HTTP/1.1")).await?;
        ensure!(page.status == 200, "{path}: {}", page.head);
        for header in [
            "content-type: text/html; charset=utf-8\r",
            "cache-control: no-cache\r",
            "content-security-policy: default-src 'none'; script-src 'self';",
            "x-content-type-options: nosniff\r",
            "referrer-policy: same-origin\r",
        ] {
            ensure!(page.head.contains(header), "{path} without {header}: {}", page.head);
        }
        ensure!(page.body.to_lowercase().starts_with("<!doctype html>"), "{path}: {}", page.body);
        let tag = page.head.lines().find_map(|line| line.strip_prefix("etag: "));
        let tag = tag.context("no tag")?.replace("w/", "W/");
        let again = get(&format!("GET {path} HTTP/1.1\r\nIf-None-Match: \"old\", {tag}")).await?;
        ensure!(again.status == 304 && again.body.is_empty(), "{path}: {again:?}");
    }
    host.is_sound()
}

#[tokio::test]
async fn assets_are_kept_for_ever_under_the_hash_of_their_set() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let get = async |request: &str| http(host.address, request).await;
    let (path, hash) = style_of(&get("GET / HTTP/1.1").await?)?;
    let style = get(&format!("GET {path} HTTP/1.1")).await?;
    ensure!(style.status == 200 && style.head.contains("immutable\r"), "{}", style.head);
    ensure!(style.head.contains("content-type: text/css; charset=utf-8\r"), "{}", style.head);
    ensure!(!style.head.contains("content-encoding"), "{}", style.head);
    let packed = get(&format!("GET {path} HTTP/1.1\r\nAccept-Encoding: br, gzip;q=0.8")).await?;
    ensure!(packed.head.contains("content-encoding: gzip\r"), "{}", packed.head);
    // RFC 9110 section 12.5.3: a quality of nought means that it is not taken.
    let plain = get(&format!("GET {path} HTTP/1.1\r\nAccept-Encoding: gzip;q=0")).await?;
    ensure!(plain.body == style.body, "compressed for one who does not take it");
    let file = path.rsplit(&hash).next().unwrap_or_default();
    for (status, path) in [
        (404, format!("/assets/0000000000000000{file}")),
        (404, format!("/assets/{hash}/css/none.css")),
        (404, format!("/assets/{hash}/index.html")),
        (404, format!("/assets/{hash}/../../Cargo.toml")),
        (404, format!("/assets/{hash}/css/%2e%2e/%2e%2e/src/lib.rs")),
        (404, format!("/assets/{hash}/")),
        (404, "/assets/".to_owned()),
    ] {
        let answer = get(&format!("GET {path} HTTP/1.1")).await?;
        ensure!(answer.status == status, "{path}: {answer:?}");
    }
    ensure!(get(&format!("POST {path} HTTP/1.1\r\nContent-Length: 0")).await?.status == 405);
    host.is_sound()
}

#[tokio::test]
async fn lists_to_choose_from_are_those_of_the_program() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let lists: Value =
        serde_json::from_str(&http(host.address, "GET /lists.json HTTP/1.1").await?.body)?;
    let rows = lists.as_array().context("no array")?;
    let catalogue = myonym_content::Catalogue::bundled();
    ensure!(rows.len() == catalogue.lists().count(), "{lists}");
    for list in catalogue.lists() {
        let row =
            json!({"key": list.key.as_str(), "name": list.name, "muscles": list.muscles.len()});
        ensure!(rows.contains(&row), "{row} is not in {lists}");
    }
    host.is_sound()
}

/// Reads a code with an independent reader of ISO/IEC 18004 (the crate rqrr).
fn read_code(svg: &str) -> Result<String> {
    let width = svg.split("width=\"").nth(1).and_then(|rest| rest.split('"').next());
    let side: usize = width.context("no width")?.parse()?;
    let mut dark = vec![false; side * side];
    // Each dark field is a path of its own: `M x y h width v height ...`.
    let drawn = svg.split("d=\"").nth(1).and_then(|rest| rest.split('"').next());
    for field in drawn.context("no path")?.split('M').skip(1) {
        let numbers: Vec<usize> = (field.split(|c: char| !c.is_ascii_digit()))
            .filter_map(|number| number.parse().ok())
            .collect();
        let [x, y, w, h, ..] = numbers[..] else { bail!("an odd field: {field}") };
        for row in y..y + h {
            dark[row * side + x..][..w].fill(true);
        }
    }
    let mut image = rqrr::PreparedImage::prepare_from_greyscale(side, side, |x, y| {
        if dark[y * side + x] { 0 } else { 255 }
    });
    let grids = image.detect_grids();
    let [grid] = &grids[..] else { bail!("{} codes", grids.len()) };
    Ok(grid.decode()?.1)
}

#[tokio::test]
async fn a_code_holds_the_link_and_nothing_but_links_are_made_codes() -> Result<()> {
    let host = TestHost::start(&[]).await?;
    let link = format!("http://{}/?word={}", host.address, host.word);
    let get = async |text: &str| {
        http(host.address, &format!("GET /qr.svg?link={} HTTP/1.1", encoded(text))).await
    };
    let code = get(&link).await?;
    ensure!(code.status == 200 && code.head.contains("image/svg+xml"), "{code:?}");
    assert_eq!(read_code(&code.body)?, link);
    for other in ["", "javascript:alert(1)", "ftp://192.0.2.7/", "<svg>", "mailto:a@b.example"] {
        let refused = get(other).await?;
        ensure!(refused.status == 400, "{other}: {refused:?}");
    }
    ensure!(http(host.address, "GET /qr.svg HTTP/1.1").await?.status == 400);
    host.is_sound()
}

/// A class that held a short review.
async fn held(section: &str) -> Result<Class> {
    let mut class =
        Class::gather(&["--list", "rotator-cuff", "--rounds", "2", "--section", section], 3)
            .await?;
    for _ in 0..2 {
        let asked = class.open_round().await?;
        for (student, name) in class.students.iter_mut().zip(["teres minor", "subscapularis"]) {
            student.answer_recorded(asked.round, name).await?;
        }
        class.close_round().await?;
        class.reveal().await?;
    }
    class.end().await?;
    Ok(class)
}

#[tokio::test]
async fn the_report_of_the_desk_is_that_of_the_command() -> Result<()> {
    let class = held("Lab A").await?;
    let host = &class.host;
    let own = format!("http://{}", host.address);
    let ask = async |fields: &[(&str, &str)]| {
        let fields = [&[("key", host.key.as_str())], fields].concat();
        post(host.address, "/desk/report", &own, &fields).await
    };
    let page = ask(&[("section", "Lab A"), ("list", ""), ("from", ""), ("to", "")]).await?;
    ensure!(page.status == 200, "{page:?}");
    ensure!(page.head.contains("cache-control: no-store\r"), "{}", page.head);
    ensure!(page.head.contains("default-src 'none'; style-src 'unsafe-inline';"), "{}", page.head);
    let (data, file) = (host.data(), host.data().join("../report.html"));
    let (data, name) = (data.display().to_string(), file.display().to_string());
    let arguments = ["report", "--section", "Lab A", "--html", &name, "--data", &data];
    let ran = Program::run(&arguments).await?;
    ensure!(ran.code == Some(0), "{ran:?}");
    assert_eq!(page.body, fs::read_to_string(&file)?);
    ensure!(!page.body.contains("Student 1"), "a class's report names no student");

    for (part, fields) in [
        ("did you mean Lab A?", [("section", "Lab B")]),
        ("2026-13-01 is not a date", [("from", "2026-13-01")]),
        ("no review was held for the muscle list", [("list", "../../secret")]),
    ] {
        let refused = ask(&fields).await?;
        ensure!(refused.status == 422 && refused.body.contains(part), "{refused:?}");
        ensure!(refused.head.contains("text/html"), "{}", refused.head);
    }
    host.is_sound()
}

#[tokio::test]
async fn a_plan_of_the_desk_can_be_held() -> Result<()> {
    let class = held("Lab A").await?;
    let host = &class.host;
    let own = format!("http://{}", host.address);
    let ask = async |fields: &[(&str, &str)]| {
        let fields = [&[("key", host.key.as_str())], fields].concat();
        post(host.address, "/desk/plan", &own, &fields).await
    };
    let plan = ask(&[("list", "shoulder"), ("rounds", "5")]).await?;
    ensure!(plan.status == 200 && plan.head.contains("content-type: text/plain"), "{plan:?}");
    let mut desk = Client::open(host.address, Role::Instructor).await?;
    desk.hello(json!({"type": "open", "key": host.key, "settings": {}, "plan": plan.body})).await?;
    let opened = desk.expect("conducting").await?;
    assert_eq!(opened["review"]["rounds"], 5);
    ensure!(ask(&[("rounds", "0")]).await?.status == 422);
    ensure!(ask(&[("list", "/etc/passwd")]).await?.status == 422);
    host.is_sound()
}

#[tokio::test]
async fn forms_need_the_key_and_come_from_our_own_page() -> Result<()> {
    let host = TestHost::start(&["--study-groups-only"]).await?;
    let own = format!("http://{}", host.address);
    let key = ("key", host.key.as_str());
    let check = async |status: u16, origin: &str, fields: &[(&str, &str)]| {
        let answer = post(host.address, "/desk/report", origin, fields).await?;
        ensure!(answer.status == status, "{fields:?}: {answer:?}, not {status}");
        ensure!(!answer.body.contains(&host.key), "the key comes back");
        Ok(())
    };
    // Nothing was held here.
    check(422, &own, &[key]).await?;
    check(403, "http://elsewhere.example", &[key]).await?;
    check(403, "null", &[key]).await?;
    check(400, &own, &[key, ("colour", "red")]).await?;
    let long = "x".repeat(17 * 1024);
    check(400, &own, &[key, ("section", &long)]).await?;
    // Many wrong keys of whatever form at once: more than time forgives meanwhile. Then the address
    // has to wait.
    let zeros = "0".repeat(32);
    let address = host.address;
    let (own, zeros) = (own.as_str(), zeros.as_str());
    let tries = (0..60).map(|number| {
        let wrong: &str = if number % 2 == 0 { zeros } else { "no key" };
        async move { post(address, "/desk/report", own, &[("key", wrong)]).await }
    });
    let answers = futures_util::future::try_join_all(tries.collect::<Vec<_>>()).await?;
    let with = |status: u16| answers.iter().filter(|answer| answer.status == status).count();
    ensure!(with(403) >= 10 && with(429) > 0 && with(403) + with(429) == 60, "{answers:?}");
    host.is_sound()
}
