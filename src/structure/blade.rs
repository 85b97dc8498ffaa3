//! A straight strip that bends far in a plane: co-rotational pieces, brought to rest step by step.
//!
//! Each piece carries axes of its own that turn with its chord; in them it is a shallow arch, so that the chord's
//! shortening by the piece's own bending is counted and a dozen pieces follow a strip bent by a right angle to
//! five digits. Shear strain is left out: strips are thin.
//!
//! Source: Crisfield, Non-linear Finite Element Analysis of Solids and Structures vol. 1, 1991, chapter 7
//! (co-rotational beam with shallow-arch strain; from memory).

/// A length of strip that bends alike all along.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BladePiece {
    /// Length at rest, in mm.
    pub length_mm: f64,
    /// Stiffness against stretching E A, in N.
    pub stretch_n: f64,
    /// Stiffness against bending E I, in N mm².
    pub bend_n_mm2: f64,
}

/// A strip in equilibrium.
#[derive(Clone, Debug, PartialEq)]
pub struct Bent {
    /// How far the moved place stands across the strip, in mm.
    pub across_mm: f64,
    /// Force across that holds it there, in N.
    pub force_n: f64,
    /// Of every node: displacement along and across in mm, and turn in rad (the strip's slope).
    pub motion: Vec<[f64; 3]>,
    /// Of every piece: stretching force in N, and bending moment at its start and end in N mm, positive where the
    /// strip is hollow on its upper side.
    pub forces: Vec<[f64; 3]>,
    /// Energy stored, in N mm.
    pub energy_n_mm: f64,
}

/// Iterations of one step; steps that need more are halved.
const MOST_ITERATIONS: usize = 30;

/// Halvings of a step before it counts as having no equilibrium.
const MOST_HALVINGS: u32 = 8;

/// Greatest step, as a share of the strip's length.
const GREATEST_STEP: f64 = 0.2;

type Vector = [f64; 3];
type Matrix = [[f64; 3]; 3];

impl Bent {
    /// A strip of so many pieces at rest.
    pub fn at_rest(pieces: usize) -> Bent {
        Bent {
            across_mm: 0.0,
            force_n: 0.0,
            motion: vec![[0.0; 3]; pieces + 1],
            forces: vec![[0.0; 3]; pieces],
            energy_n_mm: 0.0,
        }
    }

    /// The strip bent as far to the other side, as a straight one may be.
    pub fn mirrored(mut self) -> Bent {
        self.across_mm = -self.across_mm;
        self.force_n = -self.force_n;
        for row in &mut self.motion {
            row[1] = -row[1];
            row[2] = -row[2];
        }
        for row in &mut self.forces {
            row[1] = -row[1];
            row[2] = -row[2];
        }
        self
    }

    /// The strip with `node` moved across to `across_mm`, followed in steps from this state on; `None` where no
    /// stable equilibrium is found on the way.
    ///
    /// `pieces` in order from node 0; `holds` says for every node whether it is held along, across and against
    /// turning. `node` itself is not held across.
    pub fn moved_to(
        &self,
        pieces: &[BladePiece],
        holds: &[[bool; 3]],
        node: usize,
        across_mm: f64,
    ) -> Option<Bent> {
        let length: f64 = pieces.iter().map(|piece| piece.length_mm).sum();
        let whole = (across_mm - self.across_mm).abs();
        let least = (whole / (GREATEST_STEP * length)).ceil().clamp(1.0, 1e3);
        let mut step = (across_mm - self.across_mm) / least;
        let smallest = step.abs() * 0.5_f64.powi(MOST_HALVINGS as i32);
        let mut holds = holds.to_vec();
        holds[node][1] = true;
        let mut state = self.clone();
        loop {
            let left = across_mm - state.across_mm;
            let next = if left.abs() <= 1.000_001 * step.abs() {
                across_mm
            } else {
                state.across_mm + step
            };
            match settle(pieces, &holds, node, next, &state) {
                Some(found) => state = found,
                None if step.abs() > smallest => step *= 0.5,
                None => return None,
            }
            if state.across_mm == across_mm {
                return Some(state);
            }
        }
    }
}

