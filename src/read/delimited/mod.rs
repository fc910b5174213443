//! Delimited text: how it is encoded, cut into records and fields, and read whole or as a stream.

pub(super) mod columns;
pub(super) mod delimiter;
pub(super) mod dos;
pub(super) mod encoding;
pub(super) mod fields;
pub(super) mod record;
pub(super) mod stream;
pub(super) mod survey;
pub(super) mod text;
