//! Movement and stress along the path as small numbers for the page.
//!
//! A page holds some thousand of these curves, so each is a unit and the steps between neighbours in whole units, a
//! two-thousandth of the greatest value at most; `field.js` takes them apart again.

use serde_json::{Value, json};

use super::sheets::tidy;
use crate::evaluate::{LoadRow, Sheet};

/// Units that the greatest value of a curve has.
const PARTS: f64 = 1000.0;

/// The field of a load case: stations `s`, movement `move` in mm and rotation `turn` in rad along and about the plan's
/// x, y, z, and `stress` in MPa of every strip of `strips`, greatest equivalent nominal stress at the place. `null`
/// where there is none.
///
/// A curve set is `{unit, curves}`, each curve a list of differences in units; `null` where a strip does not stand.
pub fn field_json(load: &LoadRow) -> Value {
    let field = &load.field;
    if field.places.is_empty() {
        return Value::Null;
    }
    let of = |axis: usize, turned: bool| -> Vec<Option<f64>> {
        let value = |place: &crate::evaluate::FieldPlace| {
            if turned {
                place.turned[axis]
            } else {
                place.moved_mm[axis]
            }
        };
        field
            .places
            .iter()
            .map(|place| Some(value(place)))
            .collect()
    };
    let stress = |strip: usize| -> Vec<Option<f64>> {
        let places = field.places.iter();
        places
            .map(|place| place.stress_mpa.get(strip).copied().flatten())
            .collect()
    };
    json!({
        "s": stations(field.places.iter().map(|place| place.station_mm)),
        "move": curves((0..3).map(|axis| of(axis, false)).collect()),
        "turn": curves((0..3).map(|axis| of(axis, true)).collect()),
        "strips": field.strips,
        "stress": curves((0..field.strips.len()).map(stress).collect()),
    })
}

/// The natural vibrations of a sheet: frequency `hz` of the beam, `kind` in words, and `s`, `move`, `turn` as in
/// [`field_json`], scaled so that the corner of a section that moves most moves by 1.
pub fn modes_json(sheet: &Sheet) -> Value {
    let mode = |mode: &crate::evaluate::ModeShape| {
        // Half as many places as a load case: the shapes are smooth, and the page draws curves through them.
        let last = mode.places.len().saturating_sub(1);
        let places: Vec<&(f64, [f64; 6])> = mode
            .places
            .iter()
            .enumerate()
            .filter(|(index, _)| index % 2 == 0 || *index == last)
            .map(|(_, place)| place)
            .collect();
        let of = |k: usize| places.iter().map(|place| Some(place.1[k])).collect();
        json!({
            "hz": tidy(mode.frequency_hz),
            "kind": mode.kind.words(),
            "share": tidy(mode.share),
            "s": stations(places.iter().map(|place| place.0)),
            "move": curves((0..3).map(of).collect()),
            "turn": curves((3..6).map(of).collect()),
        })
    };
    sheet.modes.iter().map(mode).collect()
}

/// Stations as steps of a hundredth of a mm.
fn stations(all: impl Iterator<Item = f64>) -> Value {
    let all: Vec<Option<f64>> = all.map(Some).collect();
    json!(steps(&all, 0.01))
}

/// Curves of one unit.
fn curves(all: Vec<Vec<Option<f64>>>) -> Value {
    let values = all.iter().flatten().flatten();
    let greatest = values
        .filter(|value| value.is_finite())
        .fold(0.0_f64, |most, value| most.max(value.abs()));
    let unit: f64 = format!("{:.2e}", greatest / PARTS).parse().unwrap_or(0.0);
    let curves: Vec<Vec<Option<i64>>> = all.iter().map(|curve| steps(curve, unit)).collect();
    json!({ "unit": unit, "curves": curves })
}

/// Differences between neighbours in whole units; what is missing or not finite stands out of the count.
fn steps(curve: &[Option<f64>], unit: f64) -> Vec<Option<i64>> {
    let mut known = 0;
    curve
        .iter()
        .map(|value| {
            let value = value.filter(|value| value.is_finite())?;
            let here = if unit > 0.0 {
                (value / unit).round() as i64
            } else {
                0
            };
            let step = here - known;
            known = here;
            Some(step)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::steps;

    #[test]
    fn steps_add_up_to_the_curve() {
        let curve = [Some(1.04), None, Some(-0.51), Some(f64::NAN), Some(-0.5)];
        let steps = steps(&curve, 0.1);
        assert_eq!(steps, [Some(10), None, Some(-15), None, Some(0)]);
    }
}
