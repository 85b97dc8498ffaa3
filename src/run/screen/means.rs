//! Means of a measure along one dimension, and over two.

use serde::Serialize;

use crate::analyse::Indices;
use crate::evaluate::setup::{Range, Variable};

/// Places at which the mean along a dimension is told; a dimension of fewer values is told at each.
const PLACES: usize = 10;
/// Places of either dimension that two are looked at together.
const TOGETHER: usize = 6;
/// Lines of an interplay.
const LINES: usize = 3;
/// Designs that a mean needs.
const LEAST: usize = 5;
/// Share of the variance that two dimensions must have together to be told.
const LEAST_TOGETHER: f64 = 0.005;
/// Dimensions whose pairs are looked at: those with the greatest totals.
const MOST_PAIRED: usize = 8;

/// Mean of a measure along a dimension, all others spread over their ranges.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Curve {
    /// Index of the dimension.
    pub dimension: usize,
    /// Values of the dimension, in its unit, ascending.
    pub at: Vec<f64>,
    /// Mean of the measure there.
    pub mean: Vec<f64>,
    /// Designs behind each mean.
    pub designs: Vec<usize>,
}

/// What two dimensions do together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Interplay {
    /// The dimension along the curves and the one that differs between them.
    pub dimensions: [usize; 2],
    /// Share of the variance by the two together, beyond what either does alone.
    pub share: f64,
    /// Mean value of the second dimension on each line, in its unit, and the mean of the measure along the first.
    pub lines: Vec<(f64, Curve)>,
}

/// Value of a dimension, in its unit, of a design.
pub(super) type Coordinate<'a> = dyn Fn(usize, usize) -> f64 + 'a;

pub(super) fn curves(
    variables: &[Variable],
    shares: &[f64],
    coordinate: &Coordinate<'_>,
    values: &[f64],
) -> Vec<Curve> {
    (0..variables.len())
        .map(|axis| {
            let groups = Groups::new(variables, axis, PLACES);
            let all = (0..values.len()).filter(|&row| values[row].is_finite());
            curve(
                axis,
                &groups,
                shares,
                variables.len(),
                coordinate,
                values,
                all,
            )
        })
        .collect()
}

fn curve(
    axis: usize,
    groups: &Groups,
    shares: &[f64],
    axes: usize,
    coordinate: &Coordinate<'_>,
    values: &[f64],
    rows: impl Iterator<Item = usize>,
) -> Curve {
    let mut sums = vec![(0.0, 0.0, 0_usize); groups.count];
    for row in rows {
        let (at, mean, designs) = &mut sums[groups.of(shares[row * axes + axis])];
        *at += coordinate(row, axis);
        *mean += values[row];
        *designs += 1;
    }
    sums.retain(|(_, _, designs)| *designs >= LEAST);
    let mut sums: Vec<(f64, f64, usize)> = sums
        .into_iter()
        .map(|(at, mean, designs)| (at / designs as f64, mean / designs as f64, designs))
        .collect();
    // A list of choices need not ascend.
    sums.sort_by(|a, b| a.0.total_cmp(&b.0));
    Curve {
        dimension: axis,
        at: sums.iter().map(|each| each.0).collect(),
        mean: sums.iter().map(|each| each.1).collect(),
        designs: sums.iter().map(|each| each.2).collect(),
    }
}

