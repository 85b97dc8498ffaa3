//! Parts that were measured: statistics against published values, records that are read back or reported by line, the
//! command. All parts are invented.

mod records;

use fretwork::ledger::{Date, Letter};
use fretwork::measured::{
    CODES, Defaults, Gauge, GaugeFault, Noise, Problem, Record, Records, Series, Standing,
    Stiffness, Taken, Tap, Times, Trials, Weighing, d2_star, farthest, figures, fit, grubbs,
    grubbs_limit, pooled, range_limit, read_readings, read_records, read_table, slope, trials_of,
    weighted,
};
use nalgebra::DMatrix;
use records::{line_of, quantity};

/// Rows of numbers of a file with one head line, from column `first` on.
fn rows(text: &str, first: usize) -> Vec<Vec<f64>> {
    let row = |line: &str| {
        let cells = line.split(',').skip(first);
        cells.map(|cell| cell.parse().unwrap()).collect()
    };
    text.lines().skip(1).map(row).collect()
}

#[track_caller]
fn near(value: f64, right: f64, tolerance: f64) {
    let off = (value - right).abs();
    assert!(off <= tolerance * right.abs(), "{value} for {right}");
}

mod statistics {
    use super::*;

    /// Columns with a constant before them, and the readings, of a file of the annex.
    fn with_constant(text: &str, y_first: bool) -> (DMatrix<f64>, Vec<f64>) {
        let rows = rows(text, 0);
        let last = rows[0].len() - 1;
        let y = rows
            .iter()
            .map(|row| row[if y_first { 0 } else { last }])
            .collect();
        let a = DMatrix::from_fn(rows.len(), last + 1, |row, column| match column {
            0 => 1.0,
            _ => rows[row][column - usize::from(!y_first)],
        });
        (a, y)
    }

    /// NIST StRD Longley, certified (tests/data/regression): columns that are nearly dependent. Errors of the readings are
    /// not known there, so each counts as 1 and the errors of the coefficients are scaled by what is left.
    #[test]
    fn longley() {
        let text = include_str!("data/regression/longley.csv");
        let (a, y) = with_constant(text, false);
        let found = weighted(&a, &y, &Noise::Apart(vec![1.0; 16])).unwrap();
        let values = [
            -3482258.63459582,
            15.0618722713733,
            -0.0358191792925910,
            -2.02022980381683,
            -1.03322686717359,
            -0.0511041056535807,
            1829.15146461355,
        ];
        let errors = [
            890420.383607373,
            84.9149257747669,
            0.0334910077722432,
            0.488399681651699,
            0.214274163161675,
            0.226073200069370,
            455.478499142212,
        ];
        for k in 0..7 {
            near(found.values[k], values[k], 1e-8);
            near(found.error(k) * found.ratio(), errors[k], 1e-8);
        }
        near(found.chi2, 836424.055505915, 1e-10);
        assert_eq!(found.freedom, 9);
        // With the residual standard deviation as every reading's error the certified errors come out as they are.
        let each = (836424.055505915f64 / 9.0).sqrt();
        let stated = weighted(&a, &y, &Noise::Apart(vec![each; 16])).unwrap();
        for k in 0..7 {
            near(stated.error(k), errors[k], 1e-8);
        }
        near(stated.ratio(), 1.0, 1e-9);
    }

    /// NIST StRD Norris, certified.
    #[test]
    fn norris() {
        let (a, y) = with_constant(include_str!("data/regression/norris.csv"), false);
        let found = weighted(&a, &y, &Noise::Apart(vec![2.0; 36])).unwrap();
        for (k, (value, error)) in [
            (-0.262323073774029, 0.232818234301152),
            (1.00211681802045, 0.429796848199937e-3),
        ]
        .into_iter()
        .enumerate()
        {
            near(found.values[k], value, 1e-11);
            near(found.error(k) * found.ratio(), error, 1e-11);
        }
        near(2.0 * found.ratio(), 0.884796396144373, 1e-12);
        // 95 % interval of the slope: Student's t at 34 degrees of freedom is 2.0322 (tables, from memory).
        let ratio = found.ratio();
        assert!(
            ratio < 1.0,
            "errors stated too large make no interval smaller"
        );
        near(found.half_width(1, 0.95), 2.0322 * found.error(1), 1e-4);
    }

