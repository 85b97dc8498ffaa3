//! Parts as they come out: distributions, correlation, propagation against closed forms and published examples.

mod studies_support;

use fretwork::analyse::{Regressor, moments, quantile};
use fretwork::evaluate::scatter::{Sources, balanced, score_of};
use fretwork::run::{
    Finished, Known, Learnt, Next, Overrides, Prepared, Scatter, Source, SureRow, prepare, scatter,
    scores,
};
use nalgebra::DMatrix;
use studies_support::of_text;

const SAMPLES: usize = 1024;

/// A plain undrilled ring with a wall, whose mass is linear in the floor: rho 2 pi R (w t + ...).
const RING: &str = r#"
format = 1
title = "Plain ring"
material = "al6061_t6511"
machine = "small_vmc"
seed = 1

[part.path]
shape = "circle"
radius = "40 mm"

[part.section]
width = "12 mm"
floor = "floor"

[variables.floor]
from = "1 mm"
to = "3 mm"
step = "0.1 mm"

[baseline]
floor = "2 mm"

[load.squeeze]
forces = [
  { at = "90 deg", axes = "path", force = ["0 N", "10 N", "0 N"] },
  { at = "270 deg", axes = "path", force = ["0 N", "10 N", "0 N"] },
]
"#;

const LEAST_MASS: &str = "\n[[objective]]\nleast = \"mass\"\n";
const BEAM: &str = "\n[explore]\ntruth = \"beam\"\nproofs = 0\nevaluations = 120\n";
const NO_PROCESS: &str = "\n[robust]\nprocess = \"none\"\n";

fn ring(more: &str) -> Prepared {
    of_text(
        "ring",
        format!("{RING}{LEAST_MASS}{BEAM}{more}"),
        Overrides::default(),
    )
}

fn found(prepared: &Prepared) -> Scatter {
    let evaluator = &prepared.evaluator;
    scatter(evaluator, &evaluator.baseline(), SAMPLES, 1, true).expect("something scatters")
}

#[track_caller]
fn near(value: f64, expected: f64, relative: f64) {
    let off = (value - expected).abs();
    assert!(
        off <= relative * expected.abs(),
        "{value} against {expected}"
    );
}

/// Density of the catalogue's 6061, in g/mm³, and metal of the ring, in mm³ (Pappus).
fn ring_mass_g(prepared: &Prepared, floor: f64) -> f64 {
    let density = prepared.conditions.as_ref().unwrap().material.density_kg_m3 * 1e-6;
    density * 2.0 * std::f64::consts::PI * 40.0 * 12.0 * floor
}

#[test]
fn a_linear_figure_of_a_normal_is_normal() {
    let ring = ring(&format!(
        "{NO_PROCESS}\n[[scatter]]\nof = \"material.density\"\nsd = \"2 %\"\n"
    ));
    let scatter = found(&ring);
    let row = scatter
        .figures
        .iter()
        .find(|row| row.name == "mass")
        .unwrap();
    let mass = ring_mass_g(&ring, 2.0);
    near(row.nominal, mass, 1e-9);
    near(row.linear_sd, 0.02 * mass, 1e-9);
    near(row.mean, mass, 1e-4);
    near(row.sd, 0.02 * mass, 0.01);
    // 1.644854: tables of the normal distribution (from memory).
    near(row.quantiles[0], mass * (1.0 - 0.02 * 1.644_854), 1e-3);
    near(row.quantiles[1], mass, 1e-3);
    near(row.quantiles[2], mass * (1.0 + 0.02 * 1.644_854), 1e-3);
    near(row.explained, 1.0, 1e-9);
    assert_eq!(row.sources.len(), 1);
    near(row.sources[0].share, 1.0, 1e-9);
    // Stiffness knows nothing of the density.
    assert!(
        !scatter
            .figures
            .iter()
            .any(|row| row.name == "squeeze.stiffness")
    );
}

