//! Which dimension drives what: a study's space sampled for it, measure by measure.

mod fit;
mod means;

pub use fit::{FitFigures, QuadraticFit, TermRow};
pub use means::{Curve, Interplay};

use rayon::prelude::*;
use serde::Serialize;

use super::data::{Column, Mistakes, Role};
use super::prepare::{Prepared, one};
use super::space::{Space, row_head, value};
use crate::analyse::{self, Elementary, Indices};
use crate::evaluate::setup::{Range, Variable};
use crate::explore::{Problem, screening};

/// Most variables: each takes two dimensions of the Sobol sequence.
const MOST_VARIABLES: usize = 32;
/// Fewest blocks of designs that indices are worked out from.
const LEAST_BLOCKS: usize = 8;
/// Most trajectories; a tenth of the designs go into them otherwise.
const MOST_TRAJECTORIES: usize = 100;
/// A measure that so few of the designs have is screened by no indices.
const LEAST_KNOWN: f64 = 0.01;

/// What is asked of a screening.
#[derive(Clone, Debug, Default)]
pub struct ScreenAsk {
    /// Designs to evaluate, at most.
    pub designs: usize,
    /// Seed.
    pub seed: u64,
    /// Which measures, derived values or objectives; empty: those that objectives and constraints speak of.
    pub measures: Vec<String>,
}

/// Which dimension drives what in a study.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Screening {
    /// File stem of the study.
    pub study: String,
    /// Its title.
    pub title: String,
    /// Seed.
    pub seed: u64,
    /// Designs evaluated.
    pub designs: usize,
    /// Blocks of designs behind the indices, and trajectories behind the elementary effects.
    pub blocks: usize,
    /// Trajectories.
    pub trajectories: usize,
    /// Share of evenly spread designs that keep the geometric rules.
    pub possible: f64,
    /// The dimensions.
    pub dimensions: Vec<Dimension>,
    /// The measures.
    pub measures: Vec<Screened>,
    /// What the reader must know.
    pub remarks: Vec<String>,
}

/// A dimension that was varied.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Dimension {
    /// Name.
    pub name: String,
    /// Unit of its values.
    pub unit: String,
    /// Least value.
    pub low: f64,
    /// Greatest value.
    pub high: f64,
}

/// What drives a measure.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Screened {
    /// Its name.
    pub name: String,
    /// Its unit.
    pub unit: String,
    /// Share of the designs that have it.
    pub known: f64,
    /// Mean over the designs that have it.
    pub mean: f64,
    /// Standard deviation over them.
    pub deviation: f64,
    /// The dimensions, the strongest first; none where the measure does not vary or hardly any design has it.
    pub drivers: Vec<Driver>,
    /// Mean of the measure along each dimension, in the order of [`Screening::dimensions`].
    pub curves: Vec<Curve>,
    /// The two dimensions that do most together, if any do.
    pub interplay: Option<Interplay>,
    /// A quadratic in all dimensions.
    pub fit: Option<QuadraticFit>,
}

/// How a dimension drives a measure.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Driver {
    /// Index of the dimension.
    pub dimension: usize,
    /// Its name.
    pub name: String,
    /// Total share of the variance, alone and together with others: value, lower and upper end of the 95 % interval.
    pub total: [f64; 3],
    /// Share of the variance alone: value and interval.
    pub first: [f64; 3],
    /// How far the mean of the measure rises from the lower to the upper end of the dimension.
    pub rise: f64,
    /// Mean elementary effect over the whole range.
    pub effect_mean: f64,
    /// Mean size of the elementary effects.
    pub effect_size: f64,
    /// Standard deviation of the elementary effects.
    pub effect_spread: f64,
    /// Elementary effects that could be had.
    pub effects: usize,
}

/// Designs and what came out of them.
struct Sampled {
    /// (designs, dimensions) flat, as places on the axes.
    designs: Vec<f64>,
    /// How far along its axis each stands; same shape.
    shares: Vec<f64>,
    /// What came out, (designs, columns + 1) flat: the columns screened, then the violation of the geometric rules.
    rows: Vec<f64>,
}

