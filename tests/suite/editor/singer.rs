//! A singer who glosses a whole song and knows the answers: how many keys a word takes, and that all is right in the end.

use super::notation;
use super::stage::Stage;
use undersong::lexicon::{Lexicon, learn};
use undersong::song::{Cell, Song, Tag, Word};

/// Written for this test: 24 lines with a refrain. A number marks the second meaning of a word (*la*, *o*).
const VERSE: &str = "\
# 1
La notte scende lenta
sul porto e sulla riva,
e una vela bianca e stanca
cerca la via tra le onde.
Torna, vela mia, torna,
il faro ti aspetta ancora.
# 2
Io salgo la scala di pietra
con la lampada nella mano,
e il vento che viene dal mare
la² spegne e poi ride piano.
Torna, vela mia, torna,
il faro ti aspetta ancora.
# 3
O mare che sai il suo nome,
dimmi se la notte è breve,
se l’ alba porta la vela
o² solo una lunga ombra.
Torna, vela mia, torna,
il faro ti aspetta ancora.
# 4
Il cielo si fa più chiaro
e il porto si sveglia nel sole,
ma la mano che tiene la luce
non la² lascia e non la² spegne.
Torna, vela mia, torna,
il faro ti aspetta ancora.";

/// Form, gloss and tag of every word.
#[rustfmt::skip]
const SENSES: &[&str] = &[
    "la the DET.DEF.F.SG", "la² it PRON.3SG.F.ACC", "notte night NOUN.F.SG", "scende descends VERB.3SG.PRS.IND",
    "lenta slow ADJ.F.SG", "sul on-the ADP.DEF.M.SG", "porto harbour NOUN.M.SG", "e and CCONJ",
    "sulla on-the ADP.DEF.F.SG", "riva shore NOUN.F.SG", "una a DET.INDF.F.SG", "vela sail NOUN.F.SG",
    "bianca white ADJ.F.SG", "stanca weary ADJ.F.SG", "cerca seeks VERB.3SG.PRS.IND", "via way NOUN.F.SG",
    "tra among ADP", "le the DET.DEF.F.PL", "onde waves NOUN.F.PL", "torna return VERB.2SG.IMP",
    "mia my DET.POSS.1SG.F", "il the DET.DEF.M.SG", "faro lighthouse NOUN.M.SG", "ti you PRON.2SG.ACC",
    "aspetta awaits VERB.3SG.PRS.IND", "ancora still ADV", "io I PRON.1SG.NOM", "salgo climb VERB.1SG.PRS.IND",
    "scala stair NOUN.F.SG", "di of ADP", "pietra stone NOUN.F.SG", "con with ADP", "lampada lamp NOUN.F.SG",
    "nella in-the ADP.DEF.F.SG", "mano hand NOUN.F.SG", "vento wind NOUN.M.SG", "che that PRON.REL",
    "viene comes VERB.3SG.PRS.IND", "dal from-the ADP.DEF.M.SG", "mare sea NOUN.M.SG",
    "spegne puts-out VERB.3SG.PRS.IND", "poi then ADV", "ride laughs VERB.3SG.PRS.IND", "piano softly ADV",
    "o o INTJ", "o² or CCONJ", "sai know VERB.2SG.PRS.IND", "suo his DET.POSS.3SG.M", "nome name NOUN.M.SG",
    "dimmi tell-me VERB.2SG.IMP", "se if SCONJ", "è is AUX.3SG.PRS.IND", "breve short ADJ.F.SG",
    "l’ the DET.DEF.F.SG", "alba dawn NOUN.F.SG", "porta brings VERB.3SG.PRS.IND", "solo only ADV",
    "lunga long ADJ.F.SG", "ombra shadow NOUN.F.SG", "cielo sky NOUN.M.SG", "si itself PRON.REFL.3",
    "fa makes VERB.3SG.PRS.IND", "più more ADV", "chiaro clear ADJ.M.SG", "sveglia wakes VERB.3SG.PRS.IND",
    "nel in-the ADP.DEF.M.SG", "sole sun NOUN.M.SG", "ma but CCONJ", "tiene holds VERB.3SG.PRS.IND",
    "luce light NOUN.F.SG", "non not PART.NEG", "lascia leaves VERB.3SG.PRS.IND",
];

