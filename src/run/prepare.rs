//! Texts to a job: study and catalogue read, checked, and today's revision built once.

use std::ops::Range;

use super::data::{Column, Goal, Job, Limit, Mistake, Mistakes, Overrides, Role, Source};
use super::learn::Learnt;
use super::space;
use crate::catalogue::{Catalogue, CatalogueError, Machine, Material, MissingProperty, Tools};
use crate::evaluate::measures::{LoadName, of_study};
use crate::evaluate::scatter::{Of, ScatterRecipe};
use crate::evaluate::setup::{Range as Values, Setup, Variable};
use crate::evaluate::{Evaluator, SetupError, Sheet};
use crate::machining::MachiningError;
use crate::study::{self, Context, Problem, Study};
use crate::units::{Unit, read_unit};

/// A study with everything it needs, ready to evaluate designs.
#[derive(Clone, Debug)]
pub struct Prepared {
    /// What the run folder keeps.
    pub job: Job,
    /// The study as read.
    pub study: Study,
    /// What it is made of and made with; `None` in a study without a part.
    pub conditions: Option<Conditions>,
    /// Its evaluator.
    pub evaluator: Evaluator,
}

/// What a study's part is made of and made with, as the catalogue has it.
#[derive(Clone, Debug, PartialEq)]
pub struct Conditions {
    /// Its material.
    pub material: Material,
    /// Tools in stock.
    pub tools: Tools,
    /// The machine.
    pub machine: Machine,
}

impl Prepared {
    /// Whether its plan learns from designs evaluated before.
    pub fn learns(&self) -> bool {
        matches!(
            self.study.plan.kind,
            study::PlanKind::Search | study::PlanKind::Surrogate { .. }
        )
    }

    /// The same, its figures resting on what was learnt.
    pub fn resting(&self, learnt: &Learnt) -> Prepared {
        Prepared {
            evaluator: learnt.evaluator.clone(),
            ..self.clone()
        }
    }
}

/// Names and units of the measures of a study with these load cases.
pub fn measure_names(loads: &[LoadName]) -> Vec<(String, Unit)> {
    of_study(loads)
        .into_iter()
        .map(|taken| (taken.name, read_unit(taken.unit).unwrap_or(Unit::NUMBER)))
        .collect()
}

/// A study read, checked and ready.
///
/// # Errors
/// All mistakes of the study, of its catalogue file, or of today's revision.
pub fn prepare(source: &Source, overrides: Overrides) -> Result<Prepared, Mistakes> {
    let mut catalogue = Catalogue::builtin();
    if let Some(own) = &source.catalogue {
        catalogue = catalogue
            .with_user_file(own)
            .map_err(|error| of_catalogue(source, &error))?;
    }
    let study = read(source, &catalogue)?;
    let tools = stock(&study, &catalogue);
    let conditions = match study.part {
        None => None,
        Some(_) => match (
            catalogue.material(&study.material),
            catalogue.machine(&study.machine),
        ) {
            (Some(material), Some(machine)) => Some(Conditions {
                material: material.clone(),
                tools: tools.clone(),
                machine: machine.clone(),
            }),
            _ => {
                let what = "material or machine is not in the catalogue";
                return Err(misfit(source, what));
            }
        },
    };
    let evaluator =
        evaluator(&study, conditions.as_ref()).map_err(|error| no_evaluator(source, &error))?;
    if evaluator.has_part() {
        check_baseline(source, &evaluator)?;
        check_scatter(source, &study, &evaluator)?;
    }
    check_asked_of_copies(source, &study)?;
    let catalogue_text = frozen(&study, &catalogue, &tools, conditions.as_ref());
    let mut job = job(source, overrides, &study, catalogue_text);
    let targets = evaluator.targets().iter();
    job.targets = targets.map(|target| target.1.clone()).collect();
    Ok(Prepared {
        job,
        study,
        conditions,
        evaluator,
    })
}

/// Tools in stock.
fn stock(study: &Study, catalogue: &Catalogue) -> Tools {
    Tools {
        end_mills: study
            .end_mills_mm
            .iter()
            .filter_map(|size| catalogue.end_mill_of(*size).cloned())
            .collect(),
        drills: study
            .drills_mm
            .iter()
            .filter_map(|size| catalogue.drill_of(*size).cloned())
            .collect(),
    }
}

