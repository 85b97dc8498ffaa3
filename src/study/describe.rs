//! What a study means, as plain data for `check`.

use super::values::range_words;
use super::{PlanKind, Study, sampling};
use crate::evaluate::setup::{Range, Relation};
use crate::units::print_number;

/// What a study means, in words.
#[derive(Clone, Debug, PartialEq)]
pub struct Description {
    /// One line a variable.
    pub variables: Vec<VariableLine>,
    /// Number of variables of any value, stepped, whole and choice.
    pub counts: [usize; 4],
    /// Size of the space: `16 x 9 x 3 = 432 designs`.
    pub space: String,
    /// Number of different designs; infinite where a variable takes any value.
    pub designs: f64,
    /// Designs that the plan evaluates.
    pub planned: f64,
    /// What is explored how: `search, 24000 designs`.
    pub plan: String,
    /// What the plan can't tell.
    pub remarks: Vec<String>,
    /// Constraints as written.
    pub constraints: Vec<String>,
    /// Objectives as `least mass`.
    pub objectives: Vec<String>,
}

/// A variable in words.
#[derive(Clone, Debug, PartialEq)]
pub struct VariableLine {
    /// Its name.
    pub name: String,
    /// What it may be: `1 mm to 2.5 mm in steps of 0.1 mm`.
    pub range: String,
    /// Its value today.
    pub baseline: String,
    /// How many values it can take; infinite without a step.
    pub values: f64,
}

/// What a study means.
pub fn describe(study: &Study) -> Description {
    let mut variables = Vec::new();
    let mut counts = [0; 4];
    for variable in &study.variables {
        counts[range_kind(&variable.range)] += 1;
        variables.push(VariableLine {
            name: variable.name.clone(),
            range: range_words(&variable.range, variable.unit),
            baseline: variable.unit.print(variable.baseline),
            values: values(&variable.range),
        });
    }
    let designs: f64 = variables.iter().map(|line| line.values).product();
    let grid = || {
        study
            .variables
            .iter()
            .map(|variable| combinations(&variable.range, study.plan.levels))
            .product()
    };
    let kind = study.plan.kind;
    let planned = match kind {
        PlanKind::Grid => grid(),
        _ => match sampling::fixed_designs(kind, study.variables.len()) {
            Ok(Some(designs)) => designs as f64,
            _ => study.plan.evaluations as f64,
        },
    };
    let sign = |relation| match relation {
        Relation::AtMost => "<=",
        Relation::AtLeast => ">=",
    };
    let constraints = study.constraints.iter();
    let objectives = study.objectives.iter();
    Description {
        space: space_words(&variables, designs),
        variables,
        counts,
        designs,
        planned,
        plan: format!("{}, {} designs", kind.words(), print_number(planned)),
        remarks: sampling::plan_remarks(study)
            .into_iter()
            .chain(calibration_remark(study))
            .collect(),
        constraints: constraints
            .map(|one| {
                format!(
                    "{}: {} {} {}",
                    one.name,
                    one.value.text,
                    sign(one.relation),
                    one.limit.text
                )
            })
            .chain(study.scatter.chance.map(|chance| {
                let percent = print_number(100.0 * chance);
                format!("all of them: met by {percent} % of the parts as they come out")
            }))
            .collect(),
        objectives: objectives
            .map(|one| {
                let parts = if one.quantile.is_some() {
                    " of the parts"
                } else {
                    ""
                };
                format!(
                    "{} {}{parts}",
                    if one.most { "most" } else { "least" },
                    one.name
                )
            })
            .collect(),
    }
}

/// That measured parts have set the model right, if they have.
fn calibration_remark(study: &Study) -> Option<String> {
    let parts = match study.calibration.parts {
        1 => "1 measured part".to_string(),
        parts => format!("{parts} measured parts"),
    };
    let neutral = study.calibration.is_neutral();
    (!neutral).then(|| {
        format!("calibrated by {parts}: sheets show figures before and after ([calibration])")
    })
}

fn space_words(variables: &[VariableLine], designs: f64) -> String {
    let counted: Vec<String> = variables
        .iter()
        .filter(|line| line.values.is_finite())
        .map(|line| print_number(line.values))
        .collect();
    let free = variables.len() - counted.len();
    let product = counted.join(" x ");
    match (free, counted.len()) {
        (0, 1) => format!("{product} designs"),
        (0, _) => format!("{product} = {} designs", print_number(designs)),
        (free, 0) => format!("{free} dimensions of any value between their bounds"),
        (free, _) => format!(
            "{product} combinations, with {free} dimensions of any value between their bounds"
        ),
    }
}

fn range_kind(range: &Range) -> usize {
    match range {
        Range::Continuous { step: None, .. } => 0,
        Range::Continuous { step: Some(_), .. } => 1,
        Range::Integer { .. } => 2,
        Range::Choice(_) => 3,
    }
}

/// How many values a range has; infinite without a step.
fn values(range: &Range) -> f64 {
    match range {
        Range::Continuous { step: None, .. } => f64::INFINITY,
        _ => combinations(range, 1),
    }
}

/// How many values a range has on a grid with so many levels where there is no step.
pub(super) fn combinations(range: &Range, levels: u64) -> f64 {
    match range {
        Range::Continuous { step: None, .. } => levels as f64,
        Range::Continuous {
            low,
            high,
            step: Some(step),
        } => ((high - low) / step + 1e-9).floor() + 1.0,
        Range::Integer { low, high } => (high - low + 1) as f64,
        Range::Choice(values) => values.len() as f64,
    }
}
