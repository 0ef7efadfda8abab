//! Typing on cells: before, keys, after.

use super::stage::{Stage, check, check_with};
use undersong::language::ipa_from_xsampa;
use undersong::lexicon::{Lexicon, Sense};
use undersong::song::Tag;
use undersong::store::read_song;

/// A lexicon with senses as `form gloss tag lemma`, the first used most.
fn lexicon(senses: &[[&str; 4]]) -> Lexicon {
    let mut lexicon = Lexicon::new("it", "en");
    for [form, gloss, tag, lemma] in senses {
        let tag = (!tag.is_empty()).then(|| Tag::parse(tag));
        lexicon.add(form, Sense { tag, lemma: (*lemma).to_owned(), ..Sense::new(*gloss) });
    }
    lexicon
}

fn sol() -> Lexicon {
    lexicon(&[["sol", "sun", "NOUN.M.SG", "sole"], ["sol", "only", "ADV", "solo"], ["sol", "soil", "", ""]])
}

// Letters.

#[test]
fn letters_edit_the_cell() {
    check("[notte] sol", "n i g h t enter", "notte:night [sol]");
}

#[test]
fn letters_replace_what_stood_there() {
    check("[notte:nigth]", "'night' right", "[notte:night]");
}

#[test]
fn space_becomes_a_hyphen_in_a_gloss() {
    check("[nel] mare", "'in the' enter", "nel:in-the [mare]");
}

/// A space before `enter` joins nothing; a hyphen at the end of a gloss would be said of a form that ends with one.
#[test]
fn a_space_after_the_gloss_is_left_out() {
    check("[la] mare", "'the ' enter", "la:the [mare]");
}

#[test]
fn space_stays_in_a_tag() {
    check("[notte:night]", "tab 'noun fem. sg.' enter", "[notte:night/NOUN.F.SG]");
}

/// The first space is most often one too many; nothing is lost by it.
#[test]
fn a_space_alone_changes_nothing() {
    check("[notte:night] sol", "space right", "notte:night [sol]");
}

#[test]
fn a_space_before_the_gloss_is_left_out() {
    check("[notte] sol", "space 'night' enter", "notte:night [sol]");
}

#[test]
fn accented_letters_and_other_scripts_are_text() {
    check("[notte] sol", "'ночь' enter 'été' enter", "notte:ночь [sol:été]");
}

#[test]
fn backspace_edits_what_stands_in_the_cell() {
    check("[notte:nights] sol", "backspace enter", "notte:night [sol]");
}

/// What is being corrected is not offered as the rest of the correction.
#[test]
fn a_word_is_no_candidate_for_itself() {
    check("[notte:nights] sol", "backspace right", "notte:night [sol]");
}

#[test]
fn delete_blanks_the_cell() {
    check("[notte:night/NOUN.F.SG]", "delete", "[notte:/NOUN.F.SG]");
    check("[notte:night/NOUN.F.SG]", "tab delete", "[notte:night]");
}

#[test]
fn a_cell_that_is_emptied_is_blank() {
    check("[notte:no]", "backspace backspace enter", "[notte]");
}

#[test]
fn the_text_is_edited_in_its_middle() {
    check("[notte] sol", "'nght' left left left 'i' enter", "notte:night [sol]");
    check("[notte] sol", "'xnight' home delete end 's' enter", "notte:nights [sol]");
}

#[test]
fn a_letter_is_deleted_with_its_accents() {
    check("[bo] ma", "'bo\u{303}t' backspace backspace 'a' enter", "bo:ba [ma]");
}

#[test]
fn left_at_the_start_goes_to_the_word_before() {
    check("la [notte]", "'ab' left left left", "[la] notte:ab");
}

