//! `fretwork measure`: what was read of a made part goes on record.

use std::path::{Path, PathBuf};

use clap::{Args, ValueHint};
use serde_json::json;

use super::made::{Made, at, printed};
use super::{read_text, show};
use crate::cli::Failure;
use crate::cli::measured::{self as printing, Sitting};
use crate::ledger::{Date, list, quoted};
use crate::measured::{
    CYCLE, Defaults, Entry, Gauge, Of, Record, Taken, base_unit, figures, operation_names,
    predicted, read_readings, read_table, trials_of, variables_of,
};
use crate::store;
use crate::study::suggest;

/// What was read, and where it is to go.
#[derive(Clone, Debug, Args)]
pub struct Measure {
    /// Study file
    #[arg(value_hint = ValueHint::FilePath)]
    study: PathBuf,
    /// Revision that the part was made to, by its letter
    #[arg(long, value_name = "LETTER")]
    revision: Option<String>,
    /// Serial number of the part
    #[arg(long, value_name = "SERIAL")]
    part: Option<String>,
    /// Day [default: today]
    #[arg(long, value_name = "YYYY-MM-DD")]
    date: Option<Date>,
    /// Who measured; may be given several times
    #[arg(long, value_name = "NAME")]
    by: Vec<String>,
    /// With what
    #[arg(long, value_name = "TEXT")]
    instrument: Option<String>,
    /// Step of the instrument's figures, as '0.01 g'
    #[arg(long, value_name = "VALUE")]
    readability: Option<String>,
    /// A weighing; several of one part: several times
    #[arg(long, value_name = "MASS")]
    weigh: Vec<String>,
    /// Reading of the empty balance
    #[arg(
        long,
        value_name = "MASS",
        requires = "weigh",
        allow_hyphen_values = true
    )]
    zero: Vec<String>,
    /// A check weight and its reading, as '50 g=50.01 g'
    #[arg(long, value_name = "WEIGHT=MASS", requires = "weigh", value_parser = pair)]
    check: Option<(String, String)>,
    /// Of the air, as '21 °C'
    #[arg(long, value_name = "VALUE", requires = "weigh")]
    temperature: Option<String>,
    /// The part was weighed with what the study says it carries
    #[arg(long, requires = "weigh")]
    fitted: bool,
    /// Remark on the weighing
    #[arg(long, value_name = "TEXT", requires = "weigh")]
    note: Option<String>,
    /// File of readings: .csv, or .toml with [[record]]
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath, conflicts_with = "weigh")]
    from: Option<PathBuf>,
    /// Say how much of the scatter is the gauge's, from parts that several people
    /// measured several times: mass, frequency or LOAD.stiffness
    #[arg(long, value_name = "MEASURE", conflicts_with_all = ["weigh", "from"])]
    repeatability: Option<String>,
    /// Whole width of the tolerance that the gauge is to judge
    #[arg(long, value_name = "VALUE", requires = "repeatability")]
    tolerance: Option<String>,
    /// Ledger [default: the one beside the study]
    #[arg(long, value_name = "FILE", value_hint = ValueHint::FilePath)]
    ledger: Option<PathBuf>,
    /// Print one JSON object
    #[arg(long)]
    json: bool,
}

/// `A=B`, cut at the first equals sign.
fn pair(text: &str) -> Result<(String, String), String> {
    match text.split_once('=') {
        Some((weight, read)) if !weight.trim().is_empty() && !read.trim().is_empty() => {
            Ok((weight.trim().into(), read.trim().into()))
        }
        _ => Err("write the weight, an equals sign and the reading: '50 g=50.01 g'".into()),
    }
}

