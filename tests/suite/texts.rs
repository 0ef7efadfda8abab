//! Real public-domain texts through the whole program, without losing a character.
//!
//! The texts stand in `tests/fixtures/texts/`, typed from memory; their poets have been dead for more than a hundred
//! years. Each is pasted in several guises, as files, mails and scans bring them.

use crate::world::World;
use std::collections::HashMap;
use undersong::song::{Cell, Line, Song};
use undersong::store::read_song;
use undersong::text::fold::comparison_key;
use unicode_normalization::UnicodeNormalization;

/// A text, and what is done with it.
struct Text {
    language: &'static str,
    gloss_language: &'static str,
    text: &'static str,
    /// Forms for the lexicon with their glosses, in small letters and with typewriter apostrophes.
    senses: [(&'static str, &'static str); 5],
}

/// Lorenzo Da Ponte, Le nozze di Figaro, act 2, “Voi che sapete” (1786).
const VOI_CHE_SAPETE: Text = Text {
    language: "it",
    gloss_language: "en",
    text: include_str!("../fixtures/texts/voi-che-sapete.txt"),
    senses: [("e", "and"), ("l'", "the"), ("ch'", "that"), ("non", "not"), ("amor", "love")],
};

/// Johann Wolfgang von Goethe, “Erlkönig” (1782).
const ERLKOENIG: Text = Text {
    language: "de",
    gloss_language: "en",
    text: include_str!("../fixtures/texts/erlkoenig.txt"),
    senses: [("mein", "my"), ("manch'", "many-a"), ("erlenkönig", "elf-king"), ("faßt", "grasps"), ("und", "and")],
};

/// Paul Verlaine, “Colloque sentimental”, Fêtes galantes (1869).
const COLLOQUE_SENTIMENTAL: Text = Text {
    language: "fr",
    gloss_language: "en",
    text: include_str!("../fixtures/texts/colloque-sentimental.txt"),
    senses: [("l'", "the"), ("qu'", "that"), ("leurs", "their"), ("cœur", "heart"), ("et", "and")],
};

/// The sequence “Dies iræ” (13th century), ascribed to Thomas of Celano.
const DIES_IRAE: Text = Text {
    language: "la",
    gloss_language: "en",
    text: include_str!("../fixtures/texts/dies-irae.txt"),
    senses: [("dies", "day"), ("iræ", "of-wrath"), ("in", "in"), ("et", "and"), ("iudex", "judge")],
};

/// Gustavo Adolfo Bécquer, Rimas, LIII (1871).
const VOLVERAN: Text = Text {
    language: "es",
    gloss_language: "en",
    text: include_str!("../fixtures/texts/volveran.txt"),
    senses: [("volverán", "will-return"), ("las", "the"), ("tus", "your"), ("y", "and"), ("esas", "those")],
};

/// Alexander Pushkin, “К ***” (1825).
const YA_POMNYU: Text = Text {
    language: "ru",
    gloss_language: "en",
    text: include_str!("../fixtures/texts/ya-pomnyu.txt"),
    senses: [("и", "and"), ("мимолётное", "fleeting"), ("твой", "your"), ("без", "without"), ("слёз", "tears")],
};

/// William Shakespeare, Sonnet 18 (1609), in modern spelling.
const SONNET_18: Text = Text {
    language: "en",
    gloss_language: "de",
    text: include_str!("../fixtures/texts/sonnet-18.txt"),
    senses: [("and", "und"), ("thee", "dich"), ("thou", "du"), ("dimm'd", "getrübt"), ("'s", "des")],
};

/// William Blake, “Introduction”, Songs of Innocence (1789), with the marks of a later edition.
const PIPING: Text = Text {
    language: "en",
    gloss_language: "de",
    text: include_str!("../fixtures/texts/piping.txt"),
    senses: [("pipe", "pfeife"), ("piper", "Pfeifer"), ("thy", "dein"), ("lamb", "Lamm"), ("stain'd", "färbte")],
};

