//! Streams: designs that are let go, shards for several machines, known designs asked for.

mod support;

use std::collections::BTreeMap;
use std::ops::Range;

use fretwork::explore::{
    Axis, Ending, Error, Known, Next, Plan, Problem, Settings, Shard, Streamed, explore, stream,
};
use support::problems::named;

/// Designs by number: variables and row.
type Rows = BTreeMap<usize, (Vec<f64>, Vec<f64>)>;

fn collect(
    problem: &dyn Problem,
    settings: &Settings,
    shard: Shard,
    known: &Rows,
    stop_after: usize,
) -> Result<(Streamed, Rows), Error> {
    let recall = |range: Range<usize>| {
        let (mut xs, mut rows) = (Vec::new(), Vec::new());
        for design in range {
            let Some((x, row)) = known.get(&design) else {
                break;
            };
            xs.extend_from_slice(x);
            rows.extend_from_slice(row);
        }
        (xs, rows)
    };
    let mut found = Rows::new();
    let streamed = stream(problem, settings, shard, &recall, &mut |progress| {
        let axes = problem.axes().len();
        let pairs = progress
            .xs
            .chunks(axes)
            .zip(progress.rows.chunks(problem.width()));
        for (design, (x, row)) in progress.block.clone().zip(pairs) {
            assert!(
                found.insert(design, (x.to_vec(), row.to_vec())).is_none(),
                "design {design} came twice"
            );
        }
        if found.len() >= stop_after {
            Next::Stop
        } else {
            Next::Continue
        }
    })?;
    Ok((streamed, found))
}

fn plans() -> Vec<(&'static str, Plan)> {
    vec![
        ("CRE24", Plan::Sobol),
        ("CRE24", Plan::LatinHypercube),
        ("PVESSEL", Plan::Sobol),
        (
            "CRE25",
            Plan::Grid {
                levels: vec![9, 9, 9, 9],
            },
        ),
    ]
}

fn settings(plan: Plan) -> Settings {
    let evaluations = if plan == Plan::Sobol { 5_003 } else { 6_561 };
    Settings::new(plan, evaluations, 3)
}

/// What is let go is what would have been held.
#[test]
fn a_stream_is_the_run_that_holds_everything() {
    for (name, plan) in plans() {
        let (problem, settings) = (named(name), settings(plan));
        let whole = explore(&problem, &settings, Known::default(), &mut |_| {
            Next::Continue
        })
        .unwrap();
        let (streamed, found) =
            collect(&problem, &settings, Shard::ALL, &Rows::new(), usize::MAX).unwrap();
        assert_eq!(streamed.designs * problem.axes().len(), whole.xs.len());
        let xs: Vec<f64> = found.values().flat_map(|(x, _)| x.clone()).collect();
        let rows: Vec<f64> = found.values().flat_map(|(_, row)| row.clone()).collect();
        assert_eq!((xs, rows), (whole.xs, whole.rows), "{name}");
        assert_eq!(streamed.front, whole.front);
        assert_eq!(streamed.trace.last(), whole.trace.last());
        assert_eq!(
            (streamed.feasible, streamed.ending),
            (whole.feasible, whole.ending)
        );
        assert!(streamed.front.len() > 3, "{name}");
    }
}

/// Shards, some of them stopped and gone on with, are the whole when they are put together; known designs are not
/// evaluated again.
#[test]
fn shares_together_are_the_whole() {
    for (name, plan) in plans() {
        let (problem, settings) = (named(name), settings(plan));
        let (whole, all) =
            collect(&problem, &settings, Shard::ALL, &Rows::new(), usize::MAX).unwrap();
        let mut gathered = Rows::new();
        for index in 0..3 {
            let shard = Shard {
                index,
                count: 3,
                unit: 700,
            };
            let stop = if index == 1 { 900 } else { usize::MAX };
            let (mut part, mut found) =
                collect(&problem, &settings, shard, &Rows::new(), stop).unwrap();
            if index == 1 {
                assert_eq!(part.ending, Ending::Stopped);
                (part, found) = collect(&problem, &settings, shard, &found, usize::MAX).unwrap();
            }
            assert_eq!(part.designs, whole.designs);
            assert!(found.keys().all(|design| design / 700 % 3 == index));
            gathered.extend(found);
        }
        assert_eq!(gathered, all);
        let unknown = Counted {
            problem: &problem,
            calls: Default::default(),
        };
        let (again, found) =
            collect(&unknown, &settings, Shard::ALL, &gathered, usize::MAX).unwrap();
        assert_eq!(unknown.calls.into_inner(), 0, "everything was known");
        assert_eq!((again, found), (whole, all));
    }
}

struct Counted<'a> {
    problem: &'a dyn Problem,
    calls: std::sync::atomic::AtomicUsize,
}

impl Problem for Counted<'_> {
    fn axes(&self) -> &[Axis] {
        self.problem.axes()
    }
    fn objectives(&self) -> usize {
        self.problem.objectives()
    }
    fn constraints(&self) -> usize {
        self.problem.constraints()
    }
    fn width(&self) -> usize {
        self.problem.width()
    }
    fn evaluate(&self, x: &[f64], row: &mut [f64]) {
        self.calls
            .fetch_add(1, std::sync::atomic::Ordering::Relaxed);
        self.problem.evaluate(x, row);
    }
}

#[test]
fn designs_that_are_not_of_the_stream_are_refused() {
    let (problem, settings) = (named("CRE24"), settings(Plan::Sobol));
    let (_, mut found) = collect(&problem, &settings, Shard::ALL, &Rows::new(), 600).unwrap();
    found.get_mut(&20).unwrap().0[1] += 1e-9;
    let refused = collect(&problem, &settings, Shard::ALL, &found, usize::MAX);
    assert_eq!(refused.unwrap_err(), Error::KnownDiffers { design: 20 });
    let search = Settings::new(Plan::Search, 100, 1);
    let refused = collect(&problem, &search, Shard::ALL, &Rows::new(), usize::MAX);
    assert_eq!(refused.unwrap_err(), Error::NoStream);
}