/// One step: Newton's method from a state near by.
fn settle(
    pieces: &[BladePiece],
    holds: &[[bool; 3]],
    node: usize,
    across_mm: f64,
    from: &Bent,
) -> Option<Bent> {
    let length: f64 = pieces.iter().map(|piece| piece.length_mm).sum();
    let mut state = from.clone();
    let mut push = across_mm - state.across_mm;
    state.across_mm = across_mm;
    let mut last = f64::INFINITY;
    for _ in 0..MOST_ITERATIONS {
        let mut chain = Chain::of(pieces, &state.motion);
        let step = chain.step(holds, (node, push))?;
        push = 0.0;
        // A strip never bends farther than this in one iteration; beyond it the chords' turns lose their count.
        let turn = step.iter().map(|row| row[2].abs()).fold(0.0, f64::max);
        if !(turn < 3.0) {
            return None;
        }
        for (row, change) in state.motion.iter_mut().zip(&step) {
            for k in 0..3 {
                row[k] += change[k];
            }
        }
        let size = step
            .iter()
            .map(|row| (row[0].abs().max(row[1].abs()) / length).max(row[2].abs()))
            .fold(0.0, f64::max);
        // Newton's steps shrink with their square, so the one after a step of 1e-7 is lost in rounding.
        if size < 1e-7 && size <= last {
            let chain = Chain::of(pieces, &state.motion);
            state.force_n = chain.residual[node][1];
            state.energy_n_mm = chain.energy;
            state.forces = chain.forces;
            return Some(state);
        }
        last = size;
    }
    None
}

/// Forces and stiffness of the pieces joined, node by node.
struct Chain {
    /// Force of the pieces on what moves the node.
    residual: Vec<Vector>,
    /// Blocks on the diagonal, and from each node to the next.
    diagonal: Vec<Matrix>,
    next: Vec<Matrix>,
    forces: Vec<Vector>,
    energy: f64,
}

impl Chain {
    fn of(pieces: &[BladePiece], motion: &[Vector]) -> Chain {
        let nodes = motion.len();
        let mut chain = Chain {
            residual: vec![[0.0; 3]; nodes],
            diagonal: vec![[[0.0; 3]; 3]; nodes],
            next: vec![[[0.0; 3]; 3]; pieces.len()],
            forces: Vec::with_capacity(pieces.len()),
            energy: 0.0,
        };
        for (index, piece) in pieces.iter().enumerate() {
            let (force, stiffness) = chain.piece(piece, &motion[index], &motion[index + 1]);
            for i in 0..3 {
                chain.residual[index][i] += force[i];
                chain.residual[index + 1][i] += force[3 + i];
                for j in 0..3 {
                    chain.diagonal[index][i][j] += stiffness[i][j];
                    chain.diagonal[index + 1][i][j] += stiffness[3 + i][3 + j];
                    chain.next[index][i][j] = stiffness[i][3 + j];
                }
            }
        }
        chain
    }

    /// Forces of one piece on its nodes, and their change with the nodes' motion.
    ///
    /// Energy L EA e² / 2 + EI / (2 L) (4 a² + 4 a b + 4 b²), with a, b the turns of the ends from the chord and
    /// e = (l - L) / L + (2 a² - a b + 2 b²) / 30: the chord's stretch and the mean square of the slope.
    fn piece(
        &mut self,
        piece: &BladePiece,
        near: &Vector,
        far: &Vector,
    ) -> ([f64; 6], [[f64; 6]; 6]) {
        let rest = piece.length_mm;
        let (x, z) = (rest + far[0] - near[0], far[1] - near[1]);
        let chord = x.hypot(z);
        let (c, s) = (x / chord, z / chord);
        let slope = z.atan2(x);
        let turn = |of: f64| {
            let turn = of - slope;
            turn - std::f64::consts::TAU * (turn / std::f64::consts::TAU).round()
        };
        let (a, b) = (turn(near[2]), turn(far[2]));
        let stretch = (chord * chord - rest * rest) / (chord + rest) / rest
            + (2.0 * (a * a + b * b) - a * b) / 30.0;
        let pull = piece.stretch_n * stretch;
        let (arch_a, arch_b) = ((4.0 * a - b) / 30.0, (4.0 * b - a) / 30.0);
        let bend = piece.bend_n_mm2 / rest;
        let moment_a = bend * (4.0 * a + 2.0 * b) + pull * rest * arch_a;
        let moment_b = bend * (2.0 * a + 4.0 * b) + pull * rest * arch_b;
        self.energy +=
            0.5 * piece.stretch_n * rest * stretch * stretch + 2.0 * bend * (a * a + a * b + b * b);
        self.forces.push([pull, -moment_a, moment_b]);
        // Second derivatives of the energy by (chord, a, b).
        let ea = piece.stretch_n;
        let arch = [1.0 / rest, arch_a, arch_b];
        let mut inner = [[0.0; 3]; 3];
        for i in 0..3 {
            for j in 0..3 {
                inner[i][j] = ea * rest * arch[i] * arch[j];
            }
        }
        inner[1][1] += 4.0 * bend + 4.0 * pull * rest / 30.0;
        inner[2][2] += 4.0 * bend + 4.0 * pull * rest / 30.0;
        inner[1][2] += 2.0 * bend - pull * rest / 30.0;
        inner[2][1] = inner[1][2];
        // First derivatives of chord, a, b by the motion of the ends.
        let along = [-c, -s, 0.0, c, s, 0.0];
        let across = [s, -c, 0.0, -s, c, 0.0];
        let mut by = [along, [0.0; 6], [0.0; 6]];
        for k in 0..6 {
            by[1][k] = -across[k] / chord;
            by[2][k] = -across[k] / chord;
        }
        by[1][2] += 1.0;
        by[2][5] += 1.0;
        let inward = [pull, moment_a, moment_b];
        let mut force = [0.0; 6];
        let mut stiffness = [[0.0; 6]; 6];
        let lever = (moment_a + moment_b) / (chord * chord);
        for i in 0..6 {
            force[i] = (0..3).map(|m| by[m][i] * inward[m]).sum();
            for j in 0..6 {
                let mut sum = pull * across[i] * across[j] / chord
                    + lever * (along[i] * across[j] + across[i] * along[j]);
                for m in 0..3 {
                    for n in 0..3 {
                        sum += by[m][i] * inner[m][n] * by[n][j];
                    }
                }
                stiffness[i][j] = sum;
            }
        }
        (force, stiffness)
    }

