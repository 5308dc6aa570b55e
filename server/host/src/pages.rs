//! What browsers load: pages, styles, scripts, the muscle lists to choose from, and QR codes.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Path, Query, Request};
use axum::http::{HeaderMap, HeaderName, HeaderValue, StatusCode, header};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use myonym_content::Catalogue;
use myonym_pages::{Page, Sent};
use myonym_wire::JoinLink;
use qrcode::render::svg::Color;
use qrcode::{EcLevel, QrCode};
use serde::{Deserialize, Serialize};

use crate::connection::Gate;
use crate::desk;

/// What a page may load and do: what comes from here, and nothing written into it. By CSP level 3
/// sockets of the same host come from here too.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; \
     connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";
/// Asked for again each time, and answered shortly if nothing changed.
const ASK: HeaderValue = HeaderValue::from_static("no-cache");
/// The path changes with the content.
const KEEP: HeaderValue = HeaderValue::from_static("public, max-age=31536000, immutable");

/// Everything that a browser may ask for.
pub(crate) fn routes() -> Router<Arc<Gate>> {
    Router::new()
        .route("/", get(async |headers: HeaderMap| page(Page::Student, &headers)))
        .route("/board", get(async |headers: HeaderMap| page(Page::Board, &headers)))
        .route("/desk", get(async |headers: HeaderMap| page(Page::Desk, &headers)))
        .route("/assets/{hash}/{*path}", get(asset))
        .route("/lists.json", get(async || lists()))
        .route("/qr.svg", get(qr))
        .route("/desk/report", post(desk::report))
        .route("/desk/plan", post(desk::plan))
        .layer(middleware::from_fn(guarded))
}

/// Adds to every answer what keeps other sites away from it.
async fn guarded(request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    headers.entry(header::CONTENT_SECURITY_POLICY).or_insert(HeaderValue::from_static(POLICY));
    for (name, value) in [
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        // Forms of our own pages tell where they come from (Fetch, "append a request Origin
        // header"); other sites are told nothing.
        (header::REFERRER_POLICY, "same-origin"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    response
}

fn page(page: Page, headers: &HeaderMap) -> Response {
    myonym_pages::page(page)
        .map_or_else(|| StatusCode::NOT_FOUND.into_response(), |sent| send(sent, headers, ASK))
}

async fn asset(Path((hash, path)): Path<(String, String)>, headers: HeaderMap) -> Response {
    match myonym_pages::asset(&path).filter(|_| hash == myonym_pages::set_hash()) {
        Some(sent) => send(sent, &headers, KEEP),
        // Of another version of the program: the page that named it is an old one.
        None => (StatusCode::NOT_FOUND, "no such file; load the page anew\n").into_response(),
    }
}

fn send(sent: &'static Sent, asked: &HeaderMap, keep: HeaderValue) -> Response {
    // Weak: the same for what is compressed and what is not (RFC 9110 section 8.8.3).
    let tag = format!("W/\"{}\"", myonym_pages::set_hash());
    let mut headers = HeaderMap::new();
    headers.insert(header::CACHE_CONTROL, keep);
    headers.insert(header::VARY, HeaderValue::from_static("accept-encoding"));
    headers.extend(HeaderValue::try_from(&tag).map(|tag| (header::ETAG, tag)));
    if names(asked, &header::IF_NONE_MATCH, &tag) {
        return (StatusCode::NOT_MODIFIED, headers).into_response();
    }
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static(sent.media));
    if names(asked, &header::ACCEPT_ENCODING, "gzip") {
        headers.insert(header::CONTENT_ENCODING, HeaderValue::from_static("gzip"));
        return (headers, sent.gzip.as_slice()).into_response();
    }
    (headers, sent.plain.as_slice()).into_response()
}

/// Whether a list in a header names something, and not with a quality of nought (RFC
/// 9110 sections 12.5.3 and 13.1.2).
fn names(headers: &HeaderMap, name: &HeaderName, want: &str) -> bool {
    let lists = headers.get_all(name).iter().filter_map(|list| list.to_str().ok());
    lists.flat_map(|list| list.split(',')).any(|entry| {
        let (value, weight) = entry.split_once(';').unwrap_or((entry, ""));
        let weight = weight.trim().strip_prefix("q=").and_then(|q| q.parse::<f64>().ok());
        value.trim().eq_ignore_ascii_case(want) && weight.is_none_or(|weight| weight > 0.0)
    })
}

/// A muscle list to choose.
#[derive(Serialize)]
struct ListRow {
    key: &'static str,
    name: &'static str,
    muscles: usize,
}

fn lists() -> impl IntoResponse {
    let rows = Catalogue::bundled().lists().map(|list| ListRow {
        key: list.key.as_str(),
        name: &list.name,
        muscles: list.muscles.len(),
    });
    // Text and numbers alone cannot fail to be written.
    let text = serde_json::to_string(&rows.collect::<Vec<_>>()).unwrap_or_default();
    let media = (header::CONTENT_TYPE, HeaderValue::from_static("application/json"));
    ([media, (header::CACHE_CONTROL, ASK)], text)
}

/// What a code is asked for.
#[derive(Deserialize)]
struct Code {
    link: String,
}

/// A link to join as a QR code (ISO/IEC 18004), dark on white with its quiet zone. Nothing but such
/// links, so that no other text can be made to look like ours.
async fn qr(Query(Code { link }): Query<Code>) -> Response {
    let no_link = || (StatusCode::BAD_REQUEST, "that is no link to join with\n").into_response();
    let Ok(link) = link.parse::<JoinLink>() else { return no_link() };
    let Ok(code) = QrCode::with_error_correction_level(link.to_string(), EcLevel::M) else {
        return no_link();
    };
    let picture = code
        .render()
        .dark_color(Color("#000"))
        .light_color(Color("#fff"))
        .min_dimensions(240, 240)
        .build();
    let media = (header::CONTENT_TYPE, HeaderValue::from_static("image/svg+xml"));
    ([media, (header::CACHE_CONTROL, ASK)], picture).into_response()
}
