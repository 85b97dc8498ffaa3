//! Load cases.

use super::keys;
use super::part::{is_bare, is_straight};
use super::problem::{Problem, suggest};
use super::reader::{Entries, Node, Reader, in_order};
use super::variables::check_name;
use crate::evaluate::measures::{Acting, LoadName};
use crate::evaluate::setup::{
    ActionRecipe, Cycles, LoadRecipe, OpeningRecipe, PartRecipe, SupportRecipe,
};
use crate::structure::Frame;
use crate::units::{Unit, read_quantity};
use toml::de::DeValue;

/// The load cases by name, and what acts in each, before anything else of them is read: the names of their
/// measures follow from that, and derived values may use those.
pub(super) fn names_ahead(reader: &mut Reader, root: &Entries) -> Vec<LoadName> {
    let nodes = match root.node("load").map(|node| node.value.get_ref()) {
        Some(DeValue::Table(found)) => in_order(found),
        _ => Vec::new(),
    };
    for node in &nodes {
        check_name(reader, node);
    }
    nodes
        .iter()
        .map(|node| LoadName {
            name: node.name.to_string(),
            acting: acting(node),
            fatigue: matches!(node.value.get_ref(), DeValue::Table(table) if table.get("fatigue").is_some()),
        })
        .collect()
}

/// What acts in a load case; a written zero counts as none.
fn acting(node: &Node) -> Acting {
    let forces = match node.value.get_ref() {
        DeValue::Table(table) => table
            .get("forces")
            .and_then(|value| value.get_ref().as_array()),
        _ => None,
    };
    let acts = |name: &str| {
        let has = |force: &DeValue| match force {
            DeValue::Table(table) => table
                .get(name)
                .is_some_and(|value| !all_zero(value.get_ref())),
            _ => false,
        };
        forces.is_some_and(|forces| forces.iter().any(|force| has(force.get_ref())))
    };
    let accelerated = match node.value.get_ref() {
        DeValue::Table(table) => table
            .get("acceleration")
            .is_some_and(|value| !all_zero(value.get_ref())),
        _ => false,
    };
    let opens = match node.value.get_ref() {
        DeValue::Table(table) => table.contains_key("opening"),
        _ => false,
    };
    if opens {
        Acting::Opening
    } else if accelerated {
        Acting::Inertia
    } else if acts("force") {
        Acting::Forces
    } else if acts("moment") {
        Acting::Moments
    } else {
        Acting::Inertia
    }
}

fn all_zero(value: &DeValue) -> bool {
    match value {
        DeValue::Array(items) => items.iter().all(|item| all_zero(item.get_ref())),
        DeValue::String(text) => read_quantity(text).is_ok_and(|(value, _)| value == 0.0),
        DeValue::Integer(number) => number.as_str() == "0",
        DeValue::Float(number) => number.as_str().parse() == Ok(0.0),
        _ => false,
    }
}

pub(super) fn read_loads(
    reader: &mut Reader,
    root: &Entries,
    part: &PartRecipe,
) -> Vec<LoadRecipe> {
    let mut loads = Vec::new();
    for node in reader.named(root, "load") {
        let entries = reader.table(&keys::LOAD, &node);
        let mut supports = Vec::new();
        for support in reader.tables(&entries, "supports") {
            supports.push(read_support(reader, &support));
        }
        let mut actions = Vec::new();
        for action in reader.tables(&entries, "forces") {
            actions.push(read_action(reader, &action));
        }
        let acceleration = reader.vector3(&entries, "acceleration");
        let opening = read_opening(reader, &entries, part);
        let zero = |formulas: &[crate::expression::Formula; 3]| {
            formulas.iter().all(|f| f.constant_value() == Some(0.0))
        };
        let still = zero(&acceleration) && actions.is_empty();
        if opening.is_some() && (!still || supports.is_empty()) {
            let title = "a blade is opened by the force that it takes, against supports";
            let problem = Problem::new(
                "load/opening",
                title,
                entries.place("opening"),
                "not alone, or not held",
            );
            let mend = "take `forces` and `acceleration` into a load case of their own; name what is held in `supports`";
            reader.note(problem.mend(mend));
        }
        if opening.is_none()
            && zero(&acceleration)
            && actions
                .iter()
                .all(|action| zero(&action.force) && zero(&action.moment))
        {
            let title = format!("nothing acts in the load case `{}`", node.name);
            let problem = Problem::new("load/empty", title, entries.span.clone(), "no load");
            let mend = "add `forces`, `acceleration` or `opening`, or take the load case out";
            reader.note(problem.mend(mend));
        }
        let fatigue = read_cycles(reader, &entries);
        if let (Some(_), Some(node)) = (
            fatigue,
            entries
                .node("fatigue")
                .filter(|_| entries.node("opening").is_some()),
        ) {
            let title = "`fatigue` has no meaning beside `opening`";
            let problem = Problem::new("study/unknown-key", title, node.span.clone(), "not here");
            reader.note(problem.mend("take it out: an opening is judged between its two places"));
        }
        loads.push(LoadRecipe {
            fatigue,
            name: node.name.to_string(),
            supports,
            actions,
            acceleration,
            opening,
        });
    }
    loads
}

