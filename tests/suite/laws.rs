//! Laws that hold for any song.
//!
//! Songs, edits and texts come from `strategies`, which favour what a careless program trips over. After the laws of each
//! part stand the cases that once broke one, each under the name of what went wrong.

use crate::strategies::{Step, edit, form, song, step, text, word};
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::{Index, select};
use proptest::test_runner::{RngAlgorithm, TestCaseError};
use pulldown_cmark::{CodeBlockKind, Event, Options as Extensions, Parser, Tag as Markup, TagEnd};
use std::collections::BTreeMap;
use std::path::PathBuf;
use undersong::import::paste;
use undersong::language::{ALL, by_tag_or_plain};
use undersong::lexicon::{Lexicon, Recorded, Sense, fill, learn};
use undersong::sheet::{self, LineBlock, Options, Paper, Part, Row, Sheet, compose};
use undersong::song::{
    Annotation, Bars, Cell, Detail, Edit, History, Line, LineAt, Note, Section, Song, Style, Tag, Word, WordAt, apply,
    keep_annotations,
};
use undersong::store::{LexiconFolder, Notice, Paths, SongFile, read_song, song_to_yaml};
use undersong::text::clean::{self, is_storable};
use undersong::text::cluster::width;
use undersong::text::fold::comparison_key;

/// As many cases as the run time allows; `PROPTEST_CASES` asks for more.
fn cases(n: u32) -> ProptestConfig {
    let default = ProptestConfig::default();
    let asked = std::env::var_os("PROPTEST_CASES").map(|_| default.cases);
    ProptestConfig {
        cases: asked.unwrap_or(n),
        // Unoptimised, the usual source of random numbers takes longer than all that is tested.
        rng_algorithm: RngAlgorithm::XorShift,
        max_shrink_iters: 2_000,
        // What went wrong once becomes a test with a name.
        failure_persistence: None,
        ..default
    }
}

type Checked = Result<(), TestCaseError>;

fn failed(what: impl std::fmt::Display) -> TestCaseError {
    TestCaseError::fail(what.to_string())
}

/// A song of one section with a line for each text; words are parted at spaces.
fn song_of(lines: &[&str]) -> Song {
    let words = |text: &str| text.split(' ').map(Word::new).collect();
    song_of_lines(lines.iter().map(|text| Line { words: words(text), ..Line::default() }).collect())
}

fn song_of_lines(lines: Vec<Line>) -> Song {
    Song { sections: vec![Section { lines, ..Section::default() }], ..Song::default() }
}

fn song_of_words(words: Vec<Word>) -> Song {
    song_of_lines(vec![Line { words, ..Line::default() }])
}

/// A line with one word, to which something else is added.
fn notte() -> Line {
    Line { words: vec![Word::new("notte")], ..Line::default() }
}

fn settled(form: &str, gloss: &str) -> Word {
    Word { gloss: Cell::Settled(gloss.into()), ..Word::new(form) }
}

/// A song in which the first word was given a cell by an edit.
fn with_cell(row: Annotation, text: &str) -> Song {
    let mut song = song_of(&["notte sol"]);
    apply(&mut song, &Edit::settle(word_at(0), row, text)).unwrap();
    song
}

fn word_at(word: usize) -> WordAt {
    WordAt { word, ..WordAt::default() }
}

// Edits and their inverses.

proptest! {
    #![proptest_config(cases(400))]

    #[test]
    fn an_edit_taken_back_was_never_made(song in song(), edit in edit()) {
        check_edit(&song, &edit)?;
    }

    #[test]
    fn a_history_leads_back_and_forth(song in song(), steps in vec(step(), 0..16)) {
        check_history(&song, steps)?;
    }
}

/// Makes an edit, takes it back, and takes that back; or finds the song as it was if it is refused.
fn check_edit(song: &Song, edit: &Edit) -> Checked {
    let mut changed = song.clone();
    let inverse = match apply(&mut changed, edit) {
        Ok(inverse) => inverse,
        Err(refused) => {
            prop_assert_eq!(&changed, song);
            prop_assert!(!refused.to_string().is_empty());
            return Ok(());
        }
    };
    let after = changed.clone();
    let again = apply(&mut changed, &inverse).map_err(|refused| failed(format!("{inverse:?}: {refused}")))?;
    prop_assert_eq!(&changed, song);
    apply(&mut changed, &again).map_err(|refused| failed(format!("{again:?}: {refused}")))?;
    prop_assert_eq!(changed, after);
    Ok(())
}

/// What a history should know, told in the plainest way: the steps in force, those taken back, those in force at the last
/// save and the song of that moment.
struct Story {
    in_force: Vec<usize>,
    taken_back: Vec<usize>,
    saved: (Vec<usize>, Song),
}