/// The catalogue entries that a study uses, as TOML. Without a part these are the tools that a variable may choose from.
fn frozen(
    study: &Study,
    catalogue: &Catalogue,
    tools: &Tools,
    conditions: Option<&Conditions>,
) -> String {
    let chosen = |variable: &Variable| match &variable.range {
        Values::Choice(values) => *values == study.drills_mm || *values == study.end_mills_mm,
        _ => false,
    };
    let wanted = conditions.is_some() || study.variables.iter().any(chosen);
    let drills = tools.drills.iter().filter(|_| wanted);
    let end_mills = tools.end_mills.iter().filter(|_| wanted);
    let drills: Vec<&str> = drills.map(|drill| drill.id.as_str()).collect();
    let end_mills: Vec<&str> = end_mills.map(|mill| mill.id.as_str()).collect();
    let material = conditions.map(|with| with.material.id.as_str());
    let machine = conditions.map(|with| with.machine.id.as_str());
    catalogue.extract(
        &material.into_iter().collect::<Vec<_>>(),
        &drills,
        &end_mills,
        &machine.into_iter().collect::<Vec<_>>(),
    )
}

/// The evaluator of a study under some conditions, be they its own or not.
pub(super) fn evaluator(
    study: &Study,
    conditions: Option<&Conditions>,
) -> Result<Evaluator, SetupError> {
    let setup = Setup {
        variables: study.variables.clone(),
        derived: study.derived.clone(),
        loads: study.loads.clone(),
        outside: study
            .asking
            .as_ref()
            .map_or_else(Vec::new, |asking| asking.measures.clone()),
        constraints: study.constraints.clone(),
        objectives: study.objectives.clone(),
        batch: study.batch as f64,
        currency: study.currency,
        scatter: study.scatter.clone(),
        calibration: study.calibration,
    };
    match (&study.part, conditions) {
        (Some(part), Some(with)) => Evaluator::new(
            setup,
            part.clone(),
            &with.material,
            &with.tools,
            &with.machine,
        ),
        _ => Ok(Evaluator::without_part(setup)),
    }
}

fn read(source: &Source, catalogue: &Catalogue) -> Result<Study, Mistakes> {
    let ids = |of: Vec<(&str, &str, &str)>| -> Vec<String> {
        of.into_iter()
            .flat_map(|(a, b, c)| [a, b, c])
            .filter(|id| !id.is_empty())
            .map(str::to_string)
            .collect()
    };
    let materials = ids(catalogue
        .materials()
        .iter()
        .map(|each| (&each.id[..], &each.name[..], &each.also[..]))
        .collect());
    let machines = ids(catalogue
        .machines()
        .iter()
        .map(|each| (&each.id[..], "", ""))
        .collect());
    let drills: Vec<f64> = catalogue
        .drills()
        .iter()
        .map(|drill| drill.diameter_mm)
        .collect();
    let end_mills: Vec<f64> = catalogue
        .end_mills()
        .iter()
        .map(|mill| mill.diameter_mm)
        .collect();
    let context = Context {
        materials: &materials,
        machines: &machines,
        drills_mm: &drills,
        end_mills_mm: &end_mills,
        measures: &measure_names,
    };
    study::read(&source.text, &context).map_err(|problems| of_study_text(source, &problems))
}

fn job(source: &Source, overrides: Overrides, study: &Study, catalogue_text: String) -> Job {
    let (columns, goals) = columns(study);
    let evaluations = match study.plan.kind {
        kind if kind.is_fixed() => study::describe(study).planned as usize,
        _ => overrides
            .evaluations
            .unwrap_or(usize::try_from(study.plan.evaluations).unwrap_or(usize::MAX)),
    };
    let limits = study
        .constraints
        .iter()
        .map(|constraint| {
            let sign = match constraint.relation {
                crate::evaluate::setup::Relation::AtMost => "<=",
                crate::evaluate::setup::Relation::AtLeast => ">=",
            };
            Limit {
                name: constraint.name.clone(),
                text: format!("{} {sign} {}", constraint.value.text, constraint.limit.text),
            }
        })
        .collect();
    Job {
        study: source.study.clone(),
        title: study.title.clone(),
        study_text: source.text.clone(),
        catalogue_text,
        seed: overrides.seed.unwrap_or(study.seed),
        evaluations,
        columns,
        search_width: study.variables.len() + space::row_head(study),
        goals,
        limits,
        axes: study
            .variables
            .iter()
            .map(|variable| variable.name.clone())
            .collect(),
        targets: Vec::new(),
        program: Vec::new(),
        origin: None,
        shard: None,
    }
}

