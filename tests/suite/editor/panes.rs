//! The panes beside the sheet: translation and situation notes, and what is shown.

use super::stage::{Stage, check};
use ratatui::style::Modifier;
use undersong::tui::{Context, Topic};

// The translation.

#[test]
fn a_translation_is_written_line_by_line() {
    check("[la]\nil", "ctrl-t 'The' enter 'He' ctrl-w", "la = The\n[il] = He");
    check("[la]\nil", "ctrl-t 'The' down 'He' up ctrl-w", "[la] = The\nil = He");
}

#[test]
fn a_written_translation_stays_whatever_comes_next() {
    for keys in
        ["esc", "ctrl-o", "ctrl-w", "ctrl-left", "ctrl-n", "ctrl-end", "ctrl-s", "ctrl-g", "ctrl-p", "f2 esc ctrl-w"]
    {
        let mut stage = Stage::of("[la]\nil");
        stage.press(&format!("ctrl-t 'The' {keys}"));
        assert!(stage.to_string().contains("la] = The") || stage.to_string().contains("la = The"), "{keys}: {stage}");
    }
}

#[test]
fn a_translation_is_edited_in_its_middle() {
    check("[la] = The nght", "ctrl-t left left left 'i' ctrl-w", "[la] = The night");
    check("[la] = The night", "ctrl-t home delete delete delete delete ctrl-w", "[la] = night");
    check("[la] = perche\u{301}", "ctrl-t backspace 'e\u{301}!' ctrl-w", "[la] = perché!");
}

#[test]
fn the_translation_keeps_in_step_with_the_cursor() {
    let mut stage = Stage::of("[uno] = One\ndue = Two\ntre = Three");
    for (keys, marked) in [("", "› One"), ("down", "› Two"), ("down", "› Three"), ("ctrl-home", "› One")] {
        stage.press(keys);
        let text = stage.screen(80, 24).text();
        assert!(text.contains(marked) && text.matches('›').count() == 1, "{text}");
    }
}

#[test]
fn a_pause_keeps_what_is_being_written() {
    let mut stage = Stage::of("[la]");
    stage.press("ctrl-t 'The'");
    stage.editor.pause();
    assert_eq!(stage.to_string(), "[la] = The");
    stage.press("' night' ctrl-w");
    assert_eq!(stage.to_string(), "[la] = The night");
}

#[test]
fn a_long_translation_wraps_with_the_cursor_behind_it() {
    let mut stage = Stage::of("[la]");
    let long = "Do you not hear the waves singing in the dark below the tower of the lighthouse";
    stage.press(&format!("ctrl-t '{long}'"));
    for (width, height) in [(60, 20), (80, 24), (120, 40), (200, 60)] {
        let screen = stage.screen(width, height);
        let (x, y) = screen.cursor.unwrap();
        assert_eq!(screen.buffer[(x - 1, y)].symbol(), "e", "{screen}");
    }
}

// The situation notes.

#[test]
fn notes_are_answered_in_several_lines() {
    let mut stage = Stage::of("[la]\n? Who?\n? Why?");
    stage.press("ctrl-o 'Livia,' enter 'the keeper' tab 'love' ctrl-w");
    let answers: Vec<&str> = stage.song().notes.iter().map(|n| n.text.as_str()).collect();
    assert_eq!(answers, ["Livia,\nthe keeper", "love"]);
}

#[test]
fn arrows_move_in_an_answer_and_beyond_it_to_the_next() {
    let mut stage = Stage::of("[la]\n? Who?\n? Why?");
    stage.press("ctrl-o 'ab' enter 'cd' up 'X' down down 'Y' ctrl-w");
    let answers: Vec<&str> = stage.song().notes.iter().map(|n| n.text.as_str()).collect();
    assert_eq!(answers, ["abX\ncd", "Y"]);
}

#[test]
fn questions_are_added_renamed_ordered_and_removed() {
    let notes = "[la]\n? Who? = Livia\n? Why?";
    check(notes, ":add-prompt 'Where?' enter 'here' ctrl-w", "[la]\n? Who? = Livia\n? Why?\n? Where? = here");
    check(notes, "ctrl-o :rename-prompt ' sings?' enter", "[la]\n? Who? sings? = Livia\n? Why?");
    check(notes, "ctrl-o ctrl-down", "[la]\n? Why?\n? Who? = Livia");
    check(notes, "ctrl-o tab ctrl-up 'love' ctrl-w", "[la]\n? Why? = love\n? Who? = Livia");
    check(notes, "ctrl-o :remove-prompt", "[la]\n? Why?");
    check(notes, "ctrl-o :remove-prompt ctrl-u", notes);
}

#[test]
fn what_is_being_written_moves_with_its_question() {
    check("[la]\n? Who?\n? Why?", "ctrl-o 'Livia' ctrl-down '!' ctrl-w", "[la]\n? Why?\n? Who? = Livia!");
}

