//! A run in which no design meets every constraint: which constraint keeps most out, and how far it would have to move.

use serde::Serialize;

use super::data::Designs;
use super::prepare::Prepared;
use crate::evaluate::setup::Constraint;
use crate::units::print_number;

/// A limit that must move so that a design passes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ToPass {
    /// Constraint.
    pub name: String,
    /// As written.
    pub text: String,
    /// Limit as it is for that design, in `unit`.
    pub limit: f64,
    /// What the design has, and so where the limit must be at least.
    pub needed: f64,
    /// Unit of both.
    pub unit: String,
}

/// A constraint that keeps designs out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Killer {
    /// Constraint.
    pub name: String,
    /// As written.
    pub text: String,
    /// Designs that break it.
    pub breaks: usize,
    /// Designs that break nothing else.
    pub alone: usize,
    /// Of those the one that comes nearest, and the limit with which it passes.
    pub nearest: Option<(usize, ToPass)>,
}

/// Why no design of a run is feasible.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Shortfall {
    /// Designs evaluated.
    pub designs: usize,
    /// Designs that can't be made or solved: their strength is not known.
    pub unmade: usize,
    /// Designs that meet every constraint and fail by something else: tools in stock, the chance asked for.
    pub otherwise: usize,
    /// Whether a program was asked, whose missing answers count among the unmade.
    pub asks: bool,
    /// Constraints that are broken, the most often broken first.
    pub killers: Vec<Killer>,
    /// The design that comes nearest to meeting all.
    pub nearest: usize,
    /// What would have to move so that it passes; empty where no limit helps.
    pub moves: Vec<ToPass>,
    /// What else keeps it out, in words: a geometric rule with its place, tools.
    pub obstacles: Vec<String>,
}

impl Shortfall {
    /// In words: the constraints that keep designs out, then what the nearest design would need.
    pub fn lines(&self) -> Vec<String> {
        let all = self.designs;
        let mut lines: Vec<String> = self.killers.iter().map(|each| each.words(all)).collect();
        if self.unmade > 0 {
            let what = match self.asks {
                true => "have not all measures: no answer, or a part that can't be made or solved",
                false => "can't be made or solved: a geometric rule, or no part at all",
            };
            lines.push(format!("{} of {all} designs {what}", self.unmade));
        }
        if self.otherwise > 0 {
            lines.push(format!(
                "{} of {all} designs meet every constraint as drawn, and fail by tools in stock or by the chance asked \
                 for",
                self.otherwise
            ));
        }
        let moves = self.moves.iter().map(ToPass::words);
        let needs: Vec<String> = moves.chain(self.obstacles.iter().cloned()).collect();
        lines.push(format!(
            "design {} comes nearest; what stands in its way: {}",
            self.nearest,
            needs.join("; ")
        ));
        lines
    }
}

impl Killer {
    fn words(&self, all: usize) -> String {
        let alone = match self.alone {
            0 => "never alone".to_string(),
            alone => format!("alone by {alone}"),
        };
        let nearest = self
            .nearest
            .as_ref()
            .map_or(String::new(), |(design, to_pass)| {
                format!(
                    "; design {design} would pass with {}",
                    to_pass.limit_words()
                )
            });
        let share = 100.0 * self.breaks as f64 / all as f64;
        format!(
            "{} ({}): broken by {} designs ({share:.0} %), {alone}{nearest}",
            self.name, self.text, self.breaks
        )
    }
}

impl ToPass {
    fn limit_words(&self) -> String {
        let [limit, needed] = [self.limit, self.needed].map(print_number);
        let text = format!("{needed} {} instead of {limit}", self.unit);
        text.replace("  ", " ")
    }

    fn words(&self) -> String {
        format!("{} would have to move to {}", self.name, self.limit_words())
    }
}