/// Evaluates designs spread over a study's space, in parallel, and says what drives each measure.
///
/// The figures are the beam's, as the evaluator of `prepared` gives them. Designs that break a geometric rule have
/// mass and geometry only; the measures they lack are screened within the rest.
///
/// # Errors
///
/// A measure that the study has not, more variables than can be screened, too few designs for them.
pub fn screen(prepared: &Prepared, ask: &ScreenAsk) -> Result<Screening, Mistakes> {
    let space = Space::new(prepared);
    let axes = space.axes();
    let count = axes.len();
    let columns = wanted(prepared, &ask.measures)?;
    if count > MOST_VARIABLES {
        return Err(one(
            "call/variables",
            format!("{count} variables are too many to screen"),
            0,
            &format!("{MOST_VARIABLES} at most: fix some of them"),
        ));
    }
    let trajectories = (ask.designs / 10 / (count + 1)).min(MOST_TRAJECTORIES);
    let left = ask.designs - trajectories * (count + 1);
    let blocks = match left / (count + 2) {
        enough if enough >= LEAST_BLOCKS => 1 << enough.ilog2(),
        _ => {
            let least = (LEAST_BLOCKS * (count + 2) * 10).div_ceil(9);
            return Err(one(
                "call/designs",
                format!(
                    "{} designs are too few to screen {count} variables",
                    ask.designs
                ),
                0,
                &format!("at least {least}; some thousands give useful figures"),
            ));
        }
    };
    let head = row_head(&prepared.study);
    let sample = |designs: Result<Vec<f64>, _>| -> Result<Sampled, Mistakes> {
        let refused =
            |error: crate::explore::Error| one("call/screen", format!("failed to {error}"), 0, "");
        let designs = designs.map_err(refused)?;
        let shares = screening::shares(axes, &designs).map_err(refused)?;
        let kept = columns.len() + 1;
        let mut rows = vec![f64::NAN; designs.len() / count * kept];
        designs
            .par_chunks_exact(count)
            .zip(rows.par_chunks_exact_mut(kept))
            .for_each_init(
                || vec![f64::NAN; space.width()],
                |whole, (x, row)| {
                    whole.fill(f64::NAN);
                    space.evaluate(x, whole);
                    for (kept, column) in row.iter_mut().zip(&columns) {
                        *kept = whole[head + column - count];
                    }
                    row[columns.len()] = whole[head - 2];
                },
            );
        Ok(Sampled {
            designs,
            shares,
            rows,
        })
    };
    let spread = sample(screening::blocks(axes, blocks, ask.seed))?;
    let stepped = sample(screening::trajectories(axes, trajectories, ask.seed))?;

    let width = columns.len() + 1;
    let ends = spread.rows.chunks_exact(width).enumerate();
    let ends = ends.filter(|(row, _)| row % (count + 2) < 2);
    let kept = ends.filter(|(_, row)| row[columns.len()] <= 0.0).count();
    let measures: Vec<Screened> = columns
        .par_iter()
        .enumerate()
        .map(|(at, &column)| {
            let values = |sampled: &Sampled| -> Vec<f64> {
                sampled
                    .rows
                    .iter()
                    .skip(at)
                    .step_by(width)
                    .copied()
                    .collect()
            };
            let values = [values(&spread), values(&stepped)];
            let sampled = [&spread, &stepped];
            measure(
                prepared,
                &prepared.job.columns[column],
                sampled,
                &values,
                ask.seed,
            )
        })
        .collect();
    let possible = kept as f64 / (2 * blocks) as f64;
    Ok(Screening {
        study: prepared.job.study.clone(),
        title: prepared.job.title.clone(),
        seed: ask.seed,
        designs: (spread.designs.len() + stepped.designs.len()) / count,
        blocks,
        trajectories,
        possible,
        dimensions: prepared.study.variables.iter().map(dimension).collect(),
        remarks: remarks(possible, &measures),
        measures,
    })
}

fn dimension(variable: &Variable) -> Dimension {
    let values = ends(variable).map(|value| value / variable.unit.size);
    Dimension {
        name: variable.name.clone(),
        unit: variable.unit.symbol.to_string(),
        low: values[0],
        high: values[1],
    }
}

/// Least and greatest value of a variable, in base units.
fn ends(variable: &Variable) -> [f64; 2] {
    match &variable.range {
        Range::Continuous { low, high, .. } => [*low, *high],
        Range::Integer { low, high } => [*low as f64, *high as f64],
        Range::Choice(values) => [
            values.iter().copied().fold(f64::INFINITY, f64::min),
            values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        ],
    }
}