#[test]
fn a_song_without_questions_can_get_one() {
    let mut stage = Stage::of("[la]");
    stage.press("ctrl-o 'lost?'");
    stage.screen(80, 24);
    stage.press(":add-prompt 'Who?' enter 'Livia' ctrl-w");
    assert_eq!(stage.to_string(), "[la]\n? Who? = Livia");
}

/// Less than is asked about before it is pasted, and more rows than a small number can count.
#[test]
fn a_very_long_note_is_drawn() {
    let mut stage = Stage::of("[la]\n? Who?\n? Why?");
    stage.press("ctrl-o");
    stage.editor.paste(&"word ".repeat(900_000));
    stage.press("tab");
    stage.screen(120, 40);
}

// Where keys are pressed.

#[test]
fn each_pane_is_a_key_away_from_the_others() {
    let mut stage = Stage::of("[la]\n? Who?");
    for (key, context) in [
        ("ctrl-right", Context::Translation),
        ("ctrl-left", Context::Sheet),
        ("ctrl-t", Context::Translation),
        ("ctrl-o", Context::Notes),
        ("ctrl-t", Context::Translation),
        ("ctrl-w", Context::Sheet),
        ("ctrl-o", Context::Notes),
        ("ctrl-w", Context::Sheet),
    ] {
        stage.press(key);
        assert_eq!(stage.editor.context(), context, "{key}");
    }
}

#[test]
fn the_pane_in_which_one_writes_is_shown_in_every_size() {
    for (width, height) in [(40, 12), (60, 20), (80, 24), (120, 40), (200, 60)] {
        for (key, title) in [("ctrl-t", "Translation"), ("ctrl-o", "Situation")] {
            let mut stage = Stage::demo("farera");
            stage.press(key);
            let screen = stage.screen(width, height);
            assert!(screen.text().contains(title) && screen.cursor.is_some(), "{screen}");
        }
    }
}

/// A steady cursor for screen readers and magnifiers: it is shown in every state, inside the window.
#[test]
fn the_text_cursor_is_always_shown() {
    for keys in ["", "n", "tab", "ctrl-t", "ctrl-o", "ctrl-e", "f1", "f2", "ctrl-p", ":words-only", "ctrl-end"] {
        for (width, height) in [(40, 12), (60, 20), (80, 24), (120, 40), (200, 60)] {
            let mut stage = Stage::demo("farera");
            stage.press(keys);
            let screen = stage.screen(width, height);
            let (x, y) = screen.cursor.unwrap_or_else(|| panic!("{keys}\n{screen}"));
            assert!(x < width && y < height, "{keys}: {x}, {y}\n{screen}");
        }
    }
}

#[test]
fn the_text_cursor_stays_in_its_window_however_much_is_typed() {
    for keys in ["ctrl-e", "ctrl-t", "ctrl-o", "f2"] {
        for (width, height) in [(40, 12), (80, 24)] {
            let mut stage = Stage::of("[la] notte\n? Who?");
            stage.press(&format!("{keys} '{}'", "long-".repeat(100)));
            let screen = stage.screen(width, height);
            let (x, y) = screen.cursor.unwrap_or_else(|| panic!("{keys}\n{screen}"));
            assert!(x < width && y < height, "{keys}: cursor at {x}, {y} of {width}x{height}");
            assert_eq!(screen.buffer[(x - 1, y)].symbol(), "-", "{keys}\n{screen}");
        }
    }
}

#[test]
fn the_line_under_the_cursor_is_always_on_the_screen() {
    let mut stage = Stage::demo("das-erste-licht");
    for keys in ["ctrl-end", "ctrl-home", "page-down", "page-down", "page-up", ":go-to '9' enter", "down", "up"] {
        for (width, height) in [(200, 60), (80, 24), (40, 12)] {
            stage.press(keys);
            let word = stage.editor.word().unwrap().form.clone();
            let screen = stage.screen(width, height);
            let (_, y) = screen.cursor.unwrap();
            assert!((1..screen.card() as u16).contains(&y), "{keys}: {word}\n{screen}");
            let underlined = |r: &&super::stage::Run| r.style.add_modifier.contains(Modifier::UNDERLINED);
            assert!(screen.runs.iter().filter(underlined).any(|r| r.text.contains(&word)), "{keys}: {word}\n{screen}");
        }
    }
}

// What is shown.

#[test]
fn rows_are_shown_and_hidden() {
    let notation = "[notte:night/NOUN/ˈnɔtte/notturna]";
    let shown = |stage: &mut Stage| {
        let text = stage.screen(80, 24).rows[..17].join("\n");
        [("ˈnɔtte", 's'), ("NOUN", 't'), ("notturna", 'l')]
            .iter()
            .filter(|(row, _)| text.contains(row))
            .map(|(_, name)| *name)
            .collect::<String>()
    };
    for (keys, rows) in [
        ("", "st"),
        (":show-sound", "t"),
        (":show-tag", "s"),
        (":show-lemma", "stl"),
        (":show-sound :show-sound", "st"),
        (":words-only", ""),
        (":words-only :words-only", "st"),
    ] {
        let mut stage = Stage::of(notation);
        stage.press(keys);
        assert_eq!(shown(&mut stage), rows, "{keys}");
    }
}

