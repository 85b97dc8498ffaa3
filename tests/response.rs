//! The law: predictions against general-purpose libraries, refits and functions known everywhere.

use fretwork::explore::Axis;
use fretwork::explore::response::{
    Designs, FitError, Kernel, Law, Misfit, Model, Settings, Variable, spread,
};

fn number(low: f64, high: f64) -> Variable {
    Variable::Number {
        low,
        high,
        log: false,
    }
}

fn axis(low: f64, high: f64) -> Axis {
    Axis::Continuous {
        low,
        high,
        step: None,
        log: false,
    }
}

fn designs(axes: &[Axis], count: usize, seed: u64) -> Vec<f64> {
    spread(axes, count, seed, &mut |_| true).unwrap()
}

fn only(model: Model) -> Settings {
    Settings {
        models: vec![model],
        ..Settings::default()
    }
}

/// Flow through a borehole in m³ a year, in eight variables, as its logarithm.
///
/// Source: Morris, Mitchell and Ylvisaker, Technometrics 35, 1993 (from memory).
fn borehole(x: &[f64]) -> f64 {
    let &[rw, r, tu, hu, tl, hl, l, kw] = x else {
        panic!("eight variables")
    };
    let ratio = (r / rw).ln();
    let leak = 2.0 * l * tu / (ratio * rw * rw * kw) + tu / tl;
    (2.0 * std::f64::consts::PI * tu * (hu - hl) / (ratio * (1.0 + leak))).ln()
}

const BOREHOLE: [(f64, f64); 8] = [
    (0.05, 0.15),
    (100.0, 50_000.0),
    (63_070.0, 115_600.0),
    (990.0, 1110.0),
    (63.1, 116.0),
    (700.0, 820.0),
    (1120.0, 1680.0),
    (9855.0, 12_045.0),
];

/// A function of three numbers and a kind.
fn mixed(x: &[f64]) -> f64 {
    let offset = [0.0, 0.7, -0.4][x[3] as usize];
    (1.0 + x[0] + 0.4 * x[1] * x[2]).ln() + 0.2 * (2.0 * x[1]).sin() + offset
}

fn mixed_axes() -> Vec<Axis> {
    vec![
        axis(0.5, 2.0),
        axis(0.0, 2.0),
        Axis::Integer { low: 1, high: 6 },
        Axis::Choice { count: 3 },
    ]
}

fn variables(axes: &[Axis]) -> Vec<Variable> {
    axes.iter().map(|axis| Variable::of(axis, None)).collect()
}

fn fit(axes: &[Axis], f: fn(&[f64]) -> f64, count: usize, settings: &Settings) -> Law {
    let points = designs(axes, count, 3);
    let values: Vec<f64> = points.chunks(axes.len()).map(f).collect();
    let designs = Designs {
        points: &points,
        values: &values,
        weights: &[],
    };
    Law::fit(&variables(axes), designs, settings).unwrap()
}

fn check(law: &Law, axes: &[Axis], f: fn(&[f64]) -> f64, seed: u64) -> Misfit {
    let points = designs(axes, 500, seed);
    let values: Vec<f64> = points.chunks(axes.len()).map(f).collect();
    law.misfit_on(Designs {
        points: &points,
        values: &values,
        weights: &[],
    })
    .unwrap()[0]
}

#[test]
fn a_quadratic_is_found_again() {
    let axes = [axis(-3.0, 5.0), axis(0.0, 1.0), axis(10.0, 30.0)];
    let f = |x: &[f64]| 2.0 - x[0] + 3.0 * x[0] * x[1] + 0.1 * x[2] * x[2] - x[1] * x[1];
    for settings in [Settings::default(), only(Model::Quadratic)] {
        let law = fit(&axes, f, 30, &settings);
        assert_eq!(law.models(), [Model::Quadratic]);
        let misfit = check(&law, &axes, f, 11);
        assert!(misfit.worst < 1e-10, "{misfit:?}");
    }
}

