//! Settings: what the singer wants to be the same every time.

use super::{Failure, Paths, decode::read_utf8, yaml};
use crate::sheet::Row;
use crate::song::Style;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// The settings file `settings.yaml` in the settings folder; every key may be absent.
#[derive(Clone, Debug, Default, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Settings {
    /// The folder of songs that `find` searches; the current folder where it is absent.
    pub repertoire: Option<PathBuf>,
    /// Language of glosses in new songs, a BCP 47 tag; English where it is absent.
    pub gloss_language: Option<String>,
    /// How tags are printed.
    pub tag_style: Option<Style>,
    /// The rows of a sheet.
    pub rows: Option<Vec<Row>>,
    /// Keys of the editor by the name of the action, in place of the usual ones.
    pub keys: BTreeMap<String, Vec<String>>,
}

impl Settings {
    /// Reads the settings; without a file they are all absent.
    ///
    /// # Errors
    /// [`Failure`] if the file cannot be read, with the line of a mistake in it.
    pub fn read(paths: &Paths) -> Result<Settings, Failure> {
        let path = paths.config.join("settings.yaml");
        match read_utf8(&path, 1_000_000) {
            Ok(content) => yaml::parse(&path, &content),
            Err(Failure::Missing { .. } | Failure::Empty { .. }) => Ok(Settings::default()),
            Err(failure) => Err(failure),
        }
    }
}