/// Adds records to the file beside the ledger and prints them beside what was predicted; without readings prints what is
/// on record.
///
/// # Errors
/// A revision that there is not; readings at fault, by line; names that plan or study do not have; files that can't be
/// read or written.
pub fn measure(ask: &Measure) -> Result<(), Failure> {
    let made = Made::open(&ask.study, ask.ledger.as_deref())?;
    if let Some(measure) = &ask.repeatability {
        return repeatability(ask, &made, measure);
    }
    let (file, read) = match &ask.from {
        Some(file) => (Some(file.as_path()), from_file(ask, file)?),
        None if ask.weigh.is_empty() => return on_record(ask, &made),
        None => (None, from_call(ask)?),
    };
    made.check(&read, file)?;
    same_revision(&made, &read, file)?;
    new_ones(&made, &read, file)?;
    let sittings = sittings(&made, &read, file)?;
    let records: Vec<Record> = read.into_iter().map(|entry| entry.record).collect();
    made.append(&records)?;
    let count = records.len();
    let said = format!(
        "{count} {} added to {}",
        if count == 1 { "record" } else { "records" },
        made.file.display()
    );
    show(|out| match ask.json {
        true => writeln!(
            out,
            "{}",
            json!({ "file": made.file.display().to_string(), "added": printing::json(&sittings) })
        ),
        false => printing::print(out, &said, &sittings),
    })
}

/// That a part is of the one revision that it was made to.
fn same_revision(made: &Made, read: &[Entry], file: Option<&Path>) -> Result<(), Failure> {
    let known = made.records.list.iter().chain(read);
    for Entry { record, line } in read {
        let other = |entry: &&Entry| {
            entry.record.part == record.part && entry.record.revision != record.revision
        };
        if let Some(Entry { record: other, .. }) = known.clone().find(other) {
            let (part, own) = (&record.part, record.revision.as_str());
            return Err(Failure::call(
                format!(
                    "{}part {part} is of revision {own} here, and of {} elsewhere on record",
                    at(file, *line),
                    other.revision.as_str()
                ),
                "give the revision that it was made to, or the part that was read",
            ));
        }
    }
    Ok(())
}

/// That no record is there already: a file that is read in twice.
fn new_ones(made: &Made, read: &[Entry], file: Option<&Path>) -> Result<(), Failure> {
    let mut seen: Vec<String> = made
        .records
        .list
        .iter()
        .map(|entry| entry.record.seal())
        .collect();
    for Entry { record, line } in read {
        let seal = record.seal();
        if seen.contains(&seal) {
            let (kind, part) = (record.taken.kind(), &record.part);
            return Err(Failure::call(
                format!(
                    "{}this {kind} of part {part} is on record already",
                    at(file, *line)
                ),
                "if it was read again with the same figures, say so in its note",
            ));
        }
        seen.push(seal);
    }
    Ok(())
}

/// What is on record.
fn on_record(ask: &Measure, made: &Made) -> Result<(), Failure> {
    let list = &made.records.list;
    if list.is_empty() {
        return Err(Failure::call(
            format!("no part of {} is on record", made.ledger.ledger.study),
            "weigh one: fretwork measure STUDY --revision C --part C-001 --instrument 'balance' --weigh '31.02 g'",
        ));
    }
    let is =
        |wanted: &Option<String>, found: &str| wanted.as_ref().is_none_or(|wanted| wanted == found);
    let wanted = |entry: &&Entry| {
        is(&ask.revision, entry.record.revision.as_str()) && is(&ask.part, &entry.record.part)
    };
    let shown: Vec<Entry> = list.iter().filter(wanted).cloned().collect();
    if shown.is_empty() {
        let mut parts: Vec<&str> = list
            .iter()
            .map(|entry| entry.record.part.as_str())
            .collect();
        parts.sort_unstable();
        parts.dedup();
        let of = match (&ask.part, &ask.revision) {
            (Some(part), None) => format!("part {part}"),
            (Some(part), Some(letter)) => format!("part {part} of revision {letter}"),
            (None, letter) => format!("revision {}", letter.as_deref().unwrap_or_default()),
        };
        return Err(Failure::call(
            format!("nothing is on record of {of}"),
            format!(
                "on record are {}; to add a reading: --weigh '31.02 g', or --from FILE",
                parts.join(", ")
            ),
        ));
    }
    let sittings = sittings(made, &shown, Some(&made.file))?;
    let said = format!(
        "{}: {} records of made parts",
        made.ledger.ledger.study,
        shown.len()
    );
    show(|out| match ask.json {
        true => writeln!(
            out,
            "{}",
            json!({ "file": made.file.display().to_string(), "records": printing::json(&sittings) })
        ),
        false => printing::print(out, &said, &sittings),
    })
}

