//! A design under scatter, as plain data.

use serde::Serialize;

use crate::analyse::Chance;

/// What scatters, with its distribution.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct QuantityRow {
    /// Name: `outer wall, thickness`.
    pub name: String,
    /// `normal`, `uniform`, `triangular`, `truncated normal`.
    pub shape: &'static str,
    /// Mean less nominal value, in `unit`.
    pub shift: f64,
    /// Standard deviation, in `unit`.
    pub sd: f64,
    /// Unit of both.
    pub unit: String,
    /// Source that it shares with others, and the share of its variance that comes from there.
    pub common: Option<(String, f64)>,
}

/// A source's share of a variance.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SourceShare {
    /// Source.
    pub source: String,
    /// Share, 0 to 1.
    pub share: f64,
}

/// A quantile that the search was asked for.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Asked {
    /// Share of the parts that come out so good or better.
    pub share: f64,
    /// As the search took it, from few copies.
    pub searched: f64,
    /// Over the samples.
    pub sampled: f64,
}

/// How a figure scatters.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ScatterRow {
    /// Measure, or objective.
    pub name: String,
    /// Unit of the numbers.
    pub unit: String,
    /// At nominal sizes.
    pub nominal: f64,
    /// Mean over the samples.
    pub mean: f64,
    /// Standard deviation over the samples.
    pub sd: f64,
    /// The same by the law of propagation, from one standard deviation up and down.
    pub linear_sd: f64,
    /// Quantiles of 5, 50 and 95 %.
    pub quantiles: [f64; 3],
    /// The quantile of an objective that the search was asked for.
    pub asked: Option<Asked>,
    /// Where the variance comes from, the greatest first.
    pub sources: Vec<SourceShare>,
    /// What all sources explain together, linearly.
    pub explained: f64,
}

/// How sure a constraint is.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SureRow {
    /// Constraint.
    pub name: String,
    /// As written.
    pub text: String,
    /// Chance of meeting it.
    pub chance: Chance,
    /// The same by the law of propagation, as if its margin were normal.
    pub linear_chance: f64,
    /// Margin at nominal sizes over its standard deviation.
    pub deviations: f64,
    /// Where the variance of its margin comes from.
    pub sources: Vec<SourceShare>,
}

/// A tolerance made narrower or wider.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Retoleranced {
    /// Sources whose tolerances were changed together.
    pub sources: Vec<String>,
    /// By which factor.
    pub factor: f64,
    /// Chance of meeting all constraints then, over the same samples.
    pub chance: Chance,
}

/// A design under scatter.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Scatter {
    /// Scattered copies.
    pub samples: usize,
    /// What scatters.
    pub quantities: Vec<QuantityRow>,
    /// Number of independent sources.
    pub sources: usize,
    /// Figures that scatter: objectives first, then measures.
    pub figures: Vec<ScatterRow>,
    /// Constraints that some copy breaks or that scatter at all, the least sure first.
    pub constraints: Vec<SureRow>,
    /// Chance of meeting all constraints, geometric rules and tools included.
    pub all: Chance,
    /// Chance that the study asks for.
    pub asked: Option<f64>,
    /// Copies that can't be made or solved.
    pub broken: usize,
    /// Single sources made half as wide, the most useful first; empty unless asked for.
    pub tighten: Vec<Retoleranced>,
    /// Sources that may be twice as wide together; absent unless asked for, or where there are none.
    pub relax: Option<Retoleranced>,
}
