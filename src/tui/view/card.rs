//! The card of the word under the cursor: what is known of it, and what is offered for its cell.

use super::put;
use crate::language::ipa_from_xsampa;
use crate::song::{Annotation, Style, Tag};
use crate::tui::editor::{Candidate, Editor, Source};
use crate::tui::theme::Theme;
use ratatui::Frame;
use ratatui::layout::Rect;

/// Draws the card.
pub(super) fn draw(frame: &mut Frame, area: Rect, editor: &Editor, theme: &Theme) {
    let rule = "─".repeat(usize::from(area.width));
    put(frame, area, 0, 0, &rule, theme.faint);
    let Some(word) = editor.word() else { return };
    let mut about = vec![format!("{}:", editor.row.name())];
    about.push(word.form.clone());
    if !word.lemma.is_blank() {
        about.push(format!("of {}", word.lemma.text()));
    }
    if let Some(tag) = word.tag.value() {
        about.push(tag.print(Style::Words));
    }
    if !word.sound.is_blank() {
        about.push(format!("/{}/", word.sound.text()));
    }
    if !word.note.is_empty() {
        about.push(format!("* {}", word.note));
    }
    put(frame, area, 0, 1, &about.join("  "), theme.word);
    let mut y = 2;
    if let (Annotation::Sound, Some(typing)) = (editor.row, &editor.typing) {
        put(frame, area, 2, y, &format!("sounds {}", ipa_from_xsampa(typing.field.text())), theme.text);
        y += 1;
    }
    let chosen = editor.typing.as_ref().and_then(|t| t.chosen);
    let room = usize::from(area.height.saturating_sub(y));
    let offers = editor.offers();
    let first = chosen.unwrap_or_default().saturating_sub(room.saturating_sub(1));
    for (n, offer) in offers.iter().enumerate().skip(first).take(room) {
        let text = match offer.candidate.and_then(|idx| editor.candidates.get(idx)) {
            Some(candidate) => format!("{} {}", n + 1, describe(candidate)),
            None => format!("  {}", offer.text),
        };
        put(frame, area, 1, y, &text, if chosen == Some(n) { theme.chosen } else { theme.text });
        y += 1;
    }
    if offers.is_empty() && editor.typing.is_none() && word.gloss.is_blank() {
        put(frame, area, 2, y, "Not in the lexicon yet: type what it means.", theme.faint);
    }
}

/// A candidate with its source: how often, and in which songs.
fn describe(candidate: &Candidate) -> String {
    let sense = &candidate.sense;
    let mut parts = vec![sense.gloss.clone()];
    parts.extend(sense.tag.as_ref().map(Tag::to_string));
    if !sense.lemma.is_empty() {
        parts.push(format!("of {}", sense.lemma));
    }
    if !sense.sound.is_empty() {
        parts.push(format!("/{}/", sense.sound));
    }
    let source = match candidate.source {
        Source::Song => format!("in this song {}×", candidate.n_uses),
        Source::Lexicon if candidate.n_uses == 0 => "lexicon, added by hand".to_owned(),
        Source::Lexicon => format!("lexicon {}×: {}", candidate.n_uses, candidate.songs.join(", ")),
    };
    format!("{}   {source}", parts.join("  "))
}
