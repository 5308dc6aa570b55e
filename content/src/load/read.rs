//! Reads TOML into rows, field by field, and reports every field that is wrong.
//!
//! serde stops at the first error; a person who edits a file wants to see them all.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::file::ContentFile;
use crate::list::FactKind;
use crate::model::{
    BoneKey, FreedomKey, GroupKey, JointKey, LandmarkKey, Level, ListKey, MovementKey, MuscleKey,
    NerveKey, PartKey, RegionKey, Role, SegmentKey, SourceKey, Span,
};
use crate::problem::{Place, Report, SourceFile};
use crate::span::parse_root;

/// The syntax of a file: what could be read, and what is wrong with the rest.
pub(crate) struct Parsed<'f> {
    table: Spanned<DeTable<'f>>,
    errors: Vec<toml::de::Error>,
}

impl<'f> Parsed<'f> {
    pub(crate) fn of(file: &'f SourceFile) -> Self {
        let (table, errors) = DeTable::parse_recoverable(&file.text);
        Self { table, errors }
    }
}

/// Reads one file. What is left of a file with a syntax error is still read, in silence, so that
/// other files find the keys that it defines.
pub(crate) fn read_file(index: usize, file: &SourceFile, report: &mut Report<'_>) -> ContentFile {
    read_parsed(index, Parsed::of(file), report)
}

/// The same of a file whose syntax is known.
pub(crate) fn read_parsed(
    index: usize,
    parsed: Parsed<'_>,
    report: &mut Report<'_>,
) -> ContentFile {
    let Parsed { table, errors } = parsed;
    for error in &errors {
        let byte = error.span().map_or(0, |span| span.start);
        report.add(Place { file: index, byte }, format!("TOML syntax: {}", error.message()));
    }
    if !errors.is_empty() {
        report.mute(index);
    }
    let start = Place { file: index, byte: 0 };
    let mut reader = Reader { file: index, report };
    ContentFile::from_table(table.get_ref(), start, &mut reader)
}

/// A value and where it stands.
#[derive(Debug, Clone)]
pub(crate) struct At<T> {
    pub(crate) value: T,
    pub(crate) place: Place,
}

/// Rows that stand under their keys, as in `[bone]`.
#[derive(Debug, Clone)]
pub(crate) struct Keyed<K, R>(pub(crate) Vec<(At<K>, R)>);

/// A spinal root, such as `C5`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Root(pub(crate) String);

/// A finite number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Number(pub(crate) f64);

/// A place or a direction: three finite numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Triple(pub(crate) [f64; 3]);

/// A ball: a place and a radius.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Quadruple(pub(crate) [f64; 4]);

/// A place in a list, from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Index(pub(crate) usize);

/// The number of one of a row of bones, such as `T2` or `4`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct RowNumber(pub(crate) String);

/// A list that must have an item.
#[derive(Debug, Clone)]
pub(crate) struct Filled<T>(pub(crate) Vec<T>);

impl<T> AsRef<[T]> for Filled<T> {
    fn as_ref(&self) -> &[T] {
        &self.0
    }
}

/// The items of a list that may be absent.
pub(crate) fn items<T, L: AsRef<[T]>>(list: Option<&At<L>>) -> &[T] {
    list.map_or(&[], |list| list.value.as_ref())
}

/// Goes through one file.
pub(crate) struct Reader<'r, 'f> {
    file: usize,
    report: &'r mut Report<'f>,
}

/// A value that may stand in a data file.
pub(crate) trait Read: Sized {
    /// Reads it, or reports why it cannot be read.
    fn read(value: &Spanned<DeValue<'_>>, reader: &mut Reader<'_, '_>) -> Option<Self>;
}

/// A key of one of the vocabulary's tables, or of the muscles, parts and lists.
pub(crate) trait Key: Ord + Clone {
    /// What it is a key of, such as `landmark`.
    const KIND: &'static str;
    /// Wraps the text.
    fn wrap(text: &str) -> Self;
    /// The text.
    fn text(&self) -> &str;
}

impl Reader<'_, '_> {
    fn place(&self, byte: usize) -> Place {
        Place { file: self.file, byte }
    }

