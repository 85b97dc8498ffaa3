//! The drawing sheet: frame, title block, drawings at the scale that they state.

use super::leaf::{BODY, Hand, Ink, Leaf, Picture, SMALL};

/// The frame's distance to the edges of the paper: left, elsewhere (ISO 5457: 20 mm for binding, 10 mm).
const EDGES: (f64, f64) = (20.0, 10.0);
/// Size of the title block (ISO 7200: 180 mm wide).
const BLOCK: (f64, f64) = (180.0, 27.0);
const ROW: f64 = 9.0;

/// What the title block says.
pub(crate) struct Title<'a> {
    pub title: &'a str,
    pub supplement: String,
    pub number: String,
    pub tool: String,
    pub date: &'a str,
    pub revision: String,
}

/// A sheet with its frame, centring marks and title block, and where its number stands.
pub(crate) fn sheet(size: (f64, f64), title: &Title) -> (Leaf, (f64, f64)) {
    let mut leaf = Leaf::default();
    let (left, edge) = EDGES;
    let (right, bottom) = (size.0 - edge, size.1 - edge);
    leaf.frame([left, edge, right - left, bottom - edge], 0.7);
    let middle = (0.5 * (left + right), 0.5 * (edge + bottom));
    // Centring marks, as ISO 5457 has them.
    for (from, to) in [
        ((middle.0, edge - 5.0), (middle.0, edge + 5.0)),
        ((middle.0, bottom), (middle.0, bottom + 5.0)),
        ((left - 5.0, middle.1), (left + 5.0, middle.1)),
        ((right - 5.0, middle.1), (right + 5.0, middle.1)),
    ] {
        leaf.line(from, to, 0.7, Ink::Dark);
    }
    let corner = (right - BLOCK.0, bottom - BLOCK.1);
    leaf.frame([corner.0, corner.1, BLOCK.0, BLOCK.1], 0.5);
    let fields: [&[(f64, &str, &str)]; 3] = [
        &[
            (50.0, "Legal owner", ""),
            (50.0, "Document type", "Candidate sheet"),
            (40.0, "Document status", "for review, not released"),
            (40.0, "Identification number", &title.number),
        ],
        &[
            (100.0, "Title", title.title),
            (80.0, "Supplementary title", &title.supplement),
        ],
        &[
            (50.0, "Created by", &title.tool),
            (50.0, "Approved by", ""),
            (40.0, "Date of issue", title.date),
            (20.0, "Revision", &title.revision),
            (20.0, "Sheet", ""),
        ],
    ];
    let mut number = corner;
    for (row, cells) in fields.iter().enumerate() {
        let y = corner.1 + ROW * row as f64;
        if row > 0 {
            leaf.line((corner.0, y), (right, y), 0.25, Ink::Dark);
        }
        let mut x = corner.0;
        for (index, (width, label, text)) in cells.iter().enumerate() {
            if index > 0 {
                leaf.line((x, y), (x, y + ROW), 0.25, Ink::Dark);
            }
            let hand = match *label {
                "Title" | "Identification number" => BODY.bold(),
                _ => BODY,
            };
            leaf.text(x + 1.2, y + 2.8, label, Hand::new(1.8).ink(Ink::Quiet));
            leaf.text(x + 1.2, y + 7.2, &hand.cut(text, width - 2.4), hand);
            number = (x + 1.2, y + 7.2);
            x += width;
        }
    }
    let note = "Dimensions in mm. Views to the scales stated where printed at 100 %.";
    leaf.text(corner.0 + 1.2, corner.1 - 1.6, note, SMALL.ink(Ink::Quiet));
    (leaf, number)
}

/// Beside views, load cases are drawn no smaller than this; on a sheet of their own they must fit.
const LEAST_SCALE: f64 = 0.6;

