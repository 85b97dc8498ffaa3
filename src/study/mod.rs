//! TOML text to a checked [`Study`], or all its problems at once, each with its place in the text.
//!
//! [`keys`] holds every key once; [`read`] walks the file by them; [`json_schema`] and [`key_reference`] are
//! made from them.

mod asking;
mod calibration;
mod describe;
mod formulas;
mod goals;
pub mod keys;
mod loads;
mod names;
mod part;
mod problem;
mod ranges;
mod reader;
mod rewrite;
mod sampling;
mod scatter;
mod schema;
mod sections;
mod tools;
mod values;
mod variables;

pub use asking::Asking;
pub use describe::{Description, VariableLine, describe};
pub use problem::{CODES, Problem, print, suggest};
pub use rewrite::{Changes, Goal, Moved, Size, StockFault, StockList, read_stock, rebase, rewrite};
pub use scatter::no_such_dimension;
pub use schema::{json_schema, key_reference};
pub use tools::nearest_sizes;
pub use values::{ValueFault, variable_value};

use crate::evaluate::Calibration;
use crate::evaluate::measures::LoadName;
use crate::evaluate::scatter::ScatterPlan;
use crate::evaluate::setup::{Constraint, Derived, LoadRecipe, Objective, PartRecipe, Variable};
use crate::explore::{Axial, Evenness};
use crate::units::{Unit, find_unit};
use reader::{Reader, Value};
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// A checked study.
#[derive(Clone, Debug, PartialEq)]
pub struct Study {
    /// Title.
    pub title: String,
    /// Remarks.
    pub notes: String,
    /// The file's text, as read.
    pub text: String,
    /// Design variables; slots 0, 1, ...
    pub variables: Vec<Variable>,
    /// Derived values, in the order in which they are worked out; slots after the variables.
    pub derived: Vec<Derived>,
    /// Measures with their units: those of the frame as [`Context::measures`] gave them, then those of the program
    /// asked; slots after the derived values.
    pub measures: Vec<(String, Unit)>,
    /// The program that is asked about every design.
    pub asking: Option<Asking>,
    /// The parametric frame; `None` where all measures are the program's.
    pub part: Option<PartRecipe>,
    /// Load cases.
    pub loads: Vec<LoadRecipe>,
    /// Constraints.
    pub constraints: Vec<Constraint>,
    /// Objectives, one to four.
    pub objectives: Vec<Objective>,
    /// How parts scatter, and what is asked of them.
    pub scatter: ScatterPlan,
    /// Where the text names what scatters, a place for each of its recipes.
    pub scatter_places: Vec<Range<usize>>,
    /// What measured parts say of the model.
    pub calibration: Calibration,
    /// Id of the material; empty without a part.
    pub material: String,
    /// Id of the machine; empty without a part.
    pub machine: String,
    /// Drills in stock, ascending.
    pub drills_mm: Vec<f64>,
    /// End mills in stock, ascending.
    pub end_mills_mm: Vec<f64>,
    /// File with more catalogue entries, as written.
    pub catalogue_file: Option<String>,
    /// Parts made in one go.
    pub batch: u64,
    /// Money that prices are in; of size 1, whatever its name.
    pub currency: Unit,
    /// How the space is explored.
    pub plan: PlanSettings,
    /// Seed of all random draws.
    pub seed: u64,
}

/// How the space of designs is explored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlanSettings {
    /// Search or sample.
    pub kind: PlanKind,
    /// Designs to evaluate; of no effect where the plan says itself how many.
    pub evaluations: u64,
    /// Evaluations without a gain after which a search ends; 0: never.
    pub stall: u64,
    /// Values of a variable without step on a grid.
    pub levels: u64,
    /// What the figures rest on.
    pub truth: TruthKind,
    /// Candidates to be solved in solid at the end.
    pub proofs: u64,
}

/// What stiffness, displacement and frequency of a study's designs rest on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TruthKind {
    /// The beam times ratios learnt from solids.
    Law,
    /// The beam alone.
    Beam,
    /// A solid of every design.
    Solid,
}

/// Ways of exploring.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlanKind {
    /// Evolutionary search for the front.
    Search,
    /// Search by Gaussian processes, for evaluators that take seconds.
    Surrogate {
        /// Designs chosen together.
        at_once: usize,
    },
    /// Every combination.
    Grid,
    /// Latin hypercube.
    LatinHypercube,
    /// Latin hypercube made even.
    EvenLatinHypercube {
        /// What even means.
        by: Evenness,
    },
    /// Sobol sequence.
    Sobol,
    /// Halton sequence.
    Halton,
    /// Designs that break no geometric rule, spread out.
    SpaceFilling,
    /// Bounds of all variables, all combinations or a fraction.
    TwoLevel {
        /// How often the number of combinations is halved.
        halvings: usize,
    },
    /// Bounds of all variables in the fewest designs.
    PlackettBurman,
    /// Corners, ends of the axes, centre.
    CentralComposite {
        /// Where the ends lie.
        axial: Axial,
        /// How often the number of corners is halved.
        halvings: usize,
    },
    /// Middles of edges or faces, centre.
    BoxBehnken,
}

/// What a study is checked against. Plain lists, so that this room opens no files.
pub struct Context<'a> {
    /// Ids of the known materials.
    pub materials: &'a [String],
    /// Ids of the known machines.
    pub machines: &'a [String],
    /// Diameters of the known drills.
    pub drills_mm: &'a [f64],
    /// Diameters of the known end mills.
    pub end_mills_mm: &'a [f64],
    /// Names and units of the measures of a study with these load cases.
    pub measures: &'a MeasuresOf<'a>,
}