    /// K. Pearson's data (Phil. Mag. 2, 1901) with D. York's weights (Can. J. Phys. 44, 1966; both recalled), errors in y
    /// alone: 6.100 +/- 0.205, -0.6108 +/- 0.0300, reduced chi-square 4.29 (T. Huber's page of fits, 2001, which also
    /// gives 0.424 and 0.0623 as the errors scaled by the root of chi-square).
    #[test]
    fn a_line_with_weights() {
        let x = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4];
        let y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5];
        let weights = [1.0, 1.8, 4.0, 8.0, 20.0, 20.0, 70.0, 70.0, 100.0, 500.0f64];
        let a = DMatrix::from_fn(10, 2, |row, column| if column == 0 { 1.0 } else { x[row] });
        let errors: Vec<f64> = weights.iter().map(|weight| 1.0 / weight.sqrt()).collect();
        let found = weighted(&a, &y, &Noise::Apart(errors.clone())).unwrap();
        let shown = |value: f64, decimals: usize| format!("{value:.decimals$}");
        assert_eq!(
            [shown(found.values[0], 3), shown(found.error(0), 3)],
            ["6.100", "0.205"]
        );
        // 0.03009 here; the page has 0.0300.
        assert_eq!(shown(found.values[1], 4), "-0.6108");
        near(found.error(1), 0.0300, 4e-3);
        assert_eq!(shown(found.chi2 / 8.0, 2), "4.29");
        assert_eq!(shown(found.cautious_error(0), 3), "0.424");
        assert_eq!(shown(found.cautious_error(1), 4), "0.0623");
        // The same errors as a covariance.
        let joint = DMatrix::from_fn(10, 10, |i, j| if i == j { 1.0 / weights[i] } else { 0.0 });
        let again = weighted(&a, &y, &Noise::Joint(joint)).unwrap();
        for k in 0..2 {
            near(again.values[k], found.values[k], 1e-12);
            near(again.error(k), found.error(k), 1e-12);
        }
    }

    /// Readings that share an error: the mean of n readings of own error s and shared error c has the variance
    /// s²/n + c² (propagation of uncertainty, JCGM 100:2008, 5.2).
    #[test]
    fn what_is_shared_does_not_average_out() {
        let (own, shared, count) = (0.3, 0.4, 9);
        let covariance = DMatrix::from_fn(count, count, |i, j| {
            shared * shared + if i == j { own * own } else { 0.0 }
        });
        let y: Vec<f64> = (0..count).map(|k| 10.0 + 0.1 * k as f64).collect();
        let a = DMatrix::from_element(count, 1, 1.0);
        let found = weighted(&a, &y, &Noise::Joint(covariance)).unwrap();
        near(found.values[0], 10.4, 1e-12);
        near(
            found.error(0),
            (own * own / count as f64 + shared * shared).sqrt(),
            1e-12,
        );
    }

    /// NIST StRD Misra1a, a nonlinear fit of two values, certified (data and values recalled), from both of its starts.
    #[test]
    fn misra() {
        let x = [
            77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1,
            689.1, 760.0f64,
        ];
        let y = [
            10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40,
            75.47, 81.78,
        ];
        let model = |b: &[f64]| Some(x.iter().map(|x| b[0] * (1.0 - (-b[1] * x).exp())).collect());
        for start in [[500.0, 1e-4], [250.0, 5e-4]] {
            let found = fit(
                &model,
                &start,
                &[1e-2, 1e-8],
                &y,
                &Noise::Apart(vec![1.0; 14]),
            )
            .unwrap();
            let estimate = &found.estimate;
            near(estimate.values[0], 2.3894212918e2, 1e-7);
            near(estimate.values[1], 5.5015643181e-4, 1e-7);
            near(estimate.chi2, 1.2455138894e-1, 1e-9);
            near(estimate.error(0) * estimate.ratio(), 2.7070075241, 1e-6);
            near(estimate.error(1) * estimate.ratio(), 7.2668688436e-6, 1e-6);
            assert!(found.settled);
        }
    }

    #[test]
    fn what_can_t_be_fitted_is_said() {
        let a = DMatrix::from_fn(4, 2, |row, _| row as f64);
        let y = [1.0, 2.0, 3.0, 4.0];
        let apart = |error: f64| Noise::Apart(vec![error; 4]);
        let said = |fault: Result<_, fretwork::measured::FitError>| fault.unwrap_err().to_string();
        assert!(said(weighted(&a, &y, &apart(1.0))).contains("tell value 2"));
        assert!(said(weighted(&a, &y, &apart(0.0))).contains("errors that are not above 0"));
        assert!(said(weighted(&a, &y[..3], &apart(1.0))).contains("different lengths"));
        let wide = DMatrix::from_element(4, 5, 1.0);
        assert!(said(weighted(&wide, &y, &apart(1.0))).contains("5 values to 4 readings"));
    }

    /// NIST/SEMATECH e-Handbook, 2.4.4.1: five check standards, 60 degrees of freedom each.
    #[test]
    fn scatter_is_pooled() {
        let squares = [0.48115, 0.69209, 0.48483, 1.21752, 0.30076];
        let (deviation, freedom) = pooled(squares.map(|each| (each, 60))).unwrap();
        near(deviation, 0.102897, 1e-5);
        assert_eq!(freedom, 300);
        assert_eq!(pooled([(0.0, 0)]), None);
    }

    /// NIST/SEMATECH e-Handbook, 1.3.5.17.1 (recalled): eight mass spectrometer readings, G 2.4687, one-sided limit at 5 %
    /// 2.032. ASTM E178, table 1 (read in a public copy): 1.15, 2.03, 2.18 for 3, 8, 10 readings; 1.48 for 4.
    #[test]
    fn a_reading_that_stands_apart_is_found() {
        let readings = [
            199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57,
        ];
        let (at, statistic) = farthest(&readings).unwrap();
        assert_eq!(at, 7);
        near(statistic, 2.4687, 1e-4);
        near(grubbs_limit(8, 0.1), 2.032, 2e-4);
        for (count, limit) in [(3, 1.15), (8, 2.03), (10, 2.18)] {
            near(grubbs_limit(count, 0.1), limit, 4e-3);
        }
        near(grubbs_limit(4, 0.05), 1.48, 2e-3);
        assert_eq!(grubbs(&readings), Some(7));
        assert_eq!(grubbs(&readings[..7]), None);
        // Two readings, and three alike, have none.
        assert_eq!((grubbs(&[1.0, 9.0]), grubbs(&[3.0; 3])), (None, None));
        // One step of the balance is no outlier; a slip of the pen is, and it stays in the mean.
        assert_eq!(
            Series::of(&[31.02, 31.01, 31.02], 0.01).unwrap().apart,
            None
        );
        let slipped = Series::of(&[31.02, 31.01, 37.02, 31.02], 0.01).unwrap();
        assert_eq!(slipped.apart, Some(2));
        near(slipped.mean, 32.5175, 1e-12);
    }
}

mod gauges {
    use super::*;

