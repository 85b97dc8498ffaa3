//! Strips that bend far, against the elastica.

use fretwork::part::{Boss, Layout, Part, Path, Piece, Section, Slits, Volume};
use fretwork::structure::{
    Action, Bent, BladePiece, Carried, Endurance, Frame, Loading, Metal, Model, Opening, Support,
};
use nalgebra::{DMatrix, DVector};

const BEND: f64 = 5000.0;
const LENGTH: f64 = 40.0;

/// `count` equal pieces of a strip as good as inextensible.
fn strip(length: f64, count: usize) -> Vec<BladePiece> {
    let piece = BladePiece {
        length_mm: length / count as f64,
        stretch_n: 1e9 * BEND / (length * length),
        bend_n_mm2: BEND,
    };
    vec![piece; count]
}

fn clamped(count: usize) -> Vec<[bool; 3]> {
    let mut holds = vec![[false; 3]; count + 1];
    holds[0] = [true; 3];
    holds
}

fn close(got: f64, want: f64, tolerance: f64, what: &str) {
    assert!(
        (got - want).abs() <= tolerance * want.abs(),
        "{what}: {got} is not {want}"
    );
}

/// alpha = P L^2 / (E I), tip slope in rad, sink / L, shortening / L of a cantilever under a dead load across.
///
/// Bisshopp and Drucker, Large deflection of cantilever beams, Quart. Appl. Math. 3, 1945; Mattiasson, Int. J.
/// Num. Meth. Eng. 17, 1981 (table from memory, worked anew by elliptic integrals to the digits shown).
const CANTILEVER: [[f64; 4]; 7] = [
    [0.2, 0.0996362, 0.0663645, 0.00264655],
    [0.5, 0.244534, 0.162144, 0.0159190],
    [1.0, 0.461352, 0.301721, 0.0564332],
    [2.0, 0.781750, 0.493457, 0.160642],
    [3.0, 0.986017, 0.603253, 0.254420],
    [5.0, 1.21537, 0.713792, 0.387628],
    [10.0, 1.43029, 0.810609, 0.554996],
];

/// 1e-4 at 16 pieces, as the evaluator has at least; the load grows steeply with the sink near alpha 10, so that the
/// six digits of the table alone leave 1e-5 there.
#[test]
fn cantilever_of_the_elastica() {
    for (count, tolerance) in [(16, 1e-4), (64, 2e-5)] {
        let pieces = strip(LENGTH, count);
        for [alpha, slope, sink, shortening] in CANTILEVER {
            let bent = Bent::at_rest(count)
                .moved_to(&pieces, &clamped(count), count, sink * LENGTH)
                .expect("equilibrium");
            let what = format!("{count} pieces, alpha {alpha}");
            close(
                bent.force_n * LENGTH * LENGTH / BEND,
                alpha,
                tolerance,
                &what,
            );
            let tip = bent.motion[count];
            close(tip[2], slope, tolerance, &what);
            close(-tip[0], shortening * LENGTH, tolerance, &what);
            // The clamp's moment is the load times its arm, whatever the shape between.
            let arm = LENGTH * (1.0 - shortening);
            close(-bent.forces[0][1], -bent.force_n * arm, 1e-3, &what);
        }
    }
}

/// A strip whose far end stays parallel but may slide along: by symmetry about its turning point two cantilevers of
/// half the length end to end, so the same table holds with L / 2 (Frisch-Fay, Flexible Bars, 1962; from memory).
#[test]
fn guided_strip_is_two_cantilevers() {
    let count = 32;
    let pieces = strip(LENGTH, count);
    let mut holds = clamped(count);
    holds[count] = [false, false, true];
    for [alpha, slope, sink, shortening] in CANTILEVER {
        let bent = Bent::at_rest(count)
            .moved_to(&pieces, &holds, count, sink * LENGTH)
            .expect("equilibrium");
        let half = 0.5 * LENGTH;
        let what = format!("guided, alpha {alpha}");
        close(bent.force_n * half * half / BEND, alpha, 1e-4, &what);
        close(bent.motion[count / 2][2], slope, 1e-4, &what);
        close(-bent.motion[count][0], shortening * LENGTH, 1e-4, &what);
    }
}

