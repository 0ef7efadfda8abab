//! Finding one's way: words to do, places, texts; effects that leave the editor; the list of songs.

use super::stage::Stage;
use std::collections::BTreeMap;
use std::path::PathBuf;
use undersong::lexicon::Lexicon;
use undersong::store::SongFile;
use undersong::tui::{Choice, Context, Editor, Effect, Entry, Item, Keymap, Songs, SongsEffect};

const SONG: &str = "# Aria / Livia\n\
    9-10 | la:the [notte:night] è:is\n\
    11-14 | bella:fair\n\
    # 2 / Oreste\n\
    20 | perché:why mi@:me chiami = Why do you call me?\n\
    il:~the dì";

/// The form of the word on which keys lead.
fn to(notation: &str, keys: &str) -> String {
    let mut stage = Stage::of(notation);
    stage.press(keys);
    stage.editor.word().map(|w| w.form.clone()).unwrap_or_default()
}

/// What the last row says after some keys.
fn said(notation: &str, keys: &str) -> String {
    let mut stage = Stage::of(notation);
    stage.press(keys);
    stage.message()
}

// Moving.

#[test]
fn arrows_move_by_words_and_lines() {
    for (keys, form) in [
        ("right", "è"),
        ("left", "la"),
        ("left left", "la"),
        ("right right", "bella"),
        ("right right left", "è"),
        ("down", "bella"),
        ("down down", "perché"),
        ("down down up", "bella"),
        ("home", "la"),
        ("end", "è"),
        ("ctrl-end", "il"),
        ("ctrl-end ctrl-home", "la"),
        ("page-down page-down", "dì"),
        ("ctrl-end end right", "dì"),
    ] {
        assert_eq!(to(SONG, keys), form, "{keys}");
    }
}

#[test]
fn the_editor_opens_at_the_first_word_to_do() {
    let (song, _) = super::notation::read(SONG);
    let stage = Stage::with_song(&song, Lexicon::default());
    assert_eq!(stage.editor.word().unwrap().form, "chiami");
}

#[test]
fn next_blank_draft_and_ask() {
    for (keys, form) in [
        ("ctrl-n", "chiami"),
        ("ctrl-n ctrl-n", "dì"),
        ("ctrl-n ctrl-n ctrl-n", "chiami"),
        ("ctrl-d", "il"),
        (":next-ask", "mi"),
        ("ctrl-t ctrl-n", "chiami"),
    ] {
        assert_eq!(to(SONG, keys), form, "{keys}");
    }
}

#[test]
fn where_nothing_is_to_do_it_is_said() {
    assert_eq!(said("[la:the] notte:night", "ctrl-n"), "Every word has a gloss");
    assert_eq!(said("[la:the] notte:night", "ctrl-d"), "There is no draft");
    assert_eq!(said("[la:the] notte:night", ":next-ask"), "Nothing is to be asked");
}

/// The only word to do is that under the cursor: whatever is said then, it must not be that there is none.
#[test]
fn the_word_under_the_cursor_counts_too() {
    assert_ne!(said("[la] notte:night", "ctrl-n"), "Every word has a gloss");
    assert_ne!(said("[la:~the] notte:night", "ctrl-d"), "There is no draft");
    assert_ne!(said("[la@:the] notte:night", ":next-ask"), "Nothing is to be asked");
}

#[test]
fn go_to_a_line_a_bar_or_a_section() {
    for (place, form) in [
        ("2", "bella"),
        (" 4 ", "il"),
        ("b9", "la"),
        ("b10", "la"),
        ("b13", "bella"),
        ("B20", "perché"),
        ("b.20", "perché"),
        ("b19", "bella"),
        ("b999", "perché"),
        ("s1", "la"),
        ("S 2", "perché"),
    ] {
        assert_eq!(to(SONG, &format!("ctrl-g '{place}' enter")), form, "{place}");
    }
}

#[test]
fn a_place_that_is_none_is_told() {
    for place in ["0", "99", "b1", "s3", "x", ""] {
        let said = said(SONG, &format!("ctrl-g '{place}' enter"));
        assert!(said.contains("There is no place") && said.contains("a line is 12, a bar b12, a section s2"), "{said}");
        assert_eq!(to(SONG, &format!("ctrl-g '{place}' enter")), "notte");
    }
}

// Finding.

#[test]
fn accents_and_case_may_be_left_out() {
    assert_eq!(to(SONG, "ctrl-f 'perche' enter"), "perché");
    assert_eq!(to(SONG, "ctrl-f 'DI' enter"), "il");
}

