//! Which dimension drives what in a study: shares that can be worked out by hand, rules, threads, the command; and
//! plans of experiments, run.

mod studies_support;

use std::path::Path;
use std::process::{Command, Output};

use fretwork::review::driver_plots;
use fretwork::run::{Overrides, Prepared, ScreenAsk, Screening, screen};
use studies_support::prepared;

fn ring() -> Prepared {
    prepared("yaw-ring", Overrides::default())
}

fn ask(designs: usize, measures: &[&str]) -> ScreenAsk {
    ScreenAsk {
        designs,
        seed: 3,
        measures: measures.iter().map(|name| name.to_string()).collect(),
    }
}

fn driver<'a>(screening: &'a Screening, measure: usize, name: &str) -> &'a fretwork::run::Driver {
    let drivers = &screening.measures[measure].drivers;
    drivers.iter().find(|each| each.name == name).expect(name)
}

/// The demo's `rib_offset` is outer_wall + rib / 2 and a constant, whether or not the design can be made. Of n values a
/// step s apart the variance is s² (n² - 1) / 12: 15 values of outer_wall and 11 of rib, 0.1 mm apart.
#[test]
fn shares_of_a_sum_are_those_worked_out_by_hand() {
    let screening = screen(&ring(), &ask(20_000, &["rib_offset"])).unwrap();
    let (outer, rib) = (15.0 * 15.0 - 1.0, (11.0 * 11.0 - 1.0) / 4.0);
    let measure = &screening.measures[0];
    assert_eq!((measure.name.as_str(), measure.known), ("rib_offset", 1.0));
    for (name, right) in [("outer_wall", outer), ("rib", rib)] {
        let right = right / (outer + rib);
        let found = driver(&screening, 0, name);
        for [value, low, high] in [found.total, found.first] {
            assert!((value - right).abs() < 0.005, "{name}: {value} for {right}");
            assert!(low <= value && value <= high);
        }
        // A sum: every step has the same effect, and the mean rises by as much over the range.
        let range = if name == "rib" { 0.5 } else { 1.4 };
        assert!(
            (found.effect_mean - range).abs() < 1e-9,
            "{}",
            found.effect_mean
        );
        assert!(found.effect_spread < 1e-9);
        assert!((found.rise - range).abs() < 0.15 * range, "{}", found.rise);
    }
    let still = driver(&screening, 0, "floor");
    assert!(still.total[0] < 1e-3 && still.effect_size < 1e-9);
    assert_eq!(measure.drivers[0].name, "outer_wall");
    let fit = measure.fit.as_ref().unwrap();
    assert!(fit.linear.r2 > 1.0 - 1e-12);
    assert!(
        measure
            .interplay
            .as_ref()
            .is_none_or(|pair| pair.share < 5e-3)
    );
}

/// What the drawings and tables rest on makes sense: thicker walls weigh more, the quadratic says so as well, shares
/// lie between 0 and 1, what only possible designs have is told.
#[test]
fn the_ring_is_driven_as_it_must_be() {
    let screening = screen(&ring(), &ask(20_000, &[])).unwrap();
    let names: Vec<&str> = screening
        .measures
        .iter()
        .map(|each| &each.name[..])
        .collect();
    assert_eq!(names[..3], ["mass", "tilt.stiffness", "cycle_time"]);
    assert!(names.contains(&"ligament") && names.contains(&"frequency"));
    assert!(screening.possible > 0.1 && screening.possible < 1.0);
    assert!(
        screening.remarks[0].contains("keep the geometric rules"),
        "{:?}",
        screening.remarks
    );
    for measure in &screening.measures {
        assert!(measure.known > 0.1, "{}", measure.name);
        for driver in &measure.drivers {
            let [total, low, high] = driver.total;
            assert!((-0.01..1.2).contains(&total) && low <= total && total <= high);
            assert!(driver.first[0] > -0.01 && driver.first[0] < 1.1);
        }
        assert!(
            measure
                .drivers
                .windows(2)
                .all(|pair| pair[0].total[0] >= pair[1].total[0])
        );
    }
    for name in ["floor", "outer_wall", "inner_wall", "wall_height"] {
        let found = driver(&screening, 0, name);
        assert!(found.rise > 0.0 && found.effect_mean > 0.0, "{name}");
    }
    let fit = screening.measures[0].fit.as_ref().unwrap();
    assert!(
        fit.quadratic.predicted_r2 > 0.95,
        "{}",
        fit.quadratic.predicted_r2
    );
    assert!(fit.quadratic.predicted_r2 > fit.linear.predicted_r2);
    let floor = fit.terms.iter().find(|term| term.name == "floor").unwrap();
    assert!(floor.value > 0.0 && floor.p < 1e-6 && floor.value / floor.error > 10.0);
    let plots = driver_plots(&screening);
    assert!(plots.len() >= 2 * screening.measures.len());
    for (stem, svg) in plots {
        assert!(svg.starts_with("<svg") && svg.ends_with("</svg>"), "{stem}");
        assert!(!svg.contains("NaN") && !svg.contains("inf"), "{stem}");
    }
}