fn check_history(start: &Song, steps: Vec<Step>) -> Checked {
    let (mut song, mut copy) = (start.clone(), start.clone());
    let mut history = History::at_saved_song();
    let mut story = Story { in_force: Vec::new(), taken_back: Vec::new(), saved: (Vec::new(), start.clone()) };
    for (number, step) in steps.into_iter().enumerate() {
        let (expected, moved) = match step {
            Step::Make(edit) => {
                let before = song.clone();
                if history.make(&mut song, edit.clone(), Some(word_at(number))).is_ok() {
                    apply(&mut copy, &edit).unwrap();
                    story.in_force.push(number);
                    story.taken_back.clear();
                } else {
                    prop_assert_eq!(&song, &before);
                }
                (None, None)
            }
            Step::Undo => {
                let expected = story.in_force.pop();
                story.taken_back.extend(expected);
                (expected, history.undo(&mut song))
            }
            Step::Redo => {
                let expected = story.taken_back.pop();
                story.in_force.extend(expected);
                (expected, history.redo(&mut song))
            }
            Step::Save => {
                history.mark_saved();
                story.saved = (story.in_force.clone(), song.clone());
                (None, None)
            }
        };
        prop_assert_eq!(moved.as_ref().and_then(|m| m.place), expected.map(word_at));
        if let Some(moved) = moved {
            apply(&mut copy, &moved.edit).map_err(failed)?;
        }
        prop_assert_eq!(&copy, &song, "the journal would lead elsewhere");
        prop_assert_eq!(history.is_changed(), story.saved.0 != story.in_force);
        prop_assert!(history.is_changed() || story.saved.1 == song);
    }
    while history.redo(&mut song).is_some() {}
    let end = song.clone();
    while history.undo(&mut song).is_some() {}
    prop_assert_eq!(&song, start);
    while history.redo(&mut song).is_some() {}
    prop_assert_eq!(song, end);
    Ok(())
}

#[test]
fn the_oldest_steps_are_forgotten_first() {
    let (mut song, mut history) = (Song::default(), History::at_saved_song());
    for n in 1..=History::LIMIT + 2 {
        history.make(&mut song, Edit::SetDetail { detail: Detail::Title, text: n.to_string() }, None).unwrap();
    }
    let n_undone = std::iter::from_fn(|| history.undo(&mut song)).count();
    assert_eq!((n_undone, song.details.title.as_str()), (History::LIMIT, "2"));
    assert!(history.is_changed(), "the saved song can no longer be reached");
}

/// A word and an accent that stands as a word of its own, joined.
fn joined_accent() -> (Song, Edit) {
    let e = Word { is_joined: true, ..Word::new("e") };
    (song_of_words(vec![e, Word::new("\u{301}")]), Edit::JoinWords { at: word_at(0), count: 2 })
}

#[test]
fn joined_words_are_in_normal_form() {
    let (mut song, join) = joined_accent();
    apply(&mut song, &join).unwrap();
    assert!(is_storable(&song.word(word_at(0)).unwrap().form));
}

#[test]
fn joined_words_that_were_taken_out_can_be_put_back() {
    let (mut song, join) = joined_accent();
    apply(&mut song, &join).unwrap();
    check_edit(&song, &Edit::RemoveLine { at: LineAt::default() }).unwrap();
}

#[test]
fn a_blank_tag_is_no_tag() {
    assert_eq!(with_cell(Annotation::Tag, " "), song_of(&["notte sol"]));
}

#[test]
fn a_cell_without_text_is_blank_or_refused() {
    let empty = Cell::Settled(String::new());
    let words = [
        Word { gloss: empty, ..Word::new("notte") },
        Word { tag: Cell::Draft(Tag::Free(String::new())), ..Word::new("notte") },
    ];
    for word in words {
        let mut song = song_of(&["sol"]);
        let is_accepted =
            apply(&mut song, &Edit::ReplaceWords { at: word_at(0), remove: 1, words: vec![word] }).is_ok();
        assert_eq!(song, song_of(&[if is_accepted { "notte" } else { "sol" }]));
    }
}

#[test]
fn there_is_nothing_after_the_last_section_that_can_be_counted() {
    check_edit(&song_of(&["notte"]), &Edit::JoinSections { section: usize::MAX }).unwrap();
}

#[test]
fn a_place_beyond_all_numbers_can_be_told() {
    let at = LineAt { section: usize::MAX, line: usize::MAX };
    for edit in [
        Edit::RemoveNote { note: usize::MAX },
        Edit::RemoveSection { section: usize::MAX },
        Edit::RemoveLine { at },
        Edit::SetAsk { at: word_at(usize::MAX), ask: true },
    ] {
        check_edit(&song_of(&["notte"]), &edit).unwrap();
    }
}

// Files.

/// A folder with a song file in it.
struct Desk {
    _folder: tempfile::TempDir,
    path: PathBuf,
}

impl Desk {
    fn with(content: &str) -> Desk {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("song.yaml");
        std::fs::write(&path, content).unwrap();
        Desk { _folder: folder, path }
    }

    fn content(&self) -> String {
        std::fs::read_to_string(&self.path).unwrap()
    }

    fn read(&self) -> Result<Song, TestCaseError> {
        let read = read_song(&self.path).map_err(|e| failed(format!("{e}, at {:?}\n{}", e.place(), self.content())));
        Ok(read?.0)
    }

    /// Opens the song; that its language may not be known is no news here.
    fn open(&self) -> (SongFile, Vec<Notice>) {
        let (file, mut notices) = SongFile::open(&self.path).unwrap();
        notices.retain(|notice| !matches!(notice, Notice::UnknownLanguage(_)));
        (file, notices)
    }
}

proptest! {
    #![proptest_config(cases(300))]

    #[test]
    fn a_song_is_read_as_it_was_written(mut song in song(), edits in vec(edit(), 0..4)) {
        for edit in edits {
            let _ = apply(&mut song, &edit);
        }
        check_file(&song)?;
    }
}

proptest! {
    #![proptest_config(cases(40))]

    #[test]
    fn what_was_confirmed_survives_a_crash(song in song(), steps in vec(step(), 1..8)) {
        check_recovery(&song, steps)?;
    }

    #[test]
    fn a_head_comment_survives_a_save(song in song(), lines in vec(text(), 0..4), edit in edit()) {
        // YAML 1.2.2, production 1: these two are no characters of a YAML file, and a comment cannot escape them.
        let printable = |line: &String| line.replace(['\u{fffe}', '\u{ffff}'], "");
        let comment: String = lines.iter().map(|line| format!("# {}\n", printable(line))).collect();
        check_comment(&comment, &song, edit)?;
    }
}