/// A guise in which a text is pasted, and the spelling that the program is to keep.
struct Guise {
    name: &'static str,
    dress: fn(&str) -> String,
    kept: fn(&str) -> String,
}

const GUISES: [Guise; 9] = [
    Guise { name: "as typed", dress: str::to_owned, kept: str::to_owned },
    Guise { name: "CRLF", dress: |text| text.replace('\n', "\r\n"), kept: str::to_owned },
    Guise { name: "NFD", dress: |text| text.nfd().collect(), kept: str::to_owned },
    Guise { name: "tabs and trailing spaces", dress: with_tabs, kept: str::to_owned },
    Guise { name: "byte order mark", dress: |text| format!("\u{feff}{text}"), kept: str::to_owned },
    Guise { name: "soft hyphens", dress: with_soft_hyphens, kept: str::to_owned },
    Guise { name: "no-break spaces", dress: with_no_break_spaces, kept: with_narrow_spaces },
    Guise { name: "typewriter", dress: typewritten, kept: typewritten },
    Guise { name: "all at once", dress: with_everything, kept: |text| with_narrow_spaces(&typewritten(text)) },
];

/// A tab before each line, spaces and a tab after it, and two spaces in place of the first.
fn with_tabs(text: &str) -> String {
    text.lines().map(|line| format!("\t{}  \t\n", line.replacen(' ', "  ", 1))).collect()
}

/// A soft hyphen after the third letter of every word of six letters or more.
fn with_soft_hyphens(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let end = rest.find(|c: char| !c.is_alphabetic()).unwrap_or(rest.len());
        let word = &rest[..end.max(c.len_utf8())];
        match word.char_indices().nth(3) {
            Some((third, _)) if word.chars().count() >= 6 => {
                out.extend([&word[..third], "\u{ad}", &word[third..]]);
            }
            _ => out.push_str(word),
        }
        rest = &rest[word.len()..];
    }
    out
}

/// No-break spaces between words, and the narrow ones that French sets before its double marks.
fn with_no_break_spaces(text: &str) -> String {
    let mut out = String::new();
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        let is_before_word = chars.peek().is_some_and(|next| next.is_alphabetic());
        out.push(if c == ' ' && is_before_word { '\u{a0}' } else { c });
    }
    with_narrow_spaces(&out)
}

fn with_narrow_spaces(text: &str) -> String {
    text.replace(" ?", "\u{202f}?").replace(" !", "\u{202f}!")
}

/// The apostrophes and single quotation marks of a typewriter.
fn typewritten(text: &str) -> String {
    text.replace(['’', '‘'], "'")
}

fn with_everything(text: &str) -> String {
    let text = with_tabs(&with_soft_hyphens(&with_no_break_spaces(&typewritten(text))));
    format!("\u{feff}{}", text.replace('\n', "\r\n").nfd().collect::<String>())
}

impl Text {
    /// Starts a song from the text; returns it as it is read back.
    fn song(&self, world: &World, guise: &Guise) -> Song {
        let args = ["new", "song.yaml", "--lang", self.language, "--gloss-lang", self.gloss_language, "--text", "-"];
        let ran = world.run_with(&args, (guise.dress)(self.text));
        assert_eq!(ran.status, 0, "{ran}");
        read(world)
    }
}

fn read(world: &World) -> Song {
    let (song, notices) = read_song(&world.file("song.yaml")).unwrap();
    assert_eq!(notices, []);
    song
}

fn letters(text: &str) -> String {
    text.nfc().filter(|c| c.is_alphabetic()).collect()
}

/// Takes a text through all commands in every guise.
fn check(text: &Text) {
    for guise in &GUISES {
        let world = World::new();
        let kept = (guise.kept)(text.text);
        check_stanzas(&text.song(&world, guise), &kept, guise.name);
        check_filled(text, &world, guise.name);
        check_stanzas(&read(&world), &kept, guise.name);
        check_sheets(&world, &letters(text.text), guise.name);
        let ran = world.run(&["check", "song.yaml"]);
        assert_eq!((ran.status, ran.stderr.as_str()), (1, ""), "{}: {ran}", guise.name);
        assert!(ran.stdout.contains("no free translation"), "{}: {ran}", guise.name);
    }
}

