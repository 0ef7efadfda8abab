//! Tokens: a line taken apart into written forms, punctuation and joins, and put together again.
//!
//! The steps, on the French line `« Ah ! l’ombre, dit-elle.`:
//!
//! | step | result |
//! | --- | --- |
//! | pieces between spaces | `«` `Ah` `!` `l’ombre,` `dit-elle.` |
//! | punctuation around each piece | lead, run, trail: `` `l’ombre` `,` `` |
//! | pieces without letters go to a neighbour | `« ` is the lead of `Ah`, ` !` its trail |
//! | cuts of the language inside a run | `l’` + `ombre`, `dit` + `-elle` |

use super::{Language, Position};
use crate::text::{self, fold::comparison_key};

/// A written form with its punctuation.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Token {
    /// Punctuation before the form, with the space after it where the text has one.
    pub lead: String,
    /// The written form; without letters only where a line has none at all.
    pub form: String,
    /// Punctuation after the form, with the space before it where the text has one.
    pub trail: String,
    /// Whether no space separates the token from the next.
    pub is_joined: bool,
}

/// Takes a line apart. [`text_of_tokens`] gives back the line as [`crate::text::clean::line`] cleans it, to the letter.
pub fn tokens(language: &dyn Language, line: &str) -> Vec<Token> {
    let line = text::clean::line(line);
    let mut tokens: Vec<Token> = Vec::new();
    let mut lead = String::new();
    let mut quotation = Quotation::default();
    for (start, piece) in pieces(&line) {
        let Some(core) = Core::of(language, piece, &line[start + piece.len()..], &mut quotation) else {
            // Only punctuation: it belongs to the word before it, unless it opens something or stands first.
            match tokens.last_mut() {
                Some(last) if lead.is_empty() && !opens(piece) => {
                    last.trail.push(' ');
                    last.trail.push_str(piece);
                }
                _ => {
                    lead.push_str(piece);
                    lead.push(' ');
                }
            }
            continue;
        };
        let first = tokens.len();
        push_runs(language, core.run, &mut tokens);
        let pushed = &mut tokens[first..];
        pushed[0].lead = std::mem::take(&mut lead) + core.lead;
        if let Some(last) = pushed.last_mut() {
            last.trail.push_str(core.trail);
        }
    }
    let rest = lead.trim_end();
    match tokens.last_mut() {
        _ if rest.is_empty() => {}
        Some(last) => {
            last.trail.push(' ');
            last.trail.push_str(rest);
        }
        None => tokens.push(Token { form: rest.to_owned(), ..Token::default() }),
    }
    tokens
}

/// Puts a line together again.
pub fn text_of_tokens(tokens: &[Token]) -> String {
    let mut line = String::new();
    for (idx, token) in tokens.iter().enumerate() {
        line.push_str(&token.lead);
        line.push_str(&token.form);
        line.push_str(&token.trail);
        if !token.is_joined && idx + 1 < tokens.len() {
            line.push(' ');
        }
    }
    line
}

/// The pieces between plain spaces, with their byte offsets; a no-break space holds a piece together.
fn pieces(line: &str) -> impl Iterator<Item = (usize, &str)> {
    line.split(' ').filter(|p| !p.is_empty()).map(|p| (p.as_ptr() as usize - line.as_ptr() as usize, p))
}

fn is_letter(c: char) -> bool {
    use unicode_properties::{GeneralCategoryGroup, UnicodeGeneralCategory};
    c.is_alphanumeric() || c.general_category_group() == GeneralCategoryGroup::Mark
}

/// Marks with which a quotation, a parenthesis or a Spanish question begins.
fn opens(piece: &str) -> bool {
    piece.chars().all(|c| matches!(c, '«' | '‹' | '“' | '„' | '‚' | '(' | '[' | '{' | '¿' | '¡' | '℣' | '℟'))
}

/// A piece without its punctuation.
struct Core<'a> {
    lead: &'a str,
    run: &'a str,
    trail: &'a str,
}

/// Whether a quotation in single marks is open, and what closes it.
#[derive(Default)]
struct Quotation {
    closes_with: Option<fn(char) -> bool>,
}