/// Puts drawings into the frame: views at their own size, so that their scale holds, then load cases in a row, drawn
/// smaller where that helps; gives back those for which there is no room. A first view larger than the frame is made
/// smaller, and a note says so.
pub(crate) fn fill(
    leaf: &mut Leaf,
    size: (f64, f64),
    views: Vec<Picture>,
    loads: Vec<(String, Picture)>,
) -> (Vec<Picture>, Vec<(String, Picture)>) {
    let (left, edge) = EDGES;
    let (low, high) = (
        (left + 5.0, edge + 6.0),
        (size.0 - edge - 5.0, size.1 - edge - BLOCK.1 - 5.0),
    );
    let least = if views.is_empty() { 0.0 } else { LEAST_SCALE };
    let mut rest = Vec::new();
    // The first view, with others beside it, one under the other, as far as there is room; then below it, in rows.
    let (mut x, mut y, mut row) = (low.0, low.1, 0.0_f64);
    let mut beside: Option<(f64, f64, f64)> = None;
    for (index, picture) in views.into_iter().enumerate() {
        let (width, height) = picture.size_mm();
        if index == 0 {
            let fits = ((high.0 - low.0) / width).min((high.1 - low.1 - 4.0) / height);
            let scale = fits.min(1.0);
            if scale < 1.0 {
                let words = format!("Reduced to {:.0} % of the scale stated.", 100.0 * scale);
                leaf.text(x, y + 2.0, &words, SMALL.bold());
                y += 4.0;
            }
            beside = Some((x + scale * width + 4.0, y, y + scale * height));
            leaf.drawing((x, y), picture, scale);
            y += scale * height + 5.0;
            continue;
        }
        if let Some((from, top, bottom)) = beside
            && from + width <= high.0
            && top + height <= bottom + 5.0
        {
            leaf.drawing((from, top), picture, 1.0);
            beside = Some((from, top + height + 5.0, bottom));
            continue;
        }
        if x > low.0 && x + width > high.0 {
            (x, y, row) = (low.0, y + row + 5.0, 0.0);
        }
        if x + width > high.0 + 0.1 || y + height > high.1 + 0.1 {
            rest.push(picture);
            continue;
        }
        leaf.drawing((x, y), picture, 1.0);
        x += width + 4.0;
        row = row.max(height);
    }
    if !rest.is_empty() || loads.is_empty() {
        return (rest, loads);
    }
    if row > 0.0 {
        y += row + 5.0;
    }
    (rest, load_cases(leaf, (low.0, y), high, loads, least))
}

/// Load cases in rows of three; what finds no room is given back.
fn load_cases(
    leaf: &mut Leaf,
    (left, mut y): (f64, f64),
    high: (f64, f64),
    loads: Vec<(String, Picture)>,
    least: f64,
) -> Vec<(String, Picture)> {
    let mut loads = loads.into_iter().peekable();
    while loads.peek().is_some() {
        let row: Vec<(String, Picture)> = loads.by_ref().take(3).collect();
        let sizes: Vec<(f64, f64)> = row.iter().map(|(_, picture)| picture.size_mm()).collect();
        let gaps = 5.0 * (sizes.len() as f64 - 1.0);
        let wide = (high.0 - left - gaps) / sizes.iter().map(|size| size.0).sum::<f64>();
        let tall = sizes.iter().map(|size| size.1).fold(0.0, f64::max);
        let scale = wide.min((high.1 - y - 4.0) / tall).min(1.25);
        // One row a sheet always finds room.
        let first = y <= EDGES.1 + 6.0;
        if scale < least.max(if first { 0.0 } else { 0.3 }) {
            return row.into_iter().chain(loads).collect();
        }
        let mut x = left;
        for ((caption, picture), (width, _)) in row.into_iter().zip(sizes) {
            let hand = SMALL.bold();
            leaf.text(x, y + 2.2, &hand.cut(&caption, scale * width), hand);
            leaf.drawing((x, y + 4.0), picture, scale);
            x += scale * width + 5.0;
        }
        y += 4.0 + scale * tall + 4.0;
    }
    Vec::new()
}
