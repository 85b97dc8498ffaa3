//! A blade opened far: the frame as a straight strip that bends in the plane of path and tool axis.

use super::Support;
use super::blade::{Bent, BladePiece};
use super::error::StructureError;
use super::model::Model;
use crate::part::Layout;

/// A place of the frame moved along the tool axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Opening {
    /// Node of the [`Layout`] that is moved.
    pub node: usize,
    /// How far it comes, in mm.
    pub to_mm: f64,
    /// Where it comes back to in service, in mm; for fatigue.
    pub from_mm: f64,
}

/// Fatigue strength of the metal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Endurance {
    /// Amplitude that a smooth bar stands at no mean stress, in MPa.
    pub amplitude_mpa: f64,
    /// Tensile strength, in MPa.
    pub ultimate_mpa: f64,
}

/// A blade opened.
#[derive(Clone, Debug, PartialEq)]
pub struct Opened {
    /// Force along the tool axis that holds it open, in N.
    pub force_n: f64,
    /// Energy stored, in N mm.
    pub energy_n_mm: f64,
    /// Greatest normal stress, in MPa, and its place along the path, in mm.
    pub stress_mpa: f64,
    /// Where along the path that is, in mm.
    pub stress_at_mm: f64,
    /// Least safety against fatigue between the two openings; absent where the strength is not known.
    pub fatigue_safety: Option<f64>,
    /// Force against opening, (mm, N), from rest on.
    pub curve: Vec<(f64, f64)>,
    /// Nodes of the strip: place at rest along the path, displacement along the path and along the tool axis, in mm;
    /// slope, in rad; greatest normal stress, in MPa.
    pub shape: Vec<[f64; 5]>,
    /// Greatest of b² / (R t) over the blade, b and t a strip's width and thickness, R its radius where it is bent
    /// most: well above 1 a strip is stiffened as a plate is, by up to 1 / (1 - nu²).
    pub searle: f64,
}

impl Opened {
    /// Greatest displacement of the strip: its place at rest along the path, and its size, in mm.
    pub fn greatest_displacement(&self) -> (f64, f64) {
        let mut greatest = (0.0, 0.0);
        for [at, along, across, ..] in &self.shape {
            let size = along.hypot(*across);
            if size > greatest.1 {
                greatest = (*at, size);
            }
        }
        greatest
    }
}

/// Openings at which the force is noted down.
const NOTED: usize = 4;

/// Pieces between the outermost places that are held or moved, at least.
const LEAST_PIECES: f64 = 16.0;

/// Safety against fatigue under a stress that goes between two values; infinite where it stays.
///
/// 1 / safety = amplitude / endurance + mean / ultimate (Goodman's straight line; a mean in compression counts as
/// none). Source: Shigley, Mechanical Engineering Design (from memory).
fn goodman((one, other): (f64, f64), strength: Endurance) -> f64 {
    let amplitude = 0.5 * (one - other).abs();
    let mean = 0.5 * (one + other).max(0.0);
    1.0 / (amplitude / strength.amplitude_mpa + mean / strength.ultimate_mpa)
}

impl Model {
    /// A straight frame with one place moved far along the tool axis, in load steps with large deflection.
    ///
    /// The strip bends in the plane of path and tool axis only, the middles of its sections in one line, and nothing
    /// but its supports and the force at the moved place acts on it. Sections must be alike on both sides of the path.
    ///
    /// # Errors
    /// [`StructureError::FreeToMove`], [`StructureError::MixedAxes`], [`StructureError::NoNode`] as for any load case;
    /// [`StructureError::NoOpening`] where no stable equilibrium is found.
    pub fn open(
        &mut self,
        layout: &Layout,
        supports: &[Support],
        opening: &Opening,
        endurance: Option<Endurance>,
    ) -> Result<Opened, StructureError> {
        self.check_node(opening.node)?;
        // Tells what is free to move, in words.
        self.factor(supports)?;
        let strip = self.strip(layout, supports, opening.node);
        let move_to = |from: &Bent, to: f64| {
            from.moved_to(&strip.pieces, &strip.holds, strip.moved, to)
                .ok_or(StructureError::NoOpening { to_mm: to })
        };
        let rest = Bent::at_rest(strip.pieces.len());
        let mut curve = vec![(0.0, 0.0)];
        let mut state = rest.clone();
        for step in 1..=NOTED {
            let to = opening.to_mm * step as f64 / NOTED as f64;
            state = move_to(&state, to)?;
            curve.push((to, state.force_n));
        }
        // As far to the other side is the mirror image.
        let back = if opening.from_mm == 0.0 {
            rest
        } else if opening.from_mm == -opening.to_mm {
            state.clone().mirrored()
        } else {
            move_to(&rest, opening.from_mm)?
        };
        let mut opened = Opened {
            force_n: state.force_n,
            energy_n_mm: state.energy_n_mm,
            stress_mpa: 0.0,
            stress_at_mm: strip.stations[0],
            fatigue_safety: endurance.map(|_| f64::INFINITY),
            curve,
            shape: strip
                .stations
                .iter()
                .zip(&state.motion)
                .map(|(at, moved)| [*at, moved[0], moved[1], moved[2], 0.0])
                .collect(),
            searle: 0.0,
        };
        for (index, &kind) in strip.kinds.iter().enumerate() {
            let (now, then) = (&state.forces[index], &back.forces[index]);
            let section = &layout.sections[layout.kinds[kind].section];
            let flat = section.floor_strip_mm().powi(2) / section.floor_mm;
            for end in 0..2 {
                let bent = (now[1 + end] / strip.pieces[index].bend_n_mm2).abs();
                opened.searle = opened.searle.max(flat * bent);
                for fibre in self.fibres(kind) {
                    // A moment that hollows the upper side presses on it.
                    let stress =
                        |forces: &[f64; 3]| fibre[0] * forces[0] - fibre[1] * forces[1 + end];
                    let (high, low) = (stress(now), stress(then));
                    let there = &mut opened.shape[index + end][4];
                    *there = there.max(high.abs());
                    if high.abs() > opened.stress_mpa {
                        opened.stress_mpa = high.abs();
                        opened.stress_at_mm = strip.stations[index + end];
                    }
                    if let (Some(strength), Some(least)) = (endurance, &mut opened.fatigue_safety) {
                        *least = least.min(goodman((high, low), strength));
                    }
                }
            }
        }
        Ok(opened)
    }