/// Columns to screen: those asked for, or those that objectives and constraints speak of.
fn wanted(prepared: &Prepared, names: &[String]) -> Result<Vec<usize>, Mistakes> {
    let columns = &prepared.job.columns;
    let first = prepared.study.variables.len();
    if names.is_empty() {
        let mut found: Vec<usize> = prepared.job.goals.iter().map(|goal| goal.column).collect();
        for constraint in &prepared.study.constraints {
            let uses = constraint.value.uses().chain(constraint.limit.uses());
            found.extend(uses.filter(|&slot| slot >= first));
        }
        let mut seen = vec![false; columns.len()];
        found.retain(|&column| column >= first && !std::mem::replace(&mut seen[column], true));
        return Ok(found);
    }
    let find = |name: &String| {
        let all = columns.iter().skip(first);
        let found = all.clone().position(|column| column.name == *name);
        found.map(|index| first + index).ok_or_else(|| {
            let known: Vec<&str> = all
                .filter(|column| column.role != Role::Objective)
                .map(|column| &column.name[..])
                .collect();
            one(
                "call/measure",
                format!("the study has no measure `{name}`"),
                0,
                &format!("its measures are: {}", known.join(", ")),
            )
        })
    };
    names.iter().map(find).collect()
}

fn measure(
    prepared: &Prepared,
    column: &Column,
    [spread, stepped]: [&Sampled; 2],
    [values, stepped_values]: &[Vec<f64>; 2],
    seed: u64,
) -> Screened {
    let variables = &prepared.study.variables;
    let count = variables.len();
    let known: Vec<f64> = values
        .iter()
        .copied()
        .filter(|each| each.is_finite())
        .collect();
    let mean = known.iter().sum::<f64>() / known.len() as f64;
    let squares = known.iter().map(|each| (each - mean).powi(2)).sum::<f64>();
    let deviation = (squares / known.len() as f64).sqrt();
    let share = known.len() as f64 / values.len() as f64;
    let mut screened = Screened {
        name: column.name.clone(),
        unit: column.unit.clone(),
        known: share,
        mean,
        deviation,
        drivers: Vec::new(),
        curves: Vec::new(),
        interplay: None,
        fit: None,
    };
    // What varies by rounding only does not vary.
    if share < LEAST_KNOWN || !(deviation > 1e-9 * mean.abs()) {
        return screened;
    }
    let indices = analyse::indices(&spread.shares, values, count, seed);
    let effects = analyse::elementary(&stepped.shares, stepped_values, count);
    let coordinate = |row: usize, axis: usize| {
        let variable = &variables[axis];
        value(variable, spread.designs[row * count + axis]) / variable.unit.size
    };
    screened.curves = means::curves(variables, &spread.shares, &coordinate, values);
    screened.interplay = means::interplay(variables, &spread.shares, &coordinate, values, &indices);
    screened.fit = fit::quadratic(variables, &coordinate, values);
    screened.drivers = drivers(variables, &indices, &effects, &screened.curves);
    screened
}

fn drivers(
    variables: &[Variable],
    indices: &[Indices],
    effects: &[Elementary],
    curves: &[Curve],
) -> Vec<Driver> {
    let mut drivers: Vec<Driver> = (0..variables.len())
        .map(|axis| {
            let (share, effect) = (indices[axis], effects[axis]);
            let curve = &curves[axis].mean;
            let rise = match curve[..] {
                [first, .., last] => last - first,
                _ => 0.0,
            };
            Driver {
                dimension: axis,
                name: variables[axis].name.clone(),
                total: [share.total.value, share.total.low, share.total.high],
                first: [share.first.value, share.first.low, share.first.high],
                rise,
                effect_mean: effect.mean,
                effect_size: effect.size,
                // Effects that differ by rounding only do not differ.
                effect_spread: match effect.spread {
                    tiny if tiny <= 1e-9 * effect.size => 0.0,
                    spread => spread,
                },
                effects: effect.count,
            }
        })
        .collect();
    drivers.sort_by(|a, b| b.total[0].total_cmp(&a.total[0]));
    drivers
}

fn remarks(possible: f64, measures: &[Screened]) -> Vec<String> {
    let mut remarks = Vec::new();
    let percent = |share: f64| format!("{:.0} %", 100.0 * share);
    if possible < 1.0 {
        remarks.push(format!(
            "{} of the designs spread over the space keep the geometric rules; the others have mass and geometry only, \
             and the shares of all other measures are those within the rest",
            percent(possible)
        ));
    }
    let still = |each: &&Screened| each.drivers.is_empty();
    for each in measures.iter().filter(still) {
        remarks.push(if each.known < LEAST_KNOWN {
            format!(
                "hardly any design has {}: nothing can be said of it",
                each.name
            )
        } else {
            format!("{} is the same in every design", each.name)
        });
    }
    remarks
}