/// Middle load on a strip pinned at both ends, which can't draw near each other: with the pull N and k² = N / (E I),
/// w' = P / (2 N) (1 - cosh kx / cosh kl) from pin (x = l, half the length) to middle, and the pull follows from the
/// length gained, N 2 l / (E A) = the integral of w'² over one half.
///
/// Source: Timoshenko, Strength of Materials II, tie rod with lateral load (from memory), of second order in the slope:
/// 0.03 here, so 1e-3.
#[test]
fn held_at_both_ends_it_pulls_taut() {
    let (stretch, bend, half) = (820_000.0, 10_933.0, 20.0_f64);
    let k = 3.0 / half;
    let pull = bend * k * k;
    let slope = |x: f64| 1.0 - (k * x).cosh() / (k * half).cosh();
    // Simpson's rule over the half from the middle (0 slope turned round) to the pin.
    let steps = 400;
    let integral = |f: &dyn Fn(f64) -> f64| {
        let step = half / f64::from(steps);
        (0..=steps).fold(0.0, |sum, index| {
            let weight = match index {
                0 => 1.0,
                last if last == steps => 1.0,
                odd if odd % 2 == 1 => 4.0,
                _ => 2.0,
            };
            sum + weight * step / 3.0 * f(f64::from(index) * step)
        })
    };
    let squares = integral(&|x| slope(x).powi(2));
    let load = 2.0 * pull * (pull * 2.0 * half / stretch / squares).sqrt();
    let across = load / (2.0 * pull) * integral(&slope);
    let count = 32;
    let piece = BladePiece {
        length_mm: 2.0 * half / f64::from(count),
        stretch_n: stretch,
        bend_n_mm2: bend,
    };
    let count = count as usize;
    let mut holds = vec![[false; 3]; count + 1];
    holds[0] = [true, true, false];
    holds[count] = [true, true, false];
    let bent = Bent::at_rest(count)
        .moved_to(&vec![piece; count], &holds, count / 2, across)
        .expect("equilibrium");
    close(bent.force_n, load, 1e-3, "load");
    close(bent.forces[count / 2][0], pull, 1e-3, "pull");
}

/// The work of the force over the path is the energy stored, there and back.
#[test]
fn energy_is_the_work_done() {
    let count = 16;
    let pieces = strip(LENGTH, count);
    let holds = clamped(count);
    let mut state = Bent::at_rest(count);
    let steps = 200;
    let mut work = 0.0;
    for step in 1..=steps {
        let next = state
            .moved_to(&pieces, &holds, count, 20.0 * step as f64 / steps as f64)
            .expect("equilibrium");
        work += 0.5 * (next.force_n + state.force_n) * (next.across_mm - state.across_mm);
        state = next;
    }
    close(state.energy_n_mm, work, 1e-4, "energy");
    // 1e-6: rounding in the pull of a strip that hardly stretches.
    let other = Bent::at_rest(count)
        .moved_to(&pieces, &holds, count, -20.0)
        .expect("equilibrium");
    let mirrored = state.clone().mirrored();
    close(other.force_n, mirrored.force_n, 1e-6, "mirrored force");
    close(
        other.forces[0][1],
        mirrored.forces[0][1],
        1e-6,
        "mirrored moment",
    );
    close(
        other.motion[count][2],
        mirrored.motion[count][2],
        1e-6,
        "mirrored slope",
    );
    let back = state.moved_to(&pieces, &holds, count, 0.0).expect("rest");
    assert!(back.force_n.abs() < 1e-6 && back.energy_n_mm < 1e-9);
}

/// Small openings have the force 3 E I w / L^3.
#[test]
fn small_openings_are_linear() {
    let bent = Bent::at_rest(16)
        .moved_to(&strip(LENGTH, 16), &clamped(16), 16, 0.01)
        .expect("equilibrium");
    close(
        bent.force_n,
        3.0 * BEND * 0.01 / LENGTH.powi(3),
        1e-6,
        "small",
    );
}

/// What is not held anywhere has no equilibrium, and says so.
#[test]
fn loose_strips_are_refused() {
    let holds = vec![[false; 3]; 17];
    let bent = Bent::at_rest(16).moved_to(&strip(LENGTH, 16), &holds, 16, 1.0);
    assert!(bent.is_none());
}