/// What the call says of every reading.
fn defaults(ask: &Measure) -> Defaults {
    Defaults {
        revision: ask.revision.clone(),
        part: ask.part.clone(),
        date: ask.date.or_else(|| store::today().parse().ok()),
        by: ask.by.clone(),
        instrument: ask.instrument.clone(),
        readability: ask.readability.clone(),
    }
}

fn from_file(ask: &Measure, file: &Path) -> Result<Vec<Entry>, Failure> {
    let text = read_text(file, "file of readings")?;
    let call = defaults(ask);
    let table = file
        .extension()
        .is_some_and(|end| end.eq_ignore_ascii_case("csv"));
    let read = match table {
        true => read_table(&text, &call),
        false => read_readings(&text, &call),
    };
    read.map_err(|problems| printed(&problems, &text, file))
}

/// A weighing that stands in the call.
fn from_call(ask: &Measure) -> Result<Vec<Entry>, Failure> {
    // As a file of readings, so that one reader checks both.
    let many = |texts: &[String]| list(texts.iter().map(String::as_str));
    let mut text = format!(
        "[[record]]\nkind = \"weighing\"\nreadings = {}\n",
        many(&ask.weigh)
    );
    let mut line = |name: &str, value: String| text += &format!("{name} = {value}\n");
    if !ask.zero.is_empty() {
        line("zero", many(&ask.zero));
    }
    if let Some((weight, read)) = &ask.check {
        line("check", quoted(weight));
        line("check_readings", list([read.as_str()]));
    }
    for (name, value) in [("temperature", &ask.temperature), ("note", &ask.note)] {
        if let Some(value) = value {
            line(name, quoted(value));
        }
    }
    if ask.fitted {
        line("fitted", "true".into());
    }
    read_readings(&text, &defaults(ask)).map_err(|problems| {
        let first = problems.into_iter().next();
        first.map_or_else(
            || Failure::call("there is no reading", ""),
            |problem| Failure::call(problem.title, problem.mend.unwrap_or_default()),
        )
    })
}

/// Records with their figures beside what was predicted.
///
/// # Errors
/// Load cases and operations that study and plan do not have; readings that give no figure.
fn sittings(made: &Made, entries: &[Entry], file: Option<&Path>) -> Result<Vec<Sitting>, Failure> {
    let evaluator = &made.prepared.evaluator;
    let mut all = Vec::new();
    for Entry { record, line } in entries {
        let wrong =
            |what: String, mend: String| Failure::call(format!("{}{what}", at(file, *line)), mend);
        let Some(revision) = made.revision(&record.revision) else {
            continue;
        };
        let (values, missing) = variables_of(evaluator, revision);
        check_names(made, record, &values).map_err(|(what, mend)| wrong(what, mend))?;
        let found = figures(record).map_err(|why| {
            wrong(
                why,
                "see loads, movements and the rig's stiffness, and their signs".into(),
            )
        })?;
        let of: Vec<Of> = found.iter().map(|figure| figure.of.clone()).collect();
        let today = predicted(evaluator, &values, &of);
        let rows = found.into_iter().zip(today).map(|(figure, today)| {
            let told = figure.of.predicted().and_then(|name| {
                let told = revision.predicted.iter().find(|told| told.name == name)?;
                told.in_unit(&figure.unit)
            });
            let unit = base_unit(&figure);
            let here = crate::ledger::Quantity {
                name: String::new(),
                value: today,
                unit: unit.into(),
            };
            (
                figure.clone(),
                told,
                here.in_unit(&figure.unit).filter(|value| value.is_finite()),
            )
        });
        all.push(Sitting {
            record: record.clone(),
            rows: rows.collect(),
            missing,
        });
    }
    Ok(all)
}

