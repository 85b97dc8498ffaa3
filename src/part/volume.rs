//! Exact volume and mass, itemised.

use std::f64::consts::PI;

use super::{Boss, Depth, Layout, Part, StripName, drill_point_height_mm};

/// What a share of the volume belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Item {
    /// A strip of the part's own section.
    Strip(StripName),
    /// All strips of a boss, by its index in [`Part::bosses`].
    Boss(usize),
    /// The holes of a row, by its index in [`Part::hole_rows`]; negative.
    Holes(usize),
    /// The bore of a boss; negative.
    Bore(usize),
}

/// One line of the volume account.
#[derive(Clone, Debug, PartialEq)]
pub struct MassItem {
    /// What it is: `floor`, `outer wall`, `rib 1`, `boss lug 2`, `holes relief`, `bearing insert`.
    pub name: String,
    /// Volume, in mm³: negative for holes, zero for carried masses.
    pub volume_mm3: f64,
    /// Mass, in g: negative for holes.
    pub mass_g: f64,
}

/// Volume of the metal of a part, in mm³, with its account.
///
/// Swept strips by the theorem of Pappus and Guldin (area times the path of its centroid); holes as the
/// cylinder, drill point included, that the drill takes out of its strip, a curved wall's faces respected.
/// Exact while every geometric rule is kept (no hole reaches over the edge of its strip, no strips overlap).
///
/// `density` in t/mm³ only prices the account of [`Volume::items`].
#[derive(Clone, Debug, PartialEq)]
pub struct Volume {
    /// Volume of the metal, in mm³.
    pub metal_mm3: f64,
    /// Shares, in mm³, in the order strips, bosses, holes, bores; they add up to the total.
    pub shares: Vec<(Item, f64)>,
}

impl Volume {
    /// Volume of a part cut into segments.
    pub fn of(part: &Part, layout: &Layout) -> Volume {
        let mut shares: Vec<(Item, f64)> = Vec::with_capacity(8 + 2 * part.bosses.len());
        for strip in part.section.strips() {
            shares.push((Item::Strip(strip.name), 0.0));
        }
        let own = shares.len();
        for boss in 0..part.bosses.len() {
            shares.push((Item::Boss(boss), 0.0));
        }
        let swept: Vec<_> = layout
            .sections
            .iter()
            .map(|section| section.strips())
            .collect();
        for segment in &layout.segments {
            let kind = &layout.kinds[segment.kind];
            let sweep = |area: f64, y: f64| area * kind.length_mm * (1.0 - kind.curvature * y);
            let middle = segment.start_mm + 0.5 * kind.length_mm;
            let strips = &swept[kind.section];
            match super::layout::boss_at(part, middle, layout.length_mm) {
                Some(boss) => {
                    shares[own + boss].1 += strips
                        .iter()
                        .map(|strip| sweep(strip.area(), strip.centre().0))
                        .sum::<f64>();
                }
                None => {
                    for (share, strip) in shares.iter_mut().zip(strips) {
                        share.1 += sweep(strip.area(), strip.centre().0);
                    }
                }
            }
        }
        hole_shares(part, layout, &mut shares);
        for (index, boss) in part.bosses.iter().enumerate() {
            if boss.bore.is_some() {
                let curvature = part.path.curvature(boss.station_mm);
                shares.push((Item::Bore(index), -bore_mm3(boss, curvature)));
            }
        }
        Volume {
            metal_mm3: shares.iter().map(|share| share.1).sum(),
            shares,
        }
    }

    /// The account in words, carried masses at the end. `density` in t/mm³.
    pub fn items(&self, part: &Part, density: f64) -> Vec<MassItem> {
        let metal = self.shares.iter().map(|&(item, volume_mm3)| MassItem {
            name: match item {
                Item::Strip(name) => name.words(),
                Item::Boss(index) => part.bosses[index].words(),
                Item::Holes(index) => format!("holes {}", part.hole_rows[index].name),
                Item::Bore(index) => format!("bore of {}", part.bosses[index].name),
            },
            volume_mm3,
            mass_g: volume_mm3 * density * 1e6,
        });
        let carried = part.carried.iter().map(|carried| MassItem {
            name: carried.name.clone(),
            volume_mm3: 0.0,
            mass_g: carried.mass_g * carried.stations_mm.len().max(1) as f64,
        });
        metal.chain(carried).collect()
    }
}