    /// Constants of the manual: K1 0.8862, 0.5908 (two, three trials), K2 0.7071, 0.5231 (two, three people), K3 0.7071,
    /// 0.5231, 0.4467, 0.4030, 0.3742, 0.3534, 0.3375, 0.3249, 0.3146 (two to ten parts), as forms reprint them; d2 of 2 to
    /// 10 values (ASTM E2587 and every handbook, from memory); d2* 1.150 of two values and 15 ranges (Duncan's table).
    #[test]
    #[expect(clippy::approx_constant, reason = "the manual rounds to four digits")]
    fn constants_of_the_range() {
        let d2 = [
            1.128, 1.693, 2.059, 2.326, 2.534, 2.704, 2.847, 2.970, 3.078,
        ];
        let k3 = [
            0.7071, 0.5231, 0.4467, 0.4030, 0.3742, 0.3534, 0.3375, 0.3249, 0.3146,
        ];
        for count in 2..=10 {
            assert!(
                (d2_star(count, 1000) - d2[count - 2]).abs() < 6e-4,
                "{count}"
            );
            assert!(
                (1.0 / d2_star(count, 1) - k3[count - 2]).abs() < 1.1e-4,
                "{count}"
            );
        }
        assert!(
            (1.0 / d2_star(2, 30) - 0.8862).abs() < 1e-4
                && (1.0 / d2_star(3, 30) - 0.5908).abs() < 1e-4
        );
        assert!((d2_star(2, 15) - 1.150).abs() < 1e-3);
        // Of two values the range has the moments 2/sqrt(pi) and 2 exactly.
        near(d2_star(2, 1), 2f64.sqrt(), 1e-7);
        near(d2_star(2, 99), 2.0 / std::f64::consts::PI.sqrt(), 1e-7);
        assert!((range_limit(2) - 3.267).abs() < 1e-3 && (range_limit(3) - 2.575).abs() < 1e-3);
    }

    fn manual() -> Trials {
        let rows = rows(include_str!("data/measured/gauge.csv"), 2);
        let trials = |part: usize, person: usize| {
            (0..3).map(|trial| rows[3 * person + trial][part]).collect()
        };
        (0..10)
            .map(|part| (0..3).map(|person| trials(part, person)).collect())
            .collect()
    }

    /// The manual's worked example: mean range 0.3417, people apart 0.4447, parts apart 3.511 (read with the data);
    /// EV 0.20188, AV 0.22963, GRR 0.30575, PV 1.10456, TV 1.14610, five kinds (recalled). It works with constants rounded
    /// to four digits, hence 3e-4.
    #[test]
    fn the_manual_s_example() {
        let gauge = Gauge::of(&manual()).unwrap();
        assert_eq!(gauge.size, (10, 3, 3));
        near(gauge.range, 0.3417, 2e-4);
        near(gauge.people_apart, 0.4447, 2e-4);
        near(gauge.parts_apart, 3.511, 1e-4);
        near(gauge.repeatability, 0.20188, 3e-4);
        near(gauge.reproducibility, 0.22963, 3e-4);
        near(gauge.gauge, 0.30575, 3e-4);
        near(gauge.parts, 1.10456, 3e-4);
        near(gauge.total, 1.14610, 3e-4);
        near(gauge.of_total(), 0.2668, 1e-3);
        assert_eq!(gauge.kinds(), 5.0);
        // The sheet's limit of ranges, 0.8815, is passed once: 1.02, part 4 by the second person.
        assert_eq!(gauge.out_of_hand, [(3, 1)]);
        assert_eq!(Standing::of(gauge.of_total()), Standing::Fair);
        near(gauge.of_tolerance(6.0), gauge.gauge, 1e-12);
    }

    /// Known deviations come back from many parts: an identity of the method, not of the code.
    #[test]
    fn known_scatter_is_found() {
        use rand_pcg::Pcg64;
        use rand_pcg::rand_core::{Rng, SeedableRng};
        let mut random = Pcg64::seed_from_u64(7);
        // Box and Muller, 1958.
        let mut even = || (f64::from(random.next_u32()) + 0.5) / 4294967296.0;
        let mut normal = || (-2.0 * even().ln()).sqrt() * (std::f64::consts::TAU * even()).cos();
        let people: Vec<f64> = (0..8).map(|_| 0.5 * normal()).collect();
        let trials: Trials = (0..200)
            .map(|_| {
                let part = 2.0 * normal();
                people
                    .iter()
                    .map(|person| (0..3).map(|_| part + person + 0.3 * normal()).collect())
                    .collect()
            })
            .collect();
        let gauge = Gauge::of(&trials).unwrap();
        near(gauge.repeatability, 0.3, 0.02);
        let apart = people.iter().copied().fold(f64::MIN, f64::max)
            - people.iter().copied().fold(f64::MAX, f64::min);
        near(gauge.people_apart, apart, 0.05);
    }

    #[test]
    fn what_is_missing_is_said() {
        assert_eq!(Gauge::of(&vec![]), Err(GaugeFault::Parts(0)));
        assert_eq!(
            Gauge::of(&vec![vec![vec![1.0, 2.0]]]),
            Err(GaugeFault::Parts(1))
        );
        assert_eq!(
            Gauge::of(&vec![vec![vec![1.0]]; 3]),
            Err(GaugeFault::Trials(1))
        );
        let uneven = vec![vec![vec![1.0, 2.0]], vec![vec![1.0]]];
        assert!(matches!(
            Gauge::of(&uneven),
            Err(GaugeFault::Uneven {
                part: 1,
                person: 0,
                found: 1,
                wanted: 2
            })
        ));
        let lone = vec![vec![vec![1.0, 2.0]], vec![vec![3.0, 4.0]]];
        assert_eq!(Gauge::of(&lone).unwrap().reproducibility, 0.0);
    }
}

