//! Words of a drawn sheet against each other, against every line, and against the frame: measured on the outlines of the
//! letters as a general SVG library sets them, not by the crate's own bookkeeping.

use resvg::tiny_skia::{PathSegment, Point, Transform};
use resvg::usvg::{Group, Node, Options, Tree, fontdb::Database};
use std::sync::Arc;

type At = (f64, f64);

/// Words with the rectangle of their ink: middle, half sides, unit vector along the base line; in mm.
pub struct Ink {
    pub words: String,
    middle: At,
    half: At,
    along: At,
}

/// A line as straight pieces, in mm, and its width.
pub struct Line {
    pub width: f64,
    pub pieces: Vec<(At, At)>,
}

/// A sheet taken apart.
pub struct Sheet {
    pub words: Vec<Ink>,
    pub lines: Vec<Line>,
    pub size: At,
}

fn options() -> Options<'static> {
    let mut fonts = Database::new();
    for face in ["regular", "bold"] {
        let file = format!(
            "{}/src/drawing/fonts/{face}.otf",
            env!("CARGO_MANIFEST_DIR")
        );
        fonts.load_font_data(std::fs::read(file).expect("the face is there"));
    }
    Options {
        fontdb: Arc::new(fonts),
        font_family: "Inter".into(),
        ..Options::default()
    }
}

/// Straight pieces of a path, curves within some hundredths of a mm; `mm` a unit of the tree.
fn pieces(path: &resvg::tiny_skia::Path, to: Transform, mm: f64) -> Vec<(At, At)> {
    let place = |mut p: Point| {
        to.map_point(&mut p);
        (f64::from(p.x) * mm, f64::from(p.y) * mm)
    };
    let mut found = Vec::new();
    let (mut first, mut last) = (Point::zero(), Point::zero());
    for segment in path.segments() {
        match segment {
            PathSegment::MoveTo(p) => (first, last) = (p, p),
            PathSegment::LineTo(p) => {
                found.push((place(last), place(p)));
                last = p;
            }
            PathSegment::QuadTo(a, p) => {
                let at = |t: f32| {
                    let u = 1.0 - t;
                    let mix =
                        |x: fn(Point) -> f32| u * u * x(last) + 2.0 * u * t * x(a) + t * t * x(p);
                    Point::from_xy(mix(|p| p.x), mix(|p| p.y))
                };
                let points: Vec<At> = (0..=8).map(|k| place(at(k as f32 / 8.0))).collect();
                found.extend(points.windows(2).map(|w| (w[0], w[1])));
                last = p;
            }
            PathSegment::CubicTo(a, b, p) => {
                let at = |t: f32| {
                    let u = 1.0 - t;
                    let mix = |x: fn(Point) -> f32| {
                        u * u * u * x(last)
                            + 3.0 * u * u * t * x(a)
                            + 3.0 * u * t * t * x(b)
                            + t * t * t * x(p)
                    };
                    Point::from_xy(mix(|p| p.x), mix(|p| p.y))
                };
                let points: Vec<At> = (0..=24).map(|k| place(at(k as f32 / 24.0))).collect();
                found.extend(points.windows(2).map(|w| (w[0], w[1])));
                last = p;
            }
            PathSegment::Close => {
                found.push((place(last), place(first)));
                last = first;
            }
        }
    }
    found
}

impl Sheet {
    pub fn read(svg: &str) -> Sheet {
        let tree = Tree::from_str(svg, &options()).expect("an SVG file");
        // CSS Values and Units 3, 5.2: 96 px are 25.4 mm.
        let mm = 25.4 / 96.0;
        let mut sheet = Sheet {
            words: Vec::new(),
            lines: Vec::new(),
            size: (
                f64::from(tree.size().width()) * mm,
                f64::from(tree.size().height()) * mm,
            ),
        };
        sheet.take(tree.root(), mm);
        sheet
    }

    fn take(&mut self, group: &Group, mm: f64) {
        for node in group.children() {
            match node {
                Node::Group(group) => self.take(group, mm),
                Node::Path(path) => {
                    let Some(stroke) = path.stroke() else {
                        if path.fill().is_some() && path.abs_bounding_box().width() < 100.0 {
                            let pieces = pieces(path.data(), path.abs_transform(), mm);
                            self.lines.push(Line { width: 0.0, pieces });
                        }
                        continue;
                    };
                    let pieces = pieces(path.data(), path.abs_transform(), mm);
                    self.lines.push(Line {
                        width: f64::from(stroke.width().get()),
                        pieces,
                    });
                }
                Node::Text(text) => {
                    let words: String = text.chunks().iter().map(|chunk| chunk.text()).collect();
                    let turn = text.abs_transform();
                    let long = f64::from(turn.sx).hypot(f64::from(turn.ky));
                    let along = (f64::from(turn.sx) / long, f64::from(turn.ky) / long);
                    let mut corners = Vec::new();
                    outlines(text.flattened(), turn, mm, &mut corners);
                    let local = |p: &At| {
                        (
                            p.0 * along.0 + p.1 * along.1,
                            -p.0 * along.1 + p.1 * along.0,
                        )
                    };
                    let mut low = (f64::INFINITY, f64::INFINITY);
                    let mut high = (f64::NEG_INFINITY, f64::NEG_INFINITY);
                    for p in corners.iter().map(local) {
                        low = (low.0.min(p.0), low.1.min(p.1));
                        high = (high.0.max(p.0), high.1.max(p.1));
                    }
                    let (u, v) = (0.5 * (low.0 + high.0), 0.5 * (low.1 + high.1));
                    self.words.push(Ink {
                        words,
                        middle: (u * along.0 - v * along.1, u * along.1 + v * along.0),
                        half: (0.5 * (high.0 - low.0), 0.5 * (high.1 - low.1)),
                        along,
                    });
                }
                Node::Image(_) => {}
            }
        }
    }