#[test]
fn the_same_seed_gives_the_same_on_any_number_of_threads() {
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads);
        pool.build()
            .unwrap()
            .install(|| screen(&ring(), &ask(2_000, &[])).unwrap())
    };
    let one = serde_json::to_string(&on(1)).unwrap();
    for threads in [2, 5] {
        assert_eq!(serde_json::to_string(&on(threads)).unwrap(), one);
    }
}

#[test]
fn what_cannot_be_screened_is_said() {
    let refused = |asked: ScreenAsk, words: &str| {
        let mistakes = screen(&ring(), &asked).unwrap_err();
        assert!(mistakes.printed.contains(words), "{}", mistakes.printed);
        assert!(!mistakes.list[0].mend.is_empty());
    };
    refused(ask(20_000, &["weight"]), "no measure `weight`");
    refused(ask(20, &[]), "20 designs are too few");
    // The fewest that the message names are enough.
    assert!(screen(&ring(), &ask(80, &["mass"])).is_ok());
}

fn fretwork(arguments: &[&str], folder: &Path) -> Output {
    Command::new(assert_cmd::cargo::cargo_bin!("fretwork"))
        .args(arguments)
        .current_dir(folder)
        .output()
        .expect("the program starts")
}

#[test]
fn the_command_prints_tables_json_and_pictures() {
    let folder = tempfile::tempdir().unwrap();
    let study = Path::new(env!("CARGO_MANIFEST_DIR")).join("studies/yaw-ring.toml");
    let study = study.to_str().unwrap();
    let output = fretwork(&["screen", study, "--designs", "2000"], folder.path());
    let out = String::from_utf8(output.stdout).unwrap();
    assert!(output.status.success(), "{out}");
    for line in out.lines() {
        assert!(line.chars().count() <= 80, "{line}");
        assert_eq!(line, line.trim_end());
    }
    assert!(
        out.contains("mass g") && out.contains("wall_height"),
        "{out}"
    );

    let arguments = [
        "screen",
        study,
        "--designs",
        "2000",
        "--measure",
        "mass",
        "--json",
        "--plots",
        "drawn",
    ];
    let output = fretwork(&arguments, folder.path());
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(json["measures"].as_array().unwrap().len(), 1);
    assert_eq!(json["measures"][0]["drivers"].as_array().unwrap().len(), 7);
    for name in ["mass-drivers", "mass-means"] {
        let file = folder.path().join("drawn").join(format!("{name}.svg"));
        assert!(
            std::fs::read_to_string(&file)
                .unwrap()
                .starts_with("<svg xmlns"),
            "{name}"
        );
    }

    let output = fretwork(&["screen", study, "--measure", "weight"], folder.path());
    assert_eq!(output.status.code(), Some(2));
    let err = String::from_utf8(output.stderr).unwrap();
    assert!(
        err.contains("its measures are: ") && err.contains("mass"),
        "{err}"
    );
}

/// Every plan of experiments runs from a study file: as many designs as it has, and today's revision. `check` says what
/// a fraction can't tell apart.
#[test]
fn plans_of_experiments_run() {
    let folder = tempfile::tempdir().unwrap();
    let text = std::fs::read_to_string(
        Path::new(env!("CARGO_MANIFEST_DIR")).join("studies/yaw-ring.toml"),
    )
    .unwrap();
    let start = text.find("[explore]").unwrap();
    let write = |plan: &str| {
        let explore = format!("[explore]\ntruth = \"beam\"\nproofs = 0\n{plan}\n");
        std::fs::write(
            folder.path().join("ring.toml"),
            text[..start].to_string() + &explore,
        )
        .unwrap();
    };
    for (plan, designs) in [
        ("plan = \"box-behnken\"", 57 + 1),
        ("plan = \"plackett-burman\"", 8 + 1),
        ("plan = \"two-level\"\nhalvings = 4", 8 + 1),
        (
            "plan = \"central composite\"\nhalvings = 1",
            64 + 14 + 1 + 1,
        ),
        ("plan = \"even latin hypercube\"\nevaluations = 100", 100),
        ("plan = \"halton\"\nevaluations = 100", 100),
        ("plan = \"space filling\"\nevaluations = 100", 100),
    ] {
        write(plan);
        let output = fretwork(&["run", "ring.toml", "--json"], folder.path());
        let err = String::from_utf8(output.stderr).unwrap();
        assert!(output.status.success(), "{plan}: {err}");
        let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        assert_eq!(json["designs"], designs, "{plan}");
    }
    write("plan = \"two-level\"\nhalvings = 4");
    let output = fretwork(&["check", "ring.toml"], folder.path());
    let out = String::from_utf8(output.stdout).unwrap();
    assert!(
        out.contains("fraction of a two-level factorial, 8 designs"),
        "{out}"
    );
    assert!(
        out.contains("resolution III: these effects can't be told apart"),
        "{out}"
    );
    // D = AB, E = AC, F = BC, G = ABC: the first factor is mixed with three interactions.
    assert!(
        out.contains("floor = outer_wall × wall_height = inner_wall × rib = hole × pitch"),
        "{out}"
    );
}
