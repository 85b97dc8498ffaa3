//! What one more tool in stock would bring: the study searched again with it, beside the same search without.

use super::compare::hypervolume_shares;
use super::data::{Known, Mistakes, Next, Overrides};
use super::explore::{searched, smaller};
use super::learn::relearn;
use super::prepare::{Prepared, one};
use super::rerun::{Asked, Earlier, OwnTools, rerun};
use crate::catalogue::Catalogue;
use crate::evaluate::setup::Range;

/// Nearer sizes are the same tool, in mm.
const SAME_MM: f64 = 1e-3;

/// Most drills that are tried unasked.
const MOST_UNASKED: usize = 8;

/// A tool to be bought.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NewTool {
    /// A drill.
    Drill,
    /// An end mill.
    EndMill,
}

impl NewTool {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            NewTool::Drill => "drill",
            NewTool::EndMill => "end mill",
        }
    }
}

/// What it would better in one objective, the others kept.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Gain {
    /// Objective, by the name of its column.
    pub name: String,
    /// Unit.
    pub unit: String,
    /// Most that any candidate with the new tool is better than the best one without that is as good in every other
    /// objective; 0 where none is.
    pub better: f64,
    /// The same as a share of the value without it.
    pub share: f64,
}

/// What one more tool would bring.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct OneMore {
    /// `drill` or `end mill`.
    pub kind: &'static str,
    /// Designation.
    pub id: String,
    /// Price of one.
    pub price: f64,
    /// Growth of the front's share of the common box.
    pub hypervolume_gain: f64,
    /// Candidates that use it; of a study without a choice of such tools, all.
    pub candidates: usize,
    /// Objective by objective.
    pub gains: Vec<Gain>,
    /// Most that a candidate with it costs less than the cheapest without it that is as good in every objective;
    /// absent where cost is an objective already or nothing is saved.
    pub saves: Option<f64>,
}

/// What each of several tools would bring, one at a time.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Tooling {
    /// Designs of each search.
    pub evaluations: usize,
    /// The same search without a new tool but with another seed: what is no more than this is no gain.
    pub scatter: OneMore,
    /// What money is counted in.
    pub currency: String,
    /// Tool by tool, the most useful first.
    pub tools: Vec<OneMore>,
}

/// Searches an earlier run's study with one more tool in stock, each of `wanted` by itself; unasked the drills between,
/// below and above those in stock.
///
/// # Errors
/// A tool that the catalogue does not know or that is in stock already; all that a rerun may have wrong.
pub fn tooling(
    earlier: &Earlier,
    asked: &Asked,
    wanted: &[(NewTool, f64)],
    progress: &mut dyn FnMut(&str),
) -> Result<Tooling, Mistakes> {
    let own = Stock::of(earlier);
    let unasked = own.unasked();
    let wanted = if wanted.is_empty() { &unasked } else { wanted };
    let bought: Vec<(NewTool, Bought)> = wanted
        .iter()
        .map(|&(kind, size)| Ok((kind, own.find(kind, size)?)))
        .collect::<Result<_, Mistakes>>()?;
    progress("stock as it is");
    let evaluations = asked
        .overrides
        .evaluations
        .unwrap_or(earlier.prepared.job.evaluations);
    let seed = asked.overrides.seed.unwrap_or(earlier.prepared.job.seed);
    let without = Searched::of(earlier, asked, &own.text(None), seed)?;
    let again = Searched::of(earlier, asked, &own.text(None), seed.wrapping_add(1))?;
    let everyone: Vec<usize> = (0..again.rows.len()).collect();
    let scatter = OneMore {
        kind: "",
        id: "none, another seed".into(),
        price: 0.0,
        ..without.against(&again, &everyone)
    };
    let mut tools = Vec::new();
    for (kind, tool) in bought {
        progress(&format!("{} {}", kind.words(), tool.id));
        let with = Searched::of(
            earlier,
            asked,
            &own.text(Some((kind, &tool.id, tool.mm))),
            seed,
        )?;
        tools.push(OneMore {
            kind: kind.words(),
            id: tool.id,
            price: tool.price,
            ..without.against(&with, &with.using(tool.mm))
        });
    }
    tools.sort_by(|a, b| b.hypervolume_gain.total_cmp(&a.hypervolume_gain));
    Ok(Tooling {
        evaluations,
        scatter,
        currency: earlier.prepared.study.currency.symbol.to_string(),
        tools,
    })
}

/// What is in stock, and what could be.
struct Stock {
    catalogue: Catalogue,
    drills: Vec<f64>,
    end_mills: Vec<f64>,
}

/// A tool of the catalogue.
struct Bought {
    id: String,
    mm: f64,
    price: f64,
}

