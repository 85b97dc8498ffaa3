//! The speeds of a chain of moves, as a control looks ahead.
//!
//! Every move is a trapezoid of speed over time, bounded by its feed or the rapid rate of each axis, by the
//! acceleration in the plane and along z, on arcs by the same acceleration toward the centre. At a corner the tool
//! keeps the speed at which a rounding would stay within the machine's corner deviation; it stops at sharp turns, at
//! waits, at both ends of the chain, and of every rapid move, which is a positioning. Along a bend the accelerations
//! along the way and toward the centre are bounded each for itself, not their sum. Jerk is left out.

use super::motion::{arc_speed_mm_s, corner_speed_mm_s, trapezoid_s};
use super::path::{Motion, Move};
use super::tooling::Limits;

/// Works out speeds and times of a chain of moves that starts and ends at rest.
pub(super) fn look_ahead(moves: &mut [Move], limits: &Limits) {
    for each in moves.iter_mut().filter(|each| each.motion != Motion::Wait) {
        bound(each, limits);
    }
    let count = moves.len();
    // Fastest at the joints, then what can be reached from the joint before, then what can be braked from.
    let mut joints = vec![0.0; count + 1];
    for at in 1..count {
        joints[at] = joint(&moves[at - 1], &moves[at], limits);
        joints[at] = f64::min(joints[at], reached(joints[at - 1], &moves[at - 1]));
    }
    for at in (1..count).rev() {
        joints[at] = f64::min(joints[at], reached(joints[at + 1], &moves[at]));
    }
    for (at, each) in moves.iter_mut().enumerate() {
        if each.motion == Motion::Wait {
            continue;
        }
        (each.enter_mm_s, each.leave_mm_s) = (joints[at], joints[at + 1]);
        each.time_s = trapezoid_s(
            each.length_mm(),
            joints[at],
            joints[at + 1],
            each.most_mm_s,
            each.acceleration_mm_s2,
        );
    }
}

/// Speed after a move that is accelerated all along.
fn reached(speed: f64, each: &Move) -> f64 {
    (speed * speed + 2.0 * each.acceleration_mm_s2 * each.length_mm()).sqrt()
}

/// Highest speed and acceleration on one move: the axis that has most to do bounds both.
fn bound(each: &mut Move, limits: &Limits) {
    let (flat, down) = each.extents();
    let length = flat.hypot(down);
    let within = |flat_most: f64, down_most: f64| {
        let share = |part: f64, most: f64| {
            if part > 0.0 {
                most * length / part
            } else {
                f64::INFINITY
            }
        };
        share(flat, flat_most).min(share(down.abs(), down_most))
    };
    each.acceleration_mm_s2 = within(limits.acceleration_xy, limits.acceleration_z);
    let bend = arc_speed_mm_s(each.radius_mm(), limits.acceleration_xy);
    let fastest = match each.motion {
        Motion::Rapid => within(limits.rapid_xy, limits.rapid_z),
        _ => each.most_mm_s,
    };
    each.most_mm_s = fastest.min(within(bend, f64::INFINITY));
}

/// Highest speed from one move to the next.
fn joint(before: &Move, after: &Move, limits: &Limits) -> f64 {
    if before.motion != Motion::Feed || after.motion != Motion::Feed {
        return 0.0;
    }
    let (from, to) = (before.directions()[1], after.directions()[0]);
    let dot: f64 = (0..3).map(|at| from[at] * to[at]).sum();
    let cross = [
        from[1] * to[2] - from[2] * to[1],
        from[2] * to[0] - from[0] * to[2],
        from[0] * to[1] - from[1] * to[0],
    ];
    // By both sine and cosine: the cosine alone is blind to small turns.
    let turn = cross
        .iter()
        .map(|part| part * part)
        .sum::<f64>()
        .sqrt()
        .atan2(dot);
    let acceleration = before.acceleration_mm_s2.min(after.acceleration_mm_s2);
    corner_speed_mm_s(turn, acceleration, limits.corner_deviation)
        .min(before.most_mm_s)
        .min(after.most_mm_s)
}

#[cfg(test)]
mod tests {
    use super::super::path::Route;
    use super::*;

    fn limits() -> Limits {
        let machine = crate::catalogue::Catalogue::builtin()
            .machine("small_vmc")
            .expect("in the catalogue")
            .clone();
        Limits::of(&crate::catalogue::Machine {
            acceleration_xy_m_s2: 1.0,
            acceleration_z_m_s2: 1.0,
            ..machine
        })
    }

    fn timed(route: Route) -> Vec<Move> {
        let mut moves = route.moves;
        look_ahead(&mut moves, &limits());
        moves
    }

    #[track_caller]
    fn check(value: f64, by_hand: f64) {
        assert!((value - by_hand).abs() < 1e-5, "{value} {by_hand}");
    }

    /// 10 mm, a quarter circle of 1 mm radius, 10 mm, at 100 mm/s and 1000 mm/s²: around the bend at √1000 = 31.623
    /// mm/s. A line takes (200 - 31.623)/1000 + (10 - 19000/2000)/100 = 0.173377 s, the bend 1.570796/31.623 =
    /// 0.049673 s. Own calculation.
    #[test]
    fn a_bend_between_lines() {
        let mut route = Route::from([0.0; 3]);
        route.line([10.0, 0.0], 0.0, 100.0);
        route.arc([10.0, 1.0], std::f64::consts::FRAC_PI_2, 0.0, 100.0);
        route.line([11.0, 11.0], 0.0, 100.0);
        let moves = timed(route);
        check(moves[0].time_s, 0.173_377);
        check(moves[1].time_s, 0.049_673);
        check(moves[2].time_s, 0.173_377);
        check(moves[0].leave_mm_s, 31.622_777);
    }

    /// Two lines of 10 mm at a right angle: the corner at √(1000 · 0.01 / 0.414214) = 4.913465 mm/s; each line takes
    /// (200 - 4.913465)/1000 + (10 - (20000 - 24.1421)/2000)/100 = 0.195207 s. Own calculation.
    #[test]
    fn a_square_corner() {
        let mut route = Route::from([0.0; 3]);
        route.line([10.0, 0.0], 0.0, 100.0);
        route.line([10.0, 10.0], 0.0, 100.0);
        let moves = timed(route);
        check(moves[0].leave_mm_s, 4.913_465);
        check(moves[0].time_s, 0.195_207);
        check(moves[1].time_s, 0.195_207);
    }

    /// A hundred lines of 0.1 mm in a row are one line of 10 mm: speed is carried through.
    #[test]
    fn many_short_moves_are_one_long_one() {
        let mut short = Route::from([0.0; 3]);
        for step in 1..=100 {
            short.line([0.1 * f64::from(step), 0.0], 0.0, 50.0);
        }
        let sum: f64 = timed(short).iter().map(|each| each.time_s).sum();
        check(sum, 10.0 / 50.0 + 50.0 / 1000.0);
    }

    /// Feed and rapid meet at rest, and every rapid move ends at rest.
    #[test]
    fn the_tool_stops_where_it_must() {
        let mut route = Route::from([0.0; 3]);
        route.line([10.0, 0.0], 0.0, 100.0);
        route.over([20.0, 0.0]);
        route.over([10.0, 0.0]);
        let moves = timed(route);
        assert_eq!(moves[0].leave_mm_s, 0.0);
        assert_eq!(moves[1].leave_mm_s, 0.0);
    }
}
