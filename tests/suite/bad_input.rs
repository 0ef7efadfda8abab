//! Files that are not what they should be: one clear message, exit status 2, nothing lost.

use crate::world::{Ran, World};
use std::collections::BTreeSet;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use undersong::song::{Detail, Edit};
use undersong::store::{LexiconFolder, Paths, SongFile, backup_path};

/// The head of a song in which nothing is wrong; the fifth line is free.
const HEAD: &str = "format: 1\ntitle: Luna\nlanguage: it\ngloss_language: en\n";

/// One line of two words, to stand under [`HEAD`].
const LINES: &str = "sections:\n- lines:\n  - words:\n    - {word: Sale}\n    - {word: luna}\n";

/// The commands that read a song, without the song.
const READERS: [&[&str]; 4] = [&["print"], &["check"], &["fill"], &["lexicon", "learn"]];

/// Far more than any refusal takes, even without optimisation on a busy machine; far less than what does not end.
const QUICK: Duration = Duration::from_secs(100);

fn song_with(body: &str) -> String {
    format!("{HEAD}{body}")
}

fn word_with(cells: &str) -> String {
    song_with(&format!("sections:\n- lines:\n  - words:\n    - {{word: Sale, {cells}}}\n"))
}

/// Checks that every command that reads a song refuses this one with a message that names the file at this place and
/// holds these words.
fn check(content: impl AsRef<[u8]>, place: &str, words: &[&str]) {
    let world = World::new();
    let bytes = content.as_ref();
    world.write("song.yaml", bytes);
    for reader in READERS {
        let ran = world.run(&[reader, &["song.yaml"]].concat());
        assert_refusal(&ran, &format!("song.yaml{place}"), words);
        assert_eq!(fs::read(world.file("song.yaml")).unwrap(), bytes, "{reader:?} has changed the file");
        assert_eq!(names(world.path()), ["song.yaml"], "{reader:?} has left something behind");
    }
}

/// Checks that a command could not do what was asked and says so once: what is wrong, in which file, what to do.
fn assert_refusal(ran: &Ran, file: &str, words: &[&str]) {
    assert_eq!((ran.status, ran.stdout.as_str()), (2, ""), "{ran}");
    assert!(ran.stderr.starts_with("error: "), "{ran}");
    assert_eq!(ran.stderr.matches("error: ").count(), 1, "one message: {ran}");
    assert!(ran.stderr.contains(file), "`{file}` is not named: {ran}");
    assert!(ran.stderr.contains("\n  help: ") || ran.stderr.contains("expected"), "no remedy: {ran}");
    for word in words {
        assert!(ran.stderr.contains(word), "`{word}` is not said: {ran}");
    }
    assert_harmless(ran);
}

/// Checks that a terminal prints all of it and obeys none of it. A form feed parts pages.
fn assert_harmless(ran: &Ran) {
    let is_direction =
        |c: char| matches!(c, '\u{200e}' | '\u{200f}' | '\u{61c}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    for text in [&ran.stdout, &ran.stderr] {
        let raw = text.chars().find(|c| (c.is_control() && !matches!(c, '\n' | '\u{c}')) || is_direction(*c));
        assert_eq!(raw, None, "raw character in {text:?}");
    }
}

/// Checks that a command worked, and told this on standard error.
fn assert_fine(ran: &Ran, words: &[&str]) {
    assert_eq!(ran.status, 0, "{ran}");
    assert!(!ran.stderr.contains("error"), "{ran}");
    for word in words {
        assert!(ran.stderr.contains(word), "`{word}` is not said: {ran}");
    }
}

/// The files in a folder, but for the folder of settings and lexica.
fn names(folder: &Path) -> Vec<String> {
    let names = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned());
    names.filter(|name| name != "home").collect::<BTreeSet<_>>().into_iter().collect()
}

/// Keeps what a user sees for reading, in `snapshots`.
fn keep(name: &str, world: &World, ran: &Ran) {
    let text = ran.to_string().replace(&world.path().display().to_string(), "[folder]");
    let text = text.replace(&format!("process {}", std::process::id()), "process [id]");
    insta::with_settings!({ omit_expression => true }, { insta::assert_snapshot!(name, text) });
}

/// A world with one good song, in which nothing is settled yet.
fn world_with_song() -> World {
    let world = World::new();
    world.write("song.yaml", song_with(LINES));
    world
}

// ------------------------------------------------------------------------------------------------------ no song at all

#[test]
fn a_missing_file() {
    let world = World::new();
    for reader in READERS {
        assert_refusal(&world.run(&[reader, &["song.yaml"]].concat()), "song.yaml", &["no file", "undersong new"]);
        assert_refusal(&world.run(&[reader, &["no/song.yaml"]].concat()), "no/song.yaml", &["no file"]);
    }
    assert!(names(world.path()).is_empty());
    keep("missing_file", &world, &world.run(&["print", "song.yaml"]));
}

#[test]
fn a_folder() {
    let world = World::new();
    fs::create_dir(world.file("songs")).unwrap();
    for reader in READERS {
        assert_refusal(&world.run(&[reader, &["songs"]].concat()), "songs", &["is a folder", "name a song file in it"]);
    }
    assert_eq!(names(world.path()), ["songs"]);
}

#[test]
fn an_empty_file() {
    check("", "", &["is empty", "backup"]);
}

#[test]
fn a_file_of_white_space_or_a_comment_is_an_empty_song() {
    for content in ["# Only a comment.\n", "\n\n", "# One.\n\n# Two.\n"] {
        let world = World::new();
        world.write("song.yaml", content);
        assert_fine(&world.run(&["print", "song.yaml"]), &["names no language"]);
        assert_eq!(world.run(&["check", "song.yaml"]).status, 1);
        assert_fine(&world.run(&["fill", "song.yaml"]), &["0 cells drafted"]);
        assert_eq!(world.read("song.yaml"), content);
    }
}

