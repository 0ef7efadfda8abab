//! Published standards and examples: Leipzig Glossing Rules, Universal Dependencies, Unicode.
//!
//! Lists that are too long to be typed come from outside tools; where those are absent, a test says so and returns.

/// Says that a test could not be run.
fn skipped(test: &str, why: impl std::fmt::Display) {
    eprintln!("SKIPPED {test}: {why}");
}

/// The examples of the Leipzig Glossing Rules.
///
/// Source: Bernard Comrie, Martin Haspelmath and Balthasar Bickel, The Leipzig Glossing Rules, 2015 revision, from
/// memory, with examples after Sneddon (1996), Haspelmath (1993), Fortescue (1984), Lehmann (1982) and Schultze-Berndt
/// (2000).
mod leipzig {
    use crate::world::World;
    use pulldown_cmark::{Event, Options as Extensions, Parser, Tag as Element, TagEnd};
    use undersong::import::words as words_of_text;
    use undersong::language::{by_tag, by_tag_or_plain};
    use undersong::sheet::{Options, Paper, aligned, compose, markdown, text};
    use undersong::song::{Annotation, Cell, Details, Edit, Hyphen, Line, Place, Problem, Section, Song, Tag, Word};
    use undersong::song::{WordAt, apply, check};
    use undersong::store::{read_song, song_to_yaml};
    use undersong::text::cluster::width;

