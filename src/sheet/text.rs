//! The sheet as plain text, in pages.
//!
//! What one line looks like, bars in the margin, every row under its word, the free translation in single quotes as the last
//! line (the custom of linguists' examples, Leipzig Glossing Rules, 2015, rule 1):
//!
//! ```text
//!  9-10  O     notte       di   Ventalba,
//!        o     night       of   Ventalba
//!        INTJ  NOUN.F.SG   ADP  PROPN.F.SG
//!        ‘O night of Ventalba,’
//! ```

use super::grid::align;
use super::{LineBlock, Part, Sheet};
use crate::layout::{Block, Cells, paginate};
use crate::text::cluster::{pad, shorten, width, wrap};

/// The size of a page of text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Paper {
    /// Cells in a line; at least [`Paper::MIN_WIDTH`].
    pub width: usize,
    /// Lines on a page, header included; `None` for one endless page. At least [`Paper::MIN_LENGTH`].
    pub length: Option<usize>,
}

impl Paper {
    /// A4 at ten characters and six lines an inch, with an inch and more of margin: 297 mm are 70 lines.
    pub const A4: Paper = Paper { width: 72, length: Some(62) };
    /// US Letter at the same pitch: 11 inches are 66 lines.
    pub const LETTER: Paper = Paper { width: 74, length: Some(58) };
    /// The narrowest page.
    pub const MIN_WIDTH: usize = 20;
    /// The shortest page.
    pub const MIN_LENGTH: usize = 10;
}

/// The header and the blank line under it.
const HEADER_LINES: usize = 2;

/// Prints a sheet as text. Pages end in a form feed, but for the last.
pub fn text(sheet: &Sheet, paper: Paper) -> String {
    let page_width = paper.width.max(Paper::MIN_WIDTH);
    let blocks = Blocks::of(sheet, page_width);
    let height = paper.length.map_or(usize::MAX / 4, |length| length.max(Paper::MIN_LENGTH) - HEADER_LINES);
    let measured: Vec<Block<Cells>> = blocks.0.iter().map(TextBlock::measure).collect();
    let pages = paginate(&measured, Cells(height));
    let mut out = String::new();
    for (number, page) in pages.iter().enumerate() {
        if number > 0 {
            out.push('\u{c}');
        }
        if paper.length.is_some() {
            out.push_str(&header(sheet, number + 1, pages.len(), page_width));
            out.push_str("\n\n");
        }
        for (n, piece) in page.iter().enumerate() {
            let block = &blocks.0[piece.block];
            if n > 0 && piece.parts.start == 0 {
                out.push_str(&"\n".repeat(block.space_above));
            }
            for line in block.parts[piece.parts.clone()].iter().flatten() {
                out.push_str(line);
                out.push('\n');
            }
        }
    }
    out
}

/// Title at the left, page number at the right.
fn header(sheet: &Sheet, number: usize, n_pages: usize, page_width: usize) -> String {
    let page = format!("{number}/{n_pages}");
    let composer = sheet.credits.iter().find(|(label, _)| *label == "music").map(|(_, name)| format!(" · {name}"));
    let title = format!("{}{}", sheet.title, composer.unwrap_or_default());
    let room = page_width.saturating_sub(width(&page) + 2);
    format!("{}  {page}", pad(&shorten(&title, room, "…"), room))
}

/// Lines of text that belong together.
#[derive(Default)]
struct TextBlock {
    /// Each part is never divided.
    parts: Vec<Vec<String>>,
    space_above: usize,
    keeps_next: bool,
}

impl TextBlock {
    fn measure(&self) -> Block<Cells> {
        Block {
            parts: self.parts.iter().map(|lines| Cells(lines.len())).collect(),
            space_above: Cells(self.space_above),
            keeps_next: self.keeps_next,
        }
    }
}

struct Blocks(Vec<TextBlock>);