/// Stanza for stanza and line for line the song has the text, and nothing else.
fn check_stanzas(song: &Song, kept: &str, guise: &str) {
    let stanzas: Vec<Vec<&str>> = kept.trim_end().split("\n\n").map(|s| s.lines().map(str::trim).collect()).collect();
    let sections: Vec<Vec<String>> = song.sections.iter().map(|s| s.lines.iter().map(Line::text).collect()).collect();
    assert_eq!(sections, stanzas, "{guise}");
    for section in &song.sections {
        assert_eq!((section.heading.as_str(), section.speaker.as_str()), ("", ""), "{guise}");
        for line in &section.lines {
            assert_eq!((line.bars, line.direction.as_str()), (None, ""), "{guise}: {}", line.text());
            for word in &line.words {
                assert!(word.is_glossable(), "{guise}: “{}” is no word", word.form);
                let has_letter = [&word.lead, &word.trail].into_iter().any(|m| m.contains(char::is_alphanumeric));
                assert!(!has_letter, "{guise}: letters outside of the form: {word:?}");
            }
        }
    }
}

/// After `fill` the words of the lexicon have their gloss, and no others.
fn check_filled(text: &Text, world: &World, guise: &str) {
    for (form, gloss) in text.senses {
        world.ok(&["lexicon", "--gloss-lang", text.gloss_language, "add", form, gloss, "--lang", text.language]);
    }
    let glosses: HashMap<String, &str> = text.senses.map(|(form, gloss)| (comparison_key(form), gloss)).into();
    let ran = world.run(&["fill", "song.yaml", "--json"]);
    assert_eq!(ran.status, 0, "{guise}: {ran}");
    let song = read(world);
    let mut seen: HashMap<&str, usize> = HashMap::new();
    for (at, word) in song.words() {
        let gloss = glosses.get(&comparison_key(&word.form));
        let expected = gloss.map_or(Cell::Blank, |gloss| Cell::Draft(gloss.to_string()));
        assert_eq!(word.gloss, expected, "{guise}: {at}, “{}”", word.form);
        if let Some(gloss) = gloss {
            *seen.entry(gloss).or_default() += 1;
        }
    }
    let n_drafted: usize = seen.values().sum();
    assert!(ran.stdout.contains(&format!("\"drafted\":{n_drafted},")), "{guise}: {n_drafted} cells, but {ran}");
    assert_eq!(seen.len(), text.senses.len(), "{guise}: every sense of the lexicon is used");
}

/// Every letter stands in every sheet, in order; where only the words are printed, no other does.
fn check_sheets(world: &World, letters_of_text: &str, guise: &str) {
    for format in [&["--to", "text"][..], &["--to", "markdown"], &["--to", "markdown", "--aligned"]] {
        let print = |more: &[&str]| {
            let printed = world.ok(&[&["print", "song.yaml"], format, more].concat());
            // The title and the fences are not of the text.
            let lines = printed.lines().skip(1).filter(|line| !line.starts_with("```"));
            lines.collect::<Vec<_>>().join("\n")
        };
        let words_only = print(&["--rows", "word", "--length", "0"]);
        assert_eq!(letters(&words_only), letters_of_text, "{guise}, {format:?}");
        for width in ["72", "30"] {
            let mut printed = letters(&print(&["--width", width])).chars().collect::<Vec<_>>().into_iter();
            let lost = letters_of_text.chars().position(|c| !printed.any(|p| p == c));
            assert_eq!(lost, None, "{guise}, {format:?}, width {width}: the first letter that is lost");
        }
    }
}