/// Columns of the designs: variables, derived values, measures, and objectives that are none of these.
fn columns(study: &Study) -> (Vec<Column>, Vec<Goal>) {
    let column = |name: &str, unit: Unit, role| Column {
        name: name.to_string(),
        unit: unit.symbol.to_string(),
        role,
    };
    let mut columns = Vec::new();
    for each in &study.variables {
        columns.push(column(&each.name, each.unit, Role::Variable));
    }
    for each in &study.derived {
        columns.push(column(&each.name, each.unit, Role::Derived));
    }
    for (name, unit) in &study.measures {
        columns.push(column(name, *unit, Role::Measure));
    }
    let mut goals = Vec::new();
    for objective in &study.objectives {
        let known = columns
            .iter()
            .position(|column| column.name == objective.name);
        let index = known.unwrap_or_else(|| {
            columns.push(column(&objective.name, objective.unit, Role::Objective));
            columns.len() - 1
        });
        goals.push(Goal {
            column: index,
            most: objective.most,
        });
    }
    (columns, goals)
}

/// Today's revision must be a part that can be made and solved, or nothing can be compared with it.
fn check_baseline(source: &Source, evaluator: &Evaluator) -> Result<(), Mistakes> {
    let sheet = evaluator.sheet_of_frame(&evaluator.baseline());
    if !sheet.plan.cycle_s.is_nan() {
        return Ok(());
    }
    let broken: Vec<String> = sheet
        .rules
        .iter()
        .filter(|rule| !(rule.value_mm > 0.0) && !rule.place.is_empty())
        .map(|rule| {
            format!(
                "{} {:.3} mm: {}",
                rule.name.replace('_', " "),
                rule.value_mm,
                rule.place
            )
        })
        .collect();
    let broken_rule = !broken.is_empty();
    let mut problem = Problem::new(
        "part/baseline",
        why_no_part(&sheet, !broken.is_empty()),
        baseline_place(&source.text),
        "today's revision",
    );
    for each in broken {
        problem = problem.note(each);
    }
    let problem = problem.mend(if broken_rule {
        "change the dimensions of today's revision, or the part"
    } else {
        "mend the part, or what the load case holds and pulls"
    });
    Err(of_study_text(source, &[problem]))
}

/// Dimensions that scatter must be dimensions of today's revision.
fn check_scatter(source: &Source, study: &Study, evaluator: &Evaluator) -> Result<(), Mistakes> {
    let named = |recipe: &ScatterRecipe| match &recipe.of {
        Of::Dimension(name) => Some(name.clone()),
        _ => None,
    };
    let recipes = study.scatter.recipes.iter().zip(&study.scatter_places);
    let asked: Vec<_> = recipes
        .filter_map(|(recipe, place)| Some((named(recipe)?, place)))
        .collect();
    if asked.is_empty() {
        return Ok(());
    }
    let known = evaluator.dimension_names(&evaluator.baseline());
    let problems: Vec<Problem> = asked
        .into_iter()
        .filter(|(name, _)| !known.contains(name))
        .map(|(name, place)| study::no_such_dimension(&name, place.clone(), &known))
        .collect();
    match problems.is_empty() {
        true => Ok(()),
        false => Err(of_study_text(source, &problems)),
    }
}

/// A program is asked about a design once, not about its scattered copies.
fn check_asked_of_copies(source: &Source, study: &Study) -> Result<(), Mistakes> {
    let quantile = study.objectives.iter().any(|each| each.quantile.is_some());
    if study.asking.is_none() || !quantile && study.scatter.chance.is_none() {
        return Ok(());
    }
    let title = "a program gives no answer about scattered copies";
    let place = heading_place(&source.text, "[evaluator]");
    let problem = Problem::new("scatter/program", title, place, "asked once a design");
    let mend = "take `chance` out of [robust] and `quantile` out of the objectives, or do without the program";
    Err(of_study_text(source, &[problem.mend(mend)]))
}