/// That the study has the load case, and the plan the operations.
fn check_names(made: &Made, record: &Record, values: &[f64]) -> Result<(), (String, String)> {
    let study = &made.prepared.study;
    let loads: Vec<&str> = study.loads.iter().map(|load| load.name.as_str()).collect();
    let known = |name: &str| match loads.contains(&name) {
        true => Ok(()),
        false => Err((
            format!("the study has no load case `{name}`"),
            suggest(name, &loads).unwrap_or_default(),
        )),
    };
    match &record.taken {
        Taken::Weighing(_) => Ok(()),
        Taken::Stiffness(stiffness) => {
            let load = stiffness.load_case.as_str();
            known(load)?;
            let name = format!("{load}.stiffness");
            let measure = study.measures.iter().find(|(each, _)| *each == name);
            let Some((_, unit)) = measure else {
                return Err((
                    format!(
                        "load case `{load}` has no stiffness to compare with: it accelerates the frame"
                    ),
                    "name a load case of forces or moments".into(),
                ));
            };
            let turned = stiffness
                .loads
                .first()
                .is_some_and(|load| load.in_unit("N mm").is_some());
            let symbol = unit.symbol.as_str();
            match turned == crate::ledger::same_unit(symbol, "N mm/rad") {
                true => Ok(()),
                false => Err((
                    format!(
                        "the readings under `{load}` are of another kind than its stiffness, in {symbol}"
                    ),
                    "write loads in N with movements in mm, or moments in N mm with turns in mrad"
                        .into(),
                )),
            }
        }
        Taken::Tap(tap) if tap.held.is_empty() => Ok(()),
        Taken::Tap(tap) => {
            known(&tap.held)?;
            let held = study
                .loads
                .iter()
                .any(|load| load.name == tap.held && !load.supports.is_empty());
            match held {
                true => Ok(()),
                false => Err((
                    format!("load case `{}` has no supports", tap.held),
                    "write held = \"free\", or a load case whose supports held the part".into(),
                )),
            }
        }
        Taken::Times(times) => {
            let names = operation_names(&made.prepared.evaluator, values);
            let of: Vec<Of> = times
                .times
                .iter()
                .map(|time| Of::Time(time.name.clone()))
                .collect();
            let found = predicted(&made.prepared.evaluator, values, &of);
            let unknown = times
                .times
                .iter()
                .zip(found)
                .find(|(time, found)| time.name != CYCLE && found.is_nan());
            let Some((time, _)) = unknown else {
                return Ok(());
            };
            let names: Vec<&str> = names.iter().map(String::as_str).collect();
            let near = suggest(&time.name, &names);
            Err((
                format!(
                    "the plan of revision {} has no operation `{}`",
                    record.revision, time.name
                ),
                near.filter(|near| near.len() < 200).unwrap_or_else(|| {
                    format!(
                        "its operations are: {}; or cycle, for the whole",
                        names.join("; ")
                    )
                }),
            ))
        }
    }
}

/// How much of a scatter is the gauge's.
fn repeatability(ask: &Measure, made: &Made, measure: &str) -> Result<(), Failure> {
    let wanted = |record: &&Record| {
        let letter = ask.revision.as_deref();
        letter.is_none_or(|letter| record.revision.as_str() == letter)
    };
    let list = made.records.list.iter().map(|entry| &entry.record);
    let list: Vec<&Record> = list.filter(wanted).collect();
    let found = trials_of(&list, measure).map_err(|(what, mend)| Failure::call(what, mend))?;
    let gauge = Gauge::of(&found.trials).map_err(|fault| {
        let (what, mend) = found.words(&fault);
        Failure::call(what, mend)
    })?;
    let width = match &ask.tolerance {
        None => None,
        Some(text) => Some(found.width(text).ok_or_else(|| {
            Failure::call(
                format!("`{text}` is no tolerance of {measure}"),
                format!(
                    "write its whole width with a unit that goes with {}",
                    found.unit
                ),
            )
        })?),
    };
    show(|out| match ask.json {
        true => writeln!(out, "{}", printing::gauge_json(&found, &gauge, width)),
        false => printing::gauge(out, measure, &found, &gauge, width),
    })
}