mod slopes {
    use super::*;

    /// The rig's give in series: 1/k = 1/k_read - 1/k_rig (springs in series, any textbook).
    #[test]
    fn the_rig_is_taken_out() {
        let (own, rig) = (300.0, 12_000.0);
        let read = |load: f64| (load, load * (1.0 / own + 1.0 / rig) + 0.002);
        let up: Vec<(f64, f64)> = [5.0, 10.0, 15.0, 20.0, 25.0].map(read).into();
        let found = slope(&up, &[], Some(rig)).unwrap();
        near(found.stiffness, own, 1e-12);
        near(found.read, 1.0 / (1.0 / own + 1.0 / rig), 1e-12);
        assert!(
            slope(&up, &[], Some(200.0)).is_err(),
            "softer than what was read with it"
        );
    }

    /// The slope's standard error is the regression's: NIST StRD Norris with movements as they are read over loads.
    #[test]
    fn the_error_is_that_of_the_slope() {
        let data = rows(include_str!("data/regression/norris.csv"), 0);
        let up: Vec<(f64, f64)> = data.iter().map(|row| (row[0], row[1])).collect();
        let found = slope(&up, &[], None).unwrap();
        let (give, error) = (1.00211681802045, 0.429796848199937e-3);
        near(found.stiffness, 1.0 / give, 1e-11);
        near(found.error.unwrap(), error / (give * give), 1e-11);
    }

    #[test]
    fn the_way_back_and_a_slip_are_told() {
        let loads = [5.0, 10.0, 15.0, 20.0, 25.0];
        let up: Vec<(f64, f64)> = loads
            .iter()
            .enumerate()
            .map(|(k, load)| (*load, load / 250.0 + 1e-4 * (k % 2) as f64))
            .collect();
        let down: Vec<(f64, f64)> = loads
            .iter()
            .map(|load| (*load, load / 250.0 + 0.002))
            .collect();
        let found = slope(&up, &down, None).unwrap();
        near(found.hysteresis.unwrap(), 0.002 / 0.102, 0.02);
        assert_eq!(found.apart, None);
        let (one, other) = found.ways;
        near(other.unwrap(), 250.0, 1e-9);
        assert!(one.unwrap() < 251.0);
        // A slip of a digit stands apart and is kept.
        let mut slipped = up.clone();
        slipped[2].1 = 0.16;
        let found = slope(&slipped, &[], None).unwrap();
        assert_eq!(found.apart, Some(2));
        assert!(found.error.unwrap() > 10.0);
        // One reading has a stiffness, but no error.
        let one = slope(&[(10.0, 0.04)], &[], None).unwrap();
        assert_eq!((one.stiffness, one.error), (250.0, None));
        assert!(
            slope(&[], &[], None).is_err() && slope(&[(1.0, 0.0), (2.0, -0.1)], &[], None).is_err()
        );
    }
}

fn record(taken: Taken) -> Record {
    Record {
        revision: Letter::read("C").unwrap(),
        part: "C-003".into(),
        date: Date::new(2026, 8, 3).unwrap(),
        by: vec!["N. Author".into()],
        instrument: "balance 2".into(),
        readability: None,
        note: "after washing".into(),
        taken,
    }
}

fn grams(readings: &[f64]) -> Vec<fretwork::ledger::Quantity> {
    readings
        .iter()
        .map(|each| quantity("", *each, "g"))
        .collect()
}

/// One record of every kind.
fn four() -> Vec<Record> {
    let many = |values: &[f64], unit: &str| {
        values
            .iter()
            .map(|each| quantity("", *each, unit))
            .collect()
    };
    let weighing = Weighing {
        readings: grams(&[31.02, 31.0, 31.01]),
        zero: grams(&[0.0, 0.01]),
        check: Some((quantity("", 50.0, "g"), grams(&[50.01]))),
        temperature: Some(21.5),
        fitted: true,
    };
    vec![
        Record {
            readability: Some(quantity("", 0.01, "g")),
            ..record(Taken::Weighing(weighing))
        },
        record(Taken::Times(Times {
            feed_override: Some(1.0),
            times: vec![
                quantity("drill, row relief", 33.0, "s"),
                quantity("cycle", 26.5, "min"),
            ],
        })),
        record(Taken::Stiffness(Stiffness {
            load_case: "tilt".into(),
            loads: many(&[5.0, 10.0, 15.0], "N"),
            up: many(&[0.017, 0.035, 0.052], "mm"),
            down: many(&[18.0, 35.0, 52.0], "um"),
            rig: Some(quantity("", 52.0, "kN/mm")),
        })),
        record(Taken::Tap(Tap {
            held: "shock".into(),
            frequencies: many(&[1410.0, 2.23e3], "Hz"),
            fitted: false,
        })),
    ]
}

fn file() -> String {
    let texts: Vec<String> = four().iter().map(Record::text).collect();
    format!("{}\n{}", Records::heading("ring"), texts.join("\n"))
}

fn problems(text: &str) -> Vec<Problem> {
    let found = read_records(text).expect_err("a problem");
    for problem in &found {
        assert!(
            CODES.iter().any(|(code, _)| *code == problem.code),
            "{problem:?}"
        );
    }
    found
}

mod files {
    use super::*;

    /// Format 1, which seals are over: this text must not change. Its SHA-256 was worked out by `sha256sum` (GNU coreutils).
    #[test]
    fn a_record_is_written_as_format_1_has_it() {
        let all = four();
        let seal = "4090287c169b536a40206f3adfc9cf91801f82337bf2c4dafc0831fe45e7be6f";
        assert_eq!(all[0].seal(), seal);
        let line = format!("seal = \"{seal}\"\n");
        assert_eq!(
            all[0].text().replace(&line, ""),
            include_str!("data/measured/record.toml")
        );
    }

