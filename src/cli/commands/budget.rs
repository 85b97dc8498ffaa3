//! `fretwork budget`: what a whole product weighs, and where the next gram is cheapest.

use std::path::{Path, PathBuf};

use clap::{Args, ValueHint};

use super::budget_parts::{Found, find};
use super::review::write;
use super::{read_text, show, tell};
use crate::budget::{
    Bound, Fault, MEASURES, Measure, Problem, Report, Wish, plain, read_budget, report,
};
use crate::cli::{Failure, budget as printed};
use crate::units::read_quantity;
use crate::{review, store, study};

/// Arguments of `fretwork budget`.
#[derive(Args, Clone, Debug)]
pub struct Ask {
    /// Budget
    #[arg(value_hint = ValueHint::FilePath)]
    pub file: PathBuf,
    /// Run folder of a part's study, instead of the one that the budget names
    #[arg(long, value_name = "RUN", value_hint = ValueHint::DirPath)]
    pub run: Vec<PathBuf>,
    /// Folder whose newest run of each study is taken where none is named
    #[arg(long, value_name = "DIR", value_hint = ValueHint::DirPath)]
    pub results: Option<PathBuf>,
    /// What grams are paid in: cost or cycle_time
    #[arg(long, value_name = "NAME")]
    pub against: Option<String>,
    /// What is to be least over all items: mass, cost or cycle_time
    #[arg(long, value_name = "NAME")]
    pub least: Option<String>,
    /// Limit of a total: mass (with its growth allowance), cost or cycle_time
    #[arg(long, value_name = "NAME=VALUE", value_parser = crate::cli::arguments::assignment)]
    pub at_most: Vec<(String, String)>,
    /// New file to write a page to, for a browser
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub page: Option<PathBuf>,
    /// New file to draw the combined front to
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub svg: Option<PathBuf>,
    /// Take runs although their study has changed since
    #[arg(long)]
    pub despite_changes: bool,
    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
}

/// Prints the budget of a product, and draws it where that is asked for.
///
/// # Errors
/// What is wrong in the budget, line by line; studies, revisions and runs that there are not, or that have changed; a
/// combination too large to be exact; an existing file where page or picture should go.
pub fn budget(ask: &Ask) -> Result<(), Failure> {
    let text = match ask.file.is_dir() {
        true => {
            return Err(Failure::call(
                format!("{} is a folder, not a budget", ask.file.display()),
                "name a file, as in studies/gimbal.budget.toml",
            ));
        }
        false => read_text(&ask.file, "budget")?,
    };
    let told = |problems: &[Problem]| told(problems, &text, &ask.file);
    let budget = read_budget(&text).map_err(|problems| told(&problems))?;
    let wish = wish(ask, &budget.currency)?;
    let Found {
        parts,
        fronts,
        remarks,
    } = find(ask, &budget, &text)?;
    let mut report = report(&budget, &parts, &fronts, &wish).map_err(|fault| match fault {
        Fault::Problems(problems) => told(&problems),
        fault => failed(&fault),
    })?;
    report.remarks.splice(0..0, remarks);
    show(|out| match ask.json {
        true => writeln!(out, "{}", printed::json(&report)),
        false => printed::print(out, &report),
    })?;
    draw(ask, &report)
}

fn draw(ask: &Ask, report: &Report) -> Result<(), Failure> {
    if let Some(svg) = &ask.svg {
        let Some(picture) = review::budget_plot(report) else {
            return Err(Failure::call(
                "there is no front to draw: no part has a run",
                "name runs: --run RUN, or the newest in a folder: --results DIR",
            ));
        };
        write(svg, &picture)?;
        tell(&format!("wrote {}", svg.display()));
    }
    if let Some(page) = &ask.page {
        write(page, &review::budget_page(report, &store::tool()))?;
        tell(&format!("wrote {}", page.display()));
    }
    Ok(())
}

/// Problems of a budget, in print.
pub(super) fn told(problems: &[Problem], text: &str, file: &Path) -> Failure {
    Failure::Text(study::print(
        problems,
        text,
        &file.display().to_string(),
        true,
    ))
}

fn failed(fault: &Fault) -> Failure {
    match fault {
        Fault::NotTold { part, measure } => Failure::call(
            format!("the run of {part} tells no {}", plain(*measure)),
            match measure {
                Measure::Cost => "pay in time: --against cycle_time",
                _ => "pay in money: --against cost",
            },
        ),
        Fault::TooMany {
            part,
            sums,
            measures,
        } => Failure::other(
            format!(
                "failed to combine the fronts exactly: with {part} there are more than {sums} choices to look at in \
                 {measures} measures"
            ),
            "look at fewer measures, set tighter limits (--at-most), or keep more (`keep` of a part)",
        ),
        Fault::Problems(_) => Failure::other("the budget is at fault", ""),
    }
}

fn wish(ask: &Ask, currency: &str) -> Result<Wish, Failure> {
    let measure = |name: &str| {
        Measure::find(name).ok_or_else(|| {
            let names = MEASURES.map(Measure::name).join(", ");
            Failure::call(
                format!(
                    "`{}` is nothing that a budget adds up",
                    super::records::shown(name)
                ),
                format!("it adds up: {names}"),
            )
        })
    };
    let against = ask.against.as_deref().map(measure).transpose()?;
    if against == Some(Measure::Mass) {
        return Err(Failure::call(
            "grams are not paid in grams",
            "write --against cost, or --against cycle_time",
        ));
    }
    let bound = |(name, value): &(String, String)| {
        let measure = measure(name)?;
        Ok(Bound {
            measure,
            limit: limit(measure, value, currency)?,
        })
    };
    Ok(Wish {
        against,
        least: ask.least.as_deref().map(measure).transpose()?,
        at_most: ask
            .at_most
            .iter()
            .map(bound)
            .collect::<Result<_, Failure>>()?,
    })
}

/// A limit of a total, in its unit here.
fn limit(measure: Measure, text: &str, currency: &str) -> Result<f64, Failure> {
    let unit = measure.unit(currency);
    let wanted = crate::units::find_unit(unit).unwrap_or(crate::units::Unit::NUMBER);
    let mend = format!("write it as in --at-most '{}=120 {unit}'", measure.name());
    let shown = super::records::shown(text);
    match read_quantity(text) {
        Err(why) => Err(Failure::call(
            format!("`{shown}` is no limit: {}", why.kind),
            mend,
        )),
        Ok((_, found)) if found.dimension != wanted.dimension => Err(Failure::call(
            format!(
                "`{shown}` is {}, {} is {}",
                found.dimension,
                plain(measure),
                wanted.dimension
            ),
            mend,
        )),
        Ok((_, found)) if measure == Measure::Cost && found.symbol != wanted.symbol => {
            Err(Failure::call(
                format!("the budget counts in {currency}, `{shown}` is other money"),
                mend,
            ))
        }
        Ok((value, _)) => Ok(value / wanted.size),
    }
}
