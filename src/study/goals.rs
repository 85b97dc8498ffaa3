//! Derived values, constraints, objectives, and how the space is explored.

use super::describe::combinations;
use super::formulas::placeholder;
use super::names::{Name, Role, Stage};
use super::problem::Problem;
use super::reader::{Entries, Node, Reader};
use super::scatter::quantile;
use super::variables::check_name;
use super::{MOST_DESIGNS, PlanKind, PlanSettings, TruthKind, keys, sampling};
use crate::evaluate::setup::{Constraint, Derived, Objective, Relation, Variable};
use crate::explore::{Axial, Evenness};
use crate::expression::{Formula, Order, split_comparison};
use crate::units::{Dimension, Unit, print_number};
use toml::de::DeValue;

const LINE: (f64, f64) = (f64::NEG_INFINITY, f64::INFINITY);

/// Reads `[derived]`. Gives the derived values and then the measures their slots.
pub(super) fn read_derived(
    reader: &mut Reader,
    root: &Entries,
    measures: &[(String, Unit)],
) -> Vec<Derived> {
    let nodes = reader.named(root, "derived");
    let first = reader.names.list.len();
    for node in &nodes {
        check_name(reader, node);
        let role = Role::Derived {
            after: false,
            read: false,
        };
        add_name(reader, node.name, Unit::NUMBER, role, Some(node));
    }
    for (name, unit) in measures {
        add_name(reader, name, *unit, Role::Measure, None);
    }
    let mut derived = Vec::new();
    for (index, node) in nodes.iter().enumerate() {
        let written = reader.written(node.name, "an expression", node.value);
        let formula = written.and_then(|written| reader.formula_of(&written, None, Stage::After));
        let broken = formula.is_none();
        let formula = formula.unwrap_or_else(placeholder);
        let after = formula.uses().any(|slot| {
            let role = reader.names.list[slot].role;
            matches!(role, Role::Measure | Role::Derived { after: true, .. })
        });
        let unit = display_unit(reader, &formula);
        let bounds = if broken {
            LINE
        } else {
            formula.bounds(&reader.names.bounds())
        };
        let name = &mut reader.names.list[first + index];
        name.unit = unit;
        name.broken = broken;
        name.bounds = bounds;
        name.role = Role::Derived { after, read: true };
        derived.push(Derived {
            name: node.name.to_string(),
            unit,
            formula,
            after,
        });
    }
    derived
}

/// Adds a name; notes one that is taken already.
fn add_name(reader: &mut Reader, name: &str, unit: Unit, role: Role, node: Option<&Node>) {
    if let Some(slot) = reader.names.slot(name) {
        let earlier = reader.names.list[slot].span.clone().unwrap_or_default();
        let problem = match node {
            Some(node) => {
                let title = format!("`{name}` is a variable and a derived value");
                Problem::new("study/name-clash", title, node.span.clone(), "again")
                    .with(earlier, "first here")
            }
            None => {
                let title = format!("`{name}` is a measure already");
                Problem::new("study/name-clash", title, earlier, "taken")
            }
        };
        reader.note(problem.mend("choose another name"));
    }
    reader.names.list.push(Name {
        name: name.to_string(),
        unit,
        role,
        broken: false,
        bounds: LINE,
        span: node.map(|node| node.span.clone()),
    });
}

/// Unit to print a formula's value in: that of the first name in it that measures the same, else a base unit.
fn display_unit(reader: &Reader, formula: &Formula) -> Unit {
    let mut units = formula
        .uses()
        .filter_map(|slot| reader.names.list.get(slot))
        .map(|name| name.unit);
    units
        .find(|unit| unit.dimension == formula.dimension)
        .unwrap_or_else(|| Unit::base(formula.dimension))
}

pub(super) fn read_constraints(reader: &mut Reader, root: &Entries) -> Vec<Constraint> {
    let mut constraints = Vec::new();
    for node in reader.named(root, "constraints") {
        constraints.extend(read_constraint(reader, &node));
    }
    constraints
}