    #[test]
    fn what_is_written_is_read_back() {
        let text = file();
        let read = read_records(&text).unwrap();
        assert_eq!(read.study, "ring");
        let records: Vec<Record> = read.list.iter().map(|entry| entry.record.clone()).collect();
        assert_eq!(records, four());
        for entry in &read.list {
            assert_eq!(text.lines().nth(entry.line - 1), Some("[[record]]"));
        }
        for other in [
            text.replace('\n', "\r\n"),
            text.replace("[[record]]", "# heard of\n[[record]] # so"),
            format!("\u{feff}{text}"),
        ] {
            assert_eq!(read_records(&other).unwrap().list.len(), 4);
        }
    }

    /// Every value, changed by one letter or digit, is found in its record.
    #[test]
    fn whatever_is_edited_is_found_in_its_record() {
        let text = file();
        let heads: Vec<usize> = (1..)
            .zip(text.lines())
            .filter(|(_, line)| *line == "[[record]]")
            .map(|(at, _)| at)
            .collect();
        let mut edited = 0;
        for (number, line) in (1..).zip(text.lines()) {
            let Some((key, value)) = line.split_once(" = ").filter(|_| number > heads[0]) else {
                continue;
            };
            let at = value
                .rfind(|each: char| each.is_ascii_alphanumeric())
                .unwrap();
            let new = match &value[at..=at] {
                "1" => "2",
                old if old.parse::<u8>().is_ok() => "1",
                "m" => "g",
                _ => "m",
            };
            let changed = format!("{key} = {}{new}{}", &value[..at], &value[at + 1..]);
            let other: Vec<&str> = (1..)
                .zip(text.lines())
                .map(|(at, line)| if at == number { changed.as_str() } else { line })
                .collect();
            let other = other.join("\n");
            let from = *heads.iter().rev().find(|head| **head <= number).unwrap();
            let to = heads
                .iter()
                .copied()
                .find(|head| *head > number)
                .unwrap_or(usize::MAX);
            let found = problems(&other);
            assert!(
                found
                    .iter()
                    .any(|problem| (from..to).contains(&line_of(&other, problem))),
                "{changed}: {found:?}"
            );
            edited += 1;
        }
        assert!(edited > 35, "{edited}");
    }

    #[test]
    fn damage_is_told_by_line() {
        let text = file();
        let one = |text: &str, code: &str, line: usize| {
            let found = problems(text);
            let told = found.iter().any(|problem| {
                problem.code == code && line_of(text, problem) == line && problem.mend.is_some()
            });
            assert!(told, "{code} on line {line}: {found:?}");
        };
        let at =
            |text: &str, part: &str| 1 + text[..text.find(part).unwrap()].matches('\n').count();
        // Marks of a merge: all three, and what to do.
        let merged = text
            .replacen("[[record]]", "<<<<<<< HEAD\n[[record]]", 2)
            .replacen(
                "kind = \"stiffness\"",
                "=======\nkind = \"stiffness\"\n>>>>>>> other",
                1,
            );
        let found = problems(&merged);
        assert!(
            found
                .iter()
                .all(|problem| problem.code == "measured/conflict"),
            "{found:?}"
        );
        assert_eq!(found.len(), 4);
        assert!(
            found[0]
                .mend
                .as_ref()
                .unwrap()
                .contains("keep those of both")
        );
        // Cut short in the middle of a line.
        let cut = &text[..text.find("check_readings").unwrap() + 20];
        one(cut, "measured/not-toml", at(cut, "check_readings"));
        let twice = format!("{text}\n{}", four()[1].text());
        one(
            &twice,
            "measured/repeated",
            twice.lines().count()
                - twice
                    .lines()
                    .rev()
                    .position(|line| line == "[[record]]")
                    .unwrap(),
        );
        let wrong = text.replace("31.02 g", "31.02 mm");
        one(&wrong, "measured/unit", at(&wrong, "31.02 mm"));
        let found = problems(&wrong);
        assert!(
            found[0].title.contains("a length") && found[0].title.contains("a mass"),
            "{found:?}"
        );
        let other = text.replace("held = \"shock\"", "loads = [\"5 N\"]");
        one(
            &other,
            "measured/other-kind",
            at(&other, "loads = [\"5 N\"]\n"),
        );
        let gone = text.replacen("part = \"C-003\"\n", "", 1);
        one(&gone, "measured/missing-key", at(&gone, "[[record]]"));
        let kind = text.replace("\"tap test\"", "\"tapping\"");
        one(&kind, "measured/kind", at(&kind, "\"tapping\""));
        let order = text.replace("\"2230 Hz\"", "\"1 kHz\"");
        one(&order, "measured/order", at(&order, "\"1410 Hz\""));
        let later = text.replace("format = 1", "format = 9");
        one(&later, "measured/format", at(&later, "format"));
        one("# nothing\n", "measured/empty", 1);
        one(
            &text.replace("revision = \"C\"", "revision = \"O\""),
            "measured/letter",
            at(&text, "revision ="),
        );
        one(
            &text.replace("feed_override = \"100 %\"", "feed_override = \"0 %\""),
            "measured/out-of-range",
            at(&text, "feed_override"),
        );
        one(
            &text.replace("\"33 s\"", "\"soon\""),
            "measured/quantity",
            at(&text, "\"33 s\""),
        );
        one(
            &text.replace("up = [\"0.017 mm\", ", "up = ["),
            "measured/uneven",
            at(&text, "up = ["),
        );
    }

