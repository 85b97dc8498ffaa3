//! Units against published conversions.

use fretwork::units::{
    Dimension, UNITS, Unit, UnitFaultKind, print_number, read_quantity, read_unit,
};
use proptest::prelude::*;

fn check(text: &str, wanted: f64, tolerance: f64) {
    let (value, _) = read_quantity(text).unwrap_or_else(|fault| panic!("{text}: {fault:?}"));
    assert!(
        (value - wanted).abs() <= tolerance * wanted.abs(),
        "{text} gives {value}, not {wanted}"
    );
}

/// NIST Special Publication 811 (2008), appendix B.8, from memory. Exact entries to rounding, the others to the
/// digits printed there (half a unit of the seventh digit). Base units here: mm, t, s, rad, so N and MPa.
#[test]
fn sizes_agree_with_nist_sp_811() {
    check("1 in", 25.4, 0.0);
    check("1 thou", 2.54e-2, 1e-15);
    check("1 ft", 304.8, 0.0);
    check("1 lb", 0.453_592_37e-3, 1e-15);
    check("1 oz", 2.834_952e-5, 2e-7);
    check("1 gn", 9_806.65, 0.0);
    check("1 lbf", 4.448_221_615_260_5, 1e-14);
    check("1 ozf", 2.780_139e-1, 2e-7);
    check("1 psi", 6.894_757e-3, 1e-7);
    check("1 ksi", 6.894_757, 1e-7);
    check("1 lbf/in", 1.751_268e-1, 1e-6);
    check("1 lbf in", 1.129_848e2, 1e-6);
    check("1 lb/in^3", 2.767_990e4 * 1e-12, 1e-6);
    check("1 deg", 1.745_329e-2, 1e-6);
    check("1 min", 60.0, 0.0);
    check("1 h", 3_600.0, 0.0);
}

#[test]
fn trade_quantities_are_read() {
    check("3.2mm", 3.2, 0.0);
    check(" 0.125 in ", 3.175, 0.0);
    check("68.9 GPa", 68_900.0, 1e-15);
    check("5 g", 5e-6, 1e-15);
    check("40 gn", 392_266.0, 1e-15);
    check("2700 kg/m^3", 2.7e-9, 1e-12);
    check("12000 rev/min", 200.0, 1e-15);
    check("120 m/min", 2_000.0, 1e-15);
    check("3000 mm/min", 50.0, 1e-15);
    check("5 N mm/rad", 5.0, 0.0);
    check("5 N*mm", 5.0, 0.0);
    check("5 N/(mm rad)", 5.0, 0.0);
    check("-2 %", -0.02, 1e-15);
    check("0.05 EUR/s", 0.05, 0.0);
    check("1.5 kW", 1.5e6, 1e-15);
    check("45°", std::f64::consts::FRAC_PI_4, 1e-15);
    check("7", 7.0, 0.0);
}

/// A newton is a kilogram metre per second squared, a pascal a newton per square metre, a watt a joule per
/// second, a hertz one per second (SI brochure, table 4): both sides must come out the same.
#[test]
fn derived_units_agree_with_their_definition() {
    let same = |left: &str, right: &str| {
        let (a, b) = (read_unit(left).unwrap(), read_unit(right).unwrap());
        assert_eq!(a.dimension, b.dimension, "{left}, {right}");
        assert!((a.size / b.size - 1.0).abs() < 1e-14, "{left}, {right}");
    };
    same("N", "kg m/s^2");
    same("Pa", "N/m^2");
    same("MPa", "N/mm^2");
    same("J", "N m");
    same("W", "J/s");
    same("Hz", "s^-1");
    same("lbf", "lb gn");
    same("psi", "lbf/in^2");
}

#[test]
fn faults_are_marked_and_mended() {
    let fault = |text: &str| {
        let fault = read_quantity(text).expect_err(text);
        (
            text[fault.range.clone()].to_string(),
            fault.kind.clone(),
            fault.kind.mend(),
        )
    };
    let (marked, kind, mend) = fault("3.2 MM");
    assert_eq!(
        (marked.as_str(), kind),
        ("MM", UnitFaultKind::Unknown("MM".into()))
    );
    assert_eq!(mend.as_deref(), Some("did you mean `mm`?"));
    assert_eq!(fault("3 inches").2.as_deref(), Some("did you mean `in`?"));
    assert_eq!(fault("3 rpm").2.as_deref(), Some("did you mean `rev/min`?"));
    assert_eq!(fault("5 N/mm rad").1, UnitFaultKind::Ambiguous);
    assert_eq!(fault("5 mm^x").1, UnitFaultKind::Exponent);
    assert_eq!(fault("5 mm^99").1, UnitFaultKind::Exponent);
    assert_eq!(fault("nan mm").1, UnitFaultKind::NoNumber);
    assert_eq!(fault("inf").1, UnitFaultKind::NotFinite);
    assert_eq!(fault("1e400 mm").1, UnitFaultKind::NotFinite);
    assert_eq!(fault("mm").1, UnitFaultKind::NoNumber);
    assert_eq!(fault("").1, UnitFaultKind::NoNumber);
    assert_eq!(fault("5 mm)").1, UnitFaultKind::Unreadable);
}

#[test]
fn values_print_with_sensible_digits() {
    assert_eq!(Unit::MM.print(3.2), "3.2 mm");
    assert_eq!(Unit::MM.print(1.0 + 2.0 * 0.1), "1.2 mm");
    assert_eq!(Unit::GRAM.print(5e-6), "5 g");
    assert_eq!(Unit::NUMBER.print(7.0), "7");
    assert_eq!(read_unit("%").unwrap().print(0.125), "12.5%");
    assert_eq!(read_unit("gn").unwrap().print(392_266.0), "40 gn");
    for (value, text) in [
        (0.0, "0"),
        (-0.0, "0"),
        (1234.56, "1235"),
        (98.765, "98.77"),
        (0.012_345, "0.01235"),
        (123_456.7, "123457"),
        (1.0e12, "1e12"),
        (-3.0e-7, "-3e-7"),
        (f64::INFINITY, "inf"),
        (f64::NAN, "nan"),
    ] {
        assert_eq!(print_number(value), text);
    }
}

#[test]
fn every_named_unit_reads_back_what_it_prints() {
    for (unit, name) in UNITS {
        let text = unit.print(unit.size * 2.5);
        let (value, read) =
            read_quantity(&text).unwrap_or_else(|fault| panic!("{name}, {text}: {fault:?}"));
        assert_eq!(read.dimension, unit.dimension, "{name}");
        assert!((value / unit.size - 2.5).abs() < 1e-12, "{name}");
    }
    let odd = Dimension([3, -2, 1, 0, 1]);
    assert_eq!(read_unit(&Unit::base(odd).symbol).unwrap().dimension, odd);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_text_is_read_or_refused(text in "\\PC{0,40}") {
        match read_quantity(&text) {
            Ok((value, _)) => prop_assert!(value.is_finite()),
            Err(fault) => prop_assert!(text.get(fault.range).is_some()),
        }
    }

    #[test]
    fn near_units_are_read_or_refused(parts in prop::collection::vec(
        prop::sample::select(vec!["3", " ", "mm", "N", "/", "*", "^", "-", "2", "(", ")", "°", "µm", "e", "1/"]), 0..20,
    )) {
        let text = parts.concat();
        if let Err(fault) = read_quantity(&text) {
            prop_assert!(text.get(fault.range).is_some());
        }
    }
}
