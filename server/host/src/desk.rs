//! What an instructor asks for by a form of the desk: the report, and a plan of the next review.
//! The same as the commands give, on the records of this server.

use std::sync::Arc;
use std::time::Duration;

use anyhow::Context as _;
use axum::Extension;
use axum::body;
use axum::extract::{Request, State};
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use jiff::civil::Date;
use myonym_content::{Catalogue, Course, ListKey};
use myonym_insight::render::analysis as pages;
use myonym_wire::HostKey;
use myonym_wire::limits::HELLO_MS;
use serde::Deserialize;
use tokio::sync::Semaphore;
use tokio::task;
use tokio::time::timeout;
use tracing::error;

use crate::commands::{Wanted, plan, report};
use crate::connection::Gate;
use crate::proxy::{Caller, Site};
use crate::reading::{self, Held};
use crate::store::{SqliteLog, StoreError};

/// A report is a page that is whole by itself: its style is written into it.
const REPORT_POLICY: HeaderValue = HeaderValue::from_static(
    "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'; \
     frame-ancestors 'none'",
);

/// Most rounds that a plan may have, as in `ReviewSettings`.
const MOST_ROUNDS: u16 = 500;

/// Most bytes of a form.
const FORM_BYTES: usize = 16 * 1024;

/// One at a time: each reads with several threads, and reviews that run come first.
static UNDER_WAY: Semaphore = Semaphore::const_new(1);

/// A form of the desk. A field that was left empty is as one left out.
#[derive(Default, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub(crate) struct Asked {
    key: String,
    section: String,
    list: String,
    from: String,
    to: String,
    rounds: String,
}

/// What is answered in place of what was asked for.
pub(crate) struct Refused(StatusCode, String);

impl IntoResponse for Refused {
    fn into_response(self) -> Response {
        let Self(status, why) = self;
        let policy = (header::CONTENT_SECURITY_POLICY, REPORT_POLICY);
        (status, [policy, private()], Html(pages::note(&why))).into_response()
    }
}

/// A form as it came: read in the time and to the size that a form needs.
async fn filled(request: Request) -> Result<Asked, Refused> {
    let unreadable = || {
        let why = "This form cannot be read. Open the desk anew and ask again.";
        Refused(StatusCode::BAD_REQUEST, why.to_owned())
    };
    let body = body::to_bytes(request.into_body(), FORM_BYTES);
    match timeout(Duration::from_millis(HELLO_MS), body).await {
        Ok(Ok(bytes)) => serde_urlencoded::from_bytes(&bytes).map_err(|_fault| unreadable()),
        Ok(Err(_fault)) => Err(unreadable()),
        Err(_elapsed) => {
            Err(Refused(StatusCode::REQUEST_TIMEOUT, "This took too long.".to_owned()))
        }
    }
}

/// The report as a page of its own.
pub(crate) async fn report(
    State(gate): State<Arc<Gate>>,
    Extension(caller): Extension<Caller>,
    Extension(site): Extension<Arc<Site>>,
    request: Request,
) -> Result<impl IntoResponse, Refused> {
    let asked = admit(&gate, &site, &caller, request).await?;
    let page = worked_out(move || report_page(gate.reviews.log(), &asked)).await?;
    Ok(([(header::CONTENT_SECURITY_POLICY, REPORT_POLICY), private()], Html(page)))
}

/// A plan of the next review, as a file of text.
pub(crate) async fn plan(
    State(gate): State<Arc<Gate>>,
    Extension(caller): Extension<Caller>,
    Extension(site): Extension<Arc<Site>>,
    request: Request,
) -> Result<impl IntoResponse, Refused> {
    let asked = admit(&gate, &site, &caller, request).await?;
    let text = worked_out(move || plan_text(gate.reviews.log(), &asked)).await?;
    Ok(([private()], text))
}

/// Not to be kept by anyone on the way.
fn private() -> (HeaderName, HeaderValue) {
    (header::CACHE_CONTROL, HeaderValue::from_static("no-store"))
}

/// Checks where the form comes from and its key. A wrong key counts as one over the socket does.
async fn admit(
    gate: &Gate,
    site: &Site,
    caller: &Caller,
    request: Request,
) -> Result<Asked, Refused> {
    let refuse = |status: StatusCode, why: &str| Err(Refused(status, why.to_owned()));
    let origin = request.headers().get(header::ORIGIN).map(HeaderValue::to_str);
    if origin.is_some_and(|origin| !origin.is_ok_and(|origin| site.is_own(origin, caller))) {
        return refuse(StatusCode::FORBIDDEN, "Pages of other servers may not ask here.");
    }
    let now = gate.reviews.clock().now();
    if gate.misses.must_wait(caller.address, now) {
        let why = "Too many wrong join words or keys came from here. Wait a few seconds.";
        return refuse(StatusCode::TOO_MANY_REQUESTS, why);
    }
    let asked = filled(request).await?;
    // What is no key at all is a wrong one.
    let key = asked.key.parse::<HostKey>().ok();
    if key.is_some_and(|key| gate.reviews.is_host_key(&key)) {
        return Ok(asked);
    }
    gate.misses.count(caller.address, now);
    refuse(StatusCode::FORBIDDEN, "That is not this server's key.")
}

