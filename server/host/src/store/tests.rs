//! One contract that every log keeps, and what is special to the one in `SQLite`.

use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use myonym_content::ListKey;
use myonym_engine::{Event, Logged, SCHEMA, Settings};
use myonym_wire::{EndWhy, Millis, Pace, ReviewId, ScoreRule, Seq, Spelling, StudentId};
use rusqlite::{Connection, params};
use tokio::time::{Instant, sleep};
use uuid::Uuid;

use super::memory::MemoryLog;
use super::{
    AppendError, Batch, Export, ExportKind, Gone, Line, Log, NewReview, SeatRow, SqliteLog,
    StoreError,
};
use crate::keeping;
use crate::pseudonyms::{PersonHash, Who};
use crate::secrets::{TokenHash, bits, student_id};

fn review(number: u128) -> ReviewId {
    ReviewId(Uuid::from_u128(number))
}

fn opened(id: ReviewId) -> Event {
    let settings = Settings {
        list: ListKey::new("shoulder"),
        list_name: "shoulder".to_owned(),
        limit_ms: 20_000,
        rule: ScoreRule::SpeedWeighted,
        spelling: Spelling::Tolerant,
        pace: Pace::Instructor,
        adaptive: false,
        section: None,
    };
    Event::Opened {
        schema: SCHEMA,
        review: id,
        settings,
        seed: 7,
        plan: Vec::new(),
        tasks: Vec::new(),
        beside: Vec::new(),
        why: Vec::new(),
    }
}

fn batch(id: ReviewId, after: u64, events: Vec<Event>) -> Batch {
    let events = (after + 1..)
        .zip(events)
        .map(|(seq, event)| Logged { seq: Seq(seq), at: Millis(seq * 10), event })
        .collect();
    let opens = (after == 0).then(|| NewReview {
        word: "radius-talus".parse().unwrap(),
        key: TokenHash::of("key"),
        opened: 1_000,
        own_list: None,
    });
    let (seats, names) = (Vec::new(), Vec::new());
    Batch { review: id, after: Seq(after), events, seats, names, opens }
}

fn add(log: &dyn Log, batch: Batch) -> Result<Seq, AppendError> {
    let runtime = tokio::runtime::Builder::new_current_thread().build().unwrap();
    runtime.block_on(log.append(batch).done())
}

fn seated(student: StudentId) -> Event {
    Event::Seated { student, listed: true }
}

fn contract(log: &dyn Log) {
    let (one, two) = (review(1), review(2));
    let student = student_id(bits());
    assert_eq!(add(log, batch(one, 0, vec![opened(one)])), Ok(Seq(1)));
    let row = SeatRow {
        student,
        token: TokenHash::of("seat"),
        name: "Iris".to_owned(),
        person: Some(PersonHash([3; 32])),
        group: Some("Bench 3".to_owned()),
    };
    let mut seats = batch(one, 1, vec![seated(student), Event::Back { student }]);
    seats.seats.push(row.clone());
    assert_eq!(add(log, seats), Ok(Seq(3)));
    // A writer that is behind, or ahead, is told so and nothing of its batch is kept.
    for after in [0, 1, 2, 4] {
        let late = batch(one, after, vec![Event::Paused {}]);
        let conflict = AppendError::Conflict { review: one, expected: after, found: 3 };
        assert_eq!(add(log, late), Err(conflict));
    }
    // Reviews do not touch each other.
    assert_eq!(add(log, batch(two, 0, vec![opened(two)])), Ok(Seq(1)));
    let events = log.read(one, Seq(0)).unwrap();
    assert_eq!(events.iter().map(|logged| logged.seq.0).collect::<Vec<_>>(), [1, 2, 3]);
    assert_eq!(events[1].event, seated(student));
    assert_eq!(log.read(one, Seq(2)).unwrap(), events[2..]);
    assert_eq!(log.read(review(3), Seq(0)).unwrap(), []);
    assert_eq!(log.seats(one).unwrap(), std::slice::from_ref(&row));
    assert_eq!(log.seats(two).unwrap(), []);
    // Another name changes that seat's name and nothing else; of a batch in conflict it is not kept.
    let mut renamed = batch(one, 3, vec![Event::Renamed { student }]);
    renamed.names.push((student, "Ida".to_owned()));
    assert_eq!(add(log, renamed), Ok(Seq(4)));
    let mut late = batch(one, 3, vec![Event::Renamed { student }]);
    late.names.push((student, "Eve".to_owned()));
    assert!(add(log, late).is_err());
    assert_eq!(log.seats(one).unwrap(), [SeatRow { name: "Ida".to_owned(), ..row }]);
}

