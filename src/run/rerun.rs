//! An earlier run done again: its study with another material, machine or stock of tools, its candidates first.

use super::data::{Change, Goal, Mistake, Mistakes, Origin, Overrides, Source};
use super::explore::{row_point, smaller};
use super::learn::{Lesson, still_true};
use super::prepare::{Conditions, Prepared, of_catalogue, one, place, prepare};
use super::space::Space;
use crate::analyse;
use crate::catalogue::Catalogue;
use crate::evaluate::setup::{Range, Variable};
use crate::explore::{Axis, Problem};
use crate::study::{self, Changes, Moved, Size, StockFault};
use crate::units::Unit;

/// A finished run, as its folder tells it.
#[derive(Clone, Copy, Debug)]
pub struct Earlier<'a> {
    /// Name of its folder.
    pub run: &'a str,
    /// Program and version that made it.
    pub tool: &'a str,
    /// Its fingerprint.
    pub fingerprint: &'a str,
    /// Study and catalogue entries, frozen.
    pub source: &'a Source,
    /// The same, read; with the run's own seed and evaluations.
    pub prepared: &'a Prepared,
    /// Rows of its candidates, as stored.
    pub front: &'a [&'a [f64]],
    /// Its objectives among the stored columns.
    pub goals: &'a [Goal],
    /// Designs that it solved as solids.
    pub lessons: &'a [Lesson],
}

/// What is to be otherwise. What is `None` stays.
#[derive(Clone, Copy, Debug, Default)]
pub struct Asked<'a> {
    /// Material: id or designation.
    pub material: Option<&'a str>,
    /// Id of the machine.
    pub machine: Option<&'a str>,
    /// List of tools in stock.
    pub tools: Option<OwnTools<'a>>,
    /// What is looked for, in the place of the run's objectives.
    pub goal: Option<&'a study::Goal>,
    /// Further constraints.
    pub limits: &'a [String],
    /// Seed and evaluations of the search.
    pub overrides: Overrides,
    /// Program and version of today.
    pub tool: &'a str,
}

/// A file that lists tools in stock.
#[derive(Clone, Copy, Debug)]
pub struct OwnTools<'a> {
    /// Its name, as messages print it.
    pub file: &'a str,
    /// Its text.
    pub text: &'a str,
}

/// A rerun, ready to be explored.
#[derive(Clone, Debug)]
pub struct Again {
    /// The study as it is to be run, with its origin.
    pub prepared: Prepared,
    /// Solids of the earlier run that need not be solved again.
    pub lessons: Vec<Lesson>,
    /// What the reader must know, a line each.
    pub remarks: Vec<String>,
}

/// The study of an earlier run under other conditions, its candidates to be evaluated first.
///
/// Frozen catalogue entries stand before today's, entries of the list of tools before both. Where today's revision
/// has a tool that is no longer in stock, the nearest that gives a part stands for it.
///
/// # Errors
/// Unknown ids and tools with the nearest known, a list of tools that can't be read, and all that a study may have
/// wrong.
pub fn rerun(earlier: &Earlier, asked: &Asked) -> Result<Again, Mistakes> {
    let stock = match asked.tools {
        Some(own) => study::read_stock(own.text).map_err(|fault| of_stock(own, &fault))?,
        None => Default::default(),
    };
    let mut catalogue = Catalogue::builtin();
    if let Some(frozen) = &earlier.source.catalogue {
        catalogue = catalogue
            .with_user_file(frozen)
            .map_err(|error| of_catalogue(earlier.source, &error))?;
    }
    if let Some(own) = asked.tools {
        catalogue = catalogue
            .with_user_file(&stock.catalogue)
            .map_err(|error| {
                one(
                    "call/tools",
                    format!("{}: {error}", own.file),
                    0,
                    &error.mend,
                )
            })?;
        check_sizes(own, &stock, &catalogue)?;
    }
    let sizes = |listed: &Option<Vec<(Size, _)>>| {
        let sizes = listed.as_ref()?.iter().map(|(size, _)| size.clone());
        Some(sizes.collect())
    };
    let changes = Changes {
        material: asked
            .material
            .map(|id| material(&catalogue, id))
            .transpose()?,
        machine: asked
            .machine
            .map(|id| machine(&catalogue, id))
            .transpose()?,
        drills: sizes(&stock.drills),
        end_mills: sizes(&stock.end_mills),
        catalogue: Some("catalogue.toml".into()),
        goal: asked.goal.cloned(),
        limits: asked.limits.to_vec(),
    };
    let (mut prepared, moved) = read(earlier, asked, &changes, &catalogue)?;
    let lessons = still_true(earlier.prepared, earlier.lessons, &prepared);
    let (starts, outside) = starts(earlier, &prepared);
    let changes = differences(earlier, asked, &prepared);
    let remarks = remarks(earlier, &changes, &moved, starts.len(), outside);
    prepared.job.origin = Some(Origin {
        run: earlier.run.into(),
        fingerprint: earlier.fingerprint.into(),
        tool: earlier.tool.into(),
        changes,
        starts,
    });
    Ok(Again {
        prepared,
        lessons,
        remarks,
    })
}

