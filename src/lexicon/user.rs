//! The singer's own lexicon of one language pair: entries by form, and the look-up.

use super::Sense;
use crate::text::{
    self,
    fold::{comparison_key, finding_key},
};
use std::collections::{BTreeMap, HashMap};

/// The senses of one language pair.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Lexicon {
    language: String,
    gloss_language: String,
    entries: BTreeMap<String, Entry>,
    index: Index,
}

/// The senses that one written form can have.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Entry {
    /// In the order in which they were first recorded.
    pub senses: Vec<Recorded>,
}

/// A sense and where it comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Recorded {
    /// The sense.
    pub sense: Sense,
    /// How often each song uses it, by song key.
    pub songs: BTreeMap<String, u32>,
    /// Whether the singer added it by hand, so that it stays without any song.
    pub is_added: bool,
}

/// A sense found for a form.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Candidate<'a> {
    /// The form under which it is recorded.
    pub form: &'a str,
    /// The sense.
    pub sense: &'a Sense,
    /// Where it comes from.
    pub recorded: &'a Recorded,
    /// How alike the two forms are.
    pub likeness: Likeness,
}

/// How alike a form is to the one under which a sense is recorded; the best first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Likeness {
    /// The same letters; apostrophes may differ in shape.
    Exact,
    /// The same but for capitals, or the hyphen before a clitic.
    Folded,
    /// The same but for accents and ligatures.
    Found,
}

/// The forms under which entries are found, kept in step with the entries.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
struct Index {
    by_comparison: HashMap<String, Vec<String>>,
    by_finding: HashMap<String, Vec<String>>,
}

impl Lexicon {
    /// Makes an empty lexicon for a language pair of BCP 47 tags.
    pub fn new(language: &str, gloss_language: &str) -> Lexicon {
        Lexicon { language: language.to_owned(), gloss_language: gloss_language.to_owned(), ..Lexicon::default() }
    }

    /// Returns the language of the forms.
    pub fn language(&self) -> &str {
        &self.language
    }

    /// Returns the language of the glosses.
    pub fn gloss_language(&self) -> &str {
        &self.gloss_language
    }

    /// Returns the entries in the order of their forms.
    pub fn entries(&self) -> impl Iterator<Item = (&str, &Entry)> {
        self.entries.iter().map(|(form, entry)| (form.as_str(), entry))
    }

    /// Returns the number of senses.
    pub fn n_senses(&self) -> usize {
        self.entries.values().map(|entry| entry.senses.len()).sum()
    }

    /// Returns every sense that a form can have: those of the same form first, then the senses used most, then those added by hand.
    ///
    /// Forms that are the same but for capitals count as well; those that differ in accents only where there are no others.
    pub fn look_up(&self, form: &str) -> Vec<Candidate<'_>> {
        let form = stored_form(form);
        let mut found: Vec<Candidate<'_>> = Vec::new();
        let mut add = |forms: &[String], likeness| {
            for alike in forms {
                let likeness = if *alike == form { Likeness::Exact } else { likeness };
                let Some((form, entry)) = self.entries.get_key_value(alike) else { continue };
                found.extend(entry.senses.iter().map(|r| Candidate { form, sense: &r.sense, recorded: r, likeness }));
            }
            !found.is_empty()
        };
        let Index { by_comparison, by_finding } = &self.index;
        let none = Vec::new();
        let key = comparison_key(&form);
        // A French pronoun behind its verb is the same word without its hyphen.
        let without_hyphen = key.trim_start_matches('-');
        let _ = add(by_comparison.get(&key).unwrap_or(&none), Likeness::Folded)
            || add(by_comparison.get(without_hyphen).unwrap_or(&none), Likeness::Folded)
            || add(by_finding.get(&finding_key(without_hyphen)).unwrap_or(&none), Likeness::Found);
        found.sort_by_key(|c| (c.likeness, std::cmp::Reverse(c.recorded.n_uses()), !c.recorded.is_added));
        found
    }

    /// Adds a sense by hand; returns whether it is new.
    pub fn add(&mut self, form: &str, sense: Sense) -> bool {
        let recorded = self.record(form, sense);
        let is_new = !recorded.is_added && recorded.songs.is_empty();
        recorded.is_added = true;
        is_new
    }

    /// Removes the senses of a form, or only those with a gloss; returns them.
    ///
    /// A song that still has such a sense settled brings it back when it is learnt from next.
    pub fn forget(&mut self, form: &str, gloss: Option<&str>) -> Vec<Recorded> {
        let form = stored_form(form);
        let Some(entry) = self.entries.get_mut(&form) else { return Vec::new() };
        let (gone, kept) = std::mem::take(&mut entry.senses)
            .into_iter()
            .partition(|r| gloss.is_none_or(|gloss| r.sense.gloss == gloss));
        entry.senses = kept;
        if entry.senses.is_empty() {
            self.remove_entry(&form);
        }
        gone
    }

    /// Returns the record of a sense, made if need be.
    pub(super) fn record(&mut self, form: &str, sense: Sense) -> &mut Recorded {
        let form = stored_form(form);
        if !self.entries.contains_key(&form) {
            self.index.insert(&form);
        }
        let senses = &mut self.entries.entry(form).or_default().senses;
        let idx = senses.iter().position(|r| r.sense == sense).unwrap_or_else(|| {
            senses.push(Recorded { sense, songs: BTreeMap::new(), is_added: false });
            senses.len() - 1
        });
        &mut senses[idx]
    }

    /// Puts a record read from a file into the lexicon; one that is there already gains the songs.
    pub fn restore(&mut self, form: &str, restored: Recorded) {
        let recorded = self.record(form, restored.sense);
        recorded.songs.extend(restored.songs);
        recorded.is_added |= restored.is_added;
    }

    /// Withdraws what a song contributed; senses that are then without songs and were not added by hand go.
    pub(super) fn withdraw(&mut self, song: &str) {
        for entry in self.entries.values_mut() {
            entry.senses.retain_mut(|r| r.songs.remove(song).is_none() || r.is_added || !r.songs.is_empty());
        }
        let empty: Vec<String> =
            self.entries.iter().filter(|(_, e)| e.senses.is_empty()).map(|(form, _)| form.clone()).collect();
        for form in empty {
            self.remove_entry(&form);
        }
    }

    fn remove_entry(&mut self, form: &str) {
        self.entries.remove(form);
        self.index.remove(form);
    }
}

