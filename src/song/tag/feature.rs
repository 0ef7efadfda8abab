//! The features of inflection: one table from which printing, parsing and the mapping to Universal Dependencies follow.

use Category::*;
use std::collections::HashMap;
use std::sync::OnceLock;

/// One value of one grammatical category, for example "feminine".
///
/// Features compare in canonical order, the order in which tags print them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Feature(u8);

/// The grammatical category to which a feature belongs, in canonical order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[expect(missing_docs, reason = "the names are those of grammars")]
pub enum Category {
    /// Kind of pronoun, determiner, numeral or adposition.
    Type,
    Degree,
    Animacy,
    Person,
    PossessorNumber,
    PossessorGender,
    Gender,
    Number,
    Case,
    Tense,
    Aspect,
    Mood,
    VerbForm,
    Voice,
    Polarity,
    /// Syntactic roles and markers of the Leipzig list that name no category of the singer's languages.
    Role,
    /// Register, spelling, form: what Universal Dependencies notes about the written word.
    Form,
}

/// The names of a feature.
struct Entry {
    category: Category,
    abbreviation: &'static str,
    plain: &'static str,
    words: &'static str,
    /// `Feature=Value` of Universal Dependencies; empty where that has none.
    ud: &'static str,
}

impl Feature {
    /// Returns every feature in canonical order.
    pub fn all() -> impl Iterator<Item = Feature> {
        (0..TABLE.len() as u8).map(Feature)
    }

    /// Returns the feature with this abbreviation, in capitals.
    pub fn from_abbreviation(abbreviation: &str) -> Option<Feature> {
        Feature::all().find(|f| f.abbreviation() == abbreviation)
    }

    /// Returns the category to which the feature belongs.
    pub fn category(self) -> Category {
        self.entry().category
    }

    /// Returns the abbreviation in capitals: that of the Leipzig list where it has one.
    pub fn abbreviation(self) -> &'static str {
        self.entry().abbreviation
    }

    /// Returns the abbreviated word as grammars print it.
    pub fn plain(self) -> &'static str {
        self.entry().plain
    }

    /// Returns the whole word or words.
    pub fn words(self) -> &'static str {
        self.entry().words
    }

    /// Returns `Feature=Value` of Universal Dependencies, if that knows the feature.
    pub fn ud(self) -> Option<&'static str> {
        Some(self.entry().ud).filter(|ud| !ud.is_empty())
    }

    /// Returns the first feature that Universal Dependencies writes as `pair`.
    pub(super) fn from_ud(pair: &str) -> Option<Feature> {
        Feature::all().find(|f| f.entry().ud == pair)
    }

    /// Returns the same number as the number of a possessor.
    pub(super) fn of_possessor(self) -> Option<Feature> {
        let value = self.entry().ud.strip_prefix("Number=")?;
        Feature::from_ud(&format!("Number[psor]={value}"))
    }

    /// Returns the number of a possessor as plain number.
    pub(super) fn as_number(self) -> Option<Feature> {
        let value = self.entry().ud.strip_prefix("Number[psor]=")?;
        Feature::from_ud(&format!("Number={value}"))
    }

    /// Finds the longest name with which the small-letter tokens start; returns how many tokens it takes.
    pub(super) fn match_start(tokens: &[&str]) -> Option<(Feature, usize)> {
        static NAMES: OnceLock<Names<Feature>> = OnceLock::new();
        let names = |f: Feature| [f.entry().abbreviation, f.entry().plain, f.entry().words];
        NAMES.get_or_init(|| Names::of(Feature::all().map(|f| (f, names(f))))).longest_start(tokens)
    }

    fn entry(self) -> &'static Entry {
        &TABLE[usize::from(self.0)]
    }
}

/// Names of several words, found at the start of a list of tokens.
pub(super) struct Names<T> {
    /// By their words in small letters, joined by spaces.
    by_name: HashMap<String, T>,
    most_words: usize,
}