const STEEL: Metal = Metal {
    modulus_mpa: 205_000.0,
    poisson: 0.3,
    density_t_mm3: 7.85e-9,
    yield_mpa: 1480.0,
};

/// A strip of a length and section, slit over a range where that is asked for.
fn blade(length: f64, (width, thick): (f64, f64), slits: Option<(usize, f64, (f64, f64))>) -> Part {
    let section = Section {
        width_mm: width,
        floor_mm: thick,
        outer_wall: None,
        inner_wall: None,
        ribs: Vec::new(),
        slits: None,
    };
    let slit = slits.map(|(count, width_mm, (from, to))| Boss {
        name: "split".into(),
        station_mm: 0.5 * (from + to),
        length_mm: to - from,
        section: Section {
            slits: Some(Slits {
                count,
                width_mm,
                length_mm: to - from,
            }),
            ..section.clone()
        },
        bore: None,
    });
    Part {
        path: Path::chain(vec![Piece::Line { length_mm: length }], false).expect("a line"),
        section,
        bosses: slit.into_iter().collect(),
        hole_rows: Vec::new(),
        carried: Vec::new(),
    }
}

fn model(part: &Part) -> (Layout, Model) {
    let layout = Layout::new(part, &[]).expect("layout");
    let start = part.path.pose(0.0);
    let model = Model::new(&layout, start, &STEEL, &Carried::default()).expect("model");
    (layout, model)
}

fn support(node: usize, hold_move: [bool; 3], turns: bool) -> Support {
    Support {
        node,
        frame: Frame::Path,
        hold_move,
        hold_turn: [turns; 3],
        hold_warp: turns,
    }
}

/// Supports of a blade between two clamps that stay parallel: the far one is free along `axis`, and draws near.
fn parallel_clamps(last: usize, axis: usize) -> Vec<Support> {
    let mut moves = [false, true, true];
    moves[axis] = false;
    vec![support(0, [true; 3], true), support(last, moves, true)]
}

/// A newton along an axis, midway up the strip so that nothing twists it.
fn pulled(node: usize, axis: usize, thick: f64) -> Action {
    let mut force = [0.0; 3];
    force[axis] = 1.0;
    Action {
        node,
        frame: Frame::Path,
        force,
        moment: [0.0; 3],
        offset_mm: (0.0, 0.5 * thick),
    }
}

/// Stiffness in N/mm of the far end along an axis, and greatest normal stress per N.
fn stiffness(part: &Part, supports: impl Fn(usize) -> Vec<Support>, axis: usize) -> (f64, f64) {
    let (layout, mut model) = model(part);
    let last = layout.nodes_mm.len() - 1;
    let response = model
        .solve(&Loading {
            supports: supports(last),
            actions: vec![pulled(last, axis, part.section.floor_mm)],
            acceleration: [0.0; 3],
        })
        .expect("solved");
    (
        1.0 / response.work_n_mm,
        response.strips[0].normal_mpa.abs(),
    )
}

/// Strips between two clamps that stay parallel: k = 12 n E I / L^3, stress 3 E t delta / L^2; with E 205000, t 0.5,
/// strips 6 wide, L 25, n 3: 29.52 N/mm, 492 MPa per mm; clamped at one end only 7.38 N/mm, 246 MPa per mm (beam
/// tables, from memory; worked). The blade leaves shear out: 1e-5. The exact element has it, E/G 1.2 (t/L)^2 = 0.12 %
/// between clamps: 2e-3.
#[test]
fn strips_between_parallel_clamps() {
    // Two slits of 1 mm in a width of 20 leave three strips of 6.
    let part = blade(25.0, (20.0, 0.5), Some((2, 1.0, (0.0, 25.0))));
    let (layout, mut model) = model(&part);
    let last = layout.nodes_mm.len() - 1;
    let opening = Opening {
        node: last,
        to_mm: 1e-3,
        from_mm: -1e-3,
    };
    let endurance = Endurance {
        amplitude_mpa: 700.0,
        ultimate_mpa: 1640.0,
    };
    for (supports, stiff, stress) in [
        (parallel_clamps(last, 2), 29.52, 492.0),
        (vec![support(0, [true; 3], true)], 7.38, 246.0),
    ] {
        let opened = model
            .open(&layout, &supports, &opening, Some(endurance))
            .expect("opened");
        close(opened.force_n, stiff * 1e-3, 1e-5, "force");
        close(opened.stress_mpa, stress * 1e-3, 1e-4, "stress");
        close(opened.energy_n_mm, 0.5 * stiff * 1e-6, 1e-5, "energy");
        // To and fro: only the amplitude counts.
        close(
            opened.fatigue_safety.expect("known"),
            700.0 / (stress * 1e-3),
            1e-4,
            "fatigue",
        );
    }
    let clamps = |last| parallel_clamps(last, 2);
    let (stiff, stress) = stiffness(&part, clamps, 2);
    close(stiff, 29.52, 2e-3, "exact element");
    close(stress * stiff, 492.0, 2e-3, "exact element's stress");
}

