//! The counts as text: the exposition format 0.0.4 of Prometheus
//! (<https://prometheus.io/docs/instrumenting/exposition_formats/>), with its rules for names and
//! units (<https://prometheus.io/docs/practices/naming/>).

use std::fmt::{Display, Write as _};

use super::held::{Role, RoomKind, RoomPhase};
use super::{COUNTS, Control, Count, Durations, Limit, Miss, STEPS, Way, process, term};

/// The content type of the format.
pub(crate) const CONTENT_TYPE: &str = "text/plain; version=0.0.4; charset=utf-8";

/// What waits at the moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Waiting {
    /// Posts for rooms.
    pub(crate) posts: usize,
    /// Batches for the disk, besides those that it is at.
    pub(crate) batches: usize,
}

/// All counts as they are now.
pub(crate) fn page(waiting: Waiting) -> String {
    let mut page = Page::default();
    people(&mut page, waiting);
    door(&mut page);
    talk(&mut page);
    disk(&mut page);
    program(&mut page);
    page.0
}

fn people(page: &mut Page, waiting: Waiting) {
    page.family("myonym_rooms", "gauge", "Rooms, by who moves their review on and by its phase.");
    for (kind, phases) in RoomKind::ALL.iter().zip(&COUNTS.rooms) {
        for (phase, count) in phases.rows() {
            let labels = [("kind", kind.as_str()), ("phase", RoomPhase::as_str(phase))];
            page.row("myonym_rooms", &labels, count);
        }
    }
    page.gauge("myonym_students_seated", "Seats in all rooms.", COUNTS.seated.get());
    page.gauge("myonym_students_present", "Seats that are connected.", COUNTS.present.get());
    let help = "Connections in a room, by role.";
    page.each("myonym_room_connections", "gauge", help, "role", roles());
    page.gauge("myonym_connections", "TCP connections open, of all kinds.", COUNTS.open.get());
    page.gauge("myonym_posts_waiting", "Posts that wait for rooms.", waiting.posts);
    page.gauge(
        "myonym_batches_waiting",
        "Batches of events that wait to be saved.",
        waiting.batches,
    );
}

fn roles() -> impl Iterator<Item = (&'static str, u64)> {
    COUNTS.connected.rows().map(|(role, count)| (Role::as_str(role), count))
}

fn door(page: &mut Page) {
    page.total("myonym_connections_accepted_total", "TCP connections taken.", &COUNTS.accepted);
    let statuses = COUNTS.handshakes_refused.rows();
    let help = "WebSocket handshakes refused, by HTTP status.";
    page.each("myonym_handshakes_refused_total", "counter", help, "status", statuses);
    page.total("myonym_tls_failures_total", "TLS handshakes that failed.", &COUNTS.tls_failed);
    let help = "Connections in the clear where TLS is spoken.";
    page.total("myonym_tls_in_the_clear_total", help, &COUNTS.in_the_clear);
    let help = "Looks at the files of the certificate.";
    page.total("myonym_certificate_reads_total", help, &COUNTS.certificate_reads);
    let misses = COUNTS.misses.rows().map(|(miss, count)| (Miss::as_str(miss), count));
    let help = "Wrong join words and keys.";
    page.each("myonym_misses_total", "counter", help, "kind", misses);
    let limits = COUNTS.limits.rows().map(|(limit, count)| (Limit::as_str(limit), count));
    let help = "Limits reached, by which.";
    page.each("myonym_limits_reached_total", "counter", help, "limit", limits);
}

fn talk(page: &mut Page) {
    let ways = |rows: Vec<(Way, u64)>| rows.into_iter().map(|(way, n)| (way.as_str(), n));
    let messages = ways(COUNTS.messages.rows().collect());
    page.each("myonym_messages_total", "counter", "Messages.", "way", messages);
    let bytes = ways(COUNTS.bytes.rows().collect());
    let help = "Bytes of the texts of messages, before compression, framing and TLS.";
    page.each("myonym_message_bytes_total", "counter", help, "way", bytes);
    let control = COUNTS.control.rows().map(|(kind, count)| (Control::as_str(kind), count));
    let help = "Pings and pongs, but for those that answer a client's ping.";
    page.each("myonym_control_frames_total", "counter", help, "kind", control);
    let help = "Messages that could not be read as one of the protocol.";
    page.total("myonym_faulty_messages_total", help, &COUNTS.faulty);
    let refused = COUNTS.refused.rows().map(|(code, count)| (term(&code), count));
    let help = "Refusals told, by the code of the error message.";
    page.each("myonym_refusals_total", "counter", help, "code", refused);
    let help = "WebSocket connections closed by the host, by close code.";
    page.each("myonym_closes_total", "counter", help, "code", COUNTS.closed.rows());
    let help = "WebSocket connections that the other side ended.";
    page.total("myonym_departures_total", help, &COUNTS.left);
    let help = "Seats taken over from another connection.";
    page.total("myonym_seats_taken_over_total", help, &COUNTS.taken_over);
    page.total("myonym_answers_received_total", "Answers taken.", &COUNTS.received);
}