    /// An example: rule, language, then words, glosses and translation as they are printed. Two spaces part two words,
    /// since one may stand inside a word (rule 2A).
    type Example = (&'static str, &'static str, [&'static str; 3]);

    #[rustfmt::skip]
    const EXAMPLES: [Example; 21] = [
        ("1", "id", ["Mereka  di  Jakarta  sekarang.",
                     "they    in  Jakarta  now",
                     "They are in Jakarta now."]),
        ("2", "lez", ["Gila  abur-u-n      ferma  hamišaluǧ  güǧüna  amuq’-da-č.",
                      "now   they-OBL-GEN  farm   forever    behind  stay-FUT-NEG",
                      "Now their farm will not stay behind forever."]),
        ("2", "kl", ["palasi=lu  niuirtur=lu",
                     "priest=and  shopkeeper=and",
                     "both the priest and the shopkeeper"]),
        ("2A", "cnh", ["a-nii -láay",
                       "3SG-laugh-FUT",
                       "s/he will laugh"]),
        ("4", "tr", ["çık-mak",
                     "come.out-INF",
                     "to come out"]),
        ("4", "la", ["insul-arum",
                     "island-GEN.PL",
                     "of the islands"]),
        ("4", "fr", ["aux        chevaux",
                     "to.ART.PL  horse.PL",
                     "to the horses"]),
        ("4", "de", ["unser-n     Väter-n",
                     "our-DAT.PL  father.PL-DAT.PL",
                     "to our fathers"]),
        ("4", "hit", ["n=an      apedani      mehuni       essandu.",
                      "CONN=him  that.DAT.SG  time.DAT.SG  eat.they.shall",
                      "They shall celebrate him on that date."]),
        ("4", "djd", ["nanggayan  guny-bi-yarluga?",
                      "who        2DU.A.3SG.P-FUT-poke",
                      "Who do you two want to spear?"]),
        ("4A", "tr", ["çık-mak",
                      "come_out-INF",
                      "to come out"]),
        ("4B", "la", ["insul-arum",
                      "island-GEN;PL",
                      "of the islands"]),
        ("4B", "fr", ["aux        chevaux",
                      "to;ART;PL  horse;PL",
                      "to the horses"]),
        ("4C", "hit", ["n=an      apedani      mehuni       essandu.",
                       "CONN=him  that:DAT;SG  time:DAT;SG  eat:they:shall",
                       "They shall celebrate him on that date."]),
        ("4D", "de", ["unser-n     Väter-n",
                      r"our-DAT.PL  father\PL-DAT.PL",
                      "to our fathers"]),
        ("4E", "djd", ["nanggayan  guny-bi-yarluga?",
                       "who        2DU>3SG-FUT-poke",
                       "Who do you two want to spear?"]),
        ("9", "tl", ["b<um>ili",
                     "<ACTFOC>buy",
                     "buy"]),
        ("9", "la", ["reli<n>qu-ere",
                     "leave<PRS>-INF",
                     "to leave"]),
        ("10", "he", ["yerak~rak-im",
                      "green~ATT-PL",
                      "greenish ones"]),
        ("10", "tl", ["bi~bili",
                      "IPFV~buy",
                      "is buying"]),
        ("10", "tl", ["b<um>i~bili",
                      "<ACTFOC>IPFV~buy",
                      "is buying"]),
    ];

    fn song((rule, language, [forms, glosses, translation]): Example) -> Song {
        let cells = |row: &'static str| row.split("  ").map(str::trim).filter(|cell| !cell.is_empty());
        assert_eq!(cells(forms).count(), cells(glosses).count(), "rule {rule}");
        let word = |(written, gloss): (&str, &str)| {
            let form = written.trim_end_matches(['.', '?']);
            let trail = written[form.len()..].to_owned();
            Word { trail, gloss: Cell::Settled(gloss.to_owned()), ..Word::new(form) }
        };
        let words = cells(forms).zip(cells(glosses)).map(word).collect();
        let line = Line { words, translation: translation.to_owned(), ..Line::default() };
        let (title, language) = (format!("Rule {rule}"), language.to_owned());
        let details = Details { title, language, gloss_language: "en".into(), ..Details::default() };
        Song { details, sections: vec![Section { lines: vec![line], ..Section::default() }], ..Song::default() }
    }

    fn example(rule: &str, language: &str) -> Example {
        EXAMPLES.into_iter().find(|(r, l, _)| *r == rule && *l == language).unwrap()
    }

    fn words(song: &Song) -> &[Word] {
        &song.sections[0].lines[0].words
    }

    /// What is wrong with a song, other than that these examples come without tags and notes.
    fn mismatches(song: &Song) -> Vec<(Place, Problem)> {
        let is_left_out = |p: &Problem| matches!(p, Problem::Blank(Annotation::Tag) | Problem::NoNotes);
        let found = check(song, Hyphen::MorphemeBorder).into_iter().map(|f| (f.place, f.problem));
        found.filter(|(_, problem)| !is_left_out(problem)).collect()
    }

    #[test]
    fn the_examples_come_back_from_their_file() {
        let world = World::new();
        for example in EXAMPLES {
            let song = song(example);
            let path = world.write("example.yaml", song_to_yaml(&song));
            let (read, _) = read_song(&path).unwrap();
            assert_eq!(read, song, "{example:?}");
        }
    }

    #[test]
    fn the_examples_have_no_mismatch() {
        for example in EXAMPLES {
            assert_eq!(mismatches(&song(example)), [], "{example:?}");
        }
    }

    /// Checks that a word with another gloss is found to be divided otherwise than its form.
    fn check_is_found(example: Example, word_idx: usize, broken: &str, code: &str) {
        let mut song = song(example);
        let word = &mut song.sections[0].lines[0].words[word_idx];
        let form = word.form.clone();
        word.gloss = Cell::Settled(broken.to_owned());
        let found = mismatches(&song);
        let place = Place::Word(WordAt { word: word_idx, ..WordAt::default() });
        let codes: Vec<_> = found.iter().map(|(at, problem)| (*at, problem.code())).collect();
        assert_eq!(codes, [(place, code)], "rule {}: “{form}” glossed “{broken}”", example.0);
    }

    /// Every gloss with one of its `marks` left out, in the words whose form has such a mark.
    fn without_one(marks: &[char]) -> Vec<(Example, usize, String)> {
        let mut broken = Vec::new();
        for example in EXAMPLES {
            for (idx, word) in words(&song(example)).iter().enumerate() {
                let gloss = word.gloss.text();
                for (at, mark) in gloss.char_indices().filter(|(_, c)| marks.contains(c) && word.form.contains(*c)) {
                    broken.push((example, idx, format!("{}{}", &gloss[..at], &gloss[at + mark.len_utf8()..])));
                }
            }
        }
        broken
    }

    fn check_without_one(marks: &[char], n_expected: usize) {
        let broken = without_one(marks);
        assert_eq!(broken.len(), n_expected);
        for (example, idx, gloss) in broken {
            check_is_found(example, idx, &gloss, "morphemes-differ");
        }
    }

    #[test]
    fn a_missing_hyphen_is_found() {
        check_without_one(&['-'], 20);
    }

    #[test]
    fn a_missing_equals_sign_is_found() {
        check_without_one(&['='], 4);
    }

    #[test]
    fn a_missing_tilde_is_found() {
        check_without_one(&['~'], 3);
    }

    #[test]
    fn a_missing_opening_bracket_of_an_infix_is_found() {
        check_without_one(&['<'], 3);
    }

    #[test]
    fn a_missing_closing_bracket_of_an_infix_is_found() {
        check_without_one(&['>'], 3);
    }

    #[test]
    fn a_gloss_too_many_is_found() {
        check_is_found(example("2", "lez"), 1, "they-OBL-GEN-PL", "morphemes-differ");
        check_is_found(example("2", "kl"), 0, "priest=and=also", "morphemes-differ");
        check_is_found(example("9", "tl"), 0, "<ACTFOC><PST>buy", "morphemes-differ");
    }

    #[test]
    fn another_border_is_found() {
        check_is_found(example("2", "kl"), 0, "priest-and", "morphemes-differ");
        check_is_found(example("4", "hit"), 0, "CONN-him", "morphemes-differ");
        check_is_found(example("4", "la"), 0, "island=GEN.PL", "morphemes-differ");
        check_is_found(example("10", "tl"), 0, "IPFV-buy", "morphemes-differ");
    }

    /// The phrase of rule 2A is left out: a phrase of several words may have a gloss of several words.
    #[test]
    fn a_space_in_a_gloss_is_found() {
        for example in EXAMPLES.into_iter().filter(|(rule, ..)| *rule != "2A") {
            for (idx, word) in words(&song(example)).iter().enumerate() {
                check_is_found(example, idx, &format!("{} too", word.gloss.text()), "gloss-has-space");
            }
        }
    }

    /// Checks that every gloss starts in the same cell as its word, in whatever rows the words stand.
    fn check_is_aligned(song: &Song, lines: &[&str], sheet: &str) {
        let mut rest = words(song);
        for pair in lines.windows(2) {
            let [mut word_end, mut gloss_end] = [0, 0];
            while let Some(word) = rest.first() {
                let written = format!("{}{}", word.form, word.trail);
                let Some(word_at) = find(pair[0], &written, word_end) else { break };
                let gloss_at = find(pair[1], word.gloss.text(), gloss_end);
                let gloss_at = gloss_at.unwrap_or_else(|| panic!("no gloss under “{written}”:\n{sheet}"));
                let cells = [(pair[0], word_at), (pair[1], gloss_at)].map(|(line, at)| width(&line[..at]));
                assert_eq!(cells[0], cells[1], "{written}:\n{sheet}");
                (word_end, gloss_end) = (word_at + written.len(), gloss_at + word.gloss.text().len());
                rest = &rest[1..];
            }
        }
        assert_eq!(rest, [], "words that no row shows:\n{sheet}");
    }

    /// The place of a cell in a row, which has spaces or nothing around it.
    fn find(line: &str, cell: &str, from: usize) -> Option<usize> {
        let at = from + line[from..].find(cell)?;
        let is_apart = line[..at].chars().next_back().is_none_or(|c| c == ' ')
            && line[at + cell.len()..].chars().next().is_none_or(|c| c == ' ');
        is_apart.then_some(at)
    }

    const WIDTHS: [usize; 4] = [100, 72, 40, 30];

    #[test]
    fn the_rows_of_a_text_sheet_are_aligned() {
        for example in EXAMPLES {
            let song = song(example);
            let sheet = compose(&song, &Options::default());
            for width in WIDTHS {
                let printed = text(&sheet, Paper { width, length: None });
                let lines: Vec<&str> = printed.lines().skip(1).collect();
                check_is_aligned(&song, &lines, &printed);
                let translation = format!("‘{}’", song.sections[0].lines[0].translation);
                let unwrapped = lines.join(" ").split_whitespace().collect::<Vec<_>>().join(" ");
                assert!(unwrapped.ends_with(&translation), "{printed}");
            }
        }
    }

    #[test]
    fn the_rows_of_aligned_markdown_are_aligned() {
        for example in EXAMPLES {
            let song = song(example);
            let sheet = compose(&song, &Options::default());
            for width in WIDTHS {
                let printed = aligned(&sheet, width);
                let fenced: Vec<&str> =
                    printed.lines().skip_while(|l| *l != "```text").skip(1).take_while(|l| *l != "```").collect();
                check_is_aligned(&song, &fenced, &printed);
            }
        }
    }

    /// Angle brackets, tildes, underscores and backslashes all mean something to Markdown.
    #[test]
    fn a_table_in_markdown_shows_every_sign() {
        for example in EXAMPLES {
            let song = song(example);
            let printed = markdown(&compose(&song, &Options::default()));
            let written = words(&song).iter().map(|w| format!("{}{}", w.form, w.trail));
            let glosses = words(&song).iter().map(|w| w.gloss.text().to_owned());
            let rows = vec![[String::new()].into_iter().chain(written).collect::<Vec<_>>(), {
                ["gloss".to_owned()].into_iter().chain(glosses).collect()
            }];
            assert_eq!(table(&printed), rows, "{printed}");
        }
    }

    /// The rows of the tables in a Markdown text, as a reader sees them.
    fn table(markdown: &str) -> Vec<Vec<String>> {
        let mut rows: Vec<Vec<String>> = Vec::new();
        let mut in_cell = false;
        for event in Parser::new_ext(markdown, Extensions::ENABLE_TABLES | Extensions::ENABLE_STRIKETHROUGH) {
            match event {
                Event::Start(Element::TableHead | Element::TableRow) => rows.push(Vec::new()),
                Event::Start(Element::TableCell) => {
                    in_cell = true;
                    rows.last_mut().unwrap().push(String::new());
                }
                Event::End(TagEnd::TableCell) => in_cell = false,
                Event::Text(text) if in_cell => rows.last_mut().unwrap().last_mut().unwrap().push_str(&text),
                other => assert!(!in_cell, "{other:?} in a cell"),
            }
        }
        rows
    }

    #[test]
    fn a_song_begins_in_any_language() {
        for example in EXAMPLES {
            let (_, language, [forms, ..]) = example;
            let world = World::new();
            let line = forms.split_whitespace().collect::<Vec<_>>().join(" ");
            let ran = world.run_with(&["new", "song.yaml", "--lang", language, "--text", "-"], &line);
            assert_eq!(ran.status, 0, "{ran}");
            let note = format!("note: the language “{language}” is not known");
            assert_eq!(ran.stderr.contains(&note), by_tag(language).is_none(), "{ran}");
            let (read, _) = read_song(&world.file("song.yaml")).unwrap();
            assert_eq!(read.details.language, language);
            assert_eq!(read.sections[0].lines[0].text(), line);
            // What stands between spaces is a word; that two make one (rule 2A) only the singer knows.
            let forms_of = |song: &Song| words(song).iter().map(|w| w.form.clone()).collect::<Vec<_>>();
            if example.0 != "2A" {
                assert_eq!(forms_of(&read), forms_of(&song(example)));
            }
            for command in ["fill", "print"] {
                let ran = world.run(&[command, "song.yaml"]);
                assert_eq!(ran.status, 0, "{ran}");
            }
            assert_eq!(world.run(&["check", "song.yaml"]).status, 1);
        }
    }

    /// A word that is bound although it stands apart has a hyphen before it (rule 2A), and keeps it when the singer
    /// makes the two words one.
    #[test]
    fn two_words_are_joined_to_one_phrase() {
        let example = example("2A", "cnh");
        let mut song = song(example);
        song.sections[0].lines[0].words = words_of_text(by_tag_or_plain("cnh"), "a-nii -láay");
        let at = WordAt::default();
        apply(&mut song, &Edit::JoinWords { at, count: 2 }).unwrap();
        apply(&mut song, &Edit::settle(at, Annotation::Gloss, "3SG-laugh-FUT")).unwrap();
        assert_eq!(song.word(at).unwrap().form, "a-nii -láay");
        assert_eq!(mismatches(&song), []);
    }

    #[test]
    fn the_check_command_finds_a_missing_border() {
        let broken = [
            (example("2", "lez"), 1, "they-OBL.GEN"),
            (example("2", "kl"), 1, "shopkeeper.and"),
            (example("4", "la"), 0, "island"),
        ];
        for (example, n_word, broken) in broken {
            let world = World::new();
            let mut song = song(example);
            song.sections[0].lines[0].words.iter_mut().for_each(|w| w.tag = Cell::Settled(Tag::parse("X")));
            world.write("song.yaml", song_to_yaml(&song));
            let ran = world.run(&["check", "song.yaml"]);
            assert!(!ran.stdout.contains("morphemes-differ"), "{ran}");
            song.sections[0].lines[0].words[n_word].gloss = Cell::Settled(broken.into());
            world.write("song.yaml", song_to_yaml(&song));
            let ran = world.run(&["check", "song.yaml"]);
            let form = &words(&song)[n_word].form;
            let message = format!("“{form}” and its gloss “{broken}” are divided into different parts");
            assert!(ran.stdout.contains(&message) && ran.stdout.contains("1 morphemes-differ"), "{ran}");
            assert_eq!(ran.status, 1);
        }
    }
}

/// Parts of speech and features of Universal Dependencies, version 2.
mod universal_dependencies {
    use super::skipped;
    use serde_json::Value;
    use std::collections::BTreeSet;
    use std::process::Command;
    use std::sync::OnceLock;
    use undersong::song::{Feature, Pos, Style, Tag};

    const LANGUAGES: [&str; 7] = ["it", "de", "fr", "la", "es", "en", "ru"];

    /// The official validator as a package of the Python Package Index. Its version is fixed, so that a change of the
    /// outside list is a change of this line.
    const VALIDATOR: &str = "udtools==0.2.9";

    /// A feature with a value of a language, and the parts of speech that may have it.
    struct Permitted {
        language: String,
        feature: String,
        pair: String,
        parts_of_speech: Vec<String>,
    }

    /// What the validator's data say.
    struct Validator {
        parts_of_speech: Vec<String>,
        /// What each language may have.
        permitted: Vec<Permitted>,
        /// Every pair that some language has, or once had.
        documented: BTreeSet<String>,
    }

    /// Fetches the validator's lists; `None` where they cannot be had.
    fn validator(test: &str) -> Option<&'static Validator> {
        static VALIDATOR_ONCE: OnceLock<Result<Validator, String>> = OnceLock::new();
        VALIDATOR_ONCE.get_or_init(fetch).as_ref().map_err(|why| skipped(test, why)).ok()
    }

    fn fetch() -> Result<Validator, String> {
        let folder = tempfile::tempdir().unwrap();
        let target = folder.path().join("packages");
        let mut command = Command::new("python3");
        command.args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--no-deps", "--no-cache-dir"]);
        command.args(["--only-binary", ":all:", "--timeout", "20", "--retries", "1", "--target"]).arg(&target);
        let output = command.arg(VALIDATOR).output().map_err(|e| format!("python3 cannot be run: {e}"))?;
        if !output.status.success() {
            let message = String::from_utf8_lossy(&output.stderr);
            return Err(format!("{VALIDATOR} cannot be fetched: {}", message.lines().last().unwrap_or_default()));
        }
        // From here on nothing is skipped: the package is there, and must hold what it is known to hold.
        let read = |name: &str| -> Value {
            let text = std::fs::read_to_string(target.join("udtools/data").join(name)).unwrap();
            serde_json::from_str(&text).unwrap()
        };
        Ok(Validator::of(&read("upos.json"), &read("feats.json")["features"]))
    }

    impl Validator {
        fn of(upos: &Value, features: &Value) -> Validator {
            let texts = |list: &Value| -> Vec<String> {
                list.as_array().unwrap().iter().map(|v| v.as_str().unwrap().to_owned()).collect()
            };
            let (mut permitted, mut documented) = (Vec::new(), BTreeSet::new());
            for (language, features) in features.as_object().unwrap() {
                for (feature, entry) in features.as_object().unwrap() {
                    let used = [&entry["uvalues"], &entry["lvalues"]].map(texts).concat();
                    let unused = [&entry["unused_uvalues"], &entry["unused_lvalues"]].map(texts).concat();
                    documented.extend(used.iter().cloned().chain(unused).map(|value| format!("{feature}={value}")));
                    if entry["permitted"] != 1 || !LANGUAGES.contains(&language.as_str()) {
                        continue;
                    }
                    permitted.extend(used.into_iter().map(|value| {
                        Permitted {
                            language: language.clone(),
                            feature: feature.clone(),
                            pair: format!("{feature}={value}"),
                            parts_of_speech: (entry["byupos"].as_object().unwrap().iter())
                                .filter(|(_, values)| values.get(&value).is_some())
                                .map(|(pos, _)| pos.clone())
                                .collect(),
                        }
                    }));
                }
            }
            Validator { parts_of_speech: texts(&upos["upos"]), permitted, documented }
        }
    }

    /// Features that a singer's tag deliberately leaves out, and why.
    const OUTSIDE: [(&str, &str); 7] = [
        ("ExtPos", "tells as what a fixed expression behaves: an expression glossed as one has a tag of its own"),
        ("InflClass", "the stem class of a dictionary, not a meaning of the form"),
        ("InflClass[nominal]", "the same, of participles"),
        (
            "NameType",
            "what kind of thing a name names: nothing that a sheet shows; Proper=Yes is the part of speech PROPN",
        ),
        ("NumValue", "the number itself, which the gloss says"),
        ("PunctSide", "punctuation belongs to a word and has no tag"),
        ("PunctType", "punctuation belongs to a word and has no tag"),
    ];

    /// Single pairs that are left out.
    const OUTSIDE_PAIRS: [(&str, &str); 5] = [
        ("NumForm=Combi", "digits and letters mixed (2nd): no text is sung so"),
        ("NumForm=Cyril", "numerals of Church Slavonic manuscripts: no text is sung so"),
        ("NumForm=Reference", "chapter and verse, which no one sings"),
        ("Proper=Yes", "the part of speech PROPN says it"),
        ("Variant=Greek", "an ending of a stem class, as InflClass"),
    ];

    fn is_outside(feature: &str, pair: &str) -> bool {
        OUTSIDE.iter().any(|(name, _)| *name == feature) || OUTSIDE_PAIRS.iter().any(|(name, _)| *name == pair)
    }

    /// Universal POS tags (Nivre et al., Universal Dependencies v2, 2020), from memory.
    #[test]
    fn the_seventeen_parts_of_speech() {
        let list = "ADJ ADP ADV AUX CCONJ DET INTJ NOUN NUM PART PRON PROPN PUNCT SCONJ SYM VERB X";
        assert_eq!(Pos::ALL.map(Pos::upos).join(" "), list);
        for upos in list.split(' ') {
            let ud = Tag::from_ud(upos, "_").unwrap().to_ud().unwrap();
            assert_eq!((ud.upos, ud.features.as_str()), (upos, "_"));
        }
    }

    #[test]
    fn the_validator_has_the_same_parts_of_speech() {
        let Some(validator) = validator("the_validator_has_the_same_parts_of_speech") else { return };
        assert_eq!(validator.parts_of_speech, Pos::ALL.map(Pos::upos));
    }

    #[test]
    fn every_pair_of_the_singers_languages_is_known() {
        let Some(validator) = validator("every_pair_of_the_singers_languages_is_known") else { return };
        let mut missing: BTreeSet<String> = BTreeSet::new();
        let mut n_known = 0;
        for Permitted { language, feature, pair, parts_of_speech } in &validator.permitted {
            if is_outside(feature, pair) {
                continue;
            }
            for upos in parts_of_speech {
                match Tag::from_ud(upos, pair) {
                    Ok(tag) => {
                        let ud = tag.to_ud().unwrap();
                        assert_eq!((ud.upos, &ud.features), (upos.as_str(), pair), "{language}");
                        n_known += 1;
                    }
                    Err(unknown) => {
                        missing.insert(format!("{} ({language})", unknown.0));
                    }
                }
            }
        }
        eprintln!("{n_known} combinations of language, part of speech and feature are known");
        assert_eq!(missing, BTreeSet::new(), "pairs that src/song/tag/feature.rs does not know");
    }

    /// All features that a part of speech may have, one value each, in the order that the format asks for.
    #[test]
    fn many_features_keep_the_order_of_the_format() {
        let Some(validator) = validator("many_features_keep_the_order_of_the_format") else { return };
        for language in LANGUAGES {
            for upos in Pos::ALL.map(Pos::upos) {
                let of_pos = validator.permitted.iter().filter(|p| p.language == language);
                let known = of_pos.filter(|p| p.parts_of_speech.iter().any(|pos| pos == upos));
                let mut pairs: Vec<&str> = known.map(|p| p.pair.as_str()).collect();
                pairs.retain(|pair| Tag::from_ud(upos, pair).is_ok());
                pairs.sort_by_key(|pair| pair.to_lowercase());
                pairs.dedup_by_key(|pair| pair.split('=').next().unwrap_or_default());
                let features = if pairs.is_empty() { "_".to_owned() } else { pairs.join("|") };
                assert_eq!(Tag::from_ud(upos, &features).unwrap().to_ud().unwrap().features, features, "{language}");
            }
        }
    }

    #[test]
    fn what_is_left_out_is_there_and_unknown() {
        let Some(validator) = validator("what_is_left_out_is_there_and_unknown") else { return };
        for (feature, why) in OUTSIDE {
            assert!(validator.permitted.iter().any(|p| p.feature == feature), "{feature}: {why}");
        }
        for (pair, why) in OUTSIDE_PAIRS {
            assert!(validator.permitted.iter().any(|p| p.pair == pair), "{pair}: {why}");
        }
        for Permitted { feature, pair, .. } in &validator.permitted {
            assert!(!is_outside(feature, pair) || Tag::from_ud("X", pair).is_err(), "{pair} is known after all");
        }
    }

    #[test]
    fn no_pair_is_our_own_invention() {
        let Some(validator) = validator("no_pair_is_our_own_invention") else { return };
        let ours = Feature::all().filter_map(Feature::ud);
        let invented: BTreeSet<&str> = ours.filter(|pair| !validator.documented.contains(*pair)).collect();
        assert_eq!(invented, BTreeSet::new(), "pairs of src/song/tag/feature.rs that no language has");
    }

    /// A tag is stored in the short style and typed in any: in none may it become another.
    fn check_is_kept(upos: &str, features: &str) {
        let tag = Tag::from_ud(upos, features).unwrap();
        let ud = tag.to_ud().unwrap();
        assert_eq!((ud.upos, ud.features.as_str()), (upos, features));
        for style in [Style::Short, Style::Plain, Style::Words] {
            let printed = tag.print(style);
            let read = Tag::parse(&printed).to_ud().map(|ud| ud.features);
            assert_eq!(read.as_deref(), Some(features), "{upos} {features} as “{printed}”");
        }
    }

    /// Annotations as treebanks have them, from memory, for words such as Italian *canta*, French *chantées*, German
    /// *des* and *mir*, Latin *qui* and *venit*, Spanish *cantara* and *habría*, Russian *пел*, *мила* and *сказав*.
    #[test]
    fn annotations_of_treebanks_survive_being_printed() {
        check_is_kept("VERB", "Mood=Ind|Number=Sing|Person=3|Tense=Pres|VerbForm=Fin");
        check_is_kept("VERB", "Gender=Fem|Number=Plur|Tense=Past|VerbForm=Part");
        check_is_kept("DET", "Case=Gen|Definite=Def|Gender=Masc,Neut|Number=Sing|PronType=Art");
        check_is_kept("PRON", "Case=Dat|Number=Sing|Person=1|PronType=Prs|Reflex=Yes");
        check_is_kept("ADV", "Polarity=Neg");
        check_is_kept("PRON", "PronType=Int,Rel");
        check_is_kept("VERB", "Aspect=Perf|Mood=Ind|Number=Sing|Person=3|Tense=Past|VerbForm=Fin|Voice=Act");
        check_is_kept("VERB", "Mood=Sub|Number=Sing|Person=1|Tense=Imp|VerbForm=Fin");
        check_is_kept("ADJ", "Degree=Abs|Gender=Fem|Number=Sing");
        check_is_kept("AUX", "Mood=Cnd|Number=Sing|Person=1,3|VerbForm=Fin");
        check_is_kept("VERB", "Aspect=Imp|Gender=Masc|Mood=Ind|Number=Sing|Tense=Past|VerbForm=Fin|Voice=Act");
        check_is_kept("ADJ", "Degree=Pos|Gender=Fem|Number=Sing|Variant=Short");
        check_is_kept("VERB", "Aspect=Perf|Tense=Past|VerbForm=Conv|Voice=Act");
    }

    /// As Spanish *mis* and Italian *vostra*.
    #[test]
    fn the_possessor_is_not_taken_for_the_possessed() {
        check_is_kept("DET", "Gender=Fem|Number=Plur|Number[psor]=Sing|Person=1|Poss=Yes|PronType=Prs");
        check_is_kept("DET", "Gender=Fem|Number=Sing|Number[psor]=Plur|Person=2|Poss=Yes|PronType=Prs");
    }

    /// French and Latin write the person of the possessor as `Person[psor]`, as in *notre* and *tes*.
    #[test]
    fn the_person_of_a_possessor() {
        check_is_kept("DET", "Number=Sing|Number[psor]=Plur|Person[psor]=1|Poss=Yes|PronType=Prs");
        check_is_kept("DET", "Gender=Fem|Number=Plur|Number[psor]=Sing|Person[psor]=2|Poss=Yes");
    }

    #[test]
    fn every_known_pair_survives_being_printed() {
        let Some(validator) = validator("every_known_pair_survives_being_printed") else { return };
        for Permitted { pair, parts_of_speech, .. } in &validator.permitted {
            // The number of a possessor is told from that of the thing by the person beside it, and is never alone.
            let known = parts_of_speech.iter().filter(|upos| Tag::from_ud(upos, pair).is_ok());
            for upos in known.filter(|_| !pair.starts_with("Number[psor]")) {
                check_is_kept(upos, pair);
            }
        }
    }
}

/// Widths, clusters, normal form and case folding of Unicode.
mod unicode {
    use super::skipped;
    use std::process::Command;
    use std::sync::OnceLock;
    use undersong::text::cluster::{clusters, width};
    use undersong::text::fold::comparison_key;
    use undersong::text::{is_apostrophe, nfc};

