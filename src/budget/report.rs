//! A whole budget, worked out: what terminal, JSON and page show.

use super::account::{Account, Part};
use super::item::{Budget, MEASURES, Measure};
use super::ladder::{Givings, Ladder, givings};
use super::offer::{Asked, Bound, Offer, Overall, ask, overall};
use super::options::{Front, Options, options};
use crate::analyse::TooMany;
use crate::study::Problem;
use crate::units::print_number;

/// What is asked beside the account.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wish {
    /// What grams are paid in; `None`: cost, or cycle time where not every part tells its cost.
    pub against: Option<Measure>,
    /// What is to be least; `None` where nothing is asked, or it follows from the limits.
    pub least: Option<Measure>,
    /// Limits of totals.
    pub at_most: Vec<Bound>,
}

/// A budget, worked out.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    /// The budget.
    pub budget: Budget,
    /// What it adds up to.
    pub account: Account,
    /// What may stand for the parts that have a run.
    pub parts: Vec<Options>,
    /// What follows from the fronts; `None` where no part has a run.
    pub fronts: Option<Fronts>,
    /// What the reader must know.
    pub remarks: Vec<String>,
}

/// What the fronts of the parts say together.
#[derive(Clone, Debug, PartialEq)]
pub struct Fronts {
    /// The next gram, the cheapest first.
    pub ladder: Ladder,
    /// What a gram costs in objectives that do not add up.
    pub givings: Vec<Givings>,
    /// Every best choice over all parts.
    pub overall: Overall,
    /// Questions about the whole product, answered.
    pub answers: Vec<Answer>,
}

/// A question about the whole product, answered.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// What was asked.
    pub asked: Asked,
    /// That in words: `lightest for no more cost than today`.
    pub question: String,
    /// The best choice; `None` where none is within the limits.
    pub offer: Option<Offer>,
}

/// Why a budget can't be worked out.
#[derive(Clone, Debug, PartialEq)]
pub enum Fault {
    /// Something in the budget, or in what it names.
    Problems(Vec<Problem>),
    /// A part does not tell what is asked for.
    NotTold {
        /// Name of the part.
        part: String,
        /// What it does not tell.
        measure: Measure,
    },
    /// The exact combination is too large.
    TooMany {
        /// Name of the part at which it grew too large.
        part: String,
        /// Choices that would have to be held.
        sums: usize,
        /// Measures looked at together.
        measures: usize,
    },
}

/// Works out a budget. `parts`: the parts of this project as they stand today; `fronts`: item (by index) and the front
/// of its run, in the order of the items.
///
/// # Errors
/// Problems in the budget; a part that does not tell what is asked for; a combination too large to be exact.
pub fn report(
    budget: &Budget,
    parts: &[Part],
    fronts: &[(usize, Front)],
    wish: &Wish,
) -> Result<Report, Fault> {
    let (mut found, mut problems) = (Vec::new(), Vec::new());
    for (index, front) in fronts {
        let Some((_, today)) = parts.iter().find(|(part, _)| part == index) else {
            continue;
        };
        match options(
            *index,
            &budget.items[*index],
            today,
            front,
            &budget.currency,
        ) {
            Ok(options) => found.push(options),
            Err(problem) => problems.push(problem),
        }
    }
    let account = Account::of(budget, parts).map_err(|index| {
        let item = &budget.items[index];
        let title = format!("nothing tells what `{}` weighs", item.name);
        let place = item.places.item.clone();
        Problem::new("budget/no-figure", title, place, "no mass")
            .mend("write the mass of one piece: mass = \"12 g\"")
    });
    let account = match account {
        Ok(account) if problems.is_empty() => account,
        account => {
            problems.extend(account.err());
            return Err(Fault::Problems(problems));
        }
    };
    // A part for which nothing may stand stays as it is.
    let mut remarks = remarks(budget, &account, parts, &found);
    let (found, empty): (Vec<Options>, Vec<Options>) = found
        .into_iter()
        .partition(|options| !options.choices.is_empty());
    remarks.extend(empty.iter().map(|options| {
        format!(
            "{}: neither today's revision nor any of {} candidates keeps {}; it stays as it is",
            options.name,
            options.candidates,
            options.kept.join(", ")
        )
    }));
    let fronts = match found.is_empty() {
        true => None,
        false => Some(worked_out(&account, &found, wish)?),
    };
    remarks.extend(fronts.iter().flat_map(|fronts| unsought(&found, fronts)));
    Ok(Report {
        budget: budget.clone(),
        account,
        parts: found,
        fronts,
        remarks,
    })
}

fn worked_out(account: &Account, parts: &[Options], wish: &Wish) -> Result<Fronts, Fault> {
    let tells = |measure: Measure| parts.iter().all(|options| options.tells(measure));
    let against = wish.against.unwrap_or(match tells(Measure::Cost) {
        true => Measure::Cost,
        false => Measure::CycleTime,
    });
    let wanted = wish
        .at_most
        .iter()
        .map(|bound| bound.measure)
        .chain(wish.least);
    for measure in wanted.chain([against]) {
        if let Some(silent) = parts.iter().find(|options| !options.tells(measure)) {
            return Err(Fault::NotTold {
                part: silent.name.clone(),
                measure,
            });
        }
    }
    let too_many = |measures: usize| {
        move |fault: TooMany| Fault::TooMany {
            part: parts[fault.front].name.clone(),
            sums: fault.sums,
            measures,
        }
    };
    let mut answers = Vec::new();
    for (asked, question) in questions(account, wish, against) {
        let offer = ask(account, parts, &asked).map_err(too_many(2 + asked.bounds.len()))?;
        answers.push(Answer {
            asked,
            question,
            offer,
        });
    }
    Ok(Fronts {
        ladder: Ladder::of(parts, against),
        givings: givings(parts),
        overall: overall(account, parts, against).map_err(too_many(2))?,
        answers,
    })
}

