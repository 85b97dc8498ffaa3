//! Which candidates of a run may stand for a part, and what each would bring to the totals.

use super::item::{Item, MEASURES, Measure};
use super::keep::{Kept, SLACK, held};
use crate::ledger::Quantity;
use crate::study::{Problem, suggest};
use crate::units::{Unit, read_unit};

/// The front of a run, as figures.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Front {
    /// Name of the run.
    pub run: String,
    /// Names and units of the columns.
    pub columns: Vec<(String, String)>,
    /// Columns that are dimensions of the part.
    pub dimensions: Vec<usize>,
    /// Columns of the objectives, and whether more is better.
    pub goals: Vec<(usize, bool)>,
    /// Candidates: number in the run, and values, one a column in the columns' units.
    pub candidates: Vec<(usize, Vec<f64>)>,
}

/// A part as it stands today: its revision.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Today {
    /// Letter of the revision, or `baseline`.
    pub label: String,
    /// Its number in the run whose front is looked at, where it comes from that.
    pub design: Option<usize>,
    /// Its dimensions and what was predicted of it.
    pub figures: Vec<Quantity>,
    /// Greatest relative violation of a constraint; 0 where all are met.
    pub violation: f64,
    /// Mass in g, cost, cycle time in s of one piece, as calculated; `None` where not told.
    pub each: [Option<f64>; 3],
}

impl Today {
    /// Fills in what one piece weighs, costs and takes, from the figures.
    ///
    /// # Errors
    /// Where the cost is in another money, or what is to count as mass is none or not told.
    pub fn weighed_by(mut self, item: &Item, currency: &str) -> Result<Today, Problem> {
        let columns: Vec<(String, String)> = self
            .figures
            .iter()
            .map(|figure| (figure.name.clone(), figure.unit.clone()))
            .collect();
        let counted = counted(item, &columns, currency)?;
        self.each = counted
            .map(|counted| counted.map(|(column, factor)| self.figures[column].value * factor));
        Ok(self)
    }

    /// A figure in a unit; NaN where it is not told.
    fn figure(&self, name: &str, unit: &str) -> f64 {
        let told = self.figures.iter().find(|figure| figure.name == name);
        told.and_then(|figure| figure.in_unit(unit))
            .unwrap_or(f64::NAN)
    }
}

/// A dimension of a part, or an objective that does not add up over parts.
#[derive(Clone, Debug, PartialEq)]
pub struct Dimension {
    /// Its name.
    pub name: String,
    /// Unit of its values.
    pub unit: String,
}

/// An objective that does not add up over parts, such as a stiffness.
#[derive(Clone, Debug, PartialEq)]
pub struct Objective {
    /// Its name.
    pub name: String,
    /// Unit of its values.
    pub unit: String,
    /// Whether more is better.
    pub most: bool,
}

/// Something that may stand for a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// Number of the design in the run; `None` for today's revision.
    pub design: Option<usize>,
    /// Mass of all pieces without allowance, in g.
    pub estimate: f64,
    /// Mass of all pieces with allowance in g, cost and cycle time in s of all pieces; NaN where not told.
    pub totals: [f64; 3],
    /// Values of the objectives, one each.
    pub objectives: Vec<f64>,
    /// Values of the dimensions, one each; NaN where not told.
    pub dimensions: Vec<f64>,
}

/// What may stand for a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// Item (by index) that the part is.
    pub item: usize,
    /// Its name.
    pub name: String,
    /// Run whose front is looked at.
    pub run: String,
    /// Label of the revision that it is today.
    pub revision: String,
    /// Objectives that do not add up.
    pub objectives: Vec<Objective>,
    /// Dimensions.
    pub dimensions: Vec<Dimension>,
    /// What choices keep, in words.
    pub kept: Vec<String>,
    /// What may stand for the part: today's revision first, where that keeps it all, then candidates.
    pub choices: Vec<Choice>,
    /// Candidates that keep what the budget asks for, yet are worse than today in an objective; none where the budget
    /// says itself what is to be kept.
    pub worse: Vec<Choice>,
    /// Today's revision, whether or not it may stay.
    pub today: Choice,
    /// Candidates on the front.
    pub candidates: usize,
    /// Which measures that add up are objectives of the run.
    pub sought: [bool; 3],
}