    /// Newton's step with one node pushed across; `None` where the held strip is not stiff in every direction.
    fn step(&mut self, holds: &[[bool; 3]], (node, push): (usize, f64)) -> Option<Vec<Vector>> {
        let nodes = self.residual.len();
        let mut right: Vec<Vector> = self
            .residual
            .iter()
            .map(|row| row.map(|value| -value))
            .collect();
        for i in 0..3 {
            right[node][i] -= self.diagonal[node][i][1] * push;
            if node > 0 {
                right[node - 1][i] -= self.next[node - 1][i][1] * push;
            }
            if node + 1 < nodes {
                right[node + 1][i] -= self.next[node][1][i] * push;
            }
        }
        for at in 0..nodes {
            for k in (0..3).filter(|&k| holds[at][k]) {
                right[at][k] = if at == node && k == 1 { push } else { 0.0 };
                for j in 0..3 {
                    self.diagonal[at][k][j] = 0.0;
                    self.diagonal[at][j][k] = 0.0;
                    if at > 0 {
                        self.next[at - 1][j][k] = 0.0;
                    }
                    if at + 1 < nodes {
                        self.next[at][k][j] = 0.0;
                    }
                }
                self.diagonal[at][k][k] = 1.0;
            }
        }
        // Elimination from the first node to the last.
        let mut inverses = Vec::with_capacity(nodes);
        for at in 0..nodes {
            let inverse = inverse(&self.diagonal[at])?;
            if at + 1 < nodes {
                let next = self.next[at];
                let carried = times(&inverse, &next);
                let given = apply(&inverse, &right[at]);
                for i in 0..3 {
                    for k in 0..3 {
                        right[at + 1][i] -= next[k][i] * given[k];
                        for j in 0..3 {
                            self.diagonal[at + 1][i][j] -= next[k][i] * carried[k][j];
                        }
                    }
                }
            }
            inverses.push(inverse);
        }
        let mut step = vec![[0.0; 3]; nodes];
        for at in (0..nodes).rev() {
            let mut row = right[at];
            if at + 1 < nodes {
                let pulled = apply(&self.next[at], &step[at + 1]);
                for i in 0..3 {
                    row[i] -= pulled[i];
                }
            }
            step[at] = apply(&inverses[at], &row);
        }
        Some(step)
    }
}

/// Inverse of a symmetric positive definite block; `None` where it is not.
fn inverse(m: &Matrix) -> Option<Matrix> {
    let minor = m[0][0] * m[1][1] - m[0][1] * m[0][1];
    let cofactor = |i: usize, j: usize| {
        let (a, b) = ((i + 1) % 3, (i + 2) % 3);
        let (c, d) = ((j + 1) % 3, (j + 2) % 3);
        m[a][c] * m[b][d] - m[a][d] * m[b][c]
    };
    let whole = m[0][0] * cofactor(0, 0) + m[0][1] * cofactor(0, 1) + m[0][2] * cofactor(0, 2);
    let positive = m[0][0] > 0.0 && minor > 1e-14 * m[0][0] * m[1][1].abs() && whole > 0.0;
    positive.then(|| {
        let mut inverse = [[0.0; 3]; 3];
        for i in 0..3 {
            for j in 0..3 {
                inverse[i][j] = cofactor(j, i) / whole;
            }
        }
        inverse
    })
}

fn times(a: &Matrix, b: &Matrix) -> Matrix {
    let mut product = [[0.0; 3]; 3];
    for i in 0..3 {
        for j in 0..3 {
            product[i][j] = (0..3).map(|k| a[i][k] * b[k][j]).sum();
        }
    }
    product
}

fn apply(a: &Matrix, v: &Vector) -> Vector {
    [0, 1, 2].map(|i| a[i][0] * v[0] + a[i][1] * v[1] + a[i][2] * v[2])
}