impl Stock {
    fn of(earlier: &Earlier) -> Stock {
        let builtin = Catalogue::builtin();
        let frozen = earlier.source.catalogue.as_ref();
        // The frozen entries were read once already.
        let whole = frozen.and_then(|text| builtin.clone().with_user_file(text).ok());
        let tools = earlier.prepared.conditions.as_ref().map(|with| &with.tools);
        let drills = tools.iter().flat_map(|tools| &tools.drills);
        let mut drills: Vec<f64> = drills.map(|each| each.diameter_mm).collect();
        drills.sort_by(f64::total_cmp);
        Stock {
            catalogue: whole.unwrap_or(builtin),
            drills,
            end_mills: tools
                .iter()
                .flat_map(|tools| &tools.end_mills)
                .map(|each| each.diameter_mm)
                .collect(),
        }
    }

    /// The metric drill in the middle of each gap of the stock, and the next below and above it.
    fn unasked(&self) -> Vec<(NewTool, f64)> {
        let metric = |least: f64, most: f64, aim: f64| {
            let sizes = self.catalogue.drills().iter();
            let sizes = sizes
                .filter(|drill| drill.system == "metric")
                .map(|drill| drill.diameter_mm)
                .filter(|size| *size > least + SAME_MM && *size < most - SAME_MM);
            sizes.min_by(|a, b| (a - aim).abs().total_cmp(&(b - aim).abs()))
        };
        let (Some(&least), Some(&most)) = (self.drills.first(), self.drills.last()) else {
            return Vec::new();
        };
        let mut gaps: Vec<[f64; 2]> = self
            .drills
            .windows(2)
            .map(|pair| [pair[0], pair[1]])
            .collect();
        gaps.sort_by(|a, b| (b[1] / b[0]).total_cmp(&(a[1] / a[0])));
        gaps.truncate(MOST_UNASKED - 2);
        let mut sizes: Vec<f64> = gaps
            .iter()
            .filter_map(|[low, high]| metric(*low, *high, 0.5 * (low + high)))
            .collect();
        sizes.extend(metric(0.0, least, 0.9 * least));
        sizes.extend(metric(most, f64::INFINITY, 1.1 * most));
        sizes.sort_by(f64::total_cmp);
        sizes
            .into_iter()
            .map(|size| (NewTool::Drill, size))
            .collect()
    }

    fn find(&self, kind: NewTool, size: f64) -> Result<Bought, Mistakes> {
        let (stock, found) = match kind {
            NewTool::Drill => {
                let found = self.catalogue.drill_of(size);
                (
                    &self.drills,
                    found.map(|tool| (&tool.id, tool.diameter_mm, tool.price)),
                )
            }
            NewTool::EndMill => {
                let found = self.catalogue.end_mill_of(size);
                (
                    &self.end_mills,
                    found.map(|tool| (&tool.id, tool.diameter_mm, tool.price)),
                )
            }
        };
        let words = kind.words();
        if stock.iter().any(|known| (known - size).abs() < SAME_MM) {
            return Err(one(
                "call/tool",
                format!("the {words} of {size} mm is in stock already"),
                0,
                "ask for another size",
            ));
        }
        match found {
            Some((id, mm, price)) => Ok(Bought {
                id: id.clone(),
                mm,
                price,
            }),
            None => Err(one(
                "call/tool",
                format!("no {words} of {size} mm in the catalogue"),
                0,
                &format!("`fretwork list {words}s` shows all").replace("end mills", "end-mills"),
            )),
        }
    }

    /// The stock as a list of tools, perhaps with one more.
    fn text(&self, more: Option<(NewTool, &str, f64)>) -> String {
        let list = |own: &[f64], of: NewTool| {
            let more = more.filter(|more| more.0 == of).map(|more| more.2);
            let sizes = own.iter().copied().chain(more);
            sizes
                .map(|size| format!("\"{size} mm\""))
                .collect::<Vec<_>>()
                .join(", ")
        };
        format!(
            "drills = [{}]\nend_mills = [{}]\n",
            list(&self.drills, NewTool::Drill),
            list(&self.end_mills, NewTool::EndMill)
        )
    }
}

/// A front as its figures.
struct Searched {
    prepared: Prepared,
    /// Objectives of the candidates, less is better.
    goals: Vec<Vec<f64>>,
    /// Their rows.
    rows: Vec<Vec<f64>>,
    /// Column of the cost, unless it is an objective.
    cost: Option<usize>,
}

