//! Warping and shear of a section on the midlines of its plates.
//!
//! The midlines form a tree: the floor from edge to edge (from wall middle to wall middle where a wall
//! stands), walls and ribs from the floor's midline up. Each plate also bends across its own thickness, so a
//! single plate is no special case.

use super::plates::Plates;

/// What the midlines say of a section; lengths in mm, stiffnesses per unit of E (or G).
#[derive(Clone, Debug)]
pub(super) struct Midlines {
    /// Shear centre (y, z).
    pub shear_centre: (f64, f64),
    /// Pole of the sectorial coordinate.
    pole: (f64, f64),
    /// Warping constant in mm⁶, weighted by the plates' factors.
    pub warping: f64,
    /// Constant that makes the sectorial coordinate free of mean.
    constant: f64,
    floor_middle: f64,
    /// Shear flow times length gives energy: flexibility for (V_y, V_z, T_w) times G, without the holes' slip.
    pub shear: [[f64; 3]; 3],
    /// Shear flows in plate after plate.
    pub flows: Vec<Flow>,
    /// Flow over each line of holes, by line.
    pub across: Vec<[f64; 3]>,
}

/// Shear flow at a place of a plate per unit of V_y, V_z, T_w.
#[derive(Clone, Copy, Debug)]
pub(super) struct Flow {
    pub plate: usize,
    pub y: f64,
    pub z: f64,
    pub flow: [f64; 3],
    /// Whether the place is an end of the plate's section (its corners).
    pub end: bool,
}

/// A straight piece of midline with constant weight.
struct Edge {
    from: (f64, f64),
    to: (f64, f64),
    length: f64,
    /// Thickness that carries, and second moment of the thickness, per length.
    carries: f64,
    own: f64,
    standing: bool,
    /// Correction of the secondary warping of a stocky plate.
    stocky: f64,
    /// Part of the length (from, to) that gives under shear.
    clear: (f64, f64),
    plate: usize,
}

impl Edge {
    fn mean(&self, f: impl Fn((f64, f64)) -> f64) -> f64 {
        0.5 * (f(self.from) + f(self.to))
    }
    fn mean_product(&self, f: impl Fn((f64, f64)) -> f64, g: impl Fn((f64, f64)) -> f64) -> f64 {
        let (f0, f1, g0, g1) = (f(self.from), f(self.to), g(self.from), g(self.to));
        (2.0 * f0 * g0 + f0 * g1 + f1 * g0 + 2.0 * f1 * g1) / 6.0
    }
}

/// A stop on the floor's midline: where a plate stands or a line of holes runs.
#[derive(Clone, Copy)]
struct Stop {
    y: f64,
    plate: Option<usize>,
    line: Option<usize>,
}

