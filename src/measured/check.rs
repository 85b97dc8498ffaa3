//! Readings checked for what they measure.

use crate::ledger::{Placed, Problem, Quantity, Reader, shown};
use crate::units::{Dimension, Unit, read_unit};

/// Frequency.
pub(super) const FREQUENCY: Dimension = Unit::HERTZ.dimension;

/// A quantity of a kind.
pub(super) fn of(
    reader: &mut Reader,
    place: &Placed,
    wanted: Dimension,
    what: &str,
) -> Option<Quantity> {
    let found = one_of(reader, std::slice::from_ref(place), &[wanted], what);
    found.into_iter().next()
}

/// A quantity of a kind, above 0.
pub(super) fn above(
    reader: &mut Reader,
    place: &Placed,
    wanted: Dimension,
    what: &str,
) -> Option<Quantity> {
    let found = of(reader, place, wanted, what)?;
    if found.value > 0.0 {
        return Some(found);
    }
    let title = format!("`{}` is not above 0", shown(&place.text));
    let problem = Problem::new(
        "measured/out-of-range",
        title,
        place.span.clone(),
        "read here",
    );
    reader.note(problem.mend("write what was read"));
    None
}

/// Quantities of one of some kinds, all of the kind of the first.
pub(super) fn one_of(
    reader: &mut Reader,
    places: &[Placed],
    wanted: &[Dimension],
    what: &str,
) -> Vec<Quantity> {
    let mut all: Vec<Quantity> = Vec::new();
    for place in places {
        let Some(read) = reader.quantity("", place) else {
            continue;
        };
        let is = dimension(Some(&read));
        let fits = is.is_some_and(|is| wanted.contains(&is))
            && (all.is_empty() || is == dimension(all.first()));
        if fits {
            all.push(read);
            continue;
        }
        let found = is.map_or_else(String::new, |is| is.to_string());
        let kinds: Vec<String> = wanted.iter().map(Dimension::to_string).collect();
        let title = format!(
            "`{}` is {found}, but {what} is {}",
            shown(&place.text),
            kinds.join(" or ")
        );
        let problem = Problem::new("measured/unit", title, place.span.clone(), "the wrong unit");
        let example = wanted.first().map_or("", |wanted| example(*wanted));
        reader.note(problem.mend(format!(
            "write the reading with its own unit, as in \"{example}\""
        )));
    }
    all
}

pub(super) const LOADS: &[Dimension] = &[Dimension::FORCE, Dimension::MOMENT];
pub(super) const LENGTHS: &[Dimension] = &[Dimension::LENGTH];
pub(super) const ANGLES: &[Dimension] = &[Dimension::ANGLE];

/// What a quantity measures.
pub(super) fn dimension(of: Option<&Quantity>) -> Option<Dimension> {
    read_unit(&of?.unit).ok().map(|unit| unit.dimension)
}

/// A reading of a kind, to be shown.
fn example(of: Dimension) -> &'static str {
    match of {
        Dimension::MASS => "31.02 g",
        Dimension::TIME => "84 s",
        Dimension::FORCE => "5 N",
        Dimension::LENGTH => "0.018 mm",
        Dimension::ANGLE => "0.2 mrad",
        Dimension::NUMBER => "100 %",
        FREQUENCY => "1410 Hz",
        _ => "52000 N/mm",
    }
}

/// `21 °C`, in °C.
pub(super) fn temperature(reader: &mut Reader, place: &Placed) -> Option<f64> {
    let text = place.text.trim();
    let scales = [
        ("°C", 1.0, 0.0),
        ("degC", 1.0, 0.0),
        ("°F", 1.8, 32.0),
        ("degF", 1.8, 32.0),
    ];
    let read = scales.iter().find_map(|(unit, size, zero)| {
        let number: f64 = text.strip_suffix(unit)?.trim().parse().ok()?;
        Some((number - zero) / size)
    });
    let celsius = read.filter(|celsius| (-60.0..=150.0).contains(celsius));
    if celsius.is_none() {
        let title = format!("`{}` is no temperature of a room", shown(text));
        let problem = Problem::new("measured/unit", title, place.span.clone(), "read here");
        reader.note(problem.mend("write it as in \"21 °C\""));
    }
    celsius.map(|celsius| (celsius * 1e3).round() / 1e3)
}
