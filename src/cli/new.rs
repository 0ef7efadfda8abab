//! `undersong new`: a song from a text.

use super::Outcome;
use super::report::{Trouble, count, path_text, print_json, say};
use crate::import::{SITUATION_PROMPTS, paste};
use crate::language::{ALL, by_tag_or_plain};
use crate::song::{Details, Note, Song};
use crate::store::{Encoding, Paths, Settings, new_id, read_text, song_to_yaml, write_new};
use crate::text::clean::line;
use serde::Serialize;
use std::path::PathBuf;

/// Start a song, from a pasted text or empty
///
/// The text may hold stanza numbers, speakers, stage directions in brackets, bar numbers in the margin and refrains; what was recognised
/// is listed. Without --text the song has no lines yet.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Song file to make, for example notte.yaml
    file: PathBuf,
    /// Language of the text as a tag: it, de, fr, la, es, ru, en or another
    #[arg(long, value_name = "TAG")]
    lang: String,
    /// Title of the song; otherwise the name of the file
    #[arg(long, value_name = "TITLE")]
    title: Option<String>,
    /// Text file, or - for standard input
    #[arg(long, value_name = "FILE")]
    text: Option<PathBuf>,
    /// Larger work: opera and act, cycle and number
    #[arg(long, value_name = "WORK")]
    work: Option<String>,
    /// Composer
    #[arg(long, value_name = "NAME")]
    composer: Option<String>,
    /// Poet or librettist
    #[arg(long, value_name = "NAME")]
    poet: Option<String>,
    /// Language of glosses and translation; English unless the settings name another
    #[arg(long, value_name = "TAG")]
    gloss_lang: Option<String>,
    /// Print the result as JSON
    #[arg(long)]
    pub(super) json: bool,
}

/// The largest text that is read, in bytes: the libretto of a long opera several times over.
const MOST_TEXT: u64 = 20_000_000;

#[derive(Serialize)]
struct Made {
    file: String,
    sections: usize,
    lines: usize,
    words: usize,
    recognised: Vec<String>,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Trouble> {
    let settings = Settings::read(&Paths::find()?)?;
    let language = language_tag(&args.lang)?;
    let detail = |given: &Option<String>| given.as_deref().map(line).unwrap_or_default();
    let title = match &args.title {
        Some(title) => line(title),
        None => line(&args.file.file_stem().unwrap_or_default().to_string_lossy()),
    };
    let details = Details {
        title,
        work: detail(&args.work),
        composer: detail(&args.composer),
        poet: detail(&args.poet),
        gloss_language: language_tag(
            args.gloss_lang.as_deref().or(settings.gloss_language.as_deref()).unwrap_or("en"),
        )?,
        language,
        ..Details::default()
    };
    let pasted = match &args.text {
        Some(path) => {
            let decoded = read_text(path, MOST_TEXT)?;
            if decoded.encoding == Encoding::Latin1 {
                say("note: the text is not UTF-8 and was read as Latin-1: check the accents");
            }
            paste(by_tag_or_plain(&details.language), &decoded.text)
        }
        None => Default::default(),
    };
    let notes = SITUATION_PROMPTS.map(|prompt| Note { prompt: prompt.to_owned(), text: String::new() });
    let song = Song { id: new_id(&args.file), details, notes: notes.into(), sections: pasted.sections };
    write_new(&args.file, song_to_yaml(&song).as_bytes())?;
    let (n_lines, n_words) = (song.lines().count(), song.words().count());
    let recognised: Vec<String> = pasted.remarks.iter().map(ToString::to_string).collect();
    if args.json {
        let sections = song.sections.len();
        print_json(&Made { file: path_text(&args.file), sections, lines: n_lines, words: n_words, recognised })?;
        return Ok(Outcome::Fine);
    }
    let sections = count(song.sections.len(), "section", "sections");
    let lines = count(n_lines, "line", "lines");
    say(&format!("{}: {sections}, {lines}, {}", args.file.display(), count(n_words, "word", "words")));
    for remark in recognised {
        say(&format!("  {remark}"));
    }
    if crate::language::by_tag(&song.details.language).is_none() {
        say(&format!(
            "note: the language “{}” is not known: words are what stands between spaces",
            song.details.language
        ));
    }
    say(&format!("next: undersong fill {}", args.file.display()));
    Ok(Outcome::Fine)
}

/// Takes a language tag, or the English name of a language that the program knows.
pub(super) fn language_tag(given: &str) -> Result<String, Trouble> {
    let given = given.trim();
    if let Some(language) = ALL.iter().find(|l| l.name().eq_ignore_ascii_case(given)) {
        return Ok(language.tag().to_owned());
    }
    let parts: Vec<&str> = given.split('-').collect();
    let is_part = |p: &&str| (1..=8).contains(&p.len()) && p.bytes().all(|b| b.is_ascii_alphanumeric());
    let is_primary = |p: &str| (2..=8).contains(&p.len()) && p.bytes().all(|b| b.is_ascii_alphabetic());
    if is_primary(parts[0]) && parts.iter().all(is_part) {
        return Ok(given.to_owned());
    }
    let tags: Vec<String> = ALL.iter().map(|l| format!("{} ({})", l.tag(), l.name())).collect();
    Err(Trouble::request(
        format!("“{given}” is no language tag"),
        format!("use a tag of BCP 47 such as {}", tags.join(", ")),
    ))
}
