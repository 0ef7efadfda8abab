//! Layout: columns into rows, blocks into pages, in whatever unit the [`Metric`] measures.
//!
//! The three steps are functions of their input: [`columns`] measures what stands under one another, [`break_rows`] parts the
//! columns of a line into rows that fit, [`paginate`] parts blocks into pages and keeps together what belongs together. The
//! screen, the text sheet and the PDF differ only in the metric.
//!
//! It does not know songs, draws nothing, and never reads a font itself.

mod column;
mod metric;
mod page;
mod row;

pub use column::{Column, columns};
pub use metric::{Cells, Length, Metric, TerminalMetric};
pub use page::{Block, Page, Piece, paginate};
pub use row::{Breaking, RowWidths, break_rows};