    /// Normal stress per stretching force and per bending moment at the places of a kind's section.
    fn fibres(&self, kind: usize) -> impl Iterator<Item = [f64; 2]> {
        self.laws[kind].points.iter().flat_map(|points| {
            let [stretch, bend, ..] = &points.normal;
            (0..4).map(|lane| [stretch[lane], bend[lane]])
        })
    }

    /// The strip between the outermost places that are held or moved.
    fn strip(&self, layout: &Layout, supports: &[Support], moved: usize) -> Strip {
        let places = supports.iter().map(|support| support.node).chain([moved]);
        let at = |node: usize| layout.nodes_mm[node];
        let (first, last) = places.fold((moved, moved), |(low, high), node| {
            (
                if at(node) < at(low) { node } else { low },
                if at(node) > at(high) { node } else { high },
            )
        });
        let whole = at(last) - at(first);
        let mut strip = Strip {
            pieces: Vec::with_capacity(24),
            kinds: Vec::with_capacity(24),
            stations: vec![at(first)],
            holds: vec![[false; 3]],
            moved: 0,
        };
        for node in first..=last {
            let here = strip.stations.len() - 1;
            if node == moved {
                strip.moved = here;
            }
            for support in supports.iter().filter(|support| support.node == node) {
                let held = &mut strip.holds[here];
                held[0] |= support.hold_move[0];
                held[1] |= support.hold_move[2];
                // About the axis that lies across the frame; path and plan have it alike, the path being straight.
                held[2] |= support.hold_turn[1];
            }
            if node == last {
                break;
            }
            let segment = &layout.segments[node];
            let kind = &layout.kinds[segment.kind];
            let parts = (LEAST_PIECES * kind.length_mm / whole).ceil().max(1.0);
            let law = &self.laws[segment.kind];
            for part in 1..=parts as usize {
                strip.pieces.push(BladePiece {
                    length_mm: kind.length_mm / parts,
                    stretch_n: self.modulus_mpa * law.properties.stretch_area_mm2,
                    bend_n_mm2: self.modulus_mpa * law.properties.bending_mm4.0,
                });
                strip.kinds.push(segment.kind);
                strip
                    .stations
                    .push(at(node) + kind.length_mm * part as f64 / parts);
                strip.holds.push([false; 3]);
            }
        }
        strip
    }
}

/// A straight strip cut into pieces.
struct Strip {
    pieces: Vec<BladePiece>,
    /// Segment kind of each piece.
    kinds: Vec<usize>,
    /// Of every node: place along the path, and whether it is held along, across and against turning.
    stations: Vec<f64>,
    holds: Vec<[bool; 3]>,
    /// The node that is moved.
    moved: usize,
}

#[cfg(test)]
mod tests {
    use super::{Endurance, goodman};

    fn check(stresses: (f64, f64), want: f64) {
        let strength = Endurance {
            amplitude_mpa: 95.0,
            ultimate_mpa: 310.0,
        };
        let got = goodman(stresses, strength);
        assert!(
            got == want || (got - want).abs() < 1e-5 * want,
            "{got} is not {want}"
        );
    }

    /// Amplitude 40, mean 60, endurance 95, ultimate 310 MPa: 1.62707 (Shigley's form of Goodman's line, from memory;
    /// worked). Fully reversed only the amplitude counts, and a mean in compression takes nothing off.
    #[test]
    fn goodmans_line() {
        check((100.0, 20.0), 1.62707);
        check((20.0, 100.0), 1.62707);
        check((40.0, -40.0), 95.0 / 40.0);
        check((-100.0, -20.0), 95.0 / 40.0);
        check((0.0, 0.0), f64::INFINITY);
    }
}
