//! What measures text: terminal cells now, font points for the PDF.

use crate::text::cluster;
use std::ops::{Add, AddAssign, Sub};

/// A length in the unit of a metric. Lengths are finite and not negative.
pub trait Length: Copy + PartialOrd + Add<Output = Self> + AddAssign + Sub<Output = Self> + Default {
    /// Returns the length as a number, for comparing how even rows are.
    fn number(self) -> f64;
}

/// A number of terminal cells.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cells(pub usize);

/// Measures and cuts text for one medium.
pub trait Metric {
    /// The unit in which the medium is measured.
    type Length: Length;
    /// Which row of the sheet a text stands in, where the medium sets rows in different sizes.
    type Row: Copy;

    /// Returns the width of a text in a row.
    fn width(&self, row: Self::Row, text: &str) -> Self::Length;

    /// Cuts a text into pieces that are at most `max` wide, or one cluster long where that is wider.
    fn cut<'t>(&self, row: Self::Row, text: &'t str, max: Self::Length) -> Vec<&'t str>;

    /// Returns the space between two columns.
    fn gap(&self) -> Self::Length;
}

/// Measures in terminal cells, all rows alike; columns stand two cells apart.
#[derive(Clone, Copy, Debug, Default)]
pub struct TerminalMetric<R>(std::marker::PhantomData<R>);

impl<R> TerminalMetric<R> {
    /// Makes the metric.
    pub fn new() -> Self {
        TerminalMetric(std::marker::PhantomData)
    }
}

impl<R: Copy> Metric for TerminalMetric<R> {
    type Length = Cells;
    type Row = R;

    fn width(&self, _row: R, text: &str) -> Cells {
        Cells(cluster::width(text))
    }

    fn cut<'t>(&self, _row: R, text: &'t str, max: Cells) -> Vec<&'t str> {
        cluster::cut(text, max.0)
    }

    fn gap(&self) -> Cells {
        Cells(2)
    }
}

impl Length for Cells {
    fn number(self) -> f64 {
        self.0 as f64
    }
}

impl Add for Cells {
    type Output = Cells;

    fn add(self, other: Cells) -> Cells {
        Cells(self.0 + other.0)
    }
}

impl AddAssign for Cells {
    fn add_assign(&mut self, other: Cells) {
        self.0 += other.0;
    }
}

impl Sub for Cells {
    type Output = Cells;

    fn sub(self, other: Cells) -> Cells {
        Cells(self.0.saturating_sub(other.0))
    }
}