fn read_opening(reader: &mut Reader, load: &Entries, part: &PartRecipe) -> Option<OpeningRecipe> {
    let entries = reader.optional_table(load, "opening")?;
    let bosses = part.bosses.iter().map(|boss| &boss.section);
    let bare = bosses.chain([&part.section]).all(is_bare);
    if !is_straight(&part.path) || !bare {
        let title = "only a straight frame without walls and ribs can be opened";
        let problem = Problem::new(
            "part/not-a-blade",
            title,
            entries.span.clone(),
            "opened here",
        );
        reader.note(problem.mend("make the path of lines only, and the sections a floor alone"));
    }
    Some(OpeningRecipe {
        at: reader.places(&entries, "at").pop()?,
        to: reader.formula(&entries, "to"),
        from: reader.formula(&entries, "from"),
    })
}

/// How a load comes and goes.
fn read_cycles(reader: &mut Reader, load: &Entries) -> Option<Cycles> {
    let entries = reader.optional_table(load, "fatigue")?;
    let mut number = |name: &str, fallback: f64, range: std::ops::Range<f64>, mend: &str| {
        let Some(node) = entries.node(name) else {
            return fallback;
        };
        let Some(value) = reader.fixed_as(name, node.value, Unit::NUMBER) else {
            return fallback;
        };
        if range.contains(&value) {
            return value;
        }
        let title = format!("`{name}` is out of range");
        let problem = Problem::new("study/out-of-range", title, node.value.span(), "outside");
        reader.note(problem.mend(mend));
        fallback
    };
    Some(Cycles {
        count: number(
            "cycles",
            1.0,
            1.0..f64::INFINITY,
            "write 1 or more, such as 1e6",
        ),
        ratio: number(
            "ratio",
            -1.0,
            -1.0..1.0,
            "write -1 for a fully reversed load, 0 for one from zero, or a number between -1 and 1",
        ),
    })
}

fn read_frame(reader: &mut Reader, entries: &Entries) -> Frame {
    match reader.word(entries, "axes") {
        "path" => Frame::Path,
        _ => Frame::Plan,
    }
}

fn read_support(reader: &mut Reader, entries: &Entries) -> SupportRecipe {
    let held = read_holds(reader, entries);
    SupportRecipe {
        at: reader.places(entries, "at"),
        frame: read_frame(reader, entries),
        hold_move: [held[0], held[1], held[2]],
        hold_turn: [held[3], held[4], held[5]],
        hold_warp: held[6],
    }
}

fn read_action(reader: &mut Reader, entries: &Entries) -> ActionRecipe {
    ActionRecipe {
        at: reader.places(entries, "at"),
        frame: read_frame(reader, entries),
        force: reader.vector3(entries, "force"),
        moment: reader.vector3(entries, "moment"),
        offset: reader.vector2(entries, "offset"),
    }
}

/// Which of the seven freedoms are held, in the order of [`keys::HOLDS`].
fn read_holds(reader: &mut Reader, entries: &Entries) -> [bool; 7] {
    let Some(node) = entries.node("hold") else {
        return [true; 7];
    };
    let single = std::slice::from_ref(node.value);
    let items = match node.value.get_ref() {
        DeValue::Array(items) => &items[..],
        _ => single,
    };
    let mut held = [false; 7];
    for item in items {
        let Some(word) = item.get_ref().as_str() else {
            reader.wrong_type("hold", "a list of words", item);
            continue;
        };
        match keys::HOLDS.iter().position(|known| *known == word) {
            Some(index) => held[index] = true,
            None if word == "all" => held = [true; 7],
            None => {
                let known = [keys::HOLDS, &["all"]].concat();
                let title = format!("`{word}` names no direction that can be held");
                let problem = Problem::new("load/hold", title, item.span(), "not known");
                reader.note(problem.mend_if(suggest(word, &known)));
            }
        }
    }
    if items.is_empty() {
        let problem = Problem::new(
            "load/hold",
            "this support holds nothing",
            node.value.span(),
            "empty",
        );
        reader.note(problem.mend("name what it holds, or take it out"));
    }
    held
}