impl<'a> Core<'a> {
    /// Finds the run of letters in a piece, with the apostrophes that belong to it; `None` for a piece of punctuation.
    fn of(language: &dyn Language, piece: &'a str, rest: &str, quotation: &mut Quotation) -> Option<Core<'a>> {
        let mut start = piece.find(is_letter)?;
        let (last, c) = piece.char_indices().rfind(|(_, c)| is_letter(*c))?;
        let mut end = last + c.len_utf8();
        if let Some(mark) = piece[..start].chars().next_back().filter(|c| text::is_apostrophe(*c)) {
            let word = comparison_key(&piece[start..end]);
            let word = word.split(|c| !is_letter(c)).next().unwrap_or_default();
            let is_capital = piece[start..].starts_with(char::is_uppercase);
            if quotation.is_opened_by(mark, language.loses_its_beginning(word), is_capital, &piece[end..], rest) {
                quotation.open(mark);
            } else {
                start -= mark.len_utf8();
            }
        }
        if let Some(mark) = piece[..start].chars().rfind(|c| *c == '‚') {
            quotation.open(mark);
        }
        if let Some(mark) = piece[end..].chars().next().filter(|c| text::is_apostrophe(*c)) {
            let word = comparison_key(&piece[start..end]);
            let word = word.rsplit(|c| !is_letter(c)).next().unwrap_or_default();
            if quotation.is_closed_by(mark) && !language.loses_its_end(word) {
                quotation.closes_with = None;
            } else {
                end += mark.len_utf8();
            }
        }
        Some(Core { lead: &piece[..start], run: &piece[start..end], trail: &piece[end..] })
    }
}

impl Quotation {
    /// Tells whether a mark before a word opens a quotation rather than standing for a lost beginning.
    ///
    /// The turned comma and the grave accent open unless the word is known to lose its beginning; the raised comma never opens; the
    /// typewriter apostrophe opens if another one closes in the same line, or before a capital: a speech may go on in the next line.
    fn is_opened_by(&self, mark: char, loses_its_beginning: bool, is_capital: bool, trail: &str, rest: &str) -> bool {
        if loses_its_beginning || self.closes_with.is_some() {
            return false;
        }
        match mark {
            '‘' | '‛' | '`' => true,
            '\'' => {
                let closes = |text: &str| text.split_whitespace().any(ends_in_mark);
                is_capital || trail.contains('\'') || closes(rest)
            }
            _ => false,
        }
    }

    fn open(&mut self, mark: char) {
        self.closes_with = Some(match mark {
            '\'' => |c| c == '\'',
            '`' => |c| matches!(c, '\'' | '´' | '`'),
            '‚' => |c| matches!(c, '‘' | '’'),
            _ => |c| matches!(c, '’' | '\''),
        });
    }