    /// Writes what Python's `unicodedata` knows: the Unicode version; a line for each assigned character of the blocks
    /// (number, category, East Asian width, case folding); a line for each sequence of letters and marks with its NFC.
    const SCRIPT: &str = r#"
import unicodedata as u
BLOCKS = """0020-007E 00A0-024F 0250-02FF 0300-036F 0370-03FF 0400-052F 1100-11FF 1AB0-1AFF 1C80-1C8F 1D00-1DFF
1E00-1EFF 1F00-1FFF 2010-2027 2030-205E 20D0-20FF 2500-259F 2C60-2C7F 2DE0-2DFF 2E80-2FDF 2FF0-2FFB 3000-303F 3040-30FF
3130-318F 31F0-31FF 3400-4DBF 4E00-9FFF A640-A69F A720-A7FF A960-A97F AB30-AB6F AC00-D7FF F900-FAFF FB00-FB06
FE20-FE2F FF00-FFEF 20000-2A6DF 2F800-2FA1F"""
MARKS = [0x300, 0x301, 0x302, 0x303, 0x304, 0x306, 0x307, 0x308, 0x30A, 0x30B, 0x30C, 0x30F, 0x311, 0x313, 0x314, 0x323,
         0x324, 0x325, 0x327, 0x328, 0x329, 0x32D, 0x32E, 0x330, 0x331, 0x338, 0x342, 0x345, 0x361]
bounds = [[int(n, 16) for n in block.split('-')] for block in BLOCKS.split()]
chars = [c for first, last in bounds for c in map(chr, range(first, last + 1)) if u.category(c) not in ('Cn', 'Cs')]
hexes = lambda text: ' '.join(f'{ord(c):x}' for c in text)
out = [u.unidata_version]
for c in chars:
    out.append(f'C;{hexes(c)};{u.category(c)};{u.east_asian_width(c)};{hexes(c.casefold())}')
def normal(text):
    out.append(f"N;{hexes(text)};{hexes(u.normalize('NFC', text))}")
letters = [c for c in chars if u.category(c) in ('Ll', 'Lu', 'Lo') and ord(c) < 0x530 or 0x1E00 <= ord(c) < 0x2000]
for c in chars:
    normal(c)
    if u.decomposition(c) or u.category(c) == 'Lo' and 0xAC00 <= ord(c) <= 0xD7A3:
        normal(u.normalize('NFD', c))
for c in letters:
    for mark in MARKS:
        normal(c + chr(mark))
for c in 'aceosuAEOøœæαωἀеиоу':
    for mark in MARKS:
        for other in MARKS:
            normal(c + chr(mark) + chr(other))
print('\n'.join(out))
"#;