/// The song with every word glossed and tagged.
fn answers() -> Song {
    let sense = |form: &str| {
        let form = form.trim_matches([',', '.']).to_lowercase();
        let row = SENSES.iter().find_map(|row| row.strip_prefix(&form)?.strip_prefix(' '));
        row.unwrap_or_else(|| panic!("{form} has no sense")).replace(' ', "/")
    };
    let word = |token: &str| match token.strip_suffix('²') {
        Some(form) => format!("{form}:{}", sense(&format!("{}²", form.trim_end_matches([',', '.'])))),
        None => format!("{token}:{}", sense(token)),
    };
    let line = |text: &str| match text.starts_with('#') {
        true => text.to_owned(),
        false => text.split(' ').map(word).collect::<Vec<_>>().join(" "),
    };
    let (song, _) = notation::read(&VERSE.lines().map(line).collect::<Vec<_>>().join("\n"));
    assert_eq!(song.lines().count(), 24);
    song
}

/// The words alone.
fn blank(answers: &Song) -> Song {
    let mut song = answers.clone();
    for word in song.sections.iter_mut().flat_map(|s| &mut s.lines).flat_map(|l| &mut l.words) {
        (word.gloss, word.tag) = (Cell::Blank, Cell::Blank);
    }
    song
}

fn tag(word: &Word) -> String {
    word.tag.value().map(Tag::to_string).unwrap_or_default()
}

fn says_the_same(word: &Word, right: &Word) -> bool {
    word.gloss.text() == right.gloss.text() && tag(word) == tag(right)
}

/// Glosses the song to its end; returns the keys that it took.
fn gloss_all(stage: &mut Stage, answers: &Song, gloss_word: impl Fn(&mut Stage, &Word)) -> usize {
    let n_words = answers.words().count();
    stage.n_keys = 0;
    for _ in 0..2 * n_words {
        let (n_settled, n_words) = stage.editor.progress();
        if n_settled == n_words {
            for ((at, word), (_, right)) in stage.song().words().zip(answers.words()) {
                assert!(says_the_same(word, right), "{at}: {word:?}");
            }
            return stage.n_keys;
        }
        let here = stage.cursor().unwrap();
        gloss_word(stage, answers.word(here).unwrap());
    }
    panic!("{:?} words are settled after two rounds through the song:\n{stage}", stage.editor.progress());
}

/// Types gloss and tag, unless a draft says both.
fn type_word(stage: &mut Stage, right: &Word) {
    if says_the_same(stage.editor.word().unwrap(), right) {
        stage.press("enter");
        return;
    }
    let before = stage.n_keys;
    stage.press(&format!("'{}' tab '{}' enter", right.gloss.text(), tag(right)));
    assert_eq!(stage.n_keys - before, letters(right) + 2);
}

/// Takes what the card offers: `enter` for what stands first or is drafted already, a digit for what stands further down.
fn choose_word(stage: &mut Stage, right: &Word) {
    let word = stage.editor.word().unwrap();
    let is_blank = word.gloss.is_blank();
    if says_the_same(word, right) {
        stage.press("enter");
        return;
    }
    let wanted = format!(" {}  {} ", right.gloss.text(), tag(right));
    let card = stage.card();
    match card.iter().position(|offer| offer.contains(&wanted)) {
        Some(0) if is_blank => drop(stage.press("enter")),
        Some(n) => drop(stage.press(&format!("{} enter", n + 1))),
        None => panic!("“{wanted}” is known and is not offered for {}: {card:?}", right.form),
    }
}

fn letters(word: &Word) -> usize {
    word.gloss.text().chars().count() + tag(word).chars().count()
}

#[test]
fn a_song_in_a_new_language_takes_its_letters_and_little_more() {
    let answers = answers();
    let n_words = answers.words().count() as f64;
    let mut stage = Stage::with_song(&blank(&answers), Lexicon::new("it", "en"));
    let per_word = gloss_all(&mut stage, &answers, type_word) as f64 / n_words;
    let letters = answers.words().map(|(_, w)| letters(w)).sum::<usize>() as f64 / n_words;
    eprintln!("{n_words} words; keys per word, cold: {per_word:.2} (letters of gloss and tag per word: {letters:.2})");
    assert!(per_word <= letters + 2.0, "{per_word} keys a word for {letters} letters");
}

#[test]
fn a_song_of_known_words_takes_hardly_more_than_a_key_a_word() {
    let answers = answers();
    let n_words = answers.words().count() as f64;
    let mut lexicon = Lexicon::new("it", "en");
    learn(&mut lexicon, &Song { id: "another-song".into(), ..answers.clone() });
    let mut stage = Stage::with_song(&blank(&answers), lexicon);
    let per_word = gloss_all(&mut stage, &answers, choose_word) as f64 / n_words;
    eprintln!("{n_words} words; keys per word, warm: {per_word:.2}");
    assert!(per_word <= 1.2, "{per_word} keys a word");
}