#[test]
fn a_quotient_has_the_published_variance() {
    // u = P / (k E): relative variances add to first order (JCGM 100:2008, 5.1.6, from memory), E uniform with
    // half width 6 % (variance 0.06²/3), P triangular with half width 10 % (variance 0.1²/6).
    let ring = ring(&format!(
        "{NO_PROCESS}
[[scatter]]
of = \"material.modulus\"
shape = \"uniform\"
plus_minus = \"6 %\"

[[scatter]]
of = \"load.squeeze\"
shape = \"triangular\"
plus_minus = \"10 %\"
"
    ));
    let scatter = found(&ring);
    let row = scatter
        .figures
        .iter()
        .find(|row| row.name == "squeeze.displacement")
        .unwrap();
    let relative = (0.06_f64.powi(2) / 3.0 + 0.1_f64.powi(2) / 6.0).sqrt();
    near(row.linear_sd, relative * row.nominal, 2e-3);
    near(row.sd, relative * row.nominal, 0.01);
    // The mean of 1/E of a uniform E is ln((1+a)/(1-a))/(2a): 1.0012.
    near(row.mean / row.nominal, (1.06_f64 / 0.94).ln() / 0.12, 2e-4);
    let share = |name: &str| {
        row.sources
            .iter()
            .find(|each| each.source == name)
            .unwrap()
            .share
    };
    near(share("material.modulus"), 0.0012 / relative.powi(2), 0.02);
    near(share("load.squeeze"), 0.01 / 6.0 / relative.powi(2), 0.02);
}

#[test]
fn what_has_one_cause_is_correlated() {
    // P and E rise together by the same share: u = P / (k E) stays (GUM equation 13 with r = 1); with half of the
    // variance in common (r = 1/2) it is s² (1 + 1 - 2/2) = s².
    let of = |share: &str| {
        let ring = ring(&format!(
            "{NO_PROCESS}
[[scatter]]
of = \"material.modulus\"
sd = \"1 %\"
common = \"weather\"
share = {share}

[[scatter]]
of = \"load.squeeze\"
sd = \"1 %\"
common = \"weather\"
share = {share}
"
        ));
        let scatter = found(&ring);
        let row = scatter
            .figures
            .iter()
            .find(|row| row.name == "squeeze.displacement")
            .cloned();
        row.map_or(0.0, |row| row.linear_sd / row.nominal)
    };
    assert!(of("1") < 1e-4 * 0.01);
    near(of("0.5"), 0.01, 1e-3);
    near(of("0"), 0.01 * 2.0_f64.sqrt(), 1e-3);
}

/// Results of a model with correlated normal inputs: by the balanced rule, and by even samples.
fn propagated(
    mean: [f64; 3],
    uncertainty: [f64; 3],
    correlation: [[f64; 3]; 3],
    model: impl Fn([f64; 3]) -> f64,
) -> [f64; 2] {
    let matrix = DMatrix::from_fn(3, 3, |i, j| correlation[i][j]);
    let root = matrix.cholesky().expect("a correlation matrix").l();
    let at = |row: &Vec<f64>| {
        let score = |k: usize| (0..3).map(|j| root[(k, j)] * row[j]).sum::<f64>();
        model([0, 1, 2].map(|k| mean[k] + uncertainty[k] * score(k)))
    };
    let sources = Sources {
        quantities: Vec::new(),
        scores: 3,
        used: (0..3).map(|k| (k, String::new())).collect(),
    };
    let rule = balanced(&sources, 4);
    assert_eq!(rule.len(), 4);
    let values: Vec<f64> = rule.iter().map(at).collect();
    let slopes = moments(&values).1 * (3.0_f64 / 4.0).sqrt();
    let even: Vec<f64> = scores(4096, 3, 7).iter().map(at).collect();
    [slopes, moments(&even).1]
}

