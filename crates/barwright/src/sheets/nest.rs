//! Templates laid close together on sheet stock, for a laser or a router.
use super::not_drawable;
use super::templates::Template;
use crate::error::Refused;
use crate::report::units::plain;
use making::cutlist::{Allowances, Board, CutList, Piece, cut};
use paper::sheets::contour_view;
use paper::{Drawing, Pen, Point, Rect};

/// The stock and what stays between contours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetStock {
    /// Length and width of a sheet, in millimetres.
    pub size_mm: [f64; 2],
    /// Left between two contours, in millimetres: the tool's width and what holds.
    pub gap_mm: f64,
    /// Left free along each edge, in millimetres.
    pub edge_mm: f64,
}

/// Templates on sheets.
#[derive(Debug, Clone)]
pub struct Nest {
    /// One drawing a sheet: contours to be cut, the sheet's edge on the layer of outlines.
    pub drawings: Vec<Drawing>,
    /// Share of the sheets that is no template.
    pub waste: f64,
    /// Fewer sheets cannot hold the templates, however they are laid: by area alone.
    pub at_least: usize,
}

/// How many layings are tried: more than a few hundred rarely gain a sheet on sets of some sixty.
const TRIALS: usize = 300;

/// Lays templates on as few sheets as the search finds, all lying the same way: grain or warp of the stock runs along them.
///
/// # Errors
/// [`Refused`] `no_room` for a template that is longer or higher than a sheet, `out_of_range` for a size, `not_drawable`.
pub fn nest(templates: &[Template], stock: &SheetStock) -> Result<Nest, Refused> {
    let free_mm = stock.size_mm.map(|mm| mm - 2.0 * stock.edge_mm);
    let thickest = |template: &Template| {
        let thicknesses = template.view.shape.underside_mm.iter().map(|(_, thickness)| *thickness);
        thicknesses.fold(0.0, f64::max)
    };
    for template in templates {
        let size = [template.view.shape.length_mm, thickest(template)];
        if size[0] > free_mm[0] || size[1] > free_mm[1] {
            let [length, width] = free_mm.map(|mm| plain(mm, 1));
            let message = format!(
                "{} is {} mm long and {} mm high; a sheet has {length} × {width} mm inside its edges",
                template.name,
                plain(size[0], 1),
                plain(size[1], 1)
            );
            return Err(Refused::new("no_room", message, "give larger stock, e.g. --nest 600x400, or fewer notes"));
        }
    }
    // The stock's thickness plays no part: any that all have.
    let thickness_m = 0.01;
    let sheet = |number: usize| Board {
        name: format!("sheet {}", number + 1),
        length_m: free_mm[0] * 1e-3,
        width_m: free_mm[1] * 1e-3,
        thickness_m,
        defects: Vec::new(),
    };
    let boards: Vec<Board> = (0..templates.len()).map(sheet).collect();
    let piece = |template: &Template| Piece {
        name: template.name.clone(),
        length_m: template.view.shape.length_mm * 1e-3,
        width_m: thickest(template) * 1e-3,
        thickness_m,
        spare: false,
    };
    let pieces: Vec<Piece> = templates.iter().map(piece).collect();
    let close = Allowances {
        over_length_m: 0.0,
        over_width_m: 0.0,
        over_thickness_m: 0.0,
        end_m: 0.0,
        kerf_m: stock.gap_mm * 1e-3,
    };
    let list = cut(&boards, &pieces, close, TRIALS, &mut |_, _| {})?;
    let drawings = drawn(templates, stock, &list)?;
    let area = |[length, width]: [f64; 2]| length * width;
    let wanted: f64 = templates.iter().map(|t| area([t.view.shape.length_mm, thickest(t)])).sum();
    Ok(Nest {
        waste: 1.0 - wanted / (drawings.len() as f64 * area(stock.size_mm)),
        at_least: (wanted / area(free_mm)).ceil() as usize,
        drawings,
    })
}

fn drawn(templates: &[Template], stock: &SheetStock, list: &CutList) -> Result<Vec<Drawing>, Refused> {
    let [length, width] = stock.size_mm;
    let mut drawings = Vec::new();
    for (number, sheet) in list.boards.iter().enumerate() {
        let names: Vec<&str> = sheet.placed.iter().map(|placed| templates[placed.piece].name.as_str()).collect();
        let mut drawing =
            Drawing::new(format!("Sheet {}", number + 1), format!("Templates of {} on a sheet.", names.join(", ")));
        drawing.rectangle(Pen::Outline, Rect::new(0.0, 0.0, length, width), paper::Fill::None);
        for placed in &sheet.placed {
            let contour = contour_view(&templates[placed.piece].view).map_err(|error| not_drawable(&error))?;
            let [x, y] = [placed.area.along_m[0], placed.area.across_m[0]].map(|m| stock.edge_mm + m * 1e3);
            drawing.add(&contour, Point::new(x, y));
        }
        drawings.push(drawing);
    }
    Ok(drawings)
}
