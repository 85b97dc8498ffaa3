//! Records put together as trials of one gauge.

use super::figure::{Figure, Of, figures};
use super::gauge::{GaugeFault, Trials};
use super::record::{Record, Taken};
use crate::ledger::Quantity;

/// Trials of one gauge, with whose they are.
#[derive(Clone, Debug, PartialEq)]
pub struct Tried {
    /// Parts, as they come.
    pub parts: Vec<String>,
    /// People, as they come.
    pub people: Vec<String>,
    /// The trials, (parts, people, trials), in `unit`.
    pub trials: Trials,
    /// Unit.
    pub unit: String,
    /// Instruments.
    pub instruments: Vec<String>,
    /// Letters of the parts' revisions.
    pub revisions: Vec<String>,
}

/// Trials of a measure among records: `mass` (every reading is one), `frequency` (the first of every tap test) or
/// `LOAD.stiffness` (every record is one). Records without a person are of one nobody.
///
/// # Errors
/// What is missing, with the mend.
pub fn trials_of(records: &[&Record], measure: &str) -> Result<Tried, (String, String)> {
    let mut tried = Tried {
        parts: Vec::new(),
        people: Vec::new(),
        trials: Vec::new(),
        unit: String::new(),
        instruments: Vec::new(),
        revisions: Vec::new(),
    };
    for record in records {
        for (value, unit) in readings(record, measure) {
            if tried.unit.is_empty() {
                tried.unit = unit.clone();
            }
            let read = Quantity {
                name: String::new(),
                value,
                unit,
            };
            let Some(value) = read.in_unit(&tried.unit) else {
                continue;
            };
            let part = place(&mut tried.parts, &record.part);
            let person = place(&mut tried.people, &record.by.join(", "));
            place(&mut tried.instruments, &record.instrument);
            place(&mut tried.revisions, record.revision.as_str());
            if tried.trials.len() <= part {
                tried.trials.resize(part + 1, Vec::new());
            }
            let of_part = &mut tried.trials[part];
            if of_part.len() <= person {
                of_part.resize(person + 1, Vec::new());
            }
            of_part[person].push(value);
        }
    }
    match tried.parts.is_empty() {
        false => Ok(tried),
        true => Err((
            format!("no record tells `{measure}`"),
            "name mass, frequency or LOAD.stiffness, of which there are records".into(),
        )),
    }
}

fn place(all: &mut Vec<String>, name: &str) -> usize {
    all.iter().position(|each| each == name).unwrap_or_else(|| {
        all.push(name.into());
        all.len() - 1
    })
}

/// Readings of a measure in a record, with their unit.
fn readings(record: &Record, measure: &str) -> Vec<(f64, String)> {
    let first = |wanted: &dyn Fn(&Of) -> bool| -> Vec<(f64, String)> {
        let found = figures(record)
            .unwrap_or_default()
            .into_iter()
            .find(|figure: &Figure| wanted(&figure.of));
        found
            .map(|figure| (figure.value, figure.unit))
            .into_iter()
            .collect()
    };
    match &record.taken {
        Taken::Weighing(weighing) if measure == "mass" => {
            let each = |reading: &Quantity| (reading.value, reading.unit.clone());
            weighing.readings.iter().map(each).collect()
        }
        Taken::Tap(_) if measure == "frequency" => first(&|of| matches!(of, Of::Frequency(1, ..))),
        Taken::Stiffness(_) => {
            first(&|of| matches!(of, Of::Stiffness(load) if format!("{load}.stiffness") == measure))
        }
        _ => Vec::new(),
    }
}

impl Tried {
    /// The whole width of a tolerance in the unit of the trials.
    pub fn width(&self, text: &str) -> Option<f64> {
        let read = Quantity::read("", text).ok()?;
        read.in_unit(&self.unit).filter(|width| *width > 0.0)
    }

    /// Why trials can't be judged, with the mend.
    pub fn words(&self, fault: &GaugeFault) -> (String, String) {
        let name = |person: usize| match self.people.get(person).map(String::as_str) {
            None | Some("") => "nobody".to_string(),
            Some(name) => name.to_string(),
        };
        match fault {
            GaugeFault::Parts(count) => (
                format!("{count} part on record: what scatters from part to part can't be told from the gauge"),
                "measure two parts or more; three parts, two people, three trials are usual".into(),
            ),
            GaugeFault::Trials(count) => (
                format!("{count} trial of each part by each person: the gauge has no scatter yet"),
                "measure every part twice or more, not knowing which it is".into(),
            ),
            GaugeFault::Uneven { part, person, found, wanted } => (
                format!(
                    "part {} has {found} {} by {}, the first part {wanted} by {}",
                    self.parts.get(*part).map_or("", String::as_str),
                    if *found == 1 { "trial" } else { "trials" },
                    name(*person),
                    name(0)
                ),
                "average and range need as many trials of every part by every person: measure what is missing".into(),
            ),
            GaugeFault::NotFinite => ("a trial is no finite number".into(), String::new()),
        }
    }
}
