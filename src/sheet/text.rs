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

/// The space between a bar number and the words.
const MARGIN_GAP: usize = 2;

/// The header and the blank line under it.
const HEADER_LINES: usize = 2;

/// Prints a sheet as text. Pages end in a form feed, but for the last.
pub fn text(sheet: &Sheet, paper: Paper) -> String {
    let page_width = paper.width.max(Paper::MIN_WIDTH);
    let blocks = blocks(sheet, page_width);
    let height = paper.length.map_or(usize::MAX / 4, |length| length.max(Paper::MIN_LENGTH) - HEADER_LINES);
    let measured: Vec<Block<Cells>> = blocks.iter().map(TextBlock::measure).collect();
    let pages = paginate(&measured, Cells(height));
    let composer = sheet.credits.iter().find(|(label, _)| *label == "music").map(|(_, name)| format!(" · {name}"));
    let title = shorten(&format!("{}{}", sheet.title, composer.unwrap_or_default()), page_width, "…");
    let mut out = String::new();
    for (number, page) in pages.iter().enumerate() {
        if number > 0 {
            out.push('\u{c}');
        }
        if paper.length.is_some() {
            out.push_str(&header(&title, number + 1, pages.len(), page_width));
            out.push_str("\n\n");
        }
        for (n, piece) in page.iter().enumerate() {
            let block = &blocks[piece.block];
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
fn header(title: &str, number: usize, n_pages: usize, page_width: usize) -> String {
    let page = format!("{number}/{n_pages}");
    let room = page_width.saturating_sub(width(&page) + 2);
    format!("{}  {page}", pad(&shorten(title, room, "…"), room))
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
    /// A block that may be parted between any two lines.
    fn of_lines(lines: Vec<String>, space_above: usize) -> TextBlock {
        TextBlock { parts: lines.into_iter().map(|line| vec![line]).collect(), space_above, keeps_next: false }
    }

    fn measure(&self) -> Block<Cells> {
        Block {
            parts: self.parts.iter().map(|lines| Cells(lines.len())).collect(),
            space_above: Cells(self.space_above),
            keeps_next: self.keeps_next,
        }
    }
}

/// The sheet from top to bottom.
fn blocks(sheet: &Sheet, page_width: usize) -> Vec<TextBlock> {
    let mut blocks = vec![TextBlock::of_lines(title(sheet, page_width), 0)];
    for (n, (prompt, answer)) in sheet.notes.iter().enumerate() {
        blocks.push(TextBlock::of_lines(hanging(&format!("{prompt} "), answer, page_width), usize::from(n == 0)));
    }
    let margin = margin(sheet);
    let mut begins_section = false;
    for part in &sheet.parts {
        match part {
            Part::Heading { heading, speaker } => {
                let lines: Vec<String> = [heading, speaker].into_iter().flat_map(|l| wrap(l, page_width)).collect();
                // A section without heading or speaker is set off by the space above its first line.
                begins_section = lines.is_empty();
                if !lines.is_empty() {
                    blocks.push(TextBlock { keeps_next: true, ..TextBlock::of_lines(lines, 2) });
                }
            }
            Part::Line(line) => {
                let space_above = if begins_section { 2 } else { 1 };
                blocks.push(TextBlock { space_above, ..line_block(sheet, line, margin, page_width) });
                begins_section = false;
            }
        }
    }
    for (n, remark) in sheet.remarks.iter().enumerate() {
        let label = format!("{} {}: ", remark.number, remark.form);
        blocks.push(TextBlock::of_lines(hanging(&label, &remark.note, page_width), if n == 0 { 2 } else { 0 }));
    }
    for (n, text) in sheet.legend.iter().enumerate() {
        blocks.push(TextBlock::of_lines(wrap(text, page_width), usize::from(n == 0)));
    }
    blocks
}

fn title(sheet: &Sheet, page_width: usize) -> Vec<String> {
    let mut lines = wrap(&sheet.title, page_width);
    lines.extend(wrap(&sheet.translated_title, page_width));
    for (label, text) in &sheet.credits {
        lines.extend(hanging(&format!("{label}: "), text, page_width));
    }
    lines
}

/// The width of the margin that the longest bar number needs, with the space after it.
fn margin(sheet: &Sheet) -> usize {
    let bars = sheet.parts.iter().map(|part| match part {
        Part::Line(line) => width(&line.bars),
        Part::Heading { .. } => 0,
    });
    bars.max().filter(|w| *w > 0).map_or(0, |w| w + MARGIN_GAP)
}

/// A verse line: direction and cue, the aligned rows with the bar numbers in the margin, translation and intention.
fn line_block(sheet: &Sheet, line: &LineBlock, margin: usize, page_width: usize) -> TextBlock {
    // Where bar numbers would leave too little room for the words, they stand above them.
    let margin = if margin * 3 <= page_width { margin } else { 0 };
    let room = page_width - margin;
    let mut before = Vec::new();
    if !line.direction.is_empty() {
        before.extend(wrap(&format!("({})", line.direction), room));
    }
    if !line.cue.is_empty() {
        before.extend(hanging("cue: ", &line.cue, room));
    }
    // Without words there is no row beside which the bars could stand.
    if (margin == 0 || line.columns.is_empty()) && !line.bars.is_empty() {
        before.extend(wrap(&line.bars, room));
    }
    let mut after = Vec::new();
    if !line.translation.is_empty() {
        after.extend(wrap(&format!("‘{}’", line.translation), room));
    }
    if !line.intention.is_empty() {
        after.extend(hanging("intention: ", &line.intention, room));
    }
    let indent = |lines: &[String]| lines.iter().map(|l| format!("{}{l}", " ".repeat(margin))).collect::<Vec<_>>();
    let mut parts: Vec<Vec<String>> = align(line, &sheet.rows, room).iter().map(|system| indent(system)).collect();
    if let Some(first) = parts.first_mut().and_then(|p| p.first_mut()).filter(|_| margin > 0) {
        let right = margin.saturating_sub(width(&line.bars) + MARGIN_GAP);
        *first = format!("{}{}{}", " ".repeat(right), pad(&line.bars, margin - right), &first[margin..]);
    }
    // The last line before the words and the first after them are never parted from them; the others only where no page holds all.
    let (before, mut after) = (indent(&before), indent(&after));
    let n_before = before.len();
    if let Some(last) = parts.last_mut().filter(|_| !after.is_empty()) {
        last.push(after.remove(0));
    }
    let mut alone: Vec<Vec<String>> = before.into_iter().map(|line| vec![line]).collect();
    if let Some(first) = parts.first_mut()
        && n_before > 0
    {
        let nearest = alone.pop().unwrap_or_default();
        first.splice(0..0, nearest);
    }
    alone.extend(parts);
    alone.extend(after.into_iter().map(|line| vec![line]));
    TextBlock { parts: alone, space_above: 1, keeps_next: false }
}

/// A label and a text; the lines after the first are indented.
fn hanging(label: &str, text: &str, page_width: usize) -> Vec<String> {
    let indent = 4.min(page_width / 4);
    let lines = wrap(&format!("{label}{text}"), page_width - indent);
    let indented = |(n, line)| if n == 0 { line } else { format!("{}{line}", " ".repeat(indent)) };
    lines.into_iter().enumerate().map(indented).collect()
}
