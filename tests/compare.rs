//! Reruns and comparisons, on the beam and with few designs: what is rerun says so, the earlier candidates come first,
//! every difference has its cause, and the shares add up.

use std::fs;
use std::path::Path;
use std::sync::LazyLock;

use fretwork::run::{
    Again, Asked, Comparison, Conditions, Earlier, Fate, Finished, Incomparable, Known, Learnt,
    Lesson, Mistakes, NewTool, Next, Overrides, OwnTools, Prepared, Side, Source, Tooling, compare,
    explore, prepare, rerun, tooling,
};

const EVALUATIONS: usize = 200;
const TOOL: &str = "fretwork of the test";

/// The ring's run that the others are compared with.
static FIRST: LazyLock<Run> = LazyLock::new(|| run(&ring()));

/// A run in memory.
struct Run {
    source: Source,
    prepared: Prepared,
    learnt: Learnt,
    finished: Finished,
}

fn conditions(prepared: &Prepared) -> &Conditions {
    prepared.conditions.as_ref().expect("a part")
}

fn ring() -> String {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("studies/yaw-ring.toml");
    fs::read_to_string(file).expect("the study is there")
}

fn read(text: &str) -> (Source, Prepared) {
    let source = Source {
        file: "ring.toml".into(),
        study: "ring".into(),
        text: text.into(),
        catalogue: None,
    };
    let overrides = Overrides {
        seed: Some(3),
        evaluations: Some(EVALUATIONS),
    };
    let mut prepared = prepare(&source, overrides).unwrap_or_else(|m| panic!("{}", m.printed));
    prepared.study.plan.proofs = 0;
    (source, prepared)
}

fn explored(prepared: &Prepared) -> (Learnt, Finished) {
    let learnt = Learnt::nothing(prepared);
    let go_on = &mut |_: &fretwork::run::Batch| Next::Continue;
    let finished = explore(prepared, &learnt, &|_| Known::default(), go_on).unwrap();
    (learnt, finished)
}

fn run(text: &str) -> Run {
    let (source, prepared) = read(text);
    let (learnt, finished) = explored(&prepared);
    Run {
        source,
        prepared,
        learnt,
        finished,
    }
}

impl Run {
    fn again(&self, asked: &Asked, lessons: &[Lesson]) -> Result<Again, Mistakes> {
        let front = self.front();
        let tool = TOOL;
        rerun(&self.earlier(&front, lessons), &Asked { tool, ..*asked })
    }

    fn tooling(&self, wanted: &[(NewTool, f64)]) -> Result<Tooling, Mistakes> {
        let front = self.front();
        let asked = Asked {
            tool: TOOL,
            ..Asked::default()
        };
        tooling(&self.earlier(&front, &[]), &asked, wanted, &mut |_| {})
    }

    fn front(&self) -> Vec<&[f64]> {
        let designs = &self.finished.designs;
        let front = self.finished.front.iter();
        front.map(|design| designs.row(*design)).collect()
    }

    fn earlier<'a>(&'a self, front: &'a [&'a [f64]], lessons: &'a [Lesson]) -> Earlier<'a> {
        Earlier {
            run: "ring-001",
            tool: TOOL,
            fingerprint: "0",
            source: &self.source,
            prepared: &self.prepared,
            front,
            goals: &self.prepared.job.goals,
            lessons,
        }
    }

    fn rerun(&self, asked: &Asked) -> Run {
        let again = self
            .again(asked, &[])
            .unwrap_or_else(|m| panic!("{}", m.printed));
        let (learnt, finished) = explored(&again.prepared);
        Run {
            source: Source {
                text: again.prepared.job.study_text.clone(),
                catalogue: Some(again.prepared.job.catalogue_text.clone()),
                ..self.source.clone()
            },
            prepared: again.prepared,
            learnt,
            finished,
        }
    }

    fn side<'a>(&'a self, name: &'a str) -> Side<'a> {
        Side {
            run: name,
            tool: TOOL,
            prepared: &self.prepared,
            learnt: &self.learnt,
            columns: &self.finished.columns,
            designs: &self.finished.designs,
            front: &self.finished.front,
        }
    }

    fn against(&self, after: &Run) -> Comparison {
        compare(&self.side("ring-001"), &after.side("ring-002")).unwrap()
    }
}

