//! Points in three dimensions, and what a further one would add to the volume they dominate.

/// Points in order of their third coordinate, a list for each coordinate, so that they are compared side by side.
///
/// Source: Guerreiro and Fonseca, IEEE Trans. Evol. Comput. 22(3), 2018 (the gain of one point by a sweep upward over
/// those that cut its region); the lists in place of linked ones are our own.
#[derive(Clone, Debug, Default)]
pub(super) struct Layer {
    x: Vec<f64>,
    y: Vec<f64>,
    z: Vec<f64>,
    room: Room,
}

/// Points compared side by side.
const LANES: usize = 8;

impl Layer {
    /// Points sorted by their third coordinate.
    pub(super) fn sorted(points: impl Iterator<Item = [f64; 3]>) -> Self {
        let mut layer = Self::default();
        for [x, y, z] in points {
            layer.x.push(x);
            layer.y.push(y);
            layer.z.push(z);
        }
        layer
    }

    /// Takes a point in and returns the volume that it adds: 0 for one that is dominated, which is left out. Points
    /// that it dominates leave. All are better than the reference.
    pub(super) fn insert(&mut self, point: [f64; 3], reference: [f64; 3]) -> f64 {
        let at = self.z.partition_point(|&z| z < point[2]);
        let added = self.gain(point, at, at, reference);
        if added > 0.0 {
            self.remove_beaten(point, at);
            self.x.insert(at, point[0]);
            self.y.insert(at, point[1]);
            self.z.insert(at, point[2]);
        }
        added
    }

    /// Volume that only the point at an index dominates.
    pub(super) fn own(&mut self, index: usize, reference: [f64; 3]) -> f64 {
        let point = [self.x[index], self.y[index], self.z[index]];
        self.gain(point, index, index + 1, reference)
    }

    /// Volume that a point adds to that of the points before `end`, none of which is above it, and of those from
    /// `start` on, none of which is below.
    fn gain(&mut self, point: [f64; 3], end: usize, start: usize, reference: [f64; 3]) -> f64 {
        pulp::Arch::new().dispatch(Gain {
            layer: self,
            point,
            end,
            start,
            reference,
        })
    }

    fn remove_beaten(&mut self, point: [f64; 3], from: usize) {
        let mut to = from;
        for k in from..self.z.len() {
            let stays = self.x[k] < point[0] || self.y[k] < point[1];
            (self.x[to], self.y[to], self.z[to]) = (self.x[k], self.y[k], self.z[k]);
            to += usize::from(stays);
        }
        self.x.truncate(to);
        self.y.truncate(to);
        self.z.truncate(to);
    }
}

/// Work done in wide registers where the processor has them; no bit changes, since nothing is reordered or fused.
struct Gain<'l> {
    layer: &'l mut Layer,
    point: [f64; 3],
    end: usize,
    start: usize,
    reference: [f64; 3],
}

impl pulp::WithSimd for Gain<'_> {
    type Output = f64;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> f64 {
        let Layer { x, y, z, room } = self.layer;
        let [right, top] = limits(&x[..self.end], &y[..self.end], self.point);
        let (right, top) = (right.min(self.reference[0]), top.min(self.reference[1]));
        if right <= self.point[0] || top <= self.point[1] {
            return 0.0;
        }
        room.open(self.point, right, top);
        near(&x[..self.end], &y[..self.end], right, top, |k| {
            room.corners.push((x[k], y[k]));
            true
        });
        room.tidy();
        let (mut volume, mut height) = (0.0, self.point[2]);
        near(&x[self.start..], &y[self.start..], right, top, |k| {
            let k = self.start + k;
            let area = room.area;
            if room.cut(x[k], y[k]) {
                volume += area * (z[k] - height);
                height = z[k];
            }
            room.area > 0.0
        });
        volume + room.area * (self.reference[2] - height)
    }
}