    /// A character as Python knows it.
    struct Known {
        c: char,
        category: String,
        east_asian_width: String,
        folded: String,
    }

    struct Python {
        version: String,
        characters: Vec<Known>,
        /// Sequences with their NFC.
        normal: Vec<(String, String)>,
    }

    /// What Python knows; `None` where there is no Python.
    fn python(test: &str) -> Option<&'static Python> {
        static PYTHON: OnceLock<Result<Python, String>> = OnceLock::new();
        let python = PYTHON.get_or_init(ask_python).as_ref().map_err(|why| skipped(test, why)).ok()?;
        eprintln!("{test}: Python knows Unicode {}", python.version);
        Some(python)
    }

    fn ask_python() -> Result<Python, String> {
        let output = Command::new("python3").args(["-c", SCRIPT]).output();
        let output = output.map_err(|e| format!("python3 cannot be run: {e}"))?;
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        let output = String::from_utf8(output.stdout).unwrap();
        let mut lines = output.lines();
        let version = lines.next().unwrap().to_owned();
        let text = |hexes: &str| -> String {
            hexes.split(' ').map(|h| char::from_u32(u32::from_str_radix(h, 16).unwrap()).unwrap()).collect()
        };
        let (mut characters, mut normal) = (Vec::new(), Vec::new());
        for line in lines {
            match line.split(';').collect::<Vec<_>>()[..] {
                ["C", c, category, east_asian_width, folded] => characters.push(Known {
                    c: text(c).chars().next().unwrap(),
                    category: category.to_owned(),
                    east_asian_width: east_asian_width.to_owned(),
                    folded: text(folded),
                }),
                ["N", sequence, composed] => normal.push((text(sequence), text(composed))),
                _ => panic!("{line}"),
            }
        }
        Ok(Python { version, characters, normal })
    }