fn figure(compared: &Comparison, name: &str) -> usize {
    let found = compared
        .figures
        .iter()
        .position(|figure| figure.name == name);
    found.unwrap_or_else(|| panic!("no figure {name}"))
}

fn tools(text: &str) -> Asked<'_> {
    let file = "drawer.toml";
    Asked {
        tools: Some(OwnTools { file, text }),
        ..Asked::default()
    }
}

#[test]
fn a_rerun_in_another_alloy_is_a_study_of_its_own() {
    let first = &*FIRST;
    let asked = Asked {
        material: Some("7075-T651"),
        ..Asked::default()
    };
    let again = first.again(&asked, &[]).unwrap();
    let text = &again.prepared.job.study_text;
    let expected = ring()
        .replace("material = \"al6061_t6511\"", "material = \"al7075_t651\"")
        .replace("seed = 1\n", "seed = 1\ncatalogue = \"catalogue.toml\"\n");
    assert_eq!(*text, expected, "nothing else moves, comments stay");
    let catalogue = &again.prepared.job.catalogue_text;
    assert!(catalogue.contains("al7075_t651") && !catalogue.contains("al6061"));
    let origin = again.prepared.job.origin.as_ref().unwrap();
    assert_eq!(origin.run, "ring-001");
    assert_eq!(origin.changes.len(), 1, "{:?}", origin.changes);
    assert_eq!(
        origin.starts.len(),
        first.finished.front.len().min(EVALUATIONS / 2)
    );
    assert!(again.remarks[0].contains("material al7075_t651 instead of al6061_t6511"));

    // Earlier candidates stand right behind the baseline, and are the ones that they were.
    let (_, finished) = explored(&again.prepared);
    let axes = first.prepared.study.variables.len();
    for (at, _) in origin.starts.iter().enumerate().skip(1) {
        let row = &finished.designs.row(at)[..axes];
        let known = |design: &&usize| {
            let pairs = first.finished.designs.row(**design)[..axes].iter().zip(row);
            pairs.into_iter().all(|(a, b)| (a - b).abs() < 1e-9)
        };
        assert!(
            first.finished.front.iter().any(|d| known(&d)),
            "design {at} is none of them"
        );
    }
    // Nothing on the old front beats the new one where it is evaluated anew.
    let goals = &finished.goals;
    let less = |design: usize| -> Vec<f64> {
        let row = finished.designs.row(design);
        let of = |goal: &fretwork::run::Goal| match goal.most {
            true => -row[goal.column],
            false => row[goal.column],
        };
        goals.iter().map(of).collect()
    };
    for start in (0..=origin.starts.len()).filter(|d| finished.designs.violation[*d] == 0.0) {
        let matched = finished
            .front
            .iter()
            .any(|on| less(*on).iter().zip(less(start)).all(|(a, b)| *a <= b));
        assert!(matched, "start {start} is better than the front");
    }
}

#[test]
fn a_rerun_gives_the_same_bytes_on_any_number_of_threads() {
    let first = &*FIRST;
    let asked = Asked {
        machine: Some("fast_small_vmc"),
        ..Asked::default()
    };
    let bits = |threads| -> Vec<u64> {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        let again = pool.unwrap().install(|| first.rerun(&asked));
        let designs = again.finished.designs.values.iter();
        designs.map(|value| value.to_bits()).collect()
    };
    assert!(bits(1) == bits(3));
}

