//! Rows of the data files: the struct, its reader and its JSON Schema from one description, so
//! that none of them can differ from the others.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

use crate::load::read::{At, Filled, Index, Key, Keyed, Number, Quadruple, Root, Triple};
use crate::model::Span;

/// Defines rows. `must` marks a field that every row has, `may` one that it may leave out.
macro_rules! rows {
    (@required must) => { true };
    (@required may) => { false };
    ($(
        $(#[doc = $doc:literal])+
        $row:ident { $($(#[doc = $field_doc:literal])+ $need:ident $field:ident: $type:ty,)+ }
    )+) => {$(
        $(#[doc = $doc])+
        #[derive(Debug, Clone)]
        pub(crate) struct $row {
            $($(#[doc = $field_doc])+ pub(crate) $field: Option<At<$type>>,)+
        }

        impl $row {
            pub(crate) fn from_table(
                table: &toml::de::DeTable<'_>,
                place: $crate::problem::Place,
                reader: &mut $crate::load::read::Reader<'_, '_>,
            ) -> Self {
                reader.refuse_other_fields(table, &[$(stringify!($field)),+]);
                Self {$(
                    $field: reader.field(
                        table, place, stringify!($field), rows!(@required $need),
                    ),
                )+}
            }
        }

        impl $crate::load::read::Read for $row {
            fn read(
                value: &toml::Spanned<toml::de::DeValue<'_>>,
                reader: &mut $crate::load::read::Reader<'_, '_>,
            ) -> Option<Self> {
                let (table, place) = reader.table(value)?;
                Some(Self::from_table(table, place, reader))
            }
        }

        impl JsonSchema for $row {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($row).into()
            }

            fn json_schema(generator: &mut schemars::SchemaGenerator) -> Schema {
                $crate::load::rows::row_schema(concat!($($doc),+), [$((
                    stringify!($field),
                    concat!($($field_doc),+),
                    rows!(@required $need),
                    generator.subschema_for::<$type>(),
                )),+])
            }
        }
    )+};
}
pub(crate) use rows;

/// The JSON Schema of a row: its fields as name, description, whether required, and schema.
pub(crate) fn row_schema<const N: usize>(
    description: &str,
    fields: [(&str, &str, bool, Schema); N],
) -> Schema {
    let mut properties = Schema::default();
    let mut required = Vec::new();
    for (name, description, is_required, mut schema) in fields {
        schema.insert("description".to_owned(), description.trim().into());
        properties.insert(name.to_owned(), schema.into());
        if is_required {
            required.push(name);
        }
    }
    json_schema!({
        "type": "object",
        "description": description.trim(),
        "properties": properties,
        "required": required,
        "additionalProperties": false,
    })
}

impl<T: JsonSchema> JsonSchema for At<T> {
    fn schema_name() -> Cow<'static, str> {
        T::schema_name()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        T::json_schema(generator)
    }

    fn inline_schema() -> bool {
        T::inline_schema()
    }
}

impl<T: JsonSchema> JsonSchema for Filled<T> {
    fn schema_name() -> Cow<'static, str> {
        format!("Filled{}", T::schema_name()).into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "array",
            "items": generator.subschema_for::<T>(),
            "minItems": 1,
        })
    }

    fn inline_schema() -> bool {
        true
    }
}

impl<K: Key, R: JsonSchema> JsonSchema for Keyed<K, R> {
    fn schema_name() -> Cow<'static, str> {
        format!("{}Table", R::schema_name()).into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "object",
            "additionalProperties": generator.subschema_for::<R>(),
        })
    }

    fn inline_schema() -> bool {
        true
    }
}

impl JsonSchema for Root {
    fn schema_name() -> Cow<'static, str> {
        "Root".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string", "pattern": "^(C[1-8]|T([1-9]|1[0-2])|L[1-5]|S[1-5]|Co1)$" })
    }
}

impl JsonSchema for Span {
    fn schema_name() -> Cow<'static, str> {
        "Span".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string", "pattern": "^((C|T|L|S|Co)?[0-9]+)(-(C|T|L|S|Co)?[0-9]+)?$" })
    }
}

macro_rules! number_schemas {
    ($($type:ident: $schema:tt)+) => {$(
        impl JsonSchema for $type {
            fn schema_name() -> Cow<'static, str> {
                stringify!($type).into()
            }

            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                json_schema!($schema)
            }

            fn inline_schema() -> bool {
                true
            }
        }
    )+};
}

number_schemas! {
    Number: { "type": "number" }
    Index: { "type": "integer", "minimum": 0 }
    Triple: { "type": "array", "items": { "type": "number" }, "minItems": 3, "maxItems": 3 }
    Quadruple: { "type": "array", "items": { "type": "number" }, "minItems": 4, "maxItems": 4 }
}