fn check_file(song: &Song) -> Checked {
    let yaml = song_to_yaml(song);
    let read = Desk::with(&yaml).read()?;
    prop_assert_eq!(&read, song, "{}", yaml);
    prop_assert_eq!(song_to_yaml(&read), yaml);
    Ok(())
}

/// Makes edits, ends without saving, and finds them again: looking at the song, opening it, and opening it once more.
fn check_recovery(song: &Song, steps: Vec<Step>) -> Checked {
    let desk = Desk::with(&song_to_yaml(song));
    let (mut file, _) = desk.open();
    let mut n_recorded = 0;
    for step in steps {
        n_recorded += match step {
            Step::Make(edit) => usize::from(file.make(edit, None).is_ok()),
            Step::Undo => usize::from(file.undo().unwrap().is_some()),
            Step::Redo => usize::from(file.redo().unwrap().is_some()),
            // Not in this law: nothing is saved before the crash.
            Step::Save => 0,
        };
    }
    let worked_on = file.song().clone();
    drop(file);
    prop_assert_eq!(&desk.read()?, &worked_on);
    let (file, notices) = desk.open();
    let expected = (n_recorded > 0).then_some(Notice::Recovered(n_recorded));
    prop_assert_eq!(notices, Vec::from_iter(expected));
    prop_assert_eq!(file.song(), &worked_on);
    drop(file);
    let (file, notices) = desk.open();
    prop_assert_eq!(notices, Vec::new());
    prop_assert_eq!(file.song(), &worked_on, "{}", desk.content());
    Ok(())
}

fn check_comment(comment: &str, song: &Song, edit: Edit) -> Checked {
    let desk = Desk::with(&format!("{comment}{}", song_to_yaml(song)));
    let (mut file, _) = desk.open();
    let is_accepted = file.make(edit, None).is_ok();
    prop_assert_eq!(file.is_changed(), is_accepted);
    file.save().unwrap();
    prop_assert!(!file.is_changed());
    prop_assert_eq!(desk.content(), format!("{comment}{}", song_to_yaml(file.song())));
    prop_assert_eq!(&desk.read()?, file.song());
    Ok(())
}

#[test]
fn a_head_comment_may_have_blank_lines_and_foreign_line_ends() {
    let edit = || Edit::SetDetail { detail: Detail::Title, text: "Notte".into() };
    for comment in ["# one\n\n# two\n\n", "#\r\n# two\r\n", "#no space\n", "# ’l cor: {é} \u{2028}\n"] {
        check_comment(comment, &song_of(&["notte"]), edit()).unwrap();
    }
}

#[test]
fn tags_with_several_persons_or_numbers_come_back() {
    for tag in ["VERB.3SG.PL", "PRON.1.3SG", "1.SG.PL", "POSS.1SG.3PL"] {
        check_file(&with_cell(Annotation::Tag, tag)).unwrap();
    }
}

#[test]
fn a_blank_tag_in_a_file_is_no_tag() {
    let song = Desk::with("sections:\n- lines:\n  - words:\n    - {word: notte, tag: ' '}\n").read().unwrap();
    assert_eq!(song, song_of(&["notte"]));
}

// The lexicon.

proptest! {
    #![proptest_config(cases(120))]

    #[test]
    fn learning_twice_is_learning_once(songs in vec(song(), 1..4)) {
        let mut once = Lexicon::new("it", "en");
        for song in songs {
            learn(&mut once, &song);
            let mut twice = once.clone();
            prop_assert!(!learn(&mut twice, &song).is_changed);
            prop_assert_eq!(&twice, &once);
        }
    }

    #[test]
    fn the_order_of_learning_does_not_matter(songs in vec(song(), 2..5), order in vec(any::<u32>(), 5)) {
        let songs = named_apart(songs);
        let mut shuffled: Vec<(&u32, &Song)> = order.iter().zip(&songs).collect();
        shuffled.sort_by_key(|(rank, _)| **rank);
        let (one, other) = (learnt_from(&songs), learnt_from(shuffled.into_iter().map(|(_, song)| song)));
        prop_assert_eq!(counts(&one), counts(&other));
    }

    #[test]
    fn a_lexicon_is_read_as_it_was_written(songs in vec(song(), 1..4), added in vec((form(), form()), 0..3)) {
        let mut lexicon = learnt_from(&songs);
        for (form, gloss) in added {
            lexicon.add(&form, Sense::new(gloss));
        }
        check_lexicon(lexicon)?;
    }
}

/// Gives each song a key of its own, as the program gives each song an id.
fn named_apart(songs: Vec<Song>) -> Vec<Song> {
    songs.into_iter().enumerate().map(|(n, song)| Song { id: format!("{}{n}", song.id), ..song }).collect()
}

fn learnt_from<'a>(songs: impl IntoIterator<Item = &'a Song>) -> Lexicon {
    let mut lexicon = Lexicon::new("it", "en");
    for song in songs {
        learn(&mut lexicon, song);
    }
    lexicon
}

/// The senses of every form with their counts by song, whatever order they were recorded in.
fn counts(lexicon: &Lexicon) -> BTreeMap<(&str, &Sense), &BTreeMap<String, u32>> {
    let senses = lexicon.entries().flat_map(|(form, entry)| entry.senses.iter().map(move |r| (form, r)));
    senses.map(|(form, r)| ((form, &r.sense), &r.songs)).collect()
}