/// Mass of everything that rides on a part, in g.
pub fn carried_g(part: &Part) -> f64 {
    part.carried
        .iter()
        .map(|carried| carried.mass_g * carried.stations_mm.len().max(1) as f64)
        .sum()
}

/// One negative share a hole row. Holes of a row on equal curvature are equal, so each is computed once.
fn hole_shares(part: &Part, layout: &Layout, shares: &mut Vec<(Item, f64)>) {
    let straight = part
        .path
        .pieces()
        .iter()
        .all(|piece| piece.curvature() == 0.0);
    let single = part.path.pieces().len() == 1;
    for (index, row) in part.hole_rows.iter().enumerate() {
        let Some(strip) = part
            .section
            .strips()
            .into_iter()
            .find(|strip| strip.name == row.strip)
        else {
            continue;
        };
        let mut last: Option<(f64, f64)> = None;
        let mut total = 0.0;
        for hole in layout.holes.iter().filter(|hole| hole.row == index) {
            let curvature = if straight || row.strip == StripName::Floor {
                0.0
            } else if single {
                part.path.pieces()[0].curvature()
            } else {
                part.path.curvature(hole.station_mm)
            };
            let each = match last {
                Some((known, volume)) if known == curvature => volume,
                _ => hole_mm3(row.diameter_mm, row.depth, row.strip, curvature, &strip),
            };
            last = Some((curvature, each));
            total += each;
        }
        shares.push((Item::Holes(index), -total));
    }
}

/// Volume that one hole takes out of its strip, in mm³. `curvature` of the path in 1/mm; it matters for walls
/// and ribs only, whose faces are cylinders of radii 1/curvature - y.
fn hole_mm3(
    diameter: f64,
    depth: Depth,
    name: StripName,
    curvature: f64,
    strip: &super::Strip,
) -> f64 {
    let radius = 0.5 * diameter;
    let disc = PI * radius * radius;
    let cone = disc * drill_point_height_mm(diameter) / 3.0;
    if name == StripName::Floor {
        let thickness = strip.z_high - strip.z_low;
        return match depth {
            Depth::Through => disc * thickness,
            Depth::Blind(depth) => disc * depth + cone,
        };
    }
    // Height of a cylindrical face of signed radius `face` above the plane that touches it on the hole's
    // axis, averaged over the hole's disc.
    let sag = |y: f64| {
        if curvature == 0.0 {
            return 0.0;
        }
        let face = 1.0 / curvature - y;
        mean_over_disc(radius, |u| {
            face - face.signum() * (face * face - u * u).max(0.0).sqrt()
        })
    };
    match depth {
        Depth::Through => {
            disc * ((strip.y_high - strip.y_low) + sag(strip.y_high) - sag(strip.y_low))
        }
        Depth::Blind(depth) if name == StripName::InnerWall => {
            disc * (depth + sag(strip.y_high)) + cone
        }
        Depth::Blind(depth) => disc * (depth - sag(strip.y_low)) + cone,
    }
}

/// Mean of `f(u)` over a disc of a radius, u the distance from a diameter: Gauss-Chebyshev rule of the second
/// kind with 8 points (Abramowitz and Stegun 25.4.40, from memory).
fn mean_over_disc(radius: f64, f: impl Fn(f64) -> f64) -> f64 {
    const POINTS: usize = 8;
    let step = PI / (POINTS + 1) as f64;
    let sum: f64 = (1..=POINTS)
        .map(|k| {
            let (sin, cos) = (k as f64 * step).sin_cos();
            sin * sin * f(radius * cos)
        })
        .sum();
    sum * 2.0 * step / PI
}

/// Volume of the metal that a boss's bore takes, in mm³: whatever of its strips stands within the circle, blind bores from
/// the top down to their depth, and the drill point below that. A counterbore adds the ring around it.
///
/// `curvature` of the path at the bore, in 1/mm.
fn bore_mm3(boss: &Boss, curvature: f64) -> f64 {
    let Some(bore) = boss.bore else { return 0.0 };
    let radius = 0.5 * bore.diameter_mm;
    let disc = |radius, above| disc_mm3(boss, radius, curvature, above);
    let plain = match bore.depth_mm {
        Some(depth) => {
            let cone = PI * radius * radius * drill_point_height_mm(bore.diameter_mm) / 3.0;
            disc(radius, boss.bore_top_mm() - depth) + cone
        }
        None => disc(radius, 0.0),
    };
    let around = bore.counterbore.map_or(0.0, |counterbore| {
        let bottom = boss.bore_top_mm() - counterbore.depth_mm;
        let wide = disc(0.5 * counterbore.diameter_mm, bottom);
        (wide - disc(radius, bottom)).max(0.0)
    });
    plain + around
}