/// Measures of the machining plan, which a slit part has none of.
const OF_THE_PLAN: [&str; 9] = [
    "cycle_time",
    "tool_changes",
    "removed",
    "cutter_gap",
    "cost",
    "setup_time",
    "chips",
    "billet_mass",
    "table_room",
];

/// Notes constraints and objectives of a slit part that ask for its machining plan.
pub(super) fn check_no_plan(
    reader: &mut Reader,
    root: &Entries,
    constraints: &[Constraint],
    objectives: &[Objective],
    derived: &[Derived],
) {
    let names = &reader.names.list;
    let mut asking = OF_THE_PLAN.to_vec();
    for each in derived {
        let asks = |slot: usize| asking.contains(&names[slot].name.as_str());
        if each.formula.uses().any(asks) {
            asking.push(&each.name);
        }
    }
    let of_plan = |formula: &Formula| {
        let asks = |slot: usize| asking.contains(&names[slot].name.as_str());
        formula.uses().any(asks)
    };
    let limits = constraints
        .iter()
        .filter(|each| of_plan(&each.value) || of_plan(&each.limit))
        .map(|each| ("constraints", format!("the constraint `{}`", each.name)));
    let goals = objectives
        .iter()
        .filter(|each| of_plan(&each.value))
        .map(|each| ("objective", format!("the objective `{}`", each.name)));
    let asked: Vec<_> = limits.chain(goals).collect();
    for (key, what) in asked {
        let title = format!("{what} asks for a machining plan, and slit parts have none yet");
        let problem = Problem::new("part/no-plan", title, root.place(key), "asked for here");
        reader.note(problem.mend("judge a slit part by mass, force, stress and frequency"));
    }
}

fn read_constraint(reader: &mut Reader, node: &Node) -> Option<Constraint> {
    let written = reader.written(
        node.name,
        "a comparison such as \"mass <= 40 g\"",
        node.value,
    )?;
    let (left, order, right) = match split_comparison(&written.text) {
        Ok(parts) => parts,
        Err(fault) => {
            reader.note_fault(&written, &fault, Stage::After);
            return None;
        }
    };
    let (left, right) = (written.part(left), written.part(right));
    let value = reader.formula_of(&left, None, Stage::After);
    let limit = reader.formula_of(&right, None, Stage::After);
    let (mut value, mut limit) = (value?, limit?);
    let zero = |formula: &Formula| {
        formula.constant_value() == Some(0.0) && formula.dimension == Dimension::NUMBER
    };
    if zero(&limit) {
        limit.dimension = value.dimension;
    } else if zero(&value) {
        value.dimension = limit.dimension;
    }
    if value.dimension != limit.dimension {
        let number =
            |formula: &Formula| formula.is_constant() && formula.dimension == Dimension::NUMBER;
        let bare = number(&value) || number(&limit);
        let code = if bare {
            "units/missing"
        } else {
            "expression/dimensions"
        };
        let title = format!(
            "{} and {} cannot be compared",
            value.dimension, limit.dimension
        );
        let problem = Problem::new(
            code,
            title,
            right.span,
            format!("this is {}", limit.dimension),
        );
        let problem = problem.with(left.span, format!("this is {}", value.dimension));
        let wanted = if number(&limit) {
            value.dimension
        } else {
            limit.dimension
        };
        let mend = format!(
            "give the number a unit, such as `{}`",
            Unit::base(wanted).symbol
        );
        reader.note(problem.mend(if bare {
            mend
        } else {
            "compare like with like".into()
        }));
        return None;
    }
    let relation = match order {
        Order::AtMost => Relation::AtMost,
        Order::AtLeast => Relation::AtLeast,
    };
    let unit = display_unit(reader, if value.is_constant() { &limit } else { &value });
    check_can_be_met(reader, node, &value, relation, &limit, unit);
    Some(Constraint {
        name: node.name.to_string(),
        value,
        relation,
        limit,
        unit,
    })
}