    /// Hangul vowels and final consonants, which stand in the cells of the consonant before them.
    fn is_conjoining(c: char) -> bool {
        matches!(c, '\u{1160}'..='\u{11ff}' | '\u{d7b0}'..='\u{d7ff}')
    }

    /// Hangul tone marks: spacing marks that are set in the cells of their syllable.
    fn is_tone_mark(c: char) -> bool {
        matches!(c, '\u{302e}' | '\u{302f}')
    }

    /// Characters without a picture of their own (`Default_Ignorable_Code_Point`): soft hyphen and Hangul fillers.
    fn is_ignorable(c: char) -> bool {
        matches!(c, '\u{ad}' | '\u{3164}' | '\u{ffa0}')
    }

    /// Unicode Standard Annex 11: wide and fullwidth characters take two cells, all others one; marks take none.
    #[test]
    fn widths_agree_with_east_asian_width() {
        let Some(python) = python("widths_agree_with_east_asian_width") else { return };
        assert!(python.characters.len() > 80_000);
        let mut differences = Vec::new();
        for Known { c, category, east_asian_width, .. } in &python.characters {
            let (text, expected) = match (category.as_str(), east_asian_width.as_str()) {
                ("Mn" | "Me", _) => (format!("a{c}"), 1),
                _ if is_tone_mark(*c) => (format!("\u{ac00}{c}"), 2),
                _ if is_conjoining(*c) => (format!("\u{1100}{c}"), 2),
                _ if is_ignorable(*c) => (c.to_string(), 0),
                (_, "W" | "F") => (c.to_string(), 2),
                _ => (c.to_string(), 1),
            };
            if width(&text) != expected {
                differences.push(format!("U+{:04X}: {expected} cells, not {}", *c as u32, width(&text)));
            }
        }
        assert_eq!(differences, [""; 0], "against Unicode {}", python.version);
    }