#[test]
fn a_binary_file() {
    check(b"\x7fELF\x02\x01\x01\x00\x00\x00", "", &["not a text file"]);
    check(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n\x00\x01\x02", "", &["not a text file"]);
    check(b"PK\x03\x04\x14\x00\x00\x00", "", &["not a text file"]);
}

// ----------------------------------------------------------------------------------------------------------- encodings

#[test]
fn a_latin_1_song() {
    check(b"format: 1\ntitle: Perch\xe9\nlanguage: it\n", ":2", &["UTF-8", "save it"]);
    let world = World::new();
    world.write("song.yaml", b"format: 1\ntitle: Perch\xe9\n");
    keep("latin_1_song", &world, &world.run(&["fill", "song.yaml"]));
}

#[test]
fn a_utf_16_song_with_a_mark_works() {
    let text = song_with(LINES).replace("Luna", "Perché");
    for (mark, to_bytes) in [([0xff, 0xfe], u16::to_le_bytes as fn(u16) -> [u8; 2]), ([0xfe, 0xff], u16::to_be_bytes)] {
        let bytes: Vec<u8> = mark.into_iter().chain(text.encode_utf16().flat_map(to_bytes)).collect();
        let world = World::new();
        world.write("song.yaml", &bytes);
        assert!(world.ok(&["print", "song.yaml"]).contains("Perché"));
        assert_fine(&world.run(&["fill", "song.yaml"]), &["0 cells drafted"]);
        assert_eq!(fs::read(world.file("song.yaml")).unwrap(), bytes, "nothing was drafted, so nothing was written");
        world.ok(&["lexicon", "add", "luna", "moon", "--lang", "it"]);
        assert_fine(&world.run(&["fill", "song.yaml"]), &["1 cell drafted"]);
        assert!(world.read("song.yaml").contains("title: Perché\n"), "it is written in UTF-8");
        assert_eq!(fs::read(backup_path(&world.file("song.yaml"))).unwrap(), bytes);
    }
}

#[test]
fn utf_16_that_is_cut_off() {
    check(b"\xff\xfef\x00o\x00r", "", &["not a text file"]);
    // Half of a surrogate pair (The Unicode Standard, section 3.9, D91).
    check(b"\xff\xfe\x00\xd8a\x00", "", &["not a text file"]);
}

// ---------------------------------------------------------------------------------------------------------------- YAML

#[test]
fn values_of_a_wrong_type() {
    check(song_with("sections: 5\n"), ":5:11", &[]);
    check(song_with("sections:\n- lines:\n  - words: hello\n"), ":7:12", &[]);
    check(song_with("composer: [a, b]\n"), ":5:11", &[]);
    check(song_with("notes:\n- Who is singing?\n"), ":6:3", &[]);
    check("- a\n- b\n", ":1:1", &[]);
    check("only a sentence\n", ":1:1", &[]);
    check("format: one\n", ":1:9", &[]);
    check(word_with("join: perhaps"), ":8:26", &["true or false"]);
    check(word_with("link: 0"), ":8", &["0"]);
    check(word_with("link: 256"), ":8", &[]);
    check(word_with("draft: [glos]"), ":8", &["glos", "sound, gloss, tag, lemma"]);
    check(word_with("draft: 5"), ":8", &["5", "sound, gloss, tag, lemma"]);
}

#[test]
fn a_wrong_type_is_told_in_plain_words() {
    // A singer knows lists, texts and numbers; the words of the parser and of the programming language help nobody. Nor
    // are these files invalid YAML: whoever looks for a wrong bracket looks in vain.
    let foreign = [
        "budget",
        "breached",
        " { ",
        "u64",
        "u8",
        "scalar",
        "sequence start",
        "mapping start",
        "not valid YAML",
        "enum",
        "serde",
    ];
    let mut told = Vec::new();
    for content in [
        song_with("sections: 5\n"),
        song_with("sections:\n- lines:\n  - words: hello\n"),
        song_with("composer: [a, b]\n"),
        "only a sentence\n".to_owned(),
        "format: one\n".to_owned(),
        word_with("link: 0"),
        word_with("tag: [NOUN]"),
        song_with("---\ntitle: Another\n"),
    ] {
        let world = World::new();
        world.write("song.yaml", &content);
        let message = world.run(&["print", "song.yaml"]).stderr;
        let last_line = content.lines().last().unwrap_or_default().trim().to_owned();
        told.extend(foreign.iter().filter(|word| message.contains(**word)).map(|word| format!("{last_line}: {word}")));
    }
    assert!(told.is_empty(), "{told:#?}");
}

#[test]
fn an_unknown_key() {
    check(song_with("composr: Elmira Castordi\n"), ":5:1", &["`composr`", "write `composer`"]);
    check(song_with("poetry: a\n"), ":5:1", &["`poetry`"]);
    check(song_with("zzzzz: a\n"), ":5:1", &["`zzzzz`", "known keys", "title", "sections"]);
    check(word_with("glos: it-rises"), ":8:20", &["`glos`", "write `gloss`"]);
    check(song_with("sections:\n- lines:\n  - bar: 5\n    words: []\n"), ":7:5", &["`bar`", "write `bars`"]);
    let world = World::new();
    world.write("song.yaml", song_with("composr: Elmira Castordi\n"));
    keep("unknown_key", &world, &world.run(&["fill", "song.yaml"]));
}

#[test]
fn a_duplicate_key() {
    check(song_with("title: Sole\n"), ":5:1", &["`title`", "twice", "delete one"]);
    check(word_with("gloss: a, gloss: b"), ":8", &["`gloss`", "twice"]);
    let world = World::new();
    world.write("song.yaml", song_with("title: Sole\n"));
    keep("duplicate_key", &world, &world.run(&["check", "song.yaml"]));
}

#[test]
fn a_word_without_its_form() {
    let nameless = song_with("sections:\n- lines:\n  - words:\n    - {gloss: it-rises}\n");
    check(&nameless, ":8", &["`word`", "missing", "add"]);
    check(song_with("sections:\n- lines:\n  - words:\n    - {word: ''}\n"), ":8", &["found nothing"]);
    check(song_with("sections:\n- lines:\n  - words:\n    - {word: ' '}\n"), ":8", &["found nothing"]);
    let world = World::new();
    world.write("song.yaml", nameless);
    keep("word_without_form", &world, &world.run(&["print", "song.yaml"]));
}

#[test]
fn a_tag_of_a_wrong_type() {
    check(word_with("tag: [NOUN, F]"), ":8:25", &[]);
    check(word_with("tag: {pos: NOUN}"), ":8:25", &[]);
}

#[test]
fn bars_that_are_none() {
    for bars in ["5-3", "five", "-1", "1.5", "4294967296", "'5 to 7'", "1-2-3", "''"] {
        let song = song_with(&format!("sections:\n- lines:\n  - bars: {bars}\n    words: []\n"));
        check(song, ":7", &[bars.trim_matches('\''), "a bar number such as 12", "12-15"]);
    }
    check(song_with("sections:\n- lines:\n  - bars: [1, 2]\n    words: []\n"), ":7:11", &[]);
    let world = World::new();
    world.write("song.yaml", song_with("sections:\n- lines:\n  - bars: 5-3\n    words: []\n"));
    keep("bars_backwards", &world, &world.run(&["print", "song.yaml"]));
}

#[test]
fn broken_yaml() {
    check("title: \"Luna\nlanguage: it\n", ":1:8", &["quote"]);
    check("title: [Luna\nlanguage: it\n", ":", &["expected a text", "brackets"]);
    check("title: Luna: e sole\n", ":1", &["not valid YAML", "colons"]);
    check("title: Luna\n language: it\n", ":", &["not valid YAML", "indentation"]);
    check("composer: *nobody\n", ":1:11", &["not valid YAML", "anchor"]);
    check(song_with("sections:\n\t- lines: []\n"), ":6", &["tab"]);
    check(song_with("sections:\n- lines:\n\t- words: []\n"), ":7", &["tab"]);
}

#[test]
fn two_documents() {
    check(song_with("---\ntitle: Sole\n"), ":6", &["second document", "`---`"]);
}

#[test]
fn a_newer_format() {
    let content = "format: 2\ntitle: Luna\nmelody: {clef: treble}\n";
    check(content, "", &["format 2", "update undersong", "not changed"]);
    check("format: 18446744073709551615\n", "", &["format 18446744073709551615"]);
    check("format: 0\n", ":1", &["format 0"]);
    let world = World::new();
    world.write("song.yaml", content);
    keep("newer_format", &world, &world.run(&["fill", "song.yaml"]));
}

#[test]
fn an_unknown_language_works_with_a_note() {
    let world = World::new();
    world.write("song.yaml", song_with(LINES).replace("language: it", "language: rm"));
    for reader in [&["print"][..], &["fill"], &["lexicon", "learn"]] {
        assert_fine(&world.run(&[reader, &["song.yaml"]].concat()), &["note:", "“rm”", "plain rules"]);
    }
    let ran = world.run(&["check", "song.yaml"]);
    assert_eq!(ran.status, 1, "{ran}");
    assert!(ran.stderr.contains("“rm”"), "{ran}");
    assert_fine(&world.run(&["new", "new.yaml", "--lang", "rm"]), &["note:", "“rm”"]);
    let ran = world.run(&["new", "newer.yaml", "--lang", "not a tag"]);
    assert_refusal(&ran, "“not a tag”", &["no language tag", "BCP 47", "it (Italian)"]);
    assert!(!world.file("newer.yaml").exists());
}

// ------------------------------------------------------------------------------------------------------------- hostile

/// Runs a command that must end soon; its output goes to files, so that no full pipe holds it up.
fn run_quickly(world: &World, args: &[&str]) -> Ran {
    let outside = tempfile::tempdir().unwrap();
    let file = |name: &str| (outside.path().join(name), File::create(outside.path().join(name)).unwrap());
    let ((out_path, out), (err_path, err)) = (file("out"), file("err"));
    let mut child = world.command(args).stdin(Stdio::null()).stdout(out).stderr(err).spawn().unwrap();
    let start = Instant::now();
    let status = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        if start.elapsed() > QUICK {
            child.kill().unwrap();
            child.wait().unwrap();
            panic!("{args:?} has not ended after {QUICK:?}");
        }
        std::thread::sleep(Duration::from_millis(5));
    };
    let text = |path: PathBuf| fs::read_to_string(path).unwrap();
    Ran { stdout: text(out_path), stderr: text(err_path), status: status.code().unwrap_or(-1) }
}

/// As [`check`], with one command: reading is the same for all.
fn check_quickly(content: &str, words: &[&str]) {
    let world = World::new();
    world.write("song.yaml", content);
    let ran = run_quickly(&world, &["fill", "song.yaml"]);
    assert_refusal(&ran, "song.yaml:", words);
    assert!(world.read("song.yaml") == content, "the file has changed");
    assert_eq!(names(world.path()), ["song.yaml"]);
}

