//! The first 100 bytes of a `SQLite` file, read without `SQLite`.
//!
//! Offsets are from <https://www.sqlite.org/fileformat2.html#the_database_header>.

/// Length of the header in bytes.
pub(super) const LEN: usize = 100;

const MAGIC: &[u8; 16] = b"SQLite format 3\0";

/// What the first bytes say, before any program's own meaning.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Header {
    /// No byte at all: a book that was never begun.
    Empty,
    /// Something that is not `SQLite`'s.
    Other,
    /// Meant as a `SQLite` file, but the bytes cannot be right.
    Broken(String),
    /// A `SQLite` file. `whole` is false when the file is shorter than its pages.
    Sqlite { application_id: u32, user_version: u32, whole: bool },
}

/// Reads the header from the first bytes (at most [`LEN`]) of a file of `size` bytes.
pub(super) fn parse(first: &[u8], size: u64) -> Header {
    if size == 0 {
        return Header::Empty;
    }
    if first.iter().all(|b| *b == 0) {
        return Header::Broken("its first bytes are all zero".to_owned());
    }
    let begins_right = first.iter().zip(MAGIC).all(|(a, b)| a == b);
    if !begins_right {
        return Header::Other;
    }
    if first.len() < LEN {
        return Header::Broken(format!("it ends after {size} bytes"));
    }
    let fields = (page_size(first), be32(first, 28), be32(first, 60), be32(first, 68));
    let (Some(page), Some(pages), Some(user_version), Some(application_id)) = fields else {
        return Header::Broken("its page size cannot be".to_owned());
    };
    // The page count only holds when the change counter agrees with the one stored beside it.
    let counted = be32(first, 24) == be32(first, 92);
    Header::Sqlite { application_id, user_version, whole: !counted || size >= u64::from(page) * u64::from(pages) }
}

/// Bytes a page; 1 stands for 65,536. None unless a power of two from 512 up.
fn page_size(first: &[u8]) -> Option<u32> {
    let stored = first.get(16..18)?.try_into().ok().map(u16::from_be_bytes)?;
    match stored {
        1 => Some(65_536),
        512.. if stored.is_power_of_two() => Some(u32::from(stored)),
        _ => None,
    }
}

fn be32(first: &[u8], at: usize) -> Option<u32> {
    let bytes = first.get(at..at.checked_add(4)?)?;
    bytes.try_into().ok().map(u32::from_be_bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn real(page_size: u32) -> Vec<u8> {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("x.db");
        let conn = rusqlite::Connection::open(&path).unwrap();
        conn.execute_batch(&format!(
            "PRAGMA page_size = {page_size}; PRAGMA application_id = 305419896;
             PRAGMA user_version = 7; CREATE TABLE t (x);"
        ))
        .unwrap();
        drop(conn);
        std::fs::read(path).unwrap()
    }

    #[test]
    fn real_files_of_every_page_size() {
        for page in [512, 1024, 4096, 32_768, 65_536] {
            let bytes = real(page);
            let size = bytes.len() as u64;
            let expected = |whole| Header::Sqlite { application_id: 0x1234_5678, user_version: 7, whole };
            assert_eq!(parse(&bytes[..LEN], size), expected(true), "{page}");
            assert_eq!(parse(&bytes[..LEN], size - 1), expected(false), "{page}");
        }
    }

    #[test]
    fn a_page_count_of_an_old_writer_is_not_believed() {
        let mut bytes = real(4096);
        bytes[92] ^= 1;
        let said = parse(&bytes[..LEN], 200);
        assert!(matches!(said, Header::Sqlite { whole: true, .. }), "{said:?}");
    }

    #[test]
    fn everything_else() {
        assert_eq!(parse(b"", 0), Header::Empty);
        assert_eq!(parse(b"day,tray,roots\n", 15), Header::Other);
        assert_eq!(parse(b"SQLite format 4\0", 16), Header::Other);
        for broken in [&b"SQLite"[..], &MAGIC[..], &[0; LEN]] {
            let said = parse(broken, broken.len() as u64);
            assert!(matches!(said, Header::Broken(_)), "{said:?}");
        }
        let mut bytes = real(4096);
        bytes[16..18].copy_from_slice(&1000_u16.to_be_bytes());
        assert!(matches!(parse(&bytes[..LEN], 9000), Header::Broken(_)));
    }
}