/// Metal of a boss within a circle about the bore's axis, above a height, in mm³.
fn disc_mm3(boss: &Boss, radius: f64, curvature: f64, above: f64) -> f64 {
    let strips = boss.section.strips();
    let below = |y| left_of_side(radius, y, curvature);
    let within = strips.iter().map(|strip| {
        (below(strip.y_high) - below(strip.y_low))
            * (strip.z_high - strip.z_low.max(above)).max(0.0)
    });
    within.sum()
}

/// Area of the disc of a radius about the path that lies at lower y than `y`, sides of strips curved as the path is.
///
/// The side is a circle of radius rho = 1/curvature - y about the path's centre of curvature. It meets the disc's edge
/// where v = y + curvature (radius² - y²) / 2: up to this chord the disc counts, less (or, curved the other way, and) the
/// segment of the side's own circle over the chord.
fn left_of_side(radius: f64, y: f64, curvature: f64) -> f64 {
    if y.abs() >= radius || curvature == 0.0 {
        return left_of_chord(radius, y);
    }
    let chord = y + 0.5 * curvature * (radius * radius - y * y);
    let half = (radius * radius - chord * chord).max(0.0).sqrt();
    let segment = segment(half, (1.0 / curvature - y).abs());
    left_of_chord(radius, chord) - curvature.signum() * segment
}

/// Area of a segment of a circle of radius `rho` over a chord of a half length: rho² (theta - sin theta cos theta), flat
/// ones by the first two terms of its series.
fn segment(half: f64, rho: f64) -> f64 {
    let x = half / rho;
    if x < 1e-3 {
        return half * half * x * (2.0 / 3.0 + 0.2 * x * x);
    }
    let theta = x.min(1.0).asin();
    rho * rho * (theta - theta.sin() * theta.cos())
}

