//! How the search went.

use std::fmt::Write as _;

use super::frame::Frame;
use crate::drawing::number;
use crate::run::Milestone;

/// Hypervolume and share of feasible designs over the evaluations.
pub(in super::super) fn trace_plot(trace: &[Milestone]) -> String {
    let hypervolume: Vec<_> = trace
        .iter()
        .filter(|m| m.hypervolume.is_finite())
        .map(|m| (m.designs as f64, m.hypervolume))
        .collect();
    let zero = hypervolume.last().map(|&(x, _)| (x, 0.0));
    let origin = (0.0, 0.0);
    let mut frame = Frame::around(hypervolume.iter().copied().chain([origin]).chain(zero));
    frame.x_words = "designs evaluated".into();
    frame.y_words = "hypervolume of the front (share of the final box)".into();
    frame.axes();
    let mut commands = String::new();
    let step = hypervolume.len().div_ceil(400).max(1);
    let last = hypervolume.len().saturating_sub(1);
    for (index, &point) in hypervolume.iter().enumerate() {
        if index % step != 0 && index != last {
            continue;
        }
        if let Some((x, y)) = frame.paper(point) {
            commands.push(if commands.is_empty() { 'M' } else { 'L' });
            let _ = write!(commands, "{} {}", number(x), number(y));
        }
    }
    let _ = write!(frame.body, "<path class='front-line' d='{commands}'/>");
    frame.finish("Hypervolume of the front over the designs evaluated")
}