#[test]
fn variables_follow_the_stock_and_todays_revision_with_them() {
    let first = &*FIRST;
    let text = "drills = [\"2 mm\", \"2.55 mm\", \"3.2 mm\", \"5 mm\"]\n\n[[drill]]\nid = \"2.55 mm\"\n\
                diameter_mm = 2.55\nflute_length_mm = 20\n";
    let again = first.again(&tools(text), &[]).unwrap();
    let drills = &conditions(&again.prepared).tools.drills;
    let sizes: Vec<f64> = drills.iter().map(|drill| drill.diameter_mm).collect();
    assert_eq!(sizes, [2.0, 2.55, 3.2, 5.0]);
    // 4 mm, as cut today, lies nearer to 3.2 mm than to 5 mm.
    let hole = again
        .prepared
        .study
        .variables
        .iter()
        .find(|v| v.name == "hole");
    assert_eq!(hole.unwrap().baseline, 3.2);
    let remarks = again.remarks.join("\n");
    for words in [
        "hole = 4 mm is not in stock",
        "drills with 2.55 mm, without 2.5 mm",
        "no longer in stock",
    ] {
        assert!(remarks.contains(words), "{words} is not in\n{remarks}");
    }
    assert_eq!(
        conditions(&again.prepared).tools.end_mills,
        conditions(&first.prepared).tools.end_mills
    );

    let after = first.rerun(&tools(text));
    let compared = first.against(&after);
    assert_eq!(compared.causes, ["tools"]);
    assert_eq!(compared.baseline.fate, Fate::NotMade);
    assert!(
        compared.baseline.why.contains("hole = 4 mm"),
        "{}",
        compared.baseline.why
    );
    assert!(compared.baseline.after.iter().all(|value| value.is_nan()));
    for each in &compared.candidates {
        let kept = sizes
            .iter()
            .any(|size| (size - each.variables[5]).abs() < 1e-9);
        assert_eq!(kept, each.fate != Fate::NotMade, "{each:?}");
    }
}

#[test]
fn a_stock_that_lacks_a_fixed_size_is_a_result() {
    // The lugs' bores of 3.2 mm can then be drilled smaller and milled, or not at all: no crash either way.
    let first = &*FIRST;
    let after = first.rerun(&tools("drills = [\"5 mm\"]\nend_mills = [\"6 mm\"]"));
    let compared = first.against(&after);
    assert_eq!(after.finished.designs.len(), EVALUATIONS);
    assert_eq!(compared.candidates.len(), first.finished.front.len());
    assert!(compared.count(Fate::NotMade) > 0);
}

#[test]
fn mistakes_are_told_with_their_place_and_the_nearest() {
    let first = &*FIRST;
    let fault = |asked: &Asked| first.again(asked, &[]).unwrap_err().printed;
    let printed = fault(&Asked {
        material: Some("al7057_t651"),
        ..Asked::default()
    });
    assert!(printed.contains("did you mean `al7075_t651`"), "{printed}");
    let printed = fault(&Asked {
        machine: Some("smal_vmc"),
        ..Asked::default()
    });
    assert!(printed.contains("did you mean `small_vmc`"), "{printed}");
    for (text, words) in [
        (
            "drills = [\n  \"2 mm\",\n  \"2.63 mm\",\n]",
            "drawer.toml:3:3: no drill of 2.63 mm",
        ),
        ("drills = \"2 mm\"", "drawer.toml:1:10: `drills` is no list"),
        ("drils = [\"2 mm\"]", "drawer.toml"),
        ("drills = []", "no drills to choose from"),
        (
            "[[drill]]\nid = \"2.63 mm\"\ndiameter_mm = -1",
            "drawer.toml",
        ),
    ] {
        let printed = fault(&tools(text));
        assert!(printed.contains(words), "{words} is not in\n{printed}");
    }
}

#[test]
fn solids_are_taken_over_where_the_metal_is_the_same() {
    let first = &*FIRST;
    let point = first.prepared.evaluator.baseline();
    // Place 5 of the drills is 4 mm.
    let mut x = point.clone();
    x[5] = 5.0;
    let lesson = Lesson {
        beam: first.prepared.evaluator.beam(&point).unwrap(),
        solid: vec![1.0; first.prepared.job.targets.len()],
        finer: Vec::new(),
        front: false,
        earlier: false,
        x,
    };
    let kept = |asked: &Asked, lesson: &Lesson| {
        let again = first.again(asked, std::slice::from_ref(lesson)).unwrap();
        again.lessons.into_iter().next()
    };
    let machine = Asked {
        machine: Some("fast_small_vmc"),
        ..Asked::default()
    };
    let taken = kept(&machine, &lesson).unwrap();
    assert!(taken.earlier && taken.x == lesson.x && taken.solid == lesson.solid);
    let fewer = kept(&tools("drills = [\"2 mm\", \"4 mm\", \"6 mm\"]"), &lesson).unwrap();
    assert_eq!((fewer.x[5], &fewer.solid), (1.0, &lesson.solid));
    assert_eq!(
        kept(&tools("drills = [\"2 mm\", \"3 mm\"]"), &lesson),
        None,
        "no 4 mm drill"
    );
    let alloy = Asked {
        material: Some("al7075_t651"),
        ..Asked::default()
    };
    assert_eq!(kept(&alloy, &lesson), None, "another metal");
    let mut other = lesson.clone();
    other.beam[0] *= 1.001;
    assert_eq!(
        kept(&machine, &other),
        None,
        "the beam was another one then"
    );
}

