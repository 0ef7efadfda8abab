//! The editor in a real pseudo-terminal: what a singer sees, and what is left when the terminal goes.
//!
//! A [`Session`] is the program on a terminal of its own; a thread takes what the program sends into an emulated
//! screen. A test sends keys and waits until the screen shows what must follow: nothing is timed but the patience of a
//! test that fails. The texts are invented for these tests.

#![cfg(unix)]

use super::world::World;
use portable_pty::{Child, CommandBuilder, ExitStatus, MasterPty, PtySize, native_pty_system};
use std::fmt;
use std::fs;
use std::io::{Read, Write};
use std::num::NonZeroU16;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};
use undersong::song::{Annotation, Cell, Song, Word};
use undersong::store::{backup_path, read_song};

// ------------------------------------------------------------------------------------------------------- the whole run

#[test]
fn a_song_from_paste_to_print() {
    let desk = Desk::new();
    let session = desk.start(&["songs"], WINDOW, &[]);
    session.wait_for("an empty list", |p| p.has("No songs here yet."));

    // A new song, found in the list of commands.
    session.send(ESC);
    session.wait_for("the list of commands", |p| p.has("Commands: type to filter"));
    session.send("new");
    session.wait_for("the command for a new song", |p| p.has("new: Start a song"));
    session.send(ENTER);
    session.wait_for("the question for a name", |p| p.has("Name of the new song"));
    session.send("L'alba");
    session.send(ENTER);
    session.wait_for("the question for a language", |p| p.has("Language of the text"));
    session.send("ital");
    session.wait_for("Italian alone", |p| p.has("Italian") && !p.has("German"));
    session.send(ENTER);
    session.wait_for("the empty song", |p| p.has("This song has no text yet."));

    session.paste(&LINES.join("\r\n"));
    let picture = session.wait_for("the pasted text", |p| p.has("4 lines inserted"));
    for word in ["verrà", "perché", "no?", "lume", "là", "sull'", "m'"] {
        assert!(picture.has(word), "{word} is missing:\n{picture}");
    }
    assert_eq!(picture.cursor(), picture.below("L'", 1), "the first word is under the cursor:\n{picture}");

    for (typed, shown) in [("the", "the"), ("dawn", "dawn"), ("that", "that"), ("will come", "will-come")] {
        session.send(typed);
        session.send(ENTER);
        session.wait_for(shown, |p| p.has(shown));
    }
    session.wait_for("the progress", |p| p.row(0).contains("4/23 settled"));
    session.send(ctrl('u'));
    session.wait_for("the last gloss taken back", |p| !p.has("will-come") && p.row(0).contains("3/23 settled"));
    session.send(ctrl('r'));
    session.wait_for("the last gloss again", |p| p.has("will-come") && p.row(0).contains("4/23 settled"));

    session.send(ctrl('t'));
    session.wait_for("the cursor in the translation", |p| p.cursor().1 > p.place("Translation").1);
    session.send("The dawn that will come: why not?");
    session.send(ENTER);
    session.wait_for("the translation", |p| p.has("The dawn that will come"));
    session.send(ctrl('o'));
    session.wait_for("the notes", |p| p.has("Who is singing?"));
    session.send("Livia, awake too early");
    session.wait_for("the note", |p| p.has("Livia, awake too early"));

    session.send(ctrl('s'));
    session.wait_for("the song saved", Picture::is_saved);
    session.send(ctrl('q'));
    session.wait_for("the list with the song", |p| p.has("Songs in") && p.has("4/23"));
    session.send(ctrl('q'));
    session.end().check_left_well();

    // All of it is seen again.
    let session = desk.start(&["songs/L'alba.yaml"], WINDOW, &[]);
    let picture = session.wait_for("the song opened again", |p| p.has("4/23 settled"));
    for text in ["the", "dawn", "that", "will-come", "The dawn that will come"] {
        assert!(picture.has(text), "{text} is missing:\n{picture}");
    }
    session.send(ctrl('o'));
    session.wait_for("the note", |p| p.has("Livia, awake too early"));
    session.leave().check_left_well();

    let printed = desk.world.ok(&["print", "songs/L'alba.yaml"]);
    for text in ["L'", "alba", "verrà", "will-come", "‘The dawn that will come: why not?’", "Livia, awake too early"]
    {
        assert!(printed.contains(text), "{text} is missing:\n{printed}");
    }
}

// ---------------------------------------------------------------------------------------------------------- the window

#[test]
fn a_word_that_is_being_typed_outlives_every_size() {
    let desk = Desk::with_song();
    let session = desk.open();
    session.send("daw");
    let check = |size: &str| {
        let picture = session.wait_for(&format!("the word at {size}"), |p| p.has("daw") && !p.is_cursor_hidden());
        let (row, column) = picture.below("L'", 1);
        assert_eq!(picture.text_from(row, column, 3), "daw", "{picture}");
        assert_eq!(picture.cursor(), (row, column + 3), "the cursor stands behind the letters:\n{picture}");
        assert!(picture.is_reversed(row, column), "the cell is marked:\n{picture}");
    };
    check("80×24");
    session.resize((40, 12));
    check("40×12");
    session.resize((30, 8));
    let picture = session.wait_for("a message that the window is too small", |p| p.has("Too small a window."));
    assert!(picture.has("40 × 12 is needed.") && picture.has("Nothing is lost."), "{picture}");
    session.resize(WIDE);
    check("120×40");
    session.send("n");
    session.send(ENTER);
    session.wait_for("the word settled", |p| p.row(0).contains("1/23 settled"));
    session.leave().check_left_well();
    assert_eq!(desk.glosses(2), "L'=dawn alba=");
}

#[test]
fn a_window_that_was_too_small_from_the_start_can_grow() {
    let desk = Desk::with_song();
    let session = desk.start(&[SONG], (20, 3), &[]);
    session.wait_for("a message that the window is too small", |p| p.has("Too small a window."));
    session.resize(WINDOW);
    session.wait_for("the song", |p| p.has("0/23 settled") && p.has("verrà"));
    session.leave().check_left_well();
}

/// Some terminals, and any behind a very slow connection, do not tell in time where their cursor is.
#[test]
fn a_terminal_that_answers_no_questions_can_be_resized() {
    let desk = Desk::with_song();
    let session = desk.open();
    session.see(|seen| seen.answers = false);
    session.send("daw");
    session.wait_for("the word", |p| p.has("daw"));
    session.resize(WIDE);
    session.wait_for("the word in the larger window", |p| p.has("daw") && p.row(WIDE.1 - 1).contains("enter"));
    session.leave().check_left_well();
}

// ------------------------------------------------------------------------------------------------------------- signals

#[test]
fn sigterm_saves_and_restores_the_terminal() {
    let ended = Interrupted::while_typing().by("TERM");
    ended.session.check_terminal_restored();
    ended.check_saved("L'=the alba=daw");
}

#[test]
fn sighup_saves_and_restores_the_terminal() {
    let ended = Interrupted::while_typing().by("HUP");
    ended.session.check_terminal_restored();
    ended.check_saved("L'=the alba=daw");
}

/// Letters that were not accepted yet are lost here, and only those.
#[test]
fn sigkill_loses_no_settled_gloss() {
    let ended = Interrupted::while_typing().by("KILL");
    assert_eq!(ended.desk.glosses(2), "L'=the alba=");
    let session = ended.desk.start(&[SONG], WINDOW, &[]);
    let picture = session.wait_for("the song opened again", |p| p.row(0).contains("1/23 settled"));
    assert!(picture.has("one change that had not been saved was recovered"), "{picture}");
    let (row, column) = picture.below("L'", 1);
    assert_eq!(picture.text_from(row, column, 3), "the", "{picture}");
    session.leave().check_left_well();
    assert_eq!(ended.desk.files(), SONG_AND_BACKUP, "the lock and the journal of the killed process are gone");
}

#[test]
fn sigterm_saves_under_the_list_of_commands() {
    check_sigterm_under_dialog(&ctrl('k'), "Commands: type to filter");
}

#[test]
fn sigterm_saves_under_a_question() {
    check_sigterm_under_dialog(&ctrl('e'), "Text of the line");
}

#[test]
fn sigterm_saves_under_the_printed_sheet() {
    check_sigterm_under_dialog(&ctrl('p'), "The printed sheet");
}