    fn check_width(text: &str, cells: usize) {
        assert_eq!(width(text), cells, "{}", text.escape_unicode());
    }

    /// Sequences of Unicode Technical Standard 51 (Unicode Emoji), from memory: each is one picture of two cells.
    #[test]
    fn an_emoji_sequence_takes_two_cells() {
        for sequence in [
            "\u{1f3b6}",                                                       // notes
            "\u{2764}\u{fe0f}",                                                // red heart
            "\u{1f44d}\u{1f3fd}",                                              // thumbs up, medium skin tone
            "\u{1f1eb}\u{1f1f7}",                                              // flag of France
            "\u{1f3f4}\u{e0067}\u{e0062}\u{e0073}\u{e0063}\u{e0074}\u{e007f}", // flag of Scotland
            "\u{1f469}\u{200d}\u{1f3a4}",                                      // woman singer
            "\u{1f468}\u{1f3ff}\u{200d}\u{1f3a4}",                             // man singer, dark skin tone
            "\u{1f468}\u{200d}\u{1f469}\u{200d}\u{1f467}\u{200d}\u{1f466}",    // family
            "\u{1f3f3}\u{fe0f}\u{200d}\u{1f308}",                              // rainbow flag
            "\u{2764}\u{fe0f}\u{200d}\u{1f525}",                               // heart on fire
            "\u{26f9}\u{1f3fb}\u{200d}\u{2640}\u{fe0f}",                       // woman bouncing ball, light skin tone
            "1\u{fe0f}\u{20e3}",                                               // keycap 1
        ] {
            check_width(sequence, 2);
            check_width(&format!("a{sequence}b"), 4);
        }
    }