/// A width of 20 less two slits of 0.3: 31.816 against 32.8 N/mm whole; torsion constant 0.820203 whole, 0.768943 for
/// three strips (torsion of rectangles, from memory; worked). 2e-3 for shear as above, 1e-5 for the constants.
#[test]
fn slits_cost_their_width_and_some_torsion() {
    let clamps = |last| parallel_clamps(last, 2);
    let mut torsion = Vec::new();
    for (slits, want) in [(None, 32.8), (Some((2, 0.3, (0.0, 25.0))), 31.816)] {
        let part = blade(25.0, (20.0, 0.5), slits);
        close(stiffness(&part, clamps, 2).0, want, 2e-3, "flatwise");
        let (layout, model) = model(&part);
        let kind = layout.segments[0].kind;
        let properties = *model.section_properties(kind).expect("properties");
        torsion.push(properties.torsion_mm4);
        // Mass exactly: less the slits.
        let area = if slits.is_some() {
            19.4 * 0.5
        } else {
            20.0 * 0.5
        };
        close(
            Volume::of(&part, &layout).metal_mm3,
            area * 25.0,
            1e-12,
            "volume",
        );
        close(properties.mass_t_mm, area * 7.85e-9, 1e-12, "mass");
    }
    close(torsion[0], 0.820203, 1e-5, "whole");
    close(torsion[1], 0.768943, 1e-5, "three strips");
}

/// Slits as thin as can be leave bending flatwise and warping as they were (sums of the strips' own and carried parts;
/// exact identity), and take most of the stiffness edgewise.
#[test]
fn thin_slits_soften_edgewise_only() {
    let properties = |slits| {
        let (layout, model) = model(&blade(30.0, (12.0, 0.4), slits));
        *model
            .section_properties(layout.segments[0].kind)
            .expect("properties")
    };
    let (whole, slit) = (properties(None), properties(Some((3, 1e-9, (0.0, 30.0)))));
    close(slit.bending_mm4.0, whole.bending_mm4.0, 1e-8, "flatwise");
    close(
        slit.bending_mm4.1,
        whole.bending_mm4.1,
        1e-8,
        "edgewise, without the strips' S",
    );
    // The whole strip's has a correction of 0.5 % for its stocky ends, the slit one's not.
    close(slit.warping_mm6, whole.warping_mm6, 6e-3, "warping");
    close(
        slit.warping_mm6,
        (0.4_f64 * 12.0).powi(3) / 144.0,
        1e-8,
        "t³ w³ / 144",
    );
    assert!(slit.shear_areas_mm2.0 < 0.05 * whole.shear_areas_mm2.0);
}

/// Stiffness of a bar in its plane from (u, v, turn) of its ends, Timoshenko's beam with shear area 5/6.
fn bar(length: f64, (width, thick): (f64, f64)) -> DMatrix<f64> {
    let (e, g) = (STEEL.modulus_mpa, STEEL.shear_modulus_mpa());
    let (area, inertia) = (width * thick, thick * width.powi(3) / 12.0);
    let soft = 12.0 * e * inertia / (g * area / 1.2 * length * length);
    let k = e * inertia / (length.powi(3) * (1.0 + soft));
    let (a, s, m) = (e * area / length, 12.0 * k, 6.0 * k * length);
    let (near, far) = (
        (4.0 + soft) * k * length * length,
        (2.0 - soft) * k * length * length,
    );
    DMatrix::from_row_slice(
        6,
        6,
        &[
            a, 0.0, 0.0, -a, 0.0, 0.0, //
            0.0, s, m, 0.0, -s, m, //
            0.0, m, near, 0.0, -m, far, //
            -a, 0.0, 0.0, a, 0.0, 0.0, //
            0.0, -s, -m, 0.0, s, -m, //
            0.0, m, far, 0.0, -m, near,
        ],
    )
}