fn check_sigterm_under_dialog(key: &str, title: &str) {
    let interrupted = Interrupted::while_typing();
    interrupted.session.send(key);
    interrupted.session.wait_for(title, |p| p.has(title));
    let ended = interrupted.by("TERM");
    ended.session.check_terminal_restored();
    ended.check_saved("L'=the alba=daw");
}

#[test]
fn sigterm_saves_a_translation_that_is_being_written() {
    let desk = Desk::with_song();
    let session = desk.open();
    session.send(ctrl('t'));
    session.send("The daw");
    session.wait_for("the translation", |p| p.has("The daw"));
    session.signal("TERM");
    session.end().check_terminal_restored();
    assert_eq!(desk.song().lines().next().unwrap().1.translation, "The daw");
    assert_eq!(desk.files(), SONG_AND_BACKUP);
}

/// The hint for an empty song shall not stand in the way of the news.
#[test]
fn work_on_an_empty_song_is_recovered_with_a_message() {
    let desk = Desk::new();
    desk.world.write(
        SONG,
        "format: 1\ntitle: L'alba\nlanguage: it\ngloss_language: en\nnotes:\n- prompt: Chi?\n- prompt: Dove?\n",
    );
    let session = desk.start(&[SONG], WINDOW, &[]);
    session.wait_for("the empty song", |p| p.has("This song has no text yet."));
    session.send(ctrl('o'));
    session.send("Livia");
    session.send(TAB);
    session.wait_for("the second question", |p| p.has("Livia") && p.cursor().0 > p.place("Dove?").0);
    session.signal("KILL");
    session.end();
    let session = desk.start(&[SONG], WINDOW, &[]);
    let picture = session.wait_for("the song opened again", |p| p.has("This song has no text yet."));
    assert!(picture.has("was recovered"), "{picture}");
    session.leave().check_left_well();
    assert_eq!(desk.song().notes[0].text, "Livia");
}

/// A song on which a signal falls while a settled gloss is not in the file yet and another is half typed.
struct Interrupted {
    desk: Desk,
    session: Session,
}

struct Ending {
    desk: Desk,
    session: Ended,
}

impl Interrupted {
    fn while_typing() -> Interrupted {
        Interrupted::while_typing_with("")
    }

    fn while_typing_with(settings: &str) -> Interrupted {
        let desk = Desk::with_song();
        fs::create_dir_all(desk.world.file("home/config")).unwrap();
        desk.world.write("home/config/settings.yaml", settings);
        let session = desk.open();
        session.send("the");
        session.send(ENTER);
        session.send("daw");
        session.wait_for("a settled gloss and letters", |p| p.row(0).contains("1/23 settled") && p.has("daw"));
        Interrupted { desk, session }
    }

    fn by(self, signal: &str) -> Ending {
        self.session.signal(signal);
        Ending { desk: self.desk, session: self.session.end() }
    }
}

impl Ending {
    /// Everything is in the song file itself, nothing else is left, and the song opens without a word about it.
    fn check_saved(self, glosses: &str) {
        assert_eq!(self.desk.glosses(2), glosses);
        assert_eq!(self.desk.files(), SONG_AND_BACKUP, "only the song and its backup are left");
        let session = self.desk.start(&[SONG], WINDOW, &[]);
        let picture = session.wait_for("the song opened again", |p| p.has("settled ·"));
        assert!(picture.has("the") && picture.has("daw") && !picture.has("recovered"), "{picture}");
        session.leave().check_left_well();
    }
}

// --------------------------------------------------------------------------------------------------- the terminal goes

#[cfg(target_os = "linux")]
#[test]
fn a_closed_terminal_ends_the_program_and_keeps_every_settled_gloss() {
    let closed = Closed::while_typing();
    assert!(closed.after < Duration::from_secs(5), "{:?}", closed.after);
    assert!(closed.desk.glosses(2).starts_with("L'=the alba="), "{}", closed.desk.glosses(2));
}

#[cfg(target_os = "linux")]
#[test]
fn a_closed_terminal_loses_no_letter_and_leaves_nothing_behind() {
    let desk = Closed::while_typing().desk;
    assert_eq!(desk.glosses(2), "L'=the alba=daw");
    assert_eq!(desk.files(), SONG_AND_BACKUP);
}

/// Reading from a terminal that is gone returns at once, again and again.
#[cfg(target_os = "linux")]
#[test]
fn a_closed_terminal_does_not_keep_the_processor_busy() {
    let closed = Closed::while_typing();
    eprintln!("pty: ended {:?} after its terminal, and worked {:?} meanwhile", closed.after, closed.worked);
    assert!(closed.worked < Duration::from_millis(500), "busy for {:?}", closed.worked);
}

/// A song whose terminal was closed while a settled gloss was not in the file yet and another was half typed.
#[cfg(target_os = "linux")]
struct Closed {
    desk: Desk,
    /// How long the program went on.
    after: Duration,
    /// How much processor time it took from there on.
    worked: Duration,
}

#[cfg(target_os = "linux")]
impl Closed {
    fn while_typing() -> Closed {
        // Closing the keyboard types ctrl-d before: see `close_terminal`. That key shall mean nothing here.
        let Interrupted { desk, session } = Interrupted::while_typing_with("keys: {next-draft: [f12]}\n");
        let (after, worked) = session.close_terminal();
        Closed { desk, after, worked }
    }
}

#[cfg(target_os = "linux")]
#[test]
fn suspending_gives_the_terminal_back_and_takes_it_again() {
    let desk = Desk::with_song();
    let session = desk.open();
    session.send("the");
    session.send(ENTER);
    session.send("daw");
    session.wait_for("a settled gloss and letters", |p| p.row(0).contains("1/23 settled") && p.has("daw"));
    session.send(ctrl('z'));
    session.wait_until("the process stops", |s| s.state() == 'T');
    session.wait_for("the terminal as it was", |p| !p.is_alternate());
    session.check_suspended();
    assert_eq!(desk.glosses(2), "L'=the alba=daw", "all is saved before");
    // The window may have another size when the program goes on.
    session.resize(WIDE);
    session.signal("CONT");
    let picture = session.wait_for("the screen", |p| p.is_alternate() && p.row(WIDE.1 - 1).contains("enter"));
    assert!(picture.has("the") && picture.has("daw") && picture.has("Situation"), "{picture}");
    assert!(picture.0.bracketed_paste() && !session.is_cooked());
    session.send("that");
    session.wait_for("what is typed on", |p| p.has("that"));
    session.leave().check_left_well();
}

#[cfg(target_os = "linux")]
#[test]
fn suspending_works_from_the_list_of_songs_too() {
    let desk = Desk::with_song();
    let session = desk.start(&["songs"], WINDOW, &[]);
    session.wait_for("the list", |p| p.has("0/23"));
    session.send(ctrl('z'));
    session.wait_until("the process stops", |s| s.state() == 'T');
    session.check_suspended();
    session.signal("CONT");
    session.wait_for("the list", |p| p.is_alternate() && p.has("0/23"));
    session.send(ctrl('q'));
    session.end().check_left_well();
}

// ----------------------------------------------------------------------------------------------------------- the files

#[test]
fn leaving_writes_the_song_and_cleans_up() {
    let desk = Desk::with_song();
    let before = fs::read(desk.path()).unwrap();
    let session = desk.open();
    assert!(desk.files().iter().any(|f| f.ends_with(".lock")), "{:?}", desk.files());
    session.send("the");
    session.send(ENTER);
    session.send("dawn");
    session.leave().check_left_well();
    assert_eq!(desk.glosses(2), "L'=the alba=dawn", "letters that were not accepted are settled too");
    assert_eq!(desk.files(), SONG_AND_BACKUP);
    assert_eq!(fs::read(backup_path(&desk.path())).unwrap(), before, "the backup is the song as it was");
}

#[test]
fn leaving_an_untouched_song_writes_nothing() {
    let desk = Desk::with_song();
    let before = fs::read(desk.path()).unwrap();
    desk.open().leave().check_left_well();
    assert_eq!(desk.files(), ["alba.yaml"]);
    assert_eq!(fs::read(desk.path()).unwrap(), before);
}

