//! Songs as short texts, for tests that say what was there, which keys were pressed and what is there now.
//!
//! ```text
//! # Aria / Livia                           a section: heading, speaker; left out where a song is one plain section
//! 9-10 | l’:the [onda:~wave/NOUN.F.SG]     bars; words with gloss, tag, sound, lemma; the word under the cursor
//! Non^1 chiedo@ ad_ora, = I ask            links, a word to be asked about, a phrase, a translation
//! ? Who? = Livia                           a situation note
//! ```
//!
//! A draft stands behind a tilde; blank cells stand empty, at the end of a word they are left out. `()` is a line without
//! words.

use std::num::NonZeroU8;
use undersong::song::{Annotation, Cell, Line, Note, Section, Song, Tag, Word, WordAt};

const ROWS: [Annotation; 4] = [Annotation::Gloss, Annotation::Tag, Annotation::Sound, Annotation::Lemma];
const MARKS: [char; 6] = [',', '.', ';', '!', '?', '…'];

/// Reads a song and the place of the cursor.
pub fn read(notation: &str) -> (Song, WordAt) {
    let mut song = Song { id: "song".into(), ..Song::default() };
    (song.details.language, song.details.gloss_language) = ("it".into(), "en".into());
    let mut cursor = WordAt::default();
    for text in notation.lines().filter(|l| !l.is_empty()) {
        if let Some(head) = text.strip_prefix('#') {
            let (heading, speaker) = head.split_once('/').unwrap_or((head, ""));
            let (heading, speaker) = (heading.trim().to_owned(), speaker.trim().to_owned());
            song.sections.push(Section { heading, speaker, lines: Vec::new() });
        } else if let Some(note) = text.strip_prefix("? ") {
            let (prompt, text) = note.split_once('=').unwrap_or((note, ""));
            song.notes.push(Note { prompt: prompt.trim().to_owned(), text: text.trim().to_owned() });
        } else {
            if song.sections.is_empty() {
                song.sections.push(Section::default());
            }
            let section = song.sections.len() - 1;
            let lines = &mut song.sections[section].lines;
            let (line, word) = read_line(text);
            if let Some(word) = word {
                cursor = WordAt { section, line: lines.len(), word };
            }
            lines.push(line);
        }
    }
    (song, cursor)
}

fn read_line(text: &str) -> (Line, Option<usize>) {
    let (text, translation) = text.split_once(" = ").unwrap_or((text, ""));
    let (bars, text) = text.split_once(" | ").unwrap_or(("", text));
    let mut line = Line { translation: translation.to_owned(), bars: bars.parse().ok(), ..Line::default() };
    let mut cursor = None;
    for token in text.split_whitespace().filter(|t| *t != "()") {
        let bare = token.trim_start_matches('[').trim_end_matches(']');
        if bare.len() < token.len() {
            cursor = Some(line.words.len());
        }
        line.words.push(read_word(bare));
    }
    (line, cursor)
}

fn read_word(token: &str) -> Word {
    let (written, cells) = token.split_once(':').unwrap_or((token, ""));
    let (written, ask) = written.strip_suffix('@').map_or((written, false), |rest| (rest, true));
    let (written, link) = written.split_once('^').unwrap_or((written, ""));
    let form = written.trim_end_matches(MARKS);
    let mut word = Word::new(form.replace('_', " "));
    word.trail = written[form.len()..].to_owned();
    word.is_joined = form.ends_with('’');
    word.ask = ask;
    word.link = link.parse().ok().and_then(NonZeroU8::new);
    for (row, text) in ROWS.into_iter().zip(cells.split('/')) {
        let cell = match text.strip_prefix('~') {
            Some(draft) => Cell::Draft(draft.to_owned()),
            None if text.is_empty() => Cell::Blank,
            None => Cell::Settled(text.to_owned()),
        };
        match row {
            Annotation::Gloss => word.gloss = cell,
            Annotation::Tag => word.tag = cell.map(|text| Tag::parse(&text)),
            Annotation::Sound => word.sound = cell,
            Annotation::Lemma => word.lemma = cell,
        }
    }
    word
}

/// Writes a song with the cursor in it.
pub fn write(song: &Song, cursor: Option<WordAt>) -> String {
    let is_plain = |s: &Section| s.heading.is_empty() && s.speaker.is_empty();
    let has_heads = song.sections.len() > 1 || song.sections.iter().any(|s| !is_plain(s));
    let mut rows = Vec::new();
    for (section, of_song) in song.sections.iter().enumerate() {
        if has_heads {
            let speaker = if of_song.speaker.is_empty() { String::new() } else { format!(" / {}", of_song.speaker) };
            rows.push(format!("# {}{speaker}", of_song.heading).trim_end().to_owned());
        }
        for (line, of_section) in of_song.lines.iter().enumerate() {
            let is_here = |word| cursor == Some(WordAt { section, line, word });
            rows.push(write_line(of_section, is_here));
        }
    }
    rows.extend(song.notes.iter().map(|n| format!("? {} = {}", n.prompt, n.text).trim_end_matches(" = ").to_owned()));
    rows.join("\n")
}

fn write_line(line: &Line, is_here: impl Fn(usize) -> bool) -> String {
    let bars = line.bars.map(|b| format!("{b} | ")).unwrap_or_default();
    let words = line.words.iter().enumerate();
    let words: Vec<String> = words
        .map(|(idx, word)| if is_here(idx) { format!("[{}]", write_word(word)) } else { write_word(word) })
        .collect();
    let words = if words.is_empty() { "()".to_owned() } else { words.join(" ") };
    let translation = if line.translation.is_empty() { String::new() } else { format!(" = {}", line.translation) };
    format!("{bars}{words}{translation}")
}

fn write_word(word: &Word) -> String {
    let cells = ROWS.map(|row| match word.annotation(row) {
        Cell::Blank => String::new(),
        Cell::Draft(text) => format!("~{text}"),
        Cell::Settled(text) => text,
    });
    let cells = cells.join("/");
    let cells = cells.trim_end_matches('/');
    let colon = if cells.is_empty() { "" } else { ":" };
    let link = word.link.map(|n| format!("^{n}")).unwrap_or_default();
    let ask = if word.ask { "@" } else { "" };
    format!("{}{}{link}{ask}{colon}{cells}", word.form.replace(' ', "_"), word.trail)
}

#[test]
fn notation_is_read_and_written() {
    for text in [
        "la:the notte",
        "9-10 | l’:the [onda:~wave/NOUN.F.SG] e.",
        "Non^1 chiedo@:I-ask///chiedere ad_ora = I ask\n()",
        "# Aria / Livia\nO\n# 2\nnotte\n#\nsol\n? Who? = Livia\n? When?",
    ] {
        let (song, cursor) = read(text);
        assert_eq!(write(&song, text.contains('[').then_some(cursor)), text);
    }
}