/// The changed study, read. Today's revision takes the nearest tool with which it is a part.
fn read(
    earlier: &Earlier,
    asked: &Asked,
    changes: &Changes,
    catalogue: &Catalogue,
) -> Result<(Prepared, Vec<Moved>), Mistakes> {
    let overrides = Overrides {
        seed: asked.overrides.seed.or(Some(earlier.prepared.job.seed)),
        evaluations: asked
            .overrides
            .evaluations
            .or(Some(earlier.prepared.job.evaluations)),
    };
    let most = |sizes: &Option<Vec<Size>>| sizes.as_ref().map_or(1, Vec::len);
    let ranks = most(&changes.drills).max(most(&changes.end_mills)).max(1);
    let mut rank = 0;
    loop {
        let (text, moved) = study::rewrite(&earlier.source.text, changes, rank)
            .map_err(|why| one("call/study", format!("failed to {why}"), 0, ""))?;
        let source = Source {
            file: format!("{}, as changed", earlier.source.file),
            text,
            catalogue: Some(whole(catalogue)),
            ..earlier.source.clone()
        };
        rank += 1;
        match prepare(&source, overrides) {
            Ok(prepared) => return Ok((prepared, moved)),
            Err(mistakes) => {
                let no_part = mistakes.list.iter().all(|m| m.code == "part/baseline");
                if moved.is_empty() || !no_part || rank >= ranks {
                    return Err(mistakes);
                }
            }
        }
    }
}

/// A catalogue as the text of a user's file.
fn whole(catalogue: &Catalogue) -> String {
    let materials = catalogue.materials().iter().map(|m| m.id.as_str());
    let drills = catalogue.drills().iter().map(|drill| drill.id.as_str());
    let end_mills = catalogue.end_mills().iter().map(|mill| mill.id.as_str());
    let machines = catalogue.machines().iter().map(|m| m.id.as_str());
    catalogue.extract(
        &materials.collect::<Vec<_>>(),
        &drills.collect::<Vec<_>>(),
        &end_mills.collect::<Vec<_>>(),
        &machines.collect::<Vec<_>>(),
    )
}

fn material(catalogue: &Catalogue, id: &str) -> Result<String, Mistakes> {
    match catalogue.material(id) {
        Some(material) => Ok(material.id.clone()),
        None => Err(unknown("material", id, catalogue.nearest_material(id))),
    }
}

fn machine(catalogue: &Catalogue, id: &str) -> Result<String, Mistakes> {
    match catalogue.machine(id) {
        Some(machine) => Ok(machine.id.clone()),
        None => Err(unknown("machine", id, catalogue.nearest_machine(id))),
    }
}

fn unknown(kind: &str, id: &str, nearest: Option<&str>) -> Mistakes {
    let near = nearest.map_or(String::new(), |near| format!("did you mean `{near}`? "));
    one(
        &format!("call/{kind}"),
        format!("neither the run nor the catalogue knows a {kind} `{id}`"),
        0,
        &format!("{near}`fretwork list {kind}s` shows all"),
    )
}

/// What is wrong in a list of tools, with its place.
fn of_stock(own: OwnTools, fault: &StockFault) -> Mistakes {
    let (line, column) = place(own.text, fault.at);
    let what = format!("{}:{line}:{column}: {}", own.file, fault.what);
    let mut mistakes = one("call/tools", what, line, fault.mend);
    mistakes.list[0].column = column;
    mistakes
}

