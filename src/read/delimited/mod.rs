//! Delimited text: how it is encoded, cut into records and fields, and read whole or as a stream.

mod columns;
mod delimiter;
mod dos;
pub(super) mod encoding;
mod fields;
mod record;
pub(super) mod stream;
pub(super) mod survey;
pub(super) mod text;
