//! Finding text in a song: in the original, the glosses, the translation, the notes.

use super::{LineAt, Song, Word};
use crate::text::fold::finding_key;

/// A place where a text stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hit {
    /// The line, unless the text stands in a situation note.
    pub at: Option<LineAt>,
    /// The part of the line or song in which it stands.
    pub part: SearchPart,
    /// The whole text of that part.
    pub text: String,
}

/// A part of a song that is searched.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[expect(missing_docs, reason = "the names say it")]
pub enum SearchPart {
    Text,
    Lemma,
    Gloss,
    Translation,
    WordNote,
    Note,
}

impl SearchPart {
    /// Returns the name of the part.
    pub fn name(self) -> &'static str {
        match self {
            SearchPart::Text => "text",
            SearchPart::Lemma => "lemma",
            SearchPart::Gloss => "gloss",
            SearchPart::Translation => "translation",
            SearchPart::WordNote => "word note",
            SearchPart::Note => "note",
        }
    }
}

/// Finds a word or phrase: accents and case do not matter, and it may be the beginning of a word.
///
/// Each part of each line is listed once. An empty query finds nothing.
pub fn search(song: &Song, query: &str) -> Vec<Hit> {
    let query = finding_key(query.trim());
    if query.is_empty() {
        return Vec::new();
    }
    let mut hits = Vec::new();
    for note in &song.notes {
        if is_in(&query, &note.text) {
            hits.push(Hit { at: None, part: SearchPart::Note, text: format!("{} {}", note.prompt, note.text) });
        }
    }
    for (at, line) in song.lines() {
        let mut add = |part, text: String| hits.push(Hit { at: Some(at), part, text });
        let text = line.text();
        let (in_text, has_lemma) =
            (is_in(&query, &text), line.words.iter().any(|w| finding_key(w.lemma.text()) == query));
        if in_text || has_lemma {
            add(if in_text { SearchPart::Text } else { SearchPart::Lemma }, text);
        }
        let glosses: Vec<&str> = line.words.iter().map(|w: &Word| w.gloss.text()).filter(|g| !g.is_empty()).collect();
        if glosses.iter().any(|gloss| is_in(&query, gloss)) {
            add(SearchPart::Gloss, glosses.join(" "));
        }
        if is_in(&query, &line.translation) {
            add(SearchPart::Translation, line.translation.clone());
        }
        for word in line.words.iter().filter(|w| is_in(&query, &w.note)) {
            add(SearchPart::WordNote, format!("{}: {}", word.form, word.note));
        }
    }
    hits
}

/// Tells whether a folded query stands in a text at the beginning of a word.
fn is_in(query: &str, text: &str) -> bool {
    let text = finding_key(text);
    text.match_indices(query).any(|(at, _)| !text[..at].ends_with(char::is_alphanumeric))
}

#[cfg(test)]
mod tests {
    use super::super::{Cell, Line, Section};
    use super::*;

    #[test]
    fn accents_and_case_do_not_matter() {
        assert!(is_in("perche", "Ah, perché?"));
        assert!(is_in("dell'amor", "Dell’amore"));
        assert!(!is_in("mar", "amaro"));
        assert!(is_in("mar", "al mare"));
    }

    #[test]
    fn each_part_is_told_once() {
        let word = |form: &str, gloss: &str, lemma: &str| Word {
            gloss: Cell::Settled(gloss.into()),
            lemma: Cell::Settled(lemma.into()),
            ..Word::new(form)
        };
        let words = vec![word("va", "goes", "andare"), word("il", "the", "il"), word("mar", "sea", "mare")];
        let line = Line { words, translation: "The sea goes".into(), ..Line::default() };
        let song = Song { sections: vec![Section { lines: vec![line], ..Section::default() }], ..Song::default() };
        let parts = |query| search(&song, query).into_iter().map(|h| h.part.name()).collect::<Vec<_>>();
        assert_eq!(parts("sea"), ["gloss", "translation"]);
        assert_eq!(parts("andare"), ["lemma"]);
        assert_eq!(parts("va il"), ["text"]);
        assert_eq!(parts(" "), [""; 0]);
    }
}
