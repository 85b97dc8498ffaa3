//! Hypervolume, what each point adds to it, and the filter of non-dominated points, against counting and closed
//! forms.

use fretwork::explore::{contributions, front, hypervolume};
use rand::{Rng, SeedableRng};
use rand_pcg::Pcg64Mcg;

struct Random(Pcg64Mcg);

impl Random {
    fn new(seed: u64) -> Self {
        Self(Pcg64Mcg::seed_from_u64(seed))
    }

    fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// Points of 0 to 1.2, on so many levels an axis: few levels make ties and equal points.
fn cloud(count: usize, width: usize, levels: f64, random: &mut Random) -> Vec<f64> {
    (0..count * width)
        .map(|_| (random.unit() * 1.2 * levels).round() / levels)
        .collect()
}

/// Points on the part of the unit sphere with positive coordinates.
fn sphere(count: usize, width: usize, random: &mut Random) -> Vec<f64> {
    let mut points = Vec::new();
    while points.len() < count * width {
        let point: Vec<f64> = (0..width).map(|_| random.unit()).collect();
        let length = point.iter().map(|p| p * p).sum::<f64>().sqrt();
        if (0.1..1.0).contains(&length) {
            points.extend(point.iter().map(|p| p / length));
        }
    }
    points
}

/// By adding and subtracting the boxes of all subsets.
fn inclusion_exclusion(points: &[f64], reference: &[f64]) -> f64 {
    let width = reference.len();
    let count = points.len() / width;
    let subset = |subset: u32| {
        let corner = |axis: usize| {
            let members = (0..count).filter(|k| subset >> k & 1 == 1);
            let values = members.map(|k| points[k * width + axis]);
            values.fold(f64::NEG_INFINITY, f64::max)
        };
        let sides = (0..width).map(|axis| (reference[axis] - corner(axis)).max(0.0));
        let sign = if subset.count_ones() % 2 == 1 {
            1.0
        } else {
            -1.0
        };
        sign * sides.product::<f64>()
    };
    (1_u32..1 << count).map(subset).sum()
}

/// Every point against every other.
fn compared(points: &[f64], width: usize) -> Vec<usize> {
    let at = |k: usize| &points[k * width..(k + 1) * width];
    let beats = |a: usize, b: usize| {
        at(a).iter().zip(at(b)).all(|(a, b)| a <= b) && (at(a) != at(b) || a < b)
    };
    let count = points.len() / width;
    (0..count)
        .filter(|&k| !(0..count).any(|other| beats(other, k)))
        .collect()
}

#[test]
fn hypervolume_is_that_of_counted_boxes() {
    let mut random = Random::new(3);
    for width in 1..=5 {
        for levels in [3.0, 5.0, 1e9] {
            for _ in 0..60 {
                let points = cloud(9, width, levels, &mut random);
                let reference = vec![1.1; width];
                let (found, expected) = (
                    hypervolume(&points, &reference),
                    inclusion_exclusion(&points, &reference),
                );
                assert!(
                    (found - expected).abs() < 1e-11,
                    "{width} objectives: {found} for {expected} of {points:?}"
                );
            }
        }
    }
}

#[test]
fn contributions_are_what_the_hypervolume_loses() {
    let mut random = Random::new(17);
    for width in 1..=5 {
        for (count, levels) in [(9, 3.0), (25, 6.0), (40, 1e9)] {
            for _ in 0..12 {
                let points = cloud(count, width, levels, &mut random);
                let reference = vec![1.1; width];
                let whole = hypervolume(&points, &reference);
                for (k, found) in contributions(&points, &reference).into_iter().enumerate() {
                    let mut others = points.clone();
                    others.drain(k * width..(k + 1) * width);
                    let expected = whole - hypervolume(&others, &reference);
                    assert!(
                        (found - expected).abs() < 1e-11,
                        "{width} objectives, point {k}: {found} for {expected} of {points:?}"
                    );
                }
            }
        }
    }
}

/// Fewer boxes in one order of the axes than in another, the same volume.
#[test]
fn the_order_of_axes_and_points_does_not_matter() {
    let mut random = Random::new(5);
    for width in [3, 4] {
        let points = sphere(400, width, &mut random);
        let reference: Vec<f64> = (0..width).map(|k| 1.1 + 0.1 * k as f64).collect();
        let whole = hypervolume(&points, &reference);
        for turn in 1..width {
            let turned = |values: &[f64]| {
                let mut values = values.to_vec();
                values.rotate_left(turn);
                values
            };
            let other: Vec<f64> = points.chunks(width).rev().flat_map(turned).collect();
            let found = hypervolume(&other, &turned(&reference));
            assert!((found / whole - 1.0).abs() < 1e-12, "{found} for {whole}");
        }
    }
}

/// Zitzler, Deb and Thiele 2000 (first two), Deb, Thiele, Laumanns and Zitzler 2002: fronts in closed form, reference
/// 1.1 in every objective. A finite set gives less.
#[test]
fn closed_fronts() {
    let curve = |f: fn(f64) -> f64| -> Vec<f64> {
        let place = |k: u32| f64::from(k) / 20_000.0;
        (0..=20_000).flat_map(|k| [place(k), f(place(k))]).collect()
    };
    let sphere = |width: usize| -> Vec<f64> {
        let side = if width == 3 { 180 } else { 24_u32 };
        let angle =
            |k: u32| (f64::from(k) / f64::from(side) * std::f64::consts::FRAC_PI_2).sin_cos();
        let mut points = Vec::new();
        for code in 0..(side + 1).pow(width as u32 - 1) {
            let (mut rest, mut radius) = (code, 1.0);
            for _ in 1..width {
                let (sin, cos) = angle(rest % (side + 1));
                points.push(radius * sin);
                radius *= cos;
                rest /= side + 1;
            }
            points.push(radius);
        }
        points
    };
    // Less by half a step for every piece of the curve; the ball's part of the box by its volume.
    let ball_4 = std::f64::consts::PI.powi(2) / 32.0;
    for (points, width, limit, gap) in [
        (curve(|x| 1.0 - x.sqrt()), 2, 0.876_667, 1e-4),
        (curve(|x| 1.0 - x * x), 2, 0.543_333, 1e-4),
        (sphere(3), 3, 0.807_401, 0.012),
        (sphere(4), 4, 1.1_f64.powi(4) - ball_4, 0.07),
    ] {
        let found = hypervolume(&points, &vec![1.1; width]);
        assert!(
            found < limit + 1e-6 && found > limit - gap,
            "{found}, limit {limit}"
        );
    }
}

#[test]
fn no_point_dominates_nothing() {
    for width in 0..6 {
        assert_eq!(hypervolume(&[], &vec![1.0; width]), 0.0);
        assert!(contributions(&[], &vec![1.0; width]).is_empty());
    }
    let beyond = [2.0, 0.0, f64::NAN, 0.0, 1.0, 0.5];
    assert_eq!(hypervolume(&beyond, &[1.0, 1.0]), 0.0);
    assert_eq!(contributions(&beyond, &[1.0, 1.0]), [0.0; 3]);
    for width in 2..6 {
        let twice = vec![0.5; 2 * width];
        assert_eq!(
            hypervolume(&twice, &vec![1.0; width]),
            0.5_f64.powi(width as i32)
        );
        assert_eq!(contributions(&twice, &vec![1.0; width]), [0.0; 2]);
    }
}

#[test]
fn the_filter_leaves_what_no_other_beats() {
    let mut random = Random::new(11);
    for width in 1..=5 {
        for (count, levels) in [(7, 2.0), (300, 3.0), (2_000, 12.0), (2_000, 1e9)] {
            let points = cloud(count, width, levels, &mut random);
            assert_eq!(front(&points, width), compared(&points, width));
        }
        let mut points = sphere(1_500, width, &mut random);
        // One axis with two values only, and everything twice.
        points
            .iter_mut()
            .step_by(width)
            .for_each(|p| *p = p.round());
        points.extend_from_within(..);
        assert_eq!(front(&points, width), compared(&points, width));
    }
}

#[test]
fn the_filter_takes_any_number() {
    let points = [
        f64::NAN,
        0.0,
        0.0,
        f64::INFINITY,
        -0.0,
        f64::INFINITY,
        1.0,
        f64::NEG_INFINITY,
    ];
    assert_eq!(front(&points, 2), [1, 3]);
    assert!(front(&[], 3).is_empty());
    // Many infinite points, so that they are sorted and parted as well.
    let many: Vec<f64> = (0..3_000)
        .map(|k| {
            if k % 7 == 0 {
                f64::INFINITY
            } else {
                f64::from(k % 11)
            }
        })
        .collect();
    for width in 2..=5 {
        let many = &many[..many.len() / width * width];
        assert_eq!(front(many, width), compared(many, width));
    }
}