    #[test]
    fn a_table_becomes_records() {
        let call = Defaults {
            revision: Some("C".into()),
            part: Some("C-003".into()),
            date: Date::new(2026, 8, 3),
            instrument: Some("rig 1".into()),
            ..Defaults::default()
        };
        let text = "kind,of,load,way,value\nstiffness,tilt,5 N,up,0.017 mm\nstiffness,tilt,10 N,up,0.035 mm\nstiffness,tilt,10 N,down,0.036 mm\n\
                    stiffness,tilt,5 N,down,0.018 mm\nstiffness,rig,,,52000 N/mm\n\"cycle time\",\"drill, row relief\",,,33 s\nweighing,,,,31.02 g\n\
                    weighing,check 50 g,,,50.01 g\nweighing,zero,,,0 g\nweighing,,,,31.01 g\ntap test,free,,,1410 Hz\n";
        let read = read_table(text, &call).unwrap();
        let kinds: Vec<(&str, usize)> = read
            .iter()
            .map(|entry| (entry.record.taken.kind(), entry.line))
            .collect();
        assert_eq!(
            kinds,
            [
                ("stiffness", 2),
                ("cycle time", 7),
                ("weighing", 8),
                ("tap test", 12)
            ]
        );
        let Taken::Stiffness(stiffness) = &read[0].record.taken else {
            panic!()
        };
        assert_eq!(
            stiffness
                .down
                .iter()
                .map(|each| each.value)
                .collect::<Vec<_>>(),
            [0.018, 0.036]
        );
        assert_eq!(stiffness.rig.as_ref().unwrap().value, 52000.0);
        let Taken::Weighing(weighing) = &read[2].record.taken else {
            panic!()
        };
        assert_eq!((weighing.readings.len(), weighing.zero.len()), (2, 1));
        assert_eq!(weighing.check.as_ref().unwrap().1[0].value, 50.01);
        // The same as TOML.
        let toml = "[[record]]\nkind = \"tap test\"\nfrequencies = [\"1410 Hz\"]\n";
        let again = read_readings(toml, &call).unwrap();
        assert_eq!(again[0].record, read[3].record);
        // Faults by line.
        let faults = |text: &str| -> Vec<(String, usize)> {
            let found = read_table(text, &call).expect_err("a fault");
            found
                .iter()
                .map(|problem| (problem.code.into(), line_of(text, problem)))
                .collect()
        };
        let head = "kind,of,load,way,value\n";
        let told = |code: &str, line: usize| vec![(format!("measured/{code}"), line)];
        assert_eq!(
            faults(&format!("{head}weighing,,,,31 g\nweighing,,,,31.02 N\n")),
            told("unit", 3)
        );
        assert_eq!(
            faults(&format!("{head}stiffness,tilt,5 N,down,0.1 mm\n")),
            told("uneven", 2)
        );
        assert_eq!(
            faults(&format!("{head}weighing,,,,\n"))[0],
            ("measured/missing-key".into(), 2)
        );
        assert_eq!(
            faults("kind,of,worth\nweighing,,3 g\n")[0],
            ("measured/unknown-key".into(), 1)
        );
        assert_eq!(
            faults("kind,value,date\nweighing,3 g,yesterday\n"),
            told("wrong-type", 2)
        );
        assert_eq!(faults(head), told("empty", 1));
        assert_eq!(faults(&format!("{head}tapping,,,,3 Hz\n")), told("kind", 2));
        // Nobody says which part.
        assert!(
            read_readings(toml, &Defaults::default())
                .unwrap_err()
                .iter()
                .any(|problem| problem.title.contains("`part`"))
        );
    }
}

mod what_a_record_says {
    use super::*;

    #[test]
    fn a_weighing() {
        let found = figures(&four()[0]).unwrap();
        let [mass] = &found[..] else { panic!() };
        // The zero, 0.005 g, is taken off; 0.01 g of scatter over the root of three, and a step of 0.01 g as an even
        // distribution: 0.01/sqrt(12) (JCGM 100:2008, F.2.2.1).
        near(mass.value, 31.01 - 0.005, 1e-12);
        near(
            mass.error.unwrap(),
            (0.01f64.powi(2) / 3.0 + 0.01f64.powi(2) / 12.0).sqrt(),
            1e-9,
        );
        assert!(
            mass.remarks
                .iter()
                .any(|remark| remark.contains("check weight 50 g reads 0.010 % high")),
            "{:?}",
            mass.remarks
        );
    }

    #[test]
    fn one_reading_has_no_error_and_says_so() {
        let lone = Weighing {
            readings: grams(&[31.02]),
            ..Weighing::default()
        };
        let found = figures(&record(Taken::Weighing(lone))).unwrap();
        assert_eq!((found[0].value, found[0].error), (31.02, None));
        assert!(found[0].remarks[0].contains("scatter is not known"));
    }

    #[test]
    fn an_outlier_is_flagged_and_kept() {
        let readings = grams(&[31.02, 31.01, 34.5, 31.02]);
        let found = figures(&record(Taken::Weighing(Weighing {
            readings,
            ..Weighing::default()
        })))
        .unwrap();
        near(found[0].value, (31.02 + 31.01 + 34.5 + 31.02) / 4.0, 1e-12);
        assert!(
            found[0].remarks[0].contains("reading 3 (34.5 g) stands apart"),
            "{:?}",
            found[0].remarks
        );
    }

