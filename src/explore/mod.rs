//! Exploring a design space: samplers and search. Plain numbers in and out; nothing of frames.
//!
//! The caller describes a space and what comes out of a design ([`Problem`]), says how to explore it
//! ([`Settings`]), and [`explore`] returns every design that was evaluated, in order ([`Outcome`]). Designs of a
//! block are evaluated in parallel in the caller's rayon pool; everything that decides which designs come next runs
//! serially from one random stream, so the same seed gives the same bytes on any number of threads of one
//! platform. A stopped run goes on from its rows ([`Known`]) and ends with the same bytes as one never stopped.
//!
//! Any closure can be explored ([`Function`]). Here two bars carry a load; their areas in cm² are sought, the first
//! one from stock, for little mass and little give, the stress in each bounded:
//!
//! ```
//! use fretwork::explore::{Axis, Function, Known, Next, Plan, Settings, explore};
//!
//! let stock = [1.0, 1.5, 2.5, 4.0];
//! let axes = vec![
//!     Axis::Choice { count: stock.len() },
//!     Axis::Continuous { low: 0.5, high: 5.0, step: None, log: false },
//! ];
//! let bars = Function::new(axes, 2, 2, |x, row| {
//!     let (first, second) = (stock[x[0] as usize], x[1]);
//!     row[0] = first + 2.0 * second; // mass
//!     row[1] = 1.0 / first + 2.0 / second; // give
//!     row[2] = 1.0 / first - 0.9; // stress less what is allowed
//!     row[3] = 1.0 / second - 0.9;
//! });
//! let settings = Settings::new(Plan::Search, 400, 1);
//! let found = explore(&bars, &settings, Known::default(), &mut |_| Next::Continue)?;
//! for &design in &found.front {
//!     let (x, row) = (&found.xs[2 * design..][..2], &found.rows[4 * design..][..4]);
//!     assert!(stock[x[0] as usize] > 1.0 && row[2] <= 0.0 && row[3] <= 0.0);
//! }
//! assert!(found.front.len() > 50);
//! # Ok::<(), fretwork::explore::Error>(())
//! ```

mod archive;
mod axis;
mod filter;
mod function;
mod hypervolume;
mod ledger;
mod problem;
mod random;
pub mod response;
mod samplers;
pub mod screening;
mod search;
mod seen;
mod settings;
mod surrogate;
mod trace;

pub use axis::Axis;
pub use filter::front;
pub use function::Function;
pub use hypervolume::{contributions, hypervolume};
pub use problem::{Problem, violation};
pub use samplers::discrepancy::centred_discrepancy;
pub(crate) use samplers::sobol::Sobol;
pub use samplers::two_level::Fraction;
pub use settings::{
    Axial, Ending, Error, Evenness, Ingredient, Known, Next, Outcome, Plan, Progress, Recall,
    Settings, Shard, Streamed, TracePoint,
};

use axis::{scales, space_size};
use ledger::Ledger;
use samplers::{
    box_behnken, central_composite, even_latin_hypercube, factorial, halton, latin_hypercube,
    plackett_burman, sobol, space_filling, two_level,
};