fn check_lexicon(lexicon: Lexicon) -> Checked {
    let folder = tempfile::tempdir().unwrap();
    let paths = Paths { config: folder.path().join("config"), data: folder.path().join("data") };
    let lexica = LexiconFolder::for_songs_in(folder.path(), &paths);
    let (language, gloss_language) = (lexicon.language().to_owned(), lexicon.gloss_language().to_owned());
    let mut guard = lexica.open(&language, &gloss_language).unwrap();
    guard.lexicon = lexicon;
    guard.save().unwrap();
    let yaml = std::fs::read_to_string(lexica.file(&language, &gloss_language)).unwrap();
    let read = lexica.read(&language, &gloss_language);
    let read = read.map_err(|e| failed(format!("{e}, at {:?}\n{yaml}", e.place())))?;
    let content = |lexicon: &Lexicon| -> Vec<(String, Vec<Recorded>)> {
        lexicon.entries().map(|(form, entry)| (form.to_owned(), entry.senses.clone())).collect()
    };
    prop_assert_eq!(content(&read), content(&guard.lexicon), "{}", yaml);
    prop_assert_eq!((read.language(), read.gloss_language()), (&*language, &*gloss_language));
    Ok(())
}

#[test]
fn a_blank_gloss_does_not_make_the_lexicon_unreadable() {
    check_lexicon(learnt_from([&with_cell(Annotation::Gloss, " ")])).unwrap();
}

#[test]
fn a_gloss_with_spaces_around_it_is_the_same_sense_after_a_save() {
    check_lexicon(learnt_from([&with_cell(Annotation::Gloss, " night ")])).unwrap();
}

#[test]
fn the_lexicon_of_songs_that_name_no_language_can_be_read() {
    let mut lexicon = Lexicon::new("", "");
    learn(&mut lexicon, &song_of_words(vec![settled("notte", "night")]));
    check_lexicon(lexicon).unwrap();
}

// Filling.

proptest! {
    #![proptest_config(cases(250))]

    #[test]
    fn filling_leaves_what_is_settled_and_is_done_once(song in song(), others in vec(song(), 0..3)) {
        check_fill(&song, &learnt_from(&named_apart(others)))?;
    }
}

fn check_fill(song: &Song, lexicon: &Lexicon) -> Checked {
    let done = fill(song, lexicon);
    let mut filled = song.clone();
    if let Some(edit) = &done.edit {
        apply(&mut filled, edit).map_err(failed)?;
    }
    let again = fill(&filled, lexicon);
    prop_assert_eq!(again.edit, None);
    let rows_of = |word: &Word| Annotation::ALL.map(|row| word.annotation(row));
    let mut unknown: Vec<&str> = Vec::new();
    for ((at, before), (_, after)) in song.words().zip(filled.words()) {
        let Word { sound, gloss, tag, lemma, .. } = after.clone();
        prop_assert_eq!(after, &Word { sound, gloss, tag, lemma, ..before.clone() }, "more than cells was changed");
        for (old, new) in rows_of(before).into_iter().zip(rows_of(after)) {
            prop_assert!(old == new || (!old.is_settled() && matches!(new, Cell::Draft(_))), "{}: {:?}", at, after);
        }
        // Whoever has a namesake in the song that says nothing against what is settled here, has a gloss.
        let is_known = song.words().any(|(_, namesake)| {
            let mut pairs = rows_of(namesake).into_iter().zip(rows_of(before));
            namesake.gloss.is_settled()
                && comparison_key(&namesake.form) == comparison_key(&before.form)
                && pairs.all(|(theirs, own)| !theirs.is_settled() || !own.is_settled() || theirs == own)
        });
        prop_assert!(!is_known || !before.is_glossable() || !after.gloss.is_blank(), "{}: {:?}", at, after);
        if before.is_glossable() && after.gloss.is_blank() && !unknown.contains(&&*before.form) {
            unknown.push(&before.form);
        }
    }
    prop_assert_eq!(done.unknown, unknown);
    Ok(())
}

// Sheets of text.

fn options() -> impl Strategy<Value = Options> {
    let style = select(&[Style::Short, Style::Plain, Style::Words][..]);
    let rows = select(vec![Row::ALL.to_vec(), vec![Row::Gloss, Row::Word], vec![Row::Word]]);
    (rows, style).prop_map(|(rows, tag_style)| Options { rows, tag_style })
}

fn paper() -> impl Strategy<Value = Paper> {
    (20usize..=100, 0usize..80).prop_map(|(width, length)| Paper { width, length: Some(length).filter(|n| *n > 0) })
}

fn printed(song: &Song, options: &Options, paper: Paper) -> String {
    sheet::text(&compose(song, options), paper)
}