impl Recorded {
    /// Returns how often all songs together use the sense.
    pub fn n_uses(&self) -> u32 {
        self.songs.values().fold(0, |sum, n| sum.saturating_add(*n))
    }
}

impl Index {
    fn insert(&mut self, form: &str) {
        self.by_comparison.entry(comparison_key(form)).or_default().push(form.to_owned());
        self.by_finding.entry(finding_key(form)).or_default().push(form.to_owned());
    }

    fn remove(&mut self, form: &str) {
        for (map, key) in [(&mut self.by_comparison, comparison_key(form)), (&mut self.by_finding, finding_key(form))] {
            if let Some(forms) = map.get_mut(&key) {
                forms.retain(|f| f != form);
                if forms.is_empty() {
                    map.remove(&key);
                }
            }
        }
    }
}

/// A form as the lexicon stores it: NFC, with typographic apostrophes.
pub(super) fn stored_form(form: &str) -> String {
    text::nfc(form).chars().map(|c| if text::is_apostrophe(c) { '’' } else { c }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn glosses<'a>(lexicon: &'a Lexicon, form: &str) -> Vec<&'a str> {
        lexicon.look_up(form).into_iter().map(|c| c.sense.gloss.as_str()).collect()
    }

    #[test]
    fn exact_forms_come_before_folded_ones() {
        let mut lexicon = Lexicon::new("de", "en");
        lexicon.add("liebe", Sense::new("I-love"));
        lexicon.add("Liebe", Sense::new("love"));
        assert_eq!(glosses(&lexicon, "Liebe"), ["love", "I-love"]);
        assert_eq!(glosses(&lexicon, "liebe"), ["I-love", "love"]);
    }

    #[test]
    fn accents_matter_only_where_the_form_is_known() {
        let mut lexicon = Lexicon::new("it", "en");
        lexicon.add("è", Sense::new("is"));
        assert_eq!(glosses(&lexicon, "e"), ["is"]);
        lexicon.add("e", Sense::new("and"));
        assert_eq!(glosses(&lexicon, "E"), ["and"]);
    }

    #[test]
    fn the_shape_of_apostrophe_and_hyphen_does_not_matter() {
        let mut lexicon = Lexicon::new("fr", "en");
        lexicon.add("l'", Sense::new("the"));
        lexicon.add("tu", Sense::new("you"));
        assert_eq!(glosses(&lexicon, "l’"), ["the"]);
        assert_eq!(lexicon.look_up("lʼ")[0].likeness, Likeness::Exact);
        assert_eq!(glosses(&lexicon, "-tu"), ["you"]);
    }

    #[test]
    fn forgetting_leaves_nothing_behind() {
        let mut lexicon = Lexicon::new("it", "en");
        lexicon.add("sol", Sense::new("sun"));
        lexicon.add("sol", Sense::new("only"));
        assert_eq!(lexicon.forget("sol", Some("sun")).len(), 1);
        assert_eq!(glosses(&lexicon, "sol"), ["only"]);
        assert_eq!(lexicon.forget("sol", None).len(), 1);
        assert_eq!(lexicon, Lexicon::new("it", "en"));
    }
}