/// Every tool in stock must be one that the catalogue knows; all that are not.
fn check_sizes(
    own: OwnTools,
    stock: &study::StockList,
    catalogue: &Catalogue,
) -> Result<(), Mistakes> {
    let mut all = Mistakes::default();
    let drills = catalogue.drills().iter().map(|drill| drill.diameter_mm);
    let mills = catalogue.end_mills().iter().map(|mill| mill.diameter_mm);
    for (kind, table, listed, known) in [
        ("drill", "drill", &stock.drills, drills.collect::<Vec<_>>()),
        ("end mill", "end_mill", &stock.end_mills, mills.collect()),
    ] {
        for (size, span) in listed.iter().flatten() {
            let found = known.iter().any(|mm| (mm - size.mm).abs() < SAME_MM);
            if found {
                continue;
            }
            let (line, column) = place(own.text, span.start);
            let near = study::nearest_sizes(size.mm, &known)
                .map_or(String::new(), |near| format!("{near}; "));
            let mistake = Mistake {
                code: "call/tools".into(),
                what: format!(
                    "{}:{line}:{column}: no {kind} of {} in the catalogue",
                    own.file, size.text
                ),
                line,
                column,
                mend: format!("{near}or describe it in the same file under [[{table}]]"),
            };
            let printed = one(&mistake.code, mistake.what.clone(), line, &mistake.mend).printed;
            all.printed += &format!("{printed}\n");
            all.list.push(mistake);
        }
    }
    match all.list.is_empty() {
        true => Ok(()),
        false => Err(all),
    }
}

/// Sizes nearer than this are the same tool, as in a study, in mm.
const SAME_MM: f64 = 1e-3;

/// The earlier candidates as places on the new axes, those that can be made as they are first, each once; and how
/// many had to take another value of a choice. Where they would fill more than half of the budget, a spread half.
fn starts(earlier: &Earlier, prepared: &Prepared) -> (Vec<Vec<f64>>, usize) {
    let space = Space::new(prepared);
    let rows: Vec<Vec<f64>> = earlier
        .front
        .iter()
        .map(|row| smaller(earlier.goals, row))
        .collect();
    let room = (prepared.job.evaluations / 2).max(1);
    let (mut same, mut moved): (Vec<Vec<f64>>, Vec<Vec<f64>>) = Default::default();
    for index in analyse::spread(&rows, room) {
        let point = row_point(earlier.prepared, earlier.front[index]);
        let variables = prepared.study.variables.iter().zip(space.axes());
        let placed: Vec<(f64, bool)> = variables
            .zip(&point)
            .map(|((variable, axis), value)| nearest(variable, axis, *value))
            .collect();
        let list = match placed.iter().all(|(_, same)| *same) {
            true => &mut same,
            false => &mut moved,
        };
        let x: Vec<f64> = placed.into_iter().map(|(x, _)| x).collect();
        if !list.contains(&x) {
            list.push(x);
        }
    }
    moved.retain(|x| !same.contains(x));
    let outside = moved.len();
    same.extend(moved);
    (same, outside)
}

/// Place on its axis that is nearest to a value, and whether it is that value.
fn nearest(variable: &Variable, axis: &Axis, value: f64) -> (f64, bool) {
    let close = |other: f64| (other - value).abs() <= 1e-9 * value.abs().max(1e-6);
    match &variable.range {
        Range::Choice(values) => {
            let apart = |index: &usize| (values[*index] - value).abs();
            let best = (0..values.len()).min_by(|a, b| apart(a).total_cmp(&apart(b)));
            let index = best.unwrap_or(0);
            (index as f64, values.get(index).is_some_and(|v| close(*v)))
        }
        _ => {
            let x = axis.nearest(value);
            (x, close(x))
        }
    }
}

/// What differs between the earlier run and this one.
fn differences(earlier: &Earlier, asked: &Asked, prepared: &Prepared) -> Vec<Change> {
    let mut changes = condition_changes(
        earlier.prepared.conditions.as_ref(),
        prepared.conditions.as_ref(),
    );
    let (old, new) = (&earlier.prepared.job, &prepared.job);
    let column = |index: usize| {
        let column = old.columns.get(index);
        column.map_or_else(String::new, |column| column.name.clone())
    };
    let mut add = |what: &str, from: String, to: String| {
        if from != to {
            let what = what.into();
            changes.push(Change { what, from, to });
        }
    };
    if let Some(goal) = asked.goal {
        let names = earlier.goals.iter().map(|goal| column(goal.column));
        let new = goal.name.clone().unwrap_or_else(|| goal.formula.clone());
        let old: Vec<String> = names.collect();
        add("objective", old.join(", "), new);
    }
    if !asked.limits.is_empty() {
        add("limits", String::new(), asked.limits.join(", "));
    }
    add("tool version", earlier.tool.into(), asked.tool.into());
    add("seed", old.seed.to_string(), new.seed.to_string());
    let count = |count: usize| count.to_string();
    add(
        "evaluations",
        count(old.evaluations),
        count(new.evaluations),
    );
    changes
}