/// Notes a constraint that interval bounds prove to be out of reach of every design.
fn check_can_be_met(
    reader: &mut Reader,
    node: &Node,
    value: &Formula,
    relation: Relation,
    limit: &Formula,
    unit: Unit,
) {
    let slots = reader.names.bounds();
    let (value, limit) = (value.bounds(&slots), limit.bounds(&slots));
    let margin = 1e-9
        * value
            .0
            .abs()
            .max(value.1.abs())
            .max(limit.0.abs())
            .max(limit.1.abs());
    let margin = if margin.is_finite() { margin } else { 0.0 };
    let (label, asked) = match relation {
        Relation::AtMost if value.0 > limit.1 + margin => {
            (("at least", value.0), ("at most", limit.1))
        }
        Relation::AtLeast if value.1 < limit.0 - margin => {
            (("at most", value.1), ("at least", limit.0))
        }
        _ => return,
    };
    let title = format!("no design can meet the constraint `{}`", node.name);
    let text = format!("the left side is {} {}", label.0, unit.print(label.1));
    let problem = Problem::new("constraint/never-met", title, node.value.span(), text);
    let mend = format!(
        "it must be {} {}: move the limit, or widen the variables in it",
        asked.0,
        unit.print(asked.1)
    );
    reader.note(problem.mend(mend));
}

pub(super) fn read_objectives(reader: &mut Reader, root: &Entries) -> Vec<Objective> {
    let tables = reader.tables(root, "objective");
    let empty =
        |node: &&Node| matches!(node.value.get_ref(), DeValue::Array(items) if items.is_empty());
    if let Some(node) = root.node("objective").filter(empty) {
        let title = "the study has no objective";
        let problem = Problem::new("objective/none", title, node.span.clone(), "empty");
        reader.note(problem.mend("add one: [[objective]] least = \"mass\""));
    }
    if let Some(fifth) = tables.get(4) {
        let title = format!(
            "there are {} objectives, four at most can be weighed up",
            tables.len()
        );
        let problem = Problem::new("objective/too-many", title, fifth.span.clone(), "the fifth");
        reader.note(problem.mend("make the lesser ones constraints"));
    }
    let mut objectives: Vec<Objective> = Vec::new();
    for entries in &tables {
        if let Some(objective) = read_objective(reader, entries) {
            if objectives.iter().any(|other| other.name == objective.name) {
                let title = format!("`{}` is an objective twice", objective.name);
                let problem = Problem::new("study/repeated", title, entries.span.clone(), "again");
                reader.note(problem.mend("keep one of them"));
            }
            objectives.push(objective);
        }
    }
    objectives
}

fn read_objective(reader: &mut Reader, entries: &Entries) -> Option<Objective> {
    let (most, node) = match (entries.node("least"), entries.node("most")) {
        (Some(node), None) => (false, node),
        (None, Some(node)) => (true, node),
        _ => {
            let title = "an objective has either `least` or `most`";
            let problem = Problem::new(
                "objective/either",
                title,
                entries.span.clone(),
                "not one of them",
            );
            reader.note(problem.mend("write least = \"mass\", or most = \"...\""));
            return None;
        }
    };
    let written = reader.written(node.name, "an expression", node.value)?;
    let value = reader.formula_of(&written, None, Stage::After)?;
    let quantile = quantile(reader, entries);
    let name = match (entries.node("name"), quantile) {
        (Some(_), _) => reader.text(entries, "name"),
        (None, None) => value.text.clone(),
        (None, Some(share)) => format!("{} for {} %", value.text, print_number(100.0 * share)),
    };
    Some(Objective {
        name,
        unit: display_unit(reader, &value),
        value,
        most,
        quantile,
    })
}

/// Designs of a surrogate search at most: choosing one more takes a second at this number.
const MOST_SURROGATE: f64 = 1000.0;

