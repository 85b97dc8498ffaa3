//! A record as it was written down, checked key by key and unit by unit.

use std::ops::Range;

use super::check::{ANGLES, FREQUENCY, LENGTHS, LOADS, above, dimension, of, one_of, temperature};
use super::record::{Record, Stiffness, Taken, Tap, Times, Weighing};
use crate::ledger::{Date, Letter, Placed, Problem, Quantity, Reader, shown};
use crate::study::suggest;
use crate::units::{Dimension, Unit};

/// Kinds of records, as files have them.
pub(super) const KINDS: [&str; 4] = ["weighing", "cycle time", "stiffness", "tap test"];

/// A record whose texts are still to be checked.
#[derive(Clone, Debug, Default)]
pub(super) struct Draft {
    /// Where to point for the record as a whole.
    pub span: Range<usize>,
    /// Whether a fault was noted that leaves it in pieces.
    pub broken: bool,
    pub kind: Option<Placed>,
    pub revision: Option<Placed>,
    pub part: Option<Placed>,
    pub date: Option<Date>,
    pub by: Vec<String>,
    pub instrument: Option<Placed>,
    pub readability: Option<Placed>,
    pub note: String,
    pub readings: Vec<Placed>,
    pub zero: Vec<Placed>,
    pub check: Option<Placed>,
    pub check_readings: Vec<Placed>,
    pub temperature: Option<Placed>,
    pub fitted: bool,
    pub feed_override: Option<Placed>,
    pub times: Vec<(String, Placed)>,
    pub load_case: Option<Placed>,
    pub loads: Vec<Placed>,
    pub up: Vec<Placed>,
    pub down: Vec<Placed>,
    pub rig: Option<Placed>,
    pub held: Option<Placed>,
    pub frequencies: Vec<Placed>,
}

/// What a call says of readings whose file does not.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Defaults {
    /// Revision.
    pub revision: Option<String>,
    /// Part.
    pub part: Option<String>,
    /// Day.
    pub date: Option<Date>,
    /// Who measured.
    pub by: Vec<String>,
    /// Instrument.
    pub instrument: Option<String>,
    /// Step of the instrument's figures, with its unit.
    pub readability: Option<String>,
}

impl Draft {
    /// The same, what it leaves open taken from the call.
    pub fn filled(mut self, call: &Defaults) -> Draft {
        let whole = self.span.clone();
        let place = |text: &Option<String>| {
            let placed = |text: &String| Placed {
                text: text.clone(),
                span: whole.clone(),
            };
            text.as_ref().map(placed)
        };
        self.revision = self.revision.or(place(&call.revision));
        self.part = self.part.or(place(&call.part));
        self.date = self.date.or(call.date);
        if self.by.is_empty() {
            self.by = call.by.clone();
        }
        self.instrument = self.instrument.or(place(&call.instrument));
        self.readability = self.readability.or(place(&call.readability));
        self
    }

    /// The record; every fault is noted. `None` where there is one.
    pub fn finish(&self, reader: &mut Reader) -> Option<Record> {
        let before = reader.problems.len();
        let kind = self.needed(reader, &self.kind, "kind", "kind = \"weighing\"");
        let revision = self.needed(
            reader,
            &self.revision,
            "revision",
            "say which: --revision C",
        );
        let part = self.needed(
            reader,
            &self.part,
            "part",
            "give its serial number: --part C-003",
        );
        let mend = "say with what: --instrument 'balance 2'";
        let instrument = self.needed(reader, &self.instrument, "instrument", mend);
        if self.date.is_none() {
            self.missing(reader, "date", "give the day: --date 2026-11-26");
        }
        let letter = revision.and_then(|placed| match Letter::read(&placed.text) {
            Ok(letter) => Some(letter),
            Err(why) => {
                let label = "no revision letter";
                let problem = Problem::new(
                    "measured/letter",
                    why.to_string(),
                    placed.span.clone(),
                    label,
                );
                reader.note(problem.mend("write the letter as the ledger has it"));
                None
            }
        });
        let taken = kind.and_then(|kind| self.taken(reader, kind));
        let wanted = taken.as_ref().and_then(Taken::first_unit);
        let readability = self.readability.as_ref().and_then(|step| {
            let of = wanted.unwrap_or(Dimension::NUMBER);
            above(reader, step, of, "readability")
        });
        if reader.problems.len() > before {
            return None;
        }
        Some(Record {
            revision: letter?,
            part: part?.text.clone(),
            date: self.date?,
            by: self.by.clone(),
            instrument: instrument?.text.clone(),
            readability,
            note: self.note.clone(),
            taken: taken?,
        })
    }

    fn taken(&self, reader: &mut Reader, kind: &Placed) -> Option<Taken> {
        match kind.text.as_str() {
            "weighing" => self.weighing(reader).map(Taken::Weighing),
            "cycle time" => self.cycle(reader).map(Taken::Times),
            "stiffness" => self.stiffness(reader).map(Taken::Stiffness),
            "tap test" => self.tap(reader).map(Taken::Tap),
            other => {
                let title = format!("there is no kind `{}` of record", shown(other));
                let label = "not known here";
                let problem = Problem::new("measured/kind", title, kind.span.clone(), label);
                reader.note(problem.mend_if(suggest(other, &KINDS)));
                None
            }
        }
    }

