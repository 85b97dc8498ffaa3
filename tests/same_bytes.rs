//! The same seed gives the same designs to the bit: on any number of threads, and stopped and resumed.

mod studies_support;

use fretwork::run::{Batch, Finished, Known, Learnt, Next, Overrides, Prepared};
use studies_support::prepared;

const EVALUATIONS: usize = 1500;

fn ring() -> Prepared {
    let overrides = Overrides {
        evaluations: Some(EVALUATIONS),
        seed: Some(7),
    };
    prepared("yaw-ring", overrides)
}

/// The search on the beam alone.
fn explore(
    prepared: &Prepared,
    known: &Known,
    observer: &mut dyn FnMut(&Batch) -> Next,
) -> Result<Finished, String> {
    let mut quick = prepared.clone();
    quick.study.plan.proofs = 0;
    let recall = |range| known.of(range);
    fretwork::run::explore(&quick, &Learnt::nothing(&quick), &recall, observer)
}

fn on_threads(threads: usize, run: impl FnOnce() -> Finished + Send) -> Finished {
    rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .unwrap()
        .install(run)
}

fn bits(finished: &Finished) -> Vec<u64> {
    let designs = &finished.designs;
    let values = designs.values.iter().chain(&designs.violation);
    values
        .map(|value| value.to_bits())
        .chain(finished.front.iter().map(|&design| design as u64))
        .collect()
}

#[test]
fn any_number_of_threads() {
    let ring = ring();
    let run = |threads| {
        on_threads(threads, || {
            explore(&ring, &Known::default(), &mut |_| Next::Continue).unwrap()
        })
    };
    let one = bits(&run(1));
    assert!(!one.is_empty());
    assert!(one == bits(&run(2)), "2 threads differ from 1");
    assert!(one == bits(&run(7)), "7 threads differ from 1");
}

#[test]
fn stopped_and_resumed() {
    let ring = ring();
    let whole = on_threads(2, || {
        explore(&ring, &Known::default(), &mut |_| Next::Continue).unwrap()
    });
    let mut known = Known::default();
    let stopped = explore(&ring, &Known::default(), &mut |batch| {
        known.designs.values.extend_from_slice(batch.values);
        known.designs.violation.extend_from_slice(batch.violation);
        known.search.extend_from_slice(batch.search);
        if known.designs.len() > EVALUATIONS / 3 {
            Next::Stop
        } else {
            Next::Continue
        }
    })
    .unwrap();
    assert!(stopped.designs.len() < EVALUATIONS);
    assert_eq!(stopped.ending, "stopped on request");
    let resumed = explore(&ring, &known, &mut |_| Next::Continue).unwrap();
    assert!(bits(&whole) == bits(&resumed));
}

#[test]
fn another_seed_gives_other_designs() {
    let other = prepared(
        "yaw-ring",
        Overrides {
            evaluations: Some(EVALUATIONS),
            seed: Some(8),
        },
    );
    let run = |prepared: &Prepared| {
        bits(&explore(prepared, &Known::default(), &mut |_| Next::Continue).unwrap())
    };
    assert!(run(&ring()) != run(&other));
}