    fn wrong_type<T>(&mut self, expected: &str, value: &Spanned<DeValue<'_>>) -> Option<T> {
        let place = self.place(value.span().start);
        let found = value.get_ref().type_str();
        self.report.add(place, format!("expected {expected}, found {found}"));
        None
    }

    /// The table of a row, and where the row begins.
    pub(crate) fn table<'v, 'i>(
        &mut self,
        value: &'v Spanned<DeValue<'i>>,
    ) -> Option<(&'v DeTable<'i>, Place)> {
        match value.get_ref().as_table() {
            Some(table) => Some((table, self.place(value.span().start))),
            None => self.wrong_type("table", value),
        }
    }

    /// Reads one field of a row.
    pub(crate) fn field<T: Read>(
        &mut self,
        table: &DeTable<'_>,
        row: Place,
        name: &str,
        required: bool,
    ) -> Option<At<T>> {
        match table.get(name) {
            Some(value) => At::read(value, self),
            None if required => {
                self.report.add(row, format!("missing field `{name}`"));
                None
            }
            None => None,
        }
    }

    /// Reports fields that the row does not have.
    pub(crate) fn refuse_other_fields(&mut self, table: &DeTable<'_>, fields: &[&str]) {
        for key in table.keys().filter(|key| !fields.contains(&key.get_ref().as_ref())) {
            let place = self.place(key.span().start);
            self.report.add_unknown(place, "field", key.get_ref(), fields.iter().copied());
        }
    }
}

impl<T: Read> Read for At<T> {
    fn read(value: &Spanned<DeValue<'_>>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        let place = reader.place(value.span().start);
        T::read(value, reader).map(|value| Self { value, place })
    }
}

impl<T: Read> Read for Vec<T> {
    fn read(value: &Spanned<DeValue<'_>>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        match value.get_ref().as_array() {
            Some(array) => Some(array.iter().filter_map(|item| T::read(item, reader)).collect()),
            None => reader.wrong_type("array", value),
        }
    }
}

impl<T: Read> Read for Filled<T> {
    fn read(value: &Spanned<DeValue<'_>>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        if value.get_ref().as_array().is_some_and(|array| array.is_empty()) {
            let place = reader.place(value.span().start);
            reader.report.add(place, "empty list: at least one is needed");
        }
        Vec::read(value, reader).map(Self)
    }
}

impl<K: Key, R: Read> Read for Keyed<K, R> {
    fn read(value: &Spanned<DeValue<'_>>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        let Some(table) = value.get_ref().as_table() else {
            return reader.wrong_type("table", value);
        };
        let mut rows = Vec::new();
        for (key, row) in table {
            let place = reader.place(key.span().start);
            let row = R::read(row, reader);
            rows.extend(row.map(|row| (At { value: K::wrap(key.get_ref()), place }, row)));
        }
        Some(Self(rows))
    }
}

impl Read for bool {
    fn read(value: &Spanned<DeValue<'_>>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        value.get_ref().as_bool().or_else(|| reader.wrong_type("boolean", value))
    }
}

impl Read for String {
    fn read(value: &Spanned<DeValue<'_>>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        let Some(text) = value.get_ref().as_str() else {
            return reader.wrong_type("string", value);
        };
        if text.is_empty() || text.trim() != text {
            let place = reader.place(value.span().start);
            reader.report.add(place, "text is empty or has blanks around it");
            return None;
        }
        Some(text.to_owned())
    }
}

impl Read for Span {
    fn read(value: &Spanned<DeValue<'_>>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        let text = String::read(value, reader)?;
        let place = reader.place(value.span().start);
        text.parse()
            .map_err(|error| reader.report.add(place, format!("span `{text}`: {error}")))
            .ok()
    }
}

impl Read for Root {
    fn read(value: &Spanned<DeValue<'_>>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        let text = String::read(value, reader)?;
        if parse_root(&text) {
            return Some(Self(text));
        }
        let place = reader.place(value.span().start);
        reader.report.add(place, format!("`{text}` is not a spinal root such as `C5` or `T1`"));
        None
    }
}