#[test]
fn a_file_that_another_program_changed_is_opened_afresh() {
    let desk = Desk::with_song();
    let session = desk.open();
    desk.change_title_elsewhere();
    let picture = session.wait_for("the song as it is now", |p| p.row(0).contains("L'alba nuova"));
    assert!(picture.has("The file was changed elsewhere and opened afresh"), "{picture}");
    session.send("the");
    session.send(ENTER);
    session.leave().check_left_well();
    assert_eq!(desk.glosses(1), "L'=the");
    assert_eq!(desk.song().details.title, "L'alba nuova");
    assert_eq!(desk.files(), SONG_AND_BACKUP, "nothing had to be kept");
}

#[test]
fn two_changed_versions_are_both_kept() {
    let desk = Desk::with_song();
    let session = desk.open();
    session.send("the");
    session.send(ENTER);
    session.wait_for("a gloss that is not saved", |p| p.row(0).contains("1/23 settled"));
    desk.change_title_elsewhere();
    session.send(ctrl('s'));
    let picture = session.wait_for("the other version", |p| p.row(0).contains("L'alba nuova"));
    assert!(picture.row(0).contains("0/23 settled"), "{picture}");
    assert!(picture.has("your version is in"), "{picture}");
    session.leave().check_left_well();
    assert_eq!((desk.song().details.title.as_str(), desk.glosses(1).as_str()), ("L'alba nuova", "L'="));
    let (mine, _) = read_song(&desk.world.file("songs/alba.mine.yaml")).unwrap();
    assert_eq!((mine.details.title.as_str(), glosses(&mine, 1).as_str()), ("L'alba", "L'=the"));
}

#[test]
fn letters_that_are_being_typed_outlive_a_change_from_elsewhere() {
    let desk = Desk::with_song();
    let session = desk.open();
    session.send("daw");
    session.wait_for("the letters", |p| p.has("daw"));
    desk.change_title_elsewhere();
    let picture = session.wait_for("the other version", |p| p.row(0).contains("L'alba nuova"));
    session.leave().check_left_well();
    let songs = desk.files().into_iter().filter(|f| !f.starts_with('.'));
    let texts: Vec<String> = songs.map(|f| desk.world.read(&format!("songs/{f}"))).collect();
    assert!(texts.iter().any(|t| t.contains("daw")), "“daw” stands in no file of {:?}:\n{picture}", desk.files());
}

#[test]
fn a_file_that_was_removed_elsewhere_is_written_again() {
    let desk = Desk::with_song();
    let session = desk.open();
    session.send("the");
    session.send(ENTER);
    session.wait_for("a gloss that is not saved", |p| p.row(0).contains("1/23 settled"));
    fs::remove_file(desk.path()).unwrap();
    session.send(ctrl('s'));
    session.wait_for("the song saved", Picture::is_saved);
    session.leave().check_left_well();
    assert_eq!(desk.glosses(1), "L'=the");
}

/// A synchronising program may leave half a file for a while.
#[test]
fn a_file_that_was_broken_elsewhere_costs_no_work() {
    let desk = Desk::with_song();
    let whole = desk.world.read(SONG);
    let session = desk.open();
    session.send("the");
    session.send(ENTER);
    session.wait_for("a gloss that is not saved", |p| p.row(0).contains("1/23 settled"));
    desk.world.write(SONG, &whole[..whole.len() / 2]);
    session.send(ctrl('s'));
    let picture = session.wait_for("what is wrong", |p| p.row(WINDOW.1 - 1).contains("YAML"));
    assert!(picture.row(0).contains("1/23 settled") && !picture.is_saved(), "{picture}");
    desk.world.write(SONG, &whole);
    session.send(ctrl('s'));
    session.wait_for("the song saved", Picture::is_saved);
    session.leave().check_left_well();
    assert_eq!(desk.glosses(1), "L'=the");
    assert_eq!(desk.files(), SONG_AND_BACKUP);
}

#[test]
fn leaving_while_the_file_is_broken_elsewhere_costs_no_work() {
    let desk = Desk::with_song();
    let whole = desk.world.read(SONG);
    let session = desk.open();
    session.send("the");
    session.send(ENTER);
    session.wait_for("a gloss that is not saved", |p| p.row(0).contains("1/23 settled"));
    desk.world.write(SONG, &whole[..whole.len() / 2]);
    session.leave().check_left_well();
    // The file comes back as it was, and with it the work that could not be saved.
    desk.world.write(SONG, &whole);
    let session = desk.start(&[SONG], WINDOW, &[]);
    session.wait_for("the gloss", |p| p.row(0).contains("1/23 settled") && p.has("was recovered"));
    session.leave().check_left_well();
    assert_eq!(desk.glosses(1), "L'=the");
    assert_eq!(desk.files(), SONG_AND_BACKUP);
}

#[test]
fn a_broken_song_offers_its_backup() {
    let desk = Desk::with_song();
    let broken =
        "format: 1\ntitle: L'alba\nlanguage: it\nsections:\n- lines:\n  - words:\n    - {word: L', gloss: the\n";
    let backup = backup_path(&desk.path());
    fs::rename(desk.path(), &backup).unwrap();
    fs::write(desk.path(), broken).unwrap();
    let session = desk.start(&[SONG], WINDOW, &[]);
    let picture = session.wait_for("an account", |p| p.has("cannot be opened"));
    assert!(picture.has("alba.yaml:7:"), "the line of the mistake is named:\n{picture}");
    let (row, column) = picture.place("Put the backup in its place");
    assert!(picture.is_reversed(row, column) && picture.cursor().0 == row, "the backup is offered first:\n{picture}");
    session.send(ENTER);
    session.wait_for("the song", |p| p.row(0).contains("0/23 settled"));
    session.send("the");
    session.send(ENTER);
    session.wait_for("a gloss", |p| p.row(0).contains("1/23 settled"));
    session.leave().check_left_well();
    assert_eq!(desk.glosses(1), "L'=the");
    let kept = desk.files().into_iter().find(|f| f.contains("broken")).expect("the broken file is kept");
    assert_eq!(desk.world.read(&format!("songs/{kept}")), broken);
}

#[test]
fn a_broken_song_can_be_left_as_it_is() {
    let desk = Desk::new();
    desk.world.write(SONG, "format: 1\ntitle: [L'alba\n");
    let session = desk.start(&[SONG], WINDOW, &[]);
    let picture = session.wait_for("an account", |p| p.has("cannot be opened"));
    assert!(!picture.has("backup"), "there is none to offer:\n{picture}");
    session.send(ENTER);
    session.end().check_left_well();
    assert_eq!(desk.files(), ["alba.yaml"]);
    assert_eq!(desk.world.read(SONG), "format: 1\ntitle: [L'alba\n");
}

#[test]
fn a_broken_song_in_the_list_leads_back_to_the_list() {
    let desk = Desk::with_song();
    desk.world.write("songs/aria.yaml", "format: 1\ntitle: [Aria\n");
    let session = desk.start(&["songs"], WINDOW, &[]);
    session.wait_for("both songs", |p| p.has("aria.yaml: ") && p.has("0/23"));
    session.send(DOWN);
    session.send(ENTER);
    session.wait_for("an account", |p| p.has("cannot be opened"));
    session.send(ESC);
    session.wait_for("the list again", |p| p.has("aria.yaml: ") && p.has("0/23"));
    session.send(ctrl('q'));
    session.end().check_left_well();
}

// ---------------------------------------------------------------------------------------------- what the terminal gets

#[test]
fn no_colour_is_sent_where_none_is_wanted() {
    // The same keys with colours show that the search finds them.
    for (env, has_colour) in [(&[][..], true), (&[("NO_COLOR", "1")][..], false)] {
        let desk = Desk::with_song();
        let session = desk.start(&[SONG], WIDE, env);
        session.wait_for("the song", |p| p.has("0/23 settled"));
        session.send("the");
        session.send(ENTER);
        session.send("daw");
        let picture = session.wait_for("letters in a cell", |p| p.has("daw"));
        let (row, column) = picture.place("daw");
        assert!(picture.is_reversed(row, column), "the cell is marked:\n{picture}");
        session.send(ctrl('t'));
        session.send("The daw");
        session.wait_for("the translation", |p| p.has("The daw"));
        session.send(ctrl('o'));
        session.send("Livia");
        session.wait_for("the note", |p| p.has("Livia"));
        session.send(ctrl('k'));
        session.wait_for("a dialog", |p| p.has("Commands: type to filter"));
        let ended = session.leave();
        ended.check_left_well();
        let colours = colour_sequences(&ended.bytes);
        assert_eq!(
            !colours.is_empty(),
            has_colour,
            "{env:?}: {} colour sequences: {:?}",
            colours.len(),
            colours.first()
        );
    }
}