/// Names and units of the measures of a study with these load cases, in the order of their slots.
pub type MeasuresOf<'a> = dyn Fn(&[LoadName]) -> Vec<(String, Unit)> + 'a;

/// Most designs that a run may hold.
pub const MOST_DESIGNS: f64 = 10_000_000.0;

/// The study of a text.
///
/// # Errors
/// Every problem found, in the order of the text. Where the text is no TOML, only that is said.
pub fn read(text: &str, context: &Context) -> Result<Study, Vec<Problem>> {
    let blank = |line: &str| line.trim().is_empty() || line.trim_start().starts_with('#');
    if text.trim_start_matches('\u{feff}').lines().all(blank) {
        let problem = Problem::new("study/empty", "the study is empty", 0..0, "nothing here");
        return Err(vec![problem.mend("start from `fretwork new`")]);
    }
    let (document, errors) = DeTable::parse_recoverable(text);
    if !errors.is_empty() {
        return Err(errors.iter().map(|error| not_toml(text, error)).collect());
    }
    let mut reader = Reader {
        text,
        problems: Vec::new(),
        names: names::Names::default(),
        on_circle: false,
        currency: "EUR",
    };
    let root = reader.entries(&keys::STUDY, document.get_ref(), 0..0);
    let study = read_all(&mut reader, &root, context);
    let mut problems = reader.problems;
    if problems.is_empty() {
        return Ok(study);
    }
    problems.sort_by_key(|problem| problem.spans[0].0.start);
    Err(problems)
}

/// The catalogue file that a study names, so that it can be read before the study is checked. `None` where
/// there is none, or the text cannot be read at all.
pub fn catalogue_file(text: &str) -> Option<String> {
    let (document, _) = DeTable::parse_recoverable(text);
    match document.get_ref().get("catalogue").map(Value::get_ref) {
        Some(DeValue::String(file)) => Some(file.to_string()),
        _ => None,
    }
}

/// A commented study with every key that has a default, to start from.
pub fn starter() -> &'static str {
    include_str!("starter.toml")
}

fn read_all(reader: &mut Reader, root: &reader::Entries, context: &Context) -> Study {
    reader.whole(root, "format");
    reader.currency = reader.word(root, "currency");
    let currency = find_unit(reader.currency).unwrap_or(Unit::NUMBER);
    let stock = tools::read_tools(reader, root, context);
    let variables = variables::read_variables(reader, root, &stock);
    let has_part = root.node("part").is_some() || root.node("evaluator").is_none();
    let mut measures = match has_part {
        true => (context.measures)(&loads::names_ahead(reader, root)),
        false => Vec::new(),
    };
    let asking = asking::read_asking(reader, root, &measures);
    let given = asking.iter().flat_map(|asking| &asking.measures);
    measures.extend(given.map(|each| (each.name.clone(), each.unit)));
    for (_, unit) in &mut measures {
        if unit.dimension == currency.dimension {
            *unit = currency;
        }
    }
    let derived = goals::read_derived(reader, root, &measures);
    let part = has_part.then(|| part::read_part(reader, root, &stock, &variables));
    let loads = match &part {
        Some(part) => loads::read_loads(reader, root, part),
        None => Vec::new(),
    };
    let constraints = goals::read_constraints(reader, root);
    let objectives = goals::read_objectives(reader, root);
    if part.as_ref().is_some_and(|part| !part.slits.is_empty()) {
        goals::check_no_plan(reader, root, &constraints, &objectives, &derived);
    }
    if asking.is_none() {
        variables::check_used(reader, root, variables.len());
    }
    let (scatter, scatter_places) = scatter::read_scatter(reader, root, &variables, &loads);
    let calibration = calibration::read_calibration(reader, root);
    let mut plan = goals::read_plan(reader, root, &variables);
    asking::check_part(reader, root, has_part);
    if !has_part {
        (plan.truth, plan.proofs) = (TruthKind::Beam, 0);
    }
    let id = |reader: &mut Reader, key, known| match has_part {
        true => tools::catalogue_id(reader, root, key, known),
        false => String::new(),
    };
    Study {
        title: reader.text(root, "title"),
        notes: reader.text(root, "notes"),
        text: reader.text.to_string(),
        material: id(reader, "material", context.materials),
        machine: id(reader, "machine", context.machines),
        drills_mm: stock.drills_mm,
        end_mills_mm: stock.end_mills_mm,
        catalogue_file: root
            .node("catalogue")
            .map(|_| reader.text(root, "catalogue")),
        seed: u64::try_from(reader.whole(root, "seed")).unwrap_or(1),
        batch: u64::try_from(reader.whole(root, "batch")).unwrap_or(1),
        currency,
        variables,
        derived,
        measures,
        asking,
        part,
        loads,
        constraints,
        objectives,
        scatter,
        scatter_places,
        calibration,
        plan,
    }
}

fn not_toml(text: &str, error: &toml::de::Error) -> Problem {
    let span = error.span().unwrap_or(0..text.len().min(1));
    let message = error.message().trim();
    let mend = match message {
        message if message.contains("quoted") => "put texts and quantities in quotes: \"3 mm\"",
        message if message.contains("string") => "close the text with the quote it was opened with",
        message if message.contains("duplicate") => "leave it out once",
        _ => "a line is `key = value`, `[table]` or `[[table]]`",
    };
    Problem::new(
        "study/not-toml",
        format!("this is no TOML: {message}"),
        span,
        "here",
    )
    .mend(mend)
}
