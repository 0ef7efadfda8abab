//! `undersong lexicon`: the senses that the singer has settled.

use super::Outcome;
use super::find::repertoire;
use super::new::language_tag;
use super::report::{Trouble, count, path_text, print_json, print_line, say, say_notices};
use crate::lexicon::{Candidate, Lexicon, Recorded, Sense, learn};
use crate::song::Tag;
use crate::store::{LexiconFolder, Paths, Settings, names_of_songs, read_song};
use crate::text::clean::line;
use clap::Subcommand;
use serde::Serialize;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Look into the lexicon, and change it
///
/// The lexicon is kept in your data folder, or in a folder `lexicon` beside the songs if there is one.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    action: Action,
    /// Folder of songs; otherwise the repertoire of the settings, or the current folder
    #[arg(long = "in", value_name = "FOLDER", global = true)]
    folder: Option<PathBuf>,
    /// Language of the glosses; English unless the settings name another
    #[arg(long, value_name = "TAG", global = true)]
    gloss_lang: Option<String>,
    /// Print the result as JSON, one value a line
    #[arg(long, global = true)]
    json: bool,
}

#[derive(Debug, Subcommand)]
enum Action {
    /// List the senses of a form; the exit status is 1 if there are none
    Find {
        /// Form, as written in a song
        #[arg(allow_hyphen_values = true)]
        form: String,
        /// Language of the form; otherwise all languages
        #[arg(long, value_name = "TAG")]
        lang: Option<String>,
    },
    /// Add a sense by hand
    Add {
        /// Form, as written in a song
        #[arg(allow_hyphen_values = true)]
        form: String,
        /// Literal meaning
        gloss: String,
        /// Language of the form
        #[arg(long, value_name = "TAG")]
        lang: String,
        /// Part of speech and inflection, in any style
        #[arg(long)]
        tag: Option<String>,
        /// Dictionary form
        #[arg(long)]
        lemma: Option<String>,
        /// Sound in IPA
        #[arg(long)]
        sound: Option<String>,
    },
    /// Remove the senses of a form, or one of them; the exit status is 1 if there are none
    Forget {
        /// Form, as written in a song
        #[arg(allow_hyphen_values = true)]
        form: String,
        /// Language of the form
        #[arg(long, value_name = "TAG")]
        lang: String,
        /// Only the sense with this gloss
        #[arg(long)]
        gloss: Option<String>,
    },
    /// List the songs that use a form, with the sense it has there; the exit status is 1 if there are none
    Uses {
        /// Form, as written in a song
        #[arg(allow_hyphen_values = true)]
        form: String,
        /// Language of the form; otherwise all languages
        #[arg(long, value_name = "TAG")]
        lang: Option<String>,
    },
    /// Learn the settled words of songs
    Learn {
        /// Song files
        #[arg(required = true)]
        files: Vec<PathBuf>,
    },
}

#[derive(Serialize)]
struct Row<'a> {
    language: &'a str,
    form: &'a str,
    gloss: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    tag: Option<String>,
    #[serde(skip_serializing_if = "str::is_empty")]
    lemma: &'a str,
    #[serde(skip_serializing_if = "str::is_empty")]
    sound: &'a str,
    songs: &'a BTreeMap<String, u32>,
}

#[derive(Serialize)]
struct Use<'a> {
    language: &'a str,
    form: &'a str,
    gloss: &'a str,
    song: &'a str,
    title: &'a str,
    times: u32,
}

#[derive(Serialize)]
struct Learnt {
    file: String,
    senses: usize,
    growth: isize,
}

impl Args {
    pub(super) fn wants_json(&self) -> bool {
        self.json
    }

    fn gloss_language(&self) -> Result<String, Trouble> {
        let settings = Settings::read(&Paths::find()?)?;
        language_tag(self.gloss_lang.as_deref().or(settings.gloss_language.as_deref()).unwrap_or("en"))
    }

    fn lexica(&self) -> Result<LexiconFolder, Trouble> {
        Ok(LexiconFolder::for_songs_in(&repertoire(self.folder.as_deref())?, &Paths::find()?))
    }

    /// The lexicon of one language, or all.
    fn read(&self, lang: Option<&str>) -> Result<Vec<Lexicon>, Trouble> {
        match lang {
            Some(lang) => Ok(vec![self.lexica()?.read(&language_tag(lang)?, &self.gloss_language()?)?]),
            None => Ok(self.lexica()?.read_all()?),
        }
    }
}

pub(super) fn run(args: &Args) -> Result<Outcome, Trouble> {
    match &args.action {
        Action::Find { form, lang } => find(args, form, lang.as_deref()),
        Action::Add { form, gloss, lang, tag, lemma, sound } => {
            let text = |t: &Option<String>| t.as_deref().map(line).unwrap_or_default();
            let sense = Sense {
                gloss: line(gloss),
                tag: tag.as_deref().map(|t| Tag::parse(&line(t))),
                lemma: text(lemma),
                sound: text(sound),
            };
            add(args, &line(form), lang, sense)
        }
        Action::Forget { form, lang, gloss } => forget(args, form, lang, gloss.as_deref()),
        Action::Uses { form, lang } => uses(args, form, lang.as_deref()),
        Action::Learn { files } => learn_from(args, files),
    }
}