/// The two dimensions that do most together; `None` where that is next to nothing.
pub(super) fn interplay(
    variables: &[Variable],
    shares: &[f64],
    coordinate: &Coordinate<'_>,
    values: &[f64],
    indices: &[Indices],
) -> Option<Interplay> {
    let axes = variables.len();
    let mut order: Vec<usize> = (0..axes).collect();
    order.sort_by(|&a, &b| indices[b].total.value.total_cmp(&indices[a].total.value));
    order.truncate(MOST_PAIRED);
    let known: Vec<usize> = (0..values.len())
        .filter(|&row| values[row].is_finite())
        .collect();
    let mut best: Option<([usize; 2], f64)> = None;
    for (k, &along) in order.iter().enumerate() {
        for &between in &order[k + 1..] {
            let groups = [along, between].map(|axis| Groups::new(variables, axis, TOGETHER));
            let of = |row: usize| {
                [(along, 0), (between, 1)].map(|(axis, k)| groups[k].of(shares[row * axes + axis]))
            };
            let share = together(
                &known,
                values,
                axes + 2,
                [groups[0].count, groups[1].count],
                &of,
            );
            if share > best.map_or(LEAST_TOGETHER, |best| best.1) {
                best = Some(([along, between], share));
            }
        }
    }
    let ([along, between], share) = best?;
    let (across, lines) = (
        Groups::new(variables, along, PLACES),
        Groups::new(variables, between, LINES),
    );
    let line = |line: usize| {
        let rows = known.iter().copied();
        let rows: Vec<usize> = rows
            .filter(|row| lines.of(shares[row * axes + between]) == line)
            .collect();
        let at = rows
            .iter()
            .map(|&row| coordinate(row, between))
            .sum::<f64>()
            / rows.len() as f64;
        let rows = rows.into_iter();
        (
            at,
            curve(along, &across, shares, axes, coordinate, values, rows),
        )
    };
    let mut lines: Vec<(f64, Curve)> = (0..lines.count).map(line).collect();
    lines.retain(|(at, curve)| at.is_finite() && !curve.at.is_empty());
    lines.sort_by(|a, b| a.0.total_cmp(&b.0));
    Some(Interplay {
        dimensions: [along, between],
        share,
        lines,
    })
}

/// Share of the variance between the cells of a table that its rows and columns do not explain, less what chance
/// alone would leave there.
fn together(
    known: &[usize],
    values: &[f64],
    block: usize,
    [wide, high]: [usize; 2],
    of: &dyn Fn(usize) -> [usize; 2],
) -> f64 {
    let mut cells = vec![(0.0, 0.0); wide * high];
    let (mut sum, mut square) = (0.0, 0.0);
    for &row in known {
        let [x, y] = of(row);
        let cell = &mut cells[y * wide + x];
        cell.0 += 1.0;
        cell.1 += values[row];
        sum += values[row];
        square += values[row] * values[row];
    }
    let count = known.len() as f64;
    let mean = sum / count;
    let variance = square / count - mean * mean;
    let side = |member: &dyn Fn(usize) -> bool| {
        let of_side = (0..wide * high)
            .filter(|&cell| member(cell))
            .map(|cell| cells[cell]);
        let (n, total) = of_side.fold((0.0, 0.0), |all, each| (all.0 + each.0, all.1 + each.1));
        total / n - mean
    };
    let columns: Vec<f64> = (0..wide).map(|x| side(&|cell| cell % wide == x)).collect();
    let rows: Vec<f64> = (0..high).map(|y| side(&|cell| cell / wide == y)).collect();
    let mut between = 0.0;
    for (cell, &(n, total)) in cells.iter().enumerate() {
        if n > 0.0 {
            let rest = total / n - mean - columns[cell % wide] - rows[cell / wide];
            between += n * rest * rest;
        }
    }
    // Of a block, only A, B and A moved along either dimension are at places of their own.
    let chance = ((wide - 1) * (high - 1)) as f64 / (count * 4.0 / block as f64);
    (between / count / variance - chance).max(0.0)
}

/// A dimension cut into groups: its values where they are few, else equal parts of its range.
struct Groups {
    count: usize,
    /// Whether every value has a group.
    each: bool,
}

impl Groups {
    fn new(variables: &[Variable], axis: usize, most: usize) -> Self {
        let values = match &variables[axis].range {
            Range::Continuous { step: None, .. } => usize::MAX,
            Range::Continuous {
                low,
                high,
                step: Some(step),
            } => ((high - low) / step + 1.0 + 1e-9) as usize,
            Range::Integer { low, high } => (high - low + 1) as usize,
            Range::Choice(values) => values.len(),
        };
        let each = values <= most + 2;
        Self {
            count: if each { values.max(1) } else { most },
            each,
        }
    }

    /// Group of a design by how far along the dimension it stands.
    fn of(&self, share: f64) -> usize {
        let group = if self.each {
            (share * (self.count - 1) as f64).round()
        } else {
            share * self.count as f64
        };
        (group as usize).min(self.count - 1)
    }
}