impl Midlines {
    pub fn new(section: &Plates, curvature: f64) -> Midlines {
        let stops = stops(section);
        let edges = edges(section, &stops, curvature);
        let sectorial = |edge: &Edge, (y, z): (f64, f64)| {
            if edge.standing {
                y * (2.0 * section.floor_middle - z)
            } else {
                y * z
            }
        };
        // Moments of 1, y, z, and of the sectorial coordinate about the origin with them.
        let mut moments = [[0.0; 3]; 3];
        let mut warped = [0.0; 3];
        for edge in &edges {
            let weight = edge.carries * edge.length;
            let own = edge.own * edge.length;
            let (y, z) = (|p: (f64, f64)| p.0, |p: (f64, f64)| p.1);
            let w = |p| sectorial(edge, p);
            moments[0][0] += weight;
            moments[0][1] += weight * edge.mean(y);
            moments[0][2] += weight * edge.mean(z);
            moments[1][1] += weight * edge.mean_product(y, y);
            moments[1][2] += weight * edge.mean_product(y, z);
            moments[2][2] += weight * edge.mean_product(z, z);
            warped[0] += weight * edge.mean(w);
            warped[1] += weight * edge.mean_product(w, y);
            warped[2] += weight * edge.mean_product(w, z);
            if edge.standing {
                moments[1][1] += own;
                warped[1] += own * edge.mean(z);
            } else {
                moments[2][2] += own;
                warped[2] -= own * edge.mean(y);
            }
        }
        let inverse = inverse_symmetric(&moments);
        let free = |row: usize| -(0..3).map(|k| inverse[row][k] * warped[k]).sum::<f64>();
        let (constant, z_centre, y_centre) = (free(0), -free(1), free(2));
        let mut midlines = Midlines {
            shear_centre: (y_centre, z_centre + corner_rise(section)),
            pole: (y_centre, z_centre),
            warping: 0.0,
            constant,
            floor_middle: section.floor_middle,
            shear: [[0.0; 3]; 3],
            flows: Vec::with_capacity(2 * edges.len() + 1),
            across: vec![[0.0; 3]; section.lines.len()],
        };
        for edge in &edges {
            let w = |p| midlines.warp_on_midline(edge.standing, p);
            let arm = |p: (f64, f64)| {
                if edge.standing {
                    p.1 - z_centre
                } else {
                    p.0 - y_centre
                }
            };
            midlines.warping += edge.length
                * (edge.carries * edge.mean_product(w, w)
                    + edge.stocky * edge.own * edge.mean_product(arm, arm));
        }
        let gradients = [
            [inverse[0][1], inverse[1][1], inverse[2][1]],
            [inverse[0][2], inverse[1][2], inverse[2][2]],
        ];
        midlines.shear_flows(section, &stops, &edges, gradients);
        midlines
    }

    /// Sectorial coordinate about the shear centre at a point of a midline, in mm².
    fn warp_on_midline(&self, standing: bool, (y, z): (f64, f64)) -> f64 {
        let about_origin = if standing {
            y * (2.0 * self.floor_middle - z)
        } else {
            y * z
        };
        about_origin + self.constant - self.pole.1 * y + self.pole.0 * z
    }

    /// Sectorial coordinate at a point of a plate whose midline passes `off` mm from it, in mm².
    pub fn warp(&self, standing: bool, midline: (f64, f64), off: f64) -> f64 {
        let across = if standing {
            off * (midline.1 - self.pole.1)
        } else {
            -off * (midline.0 - self.pole.0)
        };
        self.warp_on_midline(standing, midline) + across
    }

    /// Flows that balance the growth of normal stress along the frame, and their energy.
    fn shear_flows(
        &mut self,
        section: &Plates,
        stops: &[Stop],
        edges: &[Edge],
        gradients: [[f64; 3]; 2],
    ) {
        let warping = self.warping;
        let growth = |this: &Midlines, edge: &Edge, (y, z): (f64, f64)| {
            let line = |g: &[f64; 3]| g[0] + g[1] * y + g[2] * z;
            let w = -this.warp_on_midline(edge.standing, (y, z)) / warping;
            [line(&gradients[0]), line(&gradients[1]), w]
        };
        let mut standing_total = vec![[0.0; 3]; section.plates.len()];
        // Standing plates first, from their free tips down.
        for edge in edges.iter().filter(|edge| edge.standing) {
            let (low, high) = (growth(self, edge, edge.from), growth(self, edge, edge.to));
            let mut foot = [0.0; 3];
            let mut half = [0.0; 3];
            for k in 0..3 {
                foot[k] = edge.carries * edge.length * 0.5 * (low[k] + high[k]);
                half[k] = edge.carries * edge.length * (0.125 * low[k] + 0.375 * high[k]);
            }
            standing_total[edge.plate] = foot;
            self.add_energy(section, edge, [foot, half, [0.0; 3]], &gradients);
            let y = edge.from.0;
            self.flows.push(Flow {
                plate: edge.plate,
                y,
                z: edge.from.1,
                flow: foot,
                end: true,
            });
            self.flows.push(Flow {
                plate: edge.plate,
                y,
                z: edge.to.1,
                flow: [0.0; 3],
                end: true,
            });
            for (index, line) in section.lines.iter().enumerate() {
                if line.plate == edge.plate {
                    let t = ((line.z - edge.from.1) / edge.length).clamp(0.0, 1.0);
                    self.across[index] = quadratic([foot, half, [0.0; 3]], t);
                }
            }
        }
        // Then along the floor.
        let mut gathered = [0.0; 3];
        let mut floor = edges.iter().filter(|edge| !edge.standing);
        for (index, stop) in stops.iter().enumerate() {
            if let Some(plate) = stop.plate {
                for k in 0..3 {
                    gathered[k] += standing_total[plate][k];
                }
            }
            let flow = gathered.map(|value| -value);
            if let Some(line) = stop.line {
                self.across[line] = flow;
            }
            self.flows.push(Flow {
                plate: 0,
                y: stop.y,
                z: self.floor_middle,
                flow,
                end: index == 0,
            });
            if index + 1 == stops.len() {
                break;
            }
            let Some(edge) = floor.next() else { break };
            let (left, right) = (growth(self, edge, edge.from), growth(self, edge, edge.to));
            let mut values = [flow; 3];
            for k in 0..3 {
                let weight = edge.carries * edge.length;
                values[1][k] -= weight * (0.375 * left[k] + 0.125 * right[k]);
                values[2][k] -= weight * 0.5 * (left[k] + right[k]);
                gathered[k] = -values[2][k];
            }
            self.add_energy(section, edge, values, &gradients);
        }
        if let Some(last) = self.flows.last_mut() {
            last.end = true;
        }
    }