#[test]
fn an_alias_bomb() {
    // Nine levels of nine: 9^9 texts if they were written out (common practice, no source).
    let levels = |key: &dyn Fn(usize) -> String| {
        let first = format!("{}: &a0 [x, x, x, x, x, x, x, x, x]\n", key(0));
        let level = |n: usize| format!("{}: &a{n} [{}]\n", key(n), vec![format!("*a{}", n - 1); 9].join(", "));
        first + &(1..9).map(level).collect::<String>()
    };
    check_quickly(&song_with(&levels(&|n| format!("a{n}"))), &[]);
    // Where the keys are known, the type is wrong before anything is written out.
    let keys = ["id", "translated_title", "work", "composer", "poet", "translator", "source", "rights", "notes"];
    check_quickly(&song_with(&levels(&|n| keys[n].to_owned())), &[]);
    // Sections may be lists of the same thing many times over; there is an end to that too.
    let section = "- &s {lines: [{words: [{word: a}]}]}\n";
    check_quickly(&song_with(&format!("sections:\n{section}{}", "- *s\n".repeat(100_000))), &[]);
}

#[test]
fn deep_nesting() {
    let (open, close) = ("[".repeat(10_000), "]".repeat(10_000));
    check_quickly(&song_with(&format!("sections: {open}{close}\n")), &[]);
    check_quickly(&song_with(&format!("sections: {open}\n")), &[]);
    check_quickly(&song_with(&format!("depth: {open}{close}\n")), &[]);
    check_quickly(&song_with(&format!("sections: {}\n", "{a: ".repeat(10_000))), &[]);
    check_quickly(&(0..2_000).map(|n| format!("{}a:\n", " ".repeat(n))).collect::<String>(), &[]);
    check_quickly(&format!("{}a\n", "- ".repeat(10_000)), &[]);
    check_quickly(&format!("{}a: b\n", "? ".repeat(10_000)), &[]);
}

#[test]
fn a_huge_file_is_refused_without_reading_it_whole() {
    let world = World::new();
    // A terabyte takes no room on the disk, and hours to read.
    for (name, size) in [("large.yaml", 100_000_000), ("huge.yaml", 1 << 40)] {
        let file = File::create(world.file(name)).unwrap();
        if let Err(error) = file.set_len(size) {
            eprintln!("skipped: no file of {size} bytes can be made here ({error})");
            continue;
        }
        for command in ["print", "check", "fill"] {
            let ran = run_quickly(&world, &[command, name]);
            assert_refusal(&ran, name, &["larger than 64 MB", "right file"]);
        }
        let ran = run_quickly(&world, &["new", "song.yaml", "--lang", "it", "--text", name]);
        assert_refusal(&ran, name, &["larger than 20 MB"]);
        assert_eq!(fs::metadata(world.file(name)).unwrap().len(), size);
    }
    assert!(!world.file("song.yaml").exists());
}

#[test]
fn a_text_of_20_megabytes_is_read_or_refused_soon() {
    let long = "x".repeat(20_000_000);
    for (command, song) in [
        ("check", song_with(&format!("notes:\n- prompt: Who?\n  text: {long}\n"))),
        ("check", song_with(&format!("{long}: a\n"))),
        ("check", word_with(&format!("link: {long}"))),
        ("check", song_with(LINES).replace("luna", &long)),
        // Title and composer stand at the head of every page, of which such a song has thousands.
        ("print", song_with(&format!("composer: {long}\n"))),
    ] {
        let world = World::new();
        world.write("song.yaml", song);
        let ran = run_quickly(&world, &[command, "song.yaml"]);
        assert!((0..=2).contains(&ran.status) && !ran.stderr.contains("panicked"), "{}", ran.status);
        assert!(ran.stderr.len() < 10_000, "a message of {} bytes repeats the text", ran.stderr.len());
    }
}

/// What a terminal obeys: a colour, a bell, the 8-bit control sequence introducer, and marks that turn the direction of
/// the text.
const EVIL: &str = "\u{1b}[31mred\u{7}\u{9b}31m\u{202e}\u{2066}\u{200f}evil\u{1b}]0;title\u{7}";

/// The same in a text in double quotes (YAML 1.2.2, 2021, section 5.7: escaped characters).
const EVIL_IN_YAML: &str = r"\e[31mred\a\x9b31m\u202e\u2066\u200fevil\e]0;title\a";

fn evil_song() -> String {
    format!(
        r#"format: 1
id: "{EVIL_IN_YAML}"
title: "{EVIL_IN_YAML}"
translated_title: "{EVIL_IN_YAML}"
work: "{EVIL_IN_YAML}"
composer: "{EVIL_IN_YAML}"
language: "it{EVIL_IN_YAML}"
gloss_language: "en{EVIL_IN_YAML}"
notes:
- prompt: "{EVIL_IN_YAML}"
  text: "luna {EVIL_IN_YAML}"
sections:
- heading: "{EVIL_IN_YAML}"
  speaker: "{EVIL_IN_YAML}"
  lines:
  - direction: "{EVIL_IN_YAML}"
    cue: "{EVIL_IN_YAML}"
    intention: "{EVIL_IN_YAML}"
    translation: "luna {EVIL_IN_YAML}"
    words:
    - {{lead: "{EVIL_IN_YAML}", word: luna, trail: "{EVIL_IN_YAML}", sound: "{EVIL_IN_YAML}", gloss: "{EVIL_IN_YAML}",
       tag: "{EVIL_IN_YAML}", lemma: "{EVIL_IN_YAML}", note: "luna {EVIL_IN_YAML}"}}
    - {{word: "{EVIL_IN_YAML}"}}
"#
    )
}

#[test]
fn control_characters_in_a_song_reach_no_terminal() {
    let world = World::new();
    world.write("song.yaml", evil_song());
    for args in [
        &["print", "song.yaml"][..],
        &["print", "song.yaml", "--rows", "word,sound,gloss,tag,lemma", "--tags", "words"],
        &["print", "song.yaml", "--to", "markdown"],
        &["print", "song.yaml", "--to", "markdown", "--aligned"],
        &["check", "song.yaml"],
        &["check", "song.yaml", "--json"],
        &["find", "luna"],
        &["find", "luna", "--json"],
        &["find", "red"],
        &["fill", "song.yaml", "--dry-run"],
        &["lexicon", "learn", "song.yaml"],
        &["lexicon", "find", "luna"],
        &["lexicon", "find", "luna", "--json"],
        &["lexicon", "uses", "luna"],
        &["lexicon", "uses", "luna", "--json"],
        &["fill", "song.yaml"],
        &["fill", "song.yaml", "--json"],
    ] {
        let ran = world.run(args);
        assert!(ran.status < 2, "{args:?}: {ran}");
        assert!(ran.stdout.len() + ran.stderr.len() > 10, "{args:?} prints something");
        assert_harmless(&ran);
    }
    assert_harmless(&Ran { stdout: world.read("song.yaml"), stderr: String::new(), status: 0 });
}

#[test]
fn control_characters_in_messages_about_a_song_reach_no_terminal() {
    for content in [
        format!("\"{EVIL_IN_YAML}\": a\n"),
        format!("title: a\n\"{EVIL_IN_YAML}\": a\n\"{EVIL_IN_YAML}\": b\n"),
        word_with(&format!("draft: [\"{EVIL_IN_YAML}\"]")),
        word_with(&format!("draft: \"{EVIL_IN_YAML}\"")),
        word_with(&format!("join: \"{EVIL_IN_YAML}\"")),
        song_with(&format!("sections:\n- lines:\n  - bars: \"{EVIL_IN_YAML}\"\n    words: []\n")),
        format!("format: \"{EVIL_IN_YAML}\"\n"),
        // Raw in the file, where the parser may repeat them.
        format!("{EVIL}: a\n"),
        format!("title: {EVIL}\n{EVIL}\n"),
        format!("title: *{EVIL}\n"),
        format!("title: !{EVIL} a\n"),
        format!("title: \"\\{EVIL}\"\n"),
    ] {
        let world = World::new();
        world.write("song.yaml", &content);
        for args in
            [&["print", "song.yaml"][..], &["check", "song.yaml", "--json"], &["fill", "song.yaml"], &["find", "a"]]
        {
            assert_harmless(&world.run(args));
        }
    }
}

