//! Screens as a singer sees them, for each pane, state and size: looked at, and kept as snapshots.

use super::stage::{Screen, Stage, demo_path};
use insta::Settings;
use undersong::lexicon::{Lexicon, learn};
use undersong::song::Song;
use undersong::store::read_song;
use undersong::tui::Theme;

fn snapshot(name: &str, content: impl std::fmt::Display) {
    let mut settings = Settings::clone_current();
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.set_snapshot_path("../snapshots");
    settings.bind(|| insta::assert_snapshot!(format!("editor-{name}"), content.to_string()));
}

/// The lexicon that has learnt from some demo songs.
fn lexicon_of(songs: &[&str]) -> Lexicon {
    let read = |name: &&str| read_song(&demo_path(name)).unwrap().0;
    let songs: Vec<Song> = songs.iter().map(read).collect();
    let details = &songs[0].details;
    let mut lexicon = Lexicon::new(&details.language, &details.gloss_language);
    for song in &songs {
        learn(&mut lexicon, song);
    }
    lexicon
}

/// A song in the middle of the work: settled words, drafts, asks and blanks.
fn at_work() -> Stage {
    Stage::demo("farera")
}

#[test]
fn the_sheet_at_80_by_24() {
    let screen = at_work().screen(80, 24);
    snapshot("sheet-80x24", format!("{screen}\n{}", screen.styles()));
}

#[test]
fn the_sheet_at_120_by_40() {
    snapshot("sheet-120x40", at_work().screen(120, 40));
}

#[test]
fn the_sheet_at_200_by_60() {
    snapshot("sheet-200x60", at_work().screen(200, 60));
}

#[test]
fn the_sheet_at_60_by_20() {
    snapshot("sheet-60x20", at_work().screen(60, 20));
}

#[test]
fn links_sounds_and_directions() {
    let mut stage = Stage::demo("brume");
    stage.press(":go-to '7' enter right");
    snapshot("links-80x24", stage.screen(80, 24));
}

#[test]
fn a_phrase_with_a_note_a_link_and_a_flag() {
    let mut stage = Stage::of("Non chiedo ad_ora:at-hour che l’ onda");
    stage.press(":link right right ctrl-a :edit-word-note 'one idea' enter right :link left left");
    let screen = stage.screen(80, 24);
    snapshot("phrase-80x24", format!("{screen}\n{}", screen.styles()));
}

#[test]
fn a_window_that_is_too_small_says_so() {
    let mut stage = at_work();
    stage.press("'nothing is lost'");
    snapshot("too-small", stage.screen(39, 12));
    assert_eq!(stage.cell(), "nothing-is-lost", "what was typed is there when the window is larger again");
}

#[test]
fn an_empty_song() {
    snapshot("empty-80x24", Stage::of("").screen(80, 24));
}

#[test]
fn typing_on_a_gloss_narrows_the_candidates() {
    let lexicon = lexicon_of(&["notte-di-ventalba", "recitativo-di-oreste"]);
    let mut stage = Stage::with_lexicon("O notte\nla luce che tu vedi\nche lo vedrà", lexicon);
    stage.press("down right right");
    snapshot("candidates-80x24", stage.screen(80, 24));
    stage.press("'b'");
    let screen = stage.screen(80, 24);
    snapshot("candidates-typed-80x24", format!("{screen}\n{}", screen.styles()));
}

#[test]
fn the_tag_cell_completes() {
    let mut stage = Stage::of("O notte:night");
    stage.press("right tab 'NOUN.' down down");
    snapshot("tag-80x24", stage.screen(80, 24));
}

