//! Bytes to text: which encoding a file of unknown origin is written in.

use super::Failure;
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// The encodings in which song texts are met.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Encoding {
    /// UTF-8, with or without a byte order mark.
    Utf8,
    /// UTF-16, by its byte order mark or its zero bytes.
    Utf16,
    /// The Western European one-byte encoding of old files (Latin-1 as Windows writes it). A guess: any bytes can be read so.
    Latin1,
}

/// Text that was read from bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Decoded {
    /// The text, without a byte order mark.
    pub text: String,
    /// The encoding it was written in.
    pub encoding: Encoding,
}

/// Decodes bytes; `None` if they are no text in any of the encodings.
pub fn decode(bytes: &[u8]) -> Option<Decoded> {
    if let Some((bom, _)) = encoding_rs::Encoding::for_bom(bytes) {
        let encoding = if bom == encoding_rs::UTF_8 { Encoding::Utf8 } else { Encoding::Utf16 };
        let (text, _, has_faults) = bom.decode(bytes);
        return (!has_faults).then(|| Decoded { text: text.into_owned(), encoding });
    }
    if let Some(encoding) = utf16_without_mark(bytes) {
        let (text, has_faults) = encoding.decode_without_bom_handling(bytes);
        return (!has_faults).then(|| Decoded { text: text.into_owned(), encoding: Encoding::Utf16 });
    }
    if let Ok(text) = std::str::from_utf8(bytes) {
        return (!is_binary(bytes)).then(|| Decoded { text: text.to_owned(), encoding: Encoding::Utf8 });
    }
    if is_binary(bytes) {
        return None;
    }
    let (text, _) = encoding_rs::WINDOWS_1252.decode_without_bom_handling(bytes);
    Some(Decoded { text: text.into_owned(), encoding: Encoding::Latin1 })
}

/// Reads a text file of at most `limit` bytes, whatever its encoding; `-` is standard input.
///
/// # Errors
/// [`Failure`] if it cannot be read, is too large, or is no text.
pub fn read_text(path: &Path, limit: u64) -> Result<Decoded, Failure> {
    let bytes =
        if path.as_os_str() == "-" { bounded(std::io::stdin().lock(), path, limit)? } else { read_bytes(path, limit)? };
    decode(&bytes).ok_or_else(|| Failure::NotText { path: path.to_owned() })
}

/// Reads a file of at most `limit` bytes.
pub(super) fn read_bytes(path: &Path, limit: u64) -> Result<Vec<u8>, Failure> {
    let file = File::open(path).map_err(|e| Failure::reading(path, e))?;
    let is_folder = file.metadata().is_ok_and(|m| m.is_dir());
    if is_folder { Err(Failure::IsFolder { path: path.to_owned() }) } else { bounded(file, path, limit) }
}

/// Reads a file that must be UTF-8 (or UTF-16 with a byte order mark), as songs and lexica are.
pub(super) fn read_utf8(path: &Path, limit: u64) -> Result<String, Failure> {
    utf8(path, read_bytes(path, limit)?)
}

/// Takes bytes as UTF-8 (or UTF-16 with a byte order mark).
pub(super) fn utf8(path: &Path, bytes: Vec<u8>) -> Result<String, Failure> {
    let path = path.to_owned();
    if bytes.is_empty() {
        return Err(Failure::Empty { path });
    }
    match decode(&bytes) {
        None => Err(Failure::NotText { path }),
        Some(Decoded { encoding: Encoding::Latin1, .. }) => {
            let valid = std::str::from_utf8(&bytes).map_or_else(|e| e.valid_up_to(), str::len);
            let line = bytes[..valid].iter().filter(|b| **b == b'\n').count() + 1;
            Err(Failure::NotUtf8 { path, line })
        }
        Some(Decoded { text, .. }) => Ok(text),
    }
}

fn bounded(reader: impl Read, path: &Path, limit: u64) -> Result<Vec<u8>, Failure> {
    let mut bytes = Vec::new();
    reader.take(limit + 1).read_to_end(&mut bytes).map_err(|e| Failure::reading(path, e))?;
    if bytes.len() as u64 > limit { Err(Failure::TooLarge { path: path.to_owned(), limit }) } else { Ok(bytes) }
}

/// A text in UTF-16 without a mark has a zero in every other byte as long as it is mostly Latin letters and spaces.
fn utf16_without_mark(bytes: &[u8]) -> Option<&'static encoding_rs::Encoding> {
    let sample = &bytes[..bytes.len().min(400) & !1];
    if sample.len() < 4 || !bytes.len().is_multiple_of(2) {
        return None;
    }
    let zeros = |offset: usize| sample.iter().skip(offset).step_by(2).filter(|b| **b == 0).count();
    let (even, odd) = (zeros(0), zeros(1));
    let most = sample.len() / 2 * 7 / 10;
    match () {
        () if odd >= most && even == 0 => Some(encoding_rs::UTF_16LE),
        () if even >= most && odd == 0 => Some(encoding_rs::UTF_16BE),
        () => None,
    }
}

/// No text holds a zero byte.
fn is_binary(bytes: &[u8]) -> bool {
    bytes.contains(&0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(bytes: &[u8], text: &str, encoding: Encoding) {
        assert_eq!(decode(bytes), Some(Decoded { text: text.into(), encoding }));
    }

    #[test]
    fn encodings_of_song_texts() {
        check("perché".as_bytes(), "perché", Encoding::Utf8);
        check("\u{feff}perché".as_bytes(), "perché", Encoding::Utf8);
        check(b"perch\xe9 l\x92amor", "perché l’amor", Encoding::Latin1);
        let le: Vec<u8> = "perché tu".encode_utf16().flat_map(u16::to_le_bytes).collect();
        let be: Vec<u8> = "perché tu".encode_utf16().flat_map(u16::to_be_bytes).collect();
        check(&le, "perché tu", Encoding::Utf16);
        check(&be, "perché tu", Encoding::Utf16);
        check(&[&[0xff, 0xfe], &le[..]].concat(), "perché tu", Encoding::Utf16);
    }

    #[test]
    fn what_is_no_text() {
        assert_eq!(decode(b"\x7fELF\x00\x01\x02"), None);
        assert_eq!(decode(b"%PDF \xe2\xe3 \x00"), None);
    }
}