    fn is_closed_by(&self, mark: char) -> bool {
        self.closes_with.is_some_and(|closes| closes(mark))
    }
}

/// Tells whether a piece ends in a typewriter apostrophe after a letter or a sentence mark.
fn ends_in_mark(piece: &str) -> bool {
    piece.trim_end_matches([',', '.', ';', ':', '!', '?']).strip_suffix('\'').is_some_and(|p| !p.is_empty())
}

/// Pushes the words of a run: cut at punctuation inside it first, then where the language cuts.
fn push_runs(language: &dyn Language, run: &str, tokens: &mut Vec<Token>) {
    let mut rest = run;
    loop {
        let (word, mark, next) = split_at_punctuation(rest);
        let position = if tokens.is_empty() { Position::LineStart } else { Position::Within };
        let mut start = 0;
        for cut in language.cuts(word, position) {
            debug_assert!(cut > start && cut < word.len(), "cut {cut} of {word:?}");
            tokens.push(Token { form: word[start..cut].to_owned(), is_joined: true, ..Token::default() });
            start = cut;
        }
        let is_joined = !next.is_empty();
        tokens.push(Token { form: word[start..].to_owned(), trail: mark.to_owned(), is_joined, ..Token::default() });
        if !is_joined {
            return;
        }
        rest = next;
    }
}

/// Splits a run at the first punctuation inside it that does not belong to a word: what is before, the punctuation, the rest.
///
/// Apostrophes, single hyphens, the marks of morphemes (`=`, `~`, `<`, `>`), and points between digits belong to a word.
fn split_at_punctuation(run: &str) -> (&str, &str, &str) {
    let chars: Vec<(usize, char)> = run.char_indices().collect();
    let is_digit = |idx: usize| chars.get(idx).is_some_and(|(_, c)| c.is_ascii_digit());
    let belongs = |idx: usize, c: char| {
        is_letter(c)
            || text::is_apostrophe(c)
            || (text::is_hyphen(c) && !text::is_hyphen(chars.get(idx + 1).map_or(' ', |n| n.1)))
                && !(idx > 0 && text::is_hyphen(chars[idx - 1].1))
            || matches!(c, '=' | '~' | '<' | '>' | '_' | '·' | '\u{200c}' | '\u{200d}')
            || matches!(c, '.' | ',' | ':' | '/') && idx > 0 && is_digit(idx - 1) && is_digit(idx + 1)
    };
    let Some(first) = chars.iter().enumerate().position(|(idx, (_, c))| !belongs(idx, *c)) else {
        return (run, "", "");
    };
    let end = chars[first..].iter().position(|(_, c)| is_letter(*c)).map_or(run.len(), |n| chars[first + n].0);
    let start = chars[first].0;
    if start == 0 { (run, "", "") } else { (&run[..start], &run[start..end], &run[end..]) }
}

#[cfg(test)]
mod tests {
    use super::super::{ALL, by_tag, by_tag_or_plain};
    use super::*;
    use proptest::prelude::*;

    /// Draws tokens: forms between bars, a joined one followed by `+`, punctuation in place.
    fn drawn(tag: &str, line: &str) -> String {
        let draw = |t: Token| format!("{}[{}]{}{}", t.lead, t.form, t.trail, if t.is_joined { "+" } else { " " });
        tokens(by_tag_or_plain(tag), line).into_iter().map(draw).collect::<String>().trim_end().to_owned()
    }

    fn check(tag: &str, line: &str, expected: &str) {
        assert_eq!(drawn(tag, line), expected, "{tag}: {line}");
    }

    #[test]
    fn italian() {
        check("it", "L’ombra dell'amor", "[L’]+[ombra] [dell']+[amor]");
        check("it", "Un po’ d´ amor", "[Un] [po’] [d´] [amor]");
        check("it", "e ’l cor, che'l sol", "[e] [’l] [cor], [che]+['l] [sol]");
        check("it", "com'è, c’è, anch'io", "[com']+[è], [c’]+[è], [anch']+[io]");
        check("it", "'l cor dice: 'vieni'", "['l] [cor] [dice]: '[vieni]'");
        check("it", "‘un po’ d’amor’", "‘[un] [po’] [d’]+[amor]’");
        check("it", "ond'io te'l dica", "[ond']+[io] [te]+['l] [dica]");
    }

    #[test]
    fn german() {
        check("de", "Ich hab’ ’s, ich’s, wenn's", "[Ich] [hab’] [’s], [ich]+[’s], [wenn]+['s]");
        check("de", "„Heil’ge Nacht“", "„[Heil’ge] [Nacht]“");
        check("de", "in Ventalba's Licht", "[in] [Ventalba's] [Licht]");
        check("de", "Geht's gut? Hab'ich", "[Geht]+['s] [gut]? [Hab']+[ich]");
        check("de", "geh'n, gold'nen, auf'm", "[geh'n], [gold'nen], [auf]+['m]");
        check("de", "»Wald-, Wiesenblume« – ‚leis‘", "»[Wald]-, [Wiesenblume]« – ‚[leis]‘");
        check("de", "'s ist still", "['s] [ist] [still]");
    }