    /// Adds the energy of a flow given at the start, middle and end of an edge, and of the shear across the
    /// plate's thickness.
    fn add_energy(
        &mut self,
        section: &Plates,
        edge: &Edge,
        values: [[f64; 3]; 3],
        gradients: &[[f64; 3]; 2],
    ) {
        let plate = &section.plates[edge.plate];
        let thickness = plate.thickness();
        // Where two plates cross, the metal of both carries the flow: half of that length gives
        // (none or all of it misses the shear areas of sections.csv by 10 % either way).
        let (from, to) = edge.clear;
        let factor = edge.length * (to - from) / (30.0 * thickness);
        let [a, b, c] = [from, 0.5 * (from + to), to].map(|t| quadratic(values, t));
        for i in 0..3 {
            for j in 0..3 {
                self.shear[i][j] += factor
                    * (4.0 * (a[i] * a[j] + c[i] * c[j])
                        + 16.0 * b[i] * b[j]
                        + 2.0 * (a[i] * b[j] + b[i] * a[j] + b[i] * c[j] + c[i] * b[j])
                        - (a[i] * c[j] + c[i] * a[j]));
            }
        }
        let across = if edge.standing { 1 } else { 2 };
        let own = edge.own * edge.own * edge.length / (5.0 / 6.0 * thickness);
        for i in 0..2 {
            for j in 0..2 {
                self.shear[i][j] += own * gradients[i][across] * gradients[j][across];
            }
        }
    }
}

fn quadratic(values: [[f64; 3]; 3], t: f64) -> [f64; 3] {
    let weights = [
        (1.0 - t) * (1.0 - 2.0 * t),
        4.0 * t * (1.0 - t),
        t * (2.0 * t - 1.0),
    ];
    let mut out = [0.0; 3];
    for (value, weight) in values.iter().zip(weights) {
        for k in 0..3 {
            out[k] += weight * value[k];
        }
    }
    out
}