proptest! {
    #![proptest_config(cases(200))]

    #[test]
    fn no_line_is_wider_than_the_page(song in song(), options in options(), paper in paper()) {
        check_width(&printed(&song, &options, paper), paper.width)?;
    }

    #[test]
    fn no_page_is_longer_than_the_paper(song in song(), options in options(), paper in paper()) {
        check_pages(&printed(&song, &options, paper), paper)?;
    }

    #[test]
    fn every_word_stands_on_the_sheet_in_order(song in song(), options in options(), paper in paper()) {
        let sheet = compose(&song, &options);
        // The margin takes a third of the page at most, the hanging indent four cells.
        if is_at_most(&sheet, paper.width * 2 / 3 - 4) {
            check_order(&sheet::text(&sheet, paper), lines_of(&sheet).flat_map(|line| words_of(line, &sheet.rows)))?;
        }
    }

    #[test]
    fn cutting_loses_no_letter(song in song(), width in 20usize..50) {
        // Of a song of nothing but words, every letter on the sheet is one of theirs.
        let lines = song.lines().map(|(_, line)| Line { words: bare(&line.words), ..Line::default() });
        let sheet = compose(&song_of_lines(lines.collect()), &Options { rows: vec![Row::Word], ..Options::default() });
        let printed = sheet::text(&sheet, Paper { width, length: None });
        let written: String = lines_of(&sheet).flat_map(|line| words_of(line, &sheet.rows)).collect();
        prop_assert_eq!(squeezed(&printed), squeezed(&written));
    }

    #[test]
    fn fenced_text_fits_and_holds_every_word(song in song(), options in options(), width in 20usize..=100) {
        check_fences(&compose(&song, &options), width)?;
    }
}

fn check_fences(sheet: &Sheet, width: usize) -> Checked {
    let fences = fenced(&sheet::aligned(sheet, width));
    let lines: Vec<&LineBlock> = lines_of(sheet).filter(|line| !line.columns.is_empty()).collect();
    prop_assert_eq!(fences.len(), lines.len());
    for (fence, line) in fences.iter().zip(lines) {
        check_width(fence, width)?;
        prop_assert_eq!(fence.find('\u{c}'), None);
        if is_at_most(sheet, width - 4) {
            check_order(fence, words_of(line, &sheet.rows))?;
        }
    }
    Ok(())
}

/// No line is too wide, and nothing is there that a terminal or printer obeys but ends of lines and pages.
fn check_width(printed: &str, page_width: usize) -> Checked {
    for line in printed.split(['\n', '\u{c}']) {
        prop_assert!(width(line) <= page_width, "{} > {}: {:?}", width(line), page_width, line);
        prop_assert!(!line.contains(char::is_control), "{:?}", line);
    }
    Ok(())
}

/// A form feed stands only between two pages, and no page has more lines than the paper.
fn check_pages(printed: &str, paper: Paper) -> Checked {
    let pages: Vec<&str> = printed.split('\u{c}').collect();
    let Some(length) = paper.length else {
        prop_assert_eq!(pages.len(), 1, "an endless page does not end");
        return Ok(());
    };
    for page in pages.iter().filter(|_| !printed.is_empty()) {
        let n_lines = page.lines().count();
        prop_assert!(n_lines > 2 || pages.len() == 1, "a page with nothing but its header: {:?}", printed);
        prop_assert!(page.ends_with('\n'), "a page ends within a line: {:?}", page);
        prop_assert!(n_lines <= length.max(Paper::MIN_LENGTH), "{} > {}:\n{}", n_lines, length, page);
    }
    Ok(())
}

/// Every word stands in the text, each after the one before it.
fn check_order<'a>(printed: &str, words: impl Iterator<Item = &'a str>) -> Checked {
    let mut from = 0;
    for word in words.map(|word| word.trim_end_matches(' ')) {
        let at = printed[from..].find(word);
        let at = at.ok_or_else(|| failed(format!("{word:?} is missing after byte {from} of {printed:?}")))?;
        from += at + word.len();
    }
    Ok(())
}

/// Tells whether no cell is wider, so that none may be cut.
fn is_at_most(sheet: &Sheet, cells: usize) -> bool {
    lines_of(sheet).flat_map(|line| &line.columns).flat_map(|c| &c.cells).all(|cell| width(&cell.text) <= cells)
}

fn lines_of(sheet: &Sheet) -> impl Iterator<Item = &LineBlock> {
    sheet.parts.iter().filter_map(|part| match part {
        Part::Line(line) => Some(line),
        Part::Heading { .. } => None,
    })
}

/// The row of words of a line, as composed.
fn words_of<'a>(line: &'a LineBlock, rows: &[Row]) -> impl Iterator<Item = &'a str> {
    let row = word_row(rows);
    line.columns.iter().map(move |column| column.cells[row].text.as_str())
}

fn word_row(rows: &[Row]) -> usize {
    rows.iter().position(|row| *row == Row::Word).expect("every sheet here shows the words")
}