impl<T: Copy> Names<T> {
    /// Gathers things by their names; of two with the same name the first has it.
    pub(super) fn of(named: impl Iterator<Item = (T, [&'static str; 3])>) -> Names<T> {
        let mut names = Names { by_name: HashMap::new(), most_words: 0 };
        for (thing, name) in named.flat_map(|(thing, of_thing)| of_thing.map(|name| (thing, name))) {
            let words: Vec<String> =
                name.split(['.', ' ']).filter(|word| !word.is_empty()).map(str::to_lowercase).collect();
            names.most_words = names.most_words.max(words.len());
            names.by_name.entry(words.join(" ")).or_insert(thing);
        }
        names
    }

    /// Finds the thing with the longest name with which the tokens start; returns how many tokens the name takes.
    pub(super) fn longest_start(&self, tokens: &[&str]) -> Option<(T, usize)> {
        (1..=self.most_words.min(tokens.len())).rev().find_map(|n| {
            let thing = if n == 1 { self.by_name.get(tokens[0]) } else { self.by_name.get(&tokens[..n].join(" ")) };
            thing.map(|thing| (*thing, n))
        })
    }
}

const fn entry(
    category: Category,
    abbreviation: &'static str,
    plain: &'static str,
    words: &'static str,
    ud: &'static str,
) -> Entry {
    Entry { category, abbreviation, plain, words, ud }
}

/// Every feature in canonical order.
///
/// Abbreviations are those of the Leipzig Glossing Rules (2015 revision); where that list has none, a common abbreviation of
/// grammars or the value's own name. A pronoun's being indefinite or negative (`INDFP`, `NEGP`) is kept apart from the indefinite
/// article (`INDF`) and from plain negation (`NEG`), as Universal Dependencies does. Where two features share a pair of Universal
/// Dependencies (`PFV` and `PRF`), the first is what that pair is read as.
#[rustfmt::skip]
static TABLE: &[Entry] = &[
    entry(Type, "ART", "art.", "article", "PronType=Art"),
    entry(Type, "PERS", "pers.", "personal", "PronType=Prs"),
    entry(Type, "DEF", "def.", "definite", "Definite=Def"),
    entry(Type, "INDF", "indef.", "indefinite", "Definite=Ind"),
    entry(Type, "DEM", "dem.", "demonstrative", "PronType=Dem"),
    entry(Type, "REL", "rel.", "relative", "PronType=Rel"),
    entry(Type, "Q", "interr.", "interrogative", "PronType=Int"),
    entry(Type, "EXCLAM", "exclam.", "exclamative", "PronType=Exc"),
    entry(Type, "INDFP", "indef. pron.", "indefinite pronominal", "PronType=Ind"),
    entry(Type, "NEGP", "neg. pron.", "negative pronominal", "PronType=Neg"),
    entry(Type, "TOT", "tot.", "total", "PronType=Tot"),
    entry(Type, "CONTR", "contr.", "contrastive", "PronType=Con"),
    entry(Type, "RECP", "recip.", "reciprocal", "PronType=Rcp"),
    entry(Type, "EMPH", "emph.", "emphatic", "PronType=Emp"),
    entry(Type, "POSS", "poss.", "possessive", "Poss=Yes"),
    entry(Type, "REFL", "refl.", "reflexive", "Reflex=Yes"),
    entry(Type, "CARD", "card.", "cardinal", "NumType=Card"),
    entry(Type, "ORD", "ord.", "ordinal", "NumType=Ord"),
    entry(Type, "MULT", "mult.", "multiplicative", "NumType=Mult"),
    entry(Type, "FRAC", "frac.", "fraction", "NumType=Frac"),
    entry(Type, "DISTR", "distr.", "distributive", "NumType=Dist"),
    entry(Type, "COLLNUM", "collective num.", "collective numeral", "NumType=Sets"),
    entry(Type, "RANGE", "range", "range", "NumType=Range"),
    entry(Type, "PREP", "prep.", "prepositional", "AdpType=Prep"),
    entry(Type, "POSTP", "postp.", "postpositional", "AdpType=Post"),
    entry(Type, "CIRCP", "circump.", "circumpositional", "AdpType=Circ"),
    entry(Type, "PREPRON", "prep. pron.", "fused with a pronoun", ""),
    entry(Type, "MODAL", "modal", "modal", "VerbType=Mod"),
    entry(Type, "CMPCONJ", "comp. conj.", "comparing conjunction", "ConjType=Comp"),
    entry(Type, "VPART", "verb particle", "verbal particle", "PartType=Vbp"),
    entry(Type, "INFPART", "inf. particle", "infinitive particle", "PartType=Inf"),
    entry(Type, "ANSWER", "answer", "answering", "PartType=Res"),
    entry(Type, "QPART", "question part.", "question particle", "PartType=Int"),
    entry(Type, "INTENS", "intens. part.", "intensifying particle", "PartType=Emp"),
    entry(Type, "PLACE", "of place", "of place", "AdvType=Loc"),
    entry(Type, "TIME", "of time", "of time", "AdvType=Tim"),
    entry(Type, "STRONG", "strong", "strong form", "Emph=Yes"),
    entry(Type, "WEAK", "weak", "weak form", "Emph=No"),
    entry(Degree, "POSIT", "posit.", "positive", "Degree=Pos"),
    entry(Degree, "CMPR", "compar.", "comparative", "Degree=Cmp"),
    entry(Degree, "SUPL", "superl.", "superlative", "Degree=Sup"),
    entry(Degree, "ABSL", "abs. superl.", "absolute superlative", "Degree=Abs"),
    entry(Degree, "EQU", "equat.", "equative", "Degree=Equ"),
    entry(Degree, "DIM", "dimin.", "diminutive", "Degree=Dim"),
    entry(Degree, "AUG", "augm.", "augmentative", "Degree=Aug"),
    entry(Animacy, "SHORT", "short", "short form", "Variant=Short"),
    entry(Animacy, "LONG", "long", "long form", "Variant=Long"),
    entry(Animacy, "ANIM", "anim.", "animate", "Animacy=Anim"),
    entry(Animacy, "INAN", "inan.", "inanimate", "Animacy=Inan"),
    entry(Person, "0", "impers.", "impersonal", "Person=0"),
    entry(Person, "1", "1st", "first person", "Person=1"),
    entry(Person, "2", "2nd", "second person", "Person=2"),
    entry(Person, "3", "3rd", "third person", "Person=3"),
    entry(PossessorNumber, "SGPSOR", "sg. owner", "of a single owner", "Number[psor]=Sing"),
    entry(PossessorNumber, "PLPSOR", "pl. owner", "of several owners", "Number[psor]=Plur"),
    entry(PossessorGender, "MPSOR", "masc. owner", "of a masculine owner", "Gender[psor]=Masc"),
    entry(PossessorGender, "FPSOR", "fem. owner", "of a feminine owner", "Gender[psor]=Fem"),
    entry(PossessorGender, "NPSOR", "neut. owner", "of a neuter owner", "Gender[psor]=Neut"),
    entry(PossessorGender, "1PSOR", "1st owner", "of a first person owner", "Person[psor]=1"),
    entry(PossessorGender, "2PSOR", "2nd owner", "of a second person owner", "Person[psor]=2"),
    entry(PossessorGender, "3PSOR", "3rd owner", "of a third person owner", "Person[psor]=3"),
    entry(Gender, "M", "masc.", "masculine", "Gender=Masc"),
    entry(Gender, "F", "fem.", "feminine", "Gender=Fem"),
    entry(Gender, "N", "neut.", "neuter", "Gender=Neut"),
    entry(Gender, "COMMON", "common", "common gender", "Gender=Com"),
    entry(Number, "SG", "sg.", "singular", "Number=Sing"),
    entry(Number, "DU", "du.", "dual", "Number=Dual"),
    entry(Number, "PL", "pl.", "plural", "Number=Plur"),
    entry(Number, "NSG", "nonsg.", "non-singular", ""),
    entry(Number, "PLT", "pl. only", "plural only", "Number=Ptan"),
    entry(Number, "COLL", "coll.", "collective", "Number=Coll"),
    entry(Case, "NOM", "nom.", "nominative", "Case=Nom"),
    entry(Case, "ACC", "acc.", "accusative", "Case=Acc"),
    entry(Case, "GEN", "gen.", "genitive", "Case=Gen"),
    entry(Case, "DAT", "dat.", "dative", "Case=Dat"),
    entry(Case, "ABL", "abl.", "ablative", "Case=Abl"),
    entry(Case, "INS", "instr.", "instrumental", "Case=Ins"),
    entry(Case, "LOC", "loc.", "locative", "Case=Loc"),
    entry(Case, "VOC", "voc.", "vocative", "Case=Voc"),
    entry(Case, "PRTV", "partit.", "partitive", "Case=Par"),
    entry(Case, "ABS", "absol.", "absolutive", "Case=Abs"),
    entry(Case, "ERG", "erg.", "ergative", "Case=Erg"),
    entry(Case, "ALL", "all.", "allative", "Case=All"),
    entry(Case, "BEN", "ben.", "benefactive", "Case=Ben"),
    entry(Case, "COM", "comit.", "comitative", "Case=Com"),
    entry(Case, "OBL", "obl.", "oblique", ""),
    entry(Case, "NPREP", "no prep.", "without preposition", "PrepCase=Npr"),
    entry(Case, "WPREP", "w. prep.", "with preposition", "PrepCase=Pre"),
    entry(Tense, "PRS", "pres.", "present", "Tense=Pres"),
    entry(Tense, "PST", "past", "past", "Tense=Past"),
    entry(Tense, "IMPF", "imperf.", "imperfect", "Tense=Imp"),
    entry(Tense, "PQP", "pluperf.", "pluperfect", "Tense=Pqp"),
    entry(Tense, "FUT", "fut.", "future", "Tense=Fut"),
    entry(Tense, "NPST", "nonpast", "non-past", ""),
    entry(Aspect, "PFV", "pfv.", "perfective", "Aspect=Perf"),
    entry(Aspect, "IPFV", "ipfv.", "imperfective", "Aspect=Imp"),
    entry(Aspect, "PRF", "perf.", "perfect", "Aspect=Perf"),
    entry(Aspect, "PROG", "progr.", "progressive", "Aspect=Prog"),
    entry(Aspect, "PROSP", "prosp.", "prospective", "Aspect=Prosp"),
    entry(Aspect, "INCH", "inch.", "inchoative", "Aspect=Inch"),
    entry(Aspect, "COMPL", "compl.", "completive", ""),
    entry(Aspect, "DUR", "dur.", "durative", ""),
    entry(Aspect, "RES", "result.", "resultative", ""),
    entry(Mood, "IND", "ind.", "indicative", "Mood=Ind"),
    entry(Mood, "SBJV", "subj.", "subjunctive", "Mood=Sub"),
    entry(Mood, "IMP", "imp.", "imperative", "Mood=Imp"),
    entry(Mood, "COND", "cond.", "conditional", "Mood=Cnd"),
    entry(Mood, "OPT", "opt.", "optative", "Mood=Opt"),
    entry(Mood, "JUSS", "juss.", "jussive", "Mood=Jus"),
    entry(Mood, "PURP", "purp.", "purposive", "Mood=Prp"),
    entry(Mood, "QUOT", "quot.", "quotative", "Mood=Qot"),
    entry(Mood, "IRR", "irr.", "irrealis", "Mood=Irr"),
    entry(Mood, "PROH", "prohib.", "prohibitive", ""),
    entry(Mood, "DECL", "decl.", "declarative", ""),
    entry(VerbForm, "FIN", "finite", "finite", "VerbForm=Fin"),
    entry(VerbForm, "INF", "inf.", "infinitive", "VerbForm=Inf"),
    entry(VerbForm, "PTCP", "part.", "participle", "VerbForm=Part"),
    entry(VerbForm, "GER", "ger.", "gerund", "VerbForm=Ger"),
    entry(VerbForm, "GDV", "gerundive", "gerundive", "VerbForm=Gdv"),
    entry(VerbForm, "CVB", "conv.", "converb", "VerbForm=Conv"),
    entry(VerbForm, "SUPN", "supine", "supine", "VerbForm=Sup"),
    entry(VerbForm, "NMLZ", "nominaliz.", "nominalizer", "VerbForm=Vnoun"),
    entry(Voice, "ACT", "act.", "active", "Voice=Act"),
    entry(Voice, "PASS", "pass.", "passive", "Voice=Pass"),
    entry(Voice, "MID", "mid.", "middle", "Voice=Mid"),
    entry(Voice, "CAUS", "caus.", "causative", "Voice=Cau"),
    entry(Voice, "ANTIP", "antip.", "antipassive", "Voice=Antip"),
    entry(Voice, "APPL", "applic.", "applicative", ""),
    entry(Voice, "INTR", "intr.", "intransitive", "Subcat=Intr"),
    entry(Voice, "TR", "tr.", "transitive", "Subcat=Tran"),
    entry(Polarity, "NEG", "neg.", "negative", "Polarity=Neg"),
    entry(Polarity, "AFF", "affirm.", "affirmative", "Polarity=Pos"),
    entry(Role, "A", "agent", "agent-like argument", ""),
    entry(Role, "P", "patient", "patient-like argument", ""),
    entry(Role, "S", "sole arg.", "single argument", ""),
    entry(Role, "ADJ", "adj.", "adjectival", ""),
    entry(Role, "ADV", "adv.", "adverbial", ""),
    entry(Role, "AGR", "agreem.", "agreement", ""),
    entry(Role, "AUX", "aux.", "auxiliary", ""),
    entry(Role, "CLF", "classif.", "classifier", ""),
    entry(Role, "COMP", "compl. mark", "complementizer", ""),
    entry(Role, "COP", "cop.", "copula", ""),
    entry(Role, "DET", "det.", "determiner", ""),
    entry(Role, "DIST", "dist.", "distal", "Deixis=Remt"),
    entry(Role, "PROX", "prox.", "proximal", "Deixis=Prox"),
    entry(Role, "EXCL", "excl.", "exclusive", "Clusivity=Ex"),
    entry(Role, "INCL", "incl.", "inclusive", "Clusivity=In"),
    entry(Role, "FOC", "focus", "focus", ""),
    entry(Role, "OBJ", "obj.", "object", ""),
    entry(Role, "PRED", "pred.", "predicative", ""),
    entry(Role, "SBJ", "subject", "subject", ""),
    entry(Role, "TOP", "topic", "topic", ""),
    entry(Form, "CLIT", "clitic", "clitic", "Clitic=Yes"),
    entry(Form, "FORMAL", "formal", "formal", "Polite=Form"),
    entry(Form, "INFORMAL", "informal", "informal", "Polite=Infm"),
    entry(Form, "ABBR", "abbr.", "abbreviation", "Abbr=Yes"),
    entry(Form, "FRGN", "foreign", "foreign", "Foreign=Yes"),
    entry(Form, "ARCH", "arch.", "archaic", "Style=Arch"),
    entry(Form, "ARCHFORM", "arch. form", "archaic form", "Variant=Archaic"),
    entry(Form, "COLLOQ", "colloq.", "colloquial", "Style=Coll"),
    entry(Form, "EXPR", "expr.", "expressive", "Style=Expr"),
    entry(Form, "SLANG", "slang", "slang", "Style=Slng"),
    entry(Form, "VERNAC", "vernac.", "vernacular", "Style=Vrnc"),
    entry(Form, "EMPHEND", "emph. ending", "emphatic ending", "Form=Emp"),
    entry(Form, "TYPO", "misspelt", "misspelt", "Typo=Yes"),
    entry(Form, "HYPH", "hyph.", "first part of a hyphenated compound", "Hyph=Yes"),
    entry(Form, "COMPOUND", "compound", "compound", "Compound=Yes"),
    entry(Form, "DIGIT", "digit", "in digits", "NumForm=Digit"),
    entry(Form, "ROMAN", "roman", "in roman numerals", "NumForm=Roman"),
    entry(Form, "NUMWORD", "num. word", "in number words", "NumForm=Word"),
];

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn categories_stand_in_canonical_order() {
        assert!(TABLE.is_sorted_by_key(|e| e.category));
    }

    #[test]
    fn no_abbreviation_stands_twice() {
        let mut seen = HashSet::new();
        for f in Feature::all() {
            assert!(seen.insert(f.abbreviation()), "{}", f.abbreviation());
        }
    }

    /// The list of standard abbreviations in the appendix of the Leipzig Glossing Rules (Comrie, Haspelmath and Bickel, 2015
    /// revision), from memory. `N-` ("non-") is a prefix there, with the examples NSG and NPST.
    #[test]
    fn every_standard_abbreviation_is_known() {
        let list = "1 2 3 A ABL ABS ACC ADJ ADV AGR ALL ANTIP APPL ART AUX BEN CAUS CLF COM COMP COMPL COND COP CVB DAT DECL \
                    DEF DEM DET DIST DISTR DU DUR ERG EXCL F FOC FUT GEN IMP INCL IND INDF INF INS INTR IPFV IRR LOC M N NSG \
                    NPST NEG NMLZ NOM OBJ OBL P PASS PFV PL POSS PRED PRF PRS PROG PROH PROX PST PTCP PURP Q QUOT RECP REFL \
                    REL RES S SBJ SBJV SG TOP TR VOC";
        for abbreviation in list.split_whitespace() {
            assert!(Feature::from_abbreviation(abbreviation).is_some(), "{abbreviation}");
        }
    }
}