#[test]
fn glosses_and_translations_are_found_too() {
    assert_eq!(to(SONG, "ctrl-f 'fair' enter"), "bella");
    assert_eq!(to(SONG, "ctrl-f 'do you' enter"), "perché");
}

#[test]
fn find_next_goes_on_and_around() {
    let song = "[uno]\nmare\ndue\nmare\ntre";
    let line = |keys: &str| {
        let mut stage = Stage::of(song);
        stage.press(keys);
        stage.cursor().unwrap().line
    };
    assert_eq!(line("ctrl-f 'mar' enter"), 1);
    assert_eq!(line("ctrl-f 'mar' enter :find-next"), 3);
    assert_eq!(line("ctrl-f 'mar' enter :find-next :find-next"), 1);
    assert_eq!(line("ctrl-f 'mar' enter ctrl-f enter"), 3);
}

#[test]
fn what_stands_only_in_the_notes_leads_there() {
    let mut stage = Stage::of("[la]\n? Who? = Livia\n? Where? = In the tower");
    stage.press("ctrl-f 'tower' enter");
    assert_eq!(stage.editor.context(), Context::Notes);
    assert!(stage.message().contains("stands in the notes"));
    stage.press("'!' ctrl-w");
    assert_eq!(stage.song().notes[1].text, "In the tower!", "the note in which it stands is the current one");
}

#[test]
fn notes_are_reached_after_the_lines() {
    let mut stage = Stage::of("[la]\nmare\n? Where? = mare");
    stage.press("ctrl-f 'mare' enter :find-next");
    assert_eq!(stage.editor.context(), Context::Notes);
}

#[test]
fn what_is_found_nowhere_is_told() {
    assert_eq!(said(SONG, "ctrl-f 'xyz' enter"), "“xyz” was not found");
}

// What leaves the editor.

#[test]
fn saving_suspending_and_leaving_settle_what_is_typed() {
    for (key, effect) in [("ctrl-s", Effect::Save), ("ctrl-z", Effect::Suspend), ("ctrl-q", Effect::Leave)] {
        let mut stage = Stage::of("[la] il");
        assert!(stage.press(&format!("'the' {key}")) == std::slice::from_ref(&effect));
        assert_eq!(stage.to_string(), "[la:the] il");
        let mut stage = Stage::of("[la] il");
        assert!(stage.press(&format!("ctrl-t 'The' {key}")) == [effect]);
        assert_eq!(stage.to_string(), "[la] il = The");
    }
}

#[test]
fn one_can_leave_from_anywhere() {
    for keys in ["", "n", "tab", "ctrl-t", "ctrl-o", "ctrl-e", "f1", "f2", "ctrl-p"] {
        let mut stage = Stage::of("[la]\n? Who?");
        assert_eq!(stage.press(&format!("{keys} ctrl-q")), [Effect::Leave], "{keys}");
    }
}

#[test]
fn the_screen_the_mouse_and_the_printer_are_effects() {
    let mut stage = Stage::of("[la]");
    assert_eq!(stage.press("ctrl-l"), [Effect::Redraw]);
    assert_eq!(stage.press(":mouse"), [Effect::ToggleMouse]);
    let text = stage.editor.file().path().with_extension("txt");
    assert_eq!(stage.press(":print enter"), [Effect::Print(text)]);
}

#[test]
fn uses_in_other_songs_are_listed_and_opened() {
    let mut stage = Stage::of("[la] notte");
    assert_eq!(stage.press(":uses"), [Effect::FindUses("la".into())]);
    stage.editor.show_uses("la", Vec::new());
    assert!(stage.message().contains("No other song of the folder has “la”"));
    let open = |line| Choice::Open { path: "brume.yaml".into(), line };
    let item = |line| Item { label: format!("Brume: la mer {line}"), detail: "the".into(), choice: open(line) };
    stage.editor.show_uses("la", vec![item(1), item(7)]);
    let text = stage.screen(80, 24).text();
    assert!(text.contains("“la” in other songs") && text.contains("Brume: la mer 7"), "{text}");
    assert_eq!(stage.press("down enter"), [Effect::Open { path: "brume.yaml".into(), line: 7 }]);
}

// Keys of one's own.

