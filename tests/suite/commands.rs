//! The commands, as a user meets them.

use crate::world::World;
use std::path::PathBuf;

/// Compares all that a command says with what was looked at and approved.
fn snapshot(name: &str, content: impl std::fmt::Display) {
    let mut settings = insta::Settings::clone_current();
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!(name, content.to_string()));
}

fn demo() -> World {
    let world = World::new();
    world.ok(&["demo", "songs"]);
    world
}

fn readme() -> String {
    std::fs::read_to_string(PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("README.md")).unwrap()
}

#[test]
fn a_pasted_text_becomes_a_printed_sheet() {
    let world = World::new();
    let text = "1. L’onda e il vento\nLa notte e l'onda\n";
    let ran = world.run_with(&["new", "song.yaml", "--lang", "it", "--title", "Onda", "--text", "-"], text);
    assert_eq!(ran.status, 0, "{ran}");
    for (form, gloss) in [("l’", "the"), ("onda", "wave"), ("e", "and"), ("il", "the"), ("vento", "wind")] {
        world.ok(&["lexicon", "add", form, gloss, "--lang", "it"]);
    }
    let ran = world.run(&["fill", "song.yaml"]);
    assert_eq!(ran.status, 0, "{ran}");
    let sheet = world.ok(&["print", "song.yaml"]);
    assert!(sheet.contains("L’    onda   e     il    vento\n~the  ~wave  ~and  ~the  ~wind\n"), "{sheet}");
}

/// The console examples of the README say what the program says.
#[test]
fn the_readme_is_true() {
    let world = World::new();
    world.write("text.txt", "1. L’onda e il vento\ncantano alla luna.\n\n2. La riva ascolta\nil silenzio.\n");
    let readme = readme();
    let console = readme.split("```console\n").nth(1).unwrap().split("```").next().unwrap();
    for example in console.split("$ undersong ").skip(1) {
        let (command, said) = example.split_once('\n').unwrap();
        let args: Vec<String> = command.split_whitespace().map(|a| a.trim_matches('"').to_owned()).collect();
        let ran = world.run(&args.iter().map(String::as_str).collect::<Vec<_>>());
        assert_eq!((ran.stdout + &ran.stderr).trim(), said.trim(), "{command}");
    }
    let sheet = World::new();
    sheet.ok(&["demo", "songs"]);
    let printed = sheet.ok(&["print", "songs/notte-di-ventalba.yaml", "--to", "text"]);
    let shown = readme.split("```text\n").nth(1).unwrap().split("```").next().unwrap();
    assert!(printed.contains(shown), "{printed}");
}

#[test]
fn without_a_command_the_first_steps_are_told() {
    let ran = World::new().run(&[]);
    snapshot("welcome", ran);
}

#[test]
fn demo_songs_stand_beside_their_lexica() {
    let world = World::new();
    snapshot("demo", world.run(&["demo", "songs"]));
    let again = world.run(&["demo", "songs"]);
    assert_eq!(again.status, 2);
    assert!(again.stderr.contains("there is a file"), "{again}");
    assert!(!world.file("home").exists(), "the singer's own lexicon is not touched");
}

#[test]
fn the_study_sheet_in_its_formats() {
    let world = demo();
    for song in ["notte-di-ventalba", "brume", "ogni-mayaka", "recitativo-di-oreste"] {
        let file = format!("songs/{song}.yaml");
        snapshot(&format!("{song}.txt"), world.ok(&["print", &file]).replace('\u{c}', "[form feed]\n"));
    }
    let file = "songs/das-erste-licht.yaml";
    snapshot("das-erste-licht.md", world.ok(&["print", file, "--to", "markdown"]));
    let aligned = ["print", file, "--to", "markdown", "--aligned", "--rows", "word,gloss", "--width", "60"];
    snapshot("das-erste-licht-aligned.md", world.ok(&aligned));
    let letter = ["print", file, "--page", "letter", "--rows", "word,tag,lemma", "--tags", "words", "--length", "40"];
    snapshot("das-erste-licht-letter.txt", world.ok(&letter).replace('\u{c}', "[form feed]\n"));
}

#[test]
fn a_sheet_goes_to_a_file() {
    let world = demo();
    let ran = world.run(&["print", "songs/brume.yaml", "-o", "brume.txt"]);
    assert_eq!((ran.stdout.as_str(), ran.stderr.as_str()), ("", "written to brume.txt\n"));
    assert_eq!(world.read("brume.txt"), world.ok(&["print", "songs/brume.yaml"]));
    let json = world.ok(&["print", "songs/brume.yaml", "-o", "brume.txt", "--json"]);
    assert!(json.starts_with("{\"output\":\"brume.txt\",\"bytes\":"), "{json}");
}

#[test]
fn the_ending_of_the_file_is_the_format() {
    let world = demo();
    world.ok(&["print", "songs/brume.yaml", "-o", "brume.md"]);
    assert_eq!(world.read("brume.md"), world.ok(&["print", "songs/brume.yaml", "--to", "markdown"]));
    let ran = world.run(&["print", "songs/brume.yaml", "-o", "brume.pdf"]);
    assert_eq!(ran.status, 2, "{ran}");
    assert!(ran.stderr.contains("cannot be printed as .pdf") && !world.file("brume.pdf").exists(), "{ran}");
}

#[test]
fn a_song_without_a_command_is_told_how_to_go_on() {
    let world = demo();
    let ran = world.run(&["songs/brume.yaml"]);
    assert_eq!(ran.status, 2, "{ran}");
    assert!(ran.stderr.contains("no editor") && ran.stderr.contains("undersong print FILE"), "{ran}");
}