#[test]
fn resistance_and_reactance_of_the_guide() {
    // JCGM 100:2008, H.2 (from memory): V, I, phi with their uncertainties and correlations; u(R) = 0.071,
    // u(X) = 0.295, u(Z) = 0.236 ohm.
    let mean = [4.9990, 19.6610e-3, 1.044_46];
    let uncertainty = [0.0032, 0.0095e-3, 0.000_75];
    let correlation = [[1.0, -0.36, 0.86], [-0.36, 1.0, -0.65], [0.86, -0.65, 1.0]];
    let check = |model: fn([f64; 3]) -> f64, value: f64, sd: f64| {
        near(model(mean), value, 1e-5);
        for found in propagated(mean, uncertainty, correlation, model) {
            assert!((found - sd).abs() < 0.0015, "{found} against {sd}");
        }
    };
    check(|[v, i, phi]| v / i * phi.cos(), 127.732, 0.071);
    check(|[v, i, phi]| v / i * phi.sin(), 219.847, 0.295);
    check(|[v, i, _]| v / i, 254.260, 0.236);
}

#[test]
fn a_rule_of_few_copies_is_balanced() {
    for (count, order) in [(3, 16), (15, 16), (16, 32), (40, 64)] {
        let sources = Sources {
            quantities: Vec::new(),
            scores: count + 2,
            used: (0..count).map(|k| (k + 1, String::new())).collect(),
        };
        let rule = balanced(&sources, 16);
        assert_eq!(rule.len(), order);
        for a in 0..count + 2 {
            let sum: f64 = rule.iter().map(|row| row[a]).sum();
            assert_eq!(sum, 0.0);
            for b in 0..count + 2 {
                let product: f64 = rule.iter().map(|row| row[a] * row[b]).sum();
                let used = a == b && (1..=count).contains(&a);
                assert_eq!(product, if used { order as f64 } else { 0.0 });
            }
        }
    }
}

#[test]
fn even_scores_are_standard_normal() {
    let rows = scores(4096, 70, 3);
    for score in [0, 1, 20, 63] {
        let values: Vec<f64> = rows.iter().map(|row| row[score]).collect();
        let (mean, sd) = moments(&values);
        assert!(
            mean.abs() < 2e-3 && (sd - 1.0).abs() < 5e-3,
            "{score}: {mean} {sd}"
        );
        assert!((quantile(&values, 0.95) - score_of(0.95)).abs() < 5e-3);
    }
    // Beyond the sequence's dimensions they are random: six standard errors.
    let (mean, sd) = moments(&rows.iter().map(|row| row[69]).collect::<Vec<_>>());
    assert!(mean.abs() < 6.0 / 64.0 && (sd - 1.0).abs() < 6.0 / 90.0);
    assert!(Regressor::new(&rows).is_some());
}

#[test]
fn the_built_part_is_changed() {
    // No variable scatters: the floor of the part does, as milled in two set-ups: 0.05 √2 mm as three standard
    // deviations; the width as milled on both sides, 0.03 mm. dm = rho 2 pi R (w dt + t dw), independent.
    let ring = ring("");
    let scatter = found(&ring);
    let names: Vec<&str> = scatter
        .quantities
        .iter()
        .map(|each| each.name.as_str())
        .collect();
    assert_eq!(names, ["frame, width", "floor, thickness"]);
    let row = scatter
        .figures
        .iter()
        .find(|row| row.name == "mass")
        .unwrap();
    let mass = ring_mass_g(&ring, 2.0);
    let (floor, width) = (0.05 * 2.0_f64.sqrt() / 3.0 / 2.0, 0.03 / 3.0 / 12.0);
    near(row.linear_sd, mass * floor.hypot(width), 1e-6);
    near(
        row.sources[0].share,
        floor.powi(2) / (floor.powi(2) + width.powi(2)),
        0.01,
    );
    assert_eq!(row.sources[0].source, "floor, thickness");
    // The cycle time is the drawing's, whatever comes out.
    assert!(!scatter.figures.iter().any(|row| row.name == "cycle_time"));
}