#[test]
fn a_run_compared_with_itself_moves_nothing() {
    let first = &*FIRST;
    let compared = first.against(first);
    assert!(compared.causes.is_empty() && compared.changes.is_empty());
    assert_eq!(compared.count(Fate::Stays), compared.candidates.len());
    assert!(compared.newcomers.is_empty() && compared.moved().is_empty());
    for each in &compared.candidates {
        let nearest = each.nearest.unwrap();
        assert_eq!((nearest.design, nearest.distance), (each.design, 0.0));
    }
    let shares = (
        compared.before.hypervolume_share,
        compared.after.hypervolume_share,
    );
    assert!(shares.0 > 0.1 && shares.0 == shares.1, "{shares:?}");
}

#[test]
fn another_alloy_moves_the_mass_by_its_density() {
    let first = &*FIRST;
    let after = first.rerun(&Asked {
        material: Some("al7075_t651"),
        ..Asked::default()
    });
    let compared = first.against(&after);
    assert_eq!(compared.causes, ["material"]);
    let (old, new) = (conditions(&first.prepared), conditions(&after.prepared));
    let mass = figure(&compared, "mass");
    // All but the bearing insert of 6 g is metal.
    let share = new.material.density_kg_m3 / old.material.density_kg_m3 - 1.0;
    assert!(share > 0.01);
    for each in compared.candidates.iter().chain([&compared.baseline]) {
        let expected = share * (each.before[mass] - 6.0);
        let change = each.after[mass] - each.before[mass];
        assert!(
            (change - expected).abs() < 1e-9 * each.before[mass],
            "{change} {expected}"
        );
        assert!((each.shares[mass][0] - change).abs() < 1e-12 * each.before[mass]);
    }
    // Stiffness goes with the modulus.
    let tilt = figure(&compared, "tilt.stiffness");
    let ratio = new.material.modulus_gpa / old.material.modulus_gpa;
    let base = &compared.baseline;
    assert!((base.after[tilt] / base.before[tilt] / ratio - 1.0).abs() < 5e-3);
}

#[test]
fn causes_that_act_together_are_shared_as_by_hand() {
    // Alloy and machine both act on the milling time, and on each other: a slower spindle leaves less to gain from a
    // metal that may be cut faster. The four times come from four studies written by hand.
    let text = |material: &str, machine: &str| {
        ring()
            .replace("al6061_t6511", material)
            .replace("\"small_vmc\"", &format!("\"{machine}\""))
    };
    let time = |material: &str, machine: &str| {
        let (_, prepared) = read(&text(material, machine));
        let sheet = prepared.evaluator.sheet(&prepared.evaluator.baseline());
        let found = sheet.measures.iter().find(|each| each.name == "cycle_time");
        found.unwrap().value
    };
    let (metals, machines) = (
        ["al6061_t6511", "ti6al4v"],
        ["small_vmc", "converted_knee_mill"],
    );
    let [none, metal, machine, both] = [
        time(metals[0], machines[0]),
        time(metals[1], machines[0]),
        time(metals[0], machines[1]),
        time(metals[1], machines[1]),
    ];
    assert!(
        (both - metal - machine + none).abs() > 0.01 * none,
        "they act on each other"
    );
    let by_hand = [
        0.5 * ((metal - none) + (both - machine)),
        0.5 * ((machine - none) + (both - metal)),
    ];

    let (first, second) = (&*FIRST, run(&text(metals[1], machines[1])));
    let compared = first.against(&second);
    assert_eq!(compared.causes, ["material", "machine"]);
    let at = figure(&compared, "cycle_time");
    let shares = &compared.baseline.shares[at];
    for (share, expected) in shares.iter().zip(by_hand) {
        assert!((share - expected).abs() < 1e-9 * none, "{share} {expected}");
    }
    // They add up in every figure of every candidate.
    for each in &compared.candidates {
        for (figure, shares) in each.shares.iter().enumerate() {
            let change = each.after[figure] - each.before[figure];
            let sum: f64 = shares.iter().sum();
            let size = each.after[figure].abs().max(each.before[figure].abs());
            let same = (sum - change).abs() <= 1e-9 * size.max(1e-12);
            assert!(same || !change.is_finite(), "{figure}: {sum} {change}");
        }
    }
    // The other way round every share turns its sign.
    let back = second.against(first);
    for (there, back) in shares.iter().zip(&back.baseline.shares[at]) {
        assert!((there + back).abs() < 1e-9 * none);
    }
}