    fn weighing(&self, reader: &mut Reader) -> Option<Weighing> {
        if self.readings.is_empty() {
            self.missing(
                reader,
                "readings",
                "write readings = [\"31.02 g\", \"31.01 g\"]",
            );
        }
        let mass =
            |reader: &mut Reader, place: &Placed| of(reader, place, Dimension::MASS, "a weighing");
        let readings = self.readings.iter();
        let readings: Vec<Quantity> = readings
            .filter_map(|place| above(reader, place, Dimension::MASS, "a weighing"))
            .collect();
        let zero = self
            .zero
            .iter()
            .filter_map(|place| mass(reader, place))
            .collect();
        let told: Vec<Quantity> = self
            .check_readings
            .iter()
            .filter_map(|place| mass(reader, place))
            .collect();
        let check = match &self.check {
            Some(place) => above(reader, place, Dimension::MASS, "a check weight"),
            None => None,
        };
        if self.check.is_some() == self.check_readings.is_empty() {
            let mend = "write check = \"50 g\" and check_readings = [\"50.01 g\"]";
            let name = if self.check.is_some() {
                "check_readings"
            } else {
                "check"
            };
            self.missing(reader, name, mend);
        }
        let temperature = match &self.temperature {
            Some(place) => temperature(reader, place),
            None => None,
        };
        Some(Weighing {
            readings,
            zero,
            check: check.map(|weight| (weight, told)),
            temperature,
            fitted: self.fitted,
        })
    }

    fn cycle(&self, reader: &mut Reader) -> Option<Times> {
        if self.times.is_empty() {
            self.missing(
                reader,
                "times",
                "write times under [record.times], an operation a line",
            );
        }
        let mut times: Vec<Quantity> = Vec::new();
        for (name, place) in &self.times {
            if times.iter().any(|time| time.name == *name) {
                let title = format!("the time of `{}` comes twice", shown(name));
                let problem =
                    Problem::new("measured/repeated", title, place.span.clone(), "here again");
                reader.note(problem.mend("write each cycle into a record of its own"));
            }
            let read = above(reader, place, Dimension::TIME, "a time");
            times.extend(read.map(|quantity| Quantity {
                name: name.clone(),
                ..quantity
            }));
        }
        let feed_override = match &self.feed_override {
            Some(place) => above(reader, place, Dimension::NUMBER, "a feed override")
                .and_then(|share| share.in_unit("")),
            None => None,
        };
        Some(Times {
            feed_override,
            times,
        })
    }

    fn stiffness(&self, reader: &mut Reader) -> Option<Stiffness> {
        let load_case = self.needed(
            reader,
            &self.load_case,
            "load_case",
            "name a load case of the study",
        );
        for (list, name) in [(&self.loads, "loads"), (&self.up, "up")] {
            if list.is_empty() {
                let mend =
                    "write loads = [\"5 N\", \"10 N\"] and up = [\"0.018 mm\", \"0.035 mm\"]";
                self.missing(reader, name, mend);
            }
        }
        let loads = one_of(reader, &self.loads, LOADS, "a load");
        let turned = dimension(loads.first()) == Some(Dimension::MOMENT);
        let moves = if turned { ANGLES } else { LENGTHS };
        let up = one_of(reader, &self.up, moves, "the movement under a force");
        let down = one_of(reader, &self.down, moves, "the movement under a force");
        for (list, name) in [(&self.up, "up"), (&self.down, "down")] {
            let even = list.is_empty() || self.loads.is_empty() || list.len() == self.loads.len();
            if let (false, Some(place)) = (even, list.last()) {
                let title = format!(
                    "{} loads, but {} readings {name}",
                    self.loads.len(),
                    list.len()
                );
                let label = "the last of them";
                let problem = Problem::new("measured/uneven", title, place.span.clone(), label);
                reader.note(problem.mend(format!(
                    "write a reading {name} under every load, in their order"
                )));
            }
        }
        let wanted = match turned {
            true => Unit::N_MM_PER_RAD.dimension,
            false => Unit::N_PER_MM.dimension,
        };
        let rig = match &self.rig {
            Some(place) => above(reader, place, wanted, "the rig's stiffness"),
            None => None,
        };
        Some(Stiffness {
            load_case: load_case?.text.clone(),
            loads,
            up,
            down,
            rig,
        })
    }

    fn tap(&self, reader: &mut Reader) -> Option<Tap> {
        if self.frequencies.is_empty() {
            self.missing(
                reader,
                "frequencies",
                "write frequencies = [\"1410 Hz\", \"2230 Hz\"]",
            );
        }
        let mut frequencies: Vec<Quantity> = Vec::new();
        for place in &self.frequencies {
            let Some(read) = above(reader, place, FREQUENCY, "a frequency") else {
                continue;
            };
            let last = frequencies.last().and_then(|last| last.in_unit(&read.unit));
            if last.is_some_and(|last| last > read.value) {
                let title = format!("`{}` is lower than the one before", shown(&place.text));
                let label = "out of order";
                let problem = Problem::new("measured/order", title, place.span.clone(), label);
                reader.note(problem.mend("write the frequencies in order, lowest first"));
            }
            frequencies.push(read);
        }
        Some(Tap {
            held: self
                .held
                .as_ref()
                .map_or_else(String::new, |held| match held.text.as_str() {
                    "free" => String::new(),
                    load => load.into(),
                }),
            frequencies,
            fitted: self.fitted,
        })
    }

    fn needed<'a>(
        &self,
        reader: &mut Reader,
        field: &'a Option<Placed>,
        name: &str,
        mend: &str,
    ) -> Option<&'a Placed> {
        if field.is_none() {
            self.missing(reader, name, mend);
        }
        field.as_ref()
    }

    fn missing(&self, reader: &mut Reader, name: &str, mend: &str) {
        let title = format!("a record has no `{name}`");
        let label = format!("no `{name}` here");
        reader
            .note(Problem::new("measured/missing-key", title, self.span.clone(), label).mend(mend));
    }
}