fn why_no_part(sheet: &Sheet, broken_rule: bool) -> String {
    if broken_rule {
        "today's revision can't be made: a geometric rule is broken".into()
    } else {
        let why = sheet.remarks.first().map_or("", String::as_str);
        format!("today's revision can't be evaluated: {why}")
    }
}

/// Where a study's text speaks of today's revision: the line `[baseline]`.
fn baseline_place(text: &str) -> Range<usize> {
    heading_place(text, "[baseline]")
}

/// Where a study's text has a heading.
pub(super) fn heading_place(text: &str, mark: &str) -> Range<usize> {
    match text.find(mark) {
        Some(start) => start..start + mark.len(),
        None => 0..text.len().min(1),
    }
}

pub(super) fn of_study_text(source: &Source, problems: &[Problem]) -> Mistakes {
    Mistakes {
        printed: study::print(problems, &source.text, &source.file, true),
        list: problems
            .iter()
            .map(|problem| {
                let start = problem.spans.first().map_or(0, |span| span.0.start);
                let (line, column) = place(&source.text, start);
                Mistake {
                    code: problem.code.into(),
                    what: problem.title.clone(),
                    line,
                    column,
                    mend: problem.mend.clone().unwrap_or_default(),
                }
            })
            .collect(),
    }
}

/// Line and column, from 1, of a byte in a text.
pub(super) fn place(text: &str, byte: usize) -> (usize, usize) {
    let before = &text[..byte.min(text.len())];
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    (
        before.matches('\n').count() + 1,
        before[line_start..].chars().count() + 1,
    )
}

pub(super) fn of_catalogue(source: &Source, error: &CatalogueError) -> Mistakes {
    one(
        "catalogue/file",
        format!("the catalogue file that {} names: {error}", source.file),
        0,
        &error.mend,
    )
}

/// What the catalogue lacks, at the line of the study that asks for it.
fn no_evaluator(source: &Source, error: &SetupError) -> Mistakes {
    let (key, mend) = match error {
        SetupError::Machining(MachiningError::NoEndMill) => (
            "end_mills",
            "name end mills under [tools], or leave the list out".into(),
        ),
        SetupError::Machining(MachiningError::NoLaser { .. }) => (
            "machine",
            "name a laser cutter: `fretwork list machines`".into(),
        ),
        SetupError::Machining(
            MachiningError::NoCuttingForce { material }
            | MachiningError::NoSpeed { material, .. }
            | MachiningError::NoSeverance { material },
        )
        | SetupError::Missing(MissingProperty { id: material, .. }) => (
            "material",
            format!(
                "add what is missing under [[material]] with id = \"{material}\" in a catalogue file, and name it with \
                 `catalogue = \"...\"`; or choose another material"
            ),
        ),
        _ => return misfit(source, &error.to_string()),
    };
    let problem = Problem::new(
        "run/catalogue",
        error.to_string(),
        key_place(&source.text, key),
        "asked for here",
    );
    of_study_text(source, &[problem.mend(mend)])
}

/// Where a study's text gives a key: the first line that begins with it.
fn key_place(text: &str, key: &str) -> Range<usize> {
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let after = line.trim_start().strip_prefix(key);
        if after.is_some_and(|rest| rest.trim_start().starts_with('=')) {
            let indent = line.len() - line.trim_start().len();
            return start + indent..start + line.trim_end().len();
        }
        start += line.len();
    }
    0..text.len().min(1)
}

/// A mistake without a place in the study.
fn misfit(source: &Source, what: &str) -> Mistakes {
    one(
        "run/catalogue",
        format!("{}: {what}", source.file),
        0,
        "add what is missing to a catalogue file, and name it with `catalogue = \"...\"`",
    )
}

/// One mistake that is printed in one line, and its mend in another.
pub(super) fn one(code: &str, what: String, line: usize, mend: &str) -> Mistakes {
    let mut printed = format!("error[{code}]: {what}");
    if !mend.is_empty() {
        printed.push_str(&format!("\n  = mend: {mend}"));
    }
    Mistakes {
        printed,
        list: vec![Mistake {
            code: code.into(),
            what,
            line,
            column: 0,
            mend: mend.into(),
        }],
    }
}
