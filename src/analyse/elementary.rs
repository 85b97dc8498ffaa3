//! Elementary effects: what a step along one axis changes, here and there in the space.

/// Elementary effects of an axis on a measure, as changes over its whole range.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Elementary {
    /// Mean: how far the measure rises along the axis, all in all. Ups and downs cancel.
    pub mean: f64,
    /// Mean of the sizes: how much the axis matters.
    pub size: f64,
    /// Standard deviation: how much an effect depends on where the design stands, by curvature or by other axes.
    pub spread: f64,
    /// Effects that could be had; the figures are not numbers where that is none, the spread where it is one.
    pub count: usize,
}

/// Elementary effects of every axis, from designs on trajectories.
///
/// `shares` (trajectories, axes + 1, axes): where designs stand on their axes, 0 to 1; neighbours differ on one axis.
/// `values` (trajectories, axes + 1): the measure. A step with an end that is no number gives no effect.
///
/// Sources: Morris, Technometrics 33(2), 1991 (mean, deviation); Campolongo, Cariboni and Saltelli, Environmental
/// Modelling and Software 22, 2007 (mean of the sizes).
pub fn elementary(shares: &[f64], values: &[f64], axes: usize) -> Vec<Elementary> {
    let mut effects: Vec<Vec<f64>> = vec![Vec::new(); axes];
    let trajectories = shares.chunks_exact((axes + 1) * axes.max(1));
    for (designs, values) in trajectories.zip(values.chunks_exact(axes + 1)) {
        for step in 0..axes {
            let (from, to) = (&designs[step * axes..], &designs[(step + 1) * axes..]);
            let moved = (0..axes).find(|&axis| from[axis] != to[axis]);
            let Some(axis) = moved else { continue };
            let effect = (values[step + 1] - values[step]) / (to[axis] - from[axis]);
            if effect.is_finite() {
                effects[axis].push(effect);
            }
        }
    }
    effects.iter().map(|effects| summary(effects)).collect()
}

fn summary(effects: &[f64]) -> Elementary {
    let count = effects.len() as f64;
    let mean = effects.iter().sum::<f64>() / count;
    let squares = effects.iter().map(|each| (each - mean).powi(2));
    Elementary {
        mean,
        size: effects.iter().map(|each| each.abs()).sum::<f64>() / count,
        spread: (squares.sum::<f64>() / (count - 1.0)).sqrt(),
        count: effects.len(),
    }
}
