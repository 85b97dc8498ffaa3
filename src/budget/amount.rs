//! Amounts as a budget writes them: a number and its unit, in quotes.

use super::item::Measure;
use super::read::shown;
use crate::ledger::fields::{Fields, Reader};
use crate::study::Problem;
use crate::units::{Dimension, Unit, find_unit, read_quantity};

/// A growth allowance, as a share.
pub(super) fn growth(reader: &mut Reader, fields: &Fields) -> Option<f64> {
    let share = quantity(reader, fields, "growth", Unit::NUMBER, "8 %")?;
    if (0.0..=1.0).contains(&share) {
        return Some(share);
    }
    let place = fields.place("growth");
    let problem = Problem::new(
        "budget/out-of-range",
        "`growth` is out of range",
        place,
        "outside",
    );
    reader.note(problem.mend("write a share of the mass from 0 % to 100 %"));
    None
}

/// An amount of a measure, from 0 on, in its unit here: g, the budget's money, s.
pub(super) fn amount(
    reader: &mut Reader,
    fields: &Fields,
    measure: Measure,
    currency: &str,
) -> Option<f64> {
    let (unit, example) = match measure {
        Measure::Mass => (Unit::GRAM, "12 g".into()),
        Measure::Cost => (
            Unit::new(currency, Dimension::MONEY, 1.0),
            format!("18 {currency}"),
        ),
        Measure::CycleTime => (Unit::SECOND, "25 min".into()),
    };
    let value = quantity(reader, fields, measure.name(), unit, &example)?;
    if value >= 0.0 {
        return Some(value);
    }
    let title = format!("`{}` is below 0", measure.name());
    let problem = Problem::new(
        "budget/out-of-range",
        title,
        fields.place(measure.name()),
        "below 0",
    );
    reader.note(problem.mend("write an amount from 0 on"));
    None
}

/// A quantity in a unit; `None` where it is left out or at fault.
fn quantity(
    reader: &mut Reader,
    fields: &Fields,
    key: &str,
    unit: Unit,
    example: &str,
) -> Option<f64> {
    if !fields.has(key) {
        return None;
    }
    let before = reader.problems.len();
    let text = reader.optional_text(fields, key);
    if reader.problems.len() > before {
        let last = reader.problems.last_mut()?;
        last.mend = Some(format!(
            "write it with its unit, in quotes: {key} = \"{example}\""
        ));
        return None;
    }
    let place = fields.place(key);
    let mut fault = |code, title: String, label: &str, mend: String| {
        reader.note(Problem::new(code, title, place.clone(), label).mend(mend));
        None
    };
    let like = format!("write it as in {key} = \"{example}\"");
    match read_quantity(&text) {
        Err(why) => {
            let title = format!("`{key}` is no quantity: {}", why.kind);
            fault(
                "budget/quantity",
                title,
                "read here",
                why.kind.mend().unwrap_or(like),
            )
        }
        Ok((_, found)) if found.dimension != unit.dimension => {
            let title = format!("`{key}` is {}, this is {}", unit.dimension, found.dimension);
            fault("budget/quantity", title, "measures something else", like)
        }
        Ok((_, found)) if unit.dimension == Dimension::MONEY && found.symbol != unit.symbol => {
            let title = format!(
                "the budget counts in {}, this is {}",
                unit.symbol, found.symbol
            );
            let mend = "give it in the budget's money, or change `currency`: rates of exchange are not known here";
            fault("budget/other-money", title, "other money", mend.into())
        }
        Ok((value, _)) => Some(value / unit.size),
    }
}

/// The budget's money: euros where it names none.
pub(super) fn currency(reader: &mut Reader, top: &Fields) -> String {
    let word = reader.optional_text(top, "currency");
    if word.is_empty() {
        return "EUR".into();
    }
    match find_unit(&word) {
        Some(unit) if unit.dimension == Dimension::MONEY => word,
        _ => {
            let title = format!("`{}` is no money known here", shown(&word));
            let place = top.place("currency");
            let problem = Problem::new("budget/unknown-word", title, place, "not known");
            reader.note(
                problem.mend("write a code of ISO 4217, such as EUR, USD or GBP, or `money`"),
            );
            "EUR".into()
        }
    }
}
