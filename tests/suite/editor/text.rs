//! Work on the text of the song: before, keys, after.

use super::stage::{Stage, check};
use undersong::song::LineAt;
use undersong::tui::Context;

/// A verse of four lines with a gloss in each, so that it is seen where the lines go.
const VERSE: &str = "uno:one a\ndue:two b\n[tre:three] c d\nquattro:four e";

fn pasted(before: &str, text: &str) -> String {
    let mut stage = Stage::of(before);
    stage.editor.paste(text);
    stage.to_string()
}

/// Empties the line of a prompt, and types another text.
fn instead(command: &str, text: &str) -> String {
    format!("{command} end {} '{text}' enter", "backspace ".repeat(60))
}

// The text of a line.

#[test]
fn words_that_stay_keep_their_glosses() {
    let before = "la:the [notte:night] è:is bella:fair";
    check(before, "ctrl-e ' e scura' enter", "la:the [notte:night] è:is bella:fair e scura");
    check(before, &instead("ctrl-e", "la bella notte"), "la:the [bella:fair] notte:night");
    check(before, &instead("ctrl-e", "O notte, è bella"), "O [notte,:night] è:is bella:fair");
}

#[test]
fn a_respelt_word_keeps_its_gloss_as_a_draft() {
    check("la:the [procella:storm]", &instead("ctrl-e", "la procèlla"), "la:the [procèlla:~storm]");
}

#[test]
fn translation_and_bars_stay_when_the_text_changes() {
    check("9-10 | [la:the] = The", "ctrl-e ' notte' enter", "9-10 | [la:the] notte = The");
}

#[test]
fn a_text_that_is_confirmed_as_it_is_is_no_step() {
    check("[notte] sol", "'night' tab ctrl-e enter ctrl-u", "[notte] sol");
}

#[test]
fn a_line_may_lose_its_words_and_get_others() {
    check("la\n[notte] = Night", &instead("ctrl-e", ""), "la\n() = Night");
    check("la\n[notte] = Night", &format!("{} ctrl-e 'il dì' enter", instead("ctrl-e", "")), "la\n[il] dì = Night");
}

#[test]
fn escape_leaves_the_text_as_it_was() {
    check("[la] notte", "ctrl-e 'xyz' esc", "[la] notte");
}

#[test]
fn changing_the_text_is_one_step() {
    let before = "la:the [notte:night] è:is";
    check(before, &format!("{} ctrl-u", instead("ctrl-e", "tutto nuovo")), before);
}

// Words that part and join.

#[test]
fn a_word_is_split_where_the_cursor_is() {
    check("[rivederla:see-her-again] o", ":split-word left left enter", "[riveder:~see-her-again] la o");
    check("[ad_ora:at-hour] o", ":split-word left left left enter", "[ad:~at-hour] ora o");
}

#[test]
fn a_split_that_makes_no_sense_is_told() {
    let mut stage = Stage::of("[notte]");
    stage.press(":split-word enter");
    assert!(stage.message().contains("cannot be split there"), "{}", stage.message());
    assert_eq!(stage.to_string(), "[notte]");
}

#[test]
fn two_words_become_a_phrase() {
    check("[ad:at] ora:hour e", ":join-words", "[ad_ora:~at-hour] e");
    check("[l’:the] onda:wave", ":join-words", "[l’onda:~the-wave]");
    check("[ad] ora,:hour e", ":join-words", "[ad_ora,:hour] e");
}

#[test]
fn a_phrase_grows_word_by_word_and_is_undone_step_by_step() {
    check("[a] poco a poco", ":join-words :join-words :join-words", "[a_poco_a_poco]");
    check("[a] poco a poco", ":join-words :join-words ctrl-u", "[a_poco] a poco");
}

#[test]
fn what_is_being_typed_goes_into_the_phrase() {
    check("[ad] ora", "'at' :join-words", "[ad_ora:at]");
}

#[test]
fn the_last_word_of_a_line_joins_nothing() {
    let mut stage = Stage::of("la [notte]\nè");
    stage.press(":join-words");
    assert!(stage.message().contains("at least two words"), "{}", stage.message());
    assert_eq!(stage.to_string(), "la [notte]\nè");
}

#[test]
fn words_that_belong_together_get_the_same_number() {
    check("[ne] vois pas", ":link right right :link", "ne^1 vois [pas^1]");
    check("ne^1 vois pas^1 [ni] toi ni", ":link right right :link", "ne^1 vois pas^1 ni^2 toi [ni^2]");
}

#[test]
fn a_linked_word_is_unlinked() {
    check("[ne^1] vois pas^1", ":link", "[ne] vois pas^1");
    check("[ne] vois pas^1", ":link", "[ne^1] vois pas^1");
}

#[test]
fn links_count_afresh_in_each_line() {
    check("ne^1 pas^1\n[ne] pas", ":link right :link", "ne^1 pas^1\nne^1 [pas^1]");
}

// Lines.

