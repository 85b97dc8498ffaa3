//! What a record says: measures with their standard errors, and what is to be told of the readings.

use super::model::paired;
use super::record::{Record, Stiffness, Taken, Tap, Times, Weighing};
use super::slope::{Slope, slope};
use super::statistics::Series;
use crate::ledger::Quantity;

/// Which measure of the model a figure stands beside.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Of {
    /// Mass; `true`: with what the study's part carries.
    Mass(bool),
    /// Time of an operation, by its name in the plan; `cycle` is the whole.
    Time(String),
    /// Stiffness under a load case.
    Stiffness(String),
    /// Frequency by its place from 1; held as in a load case (empty: free); `true`: with what the study's part carries.
    Frequency(usize, String, bool),
}

/// A measured figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Of what.
    pub of: Of,
    /// Value, in `unit`.
    pub value: f64,
    /// Standard error, in `unit`; `None`: one reading only, the scatter is not known.
    pub error: Option<f64>,
    /// Sum of squares of its readings about their mean and the degrees of freedom, for pooling; 0 of a single reading.
    pub squares: (f64, usize),
    /// Readings behind it.
    pub count: usize,
    /// Unit.
    pub unit: String,
    /// What is to be told of the readings.
    pub remarks: Vec<String>,
}

impl Of {
    /// Name as the ledger's predicted figures have it, where they tell it.
    pub fn predicted(&self) -> Option<String> {
        match self {
            Of::Mass(true) => Some("mass".into()),
            Of::Mass(false) => Some("metal_mass".into()),
            Of::Time(name) if name == "cycle" => Some("cycle_time".into()),
            Of::Time(_) => None,
            Of::Stiffness(load) => Some(format!("{load}.stiffness")),
            // The study's frequency is with its first supports and what it carries.
            Of::Frequency(..) => None,
        }
    }

    /// In words.
    pub fn words(&self) -> String {
        match self {
            Of::Mass(true) => "mass, fitted".into(),
            Of::Mass(false) => "mass of the metal".into(),
            Of::Time(name) if name == "cycle" => "cycle time".into(),
            Of::Time(name) => name.clone(),
            Of::Stiffness(load) => format!("{load}.stiffness"),
            Of::Frequency(place, held, _) => match held.as_str() {
                "" => format!("frequency {place}, free"),
                held => format!("frequency {place}, held as in {held}"),
            },
        }
    }
}

/// The figures of a record.
///
/// # Errors
/// In words, why a record gives no figure: loads and movements that give no stiffness.
pub fn figures(record: &Record) -> Result<Vec<Figure>, String> {
    let step = record.readability.as_ref();
    match &record.taken {
        Taken::Weighing(weighing) => Ok(weighed(weighing, step)),
        Taken::Times(times) => Ok(timed(times)),
        Taken::Stiffness(stiffness) => loaded(stiffness).map(|figure| vec![figure]),
        Taken::Tap(tap) => Ok(tapped(tap)),
    }
}

/// Numbers in the unit of the first.
fn numbers(quantities: &[Quantity], unit: &str) -> Vec<f64> {
    let read = |each: &Quantity| each.in_unit(unit).unwrap_or(f64::NAN);
    quantities.iter().map(read).collect()
}

fn weighed(weighing: &Weighing, step: Option<&Quantity>) -> Vec<Figure> {
    let unit = weighing
        .readings
        .first()
        .map_or("g", |first| first.unit.as_str());
    let readings = numbers(&weighing.readings, unit);
    let told = step.and_then(|step| step.in_unit(unit));
    let Some(series) = Series::of(&readings, told.unwrap_or(decimals(&readings))) else {
        return Vec::new();
    };
    let zero = Series::of(&numbers(&weighing.zero, unit), 0.0).map_or(0.0, |zero| zero.mean);
    let mut remarks = Vec::new();
    if let Some(at) = series.apart {
        remarks.push(format!(
            "reading {} ({}) stands apart from the others (Grubbs' test at 5 %); it is kept: look for the cause, weigh again",
            at + 1,
            weighing.readings[at].text(6)
        ));
    }
    if zero != 0.0 {
        let told = Quantity {
            name: String::new(),
            value: zero,
            unit: unit.into(),
        };
        remarks.push(format!("the zero, {}, is taken off", told.text(4)));
    }
    if let Some((weight, told)) = &weighing.check
        && let (Some(nominal), Some(read)) =
            (weight.in_unit(unit), Series::of(&numbers(told, unit), 0.0))
    {
        let off = 100.0 * (read.mean - zero - nominal) / nominal;
        let sign = if off < 0.0 { "low" } else { "high" };
        remarks.push(format!(
            "the check weight {} reads {:.3} % {sign}; the readings are not corrected by it",
            weight.text(6),
            off.abs()
        ));
    }
    let error = error(&series, told, &mut remarks);
    let freedom = series.count - 1;
    let squares = series
        .deviation
        .map_or(0.0, |each| each * each * freedom as f64);
    vec![Figure {
        of: Of::Mass(weighing.fitted),
        value: series.mean - zero,
        error,
        squares: (squares, freedom),
        count: series.count,
        unit: unit.into(),
        remarks,
    }]
}

/// Step of figures that were written with so many decimals.
fn decimals(readings: &[f64]) -> f64 {
    let behind = |reading: &f64| {
        let text = reading.to_string();
        text.split_once('.').map_or(0, |(_, behind)| behind.len())
    };
    let most = readings.iter().map(behind).max().unwrap_or(0);
    10f64.powi(-i32::try_from(most).unwrap_or(0))
}

