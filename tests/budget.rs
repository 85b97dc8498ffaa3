//! Mass budgets: what is wrong in a file is told by line; totals worked by hand; candidates, steps and best choices against
//! brute force; the command.

use std::collections::BTreeSet;

use fretwork::budget::{
    Asked, Basis, Bound, Budget, CODES, Fault, Front, Measure, Part, Problem, Report, Today, Wish,
    ask, options, read_budget, report,
};
use fretwork::ledger::Quantity;
use fretwork::review::{budget_page, budget_plot};
use proptest::prelude::*;

const GOOD: &str = "\
format = 1
title = \"Lamp\"
currency = \"EUR\"

[limits]
mass = \"0.3 kg\"
cost = \"100 EUR\"

[[item]]
name = \"arm\"
study = \"arm.toml\"
revision = \"B\"
quantity = 2
keep = [\"sway.stiffness >= 100 N/mm\"]

[[item]]
name = \"bulb\"
mass = \"2 oz\"
basis = \"weighed\"
cost = \"4 EUR\"

[[item]]
name = \"screws\"
kind = \"fastener\"
mass = \"0.5 g\"
quantity = 10
basis = \"estimated\"
growth = \"20 %\"
";

fn good() -> Budget {
    read_budget(GOOD).expect("a good budget")
}

#[test]
fn a_budget_is_read() {
    let budget = good();
    assert_eq!((budget.title.as_str(), budget.items.len()), ("Lamp", 3));
    assert_eq!(budget.limits, [Some(300.0), Some(100.0), None]);
    let arm = &budget.items[0];
    assert_eq!(
        (arm.quantity, arm.basis, arm.each),
        (2, Basis::Calculated, [None; 3])
    );
    assert_eq!(arm.source.as_ref().unwrap().revision.as_deref(), Some("B"));
    // 1 oz = 28.349523125 g exactly (NIST SP 811, 2008, appendix B).
    let bulb = budget.items[1].each[0].unwrap();
    assert!((bulb - 56.69904625).abs() < 1e-12, "{bulb}");
    assert_eq!(budget.items[2].growth, Some(0.2));
}

/// Every code that reading may give, each with its line, a mend and places within the text.
#[test]
fn what_is_wrong_is_told_by_line() {
    let cases = [
        ("budget/empty", "# nothing\n".to_string(), 1),
        ("budget/not-toml", GOOD.replace("[limits]", "[limits"), 5),
        (
            "budget/conflict",
            GOOD.replace("[limits]", "<<<<<<< HEAD\n[limits]"),
            5,
        ),
        ("budget/format", GOOD.replace("format = 1", "format = 7"), 1),
        ("budget/missing-key", GOOD.replace("title", "# title"), 1),
        (
            "budget/missing-key",
            GOOD.replace("revision", "# revision"),
            9,
        ),
        (
            "budget/missing-key",
            GOOD.replace("mass = \"2 oz\"", ""),
            16,
        ),
        (
            "budget/missing-key",
            GOOD.replace("basis = \"weighed\"", ""),
            16,
        ),
        (
            "budget/missing-key",
            "format = 1\ntitle = \"x\"\n".into(),
            1,
        ),
        (
            "budget/missing-key",
            GOOD.replace("revision = \"B\"", "revision = \"B\"\nbasis = \"weighed\""),
            13,
        ),
        (
            "budget/either",
            GOOD.replace("study = \"arm.toml\"", ""),
            12,
        ),
        (
            "budget/either",
            GOOD.replace("revision = \"B\"", "revision = \"B\"\nmass = \"3 g\""),
            13,
        ),
        (
            "budget/either",
            GOOD.replace("revision = \"B\"", "revision = \"B\"\nkind = \"bought\""),
            13,
        ),
        (
            "budget/no-such-revision",
            GOOD.replace("revision = \"B\"", "revision = \"\""),
            12,
        ),
        ("budget/other-money", GOOD.replace("4 EUR", "4 USD"), 20),
        (
            "budget/out-of-range",
            GOOD.replace("quantity = 2", "quantity = 0"),
            13,
        ),
        (
            "budget/out-of-range",
            GOOD.replace("quantity = 2", "quantity = -2"),
            13,
        ),
        ("budget/out-of-range", GOOD.replace("20 %", "120 %"), 28),
        ("budget/out-of-range", GOOD.replace("2 oz", "-2 oz"), 18),
        ("budget/out-of-range", GOOD.replace("0.3 kg", "0 kg"), 6),
        ("budget/out-of-range", GOOD.replace("\"bulb\"", "\" \""), 17),
        ("budget/quantity", GOOD.replace("2 oz", "2 mm"), 18),
        ("budget/quantity", GOOD.replace("2 oz", "2"), 18),
        ("budget/quantity", GOOD.replace("2 oz", "heavy"), 18),
        ("budget/quantity", GOOD.replace("0.3 kg", "300 N"), 6),
        ("budget/repeated", GOOD.replace("\"bulb\"", "\"arm\""), 17),
        (
            "budget/unknown-key",
            GOOD.replace("quantity = 2", "quantitty = 2"),
            13,
        ),
        (
            "budget/unknown-key",
            GOOD.replace("cost = \"100", "price = \"100"),
            7,
        ),
        (
            "budget/unknown-word",
            GOOD.replace("\"weighed\"", "\"wieghed\""),
            19,
        ),
        (
            "budget/unknown-word",
            GOOD.replace("\"fastener\"", "\"screw\""),
            24,
        ),
        (
            "budget/unknown-word",
            GOOD.replace("currency = \"EUR\"", "currency = \"pebbles\""),
            3,
        ),
        ("budget/wrong-type", GOOD.replace("\"2 oz\"", "2"), 18),
        (
            "budget/wrong-type",
            GOOD.replace("quantity = 2", "quantity = \"2\""),
            13,
        ),
        (
            "budget/wrong-type",
            GOOD.replace("[limits]", "limits = 3\n[other]"),
            5,
        ),
    ];
    let mut met = BTreeSet::new();
    for (code, text, line) in &cases {
        let found = read_budget(text).expect_err(code);
        let told = |problem: &&Problem| {
            let at = 1 + text[..problem.spans[0].0.start].matches('\n').count();
            problem.code == *code && at == *line
        };
        assert!(
            found.iter().any(|problem| told(&problem)),
            "{code} in line {line}: {found:#?}\n{text}"
        );
        for problem in &found {
            assert!(
                CODES.iter().any(|(known, _)| *known == problem.code),
                "{problem:?}"
            );
            assert!(
                problem.mend.is_some() || problem.code == "budget/unknown-key",
                "{problem:?}"
            );
            assert!(
                problem
                    .spans
                    .iter()
                    .all(|(span, _)| text.get(span.clone()).is_some())
            );
        }
        met.insert(*code);
    }
    // What needs more than the text is tried with the command.
    let later = [
        "budget/keep",
        "budget/no-figure",
        "budget/no-run",
        "budget/no-study",
        "budget/other-run",
        "budget/study-changed",
    ];
    met.extend(later);
    let listed: BTreeSet<&str> = CODES.iter().map(|(code, _)| *code).collect();
    assert_eq!(met, listed);
    let found = read_budget(&GOOD.replace("\"weighed\"", "\"wieghed\"")).unwrap_err();
    assert_eq!(found[0].mend.as_deref(), Some("did you mean `weighed`?"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Any text is read or refused, never more.
    #[test]
    fn no_text_makes_it_panic(junk in "\\PC*", at in 0usize..500, cut in 0usize..40) {
        let end = (at + cut).min(GOOD.len());
        let at = at.min(GOOD.len());
        let other = format!("{}{junk}{}", &GOOD[..at], &GOOD[end..]);
        if let Err(found) = read_budget(&other) {
            prop_assert!(!found.is_empty());
            fretwork::study::print(&found, &other, "x.budget.toml", false);
        }
    }
}

fn quantity(name: &str, value: f64, unit: &str) -> Quantity {
    Quantity {
        name: name.into(),
        value,
        unit: unit.into(),
    }
}

/// The arm of the budget above as revision B.
fn today(budget: &Budget, figures: &[(&str, f64, &str)]) -> Today {
    let figures = figures
        .iter()
        .map(|(name, value, unit)| quantity(name, *value, unit))
        .collect();
    let today = Today {
        label: "B".into(),
        figures,
        ..Today::default()
    };
    today
        .weighed_by(&budget.items[0], &budget.currency)
        .expect("figures")
}

const ARM: [(&str, f64, &str); 6] = [
    ("width", 10.0, "mm"),
    ("mass", 40.0, "g"),
    ("metal_mass", 30.0, "g"),
    ("cost", 20.0, "EUR"),
    ("cycle_time", 10.0, "min"),
    ("sway.stiffness", 110.0, "N/mm"),
];

fn arm(budget: &Budget) -> Vec<Part> {
    vec![(0, today(budget, &ARM))]
}

/// A front with the columns of [`ARM`] and (width, metal mass, cost, cycle time in s, stiffness) of each candidate; what it
/// carries weighs 10 g.
fn front(candidates: &[[f64; 5]]) -> Front {
    let column = |(name, _, unit): &(&str, f64, &str)| {
        let unit = if *name == "cycle_time" { "s" } else { *unit };
        (name.to_string(), unit.to_string())
    };
    let row = |[width, mass, cost, time, stiffness]: &[f64; 5]| {
        vec![*width, mass + 10.0, *mass, *cost, *time, *stiffness]
    };
    Front {
        run: "arm-001".into(),
        columns: ARM.iter().map(column).collect(),
        dimensions: vec![0],
        goals: vec![(1, false), (5, true), (4, false)],
        candidates: (1..).zip(candidates.iter().map(row)).collect(),
    }
}

fn worked_out(budget: &Budget, fronts: &[(usize, Front)], wish: &Wish) -> Report {
    report(budget, &arm(budget), fronts, wish).expect("a report")
}

/// By hand: arms 2 x 30 g, usual growth of a calculated mass 6.5 %: 63.9 g. Bulb 56.699 g, weighed, 0.5 %: 56.9825 g.
/// Screws 5 g and 20 %: 6 g. Together 121.699 g estimated, 126.8825 g expected; 173.1175 g or 57.7 % below the limit.
/// Cost 2 x 20 + 4 EUR, of the screws not told; time 2 x 600 s.
#[test]
fn an_account_adds_up() {
    let budget = good();
    let Report {
        account, remarks, ..
    } = worked_out(&budget, &[], &Wish::default());
    let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} {b}");
    close(account.lines[0].totals[0].unwrap(), 63.9);
    close(account.estimate, 121.69904625);
    close(account.totals[0], 126.88254148125);
    close(account.growth(), account.totals[0] - account.estimate);
    close(account.totals[1], 44.0);
    close(account.totals[2], 1200.0);
    let (left, share) = account.margin(Measure::Mass).unwrap();
    close(left, 173.11745851875);
    close(share, left / 300.0);
    close(account.shares().iter().sum(), 1.0);
    close(account.shares()[0], 5.0 / 121.69904625);
    assert_eq!(account.margin(Measure::CycleTime), None);
    assert_eq!(account.lines[2].totals[1], None);
    assert_eq!(
        remarks,
        [
            "without a run, so taken as it is today: arm",
            "1 item tells no cost, and counts as 0"
        ]
    );
}

/// A weighed part has the allowance of what is weighed; a candidate in its place that of what is calculated.
#[test]
fn a_candidate_is_calculated() {
    let text = GOOD.replace("quantity = 2", "basis = \"weighed\"\nmass = \"29 g\"");
    let budget = read_budget(&text).unwrap();
    let part = &arm(&budget)[0].1;
    let options = options(
        0,
        &budget.items[0],
        part,
        &front(&[[9.0, 28.0, 19.0, 500.0, 105.0]]),
        "EUR",
    )
    .unwrap();
    assert!((options.today.totals[0] - 29.0 * 1.005).abs() < 1e-12);
    assert!((options.choices[1].totals[0] - 28.0 * 1.065).abs() < 1e-12);
    // What a budget says itself of a calculated mass holds for candidates as well.
    let budget = read_budget(&GOOD.replace("quantity = 2", "growth = \"3 %\"")).unwrap();
    let part = &arm(&budget)[0].1;
    let options = options_of(&budget, part, &front(&[[9.0, 28.0, 19.0, 500.0, 105.0]]));
    assert!((options.choices[1].totals[0] - 28.0 * 1.03).abs() < 1e-12);
}

fn options_of(budget: &Budget, today: &Today, front: &Front) -> fretwork::budget::Options {
    options(0, &budget.items[0], today, front, &budget.currency).expect("options")
}

/// `keep` decides where it is there; else no objective that does not add up may be worse than today.
#[test]
fn candidates_keep_what_is_to_be_kept() {
    let candidates = [
        [9.0, 28.0, 19.0, 500.0, 120.0],
        [8.0, 27.0, 18.0, 500.0, 105.0],
        [7.0, 26.0, 17.0, 500.0, 90.0],
    ];
    let designs = |text: &str| {
        let budget = read_budget(text).unwrap();
        let options = options_of(&budget, &arm(&budget)[0].1, &front(&candidates));
        let of = |choices: &[fretwork::budget::Choice]| {
            choices
                .iter()
                .map(|choice| choice.design)
                .collect::<Vec<_>>()
        };
        (of(&options.choices), of(&options.worse), options.kept)
    };
    let (choices, worse, _) = designs(GOOD);
    assert_eq!((choices, worse), (vec![None, Some(1), Some(2)], vec![]));
    let (choices, worse, kept) = designs(&GOOD.replace("keep = [", "# keep = ["));
    assert_eq!(
        (choices, worse),
        (vec![None, Some(1)], vec![Some(2), Some(3)])
    );
    assert_eq!(kept, ["sway.stiffness >= 110 N/mm"]);
    // Today may fail to keep it: then it is no choice.
    let (choices, ..) = designs(&GOOD.replace("100 N/mm", "115 N/mm"));
    assert_eq!(choices, [Some(1)]);
    // Formulas over several figures, with units of their own: 120 N/mm / 28 g.
    let (choices, ..) = designs(&GOOD.replace(
        "sway.stiffness >= 100 N/mm",
        "sway.stiffness / metal_mass >= 0.0042 kN/mm/g",
    ));
    assert_eq!(choices, [Some(1)]);
    for (wrong, words) in [
        (
            "sway.stiffnes >= 100 N/mm",
            "did you mean `sway.stiffness`?",
        ),
        ("sway.stiffness >= 100 mm", "stiffness"),
        ("sway.stiffness > 100 N/mm", "write >="),
        ("sway.stiffness", "<="),
    ] {
        let budget = read_budget(&GOOD.replace("sway.stiffness >= 100 N/mm", wrong)).unwrap();
        let problem = options(
            0,
            &budget.items[0],
            &arm(&budget)[0].1,
            &front(&candidates),
            "EUR",
        )
        .unwrap_err();
        assert_eq!(problem.code, "budget/keep");
        assert!(
            problem.title.contains(words) || problem.mend.unwrap().contains(words),
            "{wrong}"
        );
    }
}

#[test]
fn figures_that_are_not_told_are_told_of() {
    let budget = read_budget(&GOOD.replace("quantity = 2", "mass_from = \"metal_maas\"")).unwrap();
    let told = |figures: &[(&str, f64, &str)]| {
        let figures = figures
            .iter()
            .map(|(name, value, unit)| quantity(name, *value, unit))
            .collect();
        let today = Today {
            label: "B".into(),
            figures,
            ..Today::default()
        };
        today.weighed_by(&budget.items[0], "EUR").unwrap_err()
    };
    let problem = told(&ARM);
    assert_eq!(
        (problem.code, problem.mend.as_deref()),
        ("budget/no-figure", Some("did you mean `metal_mass`?"))
    );
    let budget = good();
    let of = |figures: &[(&str, f64, &str)], item: usize| {
        let figures = figures
            .iter()
            .map(|(name, value, unit)| quantity(name, *value, unit))
            .collect();
        Today {
            label: "B".into(),
            figures,
            ..Today::default()
        }
        .weighed_by(&budget.items[item], "EUR")
    };
    assert_eq!(
        of(&[("cost", 3.0, "EUR")], 0).unwrap_err().code,
        "budget/no-figure"
    );
    assert_eq!(
        of(&[("mass", 3.0, "mm")], 0).unwrap_err().code,
        "budget/no-figure"
    );
    assert_eq!(
        of(&[("mass", 3.0, "g"), ("cost", 3.0, "USD")], 0)
            .unwrap_err()
            .code,
        "budget/other-money"
    );
    // Without a cost grams are paid in time; asked for, its lack is told.
    let few = [("mass", 3.0, "g"), ("cycle_time", 10.0, "s")];
    let part = vec![(0, of(&few, 0).unwrap())];
    let front = Front {
        run: "arm-001".into(),
        columns: vec![
            ("mass".into(), "g".into()),
            ("cycle_time".into(), "s".into()),
        ],
        goals: vec![(0, false), (1, false)],
        candidates: vec![(4, vec![2.0, 12.0])],
        ..Front::default()
    };
    let budget = read_budget(&GOOD.replace("keep = [", "# keep = [")).unwrap();
    let found = report(&budget, &part, &[(0, front.clone())], &Wish::default()).unwrap();
    assert_eq!(found.fronts.unwrap().ladder.against, Measure::CycleTime);
    let wish = Wish {
        against: Some(Measure::Cost),
        ..Wish::default()
    };
    let fault = report(&budget, &part, &[(0, front)], &wish).unwrap_err();
    assert_eq!(
        fault,
        Fault::NotTold {
            part: "arm".into(),
            measure: Measure::Cost
        }
    );
}

/// By hand, of one piece 30 g at 20 EUR today. #1 is 1 g lighter and 1 EUR cheaper: for nothing. From there #2 saves 2 g
/// for 1 EUR, #3 3 g for 3 EUR: the lower hull goes over #2 (0.5 EUR/g), then to #3 (2 EUR/g). #4 is beaten. Growth and
/// pieces scale masses and money: a gram of what is saved is 1.065 g, pieces cancel.
#[test]
fn the_next_gram_by_hand() {
    let budget = good();
    let candidates = [
        [9.0, 29.0, 19.0, 600.0, 110.0],
        [8.0, 27.0, 20.0, 610.0, 108.0],
        [7.0, 26.0, 22.0, 640.0, 104.0],
        [6.0, 28.5, 21.0, 700.0, 120.0],
    ];
    let fronts = worked_out(&budget, &[(0, front(&candidates))], &Wish::default())
        .fronts
        .unwrap();
    let rungs: Vec<(Option<usize>, f64, f64)> = fronts
        .ladder
        .rungs
        .iter()
        .map(|rung| (rung.to.design, rung.saves, rung.rate(Measure::Cost)))
        .collect();
    // At 20 EUR #2 is as cheap as today: it is what may be had for nothing.
    let expected = [
        (Some(2), 2.0 * 3.0 * 1.065, 0.0),
        (Some(3), 2.0 * 1.065, 2.0 / 1.065),
    ];
    assert_eq!(rungs.len(), expected.len(), "{rungs:?}");
    for ((design, saves, rate), wanted) in rungs.iter().zip(expected) {
        assert_eq!(*design, wanted.0);
        assert!(
            (saves - wanted.1).abs() < 1e-9 && (rate - wanted.2).abs() < 1e-9,
            "{rungs:?}"
        );
    }
    let rung = &fronts.ladder.rungs[1];
    assert_eq!((rung.costs, rung.objectives[0]), ([4.0, 60.0], -4.0));
    let way = fronts.ladder.way([200.0, 50.0, 0.0]);
    assert!((way[2].0 - (200.0 - 8.0 * 1.065)).abs() < 1e-9 && (way[2].1 - 54.0).abs() < 1e-9);
}

/// By hand: at no more cost and time than today (20 EUR, 600 s) #2 gives up 5 N/mm for 2 g, #3 16 N/mm for 4 g, #4 is
/// dearer. A gram (1.065 g with growth, 2 pieces) costs least with #2: 5 / (2 x 2 x 1.065).
#[test]
fn what_else_a_gram_costs_by_hand() {
    let budget = read_budget(&GOOD.replace("keep = [", "# keep = [")).unwrap();
    let candidates = [
        [9.0, 30.5, 19.0, 600.0, 112.0],
        [8.0, 28.0, 20.0, 600.0, 105.0],
        [7.0, 26.0, 19.0, 590.0, 94.0],
        [6.0, 28.0, 20.5, 600.0, 109.0],
    ];
    let fronts = worked_out(&budget, &[(0, front(&candidates))], &Wish::default())
        .fronts
        .unwrap();
    assert!(fronts.ladder.rungs.is_empty(), "none keeps the stiffness");
    let [giving] = fronts.givings.as_slice() else {
        panic!("{:?}", fronts.givings)
    };
    assert_eq!((giving.rung.to.design, giving.objective), (Some(2), 0));
    assert!((giving.rate() - 5.0 / (4.0 * 1.065)).abs() < 1e-9);
}

/// Two parts; every answer against all pairs of choices.
#[test]
fn the_best_choice_is_that_of_brute_force() {
    let text = GOOD.to_string()
        + "\n[[item]]\nname = \"leg\"\nstudy = \"leg.toml\"\nrevision = \"baseline\"\nquantity = 3\nkeep = []\n";
    let budget = read_budget(&text).unwrap();
    let mut state = 7u32;
    let mut draw = |low: f64, high: f64| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        low + (high - low) * f64::from(state >> 8) / f64::from(1u32 << 24)
    };
    let mut some = |count: usize| -> Vec<[f64; 5]> {
        (0..count)
            .map(|_| {
                [
                    9.0,
                    draw(20.0, 40.0),
                    draw(10.0, 30.0),
                    draw(400.0, 900.0),
                    draw(90.0, 130.0),
                ]
            })
            .collect()
    };
    let fronts = vec![(0, front(&some(60))), (3, front(&some(50)))];
    let mut parts = arm(&budget);
    parts.push((3, today(&budget, &ARM)));
    let found = report(&budget, &parts, &fronts, &Wish::default()).unwrap();
    let [arms, legs] = found.parts.as_slice() else {
        panic!()
    };
    // Everything that does not change: bulb and screws.
    let rest: Vec<f64> = (0..3)
        .map(|at| {
            [1, 2]
                .iter()
                .filter_map(|item: &usize| found.account.lines[*item].totals[at])
                .sum()
        })
        .collect();
    let mut all: Vec<[f64; 3]> = Vec::new();
    for one in &arms.choices {
        for other in &legs.choices {
            all.push(std::array::from_fn(|at| {
                rest[at] + one.totals[at] + other.totals[at]
            }));
        }
    }
    let asked = |least: Measure, bounds: &[(Measure, f64)]| {
        let bounds: Vec<Bound> = bounds
            .iter()
            .map(|(measure, limit)| Bound {
                measure: *measure,
                limit: *limit,
            })
            .collect();
        let then = if least == Measure::Mass {
            Measure::Cost
        } else {
            Measure::Mass
        };
        let asked = Asked {
            least,
            then,
            bounds: bounds.clone(),
        };
        let offer = ask(&found.account, &found.parts, &asked).unwrap();
        let within = all.iter().filter(|total| {
            bounds
                .iter()
                .all(|bound| total[bound.measure as usize] <= bound.limit)
        });
        let best = within
            .map(|total| total[least as usize])
            .fold(f64::INFINITY, f64::min);
        match offer {
            None => assert!(best.is_infinite()),
            Some(offer) => {
                assert!(
                    (offer.totals[least as usize] - best).abs() < 1e-9,
                    "{least:?} {bounds:?}"
                );
                let [one, other] = [&arms.choices[offer.takes[0]], &legs.choices[offer.takes[1]]];
                assert!((offer.totals[0] - rest[0] - one.totals[0] - other.totals[0]).abs() < 1e-9);
            }
        }
    };
    let middle = |at: usize| all.iter().map(|total| total[at]).sum::<f64>() / all.len() as f64;
    let (mass, cost, time) = (middle(0), middle(1), middle(2));
    asked(Measure::Mass, &[]);
    asked(Measure::Cost, &[(Measure::Mass, mass)]);
    asked(
        Measure::Mass,
        &[(Measure::Cost, cost), (Measure::CycleTime, 0.9 * time)],
    );
    asked(
        Measure::CycleTime,
        &[(Measure::Mass, 0.95 * mass), (Measure::Cost, cost)],
    );
    asked(Measure::Mass, &[(Measure::Cost, 0.1 * cost)]);
    // The combined front against the same pairs.
    let beaten = |total: &[f64; 3]| {
        all.iter().any(|other| {
            other[0] <= total[0]
                && other[1] <= total[1]
                && (other[0] < total[0] || other[1] < total[1])
        })
    };
    let mut best: Vec<[f64; 3]> = all.iter().filter(|total| !beaten(total)).copied().collect();
    best.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let overall = found.fronts.unwrap().overall;
    assert_eq!(overall.offers.len(), best.len());
    for (offer, best) in overall.offers.iter().zip(&best) {
        assert!(
            (offer.totals[0] - best[0]).abs() < 1e-9 && (offer.totals[1] - best[1]).abs() < 1e-9
        );
    }
}

/// Page and picture are whole, make no request, and show nothing as markup that a budget says.
#[test]
fn page_and_picture_are_safe() {
    let hostile = "<script>alert(1)</script>'\"&\u{202e}";
    let text = GOOD.replace(
        "\"bulb\"",
        &format!("{:?}", format!("bulb {hostile}")).replace("\\u{202e}", "\\u202E"),
    );
    let budget = read_budget(&text).unwrap_or_else(|found| panic!("{found:?}"));
    let candidates = [
        [9.0, 29.0, 19.0, 600.0, 110.0],
        [7.0, 26.0, 22.0, 640.0, 104.0],
    ];
    let found = worked_out(&budget, &[(0, front(&candidates))], &Wish::default());
    let page = budget_page(&found, "fretwork test");
    assert_eq!(page, budget_page(&found, "fretwork test"));
    assert!(!page.contains("<script") && !page.contains('\u{202e}'));
    for word in ["http:", "https:", "src=", "@import", "url("] {
        assert!(!page.contains(word), "{word}");
    }
    assert!(
        page.contains("default-src 'none'") && page.contains("Where the next gram is cheapest")
    );
    let picture = budget_plot(&found).unwrap();
    let drawn =
        fretwork::drawing::picture(&picture, 600).expect("an SVG that an independent reader draws");
    assert!(drawn.starts_with(b"\x89PNG"));
    // Without runs there is an account alone.
    let bare = worked_out(&budget, &[], &Wish::default());
    assert!(budget_plot(&bare).is_none());
    let page = budget_page(&bare, "fretwork test");
    assert!(page.contains("What it weighs") && !page.contains("next gram"));
}

#[test]
fn the_demo_budget_is_whole() {
    let text = include_str!("../studies/gimbal.budget.toml");
    let budget = read_budget(text).unwrap();
    assert_eq!(
        budget
            .items
            .iter()
            .filter(|item| item.source.is_some())
            .count(),
        3
    );
    assert!(text.contains("Invented"));
}
