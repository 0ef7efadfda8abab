//! Tags in the notation of Universal Dependencies, version 2.

use super::{Feature, Pos, Tag};
use std::collections::BTreeMap;
use thiserror::Error;

/// Part of speech and features as the columns UPOS and FEATS of a CoNLL-U file hold them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ud {
    /// `X` where the tag has no part of speech.
    pub upos: &'static str,
    /// `Feature=Value` pairs, sorted, joined by `|`; `_` where there are none.
    pub features: String,
}

/// A part of speech or feature of Universal Dependencies that the project does not know.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("`{0}` is no part of speech or feature of the project")]
pub struct UnknownUd(pub String);

impl Tag {
    /// Returns the tag in the notation of Universal Dependencies; `None` for free text.
    ///
    /// Features that Universal Dependencies does not have are left out.
    pub fn to_ud(&self) -> Option<Ud> {
        if !self.is_known() {
            return None;
        }
        // The format page asks for features sorted without regard to case, values of one feature joined by commas.
        let mut pairs: BTreeMap<String, (&str, Vec<&str>)> = BTreeMap::new();
        for (name, value) in self.features().iter().filter_map(|f| f.ud()?.split_once('=')) {
            let values = &mut pairs.entry(name.to_lowercase()).or_insert((name, Vec::new())).1;
            values.push(value);
            values.sort_unstable_by_key(|v| v.to_lowercase());
            values.dedup();
        }
        let pairs: Vec<String> =
            pairs.into_values().map(|(name, values)| format!("{name}={}", values.join(","))).collect();
        let features = if pairs.is_empty() { "_".to_owned() } else { pairs.join("|") };
        Some(Ud { upos: self.pos().map_or("X", Pos::upos), features })
    }

    /// Reads the columns UPOS and FEATS of a CoNLL-U file.
    ///
    /// # Errors
    /// The first part of speech or `Feature=Value` that the project does not know.
    pub fn from_ud(upos: &str, features: &str) -> Result<Tag, UnknownUd> {
        let pos = match upos {
            "_" => None,
            upos => Some(Pos::from_upos(upos).ok_or_else(|| UnknownUd(upos.to_owned()))?),
        };
        let mut found = Vec::new();
        for pair in features.split('|').filter(|pair| !pair.is_empty() && *pair != "_") {
            let (name, values) = pair.split_once('=').ok_or_else(|| UnknownUd(pair.to_owned()))?;
            for value in values.split(',') {
                let pair = format!("{name}={value}");
                found.push(Feature::from_ud(&pair).ok_or(UnknownUd(pair))?);
            }
        }
        Ok(Tag::new(pos, found))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_feature_with_a_ud_name_comes_back() {
        for feature in Feature::all().filter(|f| f.ud().is_some() && f.abbreviation() != "PRF") {
            let ud = Tag::new(Some(Pos::X), [feature]).to_ud().unwrap();
            assert_eq!(Tag::from_ud(ud.upos, &ud.features).unwrap(), Tag::new(Some(Pos::X), [feature]));
        }
    }

    #[test]
    fn several_values_of_one_feature() {
        let tag = Tag::from_ud("DET", "Gender=Fem,Masc|Number=Plur").unwrap();
        assert_eq!(tag.to_string(), "DET.M.F.PL");
        assert_eq!(tag.to_ud().unwrap().features, "Gender=Fem,Masc|Number=Plur");
    }

    #[test]
    fn possessor_and_possessed() {
        let tag = Tag::parse("DET.POSS.1SG.F.PL");
        let features = "Gender=Fem|Number=Plur|Number[psor]=Sing|Person=1|Poss=Yes";
        assert_eq!(tag.to_ud().unwrap().features, features);
        assert_eq!(Tag::from_ud("DET", features).unwrap(), tag);
    }

    #[test]
    fn unknown_names_are_named() {
        assert_eq!(Tag::from_ud("NUON", "_"), Err(UnknownUd("NUON".into())));
        assert_eq!(Tag::from_ud("NOUN", "Gender=Blue"), Err(UnknownUd("Gender=Blue".into())));
        assert_eq!(Tag::from_ud("NOUN", "Gender"), Err(UnknownUd("Gender".into())));
    }
}