fn disk(page: &mut Page) {
    page.total("myonym_answers_recorded_total", "Answers on disk.", &COUNTS.recorded);
    page.total("myonym_events_recorded_total", "Events on disk.", &COUNTS.events);
    let help = "How long commits took that succeeded.";
    page.histogram("myonym_commit_seconds", help, &COUNTS.commits);
    let help = "How long their first batch had waited for more.";
    page.histogram("myonym_gathering_seconds", help, &COUNTS.gathered);
    page.total("myonym_commit_failures_total", "Commits that failed.", &COUNTS.commits_failed);
    page.total("myonym_reviews_opened_total", "Reviews opened.", &COUNTS.opened);
    let ended = COUNTS.ended.rows().map(|(why, count)| (term(&why), count));
    let help = "Reviews that ended, by why.";
    page.each("myonym_reviews_ended_total", "counter", help, "why", ended);
    let help = "Reviews taken up where a stop of the host had broken them off.";
    page.total("myonym_reviews_taken_up_total", help, &COUNTS.taken_up);
    let help = "Times that a room went back to what is on disk, as it could not save.";
    page.total("myonym_rooms_fallen_back_total", help, &COUNTS.fallen_back);
    let help = "Times that a room could save again after that.";
    page.total("myonym_rooms_recovered_total", help, &COUNTS.recovered);
    let help = "Rooms that a fault in the program closed.";
    page.total("myonym_rooms_broken_total", help, &COUNTS.broken);
}

/// Under the names that programs in any language have for them.
fn program(page: &mut Page) {
    let help = "Start of the program, in seconds since 1970.";
    page.gauge("process_start_time_seconds", help, process::started());
    if let Some(bytes) = process::resident_bytes() {
        page.gauge("process_resident_memory_bytes", "Memory that is resident.", bytes);
    }
    if let Some(count) = process::open_descriptors() {
        page.gauge("process_open_fds", "Descriptors open.", count);
    }
    if let Some(count) = process::most_descriptors() {
        page.gauge("process_max_fds", "Descriptors that may be open.", count);
    }
    let version = [("version", env!("CARGO_PKG_VERSION"))];
    page.family("myonym_build_info", "gauge", "Version of the program; always 1.");
    page.row("myonym_build_info", &version, 1);
}

/// Text that is being written. Names, help and labels are all our own and hold nothing that the
/// format would have escaped; a test sees to that.
#[derive(Debug, Default)]
struct Page(String);

impl Page {
    fn family(&mut self, name: &str, kind: &str, help: &str) {
        // Writing to a string cannot fail.
        let _ = writeln!(self.0, "# HELP {name} {help}\n# TYPE {name} {kind}");
    }

    fn row(&mut self, name: &str, labels: &[(&str, &str)], value: impl Display) {
        let labels: Vec<_> = labels.iter().map(|(key, of)| format!("{key}=\"{of}\"")).collect();
        let braces =
            if labels.is_empty() { String::new() } else { format!("{{{}}}", labels.join(",")) };
        let _ = writeln!(self.0, "{name}{braces} {value}");
    }

    fn gauge(&mut self, name: &str, help: &str, value: impl Display) {
        self.family(name, "gauge", help);
        self.row(name, &[], value);
    }

    fn total(&mut self, name: &str, help: &str, count: &Count) {
        self.family(name, "counter", help);
        self.row(name, &[], count.get());
    }

    fn each<K: Display>(
        &mut self,
        name: &str,
        kind: &str,
        help: &str,
        label: &str,
        rows: impl Iterator<Item = (K, u64)>,
    ) {
        self.family(name, kind, help);
        for (of, count) in rows {
            self.row(name, &[(label, &of.to_string())], count);
        }
    }

    /// Each step counts all that were as short; the sum is in seconds.
    fn histogram(&mut self, name: &str, help: &str, durations: &Durations) {
        self.family(name, "histogram", help);
        let bucket = format!("{name}_bucket");
        let mut sum = 0;
        for (end, count) in STEPS.iter().zip(&durations.counts) {
            sum += count.get();
            self.row(&bucket, &[("le", &seconds(*end))], sum);
        }
        sum += durations.longer.get();
        self.row(&bucket, &[("le", "+Inf")], sum);
        self.row(&format!("{name}_sum"), &[], seconds(durations.micros.get()));
        self.row(&format!("{name}_count"), &[], sum);
    }
}

/// Microseconds as seconds, to the last digit.
fn seconds(micros: u64) -> String {
    format!("{}.{:06}", micros / 1_000_000, micros % 1_000_000)
}
