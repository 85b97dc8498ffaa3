//! A loaded solid seen from above its corner, shaded by stress: one SVG.

use std::fmt::Write as _;

use crate::drawing::text::{decimals, escaped};
use crate::evaluate::Picture;

/// Width of the picture and height kept for title and legend, in px.
const WIDTH: f64 = 960.0;
const HEAD: f64 = 96.0;
const MARGIN: f64 = 28.0;
/// The greatest displacement is drawn as this share of the part's size.
const SHOWN: f64 = 0.06;
/// Shades from no stress to the peak, light to dark, so that they also print in grey.
const SHADES: [(f64, f64, f64); 6] = [
    (246.0, 243.0, 230.0),
    (229.0, 210.0, 158.0),
    (224.0, 164.0, 96.0),
    (201.0, 104.0, 82.0),
    (142.0, 54.0, 92.0),
    (58.0, 22.0, 78.0),
];

/// A patch as it is seen.
struct Face {
    /// Nearness to the onlooker.
    depth: f64,
    seen: [(f64, f64); 4],
    stress_mpa: f64,
}

/// The picture of a load case, displacements enlarged by a round factor that it states.
pub fn solid_picture(picture: &Picture, title: &str) -> String {
    let size = picture
        .patches
        .iter()
        .flat_map(|patch| patch.places_mm)
        .fold(0.0_f64, |most, [x, y, _]| most.max(x.abs()).max(y.abs()));
    let greatest = picture
        .patches
        .iter()
        .flat_map(|patch| patch.moves_mm)
        .map(|m| m.iter().map(|x| x * x).sum::<f64>().sqrt())
        .fold(0.0, f64::max);
    let scale = round_factor(SHOWN * size / greatest.max(f64::MIN_POSITIVE));
    let mut faces: Vec<Face> = picture
        .patches
        .iter()
        .filter_map(|patch| {
            let moved: [[f64; 3]; 4] = std::array::from_fn(|k| {
                std::array::from_fn(|axis| {
                    patch.places_mm[k][axis] + scale * patch.moves_mm[k][axis]
                })
            });
            let seen = moved.map(project);
            turned_to_us(&seen).then(|| Face {
                depth: moved.iter().map(|p| depth(*p)).sum(),
                seen,
                stress_mpa: patch.equivalent_mpa,
            })
        })
        .collect();
    faces.sort_by(|a, b| a.depth.total_cmp(&b.depth));
    let all = || faces.iter().flat_map(|face| face.seen);
    let (left, right) = range(all().map(|p| p.0));
    let (top, bottom) = range(all().map(|p| p.1));
    let zoom = (WIDTH - 2.0 * MARGIN) / (right - left).max(1e-9);
    let height = HEAD + 2.0 * MARGIN + zoom * (bottom - top);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {h}\" role=\"img\" \
         font-family=\"sans-serif\" fill=\"#222\"><title>{t}</title>\
         <rect width=\"{WIDTH}\" height=\"{h}\" fill=\"#fff\"/>",
        h = decimals(height, 0),
        t = escaped(title),
    );
    head(&mut svg, picture, title, scale, greatest);
    for face in &faces {
        let colour = shade(face.stress_mpa / picture.peak_mpa.max(f64::MIN_POSITIVE));
        let _ = write!(
            svg,
            "<path fill=\"{colour}\" stroke=\"{colour}\" stroke-width=\".4\" d=\""
        );
        for (k, (x, y)) in face.seen.iter().enumerate() {
            let (x, y) = (MARGIN + zoom * (x - left), HEAD + MARGIN + zoom * (y - top));
            let letter = if k == 0 { 'M' } else { 'L' };
            let _ = write!(svg, "{letter}{x:.1} {y:.1}");
        }
        svg.push_str("Z\"/>");
    }
    if let Some(place) = picture.peak_mm {
        let (x, y) = project(place);
        let (x, y) = (MARGIN + zoom * (x - left), HEAD + MARGIN + zoom * (y - top));
        let _ = write!(
            svg,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"9\" fill=\"none\" stroke=\"#0b5cad\" \
             stroke-width=\"2\"/>"
        );
    }
    svg.push_str("</svg>\n");
    svg
}

fn head(svg: &mut String, picture: &Picture, title: &str, scale: f64, greatest: f64) {
    let _ = write!(
        svg,
        "<text x=\"{MARGIN}\" y=\"30\" font-size=\"19\" font-weight=\"600\">{}</text>\
         <text x=\"{MARGIN}\" y=\"52\" font-size=\"14\">Displacements enlarged {scale} times \
         (greatest {} mm). Ring: greatest stress at a hole.</text>",
        escaped(title),
        decimals(greatest, 4),
    );
    let (x, width) = (MARGIN, 300.0);
    let steps = 30;
    for k in 0..steps {
        let _ = write!(
            svg,
            "<rect x=\"{:.1}\" y=\"64\" width=\"{:.1}\" height=\"12\" fill=\"{}\"/>",
            x + width * f64::from(k) / f64::from(steps),
            width / f64::from(steps) + 0.5,
            shade((f64::from(k) + 0.5) / f64::from(steps)),
        );
    }
    let _ = write!(
        svg,
        "<text x=\"{x}\" y=\"92\" font-size=\"13\">0</text>\
         <text x=\"{}\" y=\"92\" font-size=\"13\" text-anchor=\"end\">{} MPa and more</text>\
         <text x=\"{}\" y=\"76\" font-size=\"13\">equivalent stress (von Mises); sharp inner \
         corners read too high</text>",
        x + width,
        decimals(picture.peak_mpa, 2),
        x + width + 16.0,
    );
}

/// Seen from above the plan's lower left, all three axes foreshortened alike (isometric, ISO 5456-3).
fn project([x, y, z]: [f64; 3]) -> (f64, f64) {
    let (sin, cos) = 30.0_f64.to_radians().sin_cos();
    ((x - y) * cos, -(x + y) * sin - z)
}

/// Nearness to the onlooker.
fn depth([x, y, z]: [f64; 3]) -> f64 {
    z - x - y
}

/// Whether a face that runs counter-clockwise seen from outside is seen from outside.
fn turned_to_us(corners: &[(f64, f64); 4]) -> bool {
    let twice: f64 = (0..4)
        .map(|k| {
            let ((x, y), (u, v)) = (corners[k], corners[(k + 1) % 4]);
            x * v - u * y
        })
        .sum();
    twice < 0.0
}

fn range(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
        (low.min(value), high.max(value))
    })
}

/// The next 1, 2 or 5 times a power of ten below.
fn round_factor(value: f64) -> f64 {
    let power = 10_f64.powf(value.log10().floor());
    [5.0, 2.0, 1.0]
        .into_iter()
        .map(|digit| digit * power)
        .find(|round| *round <= value)
        .unwrap_or(power)
}

fn shade(share: f64) -> String {
    let at = share.clamp(0.0, 1.0) * (SHADES.len() - 1) as f64;
    let low = (at as usize).min(SHADES.len() - 2);
    let t = at - low as f64;
    let (a, b) = (SHADES[low], SHADES[low + 1]);
    let mix = |a: f64, b: f64| (a + t * (b - a)).round() as u8;
    format!(
        "#{:02x}{:02x}{:02x}",
        mix(a.0, b.0),
        mix(a.1, b.1),
        mix(a.2, b.2)
    )
}