#[test]
fn keys_can_be_remapped() {
    let own = BTreeMap::from([("settle-line".to_owned(), vec!["ctrl-x".to_owned()])]);
    let (keymap, mistakes) = Keymap::with_own(&own);
    assert!(mistakes.is_empty());
    let stage = Stage::of("[la:~the]");
    let path = stage.file("other.yaml");
    std::fs::copy(stage.editor.file().path(), &path).unwrap();
    let (file, notices) = SongFile::open(&path).unwrap();
    let mut editor = Editor::new(file, Lexicon::default(), keymap, &notices);
    editor.key("ctrl-space".parse().unwrap());
    assert!(editor.word().unwrap().has_draft());
    editor.key("ctrl-x".parse().unwrap());
    assert!(editor.word().unwrap().is_settled());
}

// The list of songs: its state and its effects. It is drawn by the program alone.

fn entry(name: &str, composer: &str, language: &str) -> Entry {
    let (title, composer, language) = (name.to_owned(), composer.to_owned(), language.to_owned());
    Entry { path: PathBuf::from(format!("{name}.yaml")), title, composer, language, ..Entry::default() }
}

fn songs() -> Songs {
    let entries =
        vec![entry("Brume", "Odile Varennes", "fr"), entry("Farera", "Inés Robledal", "es"), entry("Notte", "", "it")];
    Songs::new(PathBuf::from("songs"), entries, Keymap::default())
}

/// Presses keys as on a stage; returns the effects.
fn press(songs: &mut Songs, keys: &str) -> Vec<SongsEffect> {
    let mut effects = Vec::new();
    for word in keys.split(' ').filter(|w| !w.is_empty()) {
        match word.strip_prefix('\'').and_then(|w| w.strip_suffix('\'')) {
            Some(typed) => songs.type_text(typed),
            None => effects.extend(songs.key(word.parse().unwrap())),
        }
    }
    effects
}

#[test]
fn a_song_is_chosen_and_opened() {
    assert_eq!(press(&mut songs(), "enter"), [SongsEffect::Open("Brume.yaml".into())]);
    assert_eq!(press(&mut songs(), "down down down enter"), [SongsEffect::Open("Notte.yaml".into())]);
    assert_eq!(press(&mut songs(), "end up enter"), [SongsEffect::Open("Farera.yaml".into())]);
}

#[test]
fn the_list_filters_by_title_composer_language_and_file() {
    for (typed, passing) in [("fa", vec!["Farera"]), ("ines", vec!["Farera"]), ("it", vec!["Notte"]), ("xyz", vec![])] {
        let mut songs = songs();
        press(&mut songs, &format!("'{typed}'"));
        assert_eq!(songs.passing().iter().map(|e| e.title.as_str()).collect::<Vec<_>>(), passing, "{typed}");
    }
    let mut songs = songs();
    press(&mut songs, "'far' esc");
    assert_eq!(songs.passing().len(), 3, "escape takes the filter away");
    assert!(press(&mut songs, "'xyz' enter").is_empty(), "there is nothing to open");
}

#[test]
fn a_new_song_asks_for_its_name_and_its_language() {
    let made = press(&mut songs(), "ctrl-n 'Alba' enter enter");
    assert_eq!(made, [SongsEffect::Make { name: "Alba".into(), language: "it".into() }]);
    assert!(press(&mut songs(), "ctrl-n 'a/b' enter enter").iter().all(|e| !matches!(e, SongsEffect::Make { .. })));
}

#[test]
fn songs_are_copied_renamed_and_archived_by_command() {
    for (command, effect) in [
        ("copy", SongsEffect::Copy { song: "Farera.yaml".into(), name: "Farera2".into() }),
        ("rename", SongsEffect::Rename { song: "Farera.yaml".into(), name: "Farera2".into() }),
        ("archive", SongsEffect::Archive("Farera.yaml".into())),
    ] {
        assert_eq!(press(&mut songs(), &format!("down f2 '{command}' enter '2' enter"))[..1], [effect], "{command}");
    }
}

#[test]
fn the_list_stays_where_it_was_when_it_is_read_afresh() {
    let mut songs = songs();
    press(&mut songs, "end");
    songs.refresh(vec![entry("Brume", "", "fr")]);
    assert_eq!(press(&mut songs, "enter"), [SongsEffect::Open("Brume.yaml".into())]);
    songs.refresh(Vec::new());
    assert!(press(&mut songs, "enter down up end page-down").is_empty());
    assert_eq!(press(&mut songs, "ctrl-q"), [SongsEffect::Leave]);
}