/// A direction with its bars, before words that begin later.
#[test]
fn bars_of_a_line_without_words_are_printed() {
    let world = World::new();
    let lines = "  - bars: 12\n    direction: pausa\n    words: []\n  - bars: 14\n    words:\n    - {word: Sale}\n";
    world.write("song.yaml", format!("language: it\nsections:\n- lines:\n{lines}"));
    let text = world.ok(&["print", "song.yaml"]);
    assert!(text.contains("    (pausa)\n    12\n\n14  Sale\n"), "{text}");
    for markdown in
        [&["print", "song.yaml", "--to", "markdown"][..], &["print", "song.yaml", "--to", "markdown", "--aligned"]]
    {
        let sheet = world.ok(markdown);
        assert!(sheet.contains("*(pausa)*\n\n**12**\n"), "{sheet}");
    }
}

#[test]
fn fill_takes_words_from_the_first_song_of_the_cycle() {
    let world = demo();
    let before = world.read("songs/die-stille-see.yaml");
    let dry = world.run(&["fill", "songs/die-stille-see.yaml", "--dry-run"]);
    snapshot("fill-dry-run", dry);
    assert_eq!(world.read("songs/die-stille-see.yaml"), before);
    let filled = world.ok(&["fill", "songs/die-stille-see.yaml", "--json"]);
    assert!(filled.starts_with("{\"file\":\"songs/die-stille-see.yaml\",\"learnt\":0,\"drafted\":"), "{filled}");
    let again = world.ok(&["fill", "songs/die-stille-see.yaml", "--json"]);
    assert!(again.contains("\"drafted\":0,"), "{again}");
    snapshot("die-stille-see-filled.txt", world.ok(&["print", "songs/die-stille-see.yaml", "--length", "0"]));
}

/// The refrain of the Spanish song is glossed the first time only.
#[test]
fn fill_takes_the_refrain_from_the_identical_line() {
    let world = demo();
    world.ok(&["fill", "songs/farera.yaml"]);
    let (song, _) = undersong::store::read_song(&world.file("songs/farera.yaml")).unwrap();
    let lines: Vec<_> = song.lines().map(|(_, line)| line).collect();
    let (first, again) = (&lines[4..8], &lines[12..16]);
    for (a, b) in first.iter().zip(again) {
        assert_eq!(a.text(), b.text());
        for (a, b) in a.words.iter().zip(&b.words).filter(|(a, _)| a.gloss.is_settled()) {
            assert_eq!(a.gloss.text(), b.gloss.text());
            assert!(!b.gloss.is_settled(), "what was copied is a draft");
        }
    }
}

#[test]
fn check_tells_what_is_missing_and_where() {
    let world = demo();
    snapshot("check", world.run(&["check", "songs/ogni-mayaka.yaml", "songs/notte-di-ventalba.yaml"]));
    let ran = world.run(&["check", "--json", "songs/brume.yaml"]);
    assert_eq!(ran.status, 1);
    let line: serde_json::Value = serde_json::from_str(ran.stdout.lines().next().unwrap()).unwrap();
    assert_eq!((line["problem"].as_str(), line["form"].as_str()), (Some("ask"), Some("trace")));
    assert!(line["section"].is_u64() && line["line"].is_u64() && line["word"].is_u64());
}

#[test]
fn find_looks_into_every_song() {
    let world = demo();
    snapshot("find", world.run(&["find", "meer", "--in", "songs"]));
    assert_eq!(world.run(&["find", "МАЯК", "--in", "songs"]).status, 0);
    let nothing = world.run(&["find", "xyzzy", "--in", "songs"]);
    assert_eq!((nothing.status, nothing.stdout.as_str()), (1, ""));
}

#[test]
fn the_lexicon_finds_adds_and_forgets() {
    let world = World::new();
    let lexicon = |args: &[&str]| world.run(&[&["lexicon"], args].concat());
    let mut said = String::new();
    for args in [
        &["add", "sol", "sun", "--lang", "it", "--tag", "noun masculine singular", "--lemma", "sole"][..],
        &["add", "sol", "only", "--lang", "it", "--tag", "ADV"],
        &["add", "sol", "only", "--lang", "it", "--tag", "ADV"],
        &["find", "SOL"],
        &["find", "sol", "--json"],
        &["forget", "sol", "--lang", "it", "--gloss", "sun"],
        &["find", "sol", "--lang", "italian"],
        &["forget", "luna", "--lang", "it"],
        &["uses", "sol"],
    ] {
        said.push_str(&format!("$ undersong lexicon {}\n{}\n", args.join(" "), lexicon(args)));
    }
    snapshot("lexicon", said);
}

#[test]
fn the_lexicon_tells_the_songs_that_use_a_word() {
    let world = demo();
    snapshot("lexicon-uses", world.run(&["lexicon", "uses", "licht", "--in", "songs"]));
    let learnt = world.run(&["lexicon", "learn", "songs/brume.yaml", "--in", "songs"]);
    assert!(learnt.stderr.contains("+0 in the lexicon"), "{learnt}");
}

#[test]
fn a_song_in_an_unknown_language_works_with_plain_rules() {
    let world = World::new();
    let ran = world.run_with(&["new", "song.yaml", "--lang", "cim", "--text", "-"], "Bia de sunna\n");
    assert_eq!(ran.status, 0, "{ran}");
    assert!(ran.stderr.contains("“cim” is not known"), "{ran}");
    assert!(world.ok(&["print", "song.yaml"]).contains("Bia  de  sunna"));
}

#[test]
fn a_language_tag_must_be_one() {
    snapshot("new-wrong-language", World::new().run(&["new", "song.yaml", "--lang", "i"]));
}
