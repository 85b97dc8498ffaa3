//! Drawings of a frame as SVG text: plan, section, load case, tool path; and what paper and pictures need.
//!
//! `lettering` has the two faces that we ship, `picture` turns SVG into dots; `leaf` is a page of paper being drawn,
//! `block` the drawing sheet on it (frame, title block), `write` makes a PDF of pages.
//!
//! Sizes on paper are in mm and follow the standard scales of ISO 5455, so a page printed at 100 % can be laid
//! under the part. Lines are wide (0.5 mm) and narrow (0.25 mm) as in ISO 128. A drawing carries classes, no
//! colours: the page's style sheet colours it, and [`standalone`] adds a style for a file of its own.

pub(crate) mod block;
mod canvas;
mod cuts;
mod key;
mod labels;
pub(crate) mod leaf;
pub(crate) mod lettering;
mod load;
mod outline;
mod picture;
mod plan;
mod plan_notes;
mod section;
mod symbols;
pub(crate) mod text;
mod tool_path;
pub(crate) mod write;

pub use cuts::section_views;
pub use load::load_view;
pub use picture::picture;
pub use plan::plan_view;
pub use section::section_view;
pub use tool_path::tool_path_view;

pub(crate) use canvas::number;
pub(crate) use cuts::{Cut, cuts};
pub(crate) use outline::runs;

/// Style of a drawing or plot that stands in a file of its own.
pub const STYLE: &str = include_str!("drawing.css");

/// A drawing made for the page as a complete SVG file with its own light style.
pub fn standalone(svg: &str) -> String {
    let body = svg.find('>').map_or(svg.len(), |end| end + 1);
    format!(
        "<svg xmlns='http://www.w3.org/2000/svg'{}<style>{STYLE}</style>{}",
        &svg["<svg".len().min(body)..body],
        &svg[body..]
    )
}

/// The scale of ISO 5455 at which `size_mm` (largest extent) best fills `room_mm` of paper, as drawn over real.
pub fn standard_scale(size_mm: f64, room_mm: f64) -> f64 {
    const SCALES: [f64; 15] = [
        50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001,
    ];
    let fits = |scale: &&f64| size_mm * **scale <= room_mm;
    *SCALES.iter().find(fits).unwrap_or(&0.001)
}

/// A scale as drawings state it: `5 : 1`, `1 : 2`.
pub fn scale_words(scale: f64) -> String {
    if scale >= 1.0 {
        format!("{} : 1", number(scale))
    } else {
        format!("1 : {}", number(1.0 / scale))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_are_those_of_iso_5455() {
        // ISO 5455:1979, table of recommended scales (from memory): 50, 20, 10, 5, 2 : 1, 1 : 1, 1 : 2, 5, 10 ...
        assert_eq!(scale_words(standard_scale(100.0, 120.0)), "1 : 1");
        assert_eq!(scale_words(standard_scale(130.0, 120.0)), "1 : 2");
        assert_eq!(scale_words(standard_scale(10.0, 70.0)), "5 : 1");
        assert_eq!(scale_words(standard_scale(500.0, 120.0)), "1 : 5");
    }

    #[test]
    fn a_file_of_its_own_has_name_space_and_style() {
        let file = standalone("<svg class='plan'><g/></svg>");
        assert!(file.starts_with("<svg xmlns='http://www.w3.org/2000/svg' class='plan'><style>"));
        assert!(file.ends_with("</style><g/></svg>"));
    }
}
