//! The sheet as Markdown: a table a line, or fenced text in which the rows are aligned.
//!
//! Tables follow the GitHub Flavored Markdown specification (version 0.29, section 4.10): the row of words is the header, the first
//! column names the rows and holds the bar numbers.

use super::grid::align;
use super::{LineBlock, Part, Row, Sheet};

/// Prints a sheet with a table a line.
pub fn markdown(sheet: &Sheet) -> String {
    print(sheet, |out, line| table(out, sheet, line))
}

/// Prints a sheet with the rows of each line aligned in fenced text of at most `width` cells.
pub fn aligned(sheet: &Sheet, width: usize) -> String {
    print(sheet, |out, line| {
        let systems = align(line, &sheet.rows, width.max(1));
        let text = systems.into_iter().map(|rows| rows.join("\n")).collect::<Vec<_>>().join("\n\n");
        let longest_run = text.split(|c| c != '`').map(str::len).max().unwrap_or_default();
        let fence = "`".repeat(longest_run.max(2) + 1);
        if !line.bars.is_empty() {
            out.push_str(&format!("**{}**\n\n", line.bars));
        }
        out.push_str(&format!("{fence}text\n{text}\n{fence}\n\n"));
    })
}

/// Prints a sheet; `words` prints those of a line that has some.
fn print(sheet: &Sheet, mut words: impl FnMut(&mut String, &LineBlock)) -> String {
    let mut out = String::new();
    paragraph(&mut out, &format!("# {}", inline(&sheet.title)));
    if !sheet.translated_title.is_empty() {
        paragraph(&mut out, &emphasised("*", &sheet.translated_title));
    }
    let credits: Vec<String> = sheet.credits.iter().map(|(label, text)| format!("{label}: {}", inline(text))).collect();
    if !credits.is_empty() {
        paragraph(&mut out, &credits.join(" · "));
    }
    for (prompt, answer) in &sheet.notes {
        out.push_str(&format!("- {} {}\n", emphasised("**", prompt), item(answer)));
    }
    if !sheet.notes.is_empty() {
        out.push('\n');
    }
    for part in &sheet.parts {
        match part {
            Part::Heading { heading, speaker } => print_heading(&mut out, heading, speaker),
            Part::Line(line) => {
                if !line.direction.is_empty() {
                    paragraph(&mut out, &format!("*({})*", inline(&line.direction)));
                }
                if !line.cue.is_empty() {
                    paragraph(&mut out, &format!("cue: {}", inline(&line.cue)));
                }
                if line.columns.is_empty() && !line.bars.is_empty() {
                    paragraph(&mut out, &format!("**{}**", line.bars));
                } else if !line.columns.is_empty() {
                    words(&mut out, line);
                }
                print_after(&mut out, line);
            }
        }
    }
    if !sheet.remarks.is_empty() {
        paragraph(&mut out, "---");
        for remark in &sheet.remarks {
            let form = emphasised("**", &remark.form);
            out.push_str(&format!("{}. {form} {}\n", remark.number, item(&remark.note)));
        }
        out.push('\n');
    }
    for text in &sheet.legend {
        paragraph(&mut out, &inline(text));
    }
    out.truncate(out.trim_end().len());
    out.push('\n');
    out
}

fn print_heading(out: &mut String, heading: &str, speaker: &str) {
    if heading.is_empty() && speaker.is_empty() {
        paragraph(out, "---");
    }
    if !heading.is_empty() {
        paragraph(out, &format!("## {}", inline(heading)));
    }
    if !speaker.is_empty() {
        paragraph(out, &emphasised("**", speaker));
    }
}

fn print_after(out: &mut String, line: &LineBlock) {
    if !line.translation.is_empty() {
        paragraph(out, &format!("> {}", inline(&line.translation)));
    }
    if !line.intention.is_empty() {
        paragraph(out, &format!("*intention:* {}", inline(&line.intention)));
    }
}

fn table(out: &mut String, sheet: &Sheet, line: &LineBlock) {
    let head = sheet.rows.iter().position(|row| *row == Row::Word);
    let cells = |idx: Option<usize>| {
        let texts = line.columns.iter().map(|c| idx.map(|idx| c.cells[idx].text.as_str()).unwrap_or_default());
        texts.map(cell).collect::<Vec<_>>().join(" | ")
    };
    out.push_str(&format!("| {} | {} |\n", line.bars, cells(head)));
    out.push_str(&format!("| {}\n", ":-- | ".repeat(line.columns.len() + 1).trim_end()));
    for (idx, row) in sheet.rows.iter().enumerate().filter(|(idx, _)| Some(*idx) != head) {
        if line.columns.iter().any(|c| !c.cells[idx].text.is_empty()) {
            out.push_str(&format!("| {} | {} |\n", row.name(), cells(Some(idx))));
        }
    }
    out.push('\n');
}

fn paragraph(out: &mut String, text: &str) {
    out.push_str(text);
    out.push_str("\n\n");
}

/// Text of a list item: its lines are indented so that they stay in the item.
fn item(text: &str) -> String {
    let lines = text.lines().map(inline).filter(|line| !line.is_empty());
    lines.collect::<Vec<_>>().join("  \n  ")
}

/// Text between marks of emphasis, which would stand as they are beside a space.
fn emphasised(mark: &str, text: &str) -> String {
    let text = inline(text);
    if text.is_empty() { text } else { format!("{mark}{text}{mark}") }
}

/// Text of a table cell: a bar would end it even behind a backslash in some viewers, so that it is written as an entity.
fn cell(text: &str) -> String {
    inline(text).replace("\\|", "&#124;")
}

/// Text in which no character means anything to Markdown.
///
/// Every ASCII punctuation mark that can begin a construct takes a backslash (CommonMark 0.31, section 2.4); a mark that means something
/// only where a line begins takes one there.
fn inline(text: &str) -> String {
    let text = text.trim();
    let mut out = String::with_capacity(text.len());
    let mut at_start = true;
    let mut number = false;
    let mut previous = ' ';
    for c in text.chars() {
        let is_special = match c {
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '|' | '~' | '&' | '!' | '$' | '@' | '#' => true,
            '+' | '-' | '=' => at_start,
            '.' | ')' => number || previous == 'w',
            ':' | '/' => previous == ':' || previous == 'p' || previous == 's',
            _ => false,
        };
        if is_special {
            out.push('\\');
        }
        out.push(if c == '\n' { ' ' } else { c });
        number = c.is_ascii_digit() && (at_start || number);
        at_start = (at_start && c == ' ') || c == '\n';
        previous = c;
    }
    out
}