    #[test]
    fn marks_in_a_row_take_no_cells() {
        check_width("a\u{304}\u{301}\u{323}", 1);
        check_width("ŋ\u{30d}\u{329}", 1);
        check_width("t\u{361}s", 2);
        check_width("ᾳ\u{308}\u{342}", 1);
        check_width("愛\u{3099}", 2);
        check_width("か\u{3099}", 2);
        check_width("\u{1112}\u{1161}\u{11ab}", 2);
    }

    /// Halfwidth voice marks are characters of one cell, although they are one cluster with the letter before them.
    #[test]
    fn a_halfwidth_voice_mark_has_a_cell() {
        check_width("\u{ff76}\u{ff9e}", 2);
        check_width("\u{ff8a}\u{ff9f}", 2);
    }

    /// Unicode Standard Annex 15.
    #[test]
    fn composed_forms_agree() {
        let Some(python) = python("composed_forms_agree") else { return };
        assert!(python.normal.len() > 150_000);
        for (sequence, composed) in &python.normal {
            assert_eq!(&nfc(sequence), composed, "{}", sequence.escape_unicode());
        }
    }

    /// Letters whose full folding is longer than one letter; the comparison key folds simply: ß and ss stay apart.
    fn folds_to_several(c: char) -> bool {
        matches!(
            c,
            'ß' | 'ẞ' | 'İ' | 'ŉ' | 'ẚ' | '\u{1f80}'..='\u{1faf}' | 'ᾲ'..='ᾴ' | 'ᾷ' | 'ᾼ' | 'ῂ'..='ῄ' | 'ῇ' | 'ῌ'
                | 'ῲ'..='ῴ'
                | 'ῷ' | 'ῼ' | '\u{fb00}'..='\u{fb06}'
        )
    }