/// Area of the disc of a radius that lies at lower y than `y`.
fn left_of_chord(radius: f64, y: f64) -> f64 {
    let t = (y / radius).clamp(-1.0, 1.0);
    radius * radius * (0.5 * PI + t.asin() + t * (1.0 - t * t).max(0.0).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::part::{HoleRow, Path, Section, Wall};

    fn ring(hole_rows: Vec<HoleRow>) -> Part {
        let wall = Some(Wall {
            thickness_mm: 2.0,
            height_mm: 20.0,
        });
        Part {
            path: Path::circle(53.0).unwrap(),
            section: Section {
                width_mm: 14.0,
                floor_mm: 2.0,
                outer_wall: wall,
                inner_wall: wall,
                ribs: Vec::new(),
                slits: None,
            },
            bosses: Vec::new(),
            hole_rows,
            carried: Vec::new(),
        }
    }

    fn volume(part: &Part) -> f64 {
        let layout = Layout::new(part, &[]).unwrap();
        Volume::of(part, &layout).metal_mm3
    }

    #[test]
    fn a_counterbore_takes_the_ring_around_its_bore() {
        let lug = |counterbore| {
            let mut part = ring(Vec::new());
            part.bosses.push(Boss {
                name: "lug".into(),
                station_mm: 0.0,
                length_mm: 12.0,
                section: Section {
                    floor_mm: 5.0,
                    ..part.section.clone()
                },
                bore: Some(super::super::Bore {
                    diameter_mm: 3.0,
                    depth_mm: None,
                    reamed: false,
                    counterbore,
                }),
            });
            volume(&part)
        };
        let wide = super::super::Counterbore {
            diameter_mm: 6.0,
            depth_mm: 2.0,
        };
        let taken = lug(None) - lug(Some(wide));
        close(taken, 0.25 * PI * (36.0 - 9.0) * 2.0, 1e-9);
        // Deeper than the floor it takes no more than the floor.
        let through = super::super::Counterbore {
            depth_mm: 9.0,
            ..wide
        };
        close(lug(None) - lug(Some(through)), 0.25 * PI * 27.0 * 5.0, 1e-9);
    }

    fn close(got: f64, want: f64, tolerance: f64) {
        assert!(
            (got - want).abs() <= tolerance * want.abs(),
            "{got} is not {want}"
        );
    }

    fn wall_row(count: f64, depth: Depth) -> HoleRow {
        HoleRow {
            name: "wall".into(),
            strip: StripName::OuterWall,
            diameter_mm: 10.0,
            pitch_mm: 53.0 * 2.0 * PI / count,
            depth,
            rows: 1,
            row_gap_mm: 0.0,
            stagger: 0.0,
            offset_mm: 11.0,
            span_mm: None,
            clearance_mm: 0.0,
        }
    }

    /// Rings of rectangles summed by hand and by Pappus: walls 58-60 and 46-48, 18 high, on a floor 46-60 x 2
    /// (own computation).
    #[test]
    fn ring_of_solid_sections() {
        close(volume(&ring(Vec::new())), 33300.9, 1e-6);
        close(volume(&ring(Vec::new())), 2.0 * PI * 53.0 * 100.0, 1e-12);
    }

    /// Radial hole of 10 mm in the wall of radii 58 and 60: 157.221 mm³, flat wall 157.080 (own integral).
    #[test]
    fn radial_holes_in_a_curved_wall() {
        let solid = volume(&ring(Vec::new()));
        let drilled = ring(vec![wall_row(24.0, Depth::Through)]);
        let layout = Layout::new(&drilled, &[]).unwrap();
        assert_eq!(layout.holes.len(), 24);
        close((solid - volume(&drilled)) / 24.0, 157.221, 1e-5);
        close(volume(&drilled) * 2.70e-3, 79.7245, 1e-5);
    }

    /// Blind hole to within the wall: between the through hole's volume less the wall left, cone counted.
    #[test]
    fn blind_hole_has_its_cone() {
        let solid = volume(&ring(Vec::new()));
        let mut row = wall_row(24.0, Depth::Blind(1.0));
        row.diameter_mm = 1.0;
        let taken = (solid - volume(&ring(vec![row]))) / 24.0;
        let disc = PI * 0.25;
        let cone = disc * drill_point_height_mm(1.0) / 3.0;
        close(taken, disc * 1.0 + cone, 3e-3);
        assert!(
            taken < disc + cone,
            "the outer face falls away from the drill"
        );
    }

    /// Cone of a 118 degree point, diameter 3: height 0.901291 mm, volume 2.12362 mm³ (exact trigonometry).
    #[test]
    fn drill_point() {
        close(drill_point_height_mm(3.0), 0.901291, 1e-6);
        close(PI * 2.25 * drill_point_height_mm(3.0) / 3.0, 2.12362, 1e-5);
    }

    #[test]
    fn a_side_within_a_bore_is_curved_as_the_path_is() {
        // Against a fine sum over the disc, and from the closed form on to its series.
        let summed = |radius: f64, y: f64, curvature: f64| {
            let away = 1.0 / curvature;
            let steps = 200_000;
            let width = 2.0 * radius / f64::from(steps);
            let column = |k: i32| {
                let u = -radius + (f64::from(k) + 0.5) * width;
                let half = (radius * radius - u * u).sqrt();
                let side = away - away.signum() * ((away - y).powi(2) - u * u).sqrt();
                (side.clamp(-half, half) + half) * width
            };
            (0..steps).map(column).sum::<f64>()
        };
        for curvature in [0.02, -0.02, 0.1, -0.1] {
            for y in [-1.5, -0.8, 0.0, 0.3, 1.2] {
                let (found, wanted) = (left_of_side(1.6, y, curvature), summed(1.6, y, curvature));
                assert!(
                    (found - wanted).abs() < 1e-6,
                    "{curvature} {y}: {found} {wanted}"
                );
            }
        }
        let half = 1.5;
        let (closed, series) = (
            segment(half, half / 1.0001e-3),
            segment(half, half / 0.9999e-3),
        );
        assert!(
            (closed / series * 0.9999 / 1.0001 - 1.0).abs() < 1e-8,
            "{closed} {series}"
        );
    }
}
