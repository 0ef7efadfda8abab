//! `undersong print`: a sheet of a song.

use super::Outcome;
use super::report::{Trouble, path_text, print_json, print_text, say, say_notices};
use crate::sheet::{Options, Paper, Row, aligned, compose, markdown, text};
use crate::song::Style;
use crate::store::{Backup, Paths, Settings, read_song, write_atomically};
use clap::ValueEnum;
use serde::Serialize;
use std::io::IsTerminal;
use std::path::PathBuf;

/// Print a sheet of a song
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Song file
    file: PathBuf,
    /// Kind of sheet
    #[arg(long, value_enum, default_value_t)]
    sheet: SheetKind,
    /// Format; otherwise by the ending of OUT (.md is Markdown), else text
    #[arg(long, value_enum)]
    to: Option<Format>,
    /// In Markdown, align the rows in fenced text instead of making tables
    #[arg(long)]
    aligned: bool,
    /// Rows in their order, from word, sound, gloss, tag, lemma
    #[arg(long, value_enum, value_delimiter = ',', value_name = "ROWS")]
    rows: Vec<RowName>,
    /// How tags are written
    #[arg(long, value_enum, value_name = "STYLE")]
    tags: Option<TagStyle>,
    /// Paper size of a text sheet
    #[arg(long, value_enum, default_value_t)]
    page: Page,
    /// Width of a line in characters, instead of that of the paper
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(Paper::MIN_WIDTH as i64..))]
    width: Option<u16>,
    /// Lines on a page, instead of those of the paper; 0 for one endless page
    #[arg(long, value_name = "N")]
    length: Option<u16>,
    /// File to write to; otherwise standard output
    #[arg(short, long, value_name = "OUT")]
    output: Option<PathBuf>,
    /// Print what was written as JSON (with --output)
    #[arg(long, requires = "output")]
    pub(super) json: bool,
}

#[derive(Clone, Copy, Debug, Default, ValueEnum)]
enum SheetKind {
    /// All that is known of the song, for work at the desk
    #[default]
    Study,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Format {
    /// A table a line, for any viewer of GitHub-flavoured Markdown
    Markdown,
    /// Plain text in pages
    Text,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum RowName {
    Word,
    Sound,
    Gloss,
    Tag,
    Lemma,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum TagStyle {
    /// NOUN.F.SG
    Short,
    /// noun fem. sg.
    Plain,
    /// noun, feminine singular
    Words,
}

#[derive(Clone, Copy, Debug, Default, ValueEnum)]
enum Page {
    #[default]
    A4,
    Letter,
}

#[derive(Serialize)]
struct Written {
    output: String,
    bytes: usize,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Trouble> {
    let settings = Settings::read(&Paths::find()?)?;
    let (song, notices) = read_song(&args.file)?;
    say_notices(&notices);
    let format = format(args)?;
    if args.aligned && format != Format::Markdown {
        return Err(Trouble::request("--aligned is a way of printing Markdown", "add --to markdown"));
    }
    let SheetKind::Study = args.sheet;
    let sheet = compose(&song, &options(args, &settings));
    let paper = paper(args);
    let printed = match format {
        Format::Markdown if args.aligned => aligned(&sheet, paper.width),
        Format::Markdown => markdown(&sheet),
        Format::Text => text(&sheet, paper),
    };
    let Some(output) = &args.output else {
        print_text(&printed)?;
        return Ok(Outcome::Fine);
    };
    // A pipe or a device is never read: that could wait for ever.
    if output.is_file() && read_song(output).is_ok() {
        let problem = format!("{} is a song", output.display());
        return Err(Trouble::request(problem, "choose another name for the sheet; nothing was overwritten"));
    }
    write_atomically(output, printed.as_bytes(), Backup::None)?;
    if args.json {
        print_json(&Written { output: path_text(output), bytes: printed.len() })?;
    } else {
        say(&format!("written to {}", output.display()));
    }
    Ok(Outcome::Fine)
}

/// The format that is asked for; a file whose ending promises another one is not written.
fn format(args: &Args) -> Result<Format, Trouble> {
    let ending = args.output.as_ref().and_then(|o| o.extension()).map(|e| e.to_string_lossy().to_lowercase());
    match (args.to, ending.as_deref()) {
        (_, Some(other @ ("pdf" | "html" | "htm" | "csv" | "tsv" | "conllu" | "docx" | "odt" | "yaml" | "yml"))) => {
            let name = args.output.as_deref().map(path_text).unwrap_or_default();
            let problem = format!("{name}: a sheet cannot be printed as .{other}");
            Err(Trouble::request(problem, "let OUT end in .txt or .md: this version prints text and Markdown"))
        }
        (Some(format), _) => Ok(format),
        (None, Some("md" | "markdown")) => Ok(Format::Markdown),
        (None, _) => Ok(Format::Text),
    }
}

fn options(args: &Args, settings: &Settings) -> Options {
    let mut options = Options::default();
    if !args.rows.is_empty() {
        options.rows = args.rows.iter().map(|row| Row::from(*row)).collect();
    } else if let Some(rows) = &settings.rows {
        options.rows = rows.clone();
    }
    options.tag_style = args.tags.map(Style::from).or(settings.tag_style).unwrap_or_default();
    options
}

/// On a terminal nobody turns pages: there the sheet is endless unless a length is asked for.
fn paper(args: &Args) -> Paper {
    let paper = match args.page {
        Page::A4 => Paper::A4,
        Page::Letter => Paper::LETTER,
    };
    let is_for_screen = args.output.is_none() && std::io::stdout().is_terminal();
    let length = match args.length {
        Some(0) => None,
        Some(length) => Some(length.into()),
        None if is_for_screen => None,
        None => paper.length,
    };
    Paper { width: args.width.map_or(paper.width, usize::from), length }
}

impl From<RowName> for Row {
    fn from(name: RowName) -> Row {
        match name {
            RowName::Word => Row::Word,
            RowName::Sound => Row::Sound,
            RowName::Gloss => Row::Gloss,
            RowName::Tag => Row::Tag,
            RowName::Lemma => Row::Lemma,
        }
    }
}

impl From<TagStyle> for Style {
    fn from(style: TagStyle) -> Style {
        match style {
            TagStyle::Short => Style::Short,
            TagStyle::Plain => Style::Plain,
            TagStyle::Words => Style::Words,
        }
    }
}