#[test]
fn the_text_cursor_stands_behind_the_last_letter() {
    for (width, height) in [(80, 24), (60, 20), (40, 12)] {
        for typed in ["night", "a gloss that is longer than the column", &"long-and-".repeat(9)] {
            let mut stage = Stage::of("la [notte] e il vento");
            typed.chars().for_each(|c| drop(stage.press(&format!("'{c}'"))));
            let screen = stage.screen(width, height);
            let (x, y) = screen.cursor.unwrap();
            let before = if x == 0 { "" } else { screen.buffer[(x - 1, y)].symbol() };
            let last = typed.chars().next_back().unwrap().to_string();
            assert_eq!(before, last, "{width}x{height}, {typed}: cursor at {x}, {y}\n{screen}");
        }
    }
}

// Settling.

#[test]
fn enter_settles_and_goes_to_the_next_unsettled_word() {
    check("[la] notte:night e:and\nil", "'the' enter", "la:the notte:night e:and\n[il]");
}

#[test]
fn after_the_last_word_the_search_begins_again_at_the_first() {
    check("la notte\n[il]", "'the' enter", "[la] notte\nil:the");
}

#[test]
fn enter_on_the_last_word_says_that_all_is_settled() {
    let mut stage = Stage::of("la:the [notte]");
    stage.press("'night' enter");
    assert_eq!((stage.to_string().as_str(), stage.message().as_str()), {
        ("la:the [notte:night]", "Every word has a settled gloss")
    });
}

#[test]
fn enter_on_an_untouched_blank_cell_takes_the_first_candidate() {
    check_with(Stage::with_lexicon("[sol] e", sol()), "enter", "sol:sun/NOUN.M.SG//sole [e]");
}

#[test]
fn enter_on_a_blank_cell_without_candidates_goes_on() {
    check("[sol] e", "enter", "sol [e]");
}

#[test]
fn enter_on_a_drafted_word_settles_all_its_drafts() {
    check("[sol:~sun/~NOUN.M.SG/~sol/~sole] e", "enter", "sol:sun/NOUN.M.SG/sol/sole [e]");
}

#[test]
fn enter_in_another_row_comes_back_to_the_gloss() {
    let mut stage = Stage::of("[sol:sun] e");
    stage.press("tab 'NOUN' enter");
    assert_eq!((stage.to_string().as_str(), stage.row().as_str()), ("sol:sun/NOUN [e]", "gloss"));
}

#[test]
fn words_without_letters_are_passed_over() {
    check("[Ah] — sol", "'ah' enter", "Ah:ah — [sol]");
}

#[test]
fn settle_line_settles_its_drafts_as_one_change() {
    check("[la:~the] notte:~night/~NOUN e\nil", "ctrl-space", "la:the notte:night/NOUN [e]\nil");
    check("[la:~the] notte:~night e", "ctrl-space ctrl-u", "[la:~the] notte:~night e");
}

// What is offered.

#[test]
fn digits_choose_a_candidate() {
    check_with(Stage::with_lexicon("[sol] e", sol()), "2 enter", "sol:only/ADV//solo [e]");
    check_with(Stage::with_lexicon("[sol] e", sol()), "3 enter", "sol:soil [e]");
}

#[test]
fn a_digit_without_a_candidate_is_text() {
    check_with(Stage::with_lexicon("[sol] e", sol()), "'4th' enter", "sol:4th [e]");
}

#[test]
fn a_digit_corrects_a_draft_in_all_its_rows() {
    let stage = Stage::with_lexicon("[sol:~sun/~NOUN.M.SG//~sole] e", sol());
    check_with(stage, "2 enter", "sol:only/ADV//solo [e]");
}

#[test]
fn down_and_up_walk_the_offers() {
    let mut stage = Stage::with_lexicon("[sol] e", sol());
    for (key, cell) in [("s", "s"), ("down", "sun"), ("down", "soil"), ("down", "soil"), ("up", "sun"), ("up", "s")] {
        stage.press(key);
        assert_eq!(stage.cell(), cell, "after {key}");
    }
}

#[test]
fn a_walked_to_offer_is_settled_with_its_tag_and_lemma() {
    check_with(Stage::with_lexicon("[sol] e", sol()), "s down enter", "sol:sun/NOUN.M.SG//sole [e]");
}