    #[test]
    fn french() {
        check("fr", "Qu’est-ce qu'il dit ?", "[Qu’]+[est]+[-ce] [qu']+[il] [dit] ?");
        check("fr", "« Ah ! » va-t-il", "« [Ah] ! » [va]+[-t-il]");
        check("fr", "«\u{a0}Ah\u{a0}! l’ombre\u{a0}»", "«\u{a0}[Ah]\u{a0}! [l’]+[ombre]\u{a0}»");
        check("fr", "d'aujourd’hui, quelqu'un, presqu'île", "[d']+[aujourd’hui], [quelqu'un], [presqu'île]");
        check("fr", "donne-le-moi, peut-être, arc-en-ciel", "[donne]+[-le]+[-moi], [peut-être], [arc-en-ciel]");
        check("fr", "celui-là va-t’en", "[celui-là] [va]+[-t’]+[en]");
        check("fr", "c’est-à-dire, là-bas, rendez-vous", "[c’est-à-dire], [là-bas], [rendez-vous]");
        check("fr", "jusqu’à l’aube", "[jusqu’]+[à] [l’]+[aube]");
    }

    #[test]
    fn spanish() {
        check("es", "¿Dónde estás? ¡Ay, amor!", "¿[Dónde] [estás]? ¡[Ay], [amor]!");
        check("es", "—¿Qué dices? —dijo—.", "—¿[Qué] [dices]? —[dijo]—.");
        check("es", "¿ Qué ?", "¿ [Qué] ?");
    }

    #[test]
    fn english() {
        check("en", "'Tis love's sweet pow'r, don’t", "['Tis] [love]+['s] [sweet] [pow'r], [do]+[n’t]");
        check("en", "she'd lov'd, we'll, o'er th'eternal", "[she]+['d] [lov'd], [we]+['ll], [o'er] [th']+[eternal]");
        check("en", "'Drop thy pipe, thy happy pipe;", "'[Drop] [thy] [pipe], [thy] [happy] [pipe];");
        check("en", "‘twas he said ‘come’", "[‘twas] [he] [said] ‘[come]’");
    }

    #[test]
    fn latin_and_russian() {
        check("la", "Lumen, noctis arbiter; * plebs", "[Lumen], [noctis] [arbiter]; * [plebs]");
        check("ru", "Что-то — «светит», из-за", "[Что-то] — «[светит]», [из-за]");
        check("ru", "любо\u{301}вь", "[любо\u{301}вь]");
    }

    #[test]
    fn marks_that_many_languages_share() {
        check("it", "amore—morte, sì...no", "[amore]—+[morte], [sì]...+[no]");
        check("it", "— Ah! — (bis) 3 volte, 1.000", "— [Ah]! — ([bis]) [3] [volte], [1.000]");
        check("it", "𝄆 Viva! 𝄇", "𝄆 [Viva]! 𝄇");
        check("it", "amor -- morte; gioia/dolor", "[amor] -- [morte]; [gioia]/+[dolor]");
        check("it", "* * *", "[* * *]");
        check("it", "", "");
        check("tlh", "b<um>ili n=an insul-arum", "[b<um>ili] [n=an] [insul-arum]");
    }

    #[test]
    fn marks_in_a_row() {
        check("it", "l''l", "[l]+[''l]");
        check("it", "à''N]", "[à]+[''N]]");
        check("fr", "qu''il l'-tu", "[qu'']+[il] [l']+[-tu]");
    }

    proptest! {
        #[test]
        fn tokens_reproduce_the_line(line in "\\PC{0,60}", tag in proptest::sample::select(vec!["it", "de", "fr", "la", "es", "ru", "en", "xx"])) {
            let tokens = tokens(by_tag_or_plain(tag), &line);
            prop_assert_eq!(text_of_tokens(&tokens), text::clean::line(&line));
            for token in &tokens {
                prop_assert!(!token.form.is_empty() && token.form.trim() == token.form);
            }
        }

        #[test]
        fn tokens_reproduce_lines_full_of_marks(line in "([a-zé]{0,3}['’‘\\-—.,!?«»“”()¿ =<\u{a0}\u{301}\u{ad}]{0,3}){0,12}") {
            for language in ALL {
                let tokens = tokens(language, &line);
                prop_assert_eq!(text_of_tokens(&tokens), text::clean::line(&line));
            }
        }

        #[test]
        fn punctuation_is_never_in_a_form_at_its_ends(line in "[a-z,.!?;:()« »]{1,30}") {
            for token in tokens(by_tag("it").unwrap(), &line) {
                if token.form.chars().any(is_letter) {
                    prop_assert!(token.form.starts_with(is_letter) && token.form.ends_with(is_letter), "{:?}", token);
                }
            }
        }
    }
}
