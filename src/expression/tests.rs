use super::Formula;
use crate::units::Dimension;
use proptest::prelude::*;

/// Names for the tests: `a` = 2 mm, `b` = 3 mm, `n` = 4, `angle` = 0.5 rad, `load.stiffness` = 7 N/mm.
fn names(name: &str) -> Option<(usize, Dimension)> {
    Some(match name {
        "a" => (0, Dimension::LENGTH),
        "b" => (1, Dimension::LENGTH),
        "n" => (2, Dimension::NUMBER),
        "angle" => (3, Dimension::ANGLE),
        "load.stiffness" => (4, Dimension([0, 1, -2, 0, 0])),
        _ => return None,
    })
}

const SLOTS: [f64; 5] = [2.0, 3.0, 4.0, 0.5, 7.0];

fn check(text: &str, wanted: f64) {
    let formula = Formula::read(text, &names).unwrap_or_else(|faults| panic!("{text}: {faults:?}"));
    let value = formula.value(&SLOTS);
    assert!(
        (value - wanted).abs() <= 1e-12 * wanted.abs(),
        "{text} gives {value}, not {wanted}"
    );
    let bounds = formula.bounds(&SLOTS.map(|slot| (slot, slot)));
    assert!(
        bounds.0 <= value && value <= bounds.1,
        "{text}: {value} outside {bounds:?}"
    );
}

fn check_fault(text: &str, marked: &str, code: &str) {
    let faults = Formula::read(text, &names).expect_err(text);
    assert_eq!(&text[faults[0].range.clone()], marked, "{text}: {faults:?}");
    assert_eq!(faults[0].kind.code(), code, "{text}");
}

/// Order of operations as in ISO 80000-2 and printed mathematics; `-2^2` and `2^3^2` as in any textbook.
#[test]
fn operators_bind_as_in_mathematics() {
    check("1 + 2 * 3", 7.0);
    check("(1 + 2) * 3", 9.0);
    check("-2^2", -4.0);
    check("2^3^2", 512.0);
    check("2^-1", 0.5);
    check("2 * -3", -6.0);
    check("8 / 4 / 2", 1.0);
    check("8 - 4 - 2", 2.0);
    check("- -n", 4.0);
    check("n^2^0.5", 4.0_f64.powf(2.0_f64.sqrt()));
}

#[test]
fn names_units_and_functions_are_read() {
    check("a + 1 in", 27.4);
    check("a/b", 2.0 / 3.0);
    check("2 mm^2 / a", 1.0);
    check("a^2 + b^2 - 13 mm^2 + 1 mm^2", 1.0);
    check("(a^2 + b^2)^0.5", 13.0_f64.sqrt());
    check("sqrt(a * a)", 2.0);
    check("min(a, b, 1 mm)", 1.0);
    check("max(a, b, 1 mm)", 3.0);
    check("abs(a - b)", 1.0);
    check("sin(30 deg) + cos(60 deg) + tan(45 deg)", 2.0);
    check("sin(angle)", 0.5_f64.sin());
    check("floor(2.7) + ceil(2.2) + round(2.5)", 8.0);
    check("round(b / 2 mm) * 2 mm", 4.0);
    check("pi * a", 2.0 * std::f64::consts::PI);
    check("load.stiffness / 1 N/mm", 7.0);
    check("12 N/mm / load.stiffness * 7", 12.0);
    check("3 mm / min(a, b)", 1.5);
    check("max(0, a - b) + 1 mm", 1.0);
    check("50 %", 0.5);
    check("1e3 mm + 1E-1mm", 1000.1);
}

#[test]
fn every_fault_is_marked() {
    check_fault("", "", "expression/syntax");
    check_fault("a +", "+", "expression/syntax");
    check_fault("a b", "b", "expression/syntax");
    check_fault("(a + b", "(", "expression/syntax");
    check_fault("a + b)", ")", "expression/syntax");
    check_fault("a * * b", "*", "expression/syntax");
    check_fault("a + wall", "wall", "expression/unknown-name");
    check_fault("2 a", "a", "expression/unknown-name");
    check_fault("sinh(n)", "sinh", "expression/unknown-function");
    check_fault("min(a)", "min(a)", "expression/arguments");
    check_fault("abs(a, b)", "abs(a, b)", "expression/arguments");
    check_fault("a + 3 mn", "mn", "units/unknown");
    check_fault("a + n", "a", "expression/dimensions");
    check_fault("min(a, 2)", "a", "expression/dimensions");
    check_fault("a^n", "n", "expression/dimensions");
    check_fault("a^0.3", "0.3", "expression/dimensions");
    check_fault("sqrt(a)", "a", "expression/dimensions");
    check_fault("sin(n)", "n", "expression/dimensions");
    check_fault("floor(a)", "a", "expression/dimensions");
    check_fault("1 / (2 - 2)", "1 / (2 - 2)", "expression/not-finite");
    check_fault("1e999", "1e999", "expression/not-finite");
    check_fault("a <= b", "<", "constraint/comparison");
    check_fault(&"(".repeat(500), &"(".repeat(436), "expression/syntax");
}