#[cfg(unix)]
#[test]
fn control_characters_in_file_names_reach_no_terminal() {
    let world = World::new();
    let (good, bad, missing) = (format!("good{EVIL}.yaml"), format!("bad{EVIL}.yaml"), format!("missing{EVIL}.yaml"));
    // A folder separator is no part of a name.
    let [good, bad, missing] = [good, bad, missing].map(|name| name.replace('/', "-"));
    world.write(&good, song_with(LINES));
    world.write(&bad, "title: [\n");
    for name in [&good, &bad, &missing] {
        for reader in READERS {
            assert_harmless(&world.run(&[reader, &[name.as_str()]].concat()));
        }
        assert_harmless(&world.run(&["new", name, "--lang", "it"]));
        assert_harmless(&world.run(&["print", &good, "-o", &format!("{name}/sheet.txt")]));
        assert_harmless(&world.run(&["print", &good, "-o", &format!("{name}.txt")]));
    }
    assert_harmless(&world.run(&["find", "luna"]));
    assert_harmless(&world.run(&["find", "luna", "--in", &missing]));
    assert_harmless(&world.run(&["demo", &format!("demo{EVIL}")]));
}

#[test]
fn control_characters_in_arguments_reach_no_terminal() {
    let world = world_with_song();
    for args in [
        &["find", EVIL][..],
        &["lexicon", "find", EVIL],
        &["lexicon", "find", "luna", "--lang", EVIL],
        &["lexicon", "add", EVIL, EVIL, "--lang", "it", "--tag", EVIL, "--lemma", EVIL, "--sound", EVIL],
        &["lexicon", "find", "red"],
        &["lexicon", "uses", EVIL],
        &["lexicon", "forget", EVIL, "--lang", "it"],
        &["new", "new.yaml", "--lang", EVIL],
        &["new", "new.yaml", "--lang", "it", "--title", EVIL, "--poet", EVIL],
        &["print", "new.yaml"],
    ] {
        assert_harmless(&world.run(args));
    }
}

#[test]
fn control_characters_in_a_usage_error_reach_no_terminal() {
    let world = world_with_song();
    let option = format!("--{EVIL}");
    for args in [
        &[EVIL][..],
        &["print", &option],
        &["print", "song.yaml", "--sheet", EVIL],
        &["print", "song.yaml", "--width", EVIL],
    ] {
        let ran = world.run(args);
        assert_eq!(ran.status, 2, "{ran}");
        assert_harmless(&ran);
    }
}

#[cfg(unix)]
#[test]
fn control_characters_in_json_are_escaped() {
    // RFC 8259, 2017, section 7: any character may be escaped. A terminal shows JSON too.
    let world = World::new();
    let name = format!("song{EVIL}.yaml");
    world.write(&name, song_with(LINES));
    for args in [
        &["check", &name, "--json"][..],
        &["fill", &name, "--json"],
        &["find", "luna", "--json"],
        &["lexicon", "learn", &name, "--json"],
        &["print", &name, "-o", &format!("sheet{EVIL}.txt"), "--json"],
        &["check", "missing\u{9b}\u{202e}.yaml", "--json"],
        &["lexicon", "find", "luna", "--lang", EVIL, "--json"],
    ] {
        assert_harmless(&world.run(args));
    }
}

// --------------------------------------------------------------------------------------------------------------- `new`

/// Checks what becomes of a text in some bytes: the message, and the words of the song.
fn check_text(bytes: &[u8], message: &str, text: &[&str]) {
    let world = World::new();
    world.write("text.txt", bytes);
    assert_fine(&world.run(&["new", "song.yaml", "--lang", "it", "--text", "text.txt"]), &[message]);
    let from_file = world.ok(&["print", "song.yaml", "--rows", "word"]);
    for line in text {
        assert!(from_file.contains(&format!("\n{line}\n")), "“{line}” is not in\n{from_file}");
    }
    let ran = world.run_with(&["new", "piped.yaml", "--lang", "it", "--title", "song", "--text", "-"], bytes);
    assert_fine(&ran, &[message]);
    assert_eq!(world.ok(&["print", "piped.yaml", "--rows", "word"]), from_file, "standard input gives the same");
    assert_eq!(fs::read(world.file("text.txt")).unwrap(), bytes);
}

#[test]
fn new_from_a_text_in_any_encoding() {
    let text = "Perché la luna\nè già città\n";
    let lines = &["Perché  la  luna", "è  già  città"];
    let utf16 = |to_bytes: fn(u16) -> [u8; 2]| text.encode_utf16().flat_map(to_bytes).collect::<Vec<u8>>();
    check_text(text.as_bytes(), "2 lines, 6 words", lines);
    check_text(format!("\u{feff}{text}").as_bytes(), "2 lines, 6 words", lines);
    check_text(&utf16(u16::to_le_bytes), "2 lines, 6 words", lines);
    check_text(&utf16(u16::to_be_bytes), "2 lines, 6 words", lines);
    check_text(&[&[0xff, 0xfe], &utf16(u16::to_le_bytes)[..]].concat(), "2 lines, 6 words", lines);
    check_text(&[&[0xfe, 0xff], &utf16(u16::to_be_bytes)[..]].concat(), "2 lines, 6 words", lines);
    check_text(
        b"Perch\xe9 la luna\n\xe8 gi\xe0 citt\xe0\n",
        "note: the text is not UTF-8 and was read as Latin-1",
        lines,
    );
    // 0x92 is the apostrophe of Windows (Unicode Consortium, mapping table CP1252, 1998), a control character in ISO
    // 8859-1.
    check_text(b"l\x92onda \xe8\n", "Latin-1", &["l’  onda  è"]);
}

#[test]
fn new_from_a_text_with_foreign_line_ends_and_decomposed_letters() {
    let lines = &["Perché  la  luna", "è  già  città"];
    check_text("Perché la luna\r\nè già città\r\n".as_bytes(), "2 lines, 6 words", lines);
    check_text("Perché la luna\rè già città".as_bytes(), "2 lines, 6 words", lines);
    // NFD (Unicode Standard Annex 15): letter and accent apart, as some file systems and programs write them.
    check_text("Perche\u{301} la luna\ne\u{300} gia\u{300} citta\u{300}\n".as_bytes(), "2 lines, 6 words", lines);
    let world = World::new();
    world.write("text.txt", "Perche\u{301}\n");
    world.ok(&["new", "song.yaml", "--lang", "it", "--title", "Perche\u{301}", "--text", "text.txt"]);
    assert!(world.read("song.yaml").contains("title: Perché\n") && world.read("song.yaml").contains("{word: Perché}"));
}

