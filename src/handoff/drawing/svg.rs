//! A sheet as a complete SVG file, at full size.

use std::fmt::Write as _;

use super::ink::{Board, Curve, Mark, Pen, Point};
use crate::drawing::lettering::{Weight, width};
use crate::drawing::number;
use crate::drawing::text::escaped;

/// Line widths of ISO 128-2, group 0.5; chains of centre lines as long dash, gap, dot, gap.
const STYLE: &str = "path{fill:none;stroke:#000;stroke-width:.25;stroke-linecap:round;stroke-linejoin:round}\
.edge{stroke-width:.5}.frame{stroke-width:.7}.plane{stroke-width:.7}.hatch{stroke-width:.18}\
.centre{stroke-dasharray:6 .8 .4 .8;stroke-linecap:butt}.fill{fill:#000;stroke:none}\
text{font-family:Inter,\"Helvetica Neue\",Arial,\"Liberation Sans\",sans-serif;fill:#000}.bold{font-weight:600}";

fn class(pen: Pen) -> &'static str {
    match pen {
        Pen::Edge => "edge",
        Pen::Narrow => "narrow",
        Pen::Hatch => "hatch",
        Pen::Centre => "centre",
        Pen::Plane => "plane",
        Pen::Fill => "fill",
        Pen::Frame => "frame",
    }
}

fn pair((x, y): Point) -> String {
    let (x, y) = (fine(x), fine(y));
    if y.starts_with('-') {
        x + &y
    } else {
        x + " " + &y
    }
}

/// Thousandths: a drawing may be enlarged.
fn fine(value: f64) -> String {
    crate::drawing::text::decimals(value, 3)
}

/// The sheet, `size` in mm, named `label` for readers.
pub(crate) fn sheet(board: &Board, size: Point, label: &str) -> String {
    let (w, h) = (number(size.0), number(size.1));
    let mut out = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {w} {h}' width='{w}mm' height='{h}mm' role='img' \
         aria-label='{}'><style>{STYLE}</style><rect width='{w}' height='{h}' fill='#fff'/>",
        escaped(label)
    );
    let mut open: Option<(Pen, String)> = None;
    for mark in &board.marks {
        match mark {
            Mark::Stroke {
                pen,
                curves,
                closed,
            } => {
                let commands = commands(curves, *closed);
                match &mut open {
                    Some((known, gathered)) if known == pen => gathered.push_str(&commands),
                    _ => {
                        close(&mut out, &mut open);
                        open = Some((*pen, commands));
                    }
                }
            }
            Mark::Words {
                at,
                along,
                size,
                weight,
                text,
            } => {
                close(&mut out, &mut open);
                words(&mut out, *at, *along, *size, *weight, text);
            }
        }
    }
    close(&mut out, &mut open);
    out.push_str("</svg>");
    out
}

fn close(out: &mut String, open: &mut Option<(Pen, String)>) {
    if let Some((pen, commands)) = open.take() {
        let _ = write!(out, "<path class='{}' d='{commands}'/>", class(pen));
    }
}

fn words(out: &mut String, at: Point, along: Point, size: f64, weight: Weight, text: &str) {
    let turn = along.1.atan2(along.0).to_degrees();
    let place = match turn.abs() < 1e-6 {
        true => format!("x='{}' y='{}'", fine(at.0), fine(at.1)),
        false => format!(
            "transform='translate({} {}) rotate({})'",
            fine(at.0),
            fine(at.1),
            fine(turn)
        ),
    };
    let bold = if weight == Weight::Bold {
        " class='bold'"
    } else {
        ""
    };
    // The width keeps words in their room where another face stands in.
    let _ = write!(
        out,
        "<text{bold} {place} font-size='{}' textLength='{}' lengthAdjust='spacingAndGlyphs' xml:space='preserve'>{}</text>",
        fine(size),
        fine(size * width(text, weight)),
        escaped(text)
    );
}

fn commands(curves: &[Curve], closed: bool) -> String {
    let mut out = String::new();
    let mut last: Option<Point> = None;
    for curve in curves {
        let start = curve.start();
        if last.is_none_or(|last| (last.0 - start.0).hypot(last.1 - start.1) > 1e-6) {
            let _ = write!(out, "M{}", pair(start));
        }
        match *curve {
            Curve::Line(_, b) => {
                let _ = write!(out, "L{}", pair(b));
            }
            Curve::Arc(_, radius, _, turn) => {
                // No more than a third of a turn at once, so that each arc is plain.
                let parts = (turn.abs() / 2.1).ceil().max(1.0) as usize;
                for k in 1..=parts {
                    let to = curve.at(k as f64 / parts as f64);
                    let radius = fine(radius);
                    let sweep = u8::from(turn > 0.0);
                    let _ = write!(out, "A{radius} {radius} 0 0 {sweep} {}", pair(to));
                }
            }
        }
        last = Some(curve.end());
    }
    if closed {
        out.push('z');
    }
    out
}