/// Where designs are fewer than the ten terms of a quadratic, those that matter are found.
#[test]
fn few_designs_carry_the_terms_that_matter() {
    let axes: Vec<Axis> = (0..8).map(|_| axis(-1.0, 1.0)).collect();
    let f = |x: &[f64]| 1.0 + x[2] + 2.0 * x[1] * x[6] - 3.0 * x[4] * x[4];
    let law = fit(&axes, f, 30, &only(Model::Quadratic));
    let misfit = check(&law, &axes, f, 5);
    assert!(misfit.worst < 1e-9, "{misfit:?}");
}

#[test]
fn fitted_designs_are_met_again() {
    let axes = [axis(0.0, 3.0), axis(0.0, 2.0)];
    let f = |x: &[f64]| (2.0 * x[0]).sin() * (x[1] - 0.3).cos();
    for kernel in [Kernel::SquaredExponential, Kernel::Matern] {
        let model = Model::Process {
            kernel,
            quadratic: false,
        };
        let law = fit(&axes, f, 60, &only(model));
        let points = designs(&axes, 60, 3);
        let mut value = [0.0];
        for x in points.chunks(2) {
            law.predict(x, &mut value);
            // The noise that keeps the matrix regular leaves a little.
            let error = value[0] - f(x);
            assert!(error.abs() < 1e-3, "{kernel:?} at {x:?}: {error}");
        }
    }
}

/// Errors on designs that no fit has seen, and what the law had said of them.
#[test]
fn fresh_designs_are_predicted_and_the_misfit_says_how_well() {
    let borehole_axes: Vec<Axis> = BOREHOLE.iter().map(|&(a, b)| axis(a, b)).collect();
    let mixed_axes = mixed_axes();
    type Case<'a> = (&'a [Axis], fn(&[f64]) -> f64, usize, f64);
    let cases: [Case; 3] = [
        (&borehole_axes, borehole, 60, 0.02),
        (&borehole_axes, borehole, 120, 0.005),
        (&mixed_axes, mixed, 80, 0.01),
    ];
    for (axes, f, count, most) in cases {
        let law = fit(axes, f, count, &Settings::default());
        let fresh = check(&law, axes, f, 77);
        let said = law.misfit()[0];
        assert!(fresh.rms < most, "{fresh:?}");
        // Fits to fewer designs, bounds predicted from the inside: the law may say too much, never far too little.
        assert!(
            said.rms > 0.6 * fresh.rms && said.rms < 6.0 * fresh.rms,
            "{said:?} {fresh:?}"
        );
        assert!(law.leave_one_out()[0].rms > 0.0);
    }
}

#[test]
fn every_model_does_its_share() {
    let axes: Vec<Axis> = BOREHOLE.iter().map(|&(a, b)| axis(a, b)).collect();
    for model in Model::ALL {
        let law = fit(&axes, borehole, 100, &only(model));
        let fresh = check(&law, &axes, borehole, 78);
        // The spread of the outputs themselves is 0.9.
        assert!(fresh.rms < 0.03, "{model:?}: {fresh:?}");
    }
}

#[test]
fn more_designs_make_it_better() {
    let axes: Vec<Axis> = BOREHOLE.iter().map(|&(a, b)| axis(a, b)).collect();
    let law = fit(&axes, borehole, 40, &Settings::default());
    let points = designs(&axes, 60, 9);
    let values: Vec<f64> = points.chunks(8).map(borehole).collect();
    let weights = vec![4.0; 60];
    let more = Designs {
        points: &points,
        values: &values,
        weights: &weights,
    };
    let better = law.refit(more).unwrap();
    assert_eq!((law.designs(), better.designs()), (40, 100));
    let before = check(&law, &axes, borehole, 50);
    let after = check(&better, &axes, borehole, 50);
    assert!(after.rms < 0.7 * before.rms, "{before:?} {after:?}");
}

/// Weights draw the surface to the designs that carry them.
#[test]
fn weights_count() {
    let points = [0.0, 0.2, 0.4, 0.6, 0.8, 1.0, 0.5, 0.5];
    let values = [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 1.0];
    let at_half = |weights: &[f64]| {
        let designs = Designs {
            points: &points,
            values: &values,
            weights,
        };
        let law = Law::fit(&[number(0.0, 1.0)], designs, &only(Model::Quadratic)).unwrap();
        let mut value = [0.0];
        law.predict(&[0.5], &mut value);
        value[0]
    };
    let heavy = at_half(&[1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 100.0, 100.0]);
    assert!(heavy > 0.9 && at_half(&[]) < 0.6, "{heavy}");
    // Only their ratios count.
    assert!((at_half(&[1e-9; 8]) - at_half(&[])).abs() < 1e-9);
}