#[test]
fn the_log_in_memory_keeps_the_contract() {
    contract(&MemoryLog::default());
}

#[test]
fn the_log_in_sqlite_keeps_the_contract_and_what_it_took() {
    let folder = tempfile::tempdir().unwrap();
    let log = SqliteLog::open(folder.path()).unwrap();
    contract(&log);
    let before = log.read(review(1), Seq(0)).unwrap();
    drop(log);
    let log = SqliteLog::open(folder.path()).unwrap();
    assert_eq!(log.read(review(1), Seq(0)).unwrap(), before);
    assert_eq!(add(&log, batch(review(1), 4, vec![Event::Paused {}])), Ok(Seq(5)));
    let headers = log.reviews().unwrap();
    assert_eq!(headers.iter().map(|header| header.ended).collect::<Vec<_>>(), [false, false]);
    let ended = Event::Ended { why: EndWhy::Finished };
    assert_eq!(add(&log, batch(review(1), 5, vec![ended])), Ok(Seq(6)));
    let headers = log.reviews().unwrap();
    assert!(headers.iter().any(|header| header.review == review(1) && header.ended));
}

#[test]
fn a_second_writer_is_refused_and_a_reader_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let log = SqliteLog::open(folder.path()).unwrap();
    assert!(matches!(SqliteLog::open(folder.path()), Err(StoreError::InUse(_))));
    contract(&log);
    let reader = SqliteLog::open_to_read(folder.path()).unwrap();
    assert_eq!(reader.read(review(1), Seq(0)).unwrap().len(), 4);
    assert_eq!(add(&reader, batch(review(1), 4, Vec::new())), Err(AppendError::Closed));
}

#[test]
fn a_changed_or_missing_row_is_found() {
    let damage = |sql: &str, want: u64| {
        let folder = tempfile::tempdir().unwrap();
        let log = SqliteLog::open(folder.path()).unwrap();
        contract(&log);
        drop(log);
        let file = Connection::open(folder.path().join("myonym.sqlite")).unwrap();
        assert_eq!(file.execute(sql, []).unwrap(), 1);
        let log = SqliteLog::open(folder.path()).unwrap();
        let read = log.read(review(1), Seq(0)).map(|_events| ());
        let walked = log.another_reader().unwrap().walk(review(1), |_line| Ok(()));
        for found in [read, walked] {
            match found {
                Err(StoreError::Damaged { seq, .. }) => assert_eq!(seq, want, "{sql}"),
                other => panic!("{sql}: {other:?}"),
            }
        }
    };
    let one = "review = x'00000000000000000000000000000001'";
    damage(
        &format!("UPDATE event SET body = replace(body, 'true', 'false') WHERE {one} AND seq = 2"),
        2,
    );
    damage(&format!("DELETE FROM event WHERE {one} AND seq = 2"), 2);
}

#[test]
fn what_a_host_writes_meanwhile_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let log = SqliteLog::open(folder.path()).unwrap();
    contract(&log);
    let reader = SqliteLog::open_to_read(folder.path()).unwrap().another_reader().unwrap();
    let seen = || {
        let mut kinds = Vec::new();
        let walked = reader.walk(review(1), |line| {
            kinds.push(line.kind().map_err(|fault| fault.to_string())?.into_owned());
            Ok(())
        });
        walked.unwrap();
        kinds
    };
    let before = seen();
    add(&log, batch(review(1), 4, vec![seated(StudentId(Uuid::from_u128(77)))])).unwrap();
    // The last to leave brings the write-ahead log into the file.
    drop(log);
    let other = Connection::open(folder.path().join("myonym.sqlite")).unwrap();
    other.execute_batch("PRAGMA wal_checkpoint(TRUNCATE); VACUUM;").unwrap();
    assert_eq!(seen(), [before, vec!["seated".to_owned()]].concat());
}