#[test]
fn an_offer_that_was_changed_is_a_gloss_of_ones_own() {
    check_with(Stage::with_lexicon("[sol] e", sol()), "s down 'ny' enter", "sol:sunny [e]");
}

#[test]
fn letters_narrow_the_offers() {
    let mut stage = Stage::with_lexicon("[sol] e", sol());
    assert_eq!(stage.card().len(), 3);
    stage.press("'so'");
    let card = stage.card();
    assert!(card.len() == 1 && card[0].starts_with("1 soil"), "{card:?}");
    stage.press("backspace");
    assert_eq!(stage.card().len(), 2);
}

#[test]
fn right_at_the_end_takes_the_rest_of_the_first_offer() {
    check_with(Stage::with_lexicon("[sol] e", sol()), "'on' right enter", "sol:only/ADV//solo [e]");
    check("[sol] e", "'on' right", "sol:on [e]");
}

#[test]
fn a_candidate_tells_its_source_and_its_songs() {
    let mut lexicon = Lexicon::new("it", "en");
    for name in ["notte-di-ventalba", "recitativo-di-oreste"] {
        undersong::lexicon::learn(&mut lexicon, &read_song(&super::stage::demo_path(name)).unwrap().0);
    }
    let mut stage = Stage::with_lexicon("luce:light la:her\n[la] luce", lexicon);
    let card = stage.card();
    assert!(card[0].starts_with("1 her") && card[0].ends_with("in this song 1×"), "{card:?}");
    assert!(card[1].contains("the  DET.DEF.F.SG  of il") && card[1].contains("notte-di-ventalba"), "{card:?}");
}

#[test]
fn an_offer_of_a_song_counts_how_often_it_is_used_there() {
    let mut stage = Stage::of("la:the la:her la:the [la]");
    let card = stage.card();
    assert!(card[0].starts_with("1 the") && card[0].ends_with("2×"), "{card:?}");
    assert!(card[1].starts_with("2 her") && card[1].ends_with("1×"), "{card:?}");
}

#[test]
fn the_tag_cell_completes_in_the_style_in_which_it_is_typed() {
    for (typed, offer) in [("NO", "NOUN"), ("no", "noun"), ("NOUN.F", "NOUN.F"), ("verb, thi", "verb, third person")] {
        let mut stage = Stage::of("[notte:night]");
        stage.press(&format!("tab '{typed}'"));
        let card = stage.card();
        assert!(card.first().is_some_and(|first| first.starts_with(offer)), "{typed}: {card:?}");
    }
}

#[test]
fn abbreviations_are_not_completed_to_words() {
    let mut stage = Stage::of("[notte:night]");
    stage.press("tab 'NOUN.F.S'");
    let card = stage.card();
    assert!(card.contains(&"NOUN.F.SG".to_owned()) && card.iter().all(|offer| !offer.contains(' ')), "{card:?}");
}

/// The documentation of the completions promises the likeliest first; a noun is singular or plural before all else.
#[test]
fn the_likeliest_feature_is_offered_first() {
    for (typed, offer) in [("NOUN.F.S", "NOUN.F.SG"), ("NOUN.M.P", "NOUN.M.PL"), ("VERB.3SG.P", "VERB.3SG.PRS")] {
        let mut stage = Stage::of("[notte:night]");
        stage.press(&format!("tab '{typed}'"));
        assert_eq!(stage.card().first().map(String::as_str), Some(offer), "{:?}", stage.card());
    }
}

#[test]
fn a_tag_is_stored_in_one_form_in_whatever_style_it_is_typed() {
    for typed in ["NOUN.F.SG", "noun.sg.f", "noun fem. sg.", "Noun, feminine singular"] {
        check("[notte:night]", &format!("tab '{typed}' enter"), "[notte:night/NOUN.F.SG]");
    }
    check("[notte:night]", "tab 'my own' enter", "[notte:night/my own]");
}