impl Searched {
    fn of(earlier: &Earlier, asked: &Asked, stock: &str, seed: u64) -> Result<Searched, Mistakes> {
        let asked = Asked {
            tools: Some(OwnTools {
                file: "stock",
                text: stock,
            }),
            overrides: Overrides {
                seed: Some(seed),
                ..asked.overrides
            },
            ..*asked
        };
        let again = rerun(earlier, &asked)?;
        let learnt = relearn(&again.prepared, &again.lessons);
        let prepared = again.prepared.resting(&learnt);
        let found = searched(&prepared, &Known::default(), &mut |_| Next::Continue);
        let (designs, _, outcome) =
            found.map_err(|why| one("run/search", format!("failed to {why}"), 0, ""))?;
        let rows: Vec<Vec<f64>> = outcome
            .front
            .iter()
            .map(|&design| designs.row(design).to_vec())
            .collect();
        let job = &prepared.job;
        let cost = job.columns.iter().position(|column| column.name == "cost");
        Ok(Searched {
            goals: rows.iter().map(|row| smaller(&job.goals, row)).collect(),
            cost: cost.filter(|&at| job.goals.iter().all(|goal| goal.column != at)),
            rows,
            prepared,
        })
    }

    /// Candidates that use a tool of this size, where a variable chooses among such tools.
    fn using(&self, mm: f64) -> Vec<usize> {
        let chooses = |values: &[f64]| values.iter().any(|value| (value - mm).abs() < SAME_MM);
        let choosing: Vec<(usize, f64)> = self
            .prepared
            .study
            .variables
            .iter()
            .enumerate()
            .filter(
                |(_, variable)| matches!(&variable.range, Range::Choice(values) if chooses(values)),
            )
            .map(|(at, variable)| (at, variable.unit.size))
            .collect();
        let uses = |row: &[f64]| {
            let mut own = choosing.iter().map(|(at, size)| row[*at] * size);
            choosing.is_empty() || own.any(|value| (value - mm).abs() < SAME_MM)
        };
        (0..self.rows.len())
            .filter(|&at| uses(&self.rows[at]))
            .collect()
    }

    /// What some candidates of `with` have over this; tool and price are the caller's.
    fn against(&self, with: &Searched, users: &[usize]) -> OneMore {
        let [before, after] = hypervolume_shares([&self.goals, &with.goals]);
        let job = &self.prepared.job;
        let gains = (0..job.goals.len()).map(|goal| {
            let best = users
                .iter()
                .filter_map(|&at| beaten(&self.goals, &with.goals[at], goal))
                .max_by(|a, b| a.0.total_cmp(&b.0));
            let (better, from) = best.unwrap_or((0.0, 1.0));
            let column = &job.columns[job.goals[goal].column];
            Gain {
                name: column.name.clone(),
                unit: column.unit.clone(),
                better,
                share: if better > 0.0 {
                    better / from.abs()
                } else {
                    0.0
                },
            }
        });
        let gains = gains.collect();
        OneMore {
            kind: "",
            id: String::new(),
            price: f64::NAN,
            hypervolume_gain: after - before,
            candidates: users.len(),
            gains,
            saves: self.saved(with, users),
        }
    }

    /// Most that a candidate of `with` costs less than the cheapest here that is as good in every objective.
    fn saved(&self, with: &Searched, users: &[usize]) -> Option<f64> {
        let cost = self.cost?;
        let saved = users.iter().filter_map(|&at| {
            let as_good =
                |own: &&Vec<f64>| own.iter().zip(&with.goals[at]).all(|(own, new)| own <= new);
            let known = self
                .goals
                .iter()
                .zip(&self.rows)
                .filter(|(own, _)| as_good(own));
            let cheapest = known.map(|(_, row)| row[cost]).min_by(f64::total_cmp)?;
            Some(cheapest - with.rows[at][cost])
        });
        saved.max_by(f64::total_cmp).filter(|saved| *saved > 0.0)
    }
}

/// How much better a candidate is in one objective than the best of `known` that is as good in every other, and that
/// one's value; less is better.
fn beaten(known: &[Vec<f64>], goals: &[f64], goal: usize) -> Option<(f64, f64)> {
    let as_good = |own: &&Vec<f64>| {
        let mut each = own.iter().zip(goals).enumerate();
        each.all(|(at, (own, new))| at == goal || own <= new)
    };
    let best = known.iter().filter(as_good).map(|own| own[goal]);
    let best = best.min_by(f64::total_cmp)?;
    (best > goals[goal]).then_some((best - goals[goal], best))
}

#[cfg(test)]
mod tests {
    use super::beaten;

    #[test]
    fn a_gain_is_over_the_best_that_is_as_good_elsewhere() {
        let known = [vec![3.0, 5.0], vec![2.0, 7.0], vec![1.0, 9.0]];
        // As good in the second: (3, 5) and (2, 7); the better of them has 2.
        assert_eq!(beaten(&known, &[1.5, 8.0], 0), Some((0.5, 2.0)));
        // As good in the first: only (1, 9).
        assert_eq!(beaten(&known, &[1.5, 8.0], 1), Some((1.0, 9.0)));
        // Nothing known is as good in the second, so nothing can be compared; what is no better is no gain.
        assert_eq!(beaten(&known, &[0.5, 4.0], 0), None);
        assert_eq!(beaten(&known, &[2.5, 8.0], 0), None);
    }
}