fn find(args: &Args, form: &str, lang: Option<&str>) -> Result<Outcome, Trouble> {
    let lexica = args.read(lang)?;
    let mut outcome = Outcome::Found;
    for lexicon in &lexica {
        for candidate in lexicon.look_up(form) {
            outcome = Outcome::Fine;
            let Candidate { form, sense, recorded, .. } = candidate;
            if args.json {
                print_json(&row(lexicon, form, recorded))?;
            } else {
                let uses = match recorded.n_uses() {
                    0 => "added by hand".to_owned(),
                    n => format!(
                        "{} in {}",
                        count(n as usize, "use", "uses"),
                        count(recorded.songs.len(), "song", "songs")
                    ),
                };
                print_line(&format!("{} {form}: {}  [{uses}]", lexicon.language(), describe(sense)))?;
            }
        }
    }
    if outcome == Outcome::Found && !args.json {
        say(&format!("no sense of “{form}” is known"));
    }
    Ok(outcome)
}

fn add(args: &Args, form: &str, lang: &str, sense: Sense) -> Result<Outcome, Trouble> {
    if form.is_empty() || sense.gloss.is_empty() {
        return Err(Trouble::request(
            "a sense needs a form and a gloss",
            "for example: lexicon add notte night --lang it",
        ));
    }
    let mut guard = args.lexica()?.open(&language_tag(lang)?, &args.gloss_language()?)?;
    let described = describe(&sense);
    let is_new = guard.lexicon.add(form, sense);
    guard.save()?;
    if args.json {
        for candidate in guard.lexicon.look_up(form).into_iter().filter(|c| describe(c.sense) == described).take(1) {
            print_json(&row(&guard.lexicon, candidate.form, candidate.recorded))?;
        }
    } else {
        say(&format!("{} {form}: {described}", if is_new { "added" } else { "known already" }));
    }
    Ok(Outcome::Fine)
}

fn forget(args: &Args, form: &str, lang: &str, gloss: Option<&str>) -> Result<Outcome, Trouble> {
    let mut guard = args.lexica()?.open(&language_tag(lang)?, &args.gloss_language()?)?;
    let gone = guard.lexicon.forget(form, gloss);
    if gone.is_empty() {
        say(&format!("no sense of “{form}” is known under exactly this form"));
        return Ok(Outcome::Found);
    }
    guard.save()?;
    for recorded in &gone {
        if args.json {
            print_json(&row(&guard.lexicon, form, recorded))?;
            continue;
        }
        say(&format!("forgotten {form}: {}", describe(&recorded.sense)));
        if !recorded.songs.is_empty() {
            let songs: Vec<&str> = recorded.songs.keys().map(String::as_str).collect();
            say(&format!("  comes back when learnt again from: {}", songs.join(", ")));
        }
    }
    Ok(Outcome::Fine)
}

fn uses(args: &Args, form: &str, lang: Option<&str>) -> Result<Outcome, Trouble> {
    let lexica = args.read(lang)?;
    let titles = names_of_songs(&repertoire(args.folder.as_deref())?);
    let mut outcome = Outcome::Found;
    for lexicon in &lexica {
        for candidate in lexicon.look_up(form) {
            let gloss = candidate.sense.gloss.as_str();
            for (song, times) in &candidate.recorded.songs {
                outcome = Outcome::Fine;
                let title = titles.get(song).map_or(song.as_str(), String::as_str);
                if args.json {
                    let (language, form, times) = (lexicon.language(), candidate.form, *times);
                    print_json(&Use { language, form, gloss, song, title, times })?;
                } else {
                    print_line(&format!(
                        "{}: {} “{gloss}”, {}",
                        title,
                        candidate.form,
                        count(*times as usize, "time", "times")
                    ))?;
                }
            }
        }
    }
    if outcome == Outcome::Found && !args.json {
        say(&format!("no song is known to use “{form}”"));
    }
    Ok(outcome)
}

fn learn_from(args: &Args, files: &[PathBuf]) -> Result<Outcome, Trouble> {
    for file in files {
        let (song, notices) = read_song(file)?;
        say_notices(&notices);
        let folder = file.parent().unwrap_or(Path::new("."));
        let folder = args.folder.as_deref().unwrap_or(folder);
        let lexica = LexiconFolder::for_songs_in(folder, &Paths::find()?);
        let mut guard = lexica.open(&song.details.language, &song.details.gloss_language)?;
        let learned = learn(&mut guard.lexicon, &song);
        if learned.is_changed {
            guard.save()?;
        }
        if args.json {
            print_json(&Learnt { file: path_text(file), senses: learned.n_senses, growth: learned.growth })?;
        } else {
            let senses = count(learned.n_senses, "settled sense", "settled senses");
            say(&format!("{}: {senses}, {:+} in the lexicon", file.display(), learned.growth));
        }
    }
    Ok(Outcome::Fine)
}

fn row<'a>(lexicon: &'a Lexicon, form: &'a str, recorded: &'a Recorded) -> Row<'a> {
    let sense = &recorded.sense;
    Row {
        language: lexicon.language(),
        form,
        gloss: &sense.gloss,
        tag: sense.tag.as_ref().map(Tag::to_string),
        lemma: &sense.lemma,
        sound: &sense.sound,
        songs: &recorded.songs,
    }
}

/// A sense on one line: gloss, tag, lemma, sound.
fn describe(sense: &Sense) -> String {
    let mut text = format!("“{}”", sense.gloss);
    if let Some(tag) = &sense.tag {
        text.push_str(&format!(" {tag}"));
    }
    if !sense.lemma.is_empty() {
        text.push_str(&format!(" of {}", sense.lemma));
    }
    if !sense.sound.is_empty() {
        text.push_str(&format!(" /{}/", sense.sound));
    }
    text
}
