//! Where loads, supports and carried masses sit: their stations, and after the cut their nodes.

use super::build::station_mm;
use super::setup::{LoadRecipe, Station};
use crate::part::{Layout, Part};
use crate::structure::{Action, Loading, Opening, Support};

/// Stations of every support and force of every load case, in order, then those of the carried masses.
pub fn stations(loads: &[LoadRecipe], part: &Part, slots: &[f64]) -> Vec<f64> {
    let mut stations = Vec::with_capacity(16);
    let mut add = |at: &[Station]| {
        stations.extend(at.iter().map(|at| station_mm(at, &part.path, slots)));
    };
    for load in loads {
        for support in &load.supports {
            add(&support.at);
        }
        for action in &load.actions {
            add(&action.at);
        }
        if let Some(opening) = &load.opening {
            add(std::slice::from_ref(&opening.at));
        }
    }
    for carried in &part.carried {
        stations.extend_from_slice(&carried.stations_mm);
    }
    stations
}

/// The load cases on a layout that was cut at [`stations`], with what each opens, and the nodes of the carried masses
/// in order.
pub fn loadings(
    loads: &[LoadRecipe],
    layout: &Layout,
    slots: &[f64],
) -> (Vec<Loading>, Vec<Option<Opening>>, Vec<usize>) {
    let mut nodes = layout.station_nodes.iter().copied();
    let mut take = || nodes.next().unwrap_or(0);
    let mut openings = Vec::with_capacity(loads.len());
    let loadings = loads
        .iter()
        .map(|load| {
            let mut loading = Loading {
                supports: Vec::with_capacity(4),
                actions: Vec::with_capacity(4),
                acceleration: [0, 1, 2].map(|axis| load.acceleration[axis].value(slots)),
            };
            for support in &load.supports {
                loading.supports.extend(support.at.iter().map(|_| Support {
                    node: take(),
                    frame: support.frame,
                    hold_move: support.hold_move,
                    hold_turn: support.hold_turn,
                    hold_warp: support.hold_warp,
                }));
            }
            for action in &load.actions {
                let force = [0, 1, 2].map(|axis| action.force[axis].value(slots));
                let moment = [0, 1, 2].map(|axis| action.moment[axis].value(slots));
                loading.actions.extend(action.at.iter().map(|_| Action {
                    node: take(),
                    frame: action.frame,
                    force,
                    moment,
                    offset_mm: (action.offset.0.value(slots), action.offset.1.value(slots)),
                }));
            }
            openings.push(load.opening.as_ref().map(|opening| Opening {
                node: take(),
                to_mm: opening.to.value(slots),
                from_mm: opening.from.value(slots),
            }));
            loading
        })
        .collect();
    (loadings, openings, nodes.collect())
}
