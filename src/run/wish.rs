//! The design of a run that comes nearest to a wish: one objective in the place of the run's.

use super::data::{Column, Goal, Mistakes, Overrides};
use super::prepare::one;
use super::rerun::{Again, Asked, Earlier, rerun};
use crate::study;
use crate::units::read_quantity;

/// Share of the sum beside the worst of the shortfalls: of designs that fall equally short in one the better in all
/// is nearer.
const SUM_SHARE: f64 = 0.01;

/// What is wished for.
#[derive(Clone, Copy, Debug, Default)]
pub struct Wished<'a> {
    /// Objectives of the run and what they should be: `mass`, `45 g`.
    pub wants: &'a [(String, String)],
    /// Instead of wants, a formula to be made least, or most (`true`).
    pub goal: Option<(&'a str, bool)>,
    /// Further constraints: `tilt.stiffness >= 250 N/mm`.
    pub limits: &'a [String],
    /// Seed and evaluations of the search.
    pub overrides: Overrides,
    /// Program and version of today.
    pub tool: &'a str,
}

/// The study of a run with one objective: the distance from a wish, or what is to be least or most. The run's
/// candidates are evaluated first.
///
/// The distance is the worst of the objectives' shortfalls, each measured by how far the run's front spreads in it,
/// and a hundredth of their sum; it falls below zero where a design is better than wished for in everything.
///
/// Source: Wierzbicki, in Multiple Criteria Decision Making, Springer 1980 (achievement function).
///
/// # Errors
/// A want that is no objective of the run or no quantity of its unit; a formula or limit that can't be read.
pub fn wish(earlier: &Earlier, wished: &Wished) -> Result<Again, Mistakes> {
    let goal = match wished.goal {
        Some((formula, most)) => study::Goal {
            name: None,
            formula: formula.into(),
            most,
        },
        None => study::Goal {
            name: Some("distance from the wish".into()),
            formula: distance(earlier, wished.wants)?,
            most: false,
        },
    };
    rerun(
        earlier,
        &Asked {
            goal: Some(&goal),
            limits: wished.limits,
            overrides: wished.overrides,
            tool: wished.tool,
            ..Asked::default()
        },
    )
}

fn distance(earlier: &Earlier, wants: &[(String, String)]) -> Result<String, Mistakes> {
    let shortfalls = wants
        .iter()
        .map(|(name, value)| shortfall(earlier, name, value))
        .collect::<Result<Vec<String>, Mistakes>>()?;
    Ok(match shortfalls.as_slice() {
        [only] => only.clone(),
        all => format!(
            "max({}) + {SUM_SHARE} * ({})",
            all.join(", "),
            all.join(" + ")
        ),
    })
}

/// How far an objective falls short of what is wanted, as a formula.
fn shortfall(earlier: &Earlier, name: &str, value: &str) -> Result<String, Mistakes> {
    let prepared = earlier.prepared;
    let columns = &prepared.job.columns;
    let goals = prepared.job.goals.iter().zip(&prepared.study.objectives);
    let mut named = goals.map(|(goal, objective)| (goal, &columns[goal.column], objective));
    let Some((goal, column, objective)) = named.find(|(_, column, _)| column.name == name) else {
        return Err(no_objective(&prepared.job.goals, columns, name));
    };
    let wrong = |why: String| {
        let mend = format!("write it with its unit, as in '{name}=45 {}'", column.unit);
        one("call/want", format!("{name} = {value}: {why}"), 0, &mend)
    };
    match read_quantity(value) {
        Ok((_, unit)) if unit.dimension == objective.unit.dimension => {}
        Ok(_) => return Err(wrong(format!("{name} is in {}", column.unit))),
        Err(fault) => return Err(wrong(fault.kind.to_string())),
    }
    let figures = earlier.front.iter().map(|row| row[goal.column]);
    let low = figures.clone().fold(f64::INFINITY, f64::min);
    let high = figures.fold(f64::NEG_INFINITY, f64::max);
    let spread = match high - low {
        spread if spread > 0.0 && spread.is_finite() => spread,
        _ => low.abs().max(1e-9),
    };
    let spread = format!("({spread:.6} {})", column.unit);
    let formula = &objective.value.text;
    Ok(match goal.most {
        false => format!("(({formula}) - ({value})) / {spread}"),
        true => format!("(({value}) - ({formula})) / {spread}"),
    })
}

fn no_objective(goals: &[Goal], columns: &[Column], name: &str) -> Mistakes {
    let names: Vec<&str> = goals
        .iter()
        .map(|goal| columns[goal.column].name.as_str())
        .collect();
    let known = columns.iter().any(|column| column.name == name);
    let mend = match known {
        true => format!(
            "bound it instead: --with '{name} >= ...'; objectives: {}",
            names.join(", ")
        ),
        false => format!("the run's objectives: {}", names.join(", ")),
    };
    one(
        "call/want",
        format!("`{name}` is no objective of the run"),
        0,
        &mend,
    )
}