#[test]
fn without_a_terminal_to_draw_on_a_hint_is_given() {
    let desk = Desk::with_song();
    let session = desk.start(&[SONG], WINDOW, &[("TERM", "dumb")]);
    let ended = session.end();
    assert_eq!(ended.status.exit_code(), 2);
    assert!(
        ended.picture.has("the editor needs a terminal") && ended.picture.has("undersong help"),
        "{}",
        ended.picture
    );
    assert!(!ended.bytes.contains(&0x1b), "nothing is drawn");

    let ran = desk.world.run(&[SONG]);
    assert_eq!(ran.status, 2, "{ran:?}");
    assert!(ran.stdout.is_empty() && ran.stderr.contains("the editor needs a terminal"), "{ran:?}");
    assert!(ran.stderr.contains("undersong help"), "{ran:?}");
    assert_eq!(desk.files(), ["alba.yaml"], "the song was not touched");
}

/// Bell, window title, clipboard, colour, clear, answer-back, the one-byte forms of the same (C1), delete, and a change
/// of direction.
const PAYLOADS: [&str; 8] = [
    "\u{7}",
    "\x1b]0;EVIL\u{7}",
    "\x1b]52;c;RVZJTA==\x1b\\",
    "\x1b[31;5m",
    "\x1b[2J\x1b[H",
    "\u{5}\x1b[c",
    "\u{9b}31m\u{9d}0;EVIL\u{9c}\u{90}q\u{7f}\u{8}",
    "\u{202e}\u{2066}",
];

#[test]
fn a_pasted_text_cannot_command_the_terminal() {
    let desk = Desk::with_song();
    let session = desk.open();
    let evil = |word: &str| format!("{word}{}fine", PAYLOADS.concat());
    session.paste(&format!("{}\r\nseconda riga\r\n", evil("versi")));
    session.wait_for("the pasted lines", |p| p.has("2 lines inserted") && p.has("seconda"));
    session.paste(&evil("cella"));
    session.wait_for("the pasted gloss", |p| p.has("cella"));
    session.send(ENTER);
    session.send(ctrl('t'));
    session.paste(&evil("translated"));
    session.wait_for("the pasted translation", |p| p.has("translated"));
    session.send(ctrl('o'));
    session.paste(&evil("noted"));
    session.wait_for("the pasted note", |p| p.has("noted"));
    session.send(ctrl('e'));
    session.paste(&evil("asked"));
    session.send(HOME);
    session.wait_for("the pasted answer", |p| p.has("fine") && p.cursor().1 < 10);
    session.send(ESC);
    session.wait_for("no question", |p| !p.has("Text of the line"));
    session.send(ctrl('k'));
    session.wait_for("the list of commands", |p| p.has("Commands: type to filter"));
    session.paste(&evil("filtered"));
    session.wait_for("the pasted filter", |p| p.has("filtered"));
    session.send(ESC);
    session.wait_for("no list", |p| !p.has("Commands: type to filter"));
    session.send(ctrl('p'));
    session.wait_for("the printed sheet", |p| p.has("printed sheet"));
    let ended = session.leave();
    ended.check_left_well();
    ended.check_nothing_obeyed();
    assert!(String::from_utf8_lossy(&ended.bytes).contains("EVIL"), "the letters of the payload must have been shown");
}

#[test]
fn a_song_file_cannot_command_the_terminal() {
    let desk = Desk::with_song();
    // The file holds the escapes in letters, and means the characters.
    let quoted = |c: char| if c.is_ascii_alphanumeric() { c.to_string() } else { format!("\\u{:04x}", c as u32) };
    let evil = |word: &str| {
        format!("\"{}\"", format!("{word}{}fine", PAYLOADS.concat()).chars().map(quoted).collect::<String>())
    };
    let mut song = "format: 1
id: @
title: @title
composer: @composer
language: it
gloss_language: en
notes:
- prompt: @prompt
  text: @
sections:
- heading: @heading
  speaker: @
  lines:
  - direction: @
    cue: @
    intention: @
    translation: @translation
    words:
    - {word: @, sound: @, gloss: @, tag: @, lemma: @, note: @}
    - word: alba
"
    .to_owned();
    for name in ["title", "composer", "prompt", "heading", "translation", ""] {
        song = song.replace(&format!("@{name}"), &evil(name));
    }
    desk.world.write(SONG, song);
    // A name of a file may hold anything but a slash.
    desk.world.write("songs/name\x1b]0;EVIL\u{7}\u{9b}31m.yaml", "format: 1\ntitle: [\n");
    let of_evil_language =
        "format: 1\ntitle: b\nlanguage: \"\\e]0;EVIL\\a\"\nsections:\n- lines:\n  - words: [{word: a}]\n";
    desk.world.write("songs/say\x1b]0;EVIL\u{7}.yaml", of_evil_language);
    let session = desk.start(&["songs"], WIDE, &[]);
    session.wait_for("the list", |p| p.has("title") && p.has("composer") && p.has("name"));
    session.send(ENTER);
    session.wait_for("the song", |p| p.has("heading") && p.has("translation") && p.has("prompt"));
    session.send(ctrl('t'));
    session.send("x");
    session.wait_for("the translation", |p| p.has("finex"));
    session.send(ctrl('o'));
    session.send("y");
    session.wait_for("the note", |p| p.has("finey"));
    session.send(ctrl('w'));
    session.send(HOME);
    session.send(TAB);
    session.send(BACKSPACE);
    session.send(TAB);
    session.send(TAB);
    session.send(BACKSPACE);
    session.send(ctrl('e'));
    session.wait_for("the text of the line", |p| p.has("Text of the line"));
    session.send(ESC);
    session.wait_for("no question", |p| !p.has("Text of the line"));
    session.send(ctrl('p'));
    session.wait_for("the printed sheet", |p| p.has("printed sheet"));
    session.send(ESC);
    session.wait_for("no sheet", |p| !p.has("printed sheet"));
    session.send(ctrl('q'));
    session.wait_for("the list", |p| p.has("Songs in"));
    session.send(DOWN);
    session.send(ENTER);
    session.wait_for("the account of the broken song", |p| p.has("cannot be opened"));
    session.send(ENTER);
    session.wait_for("the list", |p| p.has("Songs in"));
    session.send(DOWN);
    session.send(DOWN);
    session.send(ENTER);
    session.wait_for("the song of an evil language", |p| p.has("is not known"));
    session.send(ctrl('q'));
    session.wait_for("the list", |p| p.has("Songs in"));
    session.send(ctrl('q'));
    let ended = session.end();
    ended.check_left_well();
    ended.check_nothing_obeyed();
    assert!(String::from_utf8_lossy(&ended.bytes).contains("EVIL"), "the letters of the payload must have been shown");
}

#[test]
fn a_letter_costs_few_bytes() {
    const MOST: usize = 2_000;
    let desk = Desk::with_song();
    let session = desk.start(&[SONG], WIDE, &[]);
    session.wait_for("the song", |p| p.has("0/23 settled"));
    let mut typed = String::new();
    for letter in "dawn".chars() {
        let before = session.n_bytes();
        typed.push(letter);
        session.send(letter.to_string());
        session.wait_for("the letter", |p| {
            let (row, column) = p.below("L'", 1);
            p.cursor() == (row, column + typed.len() as u16) && p.text_from(row, column, typed.len()) == typed
        });
        let n_bytes = session.n_bytes() - before;
        eprintln!("pty: {n_bytes} bytes for the letter {letter:?}, the {}. of its cell, at 120×40", typed.len());
        assert!(n_bytes < MOST, "{n_bytes} bytes for one letter");
    }
    for (key, name) in [(ENTER, "enter"), (RIGHT, "right"), (DOWN, "down")] {
        let before = session.n_bytes();
        let place = session.picture().cursor();
        session.send(key);
        session.wait_for(name, |p| p.cursor() != place);
        eprintln!("pty: {} bytes for the key {name} at 120×40", session.n_bytes() - before);
    }
    session.leave().check_left_well();
}