impl Options {
    /// Whether today's revision may stay.
    pub fn may_stay(&self) -> bool {
        self.choices
            .first()
            .is_some_and(|choice| choice.design.is_none())
    }

    /// Whether every choice and today's revision tell a measure.
    pub fn tells(&self, measure: Measure) -> bool {
        let mut all = self.choices.iter().chain([&self.today]);
        all.all(|choice| choice.totals[measure as usize].is_finite())
    }
}

/// The figures that are counted as mass, cost and time: column, and what turns it into g, money, s.
type Counted = [Option<(usize, f64)>; 3];

fn counted(item: &Item, columns: &[(String, String)], currency: &str) -> Result<Counted, Problem> {
    let source = item.source.clone().unwrap_or_default();
    let column = |name: &str| columns.iter().position(|(known, _)| known == name);
    let mass = match &source.mass_from {
        Some(name) => column(name).ok_or_else(|| {
            let names: Vec<&str> = columns.iter().map(|(name, _)| name.as_str()).collect();
            let title = format!("there is no figure `{name}`");
            let place = item.places.mass_from.clone();
            Problem::new(
                "budget/no-figure",
                title,
                place,
                "not told by revision or run",
            )
            .mend("write `metal_mass`, the part without what it carries, or `mass`")
            .mend_if(suggest(name, &names).filter(|text| text.starts_with("did")))
        })?,
        None => column("metal_mass").or(column("mass")).ok_or_else(|| {
            let title = format!("nothing tells what `{}` weighs", item.name);
            let place = item.places.study.clone();
            Problem::new(
                "budget/no-figure",
                title,
                place,
                "no `metal_mass`, no `mass`",
            )
            .mend("say which of its figures is a mass: mass_from = \"...\"")
        })?,
    };
    let size = |column: usize| read_unit(&columns[column].1).ok();
    let Some(unit) = size(mass).filter(|unit| unit.dimension == Unit::GRAM.dimension) else {
        let title = format!("`{}` is no mass", columns[mass].0);
        let label = format!("it is in {}", columns[mass].1);
        let place = item.places.mass_from.clone();
        return Err(Problem::new("budget/no-figure", title, place, label)
            .mend("write `metal_mass`, the part without what it carries, or `mass`"));
    };
    let cost = column("cost");
    if let Some(cost) = cost.filter(|cost| columns[*cost].1 != currency) {
        let title = format!(
            "the budget counts in {currency}, this study in {}",
            columns[cost].1
        );
        let place = item.places.study.clone();
        return Err(
            Problem::new("budget/other-money", title, place, "other money")
                .mend("count both in one money: `currency` of the budget, `currency` of the study"),
        );
    }
    let time = column("cycle_time").and_then(|column| {
        let unit = size(column).filter(|unit| unit.dimension == Unit::SECOND.dimension)?;
        Some((column, unit.size))
    });
    let grams = unit.size / Unit::GRAM.size;
    Ok([Some((mass, grams)), cost.map(|column| (column, 1.0)), time])
}

