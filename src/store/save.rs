//! Saving: a file is replaced whole or not at all.
//!
//! The new content goes into a file in the same folder, is forced to the disk, and takes the place of the old by one rename; the folder
//! is forced to the disk too. At no moment is there no file, or half of one. A file with several hard links becomes one of its own.

use super::Failure;
use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// What becomes of the content that is replaced.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Backup {
    /// It is kept beside the file: see [`backup_path`].
    Keep,
    /// It goes: the file can be made again.
    None,
}

/// Replaces a file atomically; makes it if there is none.
///
/// Permissions stay, and a symbolic link still points to the file that is replaced. A device or a pipe is not replaced but written to.
///
/// # Errors
/// [`Failure`] if the file is read-only or cannot be written; it is then as it was.
pub fn write_atomically(path: &Path, bytes: &[u8], backup: Backup) -> Result<(), Failure> {
    if fs::metadata(path).is_ok_and(|m| !m.is_file() && !m.is_dir()) {
        let write = |mut device: File| device.write_all(bytes).and_then(|()| device.flush());
        return File::options().write(true).open(path).and_then(write).map_err(|e| Failure::writing(path, e));
    }
    let target = resolve_links(path)?;
    let permissions = match fs::metadata(&target) {
        Ok(metadata) if metadata.is_dir() => return Err(Failure::IsFolder { path: path.to_owned() }),
        Ok(metadata) if metadata.permissions().readonly() => return Err(Failure::ReadOnly { path: path.to_owned() }),
        Ok(metadata) => Some(metadata.permissions()),
        Err(error) if error.kind() == io::ErrorKind::NotFound => None,
        Err(error) => return Err(Failure::writing(path, error)),
    };
    let write = || {
        let had_file = permissions.is_some();
        let temporary = write_beside(&target, &target, bytes, permissions)?;
        if had_file && backup == Backup::Keep {
            keep_backup(&target)?;
        }
        temporary.persist(&target).map_err(|e| e.error)?;
        sync_folder(&target)
    };
    write().map_err(|e| Failure::writing(path, e))
}

/// Writes a file that must not exist yet, whole or not at all.
///
/// # Errors
/// [`Failure::Exists`] if there is one, another [`Failure`] if it cannot be written.
pub fn write_new(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    write_new_for(path, path, bytes)
}

/// Writes a new file beside a song; what an interruption leaves behind is named after the song, and removed when that is opened next.
pub(super) fn write_new_for(song: &Path, path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let write = || {
        let temporary = write_beside(path, song, bytes, None)?;
        temporary.persist_noclobber(path).map_err(|e| e.error)?;
        sync_folder(path)
    };
    write().map_err(|e: io::Error| match e.kind() {
        io::ErrorKind::AlreadyExists => Failure::Exists { path: path.to_owned() },
        _ => Failure::writing(path, e),
    })
}

/// Returns where the backup of a file is kept: beside it, hidden.
pub fn backup_path(path: &Path) -> PathBuf {
    beside(path, ".backup")
}

/// Returns the path of a hidden companion of a file: `.name` and a suffix, in the same folder.
pub(super) fn beside(path: &Path, suffix: &str) -> PathBuf {
    let mut name = OsString::from(".");
    name.push(path.file_name().unwrap_or_default());
    name.push(suffix);
    path.with_file_name(name)
}

/// Follows symbolic links to the file that is to be replaced, which need not exist.
pub(super) fn resolve_links(path: &Path) -> Result<PathBuf, Failure> {
    /// More links than any system follows.
    const MOST_LINKS: usize = 40;
    let mut target = path.to_owned();
    for _ in 0..MOST_LINKS {
        match fs::read_link(&target) {
            Ok(next) => target = folder(&target).join(next),
            Err(_) => return Ok(target),
        }
    }
    Err(Failure::writing(path, io::Error::other("too many symbolic links")))
}

/// Removes what interrupted saves of a file have left behind. Only the holder of the file's lock may call this.
pub(super) fn remove_leftovers(path: &Path) {
    let prefix = beside(path, TEMPORARY);
    let Some(prefix) = prefix.file_name().and_then(|n| n.to_str()).map(str::to_owned) else { return };
    let entries = fs::read_dir(folder(path)).into_iter().flatten().flatten();
    for entry in entries.filter(|e| e.file_name().to_str().is_some_and(|n| n.starts_with(&prefix))) {
        // What cannot be removed does no harm.
        let _ = fs::remove_file(entry.path());
    }
}

