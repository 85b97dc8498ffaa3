//! Filter and hypervolume of many points beside a general library: `cargo bench --bench filter`.
//!
//! Writes `results/benchmarks/filter.md`. The library's figures were measured elsewhere
//! (`tests/data/optimiser/filter_hypervolume_time.csv`) over clouds of the same kind and size, on a nearly quiet machine;
//! a figure of one machine beside that of another is a rough comparison.

use std::fmt::Write;
use std::hint::black_box;
use std::time::Instant;

use fretwork::explore::{contributions, front, hypervolume};
use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;

/// Least time of this many runs.
const RUNS: usize = 7;

const HEAD: &str = "# Filter of non-dominated points, and hypervolume

Least of 7 runs, one thread, beside a general library's least time (measured over clouds of the same
kind and size on another machine: `tests/data/optimiser/filter_hypervolume_time.csv`; below 1 is faster than that).
Made by `cargo bench --bench filter`. Reference point 1.1 in every objective. Clouds: *uniform* in the unit cube;
*shell* just outside the unit sphere, so that many are not dominated; *linear* on the plane of sum 1, *concave* on the
unit sphere, *convex* on its mirror image.
";

struct Random(Pcg64Mcg);

impl Random {
    fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        let length = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        length * (std::f64::consts::TAU * self.unit()).cos()
    }
}

fn cloud(kind: &str, count: usize, width: usize) -> Vec<f64> {
    let mut random = Random(Pcg64Mcg::seed_from_u64(42));
    let mut points = Vec::with_capacity(count * width);
    for _ in 0..count {
        let raw: Vec<f64> = match kind {
            "uniform" => (0..width).map(|_| random.unit()).collect(),
            "linear" => (0..width).map(|_| -(1.0 - random.unit()).ln()).collect(),
            _ => (0..width).map(|_| random.normal().abs()).collect(),
        };
        let size = match kind {
            "uniform" => 1.0,
            "linear" => raw.iter().sum(),
            _ => raw.iter().map(|p| p * p).sum::<f64>().sqrt(),
        };
        let stretch = if kind == "shell" {
            1.0 + SHELL * random.unit().powi(2)
        } else {
            1.0
        };
        points.extend(raw.iter().map(|p| match kind {
            "convex" => 1.0 - p / size,
            _ => p / size * stretch,
        }));
    }
    points
}

/// Thickness of a shell: chosen for as many non-dominated points as the library's clouds had.
const SHELL: f64 = 0.2;

fn least_time<T>(mut work: impl FnMut() -> T) -> (f64, T) {
    let mut least = f64::INFINITY;
    let mut result = work();
    for _ in 0..RUNS {
        let start = Instant::now();
        result = black_box(work());
        least = least.min(start.elapsed().as_secs_f64());
    }
    (least, result)
}

/// The library's least time for a row of the table.
fn library(kind: &str, count: usize, width: usize, cloud: &str) -> f64 {
    let table = include_str!("../tests/data/optimiser/filter_hypervolume_time.csv");
    let name = format!("{kind},{count},{width},{cloud},");
    let row = table
        .lines()
        .find(|row| row.starts_with(&name))
        .expect("a row of the table");
    row.split(',')
        .nth(6)
        .and_then(|cell| cell.parse().ok())
        .expect("a time")
}

fn main() {
    let mut text = String::from(HEAD);
    let line = |text: &mut String, cells: std::fmt::Arguments<'_>| {
        writeln!(text, "{cells}").expect("text grows")
    };
    line(
        &mut text,
        format_args!(
            "\n## Filter\n\n| points | objectives | cloud | left | s | library, s | ratio |\n|---|---|---|---|---|---|---|"
        ),
    );
    for kind in ["uniform", "shell"] {
        for count in [100_000, 1_000_000] {
            for width in [2, 3, 4] {
                let points = cloud(kind, count, width);
                let (time, left) = least_time(|| front(black_box(&points), width).len());
                let other = library("filter", count, width, kind);
                line(
                    &mut text,
                    format_args!(
                        "| {count} | {width} | {kind} | {left} | {time:.4} | {other:.4} | {:.2} |",
                        time / other
                    ),
                );
            }
        }
    }
    line(
        &mut text,
        format_args!(
            "\n## Hypervolume\n\n| points | objectives | cloud | volume | ms | library, ms | ratio | all contributions, ms |\n|---|---|---|---|---|---|---|---|"
        ),
    );
    for count in [1_000, 10_000] {
        for width in [2, 3, 4] {
            for kind in ["linear", "concave", "convex"] {
                let points = cloud(kind, count, width);
                let reference = vec![1.1; width];
                let (time, volume) = least_time(|| hypervolume(black_box(&points), &reference));
                let other = library("hv", count, width, kind);
                let own = if width < 4 || count == 1_000 {
                    let (time, _) = least_time(|| contributions(black_box(&points), &reference));
                    format!("{:.3}", time * 1e3)
                } else {
                    String::from("-")
                };
                line(
                    &mut text,
                    format_args!(
                        "| {count} | {width} | {kind} | {volume:.6} | {:.3} | {:.3} | {:.2} | {own} |",
                        time * 1e3,
                        other * 1e3,
                        time / other
                    ),
                );
            }
        }
    }
    print!("{text}");
    if std::env::args().any(|argument| argument == "--bench") {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/results/benchmarks");
        std::fs::create_dir_all(folder).expect("a folder");
        std::fs::write(format!("{folder}/filter.md"), text).expect("a file");
    }
}