/// Measures that no search was after: designs off the front may be better in them.
fn unsought(parts: &[Options], fronts: &Fronts) -> Vec<String> {
    let looked_at = |measure: Measure| {
        let asked = |asked: &Asked| {
            asked.least == measure || asked.bounds.iter().any(|bound| bound.measure == measure)
        };
        fronts.overall.against == measure
            || fronts.answers.iter().any(|answer| asked(&answer.asked))
    };
    let told = |measure: Measure| {
        let runs: Vec<&str> = parts
            .iter()
            .filter(|options| !options.sought[measure as usize])
            .map(|options| options.run.as_str())
            .collect();
        (!runs.is_empty()).then(|| {
            format!(
                "{} is no objective of {}: off the front there may be designs with less",
                plain(measure),
                runs.join(", ")
            )
        })
    };
    MEASURES
        .into_iter()
        .filter(|measure| looked_at(*measure))
        .filter_map(told)
        .collect()
}

/// What is asked, with words for it.
fn questions(account: &Account, wish: &Wish, against: Measure) -> Vec<(Asked, String)> {
    let other = |measure: Measure| {
        if measure == Measure::Mass {
            against
        } else {
            Measure::Mass
        }
    };
    if wish.least.is_some() || !wish.at_most.is_empty() {
        let bounded = wish
            .at_most
            .iter()
            .any(|bound| bound.measure == Measure::Mass);
        let least = wish
            .least
            .unwrap_or(if bounded { against } else { Measure::Mass });
        let asked = Asked {
            least,
            then: other(least),
            bounds: wish.at_most.clone(),
        };
        let question = format!("{} within the limits asked for", superlative(least));
        return vec![(asked, question)];
    }
    let today = Bound {
        measure: against,
        limit: account.totals[against as usize],
    };
    let lightest = Asked {
        least: Measure::Mass,
        then: against,
        bounds: vec![today],
    };
    let mut all = vec![(
        lightest,
        format!("lightest for no more {} than today", plain(against)),
    )];
    if let Some(limit) = account.limits[Measure::Mass as usize] {
        let bound = Bound {
            measure: Measure::Mass,
            limit,
        };
        let within = Asked {
            least: against,
            then: Measure::Mass,
            bounds: vec![bound],
        };
        all.push((
            within,
            format!("{} within the mass limit", superlative(against)),
        ));
    }
    all
}

/// A measure in words.
pub fn plain(measure: Measure) -> &'static str {
    ["mass", "cost", "cycle time"][measure as usize]
}

fn superlative(measure: Measure) -> &'static str {
    ["lightest", "cheapest", "quickest to cut"][measure as usize]
}

/// What the reader must know.
fn remarks(budget: &Budget, account: &Account, parts: &[Part], found: &[Options]) -> Vec<String> {
    let mut all = Vec::new();
    let name = |index: usize| &budget.items[index].name;
    let without: Vec<&str> = parts
        .iter()
        .filter(|(index, _)| !found.iter().any(|options| options.item == *index))
        .map(|(index, _)| name(*index).as_str())
        .collect();
    if !without.is_empty() {
        all.push(format!(
            "without a run, so taken as it is today: {}",
            without.join(", ")
        ));
    }
    for options in found
        .iter()
        .filter(|options| !options.may_stay() && !options.choices.is_empty())
    {
        let today = parts.iter().find(|(index, _)| *index == options.item);
        let why = match today.is_some_and(|(_, today)| today.violation > 0.0) {
            true => format!(
                "breaks a constraint of its study by {} %",
                print_number(today.map_or(0.0, |(_, today)| 100.0 * today.violation))
            ),
            false => format!("does not keep {}", options.kept.join(", ")),
        };
        all.push(format!(
            "{} {}: {why}, so it may not stay",
            options.name, options.revision
        ));
    }
    match account.silent(Measure::Cost) {
        0 => {}
        all_of_them if all_of_them == account.lines.len() => {}
        1 => all.push("1 item tells no cost, and counts as 0".into()),
        silent => all.push(format!("{silent} items tell no cost, and count as 0")),
    }
    let over = MEASURES.into_iter().filter_map(|measure| {
        let (left, _) = account.margin(measure).filter(|(left, _)| *left < 0.0)?;
        let unit = measure.unit(&budget.currency);
        Some(format!(
            "today is over the limit of {} by {} {unit}",
            plain(measure),
            print_number(-left)
        ))
    });
    all.extend(over);
    if let Some(limit) = budget.limits[0] {
        let stays = |item: &usize| !found.iter().any(|options| options.item == *item);
        let fixed = (0..account.lines.len()).filter(stays);
        let fixed: f64 = fixed.filter_map(|item| account.lines[item].totals[0]).sum();
        if fixed > limit && !found.is_empty() {
            all.push(format!(
                "the limit of mass is below what does not change: {} g",
                print_number(fixed)
            ));
        }
    }
    all
}