#[test]
fn what_only_the_search_found_is_not_put_down_to_the_conditions() {
    let first = &*FIRST;
    let after = first.rerun(&Asked {
        machine: Some("fast_small_vmc"),
        ..Asked::default()
    });
    let compared = first.against(&after);
    let record = |row: &[f64]| {
        let variables = first.prepared.study.variables.iter().zip(row);
        let point: Vec<f64> = variables.map(|(v, value)| value * v.unit.size).collect();
        first.prepared.evaluator.record(&point)
    };
    let later: Vec<_> = after
        .finished
        .front
        .iter()
        .map(|design| record(after.finished.designs.row(*design)))
        .filter(|record| record.violations.iter().all(|each| *each <= 0.0))
        .collect();
    let mut found = 0;
    for each in &compared.candidates {
        let own = record(first.finished.designs.row(each.design)).objectives;
        let beaten = later.iter().any(|other| {
            let pairs = || other.objectives.iter().zip(&own);
            pairs().all(|(a, b)| a <= b) && pairs().any(|(a, b)| *a < b - 1e-6 * b.abs())
        });
        if beaten {
            assert!(each.by_search, "{}", each.design);
            found += 1;
        }
    }
    assert!(found > 0, "a longer search finds better ones");
    assert!(compared.beaten_by_search() <= compared.count(Fate::Beaten));
}

#[test]
fn the_page_is_one_file_that_asks_for_nothing() {
    let hostile = "Ring </script><script>alert(1)</script> & co";
    let text = ring().replace("Yaw ring of a survey-drone gimbal", hostile);
    let first = run(&text);
    let after = first.rerun(&Asked {
        material: Some("al7075_t651"),
        machine: Some("fast_small_vmc"),
        ..tools("drills = [\"2 mm\", \"3.2 mm\", \"5 mm\"]")
    });
    let compared = first.against(&after);
    assert_eq!(compared.causes, ["material", "tools", "machine"]);
    let page = fretwork::review::comparison_page(&compared, "fretwork 0.0.0");
    assert!(page.contains("Ring &lt;/script&gt;") && !page.contains("<script>alert"));
    assert_eq!(page.matches("</script>").count(), 2);
    assert!(!page.contains("{{"), "every field is filled");
    let outside = ["src=", "@import", "url(", "fetch(", "href=\"http"];
    assert!(outside.iter().all(|words| !page.contains(words)));
    assert!(page.len() < 2_000_000, "{}", page.len());
    // For the browser, which looks at it in tests/browser.
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("review");
    fs::create_dir_all(&folder).unwrap();
    fs::write(folder.join("comparison.html"), page).unwrap();
}

#[test]
fn what_a_stored_figure_differs_by_today_is_the_tool_version_s() {
    let first = &*FIRST;
    let after = first.rerun(&Asked {
        material: Some("al7075_t651"),
        ..Asked::default()
    });
    let mut older = run(&ring());
    let mass = older
        .prepared
        .job
        .columns
        .iter()
        .position(|c| c.name == "mass")
        .unwrap();
    let width = older.prepared.job.columns.len();
    for row in older.finished.designs.values.chunks_mut(width) {
        row[mass] -= 0.25;
    }
    let compared = older.against(&after);
    assert_eq!(compared.causes, ["material", "tool version"]);
    let at = figure(&compared, "mass");
    let plain = first.against(&after);
    for (each, plain) in compared.candidates.iter().zip(&plain.candidates) {
        let change = each.after[at] - each.before[at];
        assert!((each.shares[at][1] - 0.25).abs() < 1e-9);
        assert!((each.shares[at][0] - plain.shares[at][0]).abs() < 1e-12);
        assert!((each.shares[at].iter().sum::<f64>() - change).abs() < 1e-9);
    }
}