/// What may stand for a part: today's revision and the candidates of a front, as far as they keep what is to be kept.
///
/// `item`: the part, by its index. Without `keep` in the budget candidates must be no worse than today in every objective
/// that does not add up; candidates of a front meet all constraints of their study anyway.
///
/// # Errors
/// What is to be kept can't be read; figures that are not told; another money.
pub fn options(
    index: usize,
    item: &Item,
    today: &Today,
    front: &Front,
    currency: &str,
) -> Result<Options, Problem> {
    let counted = counted(item, &front.columns, currency)?;
    let source = item.source.clone().unwrap_or_default();
    let units: Vec<Unit> = (front.columns.iter())
        .map(|(_, unit)| read_unit(unit).unwrap_or(Unit::NUMBER))
        .collect();
    let wanted = source.keep.clone().unwrap_or_default();
    let kept = wanted
        .iter()
        .map(|text| Kept::read(item, text, front, &units))
        .collect::<Result<Vec<Kept>, Problem>>()?;
    let adds_up_as_mass =
        |column: usize| matches!(front.columns[column].0.as_str(), "mass" | "metal_mass");
    let adds_up = |column: usize| {
        let is = |one: &Option<(usize, f64)>| one.is_some_and(|(counted, _)| counted == column);
        counted.iter().any(is) || adds_up_as_mass(column)
    };
    let goals: Vec<(usize, bool)> = front
        .goals
        .iter()
        .copied()
        .filter(|(column, _)| !adds_up(*column))
        .collect();
    let row_of_today: Vec<f64> = front
        .columns
        .iter()
        .map(|(name, unit)| today.figure(name, unit))
        .collect();
    let choice = |design: Option<usize>, row: &[f64], each: [f64; 3], allowance: f64| {
        let [mass, cost, time] = each.map(|each| each * item.quantity as f64);
        Choice {
            design,
            estimate: mass,
            totals: [mass * (1.0 + allowance), cost, time],
            objectives: goals.iter().map(|(column, _)| row[*column]).collect(),
            dimensions: front.dimensions.iter().map(|column| row[*column]).collect(),
        }
    };
    let each = MEASURES.map(|measure| {
        let own = item.each[measure as usize].or(today.each[measure as usize]);
        own.unwrap_or(f64::NAN)
    });
    let now = choice(None, &row_of_today, each, item.allowance());
    let keeps = |row: &[f64]| {
        let slots: Vec<f64> = row
            .iter()
            .zip(&units)
            .map(|(value, unit)| value * unit.size)
            .collect();
        kept.iter().all(|kept| kept.is_met(&slots))
    };
    // Where today does not tell an objective, nothing can be held against it.
    let no_worse = |row: &[f64]| {
        source.keep.is_some()
            || goals.iter().all(|&(column, most)| {
                let (is, was) = (row[column], row_of_today[column]);
                let slack = SLACK * was.abs();
                was.is_nan()
                    || if most {
                        is >= was - slack
                    } else {
                        is <= was + slack
                    }
            })
    };
    let mut choices = Vec::new();
    if today.violation <= 0.0 && keeps(&row_of_today) {
        choices.push(now.clone());
    }
    let mut worse = Vec::new();
    for (design, row) in &front.candidates {
        if Some(*design) == today.design || !keeps(row) {
            continue;
        }
        let each = counted
            .map(|counted| counted.map_or(f64::NAN, |(column, factor)| row[column] * factor));
        let choice = choice(Some(*design), row, each, item.allowance_of_candidate());
        if !choice.totals[0].is_finite() {
            continue;
        }
        match no_worse(row) {
            true => choices.push(choice),
            false => worse.push(choice),
        }
    }
    let column = |column: usize| front.columns[column].clone();
    let objective = |&(at, most): &(usize, bool)| {
        let (name, unit) = column(at);
        Objective { name, unit, most }
    };
    let dimension = |at: &usize| {
        let (name, unit) = column(*at);
        Dimension { name, unit }
    };
    let objectives: Vec<Objective> = goals.iter().map(objective).collect();
    let kept = match source.keep {
        Some(texts) => texts,
        None => held(&objectives, &now),
    };
    Ok(Options {
        item: index,
        name: item.name.clone(),
        run: front.run.clone(),
        revision: today.label.clone(),
        objectives,
        dimensions: front.dimensions.iter().map(dimension).collect(),
        kept,
        choices,
        worse,
        today: now,
        candidates: front.candidates.len(),
        sought: MEASURES.map(|measure| {
            let goals = || front.goals.iter().map(|(column, _)| *column);
            let is_one = counted[measure as usize]
                .is_some_and(|(column, _)| goals().any(|goal| goal == column));
            // What a part carries is the same for all its candidates.
            is_one || measure == Measure::Mass && goals().any(adds_up_as_mass)
        }),
    })
}

/// What differs between two choices of a part: name, before, after; values that are not told left out.
pub fn moved(options: &Options, from: &Choice, to: &Choice) -> Vec<(String, String, String)> {
    let text = |value: f64, unit: &str| {
        Quantity {
            name: String::new(),
            value,
            unit: unit.into(),
        }
        .text(5)
    };
    let each = options
        .dimensions
        .iter()
        .zip(from.dimensions.iter().zip(&to.dimensions));
    each.filter(|(_, (from, to))| (*from - *to).abs() > 1e-9 * from.abs().max(to.abs()))
        .map(|(dimension, (from, to))| {
            let bare = text(*from, "");
            (dimension.name.clone(), bare, text(*to, &dimension.unit))
        })
        .collect()
}