impl Blocks {
    fn of(sheet: &Sheet, page_width: usize) -> Blocks {
        let mut blocks = Blocks(Vec::new());
        blocks.push(title(sheet, page_width), 0, false);
        if !sheet.notes.is_empty() {
            for (n, (prompt, answer)) in sheet.notes.iter().enumerate() {
                blocks.push(note(prompt, answer, page_width), usize::from(n == 0), false);
            }
        }
        let margin = margin(sheet);
        for (n, part) in sheet.parts.iter().enumerate() {
            match part {
                Part::Heading { heading, speaker } => {
                    let lines = [heading.to_uppercase(), speaker.clone()];
                    let lines: Vec<String> =
                        lines.iter().filter(|l| !l.is_empty()).flat_map(|l| wrap(l, page_width)).collect();
                    blocks.push(lines, 2, true);
                }
                Part::Line(line) => {
                    let after_heading = n > 0 && matches!(sheet.parts[n - 1], Part::Heading { .. });
                    let space_above = if after_heading || n == 0 { 1 } else { 1 };
                    blocks.0.push(line_block(sheet, line, margin, page_width, space_above));
                }
            }
        }
        for (n, remark) in sheet.remarks.iter().enumerate() {
            let label = format!("{} {}: ", remark.number, remark.form);
            blocks.push(hanging(&label, &remark.note, page_width), if n == 0 { 2 } else { 0 }, false);
        }
        for (n, text) in sheet.legend.iter().enumerate() {
            blocks.push(wrap(text, page_width), if n == 0 { 1 } else { 0 }, false);
        }
        blocks
    }

    fn push(&mut self, lines: Vec<String>, space_above: usize, keeps_next: bool) {
        if lines.is_empty() && !keeps_next {
            return;
        }
        let parts = lines.into_iter().map(|line| vec![line]).collect();
        self.0.push(TextBlock { parts, space_above, keeps_next });
    }
}

fn title(sheet: &Sheet, page_width: usize) -> Vec<String> {
    let mut lines = wrap(&sheet.title.to_uppercase(), page_width);
    lines.extend(wrap(&sheet.translated_title, page_width));
    for (label, text) in &sheet.credits {
        lines.extend(hanging(&format!("{label}: "), text, page_width));
    }
    lines
}

fn note(prompt: &str, answer: &str, page_width: usize) -> Vec<String> {
    hanging(&format!("{prompt} "), answer, page_width)
}

/// The width of the margin that the longest bar number needs, with the space after it.
fn margin(sheet: &Sheet) -> usize {
    let bars = sheet.parts.iter().map(|part| match part {
        Part::Line(line) => width(&line.bars),
        Part::Heading { .. } => 0,
    });
    bars.max().filter(|w| *w > 0).map_or(0, |w| w + 2)
}

fn line_block(sheet: &Sheet, line: &LineBlock, margin: usize, page_width: usize, space_above: usize) -> TextBlock {
    // Where bar numbers would leave too little room for the words, they stand on a line of their own.
    let in_margin = margin * 3 <= page_width;
    let indent = " ".repeat(if in_margin { margin } else { 0 });
    let room = page_width - indent.len();
    let indented = |lines: Vec<String>| lines.into_iter().map(|l| format!("{indent}{l}"));
    let mut systems: Vec<Vec<String>> = align(line, &sheet.rows, room);
    let mut before = Vec::new();
    if !in_margin && !line.bars.is_empty() {
        before.push(line.bars.clone());
    }
    if !line.direction.is_empty() {
        before.extend(wrap(&format!("({})", line.direction), room));
    }
    if !line.cue.is_empty() {
        before.extend(hanging("cue: ", &line.cue, room));
    }
    let n_before = before.len();
    let mut after = Vec::new();
    if !line.translation.is_empty() {
        after.extend(wrap(&format!("‘{}’", line.translation), room));
    }
    if !line.intention.is_empty() {
        after.extend(hanging("intention: ", &line.intention, room));
    }
    match systems.first_mut() {
        Some(first) => *first = before.into_iter().chain(std::mem::take(first)).collect(),
        None => systems.push(before),
    }
    if let Some(last) = systems.last_mut() {
        last.extend(after);
    }
    let mut parts: Vec<Vec<String>> = systems.into_iter().map(|s| indented(s).collect()).collect();
    let has_words = !line.columns.is_empty();
    if in_margin
        && has_words
        && !line.bars.is_empty()
        && let Some(first) = parts.first_mut().and_then(|p| p.get_mut(n_before))
    {
        let bars = format!("{}{}  ", " ".repeat(margin.saturating_sub(width(&line.bars) + 2)), line.bars);
        *first = format!("{bars}{}", &first[indent.len()..]);
    }
    TextBlock { parts, space_above, keeps_next: false }
}

/// A label and a text that hangs beside it.
fn hanging(label: &str, text: &str, page_width: usize) -> Vec<String> {
    let indent = 4.min(page_width / 4);
    let mut lines = wrap(&format!("{label}{text}"), page_width);
    if lines.len() > 1 {
        let first = lines[0].clone();
        let rest = format!("{label}{text}");
        let rest = rest[first.len().min(rest.len())..].trim_start_matches([' ', '\n']).to_owned();
        lines = std::iter::once(first)
            .chain(wrap(&rest, page_width - indent).into_iter().map(|l| format!("{}{l}", " ".repeat(indent))))
            .collect();
    }
    lines
}