    #[test]
    fn times_under_another_feed_are_told() {
        let times = |share| {
            Taken::Times(Times {
                feed_override: share,
                times: vec![quantity("drill", 3.0, "s")],
            })
        };
        let said = |share| figures(&record(times(share))).unwrap()[0].remarks.concat();
        assert!(said(Some(0.8)).contains("80 %") && said(None).contains("not noted"));
        assert_eq!(said(Some(1.0)), "");
    }

    #[test]
    fn trials_are_gathered_by_part_and_person() {
        let weighing = |part: &str, by: &str, readings: &[f64]| Record {
            part: part.into(),
            by: vec![by.into()],
            ..record(Taken::Weighing(Weighing {
                readings: grams(readings),
                ..Weighing::default()
            }))
        };
        let all = [
            weighing("1", "a", &[31.0, 31.1]),
            weighing("1", "b", &[31.2]),
            weighing("2", "b", &[30.2, 30.1]),
            weighing("2", "a", &[30.0, 30.1]),
            weighing("1", "b", &[31.3]),
        ];
        let all: Vec<&Record> = all.iter().collect();
        let tried = trials_of(&all, "mass").unwrap();
        assert_eq!(
            tried.trials,
            [[[31.0, 31.1], [31.2, 31.3]], [[30.0, 30.1], [30.2, 30.1]]]
        );
        assert_eq!(tried.width("0.5 g"), Some(0.5));
        assert_eq!(tried.width("0.5 mm"), None);
        assert!(trials_of(&all, "tilt.stiffness").is_err());
        let fewer = trials_of(&all[..4], "mass").unwrap();
        let fault = Gauge::of(&fewer.trials).unwrap_err();
        assert!(
            fewer.words(&fault).0.contains("part 1 has 1 trial by b"),
            "{:?}",
            fewer.words(&fault)
        );
    }
}

mod program {
    //! The built program on the demo study and its ledger.

    use super::*;
    use std::fs;
    use std::path::Path;
    use std::process::Command;

    fn check(folder: &Path, arguments: &[&str], code: i32) -> (String, String) {
        let output = Command::new(assert_cmd::cargo::cargo_bin!("fretwork"))
            .args(arguments)
            .current_dir(folder)
            .output()
            .expect("the program starts");
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
        let (out, err) = (text(output.stdout), text(output.stderr));
        assert_eq!(
            output.status.code(),
            Some(code),
            "{arguments:?}\n{out}\n{err}"
        );
        assert!(!err.contains("panicked"), "{err}");
        let json = arguments.contains(&"--json");
        let fits = |line: &str| line.chars().count() <= 80;
        assert!(json || out.lines().all(fits), "{out}");
        (out, err)
    }