pub(super) fn read_plan(
    reader: &mut Reader,
    root: &Entries,
    variables: &[Variable],
) -> PlanSettings {
    let entries = match root.node("explore") {
        Some(node) => reader.table(&keys::EXPLORE, node),
        None => reader.nothing(&keys::EXPLORE, root.span.clone()),
    };
    let count = |number: i64| u64::try_from(number).unwrap_or(1);
    let plan = PlanSettings {
        kind: plan_kind(reader, &entries),
        evaluations: count(reader.whole(&entries, "evaluations")),
        stall: count(reader.whole(&entries, "stall")),
        levels: count(reader.whole(&entries, "levels")),
        truth: match reader.word(&entries, "truth") {
            "beam" => TruthKind::Beam,
            "solid" => TruthKind::Solid,
            _ => TruthKind::Law,
        },
        proofs: count(reader.whole(&entries, "proofs")),
    };
    let fixed = match sampling::fixed_designs(plan.kind, variables.len()) {
        Ok(fixed) => fixed,
        Err((title, mend)) => {
            let place = entries.place("plan");
            let problem = Problem::new("explore/no-such-plan", title, place, "asked for here");
            reader.note(problem.mend(mend));
            None
        }
    };
    let (designs, key, mend) = match plan.kind {
        _ if fixed.is_some() => (
            fixed.map_or(0.0, |designs| designs as f64),
            "plan",
            "use `halvings`, or another plan",
        ),
        PlanKind::Grid => {
            let all = variables
                .iter()
                .map(|variable| combinations(&variable.range, plan.levels))
                .product();
            (
                all,
                "plan",
                "use larger steps, fewer `levels`, or plan = \"search\"",
            )
        }
        _ => (plan.evaluations as f64, "evaluations", "ask for fewer"),
    };
    if matches!(plan.kind, PlanKind::Surrogate { .. }) && designs > MOST_SURROGATE {
        let title = format!(
            "{} designs are too many for a surrogate search",
            print_number(designs)
        );
        let place = entries.place("evaluations");
        let problem = Problem::new("explore/too-large", title, place, "each is thought about");
        let most = print_number(MOST_SURROGATE);
        reader.note(problem.mend(format!(
            "write evaluations = 200, at most {most}; or plan = \"search\", which wants many"
        )));
    }
    if designs > MOST_DESIGNS {
        let title = format!("{} designs are too many for one run", print_number(designs));
        let problem = Problem::new("explore/too-large", title, entries.place(key), "too many");
        let most = format!("at most {}: {mend}", print_number(MOST_DESIGNS));
        reader.note(problem.mend(most));
    }
    plan
}

fn plan_kind(reader: &mut Reader, entries: &Entries) -> PlanKind {
    let halvings = usize::try_from(reader.whole(entries, "halvings")).unwrap_or(0);
    let at_once = usize::try_from(reader.whole(entries, "at_once")).unwrap_or(1);
    let axial = match reader.word(entries, "axial") {
        "faced" => Axial::Faced,
        _ => Axial::Inscribed,
    };
    let by = match reader.word(entries, "even_by") {
        "distance" => Evenness::Distance,
        _ => Evenness::Discrepancy,
    };
    match reader.word(entries, "plan") {
        "surrogate search" => PlanKind::Surrogate { at_once },
        "grid" => PlanKind::Grid,
        "latin hypercube" => PlanKind::LatinHypercube,
        "even latin hypercube" => PlanKind::EvenLatinHypercube { by },
        "sobol" => PlanKind::Sobol,
        "halton" => PlanKind::Halton,
        "space filling" => PlanKind::SpaceFilling,
        "two-level" => PlanKind::TwoLevel { halvings },
        "plackett-burman" => PlanKind::PlackettBurman,
        "central composite" => PlanKind::CentralComposite { axial, halvings },
        "box-behnken" => PlanKind::BoxBehnken,
        _ => PlanKind::Search,
    }
}