/// How far to the right and up the free region of a point reaches before points not above it.
#[inline(always)]
fn limits(x: &[f64], y: &[f64], point: [f64; 3]) -> [f64; 2] {
    let least = |a: f64, b: f64| if b < a { b } else { a };
    let mut rights = [f64::INFINITY; LANES];
    let mut tops = [f64::INFINITY; LANES];
    let whole = x.len() / LANES * LANES;
    for (x, y) in x.chunks_exact(LANES).zip(y.chunks_exact(LANES)) {
        for k in 0..LANES {
            let right = if y[k] <= point[1] {
                x[k]
            } else {
                f64::INFINITY
            };
            let top = if x[k] <= point[0] {
                y[k]
            } else {
                f64::INFINITY
            };
            rights[k] = least(rights[k], right);
            tops[k] = least(tops[k], top);
        }
    }
    for (&x, &y) in x[whole..].iter().zip(&y[whole..]) {
        if y <= point[1] {
            rights[0] = least(rights[0], x);
        }
        if x <= point[0] {
            tops[0] = least(tops[0], y);
        }
    }
    [rights, tops].map(|lanes| lanes.into_iter().fold(f64::INFINITY, least))
}

/// Visits the points below both limits in order, until the visitor has had enough.
#[inline(always)]
fn near(x: &[f64], y: &[f64], right: f64, top: f64, mut visit: impl FnMut(usize) -> bool) {
    let (mut xs, mut ys) = (x.chunks(LANES), y.chunks(LANES));
    let mut first = 0;
    while let (Some(x), Some(y)) = (xs.next(), ys.next()) {
        let inside = |k: usize| (x[k] < right) & (y[k] < top);
        let any = if x.len() == LANES {
            let mut any = false;
            for k in 0..LANES {
                any |= inside(k);
            }
            any
        } else {
            true
        };
        if any {
            for k in 0..x.len() {
                if inside(k) && !visit(first + k) {
                    return;
                }
            }
        }
        first += LANES;
    }
}

/// The free region of a point in the plane of the first two coordinates: a rectangle less what lies above and right
/// of its corners.
#[derive(Clone, Debug, Default)]
struct Room {
    left: f64,
    bottom: f64,
    right: f64,
    top: f64,
    /// The first coordinate rises, the second falls.
    corners: Vec<(f64, f64)>,
    area: f64,
}

impl Room {
    fn open(&mut self, point: [f64; 3], right: f64, top: f64) {
        (self.left, self.bottom) = (point[0], point[1]);
        (self.right, self.top) = (right, top);
        self.corners.clear();
    }

    /// Sorts corners collected in any order and drops those that others make needless.
    fn tidy(&mut self) {
        self.corners
            .sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let mut level = f64::INFINITY;
        self.corners.retain(|corner| {
            let lower = corner.1 < level;
            level = level.min(corner.1);
            lower
        });
        self.measure();
    }

    fn measure(&mut self) {
        let (mut area, mut from, mut level) = (0.0, self.left, self.top);
        for &(x, y) in &self.corners {
            area += (x - from) * (level - self.bottom);
            (from, level) = (x, y);
        }
        self.area = area + (self.right - from) * (level - self.bottom);
    }

    /// Takes what lies above and right of a place out of the region; says whether that changed it.
    #[inline(always)]
    fn cut(&mut self, x: f64, y: f64) -> bool {
        if x >= self.right || y >= self.top {
            return false;
        }
        match (x > self.left, y > self.bottom) {
            (false, false) => self.area = 0.0,
            (true, false) => {
                let left = self.corners.partition_point(|corner| corner.0 < x);
                self.corners.truncate(left);
                self.right = x;
                self.measure();
            }
            (false, true) => {
                let above = self.corners.partition_point(|corner| corner.1 >= y);
                self.corners.drain(..above);
                self.top = y;
                self.measure();
            }
            (true, true) => return self.add_corner(x, y),
        }
        true
    }

    fn add_corner(&mut self, x: f64, y: f64) -> bool {
        let at = self.corners.partition_point(|corner| corner.0 <= x);
        let mut level = at
            .checked_sub(1)
            .map_or(self.top, |before| self.corners[before].1);
        if level <= y {
            return false;
        }
        let (mut from, mut end) = (x, at);
        while let Some(&(next, below)) = self.corners.get(end).filter(|corner| corner.1 >= y) {
            self.area -= (next - from) * (level - y);
            (from, level) = (next, below);
            end += 1;
        }
        let to = self.corners.get(end).map_or(self.right, |corner| corner.0);
        self.area -= (to - from) * (level - y);
        self.corners.splice(at..end, [(x, y)]);
        true
    }
}