#[test]
fn a_large_paste_asks_first() {
    let desk = Desk::with_song();
    let session = desk.open();
    let line = "sempre lo stesso verso che torna e torna e non finisce mai\r\n";
    let start = Instant::now();
    session.paste(&line.repeat(5_000_001 / line.len() + 1));
    session.wait_for("a question", |p| p.has("That is a very large text") && p.has("Do not insert it"));
    eprintln!("pty: a paste of 5 MB asks after {:?}", start.elapsed());
    session.send(ENTER);
    session.wait_for("the song as it was", |p| p.row(0).contains("0/23 settled") && !p.has("very large"));
    session.leave().check_left_well();
    assert_eq!(desk.files(), ["alba.yaml"]);
}

#[test]
fn the_mouse_goes_to_a_cell_and_is_given_back() {
    let desk = Desk::with_song();
    let session = desk.open();
    session.send(ctrl('k'));
    session.wait_for("the list of commands", |p| p.has("Commands: type to filter"));
    session.send("mouse");
    session.send(ENTER);
    let picture = session.wait_for("a message", |p| p.has("The mouse clicks and scrolls here"));
    assert_ne!(picture.0.mouse_protocol_mode(), vt100::MouseProtocolMode::None);
    let (row, column) = picture.below("lume", 1);
    session.send(format!("\x1b[<0;{0};{1}M\x1b[<0;{0};{1}m", column + 1, row + 1));
    session.wait_for("the cursor on the cell", |p| p.cursor() == (row, column));
    session.send("lamp");
    session.send(ENTER);
    session.wait_for("the gloss", |p| p.row(0).contains("1/23 settled"));
    session.leave().check_left_well();
    assert_eq!(desk.song().words().find(|(_, w)| w.form == "lume").unwrap().1.gloss.text(), "lamp");
}

#[test]
fn a_file_name_in_an_error_cannot_command_the_terminal() {
    let desk = Desk::new();
    let session = desk.start(&["songs/\x1b]0;EVIL\u{7}\u{9b}31m.yaml"], WINDOW, &[]);
    let ended = session.end();
    assert_eq!(ended.status.exit_code(), 2);
    assert!(ended.picture.has("EVIL"), "{}", ended.picture);
    ended.check_nothing_obeyed();
}

// ----------------------------------------------------------------------------------------------------- marks and width

#[test]
fn every_gloss_of_a_russian_song_stands_under_its_word() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo/ogni-mayaka.yaml");
    check_columns(&fs::read_to_string(demo).unwrap());
}

/// Tie bars, nasal tildes, length, stress and voicelessness; letters with a stress accent that have no composed form;
/// wide letters.
#[test]
fn marks_and_wide_letters_keep_the_columns() {
    check_columns(
        "format: 1
title: Segni
language: it
gloss_language: en
sections:
- lines:
  - words:
    - {word: ciò, sound: ˈt͡ʃɔː, gloss: that, tag: PRON, lemma: ciò}
    - {word: mezzo, sound: ˈmɛd͡d͡zo, gloss: half, tag: ADJ, lemma: mezzo}
    - {word: bon, sound: bɔ̃ː, gloss: good, tag: ADJ, lemma: bon}
    - {word: vin, sound: vœ̃ˌ, gloss: wine, tag: NOUN, lemma: vin}
    - {word: r̥aum, sound: r̥ʰaʊ̯m, gloss: room, tag: NOUN, lemma: raum}
  - words:
    - {word: Ве́тер, sound: ˈvʲetʲɪr, gloss: wind, tag: NOUN, lemma: ве́тер}
    - {word: ю́га, sound: ˈjʉɡɐ, gloss: south, tag: NOUN, lemma: ю́г}
    - {word: у́тра, sound: ˈutrə, gloss: morning, tag: NOUN, lemma: у́тро}
    - {word: я́сного, sound: ˈjasnəvə, gloss: of-clear, tag: ADJ, lemma: я́сный}
  - words:
    - {word: 月, sound: tsɯki, gloss: moon, tag: NOUN, lemma: 月}
    - {word: の, sound: no, gloss: of, tag: ADP, lemma: の}
    - {word: 光が, sound: çika̠ɾiɡa, gloss: 光-light, tag: NOUN, lemma: 光}
    - {word: 海, sound: ɯmi, gloss: sea, tag: NOUN, lemma: 海}
    - {word: ガ, sound: ɡa, gloss: ら́ー, tag: PART, lemma: ｶﾞ}
    - {word: fine, sound: ˈfiːne, gloss: end, tag: NOUN, lemma: fine}
",
    );
}

/// Opens a song with all its rows shown: under every line stand its sounds, glosses, tags and lemmas, each text from
/// the column on at which its word begins.
fn check_columns(song: &str) {
    let desk = Desk::new();
    desk.world.write(SONG, song);
    // High enough for the whole song.
    let session = desk.start(&[SONG], (200, 110), &[]);
    session.wait_for("the song", |p| p.has("settled ·"));
    session.send(ctrl('k'));
    session.wait_for("the list of commands", |p| p.has("Commands: type to filter"));
    session.send("dictionary forms");
    session.send(ENTER);
    let song = desk.song();
    let is_seen_apart = |w: &&Word| !w.lemma.is_blank() && w.lemma.text() != w.form;
    let lemma = song.words().map(|(_, w)| w).find(is_seen_apart).unwrap().lemma.text();
    let has_lemmas = |p: &Picture| !p.has("Commands: type to filter") && p.has(lemma);
    let picture = session.wait_for("the row of lemmas", has_lemmas);
    let (mut row, mut n_rows) = (0, 0);
    for (_, line) in song.lines() {
        let words: Vec<&str> = line.words.iter().map(|w| w.form.as_str()).collect();
        let columns = loop {
            row += 1;
            assert!(row < picture.size().0, "the line {words:?} is not on the screen:\n{picture}");
            if let Some(columns) = picture.columns(row, &words) {
                break columns;
            }
        };
        for annotation in [Annotation::Sound, Annotation::Gloss, Annotation::Tag, Annotation::Lemma] {
            let texts: Vec<String> = line.words.iter().map(|w| w.annotation(annotation).text().to_owned()).collect();
            if texts.iter().all(String::is_empty) {
                continue;
            }
            (row, n_rows) = (row + 1, n_rows + 1);
            for ((text, column), word) in texts.iter().zip(&columns).zip(&words).filter(|((t, _), _)| !t.is_empty()) {
                let shown = picture.text_from(row, *column, text.len() + 1);
                // Tags are abbreviated on the screen; that one begins here is enough.
                let is_there = match annotation {
                    Annotation::Tag => !shown.starts_with(' ') && picture.text_from(row, column - 1, 1) == " ",
                    _ => shown.trim_start_matches('~').starts_with(text),
                };
                assert!(is_there, "“{text}” is not under “{word}” in row {row}, column {column}:\n{picture}");
            }
        }
    }
    eprintln!("pty: {n_rows} rows stand under the words of {} lines", song.lines().count());
    assert!(n_rows > song.lines().count(), "a song without rows shows nothing");
    session.leave().check_left_well();
}

#[test]
fn keys_in_a_cell_move_and_delete_by_whole_letters() {
    let desk = Desk::with_song();
    let session = desk.open();
    let check = |text: &str, cells_before: u16| {
        let what = format!("{text} with the cursor after {cells_before} cells");
        session.wait_for(&what, |p| {
            let (row, column) = p.below("L'", 1);
            let behind = p.text_from(row, column, text.chars().count() + 1);
            behind.trim_end() == text && p.cursor() == (row, column + cells_before)
        });
    };
    // Ten characters, of which three only mark the letter before: six letters, one of them two cells wide.
    session.send("bɔ̃愛t͡ʃu\u{301}");
    check("bɔ̃愛t͡ʃú", 7);
    session.send(LEFT);
    check("bɔ̃愛t͡ʃú", 6);
    session.send(LEFT);
    session.send(LEFT);
    check("bɔ̃愛t͡ʃú", 4);
    session.send(DELETE);
    check("bɔ̃愛ʃú", 4);
    session.send(LEFT);
    check("bɔ̃愛ʃú", 2);
    session.send(BACKSPACE);
    check("b愛ʃú", 1);
    session.send(RIGHT);
    check("b愛ʃú", 3);
    session.send(RIGHT);
    check("b愛ʃú", 4);
    session.send(HOME);
    session.send("m̥");
    check("m̥b愛ʃú", 1);
    session.send(DELETE);
    session.send(END);
    check("m̥愛ʃú", 5);
    session.send(ENTER);
    session.wait_for("the gloss settled", |p| p.row(0).contains("1/23 settled"));
    session.leave().check_left_well();
    assert_eq!(desk.glosses(1), "L'=m̥愛ʃú");
}