/// Forces a change in the folder of a file to the disk; some file systems cannot, and need not.
pub(super) fn sync_folder(path: &Path) -> io::Result<()> {
    if cfg!(not(unix)) {
        return Ok(());
    }
    match File::open(folder(path)).and_then(|folder| folder.sync_all()) {
        Err(e) if matches!(e.kind(), io::ErrorKind::Unsupported | io::ErrorKind::InvalidInput) => Ok(()),
        result => result,
    }
}

const TEMPORARY: &str = ".new-";

/// Writes a temporary file in the folder of a path, named after `owner`.
fn write_beside(
    path: &Path,
    owner: &Path,
    bytes: &[u8],
    permissions: Option<fs::Permissions>,
) -> io::Result<tempfile::NamedTempFile> {
    let prefix = beside(owner, TEMPORARY);
    let mut builder = tempfile::Builder::new();
    builder.prefix(prefix.file_name().unwrap_or_default());
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // Without this a temporary file is for its owner alone; the umask still applies.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    // The library's error names the temporary file, which says nothing to anybody.
    let mut temporary = builder.tempfile_in(folder(path)).map_err(without_path)?;
    temporary.write_all(bytes).map_err(without_path)?;
    if let Some(permissions) = permissions {
        temporary.as_file().set_permissions(permissions)?;
    }
    temporary.as_file().sync_all()?;
    Ok(temporary)
}

/// The same error as the system gave it.
fn without_path(error: io::Error) -> io::Error {
    let system = error.raw_os_error().or_else(|| {
        let inner = error.get_ref().and_then(|e| e.source())?;
        inner.downcast_ref::<io::Error>()?.raw_os_error()
    });
    system.map_or_else(|| error.kind().into(), io::Error::from_raw_os_error)
}

/// Makes the present content of a file its backup, without ever leaving it without one.
fn keep_backup(path: &Path) -> io::Result<()> {
    let backup = backup_path(path);
    let fresh = beside(path, ".new-backup");
    match fs::remove_file(&fresh) {
        Err(e) if e.kind() != io::ErrorKind::NotFound => return Err(e),
        _ => {}
    }
    // A link costs nothing and is whole at once; where there are no links, a copy.
    if fs::hard_link(path, &fresh).is_err() {
        fs::copy(path, &fresh)?;
        File::open(&fresh)?.sync_all()?;
    }
    fs::rename(&fresh, &backup)?;
    // After an interrupted save both names may lead to the same file, and renaming one to the other then does nothing.
    match fs::remove_file(&fresh) {
        Err(e) if e.kind() != io::ErrorKind::NotFound => Err(e),
        _ => Ok(()),
    }
}

fn folder(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_old_content_becomes_the_backup() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("song.yaml");
        write_atomically(&path, b"one", Backup::Keep).unwrap();
        assert!(!backup_path(&path).exists());
        write_atomically(&path, b"two", Backup::Keep).unwrap();
        write_atomically(&path, b"three", Backup::Keep).unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"three");
        assert_eq!(fs::read(backup_path(&path)).unwrap(), b"two");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2, "nothing else is left");
    }

    #[test]
    fn a_new_file_never_replaces_one() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("song.yaml");
        write_new(&path, b"one").unwrap();
        assert!(matches!(write_new(&path, b"two"), Err(Failure::Exists { .. })));
        assert_eq!(fs::read(&path).unwrap(), b"one");
    }

    #[cfg(unix)]
    #[test]
    fn permissions_and_links_stay() {
        use std::os::unix::fs::{PermissionsExt, symlink};
        let folder = tempfile::tempdir().unwrap();
        let (file, link, link_to_link) =
            (folder.path().join("song.yaml"), folder.path().join("link.yaml"), folder.path().join("again.yaml"));
        fs::write(&file, b"one").unwrap();
        fs::set_permissions(&file, fs::Permissions::from_mode(0o640)).unwrap();
        symlink("song.yaml", &link).unwrap();
        symlink(&link, &link_to_link).unwrap();
        write_atomically(&link_to_link, b"two", Backup::Keep).unwrap();
        assert!(fs::symlink_metadata(&link_to_link).unwrap().is_symlink());
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read(&file).unwrap(), b"two");
        assert_eq!(fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o640);
    }

    #[cfg(unix)]
    #[test]
    fn a_read_only_file_is_left_alone() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("song.yaml");
        fs::write(&path, b"one").unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).unwrap();
        assert!(matches!(write_atomically(&path, b"two", Backup::Keep), Err(Failure::ReadOnly { .. })));
        assert_eq!(fs::read(&path).unwrap(), b"one");
    }
}