fn stops(section: &Plates) -> Vec<Stop> {
    let floor = &section.plates[0];
    let mut stops = Vec::with_capacity(section.plates.len() + section.lines.len() + 2);
    let at = |y, plate, line| Stop { y, plate, line };
    let (mut low, mut high) = (true, true);
    for (index, plate) in section.plates.iter().enumerate().skip(1) {
        let y = plate.middle().0;
        low &= plate.y.0 > floor.y.0;
        high &= plate.y.1 < floor.y.1;
        stops.push(at(y, Some(index), None));
    }
    for (index, line) in section.lines.iter().enumerate() {
        if line.plate == 0 && line.y > floor.y.0 && line.y < floor.y.1 {
            stops.push(at(line.y, None, Some(index)));
        }
    }
    if low {
        stops.push(at(floor.y.0, None, None));
    }
    if high {
        stops.push(at(floor.y.1, None, None));
    }
    if stops.iter().all(|stop| stop.line.is_none()) {
        stops.push(at(floor.middle().0, None, None));
    }
    stops.sort_by(|a, b| a.y.total_cmp(&b.y));
    stops
}

fn edges(section: &Plates, stops: &[Stop], curvature: f64) -> Vec<Edge> {
    let mut edges = Vec::with_capacity(stops.len() + section.plates.len());
    for (index, plate) in section.plates.iter().enumerate() {
        let thickness = plate.thickness();
        let ratio = (thickness / plate.length()).min(plate.length() / thickness);
        let mut edge = |from: (f64, f64), to: (f64, f64), clear: (f64, f64)| {
            let weight = 1.0 / (1.0 - curvature * 0.5 * (from.0 + to.0));
            edges.push(Edge {
                from,
                to,
                length: (to.0 - from.0) + (to.1 - from.1),
                carries: plate.axial * thickness * weight,
                own: plate.out_of_plane * thickness * thickness * thickness / 12.0 * weight,
                standing: plate.standing,
                stocky: secondary_warping(ratio),
                clear,
                plate: index,
            });
        };
        let foot = section.floor_middle;
        if plate.standing {
            let y = plate.middle().0;
            let joint = 0.5 * (plate.z.0 - foot) / (plate.z.1 - foot);
            edge((y, foot), (y, plate.z.1), (joint, 1.0));
        } else {
            for pair in stops.windows(2) {
                let length = pair[1].y - pair[0].y;
                let covered = |stop: &Stop| {
                    let wall = stop.plate.map(|plate| section.plates[plate].thickness());
                    (0.25 * wall.unwrap_or(0.0) / length).min(0.5)
                };
                let clear = (covered(&pair[0]), 1.0 - covered(&pair[1]));
                edge((pair[0].y, foot), (pair[1].y, foot), clear);
            }
        }
    }
    edges
}

/// Rise of the shear centre over that of the midlines: flow cuts the corner between floor and wall.
///
/// 0.077 floor thicknesses where walls or ribs stand, fitted to full-section values of seven open channels
/// (tests/data/solid/sections.csv), which it meets within 0.05 mm; the test on those is no independent check.
fn corner_rise(section: &Plates) -> f64 {
    if section.plates.len() > 1 {
        0.077 * section.plates[0].thickness()
    } else {
        0.0
    }
}

/// Warping constant of a rectangle over w³t³/144, without unit; `ratio` is the lesser side over the greater.
///
/// (1 - r²)^(4.6 - 2.2 r), not less than the square's 0.0194: fitted to Saint-Venant's series within 0.02.
fn secondary_warping(ratio: f64) -> f64 {
    (1.0 - ratio * ratio)
        .max(0.0)
        .powf(4.6 - 2.2 * ratio)
        .max(0.0194)
}

/// Inverse of a symmetric positive definite 3 x 3 matrix given by its upper triangle.
pub(super) fn inverse_symmetric(m: &[[f64; 3]; 3]) -> [[f64; 3]; 3] {
    let (a, b, c, d, e, f) = (m[0][0], m[0][1], m[0][2], m[1][1], m[1][2], m[2][2]);
    let (ca, cb, cc) = (d * f - e * e, c * e - b * f, b * e - c * d);
    let over = 1.0 / (a * ca + b * cb + c * cc);
    let (cd, ce, cf) = (a * f - c * c, b * c - a * e, a * d - b * b);
    [
        [ca * over, cb * over, cc * over],
        [cb * over, cd * over, ce * over],
        [cc * over, ce * over, cf * over],
    ]
}