#[test]
fn new_from_what_is_no_text() {
    let world = World::new();
    fs::create_dir(world.file("folder")).unwrap();
    for (name, bytes) in [
        ("nul.txt", &b"luna\0sole\n"[..]),
        ("nuls.txt", &[0; 100]),
        ("picture.png", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"),
        ("half.txt", b"\xff\xfea"),
    ] {
        world.write(name, bytes);
        let ran = world.run(&["new", "song.yaml", "--lang", "it", "--text", name]);
        assert_refusal(&ran, name, &["not a text file"]);
        let ran = world.run_with(&["new", "song.yaml", "--lang", "it", "--text", "-"], bytes);
        assert_refusal(&ran, "-", &["not a text file"]);
        assert!(!world.file("song.yaml").exists());
    }
    let ran = world.run(&["new", "song.yaml", "--lang", "it", "--text", "missing.txt"]);
    assert_refusal(&ran, "missing.txt", &["no file"]);
    let ran = world.run(&["new", "song.yaml", "--lang", "it", "--text", "folder"]);
    assert_refusal(&ran, "folder", &["is a folder"]);
    assert!(!world.file("song.yaml").exists());
}

#[test]
fn new_never_replaces_a_file() {
    let world = World::new();
    world.write("song.yaml", "a text of somebody\n");
    world.write("text.txt", "luna\n");
    for args in [&["new", "song.yaml", "--lang", "it"][..], &["new", "text.txt", "--lang", "it", "--text", "text.txt"]]
    {
        assert_refusal(&world.run(args), args[1], &["already", "another name", "nothing was overwritten"]);
    }
    fs::create_dir(world.file("folder")).unwrap();
    assert_refusal(&world.run(&["new", "folder", "--lang", "it"]), "folder", &["already"]);
    assert_refusal(&world.run(&["new", "no/song.yaml", "--lang", "it"]), "no/song.yaml", &["folder does not exist"]);
    assert_eq!((world.read("song.yaml"), world.read("text.txt")), ("a text of somebody\n".into(), "luna\n".into()));
    assert_eq!(names(world.path()), ["folder", "song.yaml", "text.txt"]);
    keep("new_on_a_file", &world, &world.run(&["new", "song.yaml", "--lang", "it"]));
}

#[test]
fn demo_never_replaces_a_file() {
    let world = World::new();
    fs::create_dir(world.file("demo")).unwrap();
    world.write("demo/brume.yaml", "mine\n");
    assert_refusal(&world.run(&["demo", "demo"]), "demo/brume.yaml", &["already", "nothing was overwritten"]);
    assert_eq!(world.read("demo/brume.yaml"), "mine\n");
    world.write("file", "mine\n");
    assert_refusal(&world.run(&["demo", "file"]), "file", &["cannot write"]);
    assert_eq!(world.read("file"), "mine\n");
}

// --------------------------------------------------------------------------------------------------------- permissions

#[cfg(unix)]
fn set_mode(path: &Path, mode: u32) {
    use std::os::unix::fs::PermissionsExt;
    fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
}

#[cfg(unix)]
#[test]
fn a_read_only_song() {
    let world = world_with_song();
    world.ok(&["lexicon", "add", "luna", "moon", "--lang", "it"]);
    set_mode(&world.file("song.yaml"), 0o444);
    for _ in 0..2 {
        assert_refusal(&world.run(&["fill", "song.yaml"]), "song.yaml", &["read-only", "allow writing"]);
        assert_eq!(world.read("song.yaml"), song_with(LINES));
    }
    world.write("sheet.txt", "an older sheet\n");
    set_mode(&world.file("sheet.txt"), 0o444);
    let ran = world.run(&["print", "song.yaml", "-o", "sheet.txt", "--json"]);
    assert!(ran.status == 2 && ran.stderr.contains("sheet.txt is marked read-only"), "{ran}");
    assert_eq!(world.read("sheet.txt"), "an older sheet\n");
    fs::remove_file(world.file("sheet.txt")).unwrap();
    keep("read_only_song", &world, &world.run(&["fill", "song.yaml"]));
    // What was drafted is in the journal and comes back as soon as the file may be written.
    set_mode(&world.file("song.yaml"), 0o644);
    assert_fine(&world.run(&["fill", "song.yaml"]), &["recovered"]);
    assert!(world.read("song.yaml").contains("{word: luna, gloss: moon, draft: true}"));
    assert_eq!(names(world.path()), [".song.yaml.backup", "song.yaml"]);
}

/// Runs a command as a user for whom mode bits hold; `None`, and says so, where there is no such user.
#[cfg(unix)]
fn run_without_rights(world: &World, args: &[&str]) -> Option<Ran> {
    use std::os::unix::fs::MetadataExt;
    use std::os::unix::process::CommandExt;
    let mut command = world.command(args);
    let is_root = fs::metadata("/proc/self").is_ok_and(|process| process.uid() == 0);
    if is_root {
        // For root no folder is closed; the user `nobody` owns nothing.
        command.uid(65_534);
    }
    match command.output() {
        Ok(output) => Some(Ran {
            stdout: String::from_utf8(output.stdout).unwrap(),
            stderr: String::from_utf8(output.stderr).unwrap(),
            status: output.status.code().unwrap_or(-1),
        }),
        Err(error) => {
            eprintln!("skipped: running as root, and the program cannot be run as another user ({error})");
            None
        }
    }
}

#[cfg(unix)]
#[test]
fn a_read_only_folder() {
    let world = world_with_song();
    set_mode(world.path(), 0o555);
    let outcome = (|| {
        let fill = run_without_rights(&world, &["fill", "song.yaml"])?;
        let new = run_without_rights(&world, &["new", "new.yaml", "--lang", "it"])?;
        let sheet = run_without_rights(&world, &["print", "song.yaml", "-o", "sheet.txt"])?;
        let print = run_without_rights(&world, &["print", "song.yaml"])?;
        let check = run_without_rights(&world, &["check", "song.yaml"])?;
        Some((fill, new, sheet, print, check))
    })();
    let left = names(world.path());
    set_mode(world.path(), 0o755);
    let Some((fill, new, sheet, print, check)) = outcome else { return };
    assert_refusal(&fill, "song.yaml", &["cannot write", "denied", "the folder does not allow writing"]);
    assert_refusal(&new, "new.yaml", &["cannot write", "denied", "another folder"]);
    assert_refusal(&sheet, "sheet.txt", &["cannot write", "denied", "another folder"]);
    assert_fine(&print, &[]);
    assert_eq!(check.status, 1, "{check}");
    assert_eq!((left, world.read("song.yaml")), (vec!["song.yaml".to_owned()], song_with(LINES)));
    keep("read_only_folder", &world, &fill);
}

#[cfg(unix)]
#[test]
fn a_file_that_may_not_be_read() {
    let world = world_with_song();
    set_mode(world.path(), 0o755);
    set_mode(&world.file("song.yaml"), 0o000);
    let Some(ran) = run_without_rights(&world, &["print", "song.yaml"]) else { return };
    assert_refusal(&ran, "song.yaml", &["cannot read", "denied", "ask the owner"]);
}

// ----------------------------------------------------------------------------------------------------------- full disk

/// A song that is short as it is written here and long as the program writes it, and so longer than its journal.
fn compact_song() -> String {
    format!("{HEAD}sections:\n- lines: [{{words: [{{word: Sale}}, {{word: luna}}]}}{}]\n", ", {}".repeat(500))
}

/// Runs a command that can write no file longer than so many blocks of 512 bytes (POSIX.1-2024, `ulimit`), with SIGXFSZ
/// ignored, so that writing fails as on a full disk.
#[cfg(unix)]
fn run_with_little_room(world: &World, blocks: u32, args: &[&str]) -> Ran {
    let program = world.command(args);
    let mut shell = Command::new("sh");
    let script = format!("trap '' XFSZ; ulimit -f {blocks} && exec \"$@\"");
    shell.args(["-c", &script, "sh"]).arg(program.get_program()).args(program.get_args()).current_dir(world.path());
    shell.env_clear().envs(program.get_envs().filter_map(|(name, value)| Some((name, value?))));
    let output = shell.output().unwrap();
    Ran {
        stdout: String::from_utf8(output.stdout).unwrap(),
        stderr: String::from_utf8(output.stderr).unwrap(),
        status: output.status.code().unwrap_or(-1),
    }
}

#[cfg(unix)]
#[test]
fn a_save_without_room_keeps_song_and_edit() {
    let world = World::new();
    let before = compact_song();
    world.write("song.yaml", &before);
    world.ok(&["lexicon", "add", "luna", "moon", "--lang", "it"]);
    assert!(before.len() < 2_500, "the journal has room in 4096 bytes");
    for _ in 0..2 {
        let ran = run_with_little_room(&world, 8, &["fill", "song.yaml"]);
        assert_refusal(&ran, "song.yaml", &["cannot write", "too large", "as it was before"]);
        assert_eq!(world.read("song.yaml"), before);
        assert_eq!(names(world.path()), [".song.yaml.journal", "song.yaml"], "the journal keeps the edit");
    }
    // Whoever only looks at the song sees the edit already.
    let ran = world.run(&["print", "song.yaml"]);
    assert_fine(&ran, &["note: one change that had not been saved was recovered"]);
    assert!(ran.stdout.contains("moon"), "{ran}");
    let ran = world.run(&["fill", "song.yaml"]);
    assert_fine(&ran, &["note: one change that had not been saved was recovered", "0 cells drafted"]);
    assert!(world.read("song.yaml").contains("{word: luna, gloss: moon, draft: true}"));
    assert_eq!(fs::read_to_string(backup_path(&world.file("song.yaml"))).unwrap(), before);
    assert_eq!(names(world.path()), [".song.yaml.backup", "song.yaml"]);
}

#[cfg(unix)]
#[test]
fn a_message_about_a_full_disk_names_no_file_of_the_programs_own() {
    let world = World::new();
    world.write("song.yaml", compact_song());
    world.ok(&["lexicon", "add", "luna", "moon", "--lang", "it"]);
    let ran = run_with_little_room(&world, 8, &["fill", "song.yaml"]);
    assert!(!ran.stderr.contains(".new-"), "{ran}");
}

#[cfg(unix)]
#[test]
fn an_edit_without_room_for_its_journal_is_not_made() {
    let world = World::new();
    world.write("song.yaml", compact_song());
    world.ok(&["lexicon", "add", "luna", "moon", "--lang", "it"]);
    let ran = run_with_little_room(&world, 1, &["fill", "song.yaml"]);
    assert_refusal(&ran, "song.yaml", &["cannot write", "too large"]);
    assert_eq!(world.read("song.yaml"), compact_song());
    keep("journal_without_room", &world, &ran);
    let ran = world.run(&["fill", "song.yaml"]);
    assert_fine(&ran, &["1 cell drafted"]);
    assert!(!ran.stderr.contains("recovered"), "{ran}");
    assert_eq!(names(world.path()), [".song.yaml.backup", "song.yaml"]);
}

#[cfg(unix)]
#[test]
fn other_files_without_room_are_as_they_were() {
    let world = World::new();
    world.write("text.txt", "Sale la luna lenta\n".repeat(100));
    let ran = run_with_little_room(&world, 1, &["new", "song.yaml", "--lang", "it", "--text", "text.txt"]);
    assert_refusal(&ran, "song.yaml", &["cannot write"]);
    assert_eq!(names(world.path()), ["text.txt"]);
    world.write("song.yaml", song_with(LINES));
    world.write("sheet.txt", "an older sheet\n");
    let song = song_with(&format!("composer: {}\n{LINES}", "Elmira Castordi ".repeat(60)));
    world.write("long.yaml", song);
    let ran = run_with_little_room(&world, 1, &["print", "long.yaml", "-o", "sheet.txt"]);
    assert_refusal(&ran, "sheet.txt", &["cannot write", "as it was before"]);
    assert_eq!(world.read("sheet.txt"), "an older sheet\n");
    world.ok(&["lexicon", "add", "luna", "moon", "--lang", "it"]);
    let lexicon = world.read("home/data/lexicon/it-en.yaml");
    let long = "very-".repeat(200);
    let ran = run_with_little_room(&world, 1, &["lexicon", "add", "sole", &long, "--lang", "it"]);
    assert_refusal(&ran, "it-en.yaml", &["cannot write", "as it was before"]);
    assert_eq!(world.read("home/data/lexicon/it-en.yaml"), lexicon);
    assert_eq!(names(world.path()), ["long.yaml", "sheet.txt", "song.yaml", "text.txt"]);
    assert_eq!(names(&world.file("home/data/lexicon")), ["it-en.yaml"]);
}

/// A device that has no room for a single byte; Linux has one.
#[cfg(unix)]
const FULL: &str = "/dev/full";

#[cfg(unix)]
#[test]
fn standard_output_without_room() {
    if !Path::new(FULL).exists() {
        eprintln!("skipped: there is no {FULL} here");
        return;
    }
    let world = world_with_song();
    world.ok(&["lexicon", "add", "luna", "moon", "--lang", "it"]);
    for args in [
        &["print", "song.yaml"][..],
        &["check", "song.yaml"],
        &["find", "luna"],
        &["lexicon", "find", "luna"],
        &["completions", "bash"],
        &["manual"],
        &[],
    ] {
        let full = File::options().write(true).open(FULL).unwrap();
        let output = world.command(args).stdout(full).stderr(Stdio::piped()).output().unwrap();
        let stderr = String::from_utf8(output.stderr).unwrap();
        let ran = Ran { stdout: String::new(), stderr, status: output.status.code().unwrap() };
        assert_eq!(ran.status, 2, "{args:?}: {ran}");
        assert!(ran.stderr.contains("error: cannot write the result\n"), "{args:?}: {ran}");
        assert!(ran.stderr.contains("because: No space left on device"), "{args:?}: {ran}");
        if args.first() == Some(&"print") {
            keep("standard_output_without_room", &world, &ran);
        }
    }
}

/// A sheet may go to a device or a pipe that has a name. It is written to, and stays what it is. The test makes its
/// own: a program that replaces such a file would take the one of the whole machine away.
#[cfg(unix)]
#[test]
fn a_sheet_for_a_device_without_room() {
    use std::os::unix::fs::FileTypeExt;
    let world = world_with_song();
    let made = Command::new("mknod").arg(world.file("full")).args(["c", "1", "7"]).output();
    if !made.is_ok_and(|made| made.status.success()) || File::options().write(true).open(world.file("full")).is_err() {
        eprintln!("skipped: no device can be made here");
        return;
    }
    let ran = world.run(&["print", "song.yaml", "-o", "full"]);
    let is_device = fs::metadata(world.file("full")).unwrap().file_type().is_char_device();
    assert!(is_device, "the device was replaced by a file: {ran}");
    assert_refusal(&ran, "full", &["cannot write", "No space left on device"]);
}

#[cfg(unix)]
#[test]
fn a_sheet_for_a_named_pipe() {
    use std::io::Read;
    use std::os::unix::fs::FileTypeExt;
    let world = world_with_song();
    let made = Command::new("mkfifo").arg(world.file("pipe")).output();
    if !made.is_ok_and(|made| made.status.success()) {
        eprintln!("skipped: no named pipe can be made here");
        return;
    }
    // Open at both ends, so that nobody waits for the other; a sheet is shorter than what a pipe holds.
    let mut pipe = File::options().read(true).write(true).open(world.file("pipe")).unwrap();
    let ran = world.run(&["print", "song.yaml", "-o", "pipe"]);
    let is_pipe = fs::metadata(world.file("pipe")).unwrap().file_type().is_fifo();
    assert!(is_pipe, "the pipe was replaced by a file: {ran}");
    assert_fine(&ran, &["written to pipe"]);
    let sheet = world.ok(&["print", "song.yaml"]);
    let mut piped = vec![0; sheet.len()];
    pipe.read_exact(&mut piped).unwrap();
    assert_eq!(String::from_utf8(piped).unwrap(), sheet);
}

#[test]
fn a_sheet_never_replaces_a_song() {
    let world = world_with_song();
    let ran = world.run(&["print", "song.yaml", "-o", "song.yaml"]);
    assert_eq!(world.read("song.yaml"), song_with(LINES), "{ran}");
    assert_refusal(&ran, "song.yaml", &[]);
}

// ---------------------------------------------------------------------------------------------------- lock and journal

#[test]
fn a_song_that_is_open_elsewhere() {
    let world = world_with_song();
    let (file, _) = SongFile::open(&world.file("song.yaml")).unwrap();
    let ran = world.run(&["fill", "song.yaml"]);
    let holder = format!("process {}", std::process::id());
    assert_refusal(&ran, "song.yaml", &["open in another window", &holder, "close the song there first"]);
    keep("open_elsewhere", &world, &ran);
    // Whoever only looks needs no lock.
    assert_fine(&world.run(&["print", "song.yaml"]), &[]);
    assert_eq!(world.run(&["check", "song.yaml"]).status, 1);
    assert_eq!(world.read("song.yaml"), song_with(LINES));
    drop(file);
    assert_fine(&world.run(&["fill", "song.yaml"]), &[]);
    assert_eq!(names(world.path()), ["song.yaml"]);
}

#[test]
fn a_lexicon_that_somebody_holds() {
    let world = World::new();
    let paths = Paths { config: world.file("home/config"), data: world.file("home/data") };
    let guard = LexiconFolder::for_songs_in(world.path(), &paths).open("it", "en").unwrap();
    let ran = world.run(&["lexicon", "add", "luna", "moon", "--lang", "it"]);
    let holder = format!("process {}", std::process::id());
    assert_refusal(&ran, "it-en.yaml", &["open in another window", &holder]);
    drop(guard);
    world.ok(&["lexicon", "add", "luna", "moon", "--lang", "it"]);
}

/// Leaves a song as a session does that gave it the titles and never saved; returns the journal.
fn leave_a_journal(world: &World, titles: &[&str]) -> Vec<u8> {
    let (mut file, _) = SongFile::open(&world.file("song.yaml")).unwrap();
    for title in titles {
        file.make(Edit::SetDetail { detail: Detail::Title, text: (*title).to_owned() }, None).unwrap();
    }
    drop(file);
    fs::read(world.file(".song.yaml.journal")).unwrap()
}

/// The byte at which a line of the journal begins.
fn start_of_line(journal: &[u8], line: usize) -> usize {
    let ends = journal.iter().enumerate().filter(|(_, byte)| **byte == b'\n').map(|(n, _)| n + 1);
    std::iter::once(0).chain(ends).nth(line).unwrap()
}

/// Checks that a damaged journal is told and kept, and that the edits before the damage are made.
fn check_damaged(damage: impl Fn(&mut Vec<u8>), title: &str) {
    let world = world_with_song();
    let mut journal = leave_a_journal(&world, &["One", "Two", "Three"]);
    damage(&mut journal);
    world.write(".song.yaml.journal", &journal);
    let ran = world.run(&["fill", "song.yaml"]);
    assert!(world.file("song.journal").exists(), "the journal is gone: {ran}");
    assert_fine(&ran, &["note: the journal of unsaved changes is damaged", "kept in", "song.journal"]);
    assert_eq!(fs::read(world.file("song.journal")).unwrap(), journal);
    assert!(world.read("song.yaml").contains(&format!("title: {title}\n")), "{}", world.read("song.yaml"));
    assert!(!world.file(".song.yaml.journal").exists());
    assert!(world.read("song.yaml").contains("{word: luna}"));
}

#[test]
fn a_journal_that_is_damaged_in_its_edits() {
    check_damaged(
        |journal| {
            let at = start_of_line(journal, 1);
            journal[at + 2] = b'#'
        },
        "Luna",
    );
    check_damaged(
        |journal| {
            let at = start_of_line(journal, 2);
            journal[at + 2] = b'#'
        },
        "One",
    );
    check_damaged(
        |journal| {
            let at = start_of_line(journal, 3);
            journal[at] = 0
        },
        "Two",
    );
    check_damaged(
        |journal| {
            let at = start_of_line(journal, 3);
            journal.splice(at..at, *b"\xff\xfe\n");
        },
        "Two",
    );
}

#[test]
fn a_journal_that_is_damaged_in_its_first_line() {
    check_damaged(|journal| journal[0] = b'#', "Luna");
    check_damaged(
        |journal| {
            journal.drain(..start_of_line(journal, 1));
        },
        "Luna",
    );
}

#[test]
fn a_journal_with_an_edit_that_does_not_fit() {
    let misfit = b"{\"edit\":{\"remove-section\":{\"section\":99}}}\n";
    check_damaged(
        |journal| {
            let at = start_of_line(journal, 2);
            journal.splice(at..at, *misfit);
        },
        "One",
    );
}

#[test]
fn a_journal_whose_last_line_was_cut_off_is_whole() {
    let world = world_with_song();
    let mut journal = leave_a_journal(&world, &["One", "Two", "Three"]);
    journal.truncate(journal.len() - 1);
    world.write(".song.yaml.journal", &journal);
    assert_fine(&world.run(&["fill", "song.yaml"]), &["note: 2 changes that had not been saved were recovered"]);
    assert!(world.read("song.yaml").contains("title: Two\n"));
    assert_eq!(names(world.path()), [".song.yaml.backup", "song.yaml"]);
}

#[test]
fn a_damaged_journal_is_kept_each_time() {
    let world = world_with_song();
    for name in ["song.journal", "song-2.journal"] {
        let mut journal = leave_a_journal(&world, &["One", "Two"]);
        let at = start_of_line(&journal, 2);
        journal[at] = b'#';
        world.write(".song.yaml.journal", &journal);
        let ran = world.run(&["fill", "song.yaml"]);
        assert_fine(&ran, &["damaged", name]);
        if name == "song.journal" {
            keep("damaged_journal", &world, &ran);
        }
        assert_eq!(fs::read(world.file(name)).unwrap(), journal);
    }
}

#[test]
fn a_journal_whose_song_was_changed_by_another_program() {
    let world = world_with_song();
    leave_a_journal(&world, &["Mine"]);
    let theirs = song_with(LINES).replace("Luna", "Theirs");
    world.write("song.yaml", &theirs);
    // Looking changes nothing.
    assert!(world.ok(&["print", "song.yaml"]).contains("Theirs"));
    assert!(world.file(".song.yaml.journal").exists());
    let ran = world.run(&["fill", "song.yaml"]);
    assert_fine(&ran, &["note: the file was changed by another program", "kept in", "song.recovered.yaml"]);
    assert_eq!(world.read("song.yaml"), theirs);
    assert_eq!(names(world.path()), ["song.recovered.yaml", "song.yaml"]);
    assert!(world.read("song.recovered.yaml").contains("title: Mine\n"));
    assert!(world.ok(&["print", "song.recovered.yaml"]).contains("Sale  luna"));
    keep("changed_by_another_program", &world, &ran);
}

#[test]
fn a_journal_whose_song_was_broken_or_removed_by_another_program() {
    let world = world_with_song();
    let journal = leave_a_journal(&world, &["Mine"]);
    for broken in [Some("title: [\n"), Some(""), None] {
        match broken {
            Some(content) => drop(world.write("song.yaml", content)),
            None => fs::remove_file(world.file("song.yaml")).unwrap(),
        }
        for command in ["fill", "print", "check"] {
            assert_refusal(&world.run(&[command, "song.yaml"]), "song.yaml", &[]);
        }
        assert_eq!(fs::read(world.file(".song.yaml.journal")).unwrap(), journal, "the work is still there");
    }
    world.write("song.yaml", song_with(LINES));
    assert_fine(&world.run(&["fill", "song.yaml"]), &["one change that had not been saved was recovered"]);
    assert!(world.read("song.yaml").contains("title: Mine\n"));
}

// --------------------------------------------------------------------------------------------------- lexicon, settings

/// Checks that every command that needs the lexicon names the mistake in it and does not write over it.
fn check_lexicon(content: impl AsRef<[u8]>, place: &str, words: &[&str]) {
    let world = world_with_song();
    fs::create_dir_all(world.file("home/data/lexicon")).unwrap();
    world.write("home/data/lexicon/it-en.yaml", &content);
    for args in [
        &["fill", "song.yaml"][..],
        &["fill", "song.yaml", "--dry-run"],
        &["lexicon", "find", "luna"],
        &["lexicon", "find", "luna", "--lang", "it"],
        &["lexicon", "add", "luna", "moon", "--lang", "it"],
        &["lexicon", "forget", "luna", "--lang", "it"],
        &["lexicon", "uses", "luna"],
        &["lexicon", "learn", "song.yaml"],
    ] {
        let ran = world.run(args);
        assert_refusal(&ran, &format!("it-en.yaml{place}"), words);
        assert_eq!(fs::read(world.file("home/data/lexicon/it-en.yaml")).unwrap(), content.as_ref(), "{args:?}");
        assert_eq!(names(&world.file("home/data/lexicon")), ["it-en.yaml"], "{args:?}");
    }
    assert_eq!(world.read("song.yaml"), song_with(LINES));
    assert_fine(&world.run(&["print", "song.yaml"]), &[]);
}

#[test]
fn a_lexicon_with_a_mistake() {
    let head = "format: 1\nlanguage: it\ngloss_language: en\nentries:\n- form: luna\n  senses:\n";
    check_lexicon(format!("{head}  - {{glos: moon}}\n"), ":7:6", &["`glos`", "write `gloss`"]);
    check_lexicon(format!("{head}  - {{tag: NOUN}}\n"), ":7", &["`gloss`", "missing"]);
    check_lexicon(format!("{head}  - {{gloss: moon, songs: {{luna: many}}}}\n"), ":7", &[]);
    check_lexicon(format!("{head}  - {{gloss: moon, gloss: lune}}\n"), ":7", &["`gloss`", "twice"]);
    check_lexicon("language: it\n", ":1:1", &["`gloss_language`", "missing"]);
    check_lexicon("format: 2\nshelves: []\n", "", &["format 2", "update undersong"]);
    check_lexicon(b"format: 1\nlanguage: it # perch\xe9\n", ":2", &["UTF-8"]);
    let world = world_with_song();
    fs::create_dir_all(world.file("home/data/lexicon")).unwrap();
    world.write("home/data/lexicon/it-en.yaml", format!("{head}  - {{glos: moon}}\n"));
    keep("lexicon_with_a_mistake", &world, &world.run(&["lexicon", "add", "luna", "moon", "--lang", "it"]));
}

#[test]
fn settings_with_a_mistake() {
    for (content, place, words) in [
        (&b"repertoir: songs\n"[..], ":1:1", &["`repertoir`", "write `repertoire`"][..]),
        (b"# Mine.\nrows: [gloss, tagg]\n", ":2:15", &["`tagg`", "word, sound, gloss, tag, lemma"]),
        (b"tag_style: shrt\n", ":1:12", &["`shrt`", "short, plain, words"]),
        (b"rows: gloss\n", ":1:7", &[]),
        (b"rows: [\n", ":", &["not valid YAML"]),
        (b"repertoire: citt\xe0\n", ":1", &["UTF-8"]),
        (b"\x7fELF\0", "", &["not a text file"]),
    ] {
        let world = world_with_song();
        fs::create_dir_all(world.file("home/config")).unwrap();
        world.write("home/config/settings.yaml", content);
        for args in [
            &["print", "song.yaml"][..],
            &["find", "luna"],
            &["new", "new.yaml", "--lang", "it"],
            &["lexicon", "add", "luna", "moon", "--lang", "it"],
        ] {
            assert_refusal(&world.run(args), &format!("settings.yaml{place}"), words);
        }
        assert_eq!(fs::read(world.file("home/config/settings.yaml")).unwrap(), content);
        assert_eq!(names(world.path()), ["song.yaml"]);
        assert!(!world.file("home/data").exists());
    }
}

#[test]
fn a_song_that_cannot_be_read_is_passed_over_by_find() {
    let world = world_with_song();
    world.write("broken.yaml", "title: [\n");
    world.write("latin.yaml", b"title: Perch\xe9\n");
    let ran = world.run(&["find", "luna"]);
    assert_fine(&ran, &["note: ", "broken.yaml was passed over", "latin.yaml was passed over", "UTF-8"]);
    assert!(ran.stdout.contains("song.yaml, section 1, line 1, text: Sale luna"), "{ran}");
    assert_refusal(&world.run(&["find", "luna", "--in", "nowhere"]), "nowhere", &[]);
    assert_refusal(&world.run(&["find", "luna", "--in", "song.yaml"]), "song.yaml", &[]);
}

// -------------------------------------------------------------------------------------------------------------- output

#[test]
fn a_reader_that_has_gone_ends_a_command_quietly() {
    let world = world_with_song();
    world.ok(&["lexicon", "add", "luna", "moon", "--lang", "it"]);
    for args in [
        &["print", "song.yaml"][..],
        &["print", "song.yaml", "--to", "markdown"],
        &["check", "song.yaml"],
        &["check", "song.yaml", "--json"],
        &["find", "luna"],
        &["lexicon", "find", "luna"],
        &["completions", "bash"],
        &["manual"],
        &[],
    ] {
        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let output = world.command(args).stdout(writer).stderr(Stdio::piped()).output().unwrap();
        let stderr = String::from_utf8(output.stderr).unwrap();
        assert_eq!((output.status.code(), stderr.as_str()), (Some(0), ""), "{args:?}");
    }
}

#[cfg(unix)]
#[test]
fn a_long_sheet_piped_into_head_ends_quietly() {
    let world = World::new();
    world.write("text.txt", "Sale la luna lenta\n".repeat(5_000));
    world.ok(&["new", "song.yaml", "--lang", "it", "--text", "text.txt"]);
    let program = world.command(&["print", "song.yaml"]);
    let mut shell = Command::new("sh");
    shell.args(["-c", "{ \"$@\" 2>stderr; echo $? >status; } | head -1", "sh"]);
    shell.arg(program.get_program()).args(program.get_args()).current_dir(world.path());
    shell.envs(program.get_envs().filter_map(|(name, value)| Some((name, value?))));
    let output = shell.output().unwrap();
    assert!(String::from_utf8(output.stdout).unwrap().starts_with("song "));
    assert_eq!((world.read("status").as_str(), world.read("stderr").as_str()), ("0\n", ""));
}

/// Checks that a command fails with one JSON object on standard error, which has a text under `error`.
fn assert_json_error(ran: &Ran, words: &[&str]) {
    assert_eq!((ran.status, ran.stdout.as_str()), (2, ""), "{ran}");
    let value: Result<serde_json::Value, _> = serde_json::from_str(&ran.stderr);
    let Ok(serde_json::Value::Object(object)) = value else { panic!("not one JSON object: {ran}") };
    assert!(object["error"].as_str().is_some_and(|text| !text.is_empty()), "{ran}");
    for (key, value) in &object {
        match key.as_str() {
            "error" | "at" | "help" => assert!(value.is_string(), "{key}: {ran}"),
            "because" => assert!(value.as_array().is_some_and(|causes| causes.iter().all(|c| c.is_string())), "{ran}"),
            _ => panic!("unknown key {key}: {ran}"),
        }
    }
    for word in words {
        assert!(ran.stderr.contains(word), "`{word}` is not said: {ran}");
    }
}

#[test]
fn every_error_with_json_is_one_json_object() {
    let world = world_with_song();
    world.write("broken.yaml", "title: [\n");
    world.write("latin.yaml", b"title: Perch\xe9\n");
    fs::create_dir_all(world.file("home/data/lexicon")).unwrap();
    world.write("home/data/lexicon/de-en.yaml", "language: de\nglos_language: en\n");
    for (args, words) in [
        (&["print", "missing.yaml", "-o", "sheet.txt", "--json"][..], &["missing.yaml", "help"][..]),
        (&["print", "song.yaml", "-o", "no/sheet.txt", "--json"], &["no/sheet.txt", "because", "help"]),
        (&["print", "song.yaml", "--aligned", "-o", "sheet.txt", "--json"], &["--aligned"]),
        (&["check", "missing.yaml", "--json"], &["missing.yaml"]),
        (&["check", "broken.yaml", "--json"], &["\"at\":\"broken.yaml:", "help"]),
        (&["check", "latin.yaml", "--json"], &["\"at\":\"latin.yaml:1\"", "UTF-8"]),
        (&["fill", "missing.yaml", "--json"], &["missing.yaml"]),
        (&["find", "luna", "--in", "nowhere", "--json"], &["nowhere"]),
        (&["new", "song.yaml", "--lang", "it", "--json"], &["song.yaml", "already"]),
        (&["new", "new.yaml", "--lang", "not a tag", "--json"], &["not a tag"]),
        (&["lexicon", "find", "luna", "--lang", "de", "--json"], &["\"at\":", "de-en.yaml:2:1"]),
        (&["lexicon", "find", "luna", "--lang", "5", "--json"], &["“5”"]),
        (&["lexicon", "add", "luna", " ", "--lang", "it", "--json"], &["gloss"]),
        (&["lexicon", "learn", "missing.yaml", "--json"], &["missing.yaml"]),
        (&["lexicon", "--json", "uses", "luna"], &["de-en.yaml"]),
        (&["demo", "song.yaml", "--json"], &["song.yaml"]),
    ] {
        assert_json_error(&world.run(args), words);
    }
    keep("error_as_json", &world, &world.run(&["check", "broken.yaml", "--json"]));
}

#[test]
fn a_usage_error_with_json_is_json_too() {
    let world = world_with_song();
    assert_json_error(&world.run(&["check", "--json"]), &[]);
    assert_json_error(&world.run(&["fill", "song.yaml", "--json", "--no-such-option"]), &["--no-such-option"]);
    assert_json_error(&world.run(&["new", "new.yaml", "--json"]), &["--lang"]);
}

/// A file name need not be UTF-8. It is shown as well as can be, and nothing else depends on it.
#[cfg(target_os = "linux")]
#[test]
fn a_file_name_that_is_no_text_works_with_json() {
    use std::os::unix::ffi::OsStrExt;
    let world = World::new();
    let name = std::ffi::OsStr::from_bytes(b"citt\xe0.yaml");
    fs::write(world.path().join(name), song_with(LINES)).unwrap();
    for (args, status) in [(&["fill"][..], 0), (&["check"], 1), (&["lexicon", "learn"], 0)] {
        for json in [None, Some("--json")] {
            let output = world.command(args).arg(name).args(json).output().unwrap();
            let stderr = String::from_utf8(output.stderr).unwrap();
            assert_eq!(output.status.code(), Some(status), "{args:?} {json:?}: {stderr}");
            let said = format!("{}{stderr}", String::from_utf8(output.stdout).unwrap());
            assert!(said.contains("citt\u{fffd}.yaml"), "{args:?} {json:?}: {said}");
        }
    }
}

/// A song whose file was removed while it was open is written again, with all that was confirmed.
#[test]
fn a_song_that_was_removed_while_it_was_open() {
    let world = world_with_song();
    let path = world.file("song.yaml");
    let (mut file, _) = SongFile::open(&path).unwrap();
    fs::remove_file(&path).unwrap();
    file.make(Edit::SetDetail { detail: Detail::Title, text: "Sole".to_owned() }, None).unwrap();
    file.save().unwrap();
    assert!(world.read("song.yaml").contains("title: Sole\n"));
    assert!(!world.file(".song.yaml.journal").exists());
}
