//! The code keeps its own rules.

use crate::world::World;
use std::fs;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(rust_files(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            files.push(path);
        }
    }
    files.sort();
    files
}

/// The code of a file without its tests and comments.
fn code(path: &Path) -> String {
    let content = fs::read_to_string(path).unwrap();
    let code = content.split("#[cfg(test)]").next().unwrap_or_default();
    code.lines().filter(|l| !l.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n")
}

/// Each module with those of ours that it may use. What stands first may be used by all after it.
const LAYERS: [(&str, &[&str]); 10] = [
    ("text", &[]),
    ("song", &["text"]),
    ("language", &["text"]),
    ("lexicon", &["text", "song", "language"]),
    ("layout", &["text"]),
    ("sheet", &["text", "song", "layout"]),
    ("import", &["text", "song", "language"]),
    ("store", &["text", "song", "language", "lexicon", "sheet"]),
    ("tui", &["text", "song", "language", "lexicon", "layout", "sheet", "import", "store"]),
    ("cli", &["text", "song", "language", "lexicon", "layout", "sheet", "import", "store", "tui"]),
];

#[test]
fn modules_use_only_what_stands_above_them() {
    let modules: Vec<&str> = LAYERS.iter().map(|(name, _)| *name).collect();
    for (module, allowed) in LAYERS {
        for file in rust_files(&root().join("src").join(module)) {
            let code = code(&file);
            for other in modules.iter().filter(|m| **m != module && !allowed.contains(m)) {
                assert!(!code.contains(&format!("crate::{other}")), "{} uses {other}", file.display());
            }
        }
    }
}

#[test]
fn the_core_knows_no_file_clock_environment_or_terminal() {
    for (module, _) in LAYERS.iter().filter(|(m, _)| !["store", "tui", "cli"].contains(m)) {
        for file in rust_files(&root().join("src").join(module)) {
            let code = code(&file);
            for outside in
                ["std::fs", "std::env", "std::io", "std::path", "std::time", "std::process", "println!", "eprintln!"]
            {
                assert!(!code.contains(outside), "{} uses {outside}", file.display());
            }
        }
    }
}

#[test]
fn every_module_is_in_the_map_of_the_developers_page() {
    let page = fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    for file in rust_files(&root().join("src")) {
        let relative = file.strip_prefix(root().join("src")).unwrap();
        let module = relative.components().next().unwrap().as_os_str().to_string_lossy().into_owned();
        let name = if module.ends_with(".rs") { module } else { format!("{module}/") };
        assert!(page.contains(&name), "DEVELOPERS.md does not name {name}");
    }
}

#[test]
fn every_file_says_what_it_owns() {
    for folder in ["src", "tests"] {
        for file in rust_files(&root().join(folder)) {
            let content = fs::read_to_string(&file).unwrap();
            assert!(content.starts_with("//! "), "{} has no module comment", file.display());
        }
    }
}

#[test]
fn every_command_is_in_the_manual_and_has_an_example_or_a_word_of_its_own() {
    let world = World::new();
    let manual = world.ok(&["manual"]);
    let help = world.ok(&["help"]);
    for command in ["demo", "new", "fill", "check", "print", "find", "lexicon", "completions"] {
        assert!(help.contains(&format!("\n  {command} ")), "help does not list {command}");
        assert!(manual.contains(&format!("undersong\\-{command}")), "the manual does not name {command}");
    }
    for action in ["find", "add", "forget", "uses", "learn"] {
        assert!(
            manual.contains(&format!("undersong\\-lexicon\\-{action}")),
            "the manual does not name lexicon {action}"
        );
    }
}

/// The key table of the README is made from the one in the code.
#[test]
fn the_readme_has_every_key() {
    use undersong::tui::{TABLE, Topic};
    let mut table = String::new();
    for topic in Topic::ALL {
        table.push_str(&format!("| {} | keys | name |\n| --- | --- | --- |\n", topic.heading()));
        for b in TABLE.iter().filter(|b| b.topic == topic) {
            let keys: Vec<String> = b.keys.iter().map(|k| format!("`{k}`")).collect();
            table.push_str(&format!("| {} | {} | `{}` |\n", b.help, keys.join(", "), b.name));
        }
        table.push('\n');
    }
    let readme = fs::read_to_string(root().join("README.md")).unwrap();
    assert!(readme.contains(&table), "put this into README.md:\n{table}");
}

/// The songs of the demo are in the stages of work that the README promises.
#[test]
fn demo_songs_are_in_their_stages() {
    let world = World::new();
    world.ok(&["demo", "demo"]);
    for song in ["notte-di-ventalba", "das-erste-licht", "lumen-super-aquas"] {
        let ran = world.run(&["check", &format!("demo/{song}.yaml")]);
        assert_eq!(ran.status, 0, "{ran}");
    }
    let findings = world.run(&["check", "--json", "demo/brume.yaml"]);
    assert_eq!(findings.stdout.matches("\"problem\":\"ask\"").count(), findings.stdout.lines().count());
    for entry in fs::read_dir(world.file("demo")).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            let ran = world.run(&["check", "--json", path.to_str().unwrap()]);
            for wrong in ["glossed-otherwise", "unknown-tag", "gloss-has-space", "morphemes-differ", "lone-link"] {
                assert!(!ran.stdout.contains(wrong), "{}", ran.stdout);
            }
        }
    }
}

/// What the program writes is what its authors wrote by hand: saving a demo song changes nothing but quotation marks.
#[test]
fn demo_songs_are_written_as_the_program_writes_them() {
    for entry in fs::read_dir(root().join("demo")).unwrap() {
        let path = entry.unwrap().path();
        let (song, _) = undersong::store::read_song(&path).unwrap();
        let content = fs::read_to_string(&path).unwrap();
        let by_hand: String = content.lines().filter(|l| !l.starts_with('#')).map(|l| format!("{l}\n")).collect();
        let written = undersong::store::song_to_yaml(&song);
        assert_eq!(written, by_hand, "{}", path.display());
    }
}