// ---------------------------------------------------------------------------------------------------------------- desk

const SONG: &str = "songs/alba.yaml";
const LINES: [&str; 4] =
    ["L'alba che verrà, perché no?", "C'è un lume là sull'onda,", "né più la notte è fonda,", "ed ella m'invitò."];

/// Columns and rows.
const WINDOW: (u16, u16) = (80, 24);
const WIDE: (u16, u16) = (120, 40);

/// A folder with songs, and nothing of the user's.
struct Desk {
    world: World,
}

impl Desk {
    fn new() -> Desk {
        let world = World::new();
        fs::create_dir(world.file("songs")).unwrap();
        Desk { world }
    }

    /// With a song of four lines that has no gloss yet.
    fn with_song() -> Desk {
        let desk = Desk::new();
        let args = ["new", SONG, "--lang", "it", "--title", "L'alba", "--text", "-"];
        let ran = desk.world.run_with(&args, LINES.join("\n"));
        assert_eq!(ran.status, 0, "{ran:?}");
        desk
    }

    fn path(&self) -> PathBuf {
        self.world.file(SONG)
    }

    /// The song as it lies on the disk, with what its journal holds.
    fn song(&self) -> Song {
        read_song(&self.path()).unwrap().0
    }

    /// The glosses of the first words: `word=gloss`, drafts with `~`.
    fn glosses(&self, n_words: usize) -> String {
        glosses(&self.song(), n_words)
    }

    /// Every file in the folder of the songs, hidden ones too.
    fn files(&self) -> Vec<String> {
        let entries = fs::read_dir(self.world.file("songs")).unwrap();
        let mut names: Vec<String> = entries.map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }

    /// What another program does to the song.
    fn change_title_elsewhere(&self) {
        let text = self.world.read(SONG);
        let changed = text.replace("title: L'alba", "title: L'alba nuova");
        assert_ne!(changed, text);
        self.world.write(SONG, changed);
    }

    /// Opens the song, and waits for it.
    fn open(&self) -> Session {
        let session = self.start(&[SONG], WINDOW, &[]);
        session.wait_for("the song", |p| p.row(0).contains("0/23 settled"));
        session
    }

    /// Starts the program in a terminal of its own.
    fn start(&self, args: &[&str], window: (u16, u16), env: &[(&str, &str)]) -> Session {
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_undersong"));
        command.args(args);
        command.cwd(self.world.path());
        command.env_clear();
        command.env("TERM", "xterm-256color");
        command.env("UNDERSONG_CONFIG_DIR", self.world.file("home/config"));
        command.env("UNDERSONG_DATA_DIR", self.world.file("home/data"));
        for (name, value) in env {
            command.env(name, value);
        }
        Session::start(command, window)
    }
}

/// What is left of a song that was changed: itself and its backup.
const SONG_AND_BACKUP: [&str; 2] = [".alba.yaml.backup", "alba.yaml"];

fn glosses(song: &Song, n_words: usize) -> String {
    let gloss = |cell: &Cell<String>| match cell {
        Cell::Blank => String::new(),
        Cell::Draft(text) => format!("~{text}"),
        Cell::Settled(text) => text.clone(),
    };
    let words = song.words().take(n_words).map(|(_, w)| format!("{}={}", w.form, gloss(&w.gloss)));
    words.collect::<Vec<_>>().join(" ")
}

// ------------------------------------------------------------------------------------------------------------- session

const ENTER: &str = "\r";
const ESC: &str = "\x1b";
const TAB: &str = "\t";
const BACKSPACE: &str = "\x7f";
const DOWN: &str = "\x1b[B";
const RIGHT: &str = "\x1b[C";
const LEFT: &str = "\x1b[D";
const HOME: &str = "\x1b[H";
const END: &str = "\x1b[F";
const DELETE: &str = "\x1b[3~";

fn ctrl(letter: char) -> String {
    char::from(letter as u8 & 0x1f).to_string()
}

/// How long a test waits for what does not come.
const PATIENCE: Duration = Duration::from_secs(10);

/// The program on a terminal of its own.
struct Session {
    child: Box<dyn Child + Send + Sync>,
    master: Box<dyn MasterPty + Send>,
    keyboard: Keyboard,
    seen: Arc<(Mutex<Seen>, Condvar)>,
    reader: Option<JoinHandle<()>>,
}

type Keyboard = Arc<Mutex<Option<Box<dyn Write + Send>>>>;

/// What the terminal has got so far.
struct Seen {
    terminal: vt100::Parser<Told>,
    bytes: Vec<u8>,
    /// How many of the bytes the terminal has got.
    n_fed: usize,
    /// Whether the terminal tells where its cursor is when it is asked.
    answers: bool,
    /// Whether the program has closed its side.
    has_ended: bool,
    /// Whether the terminal is about to go.
    is_closing: bool,
}

/// What the program has told the terminal beside what is to be shown.
#[derive(Default)]
struct Told {
    is_drawing: bool,
    n_questions: usize,
    /// What a terminal obeys and the program has no business to send.
    obeyed: Vec<String>,
}

impl vt100::Callbacks for Told {
    fn audible_bell(&mut self, _: &mut vt100::Screen) {
        self.obeyed.push("bell".to_owned());
    }

    fn visual_bell(&mut self, _: &mut vt100::Screen) {
        self.obeyed.push("visual bell".to_owned());
    }

    fn resize(&mut self, _: &mut vt100::Screen, size: (u16, u16)) {
        self.obeyed.push(format!("resize to {size:?}"));
    }

    fn set_window_icon_name(&mut self, _: &mut vt100::Screen, name: &[u8]) {
        self.obeyed.push(format!("icon {name:?}"));
    }

    fn set_window_title(&mut self, _: &mut vt100::Screen, title: &[u8]) {
        self.obeyed.push(format!("title {title:?}"));
    }

    fn copy_to_clipboard(&mut self, _: &mut vt100::Screen, _: &[u8], data: &[u8]) {
        self.obeyed.push(format!("copy {data:?}"));
    }

    fn paste_from_clipboard(&mut self, _: &mut vt100::Screen, _: &[u8]) {
        self.obeyed.push("clipboard read".to_owned());
    }

    fn unhandled_char(&mut self, _: &mut vt100::Screen, c: char) {
        self.obeyed.push(format!("control character {c:?}"));
    }

    fn unhandled_control(&mut self, _: &mut vt100::Screen, byte: u8) {
        self.obeyed.push(format!("control character {byte:#x}"));
    }

    fn unhandled_escape(&mut self, _: &mut vt100::Screen, first: Option<u8>, _: Option<u8>, byte: u8) {
        self.obeyed.push(format!("escape {first:?} {byte:#x}"));
    }

    fn unhandled_csi(&mut self, _: &mut vt100::Screen, mark: Option<u8>, _: Option<u8>, of: &[&[u16]], end: char) {
        match (mark, of, end) {
            (Some(b'?'), [[2026]], 'h') => self.is_drawing = true,
            (Some(b'?'), [[2026]], 'l') => self.is_drawing = false,
            // The colour of underlines as it was, which the emulator does not know.
            (None, [[59]], 'm') => {}
            // An old way to report the mouse, which is switched off together with the others.
            (Some(b'?'), [[1015]], 'h' | 'l') => {}
            (None, [[6]], 'n') => self.n_questions += 1,
            _ => self.obeyed.push(format!("sequence {mark:?} {of:?} {end}")),
        }
    }