/// Text without white space, for comparing letters only.
fn squeezed(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

#[test]
fn the_longest_bar_numbers_fit_the_narrowest_page() {
    let song = song_of_lines(vec![Line { bars: Bars::new(u32::MAX - 1, u32::MAX), ..notte() }]);
    check_width(&printed(&song, &Options::default(), Paper { width: 20, length: None }), 20).unwrap();
}

#[test]
fn a_translation_longer_than_a_page_is_parted() {
    let song = song_of_lines(vec![Line { translation: "the night ".repeat(40), ..notte() }]);
    let paper = Paper { width: 20, length: Some(10) };
    check_pages(&printed(&song, &Options::default(), paper), paper).unwrap();
}

#[test]
fn a_line_with_nothing_in_it_takes_no_page() {
    // Under its word the translation takes seven lines, so that each of the two full lines fills its page.
    let full = || Line { translation: ["night"; 21].join(" "), ..notte() };
    let paper = Paper { width: 20, length: Some(10) };
    let song = song_of_lines(vec![full(), Line::default(), full()]);
    check_pages(&printed(&song, &Options::default(), paper), paper).unwrap();
}

#[test]
fn backquotes_do_not_end_the_fence() {
    check_fences(&compose(&song_of(&["``` ````", "notte"]), &Options::default()), 40).unwrap();
    check_fences(&compose(&song_of(&["`````"]), &Options::default()), 40).unwrap();
}

// Sheets in Markdown, read by a parser of CommonMark 0.31 with the extensions of GitHub Flavored Markdown 0.29.

proptest! {
    #![proptest_config(cases(250))]

    #[test]
    fn tables_hold_the_cells_of_the_sheet(song in song(), options in options()) {
        check_tables(&song, &options)?;
    }

    #[test]
    fn translations_are_plain_paragraphs(song in song()) {
        check_translations(&song)?;
    }

    #[test]
    fn no_text_of_a_song_is_taken_for_markup(song in song(), options in options()) {
        check_markup(&song, &options)?;
    }
}

fn check_tables(song: &Song, options: &Options) -> Checked {
    let sheet = compose(song, options);
    let markdown = sheet::markdown(&sheet);
    prop_assert_eq!(full_rows(tables(&markdown)), full_rows(expected_tables(&sheet)), "{}", markdown);
    Ok(())
}

fn check_translations(song: &Song) -> Checked {
    let sheet = compose(song, &Options::default());
    let markdown = sheet::markdown(&sheet);
    let full = |text: &str| Some(text.trim().to_owned()).filter(|text| !text.is_empty());
    let printed: Vec<String> = quotations(&markdown).iter().filter_map(|text| full(text)).collect();
    let expected: Vec<String> = lines_of(&sheet).filter_map(|line| full(&line.translation)).collect();
    prop_assert_eq!(printed, expected, "{}", markdown);
    Ok(())
}

/// Read by a parser, the document says what the sheet says, in its order and with nothing besides.
fn check_markup(song: &Song, options: &Options) -> Checked {
    let sheet = compose(song, options);
    let markdown = sheet::markdown(&sheet);
    let mut said = String::new();
    for event in events(&markdown) {
        match event {
            Event::Text(text) => said.push_str(&text),
            Event::SoftBreak | Event::HardBreak | Event::Rule | Event::Start(_) | Event::End(_) => {}
            other => return Err(failed(format!("{other:?} in\n{markdown}"))),
        }
    }
    prop_assert_eq!(squeezed(&said), squeezed(&expected_texts(&sheet).concat()), "{}", markdown);
    Ok(())
}

/// All that a sheet says, in order.
fn expected_texts(sheet: &Sheet) -> Vec<String> {
    let labelled = |label: &str, text: &str| if text.is_empty() { String::new() } else { format!("{label} {text}") };
    let mut texts = vec![sheet.title.clone(), sheet.translated_title.clone()];
    let credits: Vec<String> = sheet.credits.iter().map(|(label, text)| format!("{label}: {text}")).collect();
    texts.push(credits.join(" · "));
    texts.extend(sheet.notes.iter().map(|(prompt, answer)| format!("{prompt} {answer}")));
    let mut tables = expected_tables(sheet).into_iter();
    for part in &sheet.parts {
        match part {
            Part::Heading { heading, speaker } => texts.extend([heading.clone(), speaker.clone()]),
            Part::Line(line) => {
                texts.extend((!line.direction.is_empty()).then(|| format!("({})", line.direction)));
                texts.push(labelled("cue:", &line.cue));
                // Without words there is no table in which the bars could stand.
                texts.extend(line.columns.is_empty().then(|| line.bars.clone()));
                texts.extend(tables.next().into_iter().flatten().flatten());
                texts.push(line.translation.clone());
                texts.push(labelled("intention:", &line.intention));
            }
        }
    }
    texts.extend(sheet.remarks.iter().map(|remark| format!("{} {}", remark.form, remark.note)));
    texts.extend(sheet.legend.iter().map(|text| text.to_string()));
    texts
}

/// The table that should stand for each line: bars and words, then each other row that says something, under its name.
fn expected_tables(sheet: &Sheet) -> Vec<Vec<Vec<String>>> {
    let words = word_row(&sheet.rows);
    let table = |line: &LineBlock| {
        let row = |label: &str, idx: usize| {
            let texts = line.columns.iter().map(|column| column.cells[idx].text.clone());
            std::iter::once(label.to_owned()).chain(texts).collect::<Vec<_>>()
        };
        let others = (0..sheet.rows.len()).filter(|idx| *idx != words).map(|idx| row(sheet.rows[idx].name(), idx));
        let others = others.filter(|row| row[1..].iter().any(|text| !text.is_empty()));
        let is_table = !line.columns.is_empty();
        std::iter::once(row(&line.bars, words)).chain(others).filter(|_| is_table).collect()
    };
    lines_of(sheet).map(table).collect()
}

/// Tables without white space around the cells and without tables and rows that have no text.
fn full_rows(tables: Vec<Vec<Vec<String>>>) -> Vec<Vec<Vec<String>>> {
    let trimmed = |row: Vec<String>| row.iter().map(|cell| cell.trim().to_owned()).collect::<Vec<_>>();
    let is_full = |row: &Vec<String>| row[1..].iter().any(|text| !text.is_empty());
    let tables = tables.into_iter().map(|table| table.into_iter().map(trimmed).filter(is_full).collect::<Vec<_>>());
    tables.filter(|table| !table.is_empty()).collect()
}

fn events(markdown: &str) -> impl Iterator<Item = Event<'_>> {
    let extensions = Extensions::ENABLE_TABLES
        | Extensions::ENABLE_STRIKETHROUGH
        | Extensions::ENABLE_TASKLISTS
        | Extensions::ENABLE_FOOTNOTES
        | Extensions::ENABLE_GFM;
    Parser::new_ext(markdown, extensions)
}

