//! An opera role of 3,000 lines of six words: how long a singer waits for each step.
//!
//! Run with `cargo bench --bench role`.

#![allow(clippy::unwrap_used, missing_docs)]

use divan::Bencher;
use std::path::PathBuf;
use undersong::lexicon::{Lexicon, Sense, fill, learn};
use undersong::sheet::{Options, Paper, compose, markdown, text};
use undersong::song::{Annotation, Edit, Hyphen, Line, Section, Song, Tag, Word, WordAt, apply, check};
use undersong::store::{SongFile, read_song, song_to_yaml};

const LINES: usize = 3_000;
const WORDS: usize = 6;

fn main() {
    divan::main();
}

/// A made-up word of two to four syllables; 2,500 different ones, as many as a long role has.
fn form(n: usize) -> String {
    const SYLLABLES: [&str; 12] = ["la", "mor", "te", "vi", "so", "ché", "ra", "mi", "don", "fu", "sé", "lo"];
    let n = n % 2_500;
    let digits = [n % 12, n / 12 % 12, n / 144 % 12, n / 1_728];
    digits.iter().take(2 + n % 3).map(|d| SYLLABLES[*d]).collect()
}

/// The role; every third word is settled, a refrain comes back every forty lines.
fn role() -> Song {
    let line = |n: usize| {
        let start = if n.is_multiple_of(40) { 0 } else { n * 7 };
        let words = (0..WORDS)
            .map(|w| Word { trail: if w == 5 { ",".into() } else { "".into() }, ..Word::new(form(start + w * 13)) });
        Line { translation: "and so the line goes on in English".into(), words: words.collect(), ..Line::default() }
    };
    let sections =
        (0..LINES / 30).map(|s| Section { lines: (0..30).map(|l| line(s * 30 + l)).collect(), ..Section::default() });
    let mut song = Song { id: "role".into(), sections: sections.collect(), ..Song::default() };
    song.details.language = "it".into();
    song.details.gloss_language = "en".into();
    let places: Vec<WordAt> = song.words().map(|(at, _)| at).step_by(3).collect();
    for at in places {
        let form = song.word(at).unwrap().form.clone();
        for (row, text) in [(Annotation::Gloss, format!("the-{form}")), (Annotation::Tag, "NOUN.F.SG".into())] {
            apply(&mut song, &Edit::settle(at, row, text)).unwrap();
        }
    }
    song
}

fn lexicon() -> Lexicon {
    let mut lexicon = Lexicon::new("it", "en");
    for n in 0..2_500 {
        let sense =
            Sense { tag: Some(Tag::parse("VERB.3SG.PRS.IND")), lemma: form(n), ..Sense::new(format!("does-{n}")) };
        lexicon.add(&form(n), sense);
    }
    lexicon
}

fn in_file(song: &Song) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("role.yaml");
    std::fs::write(&path, song_to_yaml(song)).unwrap();
    (folder, path)
}

#[divan::bench]
fn read_the_file(bencher: Bencher) {
    let (_folder, path) = in_file(&role());
    bencher.bench(|| read_song(&path).unwrap());
}

#[divan::bench]
fn open_for_work(bencher: Bencher) {
    let (_folder, path) = in_file(&role());
    bencher.bench(|| SongFile::open(&path).unwrap());
}

#[divan::bench]
fn learn_into_an_empty_lexicon(bencher: Bencher) {
    let song = role();
    bencher.with_inputs(|| Lexicon::new("it", "en")).bench_refs(|lexicon| learn(lexicon, &song));
}

#[divan::bench]
fn fill_every_blank_cell(bencher: Bencher) {
    let (song, lexicon) = (role(), lexicon());
    bencher.bench(|| fill(&song, &lexicon));
}

#[divan::bench]
fn apply_the_drafts(bencher: Bencher) {
    let (song, lexicon) = (role(), lexicon());
    let edit = fill(&song, &lexicon).edit.unwrap();
    bencher.with_inputs(|| song.clone()).bench_refs(|song| apply(song, &edit).unwrap());
}

#[divan::bench]
fn check_it(bencher: Bencher) {
    let song = role();
    bencher.bench(|| check(&song, Hyphen::Spelling));
}

#[divan::bench]
fn print_to_text(bencher: Bencher) {
    let song = role();
    bencher.bench(|| text(&compose(&song, &Options::default()), Paper::A4));
}

#[divan::bench]
fn print_to_markdown(bencher: Bencher) {
    let song = role();
    bencher.bench(|| markdown(&compose(&song, &Options::default())));
}

/// One confirmed edit: in memory, in the journal, forced to the disk.
#[divan::bench]
fn make_an_edit(bencher: Bencher) {
    let (_folder, path) = in_file(&role());
    let (mut file, _) = SongFile::open(&path).unwrap();
    let mut n = 0;
    bencher.bench_local(|| {
        n += 1;
        file.make(Edit::settle(WordAt::default(), Annotation::Gloss, format!("gloss-{n}")), None).unwrap();
    });
}

/// A change of one cell saved: the whole role as YAML, backup, rename, folder.
#[divan::bench]
fn save(bencher: Bencher) {
    let (_folder, path) = in_file(&role());
    let (mut file, _) = SongFile::open(&path).unwrap();
    let mut n = 0;
    bencher.bench_local(|| {
        n += 1;
        file.make(Edit::settle(WordAt::default(), Annotation::Gloss, format!("gloss-{n}")), None).unwrap();
        file.save().unwrap();
    });
}