#[test]
fn several_faults_come_at_once() {
    let faults = Formula::read("wall + 2 mn + sin(n)", &names).expect_err("three faults");
    assert_eq!(faults.len(), 3, "{faults:?}");
}

#[test]
fn a_wanted_dimension_is_held() {
    let read = |text| Formula::read_as(text, Dimension::LENGTH, &names);
    assert!(read("0").is_ok_and(|zero| zero.dimension == Dimension::LENGTH));
    assert!(read("a").is_ok());
    let code = |text| read(text).expect_err(text)[0].kind.code();
    assert_eq!(code("3"), "units/missing");
    assert_eq!(code("3 N"), "units/wrong-kind");
    assert_eq!(code("a / b"), "units/wrong-kind");
    let acceleration = Formula::read_as("40 g", Dimension::ACCELERATION, &names);
    let mend = acceleration.expect_err("gram")[0].kind.mend();
    assert!(mend.is_some_and(|text| text.contains("40 gn")));
}

#[test]
fn bounds_enclose_what_they_must() {
    let bounds =
        |text: &str, slots: &[(f64, f64)]| Formula::read(text, &names).unwrap().bounds(slots);
    let slots = [(1.0, 2.0), (-1.0, 3.0)];
    assert_eq!(bounds("a - b", &slots), (-2.0, 3.0));
    assert_eq!(bounds("b^2", &slots), (0.0, 9.0));
    assert_eq!(bounds("abs(b)", &slots), (0.0, 3.0));
    assert_eq!(bounds("b / a", &slots), (-1.0, 3.0));
    assert_eq!(bounds("a / b", &slots), (f64::NEG_INFINITY, f64::INFINITY));
    assert_eq!(
        bounds("min(a, b) * n", &slots),
        (f64::NEG_INFINITY, f64::INFINITY)
    );
}

#[test]
fn uses_and_constants_are_known() {
    let formula = Formula::read("b + a * 2 + b", &names).unwrap();
    assert_eq!(formula.uses().collect::<Vec<_>>(), [1, 0, 1]);
    assert!(!formula.is_constant());
    let fixed = Formula::read("2 * 3 mm + 1 in", &names).unwrap();
    assert_eq!(fixed.constant_value(), Some(31.4));
    assert_eq!(Formula::constant(2.5, Dimension::MASS).value(&[]), 2.5);
    assert!(formula.value(&[1.0]).is_nan());
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_text_is_read_or_refused(text in "\\PC{0,60}") {
        if let Err(faults) = Formula::read(&text, &names) {
            prop_assert!(!faults.is_empty());
            for fault in faults {
                prop_assert!(text.get(fault.range.clone()).is_some(), "{:?}", fault);
                let _ = (fault.kind.to_string(), fault.kind.mend());
            }
        }
    }

    #[test]
    fn near_formulas_are_read_or_refused(
        parts in prop::collection::vec(
            prop::sample::select(vec![
                "a", "b", "n", "2", "0.5", "3 mm", "N/mm", "+", "-", "*", "/", "^", "(", ")", ",", "min(", "sqrt(",
                " ", "sin(", "angle", "^2", "e", ".", "°", "µm", "1e",
            ]),
            0..40,
        )
    ) {
        let text = parts.concat();
        match Formula::read(&text, &names) {
            Ok(formula) => {
                let value = formula.value(&SLOTS);
                let bounds = formula.bounds(&SLOTS.map(|slot| (slot, slot)));
                prop_assert!(value.is_nan() || (bounds.0 <= value && value <= bounds.1));
            }
            Err(faults) => {
                for fault in faults {
                    prop_assert!(text.get(fault.range.clone()).is_some(), "{:?}", fault);
                }
            }
        }
    }
}