/// The tables of a document, row by row, cell by cell.
fn tables(markdown: &str) -> Vec<Vec<Vec<String>>> {
    let mut tables: Vec<Vec<Vec<String>>> = Vec::new();
    let mut cell: Option<String> = None;
    for event in events(markdown) {
        let row = tables.last_mut().and_then(|table| table.last_mut());
        match event {
            Event::Start(Markup::Table(_)) => tables.push(Vec::new()),
            Event::Start(Markup::TableHead | Markup::TableRow) => tables.last_mut().unwrap().push(Vec::new()),
            Event::Start(Markup::TableCell) => cell = Some(String::new()),
            Event::End(TagEnd::TableCell) => row.unwrap().extend(cell.take()),
            Event::Text(text) => cell.iter_mut().for_each(|cell| cell.push_str(&text)),
            _ => {}
        }
    }
    tables
}

/// The texts of the quotations of a document; one that is more than a paragraph of text shows its markup.
fn quotations(markdown: &str) -> Vec<String> {
    let mut quotations = Vec::new();
    let mut current: Option<String> = None;
    for event in events(markdown) {
        match (event, &mut current) {
            (Event::End(TagEnd::BlockQuote(_)), _) => quotations.extend(current.take()),
            (Event::Text(text), Some(quotation)) => quotation.push_str(&text),
            (Event::Start(Markup::Paragraph) | Event::End(TagEnd::Paragraph), _) => {}
            (other, Some(quotation)) => quotation.push_str(&format!("{other:?}")),
            (Event::Start(Markup::BlockQuote(_)), None) => current = Some(String::new()),
            _ => {}
        }
    }
    quotations
}

/// The texts of the fenced code blocks of a document.
fn fenced(markdown: &str) -> Vec<String> {
    let mut fences = Vec::new();
    let mut current: Option<String> = None;
    for event in events(markdown) {
        match event {
            Event::Start(Markup::CodeBlock(CodeBlockKind::Fenced(_))) => current = Some(String::new()),
            Event::Text(text) => current.iter_mut().for_each(|fence| fence.push_str(&text)),
            Event::End(TagEnd::CodeBlock) => fences.extend(current.take()),
            _ => {}
        }
    }
    fences
}

fn check_markup_of(song: Song) {
    check_markup(&song, &Options::default()).unwrap();
}

#[test]
fn a_translation_that_begins_with_spaces_is_no_code() {
    check_translations(&song_of_lines(vec![Line { translation: "    *so*".into(), ..notte() }])).unwrap();
}

#[test]
fn a_number_sign_at_the_end_of_a_title_is_printed() {
    let mut song = song_of(&["notte"]);
    song.details.title = "Notte in do #".into();
    check_markup_of(song);
}

#[test]
fn a_translated_title_that_begins_with_a_space_is_no_list() {
    let mut song = song_of(&["notte"]);
    song.details.translated_title = " Night".into();
    check_markup_of(song);
}

#[test]
fn a_speaker_with_a_space_after_the_name_has_no_stars() {
    let mut song = song_of(&["notte"]);
    song.sections[0].speaker = "LIVIA ".into();
    check_markup_of(song);
}

#[test]
fn a_prompt_of_nothing_but_a_space_has_no_stars() {
    let mut song = song_of(&["notte"]);
    song.notes = vec![Note { prompt: " ".into(), text: "Livia".into() }];
    check_markup_of(song);
}

#[test]
fn a_remark_with_a_blank_line_does_not_swallow_the_next() {
    let noted = |note: &str| Word { note: note.into(), ..Word::new("notte") };
    check_markup_of(song_of_words(vec![noted("one\n\nand more"), noted("two")]));
}

// Changing the text of a line.

/// Forms that are easily taken for one another.
const ALIKE: [&str; 10] = ["la", "La", "là", "LÀ", "e", "è", "é", "notte", "notti", "Notte"];

/// Forms all of which resemble some of the others, or any forms.
fn forms() -> impl Strategy<Value = Vec<String>> {
    let alike = vec(select(&ALIKE[..]).prop_map(str::to_owned), 0..8);
    prop_oneof![alike, vec(form(), 0..8)]
}

proptest! {
    #![proptest_config(cases(400))]

    #[test]
    fn words_that_stay_keep_their_glosses(
        old in forms(),
        is_kept in vec(any::<bool>(), 8),
        new in forms(),
        places in vec(any::<Index>(), 8),
    ) {
        // A second word of the same form cannot be told from the one that stays.
        let new = new.iter().filter(|form| !old.contains(form)).map(Word::new);
        check_kept(&glossed(&old), &is_kept, places.into_iter().zip(new).collect())?;
    }

    #[test]
    fn inserting_words_loses_no_annotation(old in vec(word(), 0..7), new in forms(), places in vec(any::<Index>(), 8)) {
        let new = places.into_iter().zip(new.iter().map(Word::new)).collect();
        let (new, _) = changed(bare(&old), &[], new);
        let kept = keep_annotations(&old, &new);
        // Every word of the old text is found again in the new, with all that stood under it, in the old order.
        let mut rest = kept.iter();
        for word in &old {
            prop_assert!(rest.any(|w| unpunctuated(w) == unpunctuated(word)), "{:?} of {:?}", word, kept);
        }
        prop_assert_eq!(bare(&kept), bare(&new), "the text is the new one");
    }

    #[test]
    fn removing_words_leaves_the_others_annotated(old in vec(word(), 0..7), is_kept in vec(any::<bool>(), 7)) {
        let (new, _) = changed(bare(&old), &is_kept, Vec::new());
        for word in keep_annotations(&old, &new) {
            prop_assert!(old.iter().any(|w| unpunctuated(w) == unpunctuated(&word)), "{:?}", word);
        }
    }
}

