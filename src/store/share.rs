//! Whether a path lies on a network file system, where the locks of `SQLite` do not hold.

use std::ffi::OsString;
use std::fs;
use std::os::unix::ffi::OsStringExt;
use std::path::{self, Path, PathBuf};

use super::error::StoreError;

/// File systems of which another computer may hold the files. From memory, after the names in the kernel's `fs/` and
/// those of common FUSE programs; an unknown one is caught when it cannot hold the log (`start_log`).
const NETWORK: [&str; 22] = [
    "9p",
    "afs",
    "beegfs",
    "ceph",
    "cifs",
    "coda",
    "davfs",
    "fuse.ceph",
    "fuse.curlftpfs",
    "fuse.davfs",
    "fuse.glusterfs",
    "fuse.gvfsd-fuse",
    "fuse.rclone",
    "fuse.s3fs",
    "fuse.sshfs",
    "glusterfs",
    "lustre",
    "ncpfs",
    "nfs",
    "nfs4",
    "smb3",
    "smbfs",
];

/// Refuses a book, there or to be made, on a network share. Where the system has no table of mounts it lets all pass.
pub(super) fn refuse(book: &Path) -> Result<(), StoreError> {
    let Ok(mounts) = fs::read("/proc/self/mountinfo") else { return Ok(()) };
    refuse_by(&mounts, &there(book))
}

fn refuse_by(mounts: &[u8], book: &Path) -> Result<(), StoreError> {
    match file_system(mounts, book) {
        Some(kind) if NETWORK.contains(&kind.as_str()) => Err(StoreError::NetworkShare),
        _ => Ok(()),
    }
}

/// The path without links, or the nearest folder above it that is there.
fn there(book: &Path) -> PathBuf {
    let whole = path::absolute(book).unwrap_or_else(|_| book.to_owned());
    whole.ancestors().find_map(|folder| fs::canonicalize(folder).ok()).unwrap_or(whole)
}

/// The type of the file system a path lies on, by the table of mounts as in proc(5):
/// `id parent major:minor root mount-point options [optional fields] - type source super-options`.
fn file_system(mounts: &[u8], path: &Path) -> Option<String> {
    let mut best: Option<(usize, String)> = None;
    for line in mounts.split(|byte| *byte == b'\n') {
        let Some((point, kind)) = mount(line) else { continue };
        let depth = point.components().count();
        // of two mounts on one point the later one lies on top
        if path.starts_with(&point) && best.as_ref().is_none_or(|(deepest, _)| depth >= *deepest) {
            best = Some((depth, kind));
        }
    }
    best.map(|(_, kind)| kind)
}

/// Mount point and type of one line.
fn mount(line: &[u8]) -> Option<(PathBuf, String)> {
    let mut fields = line.split(|byte| *byte == b' ');
    let point = fields.nth(4)?;
    // any number of optional fields, ended by a hyphen
    fields.find(|field| *field == b"-")?;
    let kind = std::str::from_utf8(fields.next()?).ok()?;
    Some((PathBuf::from(OsString::from_vec(unescape(point))), kind.to_owned()))
}

/// Space, tab, line feed and backslash are written as a backslash and three octal digits.
fn unescape(field: &[u8]) -> Vec<u8> {
    let mut plain = Vec::with_capacity(field.len());
    let mut rest = field;
    while let Some((first, after)) = rest.split_first() {
        match (*first, octal(after)) {
            (b'\\', Some((byte, after))) => {
                plain.push(byte);
                rest = after;
            }
            (byte, _) => {
                plain.push(byte);
                rest = after;
            }
        }
    }
    plain
}

