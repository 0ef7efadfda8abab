//! Pages: blocks parted so that what belongs together stands on one page.

use super::Length;
use std::ops::Range;

/// A block of the sheet: parts that are never divided, which stay together if a page can hold them.
#[derive(Clone, Debug, PartialEq)]
pub struct Block<L> {
    /// Heights of the parts.
    pub parts: Vec<L>,
    /// Space above the block, unless it begins a page.
    pub space_above: L,
    /// Whether the next block begins on the same page if a page can hold both.
    pub keeps_next: bool,
}

/// A page: pieces of blocks from top to bottom.
pub type Page = Vec<Piece>;

/// Parts of one block on one page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Piece {
    /// Index of the block.
    pub block: usize,
    /// Indices of its parts.
    pub parts: Range<usize>,
}

/// Parts blocks into pages of a height. Every part of every block stands on exactly one page, in order.
///
/// Blocks that keep the next move to the next page with it. A group that no page can hold is parted between its blocks, then
/// between the parts of a block; a part that is higher than the page stands alone on one.
pub fn paginate<L: Length>(blocks: &[Block<L>], height: L) -> Vec<Page> {
    let mut pages = Pages { done: Vec::new(), current: Vec::new(), used: L::default(), height };
    let mut start = 0;
    while start < blocks.len() {
        let n_kept = blocks[start..].iter().take_while(|b| b.keeps_next).count();
        let end = (start + n_kept + 1).min(blocks.len());
        pages.place_group(blocks, start..end);
        start = end;
    }
    pages.end_page();
    pages.done
}

struct Pages<L> {
    done: Vec<Page>,
    current: Page,
    used: L,
    height: L,
}

impl<L: Length> Pages<L> {
    fn place_group(&mut self, blocks: &[Block<L>], group: Range<usize>) {
        let together = group_height(&blocks[group.clone()]);
        let space = self.space_above(&blocks[group.start]);
        if self.used + space + together > self.height && together <= self.height {
            self.end_page();
        }
        if together <= self.height || group.len() == 1 {
            for idx in group {
                self.place_block(idx, &blocks[idx]);
            }
        } else {
            // Too high to keep together: the last block stays with the one before it as long as that is possible.
            self.place_block(group.start, &blocks[group.start]);
            self.place_group(blocks, group.start + 1..group.end);
        }
    }

    fn place_block(&mut self, idx: usize, block: &Block<L>) {
        let height = sum(&block.parts);
        if self.used + self.space_above(block) + height > self.height && height <= self.height {
            self.end_page();
        }
        for (part, part_height) in block.parts.iter().enumerate() {
            let space = if part == 0 { self.space_above(block) } else { L::default() };
            if self.used + space + *part_height > self.height {
                self.end_page();
            }
            let space = if part == 0 { self.space_above(block) } else { L::default() };
            self.used += space + *part_height;
            match self.current.last_mut() {
                Some(piece) if piece.block == idx => piece.parts.end = part + 1,
                _ => self.current.push(Piece { block: idx, parts: part..part + 1 }),
            }
        }
    }

    fn space_above(&self, block: &Block<L>) -> L {
        if self.current.is_empty() { L::default() } else { block.space_above }
    }

    fn end_page(&mut self) {
        if !self.current.is_empty() {
            self.done.push(std::mem::take(&mut self.current));
        }
        self.used = L::default();
    }
}

fn group_height<L: Length>(blocks: &[Block<L>]) -> L {
    let mut height = L::default();
    for (idx, block) in blocks.iter().enumerate() {
        if idx > 0 {
            height += block.space_above;
        }
        height += sum(&block.parts);
    }
    height
}

fn sum<L: Length>(parts: &[L]) -> L {
    parts.iter().fold(L::default(), |sum, part| sum + *part)
}

#[cfg(test)]
mod tests {
    use super::super::Cells;
    use super::*;
    use proptest::prelude::*;

    fn block(parts: &[usize], keeps_next: bool) -> Block<Cells> {
        Block { parts: parts.iter().map(|p| Cells(*p)).collect(), space_above: Cells(1), keeps_next }
    }

    fn pages(blocks: &[Block<Cells>], height: usize) -> Vec<Vec<usize>> {
        paginate(blocks, Cells(height)).into_iter().map(|p| p.into_iter().map(|piece| piece.block).collect()).collect()
    }

    #[test]
    fn blocks_fill_pages_in_order() {
        let four = vec![block(&[3], false); 4];
        assert_eq!(pages(&four, 7), [vec![0, 1], vec![2, 3]]);
        assert_eq!(pages(&four, 3), [[0], [1], [2], [3]]);
        assert!(pages(&[], 7).is_empty());
    }

    #[test]
    fn a_heading_goes_with_its_first_line() {
        let blocks = [block(&[3], false), block(&[1], true), block(&[3], false)];
        assert_eq!(pages(&blocks, 6), [vec![0], vec![1, 2]]);
    }

    #[test]
    fn a_line_is_parted_only_if_no_page_holds_it() {
        let blocks = [block(&[2], false), block(&[3, 3], false), block(&[3, 3, 3], false)];
        let pages = paginate(&blocks, Cells(7));
        assert_eq!(pages.len(), 4);
        assert_eq!(pages[1], [Piece { block: 1, parts: 0..2 }]);
        assert_eq!(pages[2], [Piece { block: 2, parts: 0..2 }]);
        assert_eq!(pages[3], [Piece { block: 2, parts: 2..3 }]);
    }

    proptest! {
        #[test]
        fn every_part_stands_once_and_pages_hold(
            blocks in proptest::collection::vec((proptest::collection::vec(1usize..6, 1..4), any::<bool>()), 0..15),
            height in 6usize..20,
        ) {
            let blocks: Vec<_> = blocks.iter().map(|(parts, keeps)| block(parts, *keeps)).collect();
            let pages = paginate(&blocks, Cells(height));
            let placed: Vec<(usize, usize)> =
                pages.iter().flatten().flat_map(|p| p.parts.clone().map(move |part| (p.block, part))).collect();
            let all: Vec<(usize, usize)> =
                blocks.iter().enumerate().flat_map(|(b, block)| (0..block.parts.len()).map(move |p| (b, p))).collect();
            prop_assert_eq!(placed, all);
            for page in &pages {
                let used: usize = page.iter().enumerate().map(|(n, piece)| {
                    let parts: usize = blocks[piece.block].parts[piece.parts.clone()].iter().map(|c| c.0).sum();
                    parts + usize::from(n > 0 && piece.parts.start == 0)
                }).sum();
                prop_assert!(used <= height, "{} > {}", used, height);
            }
            // A block that fits a page is on one page.
            for (idx, block) in blocks.iter().enumerate() {
                let n_pages = pages.iter().filter(|p| p.iter().any(|piece| piece.block == idx)).count();
                prop_assert!(n_pages == 1 || sum(&block.parts).0 > height);
            }
        }
    }
}