/// What differs between two sets of conditions: ids, or the figures behind the same id.
pub(super) fn condition_changes(old: Option<&Conditions>, new: Option<&Conditions>) -> Vec<Change> {
    let mut changes = Vec::new();
    let (Some(old), Some(new)) = (old, new) else {
        return changes;
    };
    let mut add = |what: &str, from: &str, to: &str, same: bool| {
        if same {
            return;
        }
        let to = match from == to {
            true => format!("{to} with other figures"),
            false => to.into(),
        };
        changes.push(Change {
            what: what.into(),
            from: from.into(),
            to,
        });
    };
    let (a, b) = (&old.material, &new.material);
    add("material", &a.id, &b.id, a == b);
    let (a, b) = (&old.machine, &new.machine);
    add("machine", &a.id, &b.id, a == b);
    let list = |sizes: Vec<f64>| {
        let sizes: Vec<String> = sizes.iter().map(|mm| Unit::MM.print(*mm)).collect();
        sizes.join(", ")
    };
    let drills = |of: &Conditions| list(of.tools.drills.iter().map(|d| d.diameter_mm).collect());
    let same = old.tools.drills == new.tools.drills;
    add("drills", &drills(old), &drills(new), same);
    let mills = |of: &Conditions| list(of.tools.end_mills.iter().map(|m| m.diameter_mm).collect());
    let same = old.tools.end_mills == new.tools.end_mills;
    add("end mills", &mills(old), &mills(new), same);
    changes
}

fn remarks(
    earlier: &Earlier,
    changes: &[Change],
    moved: &[Moved],
    starts: usize,
    outside: usize,
) -> Vec<String> {
    let conditions: Vec<String> = changes.iter().map(words).collect();
    let changed = match conditions.is_empty() {
        true => "under the same conditions".into(),
        false => conditions.join("; "),
    };
    let mut remarks = vec![format!("rerun of {}: {changed}", earlier.run)];
    let front = earlier.front.len();
    remarks.push(match starts < front {
        false => format!("its {front} candidates are evaluated first"),
        true => format!("{starts} of its {front} candidates are evaluated first"),
    });
    if outside > 0 {
        remarks.push(format!(
            "{outside} of them have a tool that is no longer in stock; the nearest stands for it"
        ));
    }
    for Moved { variable, from, to } in moved {
        remarks.push(format!(
            "today's revision can't be made any more: {variable} = {from} is not in stock; the baseline has {to} \
             instead"
        ));
    }
    remarks
}

/// A change in words: `material al7075_t6 instead of al6061_t6511`, `drills with 2.7 mm, without 4 mm`.
pub(super) fn words(change: &Change) -> String {
    let Change { what, from, to } = change;
    if from.is_empty() && what == "limits" {
        return format!("{to} as well");
    }
    if !matches!(what.as_str(), "drills" | "end mills") {
        return format!("{what} {to} instead of {from}");
    }
    let lacks = |all: &str, other: &str| {
        let other: Vec<&str> = other.split(", ").collect();
        let sizes: Vec<&str> = all
            .split(", ")
            .filter(|size| !size.is_empty() && !other.contains(size))
            .collect();
        sizes.join(", ")
    };
    let (added, gone) = (lacks(to, from), lacks(from, to));
    match (added.is_empty(), gone.is_empty()) {
        (true, true) => format!("{what} with other figures"),
        (false, true) => format!("{what} with {added}"),
        (true, false) => format!("{what} without {gone}"),
        (false, false) => format!("{what} with {added}, without {gone}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_of_stock_says_what_came_and_went() {
        let change = |what: &str, from: &str, to: &str| {
            words(&Change {
                what: what.into(),
                from: from.into(),
                to: to.into(),
            })
        };
        assert_eq!(
            change("drills", "2 mm, 4 mm", "2 mm, 2.7 mm"),
            "drills with 2.7 mm, without 4 mm"
        );
        assert_eq!(change("drills", "2 mm", ""), "drills without 2 mm");
        assert_eq!(
            change("material", "al6061_t6511", "al7075_t6"),
            "material al7075_t6 instead of al6061_t6511"
        );
    }
}
