//! Pictures of a muscle: the bones concerned, its attachments and its line of pull.