#[test]
fn a_line_is_inserted_below() {
    check("[la:the]\nil", ":insert-line 'O notte' enter", "la:the\n[O] notte\nil");
}

#[test]
fn a_line_is_removed() {
    check(VERSE, ":remove-line", "uno:one a\ndue:two b\n[quattro:four] e");
    check("la\n[il]", ":remove-line", "[la]");
}

#[test]
fn a_removed_line_comes_back_with_all_that_stood_under_it() {
    check(VERSE, ":remove-line ctrl-u", VERSE);
}

#[test]
fn the_last_line_can_be_removed_too() {
    let mut stage = Stage::of("[notte:night]");
    stage.press(":remove-line");
    assert_eq!(stage.song().lines().count(), 0);
    stage.screen(80, 24);
    stage.press("ctrl-u");
    assert_eq!(stage.to_string(), "[notte:night]");
}

#[test]
fn a_line_moves_and_the_cursor_with_it() {
    check(VERSE, "ctrl-up", "uno:one a\n[tre:three] c d\ndue:two b\nquattro:four e");
    check(VERSE, "ctrl-down", "uno:one a\ndue:two b\nquattro:four e\n[tre:three] c d");
    check(VERSE, "ctrl-up ctrl-up ctrl-up", "[tre:three] c d\nuno:one a\ndue:two b\nquattro:four e");
}

#[test]
fn the_cursor_stays_on_its_word_when_the_line_moves() {
    check("uno\ndue\n[tre] c d", "right right ctrl-up", "uno\ntre c [d]\ndue");
}

#[test]
fn a_line_moves_over_the_border_of_its_section() {
    check("# 1\nuno\ndue\n# 2\n[tre]\nquattro", "ctrl-up", "# 1\nuno\ndue\n[tre]\n# 2\nquattro");
    check("# 1\nuno\n[due]\n# 2\ntre", "ctrl-down", "# 1\nuno\n# 2\n[due]\ntre");
}

#[test]
fn a_move_is_undone() {
    check(VERSE, "ctrl-up ctrl-u", VERSE);
}

#[test]
fn bars_are_set_and_cleared() {
    check("[la]", "ctrl-b '12' enter", "12 | [la]");
    check("[la]", "ctrl-b '12-15' enter", "12-15 | [la]");
    check("12 | [la]", "ctrl-b backspace backspace enter", "[la]");
}

#[test]
fn bars_that_are_none_are_told() {
    let mut stage = Stage::of("12 | [la]");
    stage.press("ctrl-b 'x' enter");
    assert!(stage.message().contains("is no bar number: write 12 or 12-15"), "{}", stage.message());
    assert_eq!(stage.to_string(), "12 | [la]");
}

#[test]
fn direction_cue_and_intention_are_set() {
    let mut stage = Stage::of("[la]");
    stage.press(":edit-direction 'aside' enter :edit-cue 'two flutes' enter :edit-intention 'to flee' enter");
    let line = stage.song().line(LineAt::default()).unwrap();
    assert_eq!([&line.direction, &line.cue, &line.intention], ["aside", "two flutes", "to flee"]);
    let text = stage.screen(80, 24).text();
    for shown in ["(aside)", "cue: two flutes", "→ to flee"] {
        assert!(text.contains(shown), "{text}");
    }
}

// Sections.

#[test]
fn heading_and_speaker_are_set() {
    check("[la]", ":edit-heading 'Aria' enter :edit-speaker 'Livia' enter", "# Aria / Livia\n[la]");
}

#[test]
fn a_section_begins_with_the_line() {
    check("# 1\nuno\ndue\n[tre]\nquattro", ":split-section", "# 1\nuno\ndue\n#\n[tre]\nquattro");
    check("# 1\nuno\ndue\n[tre]\nquattro", ":split-section ctrl-u", "# 1\nuno\ndue\n[tre]\nquattro");
}

#[test]
fn a_section_is_joined_to_the_one_before() {
    check("# 1\nuno\ndue\n# 2\n[tre]\nquattro", ":join-sections", "# 1\nuno\ndue\n[tre]\nquattro");
    check("# 1\nuno\n# 2\ndue\n[tre]\n# 3\nx\ny\nz", ":join-sections", "# 1\nuno\ndue\n[tre]\n# 3\nx\ny\nz");
}

#[test]
fn a_section_moves_and_the_cursor_with_it() {
    check("# 1\nuno\n# 2\ndue\n[tre]", ":section-up", "# 2\ndue\n[tre]\n# 1\nuno");
    check("# 1\nuno\n[due]\n# 2\ntre", ":section-down", "# 2\ntre\n# 1\nuno\n[due]");
}

#[test]
fn the_first_section_does_not_move_up() {
    let mut stage = Stage::of("# 1\n[uno]\n# 2\ndue");
    stage.press(":section-up");
    assert_eq!(stage.message(), "There is nothing to do here");
}