/// The same with ends that give: turned by M `give` / (E I) against what they stand on.
fn bar_on_roots(length: f64, section: (f64, f64), give: f64) -> DMatrix<f64> {
    let spring = STEEL.modulus_mpa * section.1 * section.0.powi(3) / 12.0 / give;
    let mut whole = DMatrix::<f64>::zeros(8, 8);
    let inner = [0, 1, 6, 3, 4, 7];
    let bar = bar(length, section);
    for i in 0..6 {
        for j in 0..6 {
            whole[(inner[i], inner[j])] += bar[(i, j)];
        }
    }
    for (outside, inside) in [(2, 6), (5, 7)] {
        whole[(outside, outside)] += spring;
        whole[(inside, inside)] += spring;
        whole[(outside, inside)] -= spring;
        whole[(inside, outside)] -= spring;
    }
    let (kept, gone) = (whole.view((0, 0), (6, 6)), whole.view((6, 6), (2, 2)));
    let between = whole.view((0, 6), (6, 2));
    let inverse = gone.into_owned().try_inverse().expect("stiff");
    kept - between * inverse * between.transpose()
}

/// A cantilever slit over its middle, pulled sideways at its tip, as a plane frame of bars between stiff joints (matrix
/// method, own computation). The roots of strips give by 0.2326 of their width where slits are thin and by 0.4775 where a
/// strip stands alone (half-plane; see the law's own test): the stiffness lies between, to 0.5 % for the roots' share in
/// the strips' even bending. The frame's greatest stress is not passed under, and over by a quarter at most (the law
/// counts a little of the strips' bending twice).
#[test]
fn edgewise_a_slit_blade_is_a_frame_of_bars() {
    for (count, kerf, (from, to)) in [
        (1, 4.0, (8.0, 30.0)),
        (2, 0.5, (4.0, 36.0)),
        (3, 1.0, (15.0, 25.0)),
    ] {
        let (length, section) = (40.0, (12.0, 0.4));
        let part = blade(length, section, Some((count, kerf, (from, to))));
        let clamp = |_| vec![support(0, [true; 3], true)];
        let (stiff, stress) = stiffness(&part, clamp, 1);

        let n = count + 1;
        let width = (section.0 - count as f64 * kerf) / n as f64;
        let frame =
            |give: f64| frame_of_bars((length, section), (from, to), (n, width, kerf), give);
        let (soft, _) = frame(0.4775 * width);
        let (hard, greatest) = frame(0.2326 * width);
        assert!(
            (0.995 * soft..1.005 * hard).contains(&stiff),
            "{count} slits: {stiff} is not between {soft} and {hard}"
        );
        let root = length * 6.0 / (section.1 * section.0.powi(2));
        let ratio = stress / greatest.max(root);
        assert!(
            (0.9999..1.25).contains(&ratio),
            "{count} slits: stress {ratio} of the frame's"
        );
    }
}