/// Explores a space as the settings say and returns all designs evaluated, the front and why it ended.
///
/// The designs of [`Settings::start`] come first, then what the plan adds, `settings.evaluations` altogether at
/// most. No two designs are equal in all variables; a space that holds no more designs than the budget is evaluated
/// whole, unless the plan fixes its designs ([`Plan::designs`]) or leaves those out that break
/// a rule. `known` are the designs of an earlier, stopped run of the same settings (empty: none): they are not
/// evaluated again. `observer` sees each block of designs as it is finished and may stop.
///
/// # Errors
///
/// Axes, starts or levels that make no sense, more axes than the sampler serves, no or too many objectives for the
/// search, a grid or plan larger than the budget, a plan that does not exist for so many axes, known designs that are not those of these settings.
pub fn explore(
    problem: &dyn Problem,
    settings: &Settings,
    known: Known<'_>,
    observer: &mut dyn FnMut(&Progress<'_>) -> Next,
) -> Result<Outcome, Error> {
    let scales = scales(problem.axes())?;
    check(problem, settings)?;
    let mut ledger = Ledger::new(problem, settings, known, observer)?;
    let ending = follow(&mut ledger, problem, &scales, settings)?;
    Ok(ledger.finish(ending))
}

/// Explores a space by a plan that does not depend on what comes out, and lets each design go once the observer has
/// seen it: any number of designs in little memory (some 15 bytes a design, to know equal ones, and the front).
///
/// Of several machines each evaluates its `shard`; all shards together are the designs of [`Shard::ALL`], number by
/// number. `recall` gives designs of this shard that an earlier, stopped run evaluated.
///
/// # Errors
///
/// As [`explore`]; a plan that learns from its designs.
pub fn stream(
    problem: &dyn Problem,
    settings: &Settings,
    shard: Shard,
    recall: Recall<'_>,
    observer: &mut dyn FnMut(&Progress<'_>) -> Next,
) -> Result<Streamed, Error> {
    let scales = scales(problem.axes())?;
    check(problem, settings)?;
    if settings.plan.learns() {
        return Err(Error::NoStream);
    }
    let endless = Settings {
        stall_after: None,
        ..settings.clone()
    };
    let mut ledger = Ledger::streaming(problem, &endless, shard, recall, observer);
    let ending = follow(&mut ledger, problem, &scales, &endless)?;
    Ok(ledger.end_stream(ending))
}

/// Starts, then what the plan adds.
fn follow(
    ledger: &mut Ledger<'_>,
    problem: &dyn Problem,
    scales: &[axis::Scale],
    settings: &Settings,
) -> Result<Ending, Error> {
    for start in &settings.start {
        ledger.propose(start);
    }
    let size = space_size(scales);
    let open =
        settings.plan.designs(scales.len())?.is_none() && settings.plan != Plan::SpaceFilling;
    let whole = open && size.is_some_and(|size| size <= ledger.room() as u64);
    let seed = settings.seed;
    match &settings.plan {
        Plan::Grid { levels } => factorial::run(ledger, scales, levels),
        _ if whole => factorial::run(ledger, scales, &vec![0; scales.len()]),
        Plan::LatinHypercube => latin_hypercube::run(ledger, scales, seed),
        Plan::EvenLatinHypercube { by } => even_latin_hypercube::run(ledger, scales, seed, *by),
        Plan::Sobol => sobol::run(ledger, scales, seed),
        Plan::Halton => halton::run(ledger, scales, seed),
        Plan::SpaceFilling => space_filling::run(ledger, problem, scales, seed),
        Plan::TwoLevel { halvings } => two_level::run(ledger, scales, *halvings),
        Plan::PlackettBurman => plackett_burman::run(ledger, scales),
        Plan::CentralComposite { axial, halvings } => {
            central_composite::run(ledger, scales, *axial, *halvings)
        }
        Plan::BoxBehnken => box_behnken::run(ledger, scales),
        Plan::Search => search::run(ledger, scales, settings),
        Plan::Surrogate { batch } => surrogate::run(ledger, problem, scales, settings, *batch),
    }
}

fn check(problem: &dyn Problem, settings: &Settings) -> Result<(), Error> {
    let objectives = problem.objectives();
    if objectives > 4 || objectives == 0 && settings.plan.learns() {
        return Err(Error::ObjectiveCount { objectives });
    }
    if problem.axes().is_empty() {
        return Err(Error::NoAxes);
    }
    let needed = objectives + problem.constraints();
    if problem.width() < needed {
        return Err(Error::NarrowRow {
            width: problem.width(),
            needed,
        });
    }
    for (start, x) in settings.start.iter().enumerate() {
        let fits = |(axis, value): (&Axis, &f64)| match axis {
            Axis::Choice { count } => value.fract() == 0.0 && (0.0..*count as f64).contains(value),
            _ => value.is_finite(),
        };
        if x.len() != problem.axes().len() || !problem.axes().iter().zip(x).all(fits) {
            return Err(Error::BadStart { start });
        }
    }
    Ok(())
}