#[test]
fn a_section_is_removed_and_comes_back() {
    check("# 1\nuno:one\n# 2\n[due:two]", ":remove-section", "# 1\n[uno:one]");
    check("# 1\nuno:one\n# 2\n[due:two]", ":remove-section ctrl-u", "# 1\nuno:one\n# 2\n[due:two]");
}

// Pasting a text.

#[test]
fn a_text_pasted_into_an_empty_song_becomes_its_text() {
    let text = "1. O notte amica,\nche culli l’onda.\r\n\r\n2. Il vento tace.\n";
    assert_eq!(pasted("", text), "# 1\n[O] notte amica,\nche culli l’ onda.\n# 2\nIl vento tace.");
}

#[test]
fn one_line_pasted_into_an_empty_song_is_its_text_too() {
    assert_eq!(pasted("", "O notte amica"), "[O] notte amica");
}

#[test]
fn a_pasted_text_can_be_glossed_at_once() {
    let mut stage = Stage::of("");
    stage.editor.paste("O notte\nO sol\n");
    stage.press("'o' enter 'night' enter enter 'sun' enter");
    assert_eq!(stage.to_string(), "O:o notte:night\nO:o [sol:sun]");
}

#[test]
fn lines_pasted_into_a_full_song_stand_below_the_current_line() {
    assert_eq!(pasted("[la:the] notte:night\nil", "O sol\nO mar\n"), "la:the notte:night\n[O] sol\nO mar\nil");
}

#[test]
fn stanzas_pasted_into_a_full_song_stand_below_the_section() {
    let after = "# 1\nla:the\nnotte\n#\n[O] sol\n#\nO mar\n# 2\nil";
    assert_eq!(pasted("# 1\n[la:the]\nnotte\n# 2\nil", "O sol\n\nO mar\n"), after);
}

#[test]
fn a_pasted_text_is_one_step() {
    let mut stage = Stage::of("[la:the] notte");
    stage.editor.paste("O sol\n\nO mar\n\nO ciel\n");
    stage.press("ctrl-u");
    assert_eq!(stage.to_string(), "[la:the] notte");
}

#[test]
fn a_text_pasted_into_a_prompt_or_a_pane_stays_there() {
    let mut stage = Stage::of("[la]");
    stage.press("ctrl-e");
    stage.editor.paste(" notte\nbella");
    stage.press("enter");
    assert_eq!(stage.to_string(), "[la] notte bella");
    stage.press("ctrl-t");
    stage.editor.paste("The\nnight");
    stage.press("ctrl-w");
    assert_eq!(stage.to_string(), "[la] notte bella = The night");
}

#[test]
fn a_text_pasted_into_a_note_keeps_its_lines() {
    let mut stage = Stage::of("[la]\n? Who?");
    stage.press("ctrl-o");
    stage.editor.paste("Livia,\r\nkeeper of the light");
    stage.press("ctrl-w");
    assert_eq!(stage.song().notes[0].text, "Livia,\nkeeper of the light");
}

#[test]
fn a_very_large_text_is_asked_for_first() {
    let large = "O notte amica\n".repeat(400_000);
    let mut stage = Stage::of("[la]");
    stage.editor.paste(&large);
    assert_eq!((stage.editor.context(), stage.to_string().as_str()), (Context::Picker, "[la]"));
    let text = stage.screen(80, 24).text();
    assert!(text.contains("Do not insert it") && text.contains("Insert all 5 MB"), "{text}");
    stage.press("enter");
    assert_eq!((stage.editor.context(), stage.to_string().as_str()), (Context::Sheet, "[la]"));
}

#[test]
fn escape_sequences_in_a_pasted_text_are_visible_and_harmless() {
    let mut stage = Stage::of("");
    stage.editor.paste("O \u{1b}[2Jnotte\nche \u{9b}31m culli\u{7}\n");
    let screen = stage.screen(80, 24);
    assert!(screen.text().contains('␛') && screen.text().contains('␇'), "{screen}");
    assert!(screen.buffer.content.iter().all(|c| !c.symbol().chars().any(char::is_control)));
}

// What stands above the song.

#[test]
fn titles_and_names_are_set() {
    let mut stage = Stage::of("[la]");
    for (command, text) in [
        ("edit-title", "Notte"),
        ("edit-translated-title", "Night"),
        ("edit-work", "La luce"),
        ("edit-composer", "E. Castordi"),
        ("edit-poet", "C. Lanternieri"),
        ("edit-translator", "myself"),
        ("edit-source", "my score"),
        ("edit-rights", "free"),
    ] {
        stage.press(&format!(":{command} '{text}' enter"));
    }
    let d = &stage.song().details;
    assert_eq!([&d.title, &d.translated_title, &d.work, &d.composer], ["Notte", "Night", "La luce", "E. Castordi"]);
    assert_eq!([&d.poet, &d.translator, &d.source, &d.rights], ["C. Lanternieri", "myself", "my score", "free"]);
    assert!(stage.screen(80, 24).rows[0].starts_with("Notte · E. Castordi"));
}