#[test]
fn a_run_of_an_older_program_may_lack_figures() {
    // As if today's program had learnt to tell the frequency.
    let first = &*FIRST;
    let mut older = run(&ring());
    let width = older.finished.columns.len();
    let gone = older
        .finished
        .columns
        .iter()
        .position(|c| c.name == "frequency")
        .unwrap();
    older.finished.columns.remove(gone);
    let kept = older.finished.designs.values.chunks(width).flat_map(|row| {
        let before = row[..gone].iter();
        before.chain(&row[gone + 1..]).copied()
    });
    older.finished.designs.values = kept.collect();
    let compared = older.against(first);
    assert!(compared.moved().is_empty(), "{:?}", compared.moved());
    assert_eq!(compared.count(Fate::Stays), compared.candidates.len());
    assert!(
        compared
            .remarks
            .iter()
            .any(|remark| remark.contains("frequency"))
    );
    assert_eq!(compared.before.points, first.against(first).before.points);
}

#[test]
fn other_studies_are_refused_or_their_difference_is_named() {
    let first = &*FIRST;
    let side = first.side("ring-001");
    let other = ring()
        .replace("hole", "bore_of_row")
        .replace("[[part.bore_of_row_row]]", "[[part.hole_row]]");
    let other = run(&other);
    assert_eq!(
        compare(&side, &other.side("ring-002")).unwrap_err(),
        Incomparable::Variables {
            before: vec!["hole".into()],
            after: vec!["bore_of_row".into()],
        }
    );
    let softer = ring().replace("tilt.stiffness >= 200 N/mm", "tilt.stiffness >= 320 N/mm");
    let compared = first.against(&run(&softer));
    assert_eq!(compared.causes, ["study"]);
    assert!(compared.moved().is_empty(), "a limit moves no figure");
    let broken = |each: &&fretwork::run::OldCandidate| each.why.contains("tilt_stiffness");
    let broken = compared.candidates.iter().filter(broken).count();
    assert!(broken > 0 && broken == compared.count(Fate::Breaks));
    let fewer = ring().replace("[[objective]]\nleast = \"cycle_time\"\n", "");
    let compared = first.against(&run(&fewer));
    assert_eq!(compared.objectives.len(), 2);
    assert!(
        compared
            .remarks
            .iter()
            .any(|remark| remark.contains("cycle_time"))
    );
}

/// What one more drill would bring: its price is the catalogue's, the ring's hole variable takes it, and the same search
/// with another seed stands beside it. What is in stock or unknown is refused.
#[test]
fn one_more_drill() {
    let brought = FIRST
        .tooling(&[(NewTool::Drill, 4.2)])
        .unwrap_or_else(|m| panic!("{}", m.printed));
    let catalogue = fretwork::catalogue::Catalogue::builtin();
    let drill = catalogue.drill_of(4.2).expect("4.2 mm is in the catalogue");
    let [tool] = &brought.tools[..] else {
        panic!("{brought:?}");
    };
    assert_eq!(
        (tool.kind, &tool.id, tool.price),
        ("drill", &drill.id, drill.price)
    );
    assert_eq!(tool.gains.len(), FIRST.prepared.job.goals.len());
    assert!(tool.candidates > 0 && tool.gains.iter().all(|gain| gain.better >= 0.0));
    assert!(brought.scatter.candidates > tool.candidates);
    assert_eq!(brought.evaluations, EVALUATIONS);
    let again = FIRST
        .tooling(&[(NewTool::Drill, 4.2)])
        .unwrap_or_else(|m| panic!("{}", m.printed));
    assert_eq!(brought, again);

    let refused = |size: f64| match FIRST.tooling(&[(NewTool::Drill, size)]) {
        Err(mistakes) => mistakes.printed,
        Ok(brought) => panic!("{brought:?}"),
    };
    assert!(refused(4.0).contains("in stock already"));
    assert!(refused(4.23).contains("no drill of 4.23 mm in the catalogue"));
}