/// Checks how a line of a text falls into words, with typographic and with typewriter apostrophes: forms in brackets, a
/// joined one followed by `+`.
fn check_split(text: &Text, line: &str, expected: &str) {
    assert!(text.text.lines().any(|l| l.trim() == line), "{line}");
    let typed: fn(&str) -> String = str::to_owned;
    for spelling in [typed, typewritten] {
        let world = World::new();
        let song = text.song(&world, &Guise { name: "", dress: spelling, kept: spelling });
        let (_, line) = song.lines().find(|(_, l)| l.text() == spelling(line)).unwrap();
        assert_eq!(drawn(line), spelling(expected));
    }
}

fn drawn(line: &Line) -> String {
    let words = line.words.iter().map(|w| {
        let next = if w.is_joined { "+" } else { " " };
        format!("{}[{}]{}{next}", w.lead, w.form, w.trail)
    });
    words.collect::<String>().trim_end().to_owned()
}

#[test]
fn an_italian_text_is_kept() {
    check(&VOI_CHE_SAPETE);
}

#[test]
fn a_german_text_is_kept() {
    check(&ERLKOENIG);
}

#[test]
fn a_french_text_is_kept() {
    check(&COLLOQUE_SENTIMENTAL);
}

#[test]
fn a_latin_text_is_kept() {
    check(&DIES_IRAE);
}

#[test]
fn a_spanish_text_is_kept() {
    check(&VOLVERAN);
}

#[test]
fn a_russian_text_is_kept() {
    check(&YA_POMNYU);
}

#[test]
fn an_english_text_is_kept() {
    check(&SONNET_18);
}

#[test]
fn an_english_text_with_quotations_is_kept() {
    check(&PIPING);
}

#[test]
fn italian_elisions() {
    check_split(&VOI_CHE_SAPETE, "S’io l’ho nel cor.", "[S’]+[io] [l’]+[ho] [nel] [cor].");
    check_split(&VOI_CHE_SAPETE, "Quello ch’io provo", "[Quello] [ch’]+[io] [provo]");
    check_split(&VOI_CHE_SAPETE, "L’alma avvampar,", "[L’]+[alma] [avvampar],");
    check_split(&VOI_CHE_SAPETE, "Non so chi ’l tiene,", "[Non] [so] [chi] [’l] [tiene],");
    check_split(&VOI_CHE_SAPETE, "Non so cos’è.", "[Non] [so] [cos’]+[è].");
}

#[test]
fn german_lost_endings_and_quotations() {
    let line = "Den Erlenkönig mit Kron’ und Schweif? –";
    check_split(&ERLKOENIG, line, "[Den] [Erlenkönig] [mit] [Kron’] [und] [Schweif]? –");
    let line = "Gar schöne Spiele spiel’ ich mit dir;";
    check_split(&ERLKOENIG, line, "[Gar] [schöne] [Spiele] [spiel’] [ich] [mit] [dir];");
    let line = "„Du liebes Kind, komm, geh mit mir!";
    check_split(&ERLKOENIG, line, "„[Du] [liebes] [Kind], [komm], [geh] [mit] [mir]!");
    let line = "Meine Mutter hat manch’ gülden Gewand.“ –";
    check_split(&ERLKOENIG, line, "[Meine] [Mutter] [hat] [manch’] [gülden] [Gewand].“ –");
    let line = "Mein Sohn, mein Sohn, ich seh’ es genau;";
    check_split(&ERLKOENIG, line, "[Mein] [Sohn], [mein] [Sohn], [ich] [seh’] [es] [genau];");
}

#[test]
fn french_elisions_and_pronouns_behind_their_verb() {
    let line = "Deux formes ont tout à l’heure passé.";
    check_split(&COLLOQUE_SENTIMENTAL, line, "[Deux] [formes] [ont] [tout] [à] [l’]+[heure] [passé].");
    let line = "— Te souvient-il de notre extase ancienne ?";
    check_split(&COLLOQUE_SENTIMENTAL, line, "— [Te] [souvient]+[-il] [de] [notre] [extase] [ancienne] ?");
    let line = "— Pourquoi voulez-vous donc qu’il m’en souvienne ?";
    let split = "— [Pourquoi] [voulez]+[-vous] [donc] [qu’]+[il] [m’]+[en] [souvienne] ?";
    check_split(&COLLOQUE_SENTIMENTAL, line, split);
    let line = "Toujours vois-tu mon âme en rêve ? — Non.";
    check_split(&COLLOQUE_SENTIMENTAL, line, "[Toujours] [vois]+[-tu] [mon] [âme] [en] [rêve] ? — [Non].");
    let line = "Où nous joignions nos bouches ! — C’est possible.";
    check_split(&COLLOQUE_SENTIMENTAL, line, "[Où] [nous] [joignions] [nos] [bouches] ! — [C’]+[est] [possible].");
}

