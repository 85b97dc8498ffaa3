//! Where the sections of a frame are taken: the cuts that plan and sections both name.

use super::canvas::{Anchor, Canvas};
use super::outline::{place, runs};
use super::section::cut_view;
use crate::drawing::text::shortened;
use crate::part::{Boss, Layout, Part, Perforation, Section};

/// Names of cuts in order; letters that are easily misread are left out (ISO 128-3).
const LETTERS: [char; 4] = ['A', 'B', 'C', 'D'];

/// A section taken across the frame, seen against the direction of travel: the outer side on the left.
pub(crate) struct Cut<'a> {
    /// Its name: the plan marks both ends with this letter.
    pub(crate) letter: char,
    /// Where along the path, in mm.
    pub(crate) station_mm: f64,
    pub(crate) section: &'a Section,
    /// Rows that the cut goes through the holes of.
    pub(crate) perforations: Vec<Perforation>,
    /// The boss whose bore it goes through.
    pub(crate) bored: Option<&'a Boss>,
    pub(crate) title: String,
}

/// The frame's own section, through a hole where it is drilled, and one of every different boss section.
pub(crate) fn cuts<'a>(part: &'a Part, layout: &'a Layout) -> Vec<Cut<'a>> {
    let drilled = layout
        .segments
        .iter()
        .map(|segment| (segment, &layout.kinds[segment.kind]))
        .filter(|(_, kind)| kind.section == 0 && !kind.perforations.is_empty())
        .max_by_key(|(_, kind)| kind.perforations.len());
    let own = match drilled {
        Some((segment, kind)) => {
            let middle = segment.start_mm + 0.5 * kind.length_mm;
            let row = kind.perforations[0].row;
            let holes = layout
                .holes
                .iter()
                .filter(|hole| hole.row == row && hole.line == 0);
            let far = |station: f64| (station - middle).abs();
            let nearest = holes
                .map(|hole| hole.station_mm)
                .min_by(|a, b| far(*a).total_cmp(&far(*b)));
            Some((
                nearest.unwrap_or(middle),
                kind.perforations.clone(),
                "through holes",
            ))
        }
        None => runs(layout)
            .iter()
            .find(|run| run.index == 0)
            // Off the middle, where the sizes are, and off bores, which this section does not show.
            .map(|run| {
                let at = |share: f64| run.from_mm + share * (run.to_mm - run.from_mm);
                let clear = |station: &f64| {
                    part.bosses.iter().all(|boss| {
                        let reach = boss.bore.map_or(0.0, |bore| {
                            let wide = bore.counterbore.map_or(0.0, |wide| wide.diameter_mm);
                            0.5 * bore.diameter_mm.max(wide) + 0.2
                        });
                        (boss.station_mm - station).abs() >= reach
                    })
                };
                let shares = [0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9];
                let station = shares.into_iter().map(at).find(clear);
                (station.unwrap_or(at(0.4)), Vec::new(), "frame")
            }),
    };
    let own = own.map(|(station_mm, perforations, title)| Cut {
        letter: LETTERS[0],
        station_mm,
        section: &layout.sections[0],
        perforations,
        bored: None,
        title: title.into(),
    });
    let bosses = layout.sections.iter().skip(1).filter_map(|section| {
        let boss = part.bosses.iter().find(|boss| boss.section == *section)?;
        Some(Cut {
            letter: ' ',
            station_mm: boss.station_mm,
            section,
            perforations: Vec::new(),
            bored: boss.bore.is_some().then_some(boss),
            title: Boss::words(boss),
        })
    });
    let mut cuts: Vec<Cut> = own.into_iter().chain(bosses).take(LETTERS.len()).collect();
    for (cut, letter) in cuts.iter_mut().zip(LETTERS) {
        cut.letter = letter;
    }
    cuts
}

/// The sections of a frame at the cuts that its plan marks, enlarged.
///
/// `layout` must be of `part`. `key` makes the names inside the drawings their own on a page with several: letters and
/// digits.
pub fn section_views(part: &Part, layout: &Layout, key: &str) -> Vec<String> {
    let cuts = cuts(part, layout);
    let view = |(index, cut): (usize, &Cut)| {
        let title = format!("{0}–{0}  {1}", cut.letter, shortened(&cut.title, 30));
        cut_view(
            cut.section,
            &cut.perforations,
            cut.bored,
            &title,
            &format!("{key}s{index}"),
        )
    };
    cuts.iter().enumerate().map(view).collect()
}

/// The cuts in the plan: wide ends of the cutting plane, arrows in the direction of view, letters (ISO 128-3).
pub(crate) fn marks(canvas: &mut Canvas, part: &Part, layout: &Layout, scale: f64) {
    for cut in cuts(part, layout) {
        let pose = part.path.pose(cut.station_mm);
        let (sin, cos) = pose.heading.sin_cos();
        // On paper: y points down. Seen against the direction of travel.
        let look = (-cos, sin);
        for side in [-1.0, 1.0] {
            let at = |gap: f64| {
                place(
                    &part.path,
                    cut.station_mm,
                    side * (0.5 * cut.section.width_mm + gap / scale),
                    scale,
                )
            };
            let (near, far) = (at(1.2), at(4.2));
            canvas.line("wide", &[near, far]);
            let tip = (far.0 + 3.4 * look.0, far.1 + 3.4 * look.1);
            canvas.line("thin", &[far, tip]);
            canvas.head("tip", tip, look, 2.0);
            canvas.keep_off([near, far, tip]);
            let out = ((far.0 - near.0) / 3.0, (far.1 - near.1) / 3.0);
            let letter = (
                far.0 + 2.0 * out.0 + 1.0 * look.0,
                far.1 + 2.0 * out.1 + 1.0 * look.1 + 1.1,
            );
            if !canvas.text_if_free("", letter, Anchor::Middle, &cut.letter.to_string()) {
                canvas.label(
                    "",
                    far,
                    (out.0 + look.0, out.1 + look.1),
                    3.0,
                    &cut.letter.to_string(),
                );
            }
        }
    }
}
