//! The tables of the data file.

/// The number of this form of the file, kept in `SQLite`'s `user_version`.
pub(crate) const VERSION: i64 = 3;

/// What brings a file from each earlier form to the next; the first leads from form 1 to form 2.
pub(super) const STEPS: [&str; 2] = [
    "ALTER TABLE review ADD COLUMN own_list TEXT;",
    "ALTER TABLE seat ADD COLUMN person_hash BLOB;
    ALTER TABLE seat ADD COLUMN class_group TEXT;
    CREATE TABLE folder (
        pseudonym_key BLOB NOT NULL,
        keep_s        INTEGER
    ) STRICT;
    CREATE TABLE export (
        id     INTEGER PRIMARY KEY,
        path   TEXT NOT NULL,
        kind   TEXT NOT NULL,
        made_s INTEGER NOT NULL
    ) STRICT;
    CREATE TABLE export_review (
        export INTEGER NOT NULL REFERENCES export (id) ON DELETE CASCADE,
        review BLOB NOT NULL,
        PRIMARY KEY (export, review)
    ) STRICT, WITHOUT ROWID;",
];

/// Makes the tables of an empty file.
///
/// `event` is the truth: one row an event, numbered without a gap, each with the hash of the one
/// before it, so that a reader can tell that nothing is missing or changed. Names stand in `seat`
/// alone. `own_list` is the text of the instructor's own muscle list, where the review has one.
///
/// `person_hash` is a keyed hash of the secret of a student's device and the name, the same from
/// review to review; `folder` has one row, with the random key of such hashes and of pseudonyms, and
/// for how long reviews are kept (NULL for ever). `export` and `export_review` remember which files
/// were made of which reviews, so that who removes records knows where copies lie.
pub(super) const TABLES: &str = "
CREATE TABLE review (
    id        BLOB PRIMARY KEY,
    word      TEXT NOT NULL,
    key_hash  BLOB NOT NULL,
    opened_s  INTEGER NOT NULL,
    touched_s INTEGER NOT NULL,
    ended     INTEGER NOT NULL DEFAULT 0,
    own_list  TEXT
) STRICT, WITHOUT ROWID;

CREATE TABLE seat (
    review     BLOB NOT NULL REFERENCES review (id),
    student    BLOB NOT NULL,
    token_hash BLOB NOT NULL,
    name       TEXT NOT NULL,
    person_hash BLOB,
    class_group TEXT,
    PRIMARY KEY (review, student)
) STRICT, WITHOUT ROWID;

CREATE TABLE event (
    review BLOB NOT NULL REFERENCES review (id),
    seq    INTEGER NOT NULL,
    at_ms  INTEGER NOT NULL,
    kind   TEXT NOT NULL,
    body   TEXT NOT NULL,
    chain  BLOB NOT NULL,
    PRIMARY KEY (review, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE host (
    key_hash BLOB NOT NULL
) STRICT;

CREATE TABLE folder (
    pseudonym_key BLOB NOT NULL,
    keep_s        INTEGER
) STRICT;

CREATE TABLE export (
    id     INTEGER PRIMARY KEY,
    path   TEXT NOT NULL,
    kind   TEXT NOT NULL,
    made_s INTEGER NOT NULL
) STRICT;

CREATE TABLE export_review (
    export INTEGER NOT NULL REFERENCES export (id) ON DELETE CASCADE,
    review BLOB NOT NULL,
    PRIMARY KEY (export, review)
) STRICT, WITHOUT ROWID;
";