#[test]
fn outputs_don_t_disturb_each_other() {
    let axes = mixed_axes();
    let points = designs(&axes, 50, 2);
    let one: Vec<f64> = points.chunks(4).map(mixed).collect();
    let two: Vec<f64> = points
        .chunks(4)
        .enumerate()
        .flat_map(|(k, x)| [mixed(x), if k % 5 == 0 { f64::NAN } else { x[0] * x[1] }])
        .collect();
    let law = |values: &[f64]| {
        let designs = Designs {
            points: &points,
            values,
            weights: &[],
        };
        Law::fit(&variables(&axes), designs, &Settings::default()).unwrap()
    };
    let (one, two) = (law(&one), law(&two));
    let (mut a, mut b) = ([0.0], [0.0; 2]);
    for x in designs(&axes, 20, 8).chunks(4) {
        one.predict(x, &mut a);
        two.predict(x, &mut b);
        assert_eq!(a[0].to_bits(), b[0].to_bits());
        assert!((b[1] - x[0] * x[1]).abs() < 1e-9);
    }
    assert_eq!(two.misfit()[1].designs, 40);
}

#[test]
fn the_same_bytes_on_any_number_of_threads() {
    let axes = mixed_axes();
    let bytes = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| {
            let law = fit(&axes, mixed, 40, &Settings::default());
            let mut value = [0.0];
            let mut all = Vec::new();
            for x in designs(&axes, 30, 4).chunks(4) {
                law.predict(x, &mut value);
                all.push(value[0].to_bits());
            }
            all.push(law.misfit()[0].rms.to_bits());
            all
        })
    };
    let one = bytes(1);
    assert_eq!(one, bytes(2));
    assert_eq!(one, bytes(7));
}

#[test]
fn bad_designs_are_named() {
    let variables = [number(0.0, 1.0), Variable::Kind { count: 2 }];
    let points = [0.0, 0.0, 0.5, 1.0, 1.0, 0.0, 0.2, 1.0];
    let values = [1.0, 2.0, 3.0, 4.0];
    let fit = |points: &[f64], values: &[f64], weights: &[f64]| {
        let designs = Designs {
            points,
            values,
            weights,
        };
        Law::fit(&variables, designs, &Settings::default()).map(|law| law.designs())
    };
    assert_eq!(fit(&points, &values, &[]), Ok(4));
    let mut wrong = points;
    wrong[3] = 2.0;
    assert_eq!(
        fit(&wrong, &values, &[]),
        Err(FitError::BadPoint {
            design: 1,
            variable: 1
        })
    );
    wrong[3] = 1.0;
    wrong[4] = f64::NAN;
    assert_eq!(
        fit(&wrong, &values, &[]),
        Err(FitError::BadPoint {
            design: 2,
            variable: 0
        })
    );
    assert_eq!(
        fit(&points, &[1.0, f64::INFINITY, 2.0, 3.0], &[]),
        Err(FitError::BadValue {
            design: 1,
            output: 0
        })
    );
    assert_eq!(
        fit(&points, &[1.0, f64::NAN, 2.0, 3.0], &[]),
        Err(FitError::TooFew {
            output: 0,
            designs: 3,
            least: 4
        })
    );
    assert_eq!(
        fit(&points, &values, &[1.0, 1.0, 0.0, 1.0]),
        Err(FitError::BadWeight { design: 2 })
    );
    for (points, values, weights) in [
        (&points[..], &values[..3], &[][..]),
        (&points[..7], &values[..], &[][..]),
        (&points[..], &values[..], &[1.0][..]),
        (&[][..], &[][..], &[][..]),
    ] {
        assert!(matches!(
            fit(points, values, weights),
            Err(FitError::Shape { .. })
        ));
    }
    let law = Law::fit(
        &variables,
        Designs {
            points: &points,
            values: &values,
            weights: &[],
        },
        &Settings::default(),
    )
    .unwrap();
    let mut value = [0.0];
    law.predict(&[0.5, 7.0], &mut value);
    assert!(value[0].is_nan());
}
