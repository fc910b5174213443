//! What may be said about a file before it is read: a mapping's words where content does not decide.

use super::bounds;
use super::delimited::encoding::Encoding;
use super::digest::Digest;

#[derive(Clone, Debug)]
pub struct Options {
    /// Encoding of a text that is neither marked nor UTF-8; `None` means Windows-1252, with a note.
    pub encoding: Option<Encoding>,
    /// Separator of a text; `None` means it is found out. ASCII.
    pub delimiter: Option<char>,
    /// Code page of an `.xls` that states none or a wrong one; `None` means as stated.
    pub xls_codepage: Option<u16>,
    /// Bytes above which a delimited text is a stream.
    pub stream_above: u64,
    /// Bytes of a stream's chunk, about; what one thread holds. At least 1.
    pub chunk_bytes: usize,
    /// The digest, where the caller has it: the file is then not hashed again if it is unchanged.
    pub digest: Option<Digest>,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            encoding: None,
            delimiter: None,
            xls_codepage: None,
            stream_above: bounds::WHOLE_TEXT_BYTES,
            chunk_bytes: bounds::BLOCK_BYTES,
            digest: None,
        }
    }
}