/// Three octal digits as a byte, and what follows them.
fn octal(text: &[u8]) -> Option<(u8, &[u8])> {
    let (digits, after) = text.split_at_checked(3)?;
    let digits = std::str::from_utf8(digits).ok()?;
    Some((u8::from_str_radix(digits, 8).ok()?, after))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// In the form of proc(5), written for this test.
    const MOUNTS: &[u8] = br"22 27 0:21 / /proc rw,relatime - proc proc rw
27 1 254:0 / / rw,relatime shared:1 - ext4 /dev/vda rw
41 27 0:35 / /srv/room rw,relatime shared:2 master:7 - nfs4 bench:/room rw,vers=4.2
42 41 254:1 / /srv/room/own rw - xfs /dev/vdb rw
43 27 0:36 / /media/Seed\040shelf\0342 rw - cifs //bench/shelf rw
44 27 0:37 / /home/ak/far rw,nosuid - fuse.sshfs ak@bench: rw
45 27 254:2 / /over rw - ext4 /dev/vdc rw
46 45 0:38 / /over rw - 9p host rw
47 27 0:39 / /odd\9name rw - tmpfs none rw
short line
";

    fn on(path: &str) -> Option<String> {
        file_system(MOUNTS, Path::new(path))
    }

    #[test]
    fn the_deepest_mount_point_above_a_path_counts() {
        assert_eq!(on("/home/ak/room.rackwalk").as_deref(), Some("ext4"));
        assert_eq!(on("/srv/room/room.rackwalk").as_deref(), Some("nfs4"));
        assert_eq!(on("/srv/room/own/room.rackwalk").as_deref(), Some("xfs"));
        assert_eq!(on("/home/ak/far").as_deref(), Some("fuse.sshfs"));
        // whole names are compared, not beginnings of them
        assert_eq!(on("/srv/roommate/room.rackwalk").as_deref(), Some("ext4"));
        assert_eq!(file_system(b"", Path::new("/srv")), None);
    }

    #[test]
    fn the_later_of_two_mounts_on_one_point_lies_on_top() {
        assert_eq!(on("/over/room.rackwalk").as_deref(), Some("9p"));
    }

    #[test]
    fn a_book_on_a_share_is_refused_with_the_way_to_do_it() {
        let why = refuse_by(MOUNTS, Path::new("/srv/room/room.rackwalk")).unwrap_err();
        let said = why.to_string();
        assert!(said.contains("network share") && said.contains("let the others log in"), "{said}");
        assert_eq!(why.exit_code(), 78, "EX_CONFIG");
        assert!(refuse_by(MOUNTS, Path::new("/srv/room/own/room.rackwalk")).is_ok());
        assert!(refuse_by(b"", Path::new("/srv/room/room.rackwalk")).is_ok(), "no table, no word");
    }

    #[test]
    fn octal_escapes_in_a_mount_point_are_read() {
        assert_eq!(on("/media/Seed shelf\u{1c}2/room.rackwalk").as_deref(), Some("cifs"));
        assert_eq!(on("/odd\\9name/x").as_deref(), Some("tmpfs"));
        assert_eq!(unescape(br"a\040b\011c\012d\134e\"), b"a b\tc\nd\\e\\");
        assert_eq!(unescape(br"\777"), br"\777", "no byte");
    }

    #[test]
    fn this_machines_own_table_is_read() {
        if let Ok(mounts) = fs::read("/proc/self/mountinfo") {
            assert_eq!(file_system(&mounts, Path::new("/proc/self")).as_deref(), Some("proc"));
        }
    }

    #[test]
    fn a_file_not_made_yet_lies_where_its_folder_does() {
        let dir = tempfile::tempdir().unwrap();
        let folder = fs::canonicalize(dir.path()).unwrap();
        assert_eq!(there(&dir.path().join("a/b/room.rackwalk")), folder);
    }

    #[test]
    fn the_types_of_the_trade_are_known() {
        for kind in ["nfs", "nfs4", "cifs", "smb3", "smbfs", "9p", "afs", "ncpfs", "fuse.sshfs", "fuse.davfs", "ceph"] {
            assert!(NETWORK.contains(&kind), "{kind}");
        }
        for kind in ["ext4", "xfs", "btrfs", "zfs", "tmpfs", "vfat", "exfat", "fuseblk", "overlay"] {
            assert!(!NETWORK.contains(&kind), "{kind}");
        }
    }
}