fn check_kept(old: &[Word], is_kept: &[bool], put_in: Vec<(Index, Word)>) -> Checked {
    let (new, from) = changed(bare(old), is_kept, put_in);
    let kept = keep_annotations(old, &new);
    for (word, idx) in kept.iter().zip(from).filter_map(|(word, from)| Some((word, from?))) {
        prop_assert_eq!(&word.gloss, &old[idx].gloss, "{:?}", kept);
    }
    Ok(())
}

/// A list with some of its items left out and others put in; tells for each item of the new list which old one it is.
fn changed<T>(old: Vec<T>, is_kept: &[bool], put_in: Vec<(Index, T)>) -> (Vec<T>, Vec<Option<usize>>) {
    let kept = old.into_iter().enumerate().filter(|(idx, _)| is_kept.get(*idx).copied().unwrap_or(true));
    let mut new: Vec<(T, Option<usize>)> = kept.map(|(idx, item)| (item, Some(idx))).collect();
    for (place, item) in put_in {
        new.insert(place.index(new.len() + 1), (item, None));
    }
    new.into_iter().unzip()
}

/// Words whose glosses follow from their forms, so that namesakes are glossed alike.
fn glossed(forms: &[String]) -> Vec<Word> {
    forms.iter().map(|form| settled(form, &format!("<{form}>"))).collect()
}

/// Words as they are written, with nothing under them.
fn bare(words: &[Word]) -> Vec<Word> {
    let bare = |w: &Word| {
        let (lead, trail) = (w.lead.clone(), w.trail.clone());
        Word { lead, trail, is_joined: w.is_joined, ..Word::new(&*w.form) }
    };
    words.iter().map(bare).collect()
}

/// A word without its punctuation, which belongs to the text and not to the word.
fn unpunctuated(word: &Word) -> Word {
    Word { lead: String::new(), trail: String::new(), is_joined: false, ..word.clone() }
}

#[test]
fn a_word_that_stays_is_not_given_up_for_two_that_resemble_others() {
    let old = glossed(&["è".into(), "e".into()]);
    let kept = keep_annotations(&old, &[Word::new("e"), Word::new("é")]);
    assert_eq!(kept[0].gloss, Cell::Settled("<e>".into()));
}

// Pasting.

/// A verse line in which nothing looks like a heading, a name, a direction or a number.
fn plain_line() -> impl Strategy<Value = String> {
    const FORMS: [&str; 16] = [
        "o",
        "notte",
        "l'onda",
        "l’",
        "'l",
        "‘l cor",
        "po’",
        "è",
        "n\u{303}",
        "e\u{301}",
        "любо\u{301}вь",
        "мой",
        "愛",
        "лю\u{ad}бовь",
        "ʼ",
        "dis-moi",
    ];
    const OPENING: [&str; 9] = ["", "", "", "«", "«\u{a0}", "“", "¿", "— ", "\u{feff}"];
    const CLOSING: [&str; 16] =
        ["", "", "", ",", " ,", ".", "!", " !", "\u{a0}!", "?", ";", "…", " —", "»", "\u{200b}", "  "];
    let word = (select(&OPENING[..]), select(&FORMS[..]), select(&CLOSING[..]));
    let word = word.prop_map(|(opening, form, closing)| [opening, form, closing].concat());
    vec(word, 1..7).prop_map(|words| words.join(" "))
}

proptest! {
    #![proptest_config(cases(300))]

    #[test]
    fn pasted_lines_are_the_lines_of_the_text(
        stanzas in vec(vec(plain_line(), 1..6), 0..4),
        tag in select(&["it", "de", "fr", "la", "es", "ru", "en", "tlh"][..]),
        line_end in select(&["\n", "\r\n", "\r", "\u{2028}", " \t\n"][..]),
    ) {
        let stanza = |lines: &Vec<String>| lines.join(line_end);
        let text = stanzas.iter().map(stanza).collect::<Vec<_>>().join(&line_end.repeat(2));
        let pasted = paste(by_tag_or_plain(tag), &text);
        let lines = pasted.sections.iter().flat_map(|section| &section.lines);
        let expected: Vec<String> = stanzas.iter().flatten().map(|line| clean::line(line)).collect();
        prop_assert_eq!(lines.map(Line::text).collect::<Vec<_>>(), expected);
        prop_assert!(pasted.remarks.is_empty(), "{:?}", pasted.remarks);
    }
}

proptest! {
    #![proptest_config(cases(60))]

    #[test]
    fn the_text_of_a_song_is_pasted_without_losing_a_letter(song in song()) {
        let text = song.lines().map(|(_, line)| line.text()).collect::<Vec<_>>().join("\n");
        let letters = |text: &str| text.chars().filter(|c| c.is_alphabetic()).collect::<String>();
        for language in ALL {
            let pasted = paste(language, &text);
            let all = pasted.sections.iter().flat_map(|section| {
                let lines = section.lines.iter().flat_map(|line| [line.direction.clone(), line.text()]);
                [section.heading.clone(), section.speaker.clone()].into_iter().chain(lines)
            });
            prop_assert_eq!(letters(&all.collect::<String>()), letters(&clean::pasted(&text)));
        }
    }
}