/// Stiffness in N/mm of the tip sideways, and the greatest stress in its strips per N.
fn frame_of_bars(
    (length, section): (f64, (f64, f64)),
    (from, to): (f64, f64),
    (n, width, kerf): (usize, f64, f64),
    give: f64,
) -> (f64, f64) {
    let places: Vec<f64> = (0..n)
        .map(|index| -0.5 * section.0 + 0.5 * width + index as f64 * (width + kerf))
        .collect();
    // Unknowns: root (held), both joints, tip.
    let mut whole = DMatrix::<f64>::zeros(12, 12);
    let mut add = |at: usize, part: &DMatrix<f64>| {
        for i in 0..6 {
            for j in 0..6 {
                whole[(at + i, at + j)] += part[(i, j)];
            }
        }
    };
    add(0, &bar(from, section));
    add(6, &bar(length - to, section));
    let carry = |y: f64| {
        // A bar's end at y moves along by -y times the joint's turn.
        let mut carry = DMatrix::<f64>::identity(6, 6);
        carry[(0, 2)] = -y;
        carry[(3, 5)] = -y;
        carry
    };
    let strip = bar_on_roots(to - from, (width, section.1), give);
    for &y in &places {
        let carry = carry(y);
        add(3, &(carry.transpose() * &strip * &carry));
    }
    let free = whole.view((3, 3), (9, 9)).into_owned();
    let mut load = DVector::zeros(9);
    load[7] = 1.0;
    let moved = free.lu().solve(&load).expect("frame");
    let joints = moved.rows(0, 6).into_owned();
    let mut greatest = 0.0_f64;
    for &y in &places {
        let forces = &strip * carry(y) * &joints;
        let (area, modulus) = (width * section.1, section.1 * width * width / 6.0);
        for end in [0, 3] {
            let bent = forces[end + 2].abs() / modulus;
            greatest = greatest.max(forces[end].abs() / area + bent);
        }
    }
    (1.0 / moved[7], greatest)
}

/// Two strips between clamps that hold warping twist as separate bars: each by itself, (G J_b / L) / (1 - tanh v / v)
/// with its own warping (Vlasov), and carried round flatwise, 12 E I_b y^2 / L^3 (beam table). 1e-3: the bars' own shear
/// is left out here.
#[test]
fn twisted_strips_go_separate_ways() {
    for (length, width, kerf, thick) in [
        (36.0, 12.0, 6.0, 0.3),
        (20.0, 24.0, 16.0, 0.5),
        (40.0, 6.0, 0.3, 0.4),
    ] {
        let part = blade(length, (width, thick), Some((1, kerf, (0.0, length))));
        let (layout, mut model) = model(&part);
        let mut supports = parallel_clamps(1, 2);
        // Free sideways: it turns about the strips' mid-height, not about the path on their underside.
        supports[1].hold_move = [false, false, true];
        supports[1].hold_turn[0] = false;
        let response = model
            .solve(&Loading {
                supports,
                actions: vec![Action {
                    moment: [1.0, 0.0, 0.0],
                    force: [0.0; 3],
                    ..pulled(1, 0, thick)
                }],
                acceleration: [0.0; 3],
            })
            .expect("solved");
        let (e, g) = (STEEL.modulus_mpa, STEEL.shear_modulus_mpa());
        let strip = 0.5 * (width - kerf);
        let (across, ratio) = (0.5 * (strip + kerf), thick / strip);
        let torsion = strip * thick.powi(3) / 3.0 * (1.0 - 0.630 * ratio + 0.052 * ratio.powi(5));
        let warping = (strip * thick).powi(3) / 144.0;
        let v = 0.5 * length * (g * torsion / (e * warping)).sqrt();
        let alone = g * torsion / length / (1.0 - v.tanh() / v);
        let carried = 12.0 * e * strip * thick.powi(3) / 12.0 * across * across / length.powi(3);
        close(
            1.0 / response.work_n_mm,
            2.0 * (alone + carried),
            1e-3,
            "twist",
        );
        assert_eq!(layout.nodes_mm.len(), 2);
    }
}

/// An opening as far as a third of the length takes more than the linear force where the far clamp may not draw near.
#[test]
fn far_openings_stiffen_where_the_ends_are_held() {
    let part = blade(30.0, (10.0, 0.3), None);
    let (layout, mut model) = model(&part);
    let opening = |to_mm| Opening {
        node: 1,
        to_mm,
        from_mm: 0.0,
    };
    let mut force = |axis, to| {
        let mut supports = parallel_clamps(1, 2);
        supports[1].hold_move[0] = axis;
        model
            .open(&layout, &supports, &opening(to), None)
            .expect("opened")
            .force_n
    };
    let linear = force(false, 1e-4) * 1e4;
    close(force(false, 1.0), linear, 5e-3, "free to draw near");
    assert!(
        force(true, 1.0) > 5.0 * linear,
        "held: the strip is pulled taut"
    );
}