#[test]
fn holes_of_one_drill_deviate_together_and_stay_where_they_are() {
    let text = RING.to_string()
        + r#"
[[part.hole_row]]
name = "inside"
strip = "floor"
diameter = "3 mm"
pitch = "8 mm"
offset = "-2.5 mm"

[[part.hole_row]]
name = "outside"
strip = "floor"
diameter = "3 mm"
pitch = "8 mm"
offset = "2.5 mm"

[[scatter]]
of = "row inside, diameter"
sd = "0.02 mm"

[robust]
process = "none"
"#;
    let ring = of_text("ring", text + LEAST_MASS + BEAM, Overrides::default());
    let scatter = found(&ring);
    assert_eq!(scatter.quantities.len(), 1, "{:?}", scatter.quantities);
    let sheet = ring.evaluator.sheet(&ring.evaluator.baseline());
    let holes = sheet
        .measures
        .iter()
        .find(|each| each.name == "holes")
        .unwrap()
        .value;
    assert!(holes > 40.0 && !scatter.figures.iter().any(|row| row.name == "holes"));
    // d(pi/4 d²) = pi/2 d dd, for all holes of both rows at once, through 2 mm.
    let density = ring.conditions.as_ref().unwrap().material.density_kg_m3 * 1e-6;
    let row = scatter
        .figures
        .iter()
        .find(|row| row.name == "mass")
        .unwrap();
    let expected = holes * std::f64::consts::FRAC_PI_2 * 3.0 * 0.02 * 2.0 * density;
    near(row.linear_sd, expected, 1e-6);
}

fn sure<'a>(scatter: &'a Scatter, name: &str) -> &'a SureRow {
    scatter
        .constraints
        .iter()
        .find(|row| row.name == name)
        .expect("it scatters")
}

#[test]
fn chances_and_what_a_tighter_tolerance_brings() {
    // Mass of mean m and relative standard deviation 2 %, allowed up to one standard deviation more: chance
    // Phi(1) = 0.841345; at half the scatter Phi(2) = 0.977250 (tables of the normal distribution, from memory).
    let plain = ring(NO_PROCESS);
    let limit = 1.02 * ring_mass_g(&plain, 2.0);
    let ring = ring(&format!(
        "{NO_PROCESS}
[[scatter]]
of = \"material.density\"
sd = \"2 %\"

[constraints]
light = \"mass <= {limit} g\"
"
    ));
    let scatter = found(&ring);
    let row = sure(&scatter, "light");
    near(row.linear_chance, 0.841_345, 1e-4);
    assert!((row.chance.share - 0.841_345).abs() < 2e-3, "{row:?}");
    assert!(row.chance.low < 0.841_345 && row.chance.high > 0.841_345);
    near(row.deviations, 1.0, 1e-3);
    assert_eq!(scatter.all, row.chance);
    let halved = &scatter.tighten[0];
    assert_eq!(halved.sources, ["material.density"]);
    assert!((halved.chance.share - 0.977_250).abs() < 2e-3, "{halved:?}");
    // Nothing may be relaxed.
    assert_eq!(scatter.relax, None);
}

/// A drilled ring with a wall, for searches.
fn walled(more: &str) -> Prepared {
    let text = RING
        .replace(
            "floor = \"floor\"",
            "floor = \"floor\"\nouter_wall = { thickness = \"wall\", height = \"8 mm\" }",
        )
        .replace(
            "[baseline]",
            "[variables.wall]\nfrom = \"0.6 mm\"\nto = \"2 mm\"\nstep = \"0.02 mm\"\n\n[baseline]\nwall = \"1.5 mm\"",
        );
    of_text(
        "ring",
        text + more + &BEAM.replace("120", "600"),
        Overrides::default(),
    )
}

fn explored(prepared: &Prepared) -> Finished {
    let nothing = Learnt::nothing(prepared);
    fretwork::run::explore(prepared, &nothing, &|_| Known::default(), &mut |_| {
        Next::Continue
    })
    .unwrap()
}