#[test]
fn the_sound_cell_takes_a_plain_keyboard_and_shows_ipa() {
    let mut stage = Stage::of("O notte:night");
    stage.press(r#"right tab tab '"nOt:e'"#);
    snapshot("sound-80x24", stage.screen(80, 24));
}

#[test]
fn the_pane_of_the_translation() {
    let mut stage = at_work();
    stage.press(":go-to '7' enter ctrl-t 'Do you not hear the waves singing, and singing the whole of the night'");
    snapshot("translation-80x24", stage.screen(80, 24));
    snapshot("translation-60x20", stage.screen(60, 20));
}

#[test]
fn the_pane_of_the_situation_notes() {
    let mut stage = at_work();
    stage.press("ctrl-o tab tab tab 'In spring' enter 'and at dawn'");
    snapshot("notes-80x24", stage.screen(80, 24));
    snapshot("notes-120x40", stage.screen(120, 40));
}

#[test]
fn the_list_of_commands() {
    let mut stage = at_work();
    stage.press("esc");
    snapshot("commands-80x24", stage.screen(80, 24));
    stage.press("'spl'");
    snapshot("commands-filtered-80x24", stage.screen(80, 24));
    stage.press("'xyz'");
    snapshot("commands-none-80x24", stage.screen(80, 24));
}

#[test]
fn a_help_topic() {
    let mut stage = at_work();
    stage.press("f1");
    snapshot("help-80x24", stage.screen(80, 24));
    stage.press("right right");
    snapshot("help-120x40", stage.screen(120, 40));
}

#[test]
fn a_prompt() {
    let mut stage = at_work();
    stage.press("ctrl-e");
    snapshot("prompt-80x24", stage.screen(80, 24));
}

#[test]
fn a_message_takes_the_row_of_the_keys() {
    let mut stage = at_work();
    stage.press("ctrl-b 'soon' enter");
    snapshot("message-80x24", stage.screen(80, 24));
}

#[test]
fn the_preview_of_the_printed_sheet() {
    let mut stage = at_work();
    stage.press("ctrl-p");
    snapshot("preview-80x24", stage.screen(80, 24));
    stage.press("page-down");
    snapshot("preview-120x40", stage.screen(120, 40));
}

#[test]
fn words_only_to_read_aloud() {
    let mut stage = at_work();
    stage.press(":words-only");
    snapshot("words-only-80x24", stage.screen(80, 24));
}

#[test]
fn dense_and_all_rows() {
    let mut stage = Stage::demo("notte-di-ventalba");
    stage.press(":roomy :show-lemma");
    snapshot("all-rows-120x40", stage.screen(120, 40));
}

#[test]
fn hidden_glosses_to_test_oneself() {
    let mut stage = Stage::demo("notte-di-ventalba");
    stage.press(":hide-gloss right");
    snapshot("hidden-120x40", stage.screen(120, 40));
}

#[test]
fn other_scripts_stay_in_their_columns() {
    let mut stage = Stage::demo("ogni-mayaka");
    stage.press("tab tab");
    snapshot("cyrillic-120x40", stage.screen(120, 40));
}

/// With `NO_COLOR` the screen is the same but for the colours: no meaning hangs on them.
#[test]
fn without_colour_the_marks_are_the_same() {
    let mut stage = at_work();
    let with = Screen::of(&mut stage.editor, 120, 40, &Theme::new(true));
    let without = Screen::of(&mut stage.editor, 120, 40, &Theme::new(false));
    assert_eq!(with.text(), without.text());
    assert!(with.styles().contains("italic yellow"), "drafts are told by colour too");
    assert!(without.styles().contains("italic") && !without.styles().contains("yellow"));
    let uncoloured = |s: &Screen| s.buffer.content.iter().map(|c| c.modifier).collect::<Vec<_>>();
    assert_eq!(uncoloured(&with), uncoloured(&without));
}

/// No draft is told from a settled cell by its style alone: it has its mark.
#[test]
fn a_draft_is_marked_by_a_sign() {
    let mut stage = Stage::of("la:the notte:~night");
    let text = stage.screen(80, 24).text();
    assert!(text.contains("~night") && !text.contains("~the"), "{text}");
}