    fn demo() -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        let studies = Path::new(env!("CARGO_MANIFEST_DIR")).join("studies");
        for name in ["yaw-ring.toml", "yaw-ring.ledger.toml"] {
            fs::copy(studies.join(name), folder.path().join(name)).unwrap();
        }
        folder
    }

    const WEIGH: [&str; 8] = [
        "measure",
        "yaw-ring.toml",
        "--part",
        "C-001",
        "--instrument",
        "balance 2",
        "--revision",
        "C",
    ];

    #[test]
    fn a_part_is_of_the_one_revision_that_it_was_made_to() {
        let folder = demo();
        let here = folder.path();
        let weigh = |revision: &str, code| {
            let mut call = WEIGH.to_vec();
            call[7] = revision;
            check(here, &[&call[..], &["--weigh", "31.02 g"]].concat(), code)
        };
        weigh("C", 0);
        let (_, err) = weigh("B", 2);
        assert!(
            err.contains("part C-001 is of revision B here, and of C elsewhere"),
            "{err}"
        );
        let text = fs::read_to_string(here.join("yaw-ring.measured.toml")).unwrap();
        assert_eq!(text.matches("[[record]]").count(), 1);
        let (out, _) = check(here, &["measure", "yaw-ring.toml", "--part", "C-001"], 0);
        assert!(out.contains("C-001 weighing"), "{out}");
        let (_, err) = check(here, &["measure", "yaw-ring.toml", "--part", "C-009"], 2);
        assert!(
            err.contains("nothing is on record of part C-009")
                && err.contains("on record are C-001"),
            "{err}"
        );
    }

    #[test]
    fn a_weighing_goes_on_record() {
        let folder = demo();
        let here = folder.path();
        let file = here.join("yaw-ring.measured.toml");
        let weigh = |more: &[&str], code| check(here, &[&WEIGH, more].concat(), code);
        // What is wrong leaves no file.
        let (_, err) = check(here, &["measure", "yaw-ring.toml"], 2);
        assert!(err.contains("no part of yaw-ring is on record"), "{err}");
        let (_, err) = weigh(&["--weigh", "31.02 mm"], 2);
        assert!(
            err.contains("a weighing is a mass") && err.contains("mend"),
            "{err}"
        );
        let (_, err) = weigh(&["--weigh", "31.02 g", "--revision", "K"], 2);
        assert!(err.contains("cannot be used multiple times"), "{err}");
        let (_, err) = check(
            here,
            &[
                "measure",
                "yaw-ring.toml",
                "--part",
                "1",
                "--instrument",
                "b",
                "--revision",
                "K",
                "--weigh",
                "31 g",
            ],
            2,
        );
        assert!(
            err.contains("revision K, which") && err.contains("A, B, C"),
            "{err}"
        );
        assert!(!file.exists());

        let (out, _) = weigh(
            &[
                "--weigh",
                "31.02 g",
                "--weigh",
                "31.00 g",
                "--weigh",
                "31.01 g",
                "--by",
                "N. \"Author\"",
            ],
            0,
        );
        assert!(
            out.contains("mass of the metal") && out.contains("31.12"),
            "{out}"
        );
        let first = fs::read_to_string(&file).unwrap();
        let (out, _) = weigh(&["--weigh", "31.02 g", "--json"], 0);
        let told: serde_json::Value = serde_json::from_str(&out).unwrap();
        let figure = &told["added"][0]["figures"][0];
        assert_eq!(
            (figure["value"].as_f64(), figure["error"].as_f64()),
            (Some(31.02), None)
        );
        near(figure["predicted"].as_f64().unwrap(), 31.12255, 1e-6);
        let second = fs::read_to_string(&file).unwrap();
        assert!(
            second.starts_with(&first),
            "what is there stays to the byte"
        );
        // Edited since: told by line, nothing is added.
        fs::write(&file, second.replacen("31.02 g", "31.03 g", 1)).unwrap();
        let (_, err) = weigh(&["--weigh", "31.02 g"], 2);
        assert!(
            err.contains("measured/edited") && err.contains("yaw-ring.measured.toml:6"),
            "{err}"
        );
        assert_eq!(
            fs::read_to_string(&file).unwrap(),
            second.replacen("31.02 g", "31.03 g", 1)
        );
    }

    #[test]
    fn readings_of_a_rig_stand_beside_the_prediction() {
        let folder = demo();
        let here = folder.path();
        let table = |rows: &str| {
            fs::write(
                here.join("rig.csv"),
                format!("kind,of,load,way,value\n{rows}"),
            )
            .unwrap()
        };
        let from = |code| check(here, &[&WEIGH[..], &["--from", "rig.csv"]].concat(), code);
        for (rows, fault, mend) in [
            (
                "stiffness,tild,5 N,up,0.017 mm\n",
                "no load case `tild`",
                "did you mean `tilt`",
            ),
            (
                "stiffness,shock,5 N,up,0.017 mm\n",
                "it accelerates the frame",
                "forces or moments",
            ),
            (
                "stiffness,tilt,5 N mm,up,0.017 mrad\n",
                "of another kind than its stiffness",
                "in N with movements in mm",
            ),
            (
                "stiffness,tilt,5 N,up,-0.017 mm\n",
                "does not grow with the load",
                "signs",
            ),
            (
                "cycle time,\"dril, row relief\",,,3 s\n",
                "no operation `dril, row relief`",
                "did you mean `drill, row relief`",
            ),
            ("tap test,squeeze,,,1400 Hz\n", "has no supports", "free"),
        ] {
            table(rows);
            let (_, err) = from(2);
            assert!(
                err.contains(fault) && err.contains(mend) && err.contains("rig.csv:2"),
                "{err}"
            );
        }
        assert!(!here.join("yaw-ring.measured.toml").exists());
        table(
            "stiffness,tilt,5 N,up,0.0172 mm\nstiffness,tilt,10 N,up,0.0345 mm\nstiffness,tilt,15 N,up,0.0519 mm\nstiffness,tilt,10 N,down,0.0347 mm\n\
             stiffness,tilt,5 N,down,0.0174 mm\nstiffness,tilt,15 N,down,0.0519 mm\ncycle time,\"drill, row relief\",,,33 s\ncycle time,cycle,,,26.5 min\n\
             tap test,free,,,1402 Hz\n",
        );
        let (out, _) = from(0);
        for told in [
            "tilt.stiffness",
            "289.1",
            "hysteresis",
            "drill, row relief",
            "cycle time",
            "frequency 1, free",
        ] {
            assert!(out.contains(told), "{told}: {out}");
        }
        let (_, err) = from(2);
        assert!(
            err.contains("is on record already") && err.contains("note"),
            "{err}"
        );
        let (out, _) = check(
            here,
            &[
                "measure",
                "yaw-ring.toml",
                "--repeatability",
                "tilt.stiffness",
            ],
            2,
        );
        assert_eq!(out, "");
    }

    #[test]
    fn a_gauge_is_judged_from_the_records() {
        let folder = demo();
        let here = folder.path();
        let mut rows = String::from("part,by,kind,of,value\n");
        for (part, mass) in [("C-001", 31.0), ("C-002", 31.4), ("C-003", 30.7)] {
            for (by, off) in [("one", 0.0), ("other", 0.01)] {
                for trial in 0..3 {
                    let read = mass + off + 0.01 * ((trial * 7) % 3) as f64;
                    rows += &format!("{part},{by},weighing,,{read:.2} g\n");
                }
            }
        }
        fs::write(here.join("trials.csv"), rows).unwrap();
        check(
            here,
            &[
                "measure",
                "yaw-ring.toml",
                "--revision",
                "C",
                "--instrument",
                "balance 2",
                "--from",
                "trials.csv",
            ],
            0,
        );
        let ask = ["measure", "yaw-ring.toml", "--repeatability", "mass"];
        let (out, _) = check(here, &ask, 0);
        assert!(
            out.contains("3 parts, 2 people, 3 trials each") && out.contains("good"),
            "{out}"
        );
        let (out, _) = check(
            here,
            &[&ask[..], &["--tolerance", "0.3 g", "--json"]].concat(),
            0,
        );
        let told: serde_json::Value = serde_json::from_str(&out).unwrap();
        // Every range is 0.02 g: EV = 0.02/d2*(3 values, 6 ranges); d2* 1.73 (Duncan's table, from memory).
        near(told["repeatability"].as_f64().unwrap(), 0.02 / 1.73, 3e-3);
        near(
            told["of_tolerance"].as_f64().unwrap(),
            6.0 * told["gauge"].as_f64().unwrap() / 0.3,
            1e-12,
        );
        let (_, err) = check(here, &[&ask[..], &["--tolerance", "0.3 mm"]].concat(), 2);
        assert!(err.contains("no tolerance of mass"), "{err}");
    }
}
