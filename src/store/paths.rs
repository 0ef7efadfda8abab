//! Folders: where settings and lexica are kept.

use super::Failure;
use std::ffi::OsString;
use std::path::{Path, PathBuf};

/// The folders of this user.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Paths {
    /// Holds the settings file.
    pub config: PathBuf,
    /// Holds the lexica.
    pub data: PathBuf,
}

impl Paths {
    /// Finds the folders: those that `UNDERSONG_CONFIG_DIR` and `UNDERSONG_DATA_DIR` name, else those that the operating system
    /// intends for settings and data.
    ///
    /// # Errors
    /// [`Failure::NoHome`] if neither is known.
    pub fn find() -> Result<Paths, Failure> {
        let named = |variable: &str| std::env::var_os(variable).filter(|v| !v.is_empty());
        Paths::from(named("UNDERSONG_CONFIG_DIR"), named("UNDERSONG_DATA_DIR"))
    }

    fn from(config: Option<OsString>, data: Option<OsString>) -> Result<Paths, Failure> {
        let usual = directories::ProjectDirs::from("", "", "undersong");
        let folder = |named: Option<OsString>, usual: Option<&Path>| {
            named.map(PathBuf::from).or(usual.map(Path::to_owned)).ok_or(Failure::NoHome)
        };
        Ok(Paths {
            config: folder(config, usual.as_ref().map(|u| u.config_dir()))?,
            data: folder(data, usual.as_ref().map(|u| u.data_dir()))?,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn named_folders_win() {
        let paths = Paths::from(Some("c".into()), Some("d".into())).unwrap();
        assert_eq!(paths, Paths { config: "c".into(), data: "d".into() });
    }
}