    /// What lies on what, in words; empty where nothing does.
    pub fn faults(&self) -> Vec<String> {
        let mut faults = Vec::new();
        for (k, own) in self.words.iter().enumerate() {
            for other in &self.words[..k] {
                if own.meets(other) {
                    faults.push(format!("`{}` lies on `{}`", own.words, other.words));
                }
            }
            for line in &self.lines {
                if let Some(piece) = line
                    .pieces
                    .iter()
                    .find(|piece| own.crossed(**piece, 0.5 * line.width))
                {
                    faults.push(format!(
                        "`{}` at {:.1?} lies on a line of {} from {:.1?} to {:.1?}",
                        own.words, own.middle, line.width, piece.0, piece.1
                    ));
                }
            }
        }
        faults
    }

    /// Words and lines outside of the frame, which stands 20 mm from the left edge and 10 mm from the others (ISO 5457);
    /// only its centring marks may.
    pub fn outside(&self) -> Vec<String> {
        let (low, high) = ((20.0, 10.0), (self.size.0 - 10.0, self.size.1 - 10.0));
        let within = |p: At, by: f64| {
            p.0 >= low.0 - by && p.1 >= low.1 - by && p.0 <= high.0 + by && p.1 <= high.1 + by
        };
        let mut faults = Vec::new();
        for own in &self.words {
            if !own.corners().iter().all(|p| within(*p, -0.3)) {
                faults.push(format!("`{}` stands outside of the frame", own.words));
            }
        }
        for line in self
            .lines
            .iter()
            .filter(|line| (line.width - 0.7).abs() > 1e-6)
        {
            if let Some(piece) = line
                .pieces
                .iter()
                .find(|p| !within(p.0, 0.01) || !within(p.1, 0.01))
            {
                faults.push(format!(
                    "a line of {} leaves the frame: {piece:?}",
                    line.width
                ));
            }
        }
        faults
    }
}

fn outlines(group: &Group, turn: Transform, mm: f64, corners: &mut Vec<At>) {
    for node in group.children() {
        match node {
            Node::Group(group) => outlines(group, turn, mm, corners),
            Node::Path(path) => {
                for (a, b) in pieces(path.data(), turn.pre_concat(path.abs_transform()), mm) {
                    corners.extend([a, b]);
                }
            }
            _ => {}
        }
    }
}

impl Ink {
    /// Middle of the ink, in mm from the sheet's upper left corner.
    pub fn middle(&self) -> (f64, f64) {
        self.middle
    }

    fn corners(&self) -> [At; 4] {
        [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(a, b)| {
            let (a, b) = (a * self.half.0, b * self.half.1);
            (
                self.middle.0 + a * self.along.0 - b * self.along.1,
                self.middle.1 + a * self.along.1 + b * self.along.0,
            )
        })
    }

    /// A corner of one in the other, or sides that cross.
    fn meets(&self, other: &Ink) -> bool {
        let sides = |ink: &Ink| {
            let c = ink.corners();
            (0..4)
                .map(move |k| (c[k], c[(k + 1) % 4]))
                .collect::<Vec<_>>()
        };
        self.corners().iter().any(|p| other.holds(*p, 0.0))
            || other.corners().iter().any(|p| self.holds(*p, 0.0))
            || sides(self).iter().any(|s| other.crossed(*s, 0.0))
    }

    fn local(&self, p: At) -> At {
        let d = (p.0 - self.middle.0, p.1 - self.middle.1);
        (
            d.0 * self.along.0 + d.1 * self.along.1,
            -d.0 * self.along.1 + d.1 * self.along.0,
        )
    }

    fn holds(&self, p: At, by: f64) -> bool {
        let q = self.local(p);
        q.0.abs() < self.half.0 + by && q.1.abs() < self.half.1 + by
    }

    /// Whether a piece of a line so many mm wide to either side touches the ink's rectangle: halved until it is short.
    fn crossed(&self, (a, b): (At, At), by: f64) -> bool {
        let (p, q) = (self.local(a), self.local(b));
        let (w, h) = (self.half.0 + by, self.half.1 + by);
        if p.0.min(q.0) >= w || p.0.max(q.0) <= -w || p.1.min(q.1) >= h || p.1.max(q.1) <= -h {
            return false;
        }
        if self.holds(a, by) || self.holds(b, by) {
            return true;
        }
        if (a.0 - b.0).hypot(a.1 - b.1) < 0.02 {
            return false;
        }
        let middle = (0.5 * (a.0 + b.0), 0.5 * (a.1 + b.1));
        self.crossed((a, middle), by) || self.crossed((middle, b), by)
    }
}