#[test]
fn latin_words_are_whole() {
    check_split(&DIES_IRAE, "Dies iræ, dies illa", "[Dies] [iræ], [dies] [illa]");
    check_split(&DIES_IRAE, "quidquid latet, apparebit:", "[quidquid] [latet], [apparebit]:");
    check_split(&DIES_IRAE, "cuncta stricte discussurus!", "[cuncta] [stricte] [discussurus]!");
}

#[test]
fn spanish_marks_before_a_word() {
    check_split(&VOLVERAN, "esas... ¡no volverán!", "[esas]... ¡[no] [volverán]!");
    check_split(&VOLVERAN, "¡así no te querrán!", "¡[así] [no] [te] [querrán]!");
    let line = "como yo te he querido... desengáñate,";
    check_split(&VOLVERAN, line, "[como] [yo] [te] [he] [querido]... [desengáñate],");
}

#[test]
fn russian_words_are_whole() {
    let line = "Шли годы. Бурь порыв мятежный";
    check_split(&YA_POMNYU, line, "[Шли] [годы]. [Бурь] [порыв] [мятежный]");
    let line = "Без слёз, без жизни, без любви.";
    check_split(&YA_POMNYU, line, "[Без] [слёз], [без] [жизни], [без] [любви].");
    check_split(&YA_POMNYU, "И жизнь, и слёзы, и любовь.", "[И] [жизнь], [и] [слёзы], [и] [любовь].");
}

#[test]
fn english_genitives_and_lost_vowels() {
    let line = "Shall I compare thee to a summer’s day?";
    check_split(&SONNET_18, line, "[Shall] [I] [compare] [thee] [to] [a] [summer]+[’s] [day]?");
    let line = "By chance or nature’s changing course untrimm’d;";
    check_split(&SONNET_18, line, "[By] [chance] [or] [nature]+[’s] [changing] [course] [untrimm’d];");
    let line = "Nor lose possession of that fair thou ow’st;";
    check_split(&SONNET_18, line, "[Nor] [lose] [possession] [of] [that] [fair] [thou] [ow’st];");
    let line = "Nor shall Death brag thou wander’st in his shade,";
    check_split(&SONNET_18, line, "[Nor] [shall] [Death] [brag] [thou] [wander’st] [in] [his] [shade],");
}

#[test]
fn english_quotations() {
    check_split(&PIPING, "‘Pipe a song about a Lamb!’", "‘[Pipe] [a] [song] [about] [a] [Lamb]!’");
    check_split(&PIPING, "‘Piper, pipe that song again;’", "‘[Piper], [pipe] [that] [song] [again];’");
    check_split(&PIPING, "In a book, that all may read.’", "[In] [a] [book], [that] [all] [may] [read].’");
    check_split(&PIPING, "So he vanish’d from my sight,", "[So] [he] [vanish’d] [from] [my] [sight],");
}

/// The quotation closes in a later line.
#[test]
fn an_english_quotation_of_several_lines() {
    check_split(&PIPING, "‘Drop thy pipe, thy happy pipe;", "‘[Drop] [thy] [pipe], [thy] [happy] [pipe];");
    check_split(&PIPING, "‘Piper, sit thee down and write", "‘[Piper], [sit] [thee] [down] [and] [write]");
}