/// Why no design of a run is feasible; `None` where one is, or there is none.
pub fn shortfall(prepared: &Prepared, designs: &Designs) -> Option<Shortfall> {
    if designs.is_empty() || designs.violation.iter().any(|each| *each <= 0.0) {
        return None;
    }
    let constraints = &prepared.study.constraints;
    let mut killers: Vec<Killer> = constraints
        .iter()
        .map(|each| Killer {
            name: each.name.clone(),
            text: text(each),
            breaks: 0,
            alone: 0,
            nearest: None,
        })
        .collect();
    let mut room = vec![f64::NEG_INFINITY; constraints.len()];
    let (mut unmade, mut otherwise) = (0, 0);
    for design in 0..designs.len() {
        let slots = slots(prepared, designs.row(design));
        let margins = prepared.evaluator.margins(&slots);
        let known = margins.iter().all(|margin| !margin.is_nan());
        let broken: Vec<usize> = (0..margins.len()).filter(|k| margins[*k] < 0.0).collect();
        for &each in &broken {
            killers[each].breaks += 1;
        }
        match (known, &broken[..]) {
            (false, _) => unmade += 1,
            (true, []) => otherwise += 1,
            (true, &[only]) => {
                killers[only].alone += 1;
                // What else than constraints keeps it out would be greater than this margin.
                let alone = designs.violation[design] <= -margins[only] * (1.0 + 1e-9);
                if alone && margins[only] > room[only] {
                    room[only] = margins[only];
                    killers[only].nearest = Some((design, to_pass(&constraints[only], &slots)));
                }
            }
            _ => {}
        }
    }
    killers.retain(|killer| killer.breaks > 0);
    killers.sort_by_key(|killer| std::cmp::Reverse((killer.breaks, killer.alone)));
    let mut order = 0..designs.len();
    let first = order.next()?;
    let nearest = order.fold(first, |best, design| {
        match designs.violation[design]
            .total_cmp(&designs.violation[best])
            .is_lt()
        {
            true => design,
            false => best,
        }
    });
    let slots = slots(prepared, designs.row(nearest));
    let margins = prepared.evaluator.margins(&slots);
    let moves = constraints
        .iter()
        .zip(&margins)
        .filter(|(_, margin)| **margin < 0.0)
        .map(|(constraint, _)| to_pass(constraint, &slots))
        .collect();
    Some(Shortfall {
        designs: designs.len(),
        unmade,
        otherwise,
        asks: prepared.study.asking.is_some(),
        killers,
        nearest,
        moves,
        obstacles: obstacles(prepared, &slots),
    })
}

/// What keeps a design out beside its constraints.
fn obstacles(prepared: &Prepared, slots: &[f64]) -> Vec<String> {
    let variables = &slots[..prepared.study.variables.len()];
    // A program that the study asks has been asked about it.
    let sheet = prepared.evaluator.sheet_of_frame(variables);
    let broken = sheet.rules.iter().filter(|rule| !(rule.value_mm > 0.0));
    let mut words: Vec<String> = broken
        .map(|rule| {
            format!(
                "{} {:.3} mm: {}",
                rule.name.replace('_', " "),
                rule.value_mm,
                rule.place
            )
        })
        .collect();
    // After the study's own come those that every study has.
    let implied = sheet
        .constraints
        .iter()
        .skip(prepared.study.constraints.len() + 1);
    words.extend(
        implied
            .filter(|each| !each.met)
            .map(|each| each.text.clone()),
    );
    let record = prepared.evaluator.record_of_frame(variables);
    if prepared.study.scatter.chance.is_some() && record.violations.last().is_some_and(|v| *v > 0.0)
    {
        words.push("the chance of meeting all constraints is less than was asked for".into());
    }
    words
}

/// Named quantities of a design in base units, from its row.
pub(super) fn slots(prepared: &Prepared, row: &[f64]) -> Vec<f64> {
    let study = &prepared.study;
    let variables = study.variables.iter().map(|each| each.unit.size);
    let derived = study.derived.iter().map(|each| each.unit.size);
    let measures = study.measures.iter().map(|each| each.1.size);
    let sizes = variables.chain(derived).chain(measures);
    row.iter()
        .zip(sizes)
        .map(|(value, size)| value * size)
        .collect()
}

fn text(constraint: &Constraint) -> String {
    let sign = match constraint.relation {
        crate::evaluate::setup::Relation::AtMost => "<=",
        crate::evaluate::setup::Relation::AtLeast => ">=",
    };
    format!("{} {sign} {}", constraint.value.text, constraint.limit.text)
}

fn to_pass(constraint: &Constraint, slots: &[f64]) -> ToPass {
    ToPass {
        name: constraint.name.clone(),
        text: text(constraint),
        limit: constraint.limit.value(slots) / constraint.unit.size,
        needed: constraint.value.value(slots) / constraint.unit.size,
        unit: constraint.unit.symbol.to_string(),
    }
}
