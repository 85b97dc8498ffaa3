//! A part as it came out: the dimensions of a built part, changed.

use crate::machining::tolerance::Dimension;
use crate::part::{Layout, Part, Section, StripName};

/// Sizes in mm nearer than this are one.
const SAME_MM: f64 = 1e-9;

/// A part and its layout, changed dimension by dimension. Holes keep number and places along the path: those are the
/// drawing's, whatever diameter the drill leaves.
pub(super) struct Altered {
    pub part: Part,
    pub layout: Layout,
    /// The part as drawn.
    drawn: Part,
    /// The layout's section that each boss has.
    sections: Vec<Option<usize>>,
}

impl Altered {
    pub fn new(part: &Part, layout: &Layout) -> Altered {
        let section = |boss: &crate::part::Boss| {
            let mut all = layout.sections.iter();
            all.position(|section| *section == boss.section)
        };
        Altered {
            part: part.clone(),
            layout: layout.clone(),
            drawn: part.clone(),
            sections: part.bosses.iter().map(section).collect(),
        }
    }

    /// Changes a dimension by so much, in mm.
    pub fn change(&mut self, dimension: Dimension, by: f64) {
        match dimension {
            Dimension::Width(index) => {
                self.section(index, |section| section.width_mm += by);
            }
            Dimension::Thickness(index, strip) => {
                self.section(index, |section| {
                    if let Some(thickness) = thickness(section, strip) {
                        *thickness += by;
                    }
                });
            }
            Dimension::Height(index, strip) => {
                self.section(index, |section| {
                    if let Some(height) = height(section, strip) {
                        *height += by;
                    }
                });
            }
            Dimension::RowDiameter(row) => {
                if let Some(each) = self.part.hole_rows.get_mut(row) {
                    each.diameter_mm += by;
                }
                self.perforations(row, |each| each.diameter_mm += by);
            }
            Dimension::RowPosition(row) => {
                if let Some(each) = self.part.hole_rows.get_mut(row) {
                    each.offset_mm += by;
                }
                for hole in self.layout.holes.iter_mut().filter(|hole| hole.row == row) {
                    hole.across_mm += by;
                }
                self.perforations(row, |each| each.offset_mm += by);
            }
            Dimension::BoreDiameter(index) => self.bores(index, by),
            // A bore stands on the path; nothing is known of one beside it.
            Dimension::BorePosition(_) => {}
            Dimension::SlitWidth(index) => {
                let section = self.sections.get(index).copied().flatten();
                let widen = |section: &mut Section| {
                    if let Some(slits) = &mut section.slits {
                        slits.width_mm += by;
                    }
                };
                match section {
                    // Equal stretches have one section, which is changed once.
                    Some(_) if self.sections[..index].contains(&section) => {}
                    Some(section) => self.section(section, widen),
                    None => {
                        if let Some(boss) = self.part.bosses.get_mut(index) {
                            widen(&mut boss.section);
                        }
                    }
                }
            }
        }
    }

    /// Keeps together what is one by its nature: a wall as thick as the frame is wide, one no higher than the floor.
    pub fn settle(&mut self) {
        let drawn = self.drawn.bosses.iter().map(|boss| &boss.section);
        let drawn: Vec<&Section> = [&self.drawn.section].into_iter().chain(drawn).collect();
        let bosses = self.part.bosses.iter_mut().map(|boss| &mut boss.section);
        let altered = [&mut self.part.section].into_iter().chain(bosses);
        for (section, drawn) in altered.zip(&drawn) {
            settle(section, drawn);
        }
        for (index, section) in self.layout.sections.iter_mut().enumerate() {
            let of_boss = self.sections.iter().position(|at| *at == Some(index));
            let drawn = match (index, of_boss) {
                (0, _) | (_, None) => drawn[0],
                (_, Some(boss)) => drawn[boss + 1],
            };
            settle(section, drawn);
        }
    }

    fn section(&mut self, index: usize, change: impl Fn(&mut Section)) {
        if let Some(section) = self.layout.sections.get_mut(index) {
            change(section);
        }
        if index == 0 {
            change(&mut self.part.section);
        }
        for (boss, at) in self.part.bosses.iter_mut().zip(&self.sections) {
            if *at == Some(index) {
                change(&mut boss.section);
            }
        }
    }

    fn perforations(&mut self, row: usize, change: impl Fn(&mut crate::part::Perforation)) {
        let kinds = self.layout.kinds.iter_mut();
        for each in kinds.flat_map(|kind| &mut kind.perforations) {
            if each.row == row {
                change(each);
            }
        }
    }

    /// Widens the bore of a boss and all that are drilled alike.
    fn bores(&mut self, index: usize, by: f64) {
        let Some(drawn) = self.drawn.bosses.get(index) else {
            return;
        };
        for (boss, other) in self.part.bosses.iter_mut().zip(&self.drawn.bosses) {
            let alike = other.bore == drawn.bore && other.section == drawn.section;
            if let Some(bore) = boss.bore.as_mut().filter(|_| alike) {
                bore.diameter_mm += by;
            }
        }
    }
}

fn settle(section: &mut Section, drawn: &Section) {
    let (width, floor) = (section.width_mm, section.floor_mm);
    let walls = [&mut section.outer_wall, &mut section.inner_wall];
    for (wall, drawn_wall) in walls
        .into_iter()
        .zip([&drawn.outer_wall, &drawn.inner_wall])
    {
        if let (Some(wall), Some(as_drawn)) = (wall, drawn_wall) {
            if as_drawn.thickness_mm >= drawn.width_mm - SAME_MM {
                wall.thickness_mm = width;
            }
            if as_drawn.height_mm <= drawn.floor_mm + SAME_MM {
                wall.height_mm = wall.height_mm.min(floor);
            }
        }
    }
    for (rib, as_drawn) in section.ribs.iter_mut().zip(&drawn.ribs) {
        if as_drawn.height_mm <= drawn.floor_mm + SAME_MM {
            rib.height_mm = rib.height_mm.min(floor);
        }
    }
}

fn thickness(section: &mut Section, strip: StripName) -> Option<&mut f64> {
    match strip {
        StripName::Floor => Some(&mut section.floor_mm),
        StripName::OuterWall => section
            .outer_wall
            .as_mut()
            .map(|wall| &mut wall.thickness_mm),
        StripName::InnerWall => section
            .inner_wall
            .as_mut()
            .map(|wall| &mut wall.thickness_mm),
        StripName::Rib(index) => section.ribs.get_mut(index).map(|rib| &mut rib.thickness_mm),
    }
}

fn height(section: &mut Section, strip: StripName) -> Option<&mut f64> {
    match strip {
        StripName::Floor => None,
        StripName::OuterWall => section.outer_wall.as_mut().map(|wall| &mut wall.height_mm),
        StripName::InnerWall => section.inner_wall.as_mut().map(|wall| &mut wall.height_mm),
        StripName::Rib(index) => section.ribs.get_mut(index).map(|rib| &mut rib.height_mm),
    }
}