#[test]
fn a_search_asks_for_a_chance_and_a_quantile() {
    let more = "
[constraints]
stiff = \"squeeze.stiffness >= 150 N/mm\"
slim = \"wall_slenderness <= 9\"

[[objective]]
least = \"mass\"
quantile = \"95 %\"

[[objective]]
most = \"squeeze.stiffness\"

[robust]
chance = \"99 %\"
";
    let robust = walled(more);
    let run = explored(&robust);
    assert!(run.front.len() > 3);
    // The lightest candidate of a search at nominal sizes keeps its limit in about half of the parts; every
    // candidate here in 99 % of them, judged anew by many copies (0.5 % for the few copies of the search).
    let plain = walled(
        &more
            .replace("chance = \"99 %\"", "")
            .replace("quantile = \"95 %\"", ""),
    );
    let lightest = explored(&plain);
    let judge = |prepared: &Prepared, run: &Finished, at: usize| {
        let row = run.designs.row(run.front[at]);
        let point: Vec<f64> = row.iter().take(2).copied().collect();
        scatter(&robust.evaluator, &point, SAMPLES, 5, false)
            .map(|found| (found, prepared.evaluator.record(&point)))
            .expect("a part")
    };
    let (loose, _) = judge(&plain, &lightest, 0);
    assert!(loose.all.share < 0.9, "{:?}", loose.all);
    for at in 0..run.front.len() {
        let (found, record) = judge(&robust, &run, at);
        assert!(found.all.share >= 0.985, "{at}: {:?}", found.all);
        // The objective is the quantile of the mass, in tonnes.
        let mass = found.figures.iter().find(|row| row.name == "mass").unwrap();
        near(record.objectives[0], 1e-6 * mass.quantiles[2], 1e-3);
    }
    assert_eq!(robust.job.columns.last().unwrap().name, "mass for 95 %");
    // The same on any number of threads.
    let bits =
        |run: &Finished| -> Vec<u64> { run.designs.values.iter().map(|v| v.to_bits()).collect() };
    let pool = rayon::ThreadPoolBuilder::new()
        .num_threads(1)
        .build()
        .unwrap();
    assert!(bits(&pool.install(|| explored(&robust))) == bits(&run));
}

#[test]
fn one_seed_gives_one_sheet_on_any_number_of_threads() {
    let ring = walled("\n[[objective]]\nleast = \"mass\"\n");
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        let evaluator = &ring.evaluator;
        pool.install(|| scatter(evaluator, &evaluator.baseline(), 256, 1, true).unwrap())
    };
    let one = format!("{:?}", on(1));
    assert!(one == format!("{:?}", on(3)));
    let evaluator = &ring.evaluator;
    let other = scatter(evaluator, &evaluator.baseline(), 256, 2, true).unwrap();
    assert!(one != format!("{other:?}"));
}

#[test]
fn a_dimension_that_is_not_there_is_said_at_its_place() {
    let source = Source {
        file: "ring.toml".into(),
        study: "ring".into(),
        text: format!("{RING}{LEAST_MASS}\n[[scatter]]\nof = \"floor, thicknes\"\nsd = \"1 %\"\n"),
        catalogue: None,
    };
    let mistakes = prepare(&source, Overrides::default()).expect_err("no such dimension");
    assert_eq!(mistakes.list.len(), 1);
    let mistake = &mistakes.list[0];
    assert_eq!(mistake.code, "scatter/unknown");
    let line = source
        .text
        .lines()
        .position(|line| line.contains("thicknes"))
        .unwrap()
        + 1;
    assert_eq!(mistake.line, line);
    assert!(
        mistake.mend.contains("floor, thickness"),
        "{}",
        mistake.mend
    );
}

#[test]
fn a_design_that_can_t_be_made_has_no_scatter() {
    let ring = ring("");
    assert!(scatter(&ring.evaluator, &[-1.0], 64, 1, false).is_none());
    let still = crate::ring(NO_PROCESS);
    assert!(scatter(&still.evaluator, &still.evaluator.baseline(), 64, 1, false).is_none());
}