impl Read for Number {
    fn read(value: &Spanned<DeValue<'_>>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        let number = match value.get_ref() {
            DeValue::Float(number) => number.as_str().parse().ok(),
            DeValue::Integer(number) => number.as_str().parse().ok(),
            DeValue::String(_)
            | DeValue::Boolean(_)
            | DeValue::Datetime(_)
            | DeValue::Array(_)
            | DeValue::Table(_) => return reader.wrong_type("number", value),
        };
        match number {
            Some(number) if f64::is_finite(number) => Some(Self(number)),
            _ => {
                let place = reader.place(value.span().start);
                reader.report.add(place, "not a plain decimal number");
                None
            }
        }
    }
}

impl Read for Index {
    fn read(value: &Spanned<DeValue<'_>>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        let number = value.get_ref().as_integer().and_then(|number| number.as_str().parse().ok());
        number.map(Self).or_else(|| reader.wrong_type("whole number from 0", value))
    }
}

impl Read for Triple {
    fn read(value: &Spanned<DeValue<'_>>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        numbers(value, reader).map(Self)
    }
}

impl Read for Quadruple {
    fn read(value: &Spanned<DeValue<'_>>, reader: &mut Reader<'_, '_>) -> Option<Self> {
        numbers(value, reader).map(Self)
    }
}

/// A list of just so many numbers.
fn numbers<const N: usize>(
    value: &Spanned<DeValue<'_>>,
    reader: &mut Reader<'_, '_>,
) -> Option<[f64; N]> {
    let count = value.get_ref().as_array().map(|array| array.len());
    if count.is_some_and(|count| count != N) {
        let place = reader.place(value.span().start);
        reader.report.add(place, format!("{N} numbers are needed"));
        return None;
    }
    let numbers: Vec<Number> = Vec::read(value, reader)?;
    let numbers: Vec<f64> = numbers.into_iter().map(|number| number.0).collect();
    numbers.try_into().ok()
}

impl Key for RowNumber {
    const KIND: &'static str = "number of a row";

    fn wrap(text: &str) -> Self {
        Self(text.to_owned())
    }

    fn text(&self) -> &str {
        &self.0
    }
}

macro_rules! read_words {
    ($($type:ty: $kind:literal { $($word:literal => $value:ident,)+ })+) => {$(
        impl Read for $type {
            fn read(value: &Spanned<DeValue<'_>>, reader: &mut Reader<'_, '_>) -> Option<Self> {
                let text = String::read(value, reader)?;
                match text.as_str() {
                    $($word => Some(Self::$value),)+
                    other => {
                        let place = reader.place(value.span().start);
                        reader.report.add_unknown(place, $kind, other, [$($word),+].into_iter());
                        None
                    }
                }
            }
        }
    )+};
}

read_words! {
    Level: "level" { "introductory" => Introductory, "full" => Full, }
    Role: "role" {
        "prime-mover" => PrimeMover, "assists" => Assists, "stabilises" => Stabilises,
    }
    FactKind: "kind of fact" {
        "action" => Action, "attachment" => Attachment, "innervation" => Innervation,
    }
}

macro_rules! read_keys {
    ($($type:ty: $kind:literal,)+) => {$(
        impl Key for $type {
            const KIND: &'static str = $kind;

            fn wrap(text: &str) -> Self {
                Self::new(text)
            }

            fn text(&self) -> &str {
                self.as_str()
            }
        }

        impl Read for $type {
            fn read(value: &Spanned<DeValue<'_>>, reader: &mut Reader<'_, '_>) -> Option<Self> {
                String::read(value, reader).map(Self::new)
            }
        }
    )+};
}

read_keys! {
    MuscleKey: "muscle",
    PartKey: "part",
    BoneKey: "bone",
    LandmarkKey: "landmark",
    JointKey: "joint",
    MovementKey: "movement",
    NerveKey: "nerve",
    RegionKey: "region",
    GroupKey: "group",
    SourceKey: "source",
    ListKey: "list",
    SegmentKey: "segment",
    FreedomKey: "freedom",
}
