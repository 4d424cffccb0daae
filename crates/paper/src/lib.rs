//! One millimetre canvas for every drawing.
//!
//! A drawing is a list of lines, arcs, polygons and lettering in millimetres of the sheet, drawn with a
//! handful of pens whose names say what they mean. How it is shown is decided later: [`svg`] writes it
//! for the screen; other writers read the same list.
//!
//! - [`Drawing`]: the list, its title and its bounds; [`Drawing::collisions`] finds lettering that is crossed.
//! - [`Pen`], [`palette`]: line weights, dashes and colours for light and dark grounds.
//! - [`lettering`]: estimated widths, so that a drawing can be laid out without a font engine.
//! - [`measure`]: lengths in words, rounded as a rule is read.
//! - [`document`], [`pdf`]: drawings on pages, and these as PDF.
//! - [`listing`]: sheets of words and tables.
//! - [`dxf`]: for machines; [`tile`]: in true size over several sheets.
//! - [`sheets`]: the drawings themselves. They take plain numbers and know neither physics nor records.
mod dimension;
pub mod document;
mod drawing;
pub mod dxf;
mod error;
mod geometry;
mod hatch;
mod lanes;
pub mod lettering;
pub mod listing;
pub mod measure;
mod number;
pub mod palette;
pub mod pdf;
mod pen;
pub mod sheets;
pub mod svg;
pub mod tile;

pub use drawing::{Anchor, Collision, Drawing, Fill, Item, Lettering};
pub use error::PaperError;
pub use geometry::{Point, Rect};
pub use hatch::hatch_lines;
pub use pen::{Pen, Weight};