#[test]
fn a_tag_is_completed_part_by_part() {
    check("[notte:night]", "tab 'verb, thi' right ' sing' right enter", "[notte:night/VERB.3SG]");
}

/// The symbols are those of J. C. Wells, "Computer-coding the IPA: a proposed extension of SAMPA", 1995; from memory.
#[test]
fn a_sound_is_typed_in_x_sampa_or_in_ipa() {
    check("[notte:night]", r#"tab tab '"nOt:e' enter"#, "[notte:night//ˈnɔtːe]");
    check("[notte:night]", "tab tab 'ˈnɔtːe' enter", "[notte:night//ˈnɔtːe]");
}

#[test]
fn the_ipa_is_shown_while_x_sampa_is_typed() {
    let mut stage = Stage::of("[giorno]");
    stage.press(r#"tab tab '"dZor'"#);
    assert_eq!((stage.cell().as_str(), stage.card()[0].as_str()), ("\"dZor", "sounds ˈdʒor"));
}

/// Editing the end of a sound leaves its beginning as it was: IPA that is read as X-SAMPA stays what it is.
#[test]
fn sounds_of_the_demo_can_be_edited_again() {
    for name in ["notte-di-ventalba", "brume", "ogni-mayaka", "das-erste-licht", "lumen-super-aquas"] {
        let (song, _) = read_song(&super::stage::demo_path(name)).unwrap();
        for (_, word) in song.words() {
            assert_eq!(ipa_from_xsampa(word.sound.text()), word.sound.text(), "{name}: {}", word.form);
        }
    }
}

// The rows.

#[test]
fn tab_walks_from_gloss_to_tag_to_sound_to_lemma() {
    let mut stage = Stage::of("[notte]");
    for row in ["gloss", "tag", "sound", "lemma", "gloss"] {
        assert_eq!(stage.row(), row);
        stage.press("tab");
    }
    for row in ["gloss", "lemma", "sound", "tag"] {
        stage.press("shift-tab");
        assert_eq!(stage.row(), row);
    }
}

#[test]
fn tab_settles_what_was_typed() {
    check("[notte] e", "'night' tab 'NOUN' tab 'nOt:e' tab 'notte' enter", "notte:night/NOUN/nɔtːe/notte [e]");
}

#[test]
fn moving_away_settles_what_was_typed() {
    for keys in ["right", "down", "ctrl-end", "ctrl-t", "ctrl-o", "ctrl-g", "ctrl-s"] {
        let mut stage = Stage::of("[notte] e\nil");
        stage.press(&format!("'night' {}", if keys == "down" { "f2 esc ctrl-end" } else { keys }));
        assert!(stage.to_string().contains("notte:night"), "{keys}: {stage}");
    }
}

#[test]
fn the_row_of_the_cursor_is_shown_even_if_hidden_elsewhere() {
    let mut stage = Stage::of("[notte:night///notte] e");
    assert!(!stage.screen(80, 24).rows[..17].concat().contains("nottenotte"));
    stage.press("shift-tab");
    assert_eq!((stage.row().as_str(), stage.cell().as_str()), ("lemma", "notte"));
}

// Taking back.

#[test]
fn escape_takes_back_what_was_typed() {
    check("[notte:night] e", "'nacht' esc right", "notte:night [e]");
    check("[notte] e", "'nacht' esc right", "notte [e]");
}

#[test]
fn redo_brings_again_what_escape_took_back() {
    check("[notte:night] e", "'nacht' esc ctrl-r right", "notte:nacht [e]");
}

#[test]
fn undo_takes_back_what_is_being_typed() {
    check("[notte:night] e", "'nacht' ctrl-u", "[notte:night] e");
    check("[notte:night] e", "'nacht' ctrl-u ctrl-r", "[notte:nacht] e");
}

/// Redo has nothing to make again here, and what was just typed is not what should pay for it.
#[test]
fn redo_does_not_lose_what_is_being_typed() {
    check("[notte] e", "'night' ctrl-r right", "notte:night [e]");
}

#[test]
fn typing_in_a_cell_is_one_step() {
    check("[notte] sol", "'night' enter 'sun' enter ctrl-u", "notte:night [sol]");
    check("[notte] sol", "'night' enter 'sun' enter ctrl-u ctrl-u", "[notte] sol");
}

#[test]
fn a_word_and_the_drafts_that_follow_it_are_one_step() {
    check("[sol] e sol", "'sun' enter ctrl-u", "[sol] e sol");
}

#[test]
fn undo_at_the_start_says_so() {
    let mut stage = Stage::of("[notte]");
    stage.press("ctrl-u");
    assert_eq!(stage.message(), "Nothing to undo");
    stage.press("ctrl-r");
    assert_eq!(stage.message(), "Nothing to redo");
}

#[test]
fn undo_goes_back_across_panes_in_the_order_of_the_work() {
    let mut stage = Stage::of("[notte]\n? Who?");
    let start = stage.to_string();
    stage.press("'night' tab ctrl-t 'O night' ctrl-o 'Livia' ctrl-w");
    let states =
        ["notte:night = O night\n? Who? = Livia", "notte:night = O night\n? Who?", "notte:night\n? Who?", &start];
    let states: Vec<String> = states.map(|s| s.replace("notte:night", "[notte:night]")).into();
    assert_eq!(stage.to_string(), states[0]);
    for state in &states[1..] {
        stage.press("ctrl-u");
        assert_eq!(stage.to_string(), *state);
    }
    for state in states[..3].iter().rev() {
        stage.press("ctrl-r");
        assert_eq!(stage.to_string(), *state);
    }
}

#[test]
fn undo_in_a_pane_takes_back_what_is_being_written_there() {
    check("[notte]\n? Who?", "'night' tab ctrl-t 'O night' ctrl-u", "[notte:night]\n? Who?");
    check("[notte]\n? Who?", "'night' tab ctrl-o 'Livia' ctrl-u", "[notte:night]\n? Who?");
    check("[notte]\n? Who?", "'night' tab ctrl-o 'Livia' ctrl-u ctrl-r", "[notte:night]\n? Who? = Livia");
}

#[test]
fn a_prompt_that_changes_nothing_is_no_step() {
    check("9 | [notte]", "'night' tab ctrl-b enter ctrl-u", "9 | [notte]");
    check("# Aria / Livia\n[notte]", "'night' tab :edit-speaker enter ctrl-u", "# Aria / Livia\n[notte]");
}

// What follows by itself.

#[test]
fn identical_words_follow_as_drafts() {
    check("[sol] e Sol\nsol", "'sun' enter", "sol:sun [e] Sol:~sun\nsol:~sun");
}

#[test]
fn all_settled_rows_of_a_word_follow() {
    check("[sol] sol", "'sun' tab 'NOUN' enter", "sol:sun/NOUN [sol:~sun/~NOUN]");
}

#[test]
fn a_settled_word_does_not_follow() {
    check("[sol] sol:only", "'sun' enter", "[sol:sun] sol:only");
}

/// "Identical words in the song follow the first settled one": an exception does not speak for the rest of the song.
#[test]
fn words_follow_the_first_that_was_settled() {
    check("[la] la la", "'the' enter 'her' enter", "la:the la:her [la:~the]");
}

#[test]
fn a_correction_of_the_first_is_followed_too() {
    check("[la] la", "'teh' enter ctrl-home 'the' right", "la:the [la:~the]");
}

#[test]
fn an_identical_line_is_drafted_after_a_finished_one() {
    let before = "la:her vedo:I-see [la] = I see her\ne\nla vedo la";
    let after = "la:her vedo:I-see la:the = I see her\n[e]\nla:~her vedo:~I-see la:~the = I see her";
    check(before, "'the' enter", after);
}

#[test]
fn a_line_with_a_word_to_do_is_not_followed_yet() {
    let before = "la:her [vedo] la\nla vedo la";
    check(before, "'I-see' enter", "la:her vedo:I-see [la]\nla vedo:~I-see la");
}

/// However a line is finished, what repeats it follows.
#[test]
fn what_is_settled_with_its_line_is_followed_too() {
    let before = "[la:~her] vedo:~I-see la:~the\ne\nla vedo la\nvedo";
    let after = "la:her vedo:I-see la:the\n[e]\nla:~her vedo:~I-see la:~the\nvedo:~I-see";
    check(before, "ctrl-space", after);
}

#[test]
fn follow_line_is_a_command_too() {
    let before = "[la:her] vedo:I-see\nla vedo";
    check(before, ":follow-line", "[la:her] vedo:I-see\nla:~her vedo:~I-see");
}

#[test]
fn fill_drafts_what_song_and_lexicon_know() {
    let stage = Stage::with_lexicon("notte:night [sol] e\nnotte", sol());
    check_with(stage, ":fill", "notte:night [sol:~sun/~NOUN.M.SG//~sole] e\nnotte:~night");
}

// Pasting into a cell.

fn pasted(before: &str, text: &str, keys: &str) -> String {
    let mut stage = Stage::of(before);
    stage.editor.paste(text);
    stage.press(keys);
    stage.to_string()
}

#[test]
fn one_pasted_line_goes_into_the_cell() {
    assert_eq!(pasted("[notte] e", "night", "enter"), "notte:night [e]");
    assert_eq!(pasted("[notte] e", "deep night\n", "enter"), "notte:deep-night [e]");
}

#[test]
fn a_pasted_line_is_added_to_what_is_being_typed() {
    let mut stage = Stage::of("[notte] e");
    stage.press("'deep '");
    stage.editor.paste("night\nand day");
    stage.press("enter");
    assert_eq!(stage.to_string(), "notte:deep-night-and-day [e]");
}

#[test]
fn spaces_around_a_pasted_gloss_are_left_out() {
    assert_eq!(pasted("[notte] e", "  night \n", "enter"), "notte:night [e]");
}

#[test]
fn control_characters_in_a_paste_are_visible_and_harmless() {
    let mut stage = Stage::of("[notte] e");
    stage.editor.paste("ni\u{1b}[31mght\u{7}\u{202e}");
    let text = stage.screen(80, 24).text();
    assert!(text.contains("ni␛[31mght␇"), "{text}");
    assert!(!text.contains(['\u{1b}', '\u{7}', '\u{202e}']));
}

// Flags.

#[test]
fn ctrl_a_flags_a_word_and_takes_the_flag_away() {
    check("[notte] e", "ctrl-a", "[notte@] e");
    check("[notte@] e", "ctrl-a", "[notte] e");
    check("[notte] e", "'ni' ctrl-a", "[notte@:ni] e");
}

#[test]
fn a_note_on_a_word_is_written_in_a_prompt() {
    let mut stage = Stage::of("[notte] e");
    stage.press(":edit-word-note 'ask Anna' enter");
    assert_eq!(stage.editor.word().unwrap().note, "ask Anna");
    stage.press(":edit-word-note backspace backspace backspace backspace 'Marta' enter");
    assert_eq!(stage.editor.word().unwrap().note, "ask Marta");
}

#[test]
fn a_note_that_is_confirmed_as_it_is_keeps_its_lines() {
    let mut stage = Stage::of("[ad] ora");
    stage.press(":edit-word-note 'one' enter right :edit-word-note 'two' enter left :join-words");
    assert_eq!(stage.editor.word().unwrap().note, "one\ntwo");
    stage.press(":edit-word-note enter");
    assert_eq!(stage.editor.word().unwrap().note, "one\ntwo");
}

#[test]
fn a_line_without_words_says_how_to_get_some() {
    let mut stage = Stage::of("()\nnotte:night");
    stage.editor.go_to_line_number(0);
    stage.press("n");
    assert!(stage.message().contains("no words"), "{}", stage.message());
}