#[test]
fn the_kind_of_an_event_is_found_wherever_it_stands() {
    let kind = |body| Line { body }.kind().map(std::borrow::Cow::into_owned).ok();
    assert_eq!(kind(r#"{"kind":"paused"}"#).as_deref(), Some("paused"));
    assert_eq!(kind(r#"{"round":1, "kind" : "revealed"}"#).as_deref(), Some("revealed"));
    assert_eq!(kind(r#"{"kind":"p\u0061used"}"#).as_deref(), Some("paused"));
    assert_eq!(kind(r#"{"round":1}"#), None);
}

#[test]
fn a_newer_file_is_left_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    drop(SqliteLog::open(folder.path()).unwrap());
    let path = folder.path().join("myonym.sqlite");
    Connection::open(&path).unwrap().execute_batch("PRAGMA user_version = 99").unwrap();
    let newer = |found| matches!(found, Err(StoreError::Newer { found: 99, .. }));
    assert!(newer(SqliteLog::open(folder.path())));
    assert!(newer(SqliteLog::open_to_read(folder.path())));
}

/// The tables as form 1 had them, written down here so that no later change can alter them.
const FORM_1: &str = "
CREATE TABLE review (id BLOB PRIMARY KEY, word TEXT NOT NULL, key_hash BLOB NOT NULL,
    opened_s INTEGER NOT NULL, touched_s INTEGER NOT NULL, ended INTEGER NOT NULL DEFAULT 0)
    STRICT, WITHOUT ROWID;
CREATE TABLE seat (review BLOB NOT NULL REFERENCES review (id), student BLOB NOT NULL,
    token_hash BLOB NOT NULL, name TEXT NOT NULL, PRIMARY KEY (review, student))
    STRICT, WITHOUT ROWID;
CREATE TABLE event (review BLOB NOT NULL REFERENCES review (id), seq INTEGER NOT NULL,
    at_ms INTEGER NOT NULL, kind TEXT NOT NULL, body TEXT NOT NULL, chain BLOB NOT NULL,
    PRIMARY KEY (review, seq)) STRICT, WITHOUT ROWID;
CREATE TABLE host (key_hash BLOB NOT NULL) STRICT;
INSERT INTO review (id, word, key_hash, opened_s, touched_s)
    VALUES (zeroblob(16), 'radius-talus', zeroblob(32), 7, 8);
PRAGMA user_version = 1;";

/// What form 2 added to it.
const FORM_2: &str = "
ALTER TABLE review ADD COLUMN own_list TEXT;
UPDATE review SET own_list = 'deltoid';
INSERT INTO seat VALUES (zeroblob(16), zeroblob(16), zeroblob(32), 'Iris');
PRAGMA user_version = 2;";

#[test]
fn a_file_of_form_2_keeps_its_seats_and_gets_a_key_of_its_own() {
    let key = || {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("myonym.sqlite");
        Connection::open(&path).unwrap().execute_batch(&format!("{FORM_1}{FORM_2}")).unwrap();
        let log = SqliteLog::open(folder.path()).unwrap();
        let seats = log.seats(review(0)).unwrap();
        assert_eq!(seats.len(), 1);
        assert_eq!(
            (seats[0].name.as_str(), seats[0].person, &seats[0].group),
            ("Iris", None, &None)
        );
        assert_eq!(log.reviews().unwrap()[0].own_list.as_deref(), Some("deltoid"));
        assert_eq!((log.keep().unwrap(), log.exports().unwrap()), (None, Vec::new()));
        contract(&log);
        let who = Who::Student(StudentId(Uuid::from_u128(0)));
        let before = log.pseudonyms().unwrap().pseudonym(who);
        drop(log);
        // It stays when the file is opened again.
        let log = SqliteLog::open(folder.path()).unwrap();
        assert_eq!(log.pseudonyms().unwrap().pseudonym(who), before);
        before
    };
    assert_ne!(key(), key());
}

#[test]
fn what_the_folder_keeps_of_itself() {
    let folder = tempfile::tempdir().unwrap();
    let log = SqliteLog::open(folder.path()).unwrap();
    let (page, table) = (Path::new("/made/page.html"), Path::new("/made/answers.parquet"));
    log.remember_export(page, ExportKind::Html, &[review(1)]).unwrap();
    log.remember_export(table, ExportKind::Parquet, &[review(2), review(1), review(1)]).unwrap();
    log.remember_export(page, ExportKind::Html, &[review(2)]).unwrap();
    let told = |export: &Export| (export.path.clone(), export.kind, export.reviews.clone());
    let found: Vec<_> = log.exports().unwrap().iter().map(told).collect();
    let want = [
        (table.to_owned(), Some(ExportKind::Parquet), vec![review(1), review(2)]),
        (page.to_owned(), Some(ExportKind::Html), vec![review(2)]),
    ];
    assert_eq!(found, want);
    // Another key makes other pseudonyms.
    let pseudonym = || log.pseudonyms().unwrap().pseudonym(Who::Person(PersonHash([3; 32])));
    let before = pseudonym();
    log.change_pseudonyms().unwrap();
    assert_ne!(pseudonym(), before);
    log.drop_export(log.exports().unwrap()[0].id).unwrap();
    assert_eq!(log.exports().unwrap().len(), 1);
    log.set_keep(Some(7)).unwrap();
    assert_eq!(log.keep().unwrap(), Some(7));
    log.set_keep(None).unwrap();
    assert_eq!(log.keep().unwrap(), None);
}

#[test]
fn an_older_file_is_brought_up_to_date_by_a_host_and_by_nobody_else() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("myonym.sqlite");
    Connection::open(&path).unwrap().execute_batch(FORM_1).unwrap();
    let older = SqliteLog::open_to_read(folder.path());
    assert!(matches!(older, Err(StoreError::Older { found: 1, .. })), "{older:?}");
    let log = SqliteLog::open(folder.path()).unwrap();
    let headers = log.reviews().unwrap();
    assert_eq!((headers.len(), headers[0].opened, &headers[0].own_list), (1, 7, &None));
    contract(&log);
    assert_eq!(SqliteLog::open_to_read(folder.path()).unwrap().reviews().unwrap().len(), 3);
}

#[test]
fn no_file_is_no_review() {
    let folder = tempfile::tempdir().unwrap();
    assert!(matches!(SqliteLog::open_to_read(folder.path()), Err(StoreError::Missing(_))));
}

#[cfg(unix)]
#[test]
fn nobody_else_may_read_the_data() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let inner = folder.path().join("data");
    drop(SqliteLog::open(&inner).unwrap());
    let mode = |path: &Path| path.metadata().unwrap().permissions().mode() & 0o777;
    assert_eq!(mode(&inner), 0o700);
    assert_eq!(mode(&inner.join("myonym.sqlite")), 0o600);
}

/// A review with two students, of whom the first has left.
fn with_answers(log: &SqliteLog, id: ReviewId) -> [StudentId; 2] {
    let students = [student_id(bits()), student_id(bits())];
    let mut events = vec![opened(id)];
    events.extend(students.map(seated));
    events.push(Event::Away { student: students[0], left: true });
    let mut all = batch(id, 0, events);
    all.seats = (students.iter().zip(["Iris", "Nils"]))
        .map(|(student, name)| SeatRow {
            student: *student,
            token: TokenHash::of(name),
            name: name.to_owned(),
            person: None,
            group: None,
        })
        .collect();
    assert_eq!(add(log, all), Ok(Seq(4)));
    students
}

#[test]
fn a_student_is_taken_out_and_the_chain_holds_again() {
    let folder = tempfile::tempdir().unwrap();
    let log = SqliteLog::open(folder.path()).unwrap();
    let [iris, nils] = with_answers(&log, review(1));
    with_answers(&log, review(2));
    let other = log.read(review(2), Seq(0)).unwrap();
    drop(log);
    let log = SqliteLog::open(folder.path()).unwrap();
    let who = [iris].into();
    let there = Gone { reviews: 0, seats: 1, answers: 0 };
    assert_eq!(log.count_students(review(1), &who).unwrap(), there);
    assert_eq!(log.remove_students(review(1), &who).unwrap(), there);
    let kinds: Vec<bool> = (log.read(review(1), Seq(0)).unwrap().iter())
        .map(|logged| logged.event == Event::Forgotten {})
        .collect();
    assert_eq!(kinds, [false, true, false, true]);
    assert_eq!(log.seats(review(1)).unwrap()[0].student, nils);
    assert_eq!(log.read(review(2), Seq(0)).unwrap(), other);
    // The review goes on from its new chain.
    assert_eq!(add(&log, batch(review(1), 4, vec![Event::Paused {}])), Ok(Seq(5)));
    assert_eq!(log.read(review(1), Seq(0)).unwrap().len(), 5);
    assert!(log.build_anew().unwrap());
    assert_eq!(log.remove_students(review(1), &who).unwrap(), Gone::default());
}

#[test]
fn reviews_go_when_they_were_kept_long_enough_and_nobody_is_in_them() {
    let folder = tempfile::tempdir().unwrap();
    let log = SqliteLog::open(folder.path()).unwrap();
    for number in [1, 2] {
        with_answers(&log, review(number));
    }
    let now = log.reviews().unwrap()[0].touched;
    let open = [review(2)].into();
    assert_eq!(keeping::apply(&log, &open, i64::MAX).unwrap(), Gone::default());
    log.set_keep(Some(10)).unwrap();
    assert_eq!(keeping::apply(&log, &open, now + 10).unwrap(), Gone::default());
    let one = Gone { reviews: 1, seats: 2, answers: 0 };
    assert_eq!(keeping::apply(&log, &open, now + 11).unwrap(), one);
    let left: Vec<ReviewId> = log.reviews().unwrap().iter().map(|header| header.review).collect();
    assert_eq!(left, [review(2)]);
    assert_eq!(log.seats(review(1)).unwrap(), []);
    assert_eq!(log.read(review(1), Seq(0)).unwrap(), []);
}

/// The runtime's clock stands still and goes on to the next timer only when all else waits, the look
/// through the log among it. Of what is kept for ten days one review is half a day from going, one a
/// day and a half, and of one the room is open.
#[test]
fn reviews_are_looked_through_once_a_day_and_again_the_next() {
    const NOW: i64 = 2_000_000_000;
    let folder = tempfile::tempdir().unwrap();
    let log = Arc::new(SqliteLog::open(folder.path()).unwrap());
    log.set_keep(Some(10 * keeping::DAY_S)).unwrap();
    let file = Connection::open(folder.path().join("myonym.sqlite")).unwrap();
    for (number, half_days) in [(1, 19), (2, 17), (3, 40)] {
        with_answers(&log, review(number));
        let touched = NOW - half_days * keeping::DAY_S / 2;
        let of = review(number).0.as_bytes().to_vec();
        file.execute("UPDATE review SET touched_s = ?1 WHERE id = ?2", params![touched, of])
            .unwrap();
    }
    let left = || -> Vec<ReviewId> {
        let mut left: Vec<ReviewId> =
            log.reviews().unwrap().iter().map(|header| header.review).collect();
        left.sort();
        left
    };
    let mut runtime = tokio::runtime::Builder::new_current_thread();
    let runtime = runtime.enable_time().start_paused(true).build().unwrap();
    runtime.block_on(async {
        let started = Instant::now();
        let wall = move || NOW + i64::try_from(started.elapsed().as_secs()).unwrap();
        let daily = tokio::spawn(keeping::daily(log.clone(), || [review(3)].into(), wall));
        let hours = |count| sleep(Duration::from_hours(count));
        hours(23).await;
        assert_eq!(left(), [review(1), review(2), review(3)]);
        hours(2).await;
        assert_eq!(left(), [review(2), review(3)]);
        hours(22).await;
        assert_eq!(left(), [review(2), review(3)]);
        hours(2).await;
        assert_eq!(left(), [review(3)]);
        daily.abort();
    });
}

/// That a review was given up is noticed at a later start; its time runs from its last event.
#[test]
fn a_review_that_is_given_up_ended_when_it_was_last_touched() {
    let folder = tempfile::tempdir().unwrap();
    let log = SqliteLog::open(folder.path()).unwrap();
    with_answers(&log, review(1));
    let file = Connection::open(folder.path().join("myonym.sqlite")).unwrap();
    file.execute("UPDATE review SET touched_s = 5", []).unwrap();
    let given_up = Event::Ended { why: EndWhy::Abandoned };
    assert_eq!(add(&log, batch(review(1), 4, vec![given_up])), Ok(Seq(5)));
    let header = &log.reviews().unwrap()[0];
    assert_eq!((header.ended, header.touched), (true, 5));
}

/// The columns of every table, in order, each with its type and whether it may be empty.
fn columns(file: &Connection) -> Vec<(String, String, String, bool, bool)> {
    let mut query = file
        .prepare(
            "SELECT t.name, c.name, c.type, c.\"notnull\", c.pk > 0 FROM pragma_table_list t \
             JOIN pragma_table_info(t.name) c WHERE t.name NOT LIKE 'sqlite_%' \
             ORDER BY t.name, c.cid",
        )
        .unwrap();
    let row = |row: &rusqlite::Row<'_>| {
        Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?))
    };
    query.query_map([], row).unwrap().collect::<Result<_, _>>().unwrap()
}

/// The files of before, as programs of their time wrote them.
const FORMS: [&str; 3] = [
    include_str!("../../../../tests/reference/data-files/form-1.sql"),
    include_str!("../../../../tests/reference/data-files/form-2.sql"),
    include_str!("../../../../tests/reference/data-files/form-3.sql"),
];

/// Tables cannot change unless the form of the file goes up, and then a file of the new form is kept
/// for ever: the latest that is kept has the very tables of today.
#[test]
fn tables_do_not_change_without_a_new_form() {
    let (kept, fresh) = (Connection::open_in_memory().unwrap(), tempfile::tempdir().unwrap());
    kept.execute_batch(FORMS.last().unwrap()).unwrap();
    drop(SqliteLog::open(fresh.path()).unwrap());
    let fresh = Connection::open(fresh.path().join("myonym.sqlite")).unwrap();
    let tables = |file: &Connection| {
        let mut query = file
            .prepare("SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY name")
            .unwrap();
        let told = query.query_map([], |row| row.get::<_, String>(0)).unwrap();
        let squeezed = |sql: String| sql.split_whitespace().collect::<Vec<_>>().join(" ");
        told.map(|sql| squeezed(sql.unwrap())).collect::<Vec<_>>()
    };
    assert_eq!(tables(&fresh), tables(&kept));
    assert_eq!(usize::try_from(super::FORM).unwrap(), FORMS.len());
    for (form, dump) in (1..).zip(FORMS) {
        let file = Connection::open_in_memory().unwrap();
        file.execute_batch(dump).unwrap();
        let found: i64 = file.query_row("PRAGMA user_version", [], |row| row.get(0)).unwrap();
        assert_eq!(found, form);
    }
}

/// A file that was brought up to date has the columns of one that is new.
#[test]
fn steps_lead_from_every_form_to_the_tables_of_today() {
    let fresh = tempfile::tempdir().unwrap();
    drop(SqliteLog::open(fresh.path()).unwrap());
    let fresh = columns(&Connection::open(fresh.path().join("myonym.sqlite")).unwrap());
    for (form, dump) in (1..).zip(FORMS) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("myonym.sqlite");
        Connection::open(&path).unwrap().execute_batch(dump).unwrap();
        drop(SqliteLog::open(folder.path()).unwrap());
        assert_eq!(columns(&Connection::open(&path).unwrap()), fresh, "from form {form}");
    }
}