/// Why something cannot be given: to be mended by who asked, or by nobody but the server.
enum Fault {
    Asked(anyhow::Error),
    Store(StoreError),
}

impl From<StoreError> for Fault {
    fn from(fault: StoreError) -> Self {
        Self::Store(fault)
    }
}

impl From<anyhow::Error> for Fault {
    fn from(fault: anyhow::Error) -> Self {
        match fault.downcast::<StoreError>() {
            Ok(store) => Self::Store(store),
            Err(asked) => Self::Asked(asked),
        }
    }
}

/// Works something out on a thread of its own: a term takes a second, and rooms do not wait for it.
async fn worked_out(
    work: impl FnOnce() -> Result<String, Fault> + Send + 'static,
) -> Result<String, Refused> {
    let see_log = |why: &str| {
        let why = format!("{why} The server's operations log says more.");
        Refused(StatusCode::INTERNAL_SERVER_ERROR, why)
    };
    // It is never closed.
    let _turn = UNDER_WAY.acquire().await;
    match task::spawn_blocking(work).await {
        Ok(Ok(text)) => Ok(text),
        Ok(Err(Fault::Asked(fault))) => {
            Err(Refused(StatusCode::UNPROCESSABLE_ENTITY, format!("{fault:#}.")))
        }
        Ok(Err(Fault::Store(fault))) => {
            error!(%fault, "the records cannot be read");
            Err(see_log("The records cannot be read."))
        }
        Err(fault) => {
            error!(%fault, "a report or plan broke off");
            Err(see_log("This broke off."))
        }
    }
}

/// The page that `myonym report --html` writes.
fn report_page(log: &SqliteLog, asked: &Asked) -> Result<String, Fault> {
    // A reader of its own, so that joining students do not wait for it.
    let log = log.another_reader()?;
    let sections = given(&asked.section);
    let wanted = wanted(asked, &sections)?;
    let (chosen, filter) = choose(&log, &wanted)?;
    Ok(pages::html(&report::analysis(&log, &chosen, None, filter)?))
}

/// The text that `myonym plan --file` writes.
fn plan_text(log: &SqliteLog, asked: &Asked) -> Result<String, Fault> {
    let log = log.another_reader()?;
    let sections = given(&asked.section);
    // The list is that of the next review, not of those to go by.
    let wanted = Wanted { list: None, ..wanted(asked, &sections)? };
    let (chosen, _filter) = choose(&log, &wanted)?;
    let list = plan::list(Some(asked.list.as_str()).filter(|list| !list.is_empty()), &chosen)?;
    let rounds = match asked.rounds.as_str() {
        "" => None,
        number => Some(rounds(number)?),
    };
    // Bundled lists alone: what comes over the network opens no file here.
    let catalogue = Catalogue::bundled();
    let Some(known) = catalogue.list(&ListKey::new(&list)) else {
        return Err(anyhow::anyhow!("no muscle list is called {list}").into());
    };
    let course = Course::new(catalogue, known).map_err(anyhow::Error::from)?;
    Ok(plan::proposal(&log, &chosen, &course, rounds, None)?.text(&list))
}

fn rounds(number: &str) -> anyhow::Result<u16> {
    let rounds = number.parse().ok().filter(|rounds| (1..=MOST_ROUNDS).contains(rounds));
    rounds.with_context(|| format!("{number} is not a number of rounds from 1 to {MOST_ROUNDS}"))
}

fn given(text: &str) -> Vec<String> {
    if text.is_empty() { Vec::new() } else { vec![text.to_owned()] }
}

fn wanted<'a>(asked: &'a Asked, sections: &'a [String]) -> anyhow::Result<Wanted<'a>> {
    Ok(Wanted {
        names: &[],
        sections,
        from: date(&asked.from)?,
        to: date(&asked.to)?,
        list: Some(asked.list.as_str()).filter(|list| !list.is_empty()),
        study_groups: false,
    })
}

fn date(text: &str) -> anyhow::Result<Option<Date>> {
    if text.is_empty() {
        return Ok(None);
    }
    text.parse().map(Some).with_context(|| format!("{text} is not a date such as 2026-09-01"))
}

/// The reviews meant, and in words what they were chosen by.
fn choose(log: &SqliteLog, wanted: &Wanted<'_>) -> Result<(Vec<Held>, Vec<String>), Fault> {
    let all = reading::held(log)?;
    let (chosen, filter) = wanted.choose_classes(&all)?;
    if all.is_empty() {
        let why = anyhow::anyhow!("No review has been held on this server yet");
        return Err(why.into());
    }
    Ok((chosen, filter))
}