#[test]
fn roomy_and_dense() {
    let mut stage = Stage::of("[uno]\ndue\ntre");
    let rows = |stage: &mut Stage| stage.screen(80, 24).rows.iter().position(|r| r.contains("tre")).unwrap();
    assert_eq!(rows(&mut stage), 7);
    stage.press(":roomy");
    assert_eq!(rows(&mut stage), 5);
}

#[test]
fn hidden_glosses_are_hidden_everywhere() {
    let mut stage = Stage::of("[notte:darkness] e\nnotte:darkness");
    stage.press(":hide-gloss");
    let text = stage.screen(80, 24).text();
    assert!(!text.contains("darkness"), "{text}");
    stage.press(":hide-gloss");
    assert!(stage.screen(80, 24).text().contains("darkness"));
}

#[test]
fn what_is_typed_is_seen_in_every_view() {
    for view in [":words-only", ":hide-gloss", ":roomy"] {
        let mut stage = Stage::of("[notte] e");
        stage.press(&format!("{view} 'night'"));
        let text = stage.screen(80, 24).text();
        assert!(text.contains("night"), "{view}\n{text}");
    }
}

#[test]
fn title_row_tells_progress_and_state() {
    let mut stage = Stage::of("[la] notte");
    assert!(stage.screen(80, 24).rows[0].ends_with("0/2 settled · saved"));
    stage.press("t");
    assert!(stage.screen(80, 24).rows[0].ends_with("0/2 settled · not saved yet"), "typed");
    stage.press("enter");
    assert!(stage.screen(80, 24).rows[0].ends_with("1/2 settled · not saved yet"), "settled");
    stage.editor.file_mut().save().unwrap();
    assert!(stage.screen(80, 24).rows[0].ends_with("1/2 settled · saved"));
    stage.press("ctrl-t 'The'");
    assert!(stage.screen(80, 24).rows[0].ends_with("not saved yet"), "written");
}

#[test]
fn a_note_of_several_lines_does_not_run_together_on_the_card() {
    let mut stage = Stage::of("[ad] ora");
    stage.press(":edit-word-note 'one' enter right :edit-word-note 'two' enter left :join-words");
    let text = stage.screen(80, 24).text();
    assert!(text.contains("* one") && !text.contains("onetwo"), "{text}");
}

// Help.

#[test]
fn help_is_a_key_away_and_leads_through_all_topics() {
    let mut stage = Stage::of("[la]");
    stage.press("f1");
    for topic in Topic::ALL {
        assert!(stage.screen(80, 24).text().contains(topic.heading()), "{topic:?}");
        stage.press("right");
    }
    assert!(stage.screen(80, 24).text().contains(Topic::Glossing.heading()));
    stage.press("left");
    assert!(stage.screen(80, 24).text().contains(Topic::Song.heading()));
    stage.press("esc");
    assert_eq!(stage.editor.context(), Context::Sheet);
}

/// A topic fits one screen of 80 columns by 24 rows: nothing is cut off, and nothing must be scrolled to.
#[test]
fn each_help_topic_fits_one_screen() {
    let mut stage = Stage::of("[la]");
    stage.press("f1");
    let mut cut = Vec::new();
    for topic in Topic::ALL {
        let screen = stage.screen(80, 24);
        cut.extend(screen.rows.iter().filter(|row| row.contains('…')).map(|row| format!("{topic:?}: {row}")));
        let last_row = screen.rows.iter().rposition(|r| r.starts_with('│')).unwrap();
        assert!(screen.rows[last_row].trim_matches(['│', ' ']).is_empty(), "{topic:?}\n{screen}");
        stage.press("right");
    }
    assert!(cut.is_empty(), "{} rows are cut off:\n{}", cut.len(), cut.join("\n"));
}

#[test]
fn the_first_steps_are_told_to_their_end() {
    let screen = Stage::of("").screen(80, 24);
    let text = screen.text();
    assert!(text.contains("Paste it here") && !text.contains('…'), "{text}");
}

#[test]
fn the_key_row_names_help_and_leaving() {
    for (width, height) in [(80, 24), (120, 40), (200, 60)] {
        let screen = Stage::demo("farera").screen(width, height);
        let keys = screen.rows.last().unwrap();
        assert!(keys.contains("help") && keys.contains("leave"), "{width}x{height}: {keys}");
    }
}

#[test]
fn the_list_of_commands_filters_as_one_types() {
    let mut stage = Stage::of("[la]");
    stage.press("esc 'sp wo'");
    let text = stage.screen(80, 24).text();
    assert!(text.contains("split: Split the word") && !text.contains("split section"), "{text}");
    stage.press("esc");
    assert_eq!(stage.editor.context(), Context::Sheet);
}