    fn unhandled_osc(&mut self, _: &mut vt100::Screen, of: &[&[u8]]) {
        self.obeyed.push(format!("operating system command {of:?}"));
    }
}

impl Seen {
    /// The emulator leaves out the sign for an unreadable character (U+FFFD), which terminals print in one cell; an `¿`
    /// stands for it.
    fn take(&mut self, bytes: &[u8]) {
        const UNREADABLE: &str = "\u{fffd}";
        self.bytes.extend_from_slice(bytes);
        // What may be the beginning of one waits for the rest.
        let is_begun = |n: &usize| self.bytes.ends_with(&UNREADABLE.as_bytes()[..*n]);
        let end = self.bytes.len() - [2, 1, 0].into_iter().find(is_begun).unwrap_or_default();
        let mut rest = &self.bytes[self.n_fed..end];
        while let Some(at) = rest.windows(3).position(|w| w == UNREADABLE.as_bytes()) {
            self.terminal.process(&rest[..at]);
            self.terminal.process("¿".as_bytes());
            rest = &rest[at + 3..];
        }
        self.terminal.process(rest);
        self.n_fed = end;
    }
}

impl Session {
    fn start(command: CommandBuilder, (columns, rows): (u16, u16)) -> Session {
        let size = PtySize { rows, cols: columns, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).unwrap();
        let child = pair.slave.spawn_command(command).unwrap();
        // Only the program holds its side now, so that its end is noticed.
        drop(pair.slave);
        let keyboard: Keyboard = Arc::new(Mutex::new(Some(pair.master.take_writer().unwrap())));
        let seen = Seen {
            terminal: vt100::Parser::new_with_callbacks(cells(rows), cells(columns), 0, Told::default()),
            bytes: Vec::new(),
            n_fed: 0,
            answers: true,
            has_ended: false,
            is_closing: false,
        };
        let seen = Arc::new((Mutex::new(seen), Condvar::new()));
        let output = pair.master.try_clone_reader().unwrap();
        let reader = std::thread::spawn({
            let (seen, keyboard) = (Arc::clone(&seen), Arc::clone(&keyboard));
            move || take_output(output, &seen, &keyboard)
        });
        Session { child, master: pair.master, keyboard, seen, reader: Some(reader) }
    }

    fn see<T>(&self, look: impl FnOnce(&mut Seen) -> T) -> T {
        look(&mut locked(&self.seen.0))
    }

    fn picture(&self) -> Picture {
        self.see(|seen| Picture(seen.terminal.screen().clone()))
    }

    fn n_bytes(&self) -> usize {
        self.see(|seen| seen.bytes.len())
    }

    fn send(&self, keys: impl AsRef<str>) {
        type_on(&self.keyboard, keys.as_ref().as_bytes());
    }

    /// Pastes as a terminal does that was asked to say where a paste begins and ends.
    fn paste(&self, text: &str) {
        assert!(self.picture().0.bracketed_paste());
        self.send(format!("\x1b[200~{text}\x1b[201~"));
    }

    fn resize(&self, (columns, rows): (u16, u16)) {
        self.see(|seen| seen.terminal.set_size(cells(rows), cells(columns)));
        self.master.resize(PtySize { rows, cols: columns, pixel_width: 0, pixel_height: 0 }).unwrap();
    }

    fn pid(&self) -> u32 {
        self.child.process_id().unwrap()
    }

    fn signal(&self, name: &str) {
        let kill = format!("kill -{name} {}", self.pid());
        assert!(std::process::Command::new("sh").args(["-c", &kill]).status().unwrap().success(), "{kill}");
    }

    /// Waits until a whole frame shows something.
    fn wait_for(&self, what: &str, is_there: impl Fn(&Picture) -> bool) -> Picture {
        let start = Instant::now();
        let mut seen = locked(&self.seen.0);
        loop {
            let picture = Picture(seen.terminal.screen().clone());
            if !seen.terminal.callbacks().is_drawing && is_there(&picture) {
                return picture;
            }
            let left = PATIENCE.saturating_sub(start.elapsed());
            let has_ended = seen.has_ended;
            if has_ended || left.is_zero() {
                drop(seen);
                panic!(
                    "{} {what}; the screen:\n{picture}",
                    if has_ended { "the program ended before" } else { "no sign of" }
                );
            }
            seen = self.seen.1.wait_timeout(seen, left).unwrap_or_else(PoisonError::into_inner).0;
        }
    }

    /// Waits for something of which the terminal gets no notice.
    #[cfg(target_os = "linux")]
    fn wait_until(&self, what: &str, is_so: impl Fn(&Session) -> bool) {
        let start = Instant::now();
        while !is_so(self) {
            assert!(start.elapsed() < PATIENCE, "waited in vain: {what}; the screen:\n{}", self.picture());
            std::thread::sleep(Duration::from_millis(2));
        }
    }

    /// Leaves a song that was opened by its name, and waits for the end of the program.
    fn leave(self) -> Ended {
        self.send(ctrl('q'));
        self.end()
    }

    /// Waits for the end of the program.
    fn end(mut self) -> Ended {
        let start = Instant::now();
        let mut seen = locked(&self.seen.0);
        while !seen.has_ended {
            let left = PATIENCE.saturating_sub(start.elapsed());
            let picture = Picture(seen.terminal.screen().clone());
            assert!(!left.is_zero(), "the program goes on; the screen:\n{picture}");
            seen = self.seen.1.wait_timeout(seen, left).unwrap_or_else(PoisonError::into_inner).0;
        }
        drop(seen);
        self.reader.take().unwrap().join().unwrap();
        let status = self.child.wait().unwrap();
        let is_cooked = self.is_cooked();
        self.see(|seen| Ended {
            status,
            picture: Picture(seen.terminal.screen().clone()),
            bytes: std::mem::take(&mut seen.bytes),
            obeyed: std::mem::take(&mut seen.terminal.callbacks_mut().obeyed),
            is_cooked,
        })
    }

    /// Tells whether the terminal edits lines and echoes keys itself, as a shell leaves it.
    fn is_cooked(&self) -> bool {
        // The flags have a type that only the library can name.
        let flags = self.master.get_termios().map(|t| format!("{:?}", t.local_flags)).unwrap_or_default();
        flags.contains("ICANON") && flags.contains("ECHO") && flags.contains("ISIG")
    }

    /// State and processor time of the process, from the system's table; a process that has ended stands there until it
    /// is waited for.
    #[cfg(target_os = "linux")]
    fn stat(&self) -> (char, Duration) {
        let stat = fs::read_to_string(format!("/proc/{}/stat", self.pid())).unwrap();
        // The name in brackets may hold anything; the state is the first field after it, the times are fields 14 and 15
        // (proc(5)).
        let fields: Vec<&str> = stat.rsplit_once(") ").unwrap().1.split(' ').collect();
        let ticks = fields[11].parse::<u64>().unwrap() + fields[12].parse::<u64>().unwrap();
        // A tick is a hundredth of a second on every Linux (from memory).
        (fields[0].chars().next().unwrap(), Duration::from_millis(ticks * 10))
    }

    #[cfg(target_os = "linux")]
    fn state(&self) -> char {
        self.stat().0
    }

    #[cfg(target_os = "linux")]
    fn check_suspended(&self) {
        let is_cooked = self.is_cooked();
        self.see(|seen| check_restored(&Picture(seen.terminal.screen().clone()), &seen.bytes, is_cooked));
    }

    /// Closes the terminal under the program, as when its window is closed; returns how long the program goes on and
    /// how much it works.
    #[cfg(target_os = "linux")]
    fn close_terminal(mut self) -> (Duration, Duration) {
        self.see(|seen| seen.is_closing = true);
        // The library types a line end and ctrl-d when the keyboard is dropped; the frame that follows ends the reader.
        drop(locked(&self.keyboard).take());
        self.reader.take().unwrap().join().unwrap();
        self.wait_until("the process waits for a key", |s| s.state() == 'S');
        let (_, before) = self.stat();
        // Nobody else holds the terminal now: with its place taken by another it is closed.
        self.master = native_pty_system().openpty(PtySize::default()).unwrap().master;
        let start = Instant::now();
        self.wait_until("the process ends", |s| s.state() == 'Z');
        (start.elapsed(), self.stat().1 - before)
    }
}