/// Draws what was read: `## heading`, `@ speaker`, `(direction)`, `bars| text`; sections parted by a blank line.
fn drawn_sections(song: &Song) -> String {
    let mut out = Vec::new();
    for section in &song.sections {
        let heading = Some(format!("## {}", section.heading)).filter(|_| !section.heading.is_empty());
        let speaker = Some(format!("@ {}", section.speaker)).filter(|_| !section.speaker.is_empty());
        let mut lines: Vec<String> = heading.into_iter().chain(speaker).collect();
        for line in &section.lines {
            lines.extend(Some(format!("({})", line.direction)).filter(|_| !line.direction.is_empty()));
            let bars = line.bars.map(|bars| format!("{bars}| ")).unwrap_or_default();
            lines.extend(Some(format!("{bars}{}", line.text())).filter(|_| !line.words.is_empty()));
        }
        out.push(lines.join("\n"));
    }
    out.join("\n\n")
}

fn check_sections(text: &str, expected: &str) {
    let world = World::new();
    let ran = world.run_with(&["new", "song.yaml", "--lang", "it", "--text", "-"], text);
    assert_eq!(ran.status, 0, "{ran}");
    let song = read(&world);
    assert_eq!(drawn_sections(&song), expected);
}

/// A scene of our own, laid out as librettos and their copies are (common practice, no source).
const IL_FARO: &str = include_str!("../fixtures/texts/il-faro.txt");

#[test]
fn a_scene_is_taken_apart() {
    let expected = "\
@ MARTA
(sola, con la lampada)
1| Che notte, che mare!
3| Nessuno risponde.
(Pausa. Si ode un tuono.)
6| Chi veglia con me?

@ ORESTE
(da lontano)
Marta! Marta!
9-10| Apri la porta, ch’io moro!

@ MARTA
(Ah, questa voce!)
Chi sei? Non ti vedo...
(apre la porta; entra Oreste)

@ A DUE
14| Siam salvi, siam salvi:
l’onda s’allontana!
(abbracciandosi)
Torna la luce.

## Ritornello
Veglia, o lampada,
veglia su noi!
(cala la tela)";
    for guise in &GUISES {
        check_sections(&(guise.dress)(IL_FARO), &(guise.kept)(expected));
    }
}

#[test]
fn what_was_recognised_in_a_scene_is_said_and_printed() {
    let world = World::new();
    let ran = world.run_with(&["new", "song.yaml", "--lang", "it", "--text", "-"], IL_FARO);
    for remark in ["headings and stanza numbers: 1", "speakers: 4", "stage directions: 6", "bar numbers: 5"] {
        assert!(ran.stderr.contains(remark), "{remark}: {ran}");
    }
    let sheet = world.ok(&["print", "song.yaml", "--rows", "word", "--length", "0"]);
    let mut letters_of_sheet = sheet.chars().filter(|c| c.is_alphabetic());
    let lost = letters(IL_FARO).chars().position(|c| !letters_of_sheet.any(|s| s == c));
    assert_eq!(lost, None, "{sheet}");
    assert!(sheet.contains("\nMARTA\n") && sheet.contains("(Pausa. Si ode un tuono.)\n"), "{sheet}");
    assert!(sheet.contains("\n9-10  Apri  la  porta,  ch’  io  moro!\n"), "{sheet}");
}

#[test]
fn two_names_in_capitals_sing_together() {
    check_sections("ORESTE e MARTA\nSiam salvi!", "@ ORESTE e MARTA\nSiam salvi!");
}

#[test]
fn a_bar_number_before_a_name() {
    check_sections("[5] MARTA: Chi sei?\n[7] ORESTE: Son io!", "@ MARTA\n5| Chi sei?\n\n@ ORESTE\n7| Son io!");
}

#[test]
fn the_heading_of_a_scene_is_no_speaker() {
    let text = "SCENA PRIMA\n(notte)\n\nMARTA\nChe notte,\nche mare!\n\nSCENA II\n\nMARTA\nChi sei?\nChe vuoi?";
    let expected =
        "## SCENA PRIMA\n@ MARTA\n(notte)\nChe notte,\nche mare!\n\n## SCENA II\n@ MARTA\nChi sei?\nChe vuoi?";
    check_sections(text, expected);
}
