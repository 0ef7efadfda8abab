//! Locks: two windows on one file are noticed.
//!
//! The lock stands on a companion of the file, since saving replaces the file itself. It is advisory, and goes with the process
//! that holds it, however that ends.

use super::Failure;
use super::save::beside;
use std::fs::{self, File, TryLockError};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// A lock on a file, held until it is dropped.
#[derive(Debug)]
pub(super) struct Lock {
    path: PathBuf,
    /// `None` where the file system has no locks.
    file: Option<File>,
}

impl Lock {
    /// Takes the lock on a file.
    ///
    /// # Errors
    /// [`Failure::Locked`] if another process holds it, [`Failure::Write`] if the folder does not allow a lock to be made.
    pub(super) fn take(path: &Path) -> Result<Lock, Failure> {
        let lock_path = beside(path, ".lock");
        loop {
            let mut options = File::options();
            let mut file = options
                .read(true)
                .write(true)
                .create(true)
                .truncate(false)
                .open(&lock_path)
                .map_err(|e| Failure::writing(path, e))?;
            match file.try_lock() {
                Ok(()) if is_still_at(&file, &lock_path) => {
                    // Who holds it is told to the next who asks; without that the lock is as good.
                    let _ = file.set_len(0).and_then(|()| write!(file, "process {}", std::process::id()));
                    return Ok(Lock { path: lock_path, file: Some(file) });
                }
                // The former holder removed it between our opening and locking.
                Ok(()) => {}
                Err(TryLockError::WouldBlock) => {
                    let mut holder = String::new();
                    let _ = file.take(100).read_to_string(&mut holder);
                    let holder = if holder.is_empty() { "another program".to_owned() } else { holder };
                    return Err(Failure::Locked { path: path.to_owned(), holder });
                }
                Err(TryLockError::Error(_)) => return Ok(Lock { path: lock_path, file: None }),
            }
        }
    }

    /// Takes the lock, and waits a little for a process that is only saving.
    ///
    /// # Errors
    /// As [`Lock::take`].
    pub(super) fn wait_for(path: &Path) -> Result<Lock, Failure> {
        const PATIENCE: Duration = Duration::from_secs(3);
        let start = Instant::now();
        loop {
            match Lock::take(path) {
                Err(Failure::Locked { .. }) if start.elapsed() < PATIENCE => {
                    std::thread::sleep(Duration::from_millis(20));
                }
                result => return result,
            }
        }
    }

    /// Tells whether the file system really keeps the lock.
    pub(super) fn is_kept(&self) -> bool {
        self.file.is_some()
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        if self.file.is_some() {
            // Removed while still held, so that nobody else holds a file that is about to go.
            let _ = fs::remove_file(&self.path);
        }
    }
}

/// Tells whether an open file is still the one at a path.
#[cfg(unix)]
fn is_still_at(file: &File, path: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let id = |m: fs::Metadata| (m.dev(), m.ino());
    file.metadata().ok().map(id) == fs::metadata(path).ok().map(id)
}

#[cfg(not(unix))]
fn is_still_at(_file: &File, _path: &Path) -> bool {
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_holder_at_a_time() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("song.yaml");
        let lock = Lock::take(&path).unwrap();
        assert!(lock.is_kept());
        let Err(Failure::Locked { holder, .. }) = Lock::take(&path) else { panic!("a second lock was given") };
        assert_eq!(holder, format!("process {}", std::process::id()));
        drop(lock);
        Lock::take(&path).unwrap();
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 0);
    }
}
