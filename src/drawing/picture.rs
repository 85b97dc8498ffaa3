//! A drawing or plot as a picture of dots.

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::Tree;

use super::lettering;

/// Sides of a picture in dots, at most.
const MOST_DOTS: f32 = 20_000.0;

/// A complete SVG file as PNG (ISO/IEC 15948), `width` dots wide, in the faces that we ship: the same bytes on every
/// machine of one platform.
///
/// # Errors
/// In words, why it can't be drawn: text that is no SVG, or a picture too large.
pub fn picture(svg: &str, width: u32) -> Result<Vec<u8>, String> {
    let tree = Tree::from_str(svg, &lettering::options())
        .map_err(|why| format!("draw a picture: {why}"))?;
    let scale = width as f32 / tree.size().width();
    let height = (tree.size().height() * scale).round().max(1.0);
    let dots = (width as f32 <= MOST_DOTS && height <= MOST_DOTS)
        .then(|| Pixmap::new(width, height as u32))
        .flatten();
    let mut dots = dots.ok_or_else(|| format!("draw a picture of {width} by {height} dots"))?;
    resvg::render(
        &tree,
        Transform::from_scale(scale, scale),
        &mut dots.as_mut(),
    );
    dots.encode_png()
        .map_err(|why| format!("write a picture: {why}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_has_the_size_asked_for() {
        let svg = "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 30 20' width='30mm' height='20mm'>\
                   <text x='2' y='10' font-size='6'>mass</text></svg>";
        let png = picture(svg, 300).unwrap();
        // ISO/IEC 15948, 5.2 and 11.2.2: signature, then the header with width and height.
        assert_eq!(png[..8], [137, 80, 78, 71, 13, 10, 26, 10]);
        assert_eq!(
            png[12..24],
            [b'I', b'H', b'D', b'R', 0, 0, 1, 44, 0, 0, 0, 200]
        );
        assert_eq!(png, picture(svg, 300).unwrap());
        let empty = picture(&svg.replace("mass", ""), 300).unwrap();
        assert_ne!(png, empty, "letters are drawn");
        assert!(picture("no drawing", 300).is_err());
        assert!(picture(svg, 4_000_000).is_err());
    }
}