/// Standard error of a mean: scatter of the readings, and the step of the instrument's figures as an even distribution
/// over its width (JCGM 100:2008, 4.3.7 and F.2.2.1); `None` where neither tells it.
fn error(series: &Series, step: Option<f64>, remarks: &mut Vec<String>) -> Option<f64> {
    let rounding = step.map(|step| step / 12f64.sqrt());
    if series.count == 1 {
        remarks.push(
            "one reading only: its scatter is not known, so it has no standard error; calibrate leans on series of the \
             same instrument, or on the model's own error alone"
                .into(),
        );
        return None;
    }
    let scatter = series.error()?;
    if scatter == 0.0 && rounding.is_none() {
        remarks.push(
            "all readings are alike: the scatter is below what the instrument shows; tell its step (readability)".into(),
        );
        return None;
    }
    Some(scatter.hypot(rounding.unwrap_or(0.0)))
}

fn timed(times: &Times) -> Vec<Figure> {
    let mut remarks = Vec::new();
    match times.feed_override {
        None => remarks.push("the feed override was not noted: the times count as if it was 100 %".into()),
        Some(share) if (share - 1.0).abs() > 1e-9 => remarks.push(format!(
            "the feed override stood at {:.0} %: calibrate leaves these times out, the model knows 100 % only",
            100.0 * share
        )),
        Some(_) => {}
    }
    let figure = |(at, time): (usize, &Quantity)| Figure {
        of: Of::Time(time.name.clone()),
        value: time.value,
        error: None,
        squares: (0.0, 0),
        count: 1,
        unit: time.unit.clone(),
        remarks: if at == 0 { remarks.clone() } else { Vec::new() },
    };
    times.times.iter().enumerate().map(figure).collect()
}

fn tapped(tap: &Tap) -> Vec<Figure> {
    let unit = tap
        .frequencies
        .first()
        .map_or("Hz", |first| first.unit.as_str());
    let figure = |(at, value): (usize, f64)| Figure {
        of: Of::Frequency(at + 1, tap.held.clone(), tap.fitted),
        value,
        error: None,
        squares: (0.0, 0),
        count: 1,
        unit: unit.into(),
        remarks: Vec::new(),
    };
    let peaks = paired(&numbers(&tap.frequencies, unit));
    let mut all: Vec<Figure> = peaks.into_iter().enumerate().map(figure).collect();
    if all.len() < tap.frequencies.len() {
        let words = "peaks nearer to each other than 1 % are a pair and count once, as their mean";
        all[0].remarks.push(words.into());
    }
    all
}

fn loaded(stiffness: &Stiffness) -> Result<Figure, String> {
    let (found, unit) = read_slope(stiffness)?;
    let mut remarks = Vec::new();
    if let Some(at) = found.apart {
        let count = stiffness.up.len();
        let (reading, way) = match stiffness.up.get(at) {
            Some(reading) => (Some(reading), "up"),
            None => (stiffness.down.get(at - count), "down"),
        };
        remarks.push(format!(
            "the reading {} on the way {way} stands apart from the line (its residual at 5 %); it is kept: look for the cause",
            reading.map_or_else(String::new, |reading| reading.text(6))
        ));
    }
    if let Some(share) = found.hysteresis {
        remarks.push(format!(
            "hysteresis {:.1} % of the greatest movement",
            100.0 * share
        ));
    }
    let said = |value: f64| {
        let (name, unit) = (String::new(), unit.clone());
        Quantity { name, value, unit }.text(4)
    };
    if let (Some(up), Some(down)) = found.ways {
        let (up, down) = (said(up), said(down));
        remarks.push(format!("on the way up {up}, on the way down {down}"));
    }
    if stiffness.rig.is_some() {
        let read = said(found.read);
        remarks.push(format!("{read} as read; the give of the rig is taken out"));
    }
    if found.error.is_none() {
        remarks.push(
            "fewer than three readings: the scatter is not known, so it has no standard error"
                .into(),
        );
    }
    Ok(Figure {
        of: Of::Stiffness(stiffness.load_case.clone()),
        value: found.stiffness,
        error: found.error,
        squares: (0.0, 0),
        count: stiffness.up.len() + stiffness.down.len(),
        unit,
        remarks,
    })
}

/// Stiffness of loads and movements, in N/mm or N mm/rad.
///
/// # Errors
/// In words, why there is none.
fn read_slope(stiffness: &Stiffness) -> Result<(Slope, String), String> {
    let turned = stiffness
        .loads
        .first()
        .is_some_and(|load| load.in_unit("N mm").is_some());
    let (of_load, of_move, unit) = match turned {
        true => ("N mm", "rad", "N mm/rad"),
        false => ("N", "mm", "N/mm"),
    };
    let loads = numbers(&stiffness.loads, of_load);
    let pairs = |moved: &[Quantity]| -> Vec<(f64, f64)> {
        loads.iter().copied().zip(numbers(moved, of_move)).collect()
    };
    let rig = stiffness.rig.as_ref().and_then(|rig| rig.in_unit(unit));
    let found = slope(&pairs(&stiffness.up), &pairs(&stiffness.down), rig);
    found.map(|found| (found, unit.into())).map_err(|why| {
        format!(
            "the readings under {} give no stiffness: {why}",
            stiffness.load_case
        )
    })
}