    /// `CaseFolding.txt` of Unicode, by way of Python's `str.casefold`, which folds fully.
    #[test]
    fn case_folding_agrees_but_for_full_foldings() {
        let Some(python) = python("case_folding_agrees_but_for_full_foldings") else { return };
        let letters = python.characters.iter().filter(|k| k.category.starts_with('L') && !is_apostrophe(k.c));
        let (mut differences, mut n_letters) = (Vec::new(), 0);
        for Known { c, folded, .. } in letters {
            n_letters += 1;
            let key = comparison_key(&c.to_string());
            let is_same = key == nfc(folded);
            if is_same == folds_to_several(*c) || key.chars().count() != 1 {
                differences.push(format!("U+{:04X} {c}: {key}, not {folded}", *c as u32));
            }
        }
        assert!(n_letters > 80_000);
        assert_eq!(differences, [""; 0], "against Unicode {}", python.version);
    }

    /// Unicode Standard Annex 29: the official `GraphemeBreakTest.txt`, which the crate `unicode-segmentation` carries.
    #[test]
    fn clusters_are_those_of_the_official_test() {
        let test = "clusters_are_those_of_the_official_test";
        let source = match break_tests() {
            Ok(source) => source,
            Err(why) => return skipped(test, why),
        };
        let version = source.split("/Public/").nth(1).and_then(|s| s.split('/').next()).unwrap();
        eprintln!("{test}: the official test of Unicode {version}");
        // Where legacy and extended clusters differ, the extended ones come first.
        let tests = [entries(&source, "TEST_SAME"), entries(&source, "TEST_DIFF")].concat();
        assert!(tests.len() > 600, "{} tests", tests.len());
        for lists in tests {
            let (text, expected) = (&lists[0][0], &lists[1]);
            assert_eq!(&clusters(text).collect::<Vec<_>>(), expected, "{}", text.escape_unicode());
        }
    }

    /// The file in which the crate keeps the official tests.
    fn break_tests() -> Result<String, String> {
        // Packages for other systems need not be there.
        let version = cargo(&["-vV"])?;
        let host = version.lines().find_map(|l| l.strip_prefix("host: ")).unwrap();
        let manifest = concat!(env!("CARGO_MANIFEST_DIR"), "/Cargo.toml");
        let metadata = cargo(&[
            "metadata",
            "--format-version=1",
            "--frozen",
            "--filter-platform",
            host,
            "--manifest-path",
            manifest,
        ])?;
        let metadata: serde_json::Value = serde_json::from_str(&metadata).unwrap();
        let mut packages = metadata["packages"].as_array().unwrap().iter();
        let package = packages.find(|p| p["name"] == "unicode-segmentation").unwrap();
        let manifest = std::path::Path::new(package["manifest_path"].as_str().unwrap());
        let file = manifest.with_file_name("tests/testdata/mod.rs");
        std::fs::read_to_string(file).map_err(|e| format!("unicode-segmentation comes without its tests: {e}"))
    }

    fn cargo(args: &[&str]) -> Result<String, String> {
        let output =
            Command::new(env!("CARGO")).args(args).output().map_err(|e| format!("cargo cannot be run: {e}"))?;
        if output.status.success() {
            Ok(String::from_utf8(output.stdout).unwrap())
        } else {
            Err(String::from_utf8_lossy(&output.stderr).into_owned())
        }
    }

    /// Reads a constant of tuples of a string and lists of strings; a string counts as a list of one.
    fn entries(source: &str, constant: &str) -> Vec<Vec<Vec<String>>> {
        let (_, table) = source.split_once(&format!("pub const {constant}:")).unwrap();
        let (_, table) = table.split_once("= &[").unwrap();
        let (mut entries, mut in_list) = (Vec::<Vec<Vec<String>>>::new(), false);
        let mut pieces = table.split('"');
        while let Some(code) = pieces.next() {
            for sign in code.chars() {
                match sign {
                    '(' => entries.push(Vec::new()),
                    '[' => entries.last_mut().unwrap().push(Vec::new()),
                    ';' => return entries,
                    _ => {}
                }
                in_list = sign == '[' || (in_list && sign != ']');
            }
            let entry = entries.last_mut().unwrap();
            if !in_list {
                entry.push(Vec::new());
            }
            entry.last_mut().unwrap().push(unescaped(pieces.next().unwrap()));
        }
        panic!("{constant} does not end");
    }

    /// The text of a string literal that has escapes of the form `\u{e9}` only.
    fn unescaped(literal: &str) -> String {
        let mut text = String::new();
        for (n, part) in literal.split("\\u{").enumerate() {
            let rest = if n == 0 { part } else { part.split_once('}').unwrap().1 };
            if n > 0 {
                let (hex, _) = part.split_once('}').unwrap();
                text.push(char::from_u32(u32::from_str_radix(hex, 16).unwrap()).unwrap());
            }
            text.push_str(rest);
        }
        text
    }
}