impl Drop for Session {
    fn drop(&mut self) {
        // Only a test that failed leaves a process here.
        if !matches!(self.child.try_wait(), Ok(Some(_))) {
            let _ = self.child.kill();
            let _ = self.child.wait();
        }
    }
}

fn take_output(mut output: Box<dyn Read + Send>, seen: &(Mutex<Seen>, Condvar), keyboard: &Keyboard) {
    let mut buffer = [0; 4096];
    loop {
        let n_bytes = output.read(&mut buffer).unwrap_or(0);
        let mut now = locked(&seen.0);
        now.take(&buffer[..n_bytes]);
        now.has_ended = n_bytes == 0;
        let n_questions = std::mem::take(&mut now.terminal.callbacks_mut().n_questions);
        let (row, column) = now.terminal.screen().cursor_position();
        let (is_over, answers) = (now.has_ended || now.is_closing, now.answers);
        seen.1.notify_all();
        drop(now);
        if is_over {
            return;
        }
        for _ in 0..if answers { n_questions } else { 0 } {
            type_on(keyboard, format!("\x1b[{};{}R", row + 1, column + 1).as_bytes());
        }
    }
}

fn type_on(keyboard: &Keyboard, bytes: &[u8]) {
    if let Some(keyboard) = locked(keyboard).as_mut() {
        // A program that has ended reads nothing more; the test sees that elsewhere.
        let _ = keyboard.write_all(bytes).and_then(|()| keyboard.flush());
    }
}

/// A test that failed with the lock in hand shall be told about that, not about the lock.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

fn cells(n: u16) -> NonZeroU16 {
    NonZeroU16::new(n).unwrap()
}

/// What is left when the program has ended.
struct Ended {
    status: ExitStatus,
    picture: Picture,
    bytes: Vec<u8>,
    obeyed: Vec<String>,
    is_cooked: bool,
}

impl Ended {
    fn check_left_well(&self) {
        assert!(self.status.success(), "{:?}; the screen:\n{}", self.status, self.picture);
        self.check_terminal_restored();
    }

    fn check_terminal_restored(&self) {
        check_restored(&self.picture, &self.bytes, self.is_cooked);
    }

    /// Nothing of what was shown was a command.
    fn check_nothing_obeyed(&self) {
        assert!(self.obeyed.is_empty(), "{:#?}", self.obeyed);
        let sent = String::from_utf8(self.bytes.clone()).unwrap();
        for payload in PAYLOADS {
            assert!(!sent.contains(payload), "{payload:?} was sent as it is");
        }
        let is_direction = |c: char| matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
        let is_command = |c: char| (c.is_control() && !matches!(c, '\x1b' | '\r' | '\n')) || is_direction(c);
        assert_eq!(sent.chars().find(|c| is_command(*c)), None);
    }
}

/// The screen of the shell is there again, with its cursor, without reports of pastes and mouse, and keys go to the
/// shell as before.
fn check_restored(picture: &Picture, bytes: &[u8], is_cooked: bool) {
    let screen = &picture.0;
    assert!(!screen.alternate_screen() && !screen.hide_cursor() && !screen.bracketed_paste(), "{picture}");
    assert_eq!(screen.mouse_protocol_mode(), vt100::MouseProtocolMode::None);
    assert!(is_cooked, "the terminal is still raw");
    let sent = String::from_utf8_lossy(bytes);
    let last = sent.rsplit("\x1b[?2026l").next().unwrap();
    let tail = &last[last.find("\x1b[?2004l").unwrap_or_else(|| panic!("pasting is not given back: {last:?}"))..];
    assert!(tail.ends_with("\x1b[?1049l\x1b[?25h"), "the last that is sent gives screen and cursor back: {tail:?}");
}

// ------------------------------------------------------------------------------------------------------------- picture

/// The screen at a moment.
struct Picture(vt100::Screen);

impl Picture {
    /// Rows and columns.
    fn size(&self) -> (u16, u16) {
        let (rows, columns) = self.0.size();
        (rows.get(), columns.get())
    }

    /// The letters of a row with the columns in which they begin.
    fn letters(&self, row: u16) -> Vec<(u16, &str)> {
        let cells = (0..self.size().1).filter_map(|column| Some((column, self.0.cell(row, column)?)));
        let letter = |cell: &'_ vt100::Cell| if cell.has_contents() { None } else { Some(" ") };
        cells.filter(|(_, c)| !c.is_wide_continuation()).map(|(n, c)| (n, letter(c).unwrap_or(c.contents()))).collect()
    }

    /// A row without the blanks at its end.
    fn row(&self, row: u16) -> String {
        self.text_from(row, 0, usize::MAX).trim_end().to_owned()
    }

    /// So many letters of a row from a column on.
    fn text_from(&self, row: u16, column: u16, n_letters: usize) -> String {
        let letters = self.letters(row).into_iter().skip_while(|(at, _)| *at < column);
        letters.take(n_letters).map(|(_, letter)| letter).collect()
    }

    fn has(&self, text: &str) -> bool {
        (0..self.size().0).any(|row| self.row(row).contains(text))
    }

    /// The columns at which texts begin that stand in a row one after the other.
    fn columns(&self, row: u16, texts: &[&str]) -> Option<Vec<u16>> {
        let letters = self.letters(row);
        let whole: String = letters.iter().map(|(_, letter)| *letter).collect();
        let mut columns = Vec::new();
        let mut from = 0;
        for text in texts {
            let start = from + whole[from..].find(text)?;
            from = start + text.len();
            let mut byte = 0;
            let is_start = |(_, letter): &&(u16, &str)| {
                byte += letter.len();
                byte > start
            };
            columns.push(letters.iter().find(is_start)?.0);
        }
        Some(columns)
    }

    /// Row and column of a text, the first from above.
    fn place(&self, text: &str) -> (u16, u16) {
        let mut rows = (0..self.size().0).filter_map(|row| Some((row, self.columns(row, &[text])?[0])));
        rows.next().unwrap_or_else(|| panic!("“{text}” is not on the screen:\n{self}"))
    }

    /// The cell so many rows under a word of the sheet. The title row does not count.
    fn below(&self, word: &str, n_rows: u16) -> (u16, u16) {
        let mut rows = (1..self.size().0).filter_map(|row| Some((row, self.columns(row, &[word])?[0])));
        let (row, column) = rows.next().unwrap_or_else(|| panic!("“{word}” is not on the screen:\n{self}"));
        (row + n_rows, column)
    }

    fn cursor(&self) -> (u16, u16) {
        self.0.cursor_position()
    }

    fn is_cursor_hidden(&self) -> bool {
        self.0.hide_cursor()
    }

    fn is_alternate(&self) -> bool {
        self.0.alternate_screen()
    }

    fn is_reversed(&self, row: u16, column: u16) -> bool {
        self.0.cell(row, column).is_some_and(vt100::Cell::inverse)
    }

    fn is_saved(&self) -> bool {
        self.row(0).ends_with("saved") && !self.row(0).contains("not saved")
    }
}

impl fmt::Display for Picture {
    /// Draws the screen in a frame, and tells where the cursor is.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (rows, columns) = self.size();
        writeln!(f, "┌{}┐", "─".repeat(usize::from(columns)))?;
        for row in 0..rows {
            writeln!(f, "│{}", self.row(row))?;
        }
        writeln!(f, "└ cursor at {:?}{}", self.cursor(), if self.is_cursor_hidden() { ", hidden" } else { "" })
    }
}

/// The sequences that set a colour (ECMA-48, Control Functions for Coded Character Sets, 1991, 8.3.117; from memory).
fn colour_sequences(bytes: &[u8]) -> Vec<String> {
    let sent = String::from_utf8_lossy(bytes);
    let mut found = Vec::new();
    for rest in sent.split("\x1b[").skip(1) {
        let (parameters, end) =
            rest.split_at(rest.find(|c: char| !matches!(c, '0'..='9' | ';' | ':')).unwrap_or(rest.len()));
        let is_colour = |p: &str| matches!(p.parse::<u8>(), Ok(30..=49 | 58 | 59 | 90..=107));
        if end.starts_with('m') && parameters.split([';', ':']).any(is_colour) {
            found.push(format!("ESC[{parameters}m"));
        }
    }
    found
}
