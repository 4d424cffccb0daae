//! Labels for bars: note, label, and a code that finds the bar wherever a label can be typed or scanned.
use super::not_drawable;
use crate::error::Refused;
use fast_qr::qr::QRBuilder;
use paper::document::{Document, Page, PaperSize, Placed};
use paper::{Anchor, Drawing, Pen, Point, Rect};
use records::workshop::{BarFilter, QR_PREFIX, Stage, Uid, Workshop};
use words::tell;

/// A bar that gets a label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LabelBar {
    /// Its note, if it has one.
    pub note: Option<String>,
    /// The label on its end grain.
    pub label: String,
    /// What its code says.
    pub code: String,
}

/// The bars of an instrument, bass to treble; their codes say the bar itself, or its place on the page at an address.
///
/// # Errors
/// [`Refused`] `no_bars`; if the record cannot be read.
pub fn of_record(workshop: &Workshop, instrument: Uid, page: Option<&str>) -> Result<Vec<LabelBar>, Refused> {
    let filter = BarFilter { instrument: Some(instrument), ..BarFilter::default() };
    let code = |uid: Uid| match page {
        Some(address) => format!("{address}/bench/{uid}"),
        None => format!("{QR_PREFIX}{uid}"),
    };
    let bars: Vec<LabelBar> = workshop
        .bars(&filter)?
        .into_iter()
        .filter(|bar| bar.stage != Stage::Discarded)
        .map(|bar| LabelBar { code: code(bar.uid), note: bar.note, label: bar.label })
        .collect();
    if bars.is_empty() {
        let hint = "give its bars their notes first: barwright bar LABEL give C3 --to NAME";
        return Err(Refused::new("no_bars", "the instrument has no bars", hint));
    }
    Ok(bars)
}

/// Kept free inside each label.
const EDGE_MM: f64 = 3.0;

/// Sheets of labels, the paper shared evenly, beginning at label `first` (from 0) of the first sheet.
///
/// # Errors
/// [`Refused`] `no_room` where a label would be too small for its code, `out_of_range` for a first label that is not on the sheet.
pub fn sheets(
    bars: &[LabelBar],
    paper: PaperSize,
    [columns, rows]: [usize; 2],
    first: usize,
) -> Result<Document, Refused> {
    let [width, height] = paper.upright_mm();
    let size = [width / columns as f64, height / rows as f64];
    // A code of 37 modules needs half a millimetre each for a phone, and room beside it for the note.
    if size[1] < 24.0 || size[0] < 45.0 {
        let message = format!("a label of {:.0} × {:.0} mm is too small for its code", size[0], size[1]);
        return Err(Refused::new("no_room", message, "take fewer columns or rows: labels of 45 × 24 mm are the least"));
    }
    let each = columns * rows;
    if first >= each {
        let message = format!("a sheet has {each} labels; the first cannot be number {}", first + 1);
        return Err(Refused::new("out_of_range", message, "count the labels from the top left, row by row"));
    }
    let mut document = Document { title: tell!("title-labels"), ..Document::default() };
    for (number, bar) in bars.iter().enumerate() {
        let at = first + number;
        if at / each >= document.pages.len() {
            document.pages.push(Page { size_mm: [width, height], parts: Vec::new() });
        }
        let place = at % each;
        let (x, y) = ((place % columns) as f64 * size[0], (place / columns) as f64 * size[1]);
        let drawing = label(bar, size)?.checked().map_err(|error| not_drawable(&error))?;
        if let Some(page) = document.pages.last_mut() {
            page.parts.push(Placed::at(drawing, x, y));
        }
    }
    Ok(document)
}

fn label(bar: &LabelBar, [width, height]: [f64; 2]) -> Result<Drawing, Refused> {
    let mut drawing = Drawing::new(format!("Label {}", bar.label), String::new());
    let code = QRBuilder::new(bar.code.as_str()).build().map_err(|error| {
        Refused::new("no_qr_code", format!("no code could be made ({error:?})"), "write the label by hand")
    })?;
    // Four modules around it stay free (ISO/IEC 18004).
    let side = (height - 2.0 * EDGE_MM).min(0.45 * width);
    let module = side / (code.size + 8) as f64;
    let (left, top) = (width - EDGE_MM - side + 4.0 * module, 0.5 * (height - side) + 4.0 * module);
    for row in 0..code.size {
        let mut column = 0;
        while column < code.size {
            let run = (column..code.size).take_while(|at| code[row][*at].value()).count();
            if run > 0 {
                // A run in one piece: no hair lines between modules.
                let (x, y) = (left + column as f64 * module, top + row as f64 * module);
                drawing.stripe(Pen::Text, Rect::new(x, y, x + run as f64 * module, y + module));
            }
            column += run.max(1);
        }
    }
    let words = width - 2.0 * EDGE_MM - side;
    let note = bar.note.as_deref().map_or_else(|| "–".to_owned(), words::note);
    let fits = |text: &str, most: f64| (words / paper::lettering::width_mm(text, 1.0).max(0.1)).min(most);
    let big = fits(&note, 0.42 * height);
    drawing.push(paper::Item::Text(paper::Lettering {
        pen: Pen::Text,
        at: Point::new(EDGE_MM, 0.5 * height),
        anchor: Anchor::Start,
        size_mm: big,
        text: note,
        bold: true,
    }));
    let below = tell!("label-bar", label = bar.label.as_str());
    drawing.text(
        Pen::Text,
        Point::new(EDGE_MM, 0.5 * height + 0.28 * height),
        Anchor::Start,
        fits(&below, 0.2 * height),
        below,
    );
    Ok(drawing)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bars(count: usize) -> Vec<LabelBar> {
        let bar = |i: usize| LabelBar {
            note: Some("C♯3".to_owned()),
            label: format!("{i}"),
            code: format!("{QR_PREFIX}6d0f1f1e-0000-4000-8000-{i:012}"),
        };
        (0..count).map(bar).collect()
    }

    #[test]
    fn labels_fill_sheets_from_the_first_free_one() {
        let document = sheets(&bars(30), PaperSize::A4, [3, 8], 20).unwrap();
        assert_eq!(document.pages.iter().map(|page| page.parts.len()).collect::<Vec<_>>(), [4, 24, 2]);
        let corner = document.pages[0].parts[0].at;
        // Label 21 of 3 × 8: seventh row, third column.
        assert!((corner.x - 140.0).abs() < 1e-9 && (corner.y - 6.0 * 297.0 / 8.0).abs() < 1e-9, "{corner:?}");
        paper::pdf::render(&document).unwrap();
        assert_eq!(sheets(&bars(3), PaperSize::A4, [6, 20], 0).unwrap_err().code, "no_room");
        assert_eq!(sheets(&bars(3), PaperSize::A4, [3, 8], 24).unwrap_err().code, "out_of_range");
    }
}
