//! A small reader of STEP text, written for the tests from ISO 10303-21 and ISO 10303-42: entities by number, and the
//! solid put together again from what the file says.

use std::collections::BTreeMap;

use fretwork::handoff::body::{Body, Curve, Edge, Face, Frame, Spline, Surface, Use, Vec3};

/// One entity: its keyword and parameters.
#[derive(Debug)]
pub struct Entity {
    pub keyword: String,
    pub parameters: Vec<Value>,
}

/// A parameter.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    Number(f64),
    Text(String),
    Word(String),
    Reference(usize),
    List(Vec<Value>),
}

/// The simple entities of a file; complex ones (units, contexts) are left out.
pub fn read(text: &str) -> BTreeMap<usize, Entity> {
    let data = text.split("DATA;").nth(1).expect("a data section");
    let mut entities = BTreeMap::new();
    for line in data.lines() {
        let Some((number, rest)) = line.strip_prefix('#').and_then(|line| line.split_once('='))
        else {
            continue;
        };
        let rest = rest.strip_suffix(';').expect("a closed entity");
        if rest.starts_with('(') {
            continue;
        }
        let (keyword, list) = rest.split_once('(').expect("parameters");
        let mut signs = Signs {
            text: list.as_bytes(),
            at: 0,
        };
        let parameters = signs.list();
        assert_eq!(signs.at, list.len(), "{line}");
        let old = entities.insert(
            number.parse().expect("a number"),
            Entity {
                keyword: keyword.into(),
                parameters,
            },
        );
        assert!(old.is_none(), "number {number} twice");
    }
    entities
}

struct Signs<'a> {
    text: &'a [u8],
    at: usize,
}

impl Signs<'_> {
    /// Values up to the closing bracket.
    fn list(&mut self) -> Vec<Value> {
        let mut values = Vec::new();
        loop {
            match self.text[self.at] {
                b')' => {
                    self.at += 1;
                    return values;
                }
                b',' => self.at += 1,
                _ => values.push(self.value()),
            }
        }
    }

    fn value(&mut self) -> Value {
        match self.text[self.at] {
            b'(' => {
                self.at += 1;
                Value::List(self.list())
            }
            b'\'' => {
                let mut text = String::new();
                loop {
                    self.at += 1;
                    if self.text[self.at] == b'\'' {
                        self.at += 1;
                        if self.text[self.at] != b'\'' {
                            return Value::Text(text);
                        }
                    }
                    text.push(char::from(self.text[self.at]));
                }
            }
            _ => {
                let start = self.at;
                while !b",()".contains(&self.text[self.at]) {
                    self.at += 1;
                }
                if self.text[self.at] == b'(' {
                    // A typed parameter: its value alone.
                    self.at += 1;
                    return Value::List(self.list());
                }
                let word = std::str::from_utf8(&self.text[start..self.at]).unwrap();
                match word.strip_prefix('#') {
                    Some(number) => Value::Reference(number.parse().unwrap()),
                    None => match word.parse() {
                        Ok(number) => Value::Number(number),
                        Err(_) => Value::Word(word.into()),
                    },
                }
            }
        }
    }
}

/// The solid of a file.
pub fn body(text: &str) -> Body {
    let entities = read(text);
    let file = File {
        entities: &entities,
    };
    let shell = file.only("MANIFOLD_SOLID_BREP").reference(1);
    let mut body = Body {
        vertices: Vec::new(),
        edges: Vec::new(),
        faces: Vec::new(),
    };
    let mut known = (BTreeMap::new(), BTreeMap::new());
    for face in file.get(shell, "CLOSED_SHELL").references(1) {
        let face = file.face(face, &mut body, &mut known);
        body.faces.push(face);
    }
    body
}

type Known = (BTreeMap<usize, usize>, BTreeMap<usize, usize>);

struct File<'a> {
    entities: &'a BTreeMap<usize, Entity>,
}

impl File<'_> {
    fn get(&self, number: usize, keyword: &str) -> &Entity {
        let entity = &self.entities[&number];
        assert_eq!(entity.keyword, keyword, "#{number}");
        entity
    }

    fn only(&self, keyword: &str) -> &Entity {
        let mut all = self
            .entities
            .values()
            .filter(|each| each.keyword == keyword);
        let first = all.next().expect(keyword);
        assert!(all.next().is_none(), "several {keyword}");
        first
    }

    fn vector(&self, number: usize, keyword: &str) -> Vec3 {
        let numbers = self.get(number, keyword).numbers(1);
        Vec3::new(numbers[0], numbers[1], numbers[2])
    }

    fn frame(&self, number: usize) -> Frame {
        let placement = self.get(number, "AXIS2_PLACEMENT_3D");
        Frame {
            origin: self.vector(placement.reference(1), "CARTESIAN_POINT"),
            axis: self.vector(placement.reference(2), "DIRECTION"),
            across: self.vector(placement.reference(3), "DIRECTION"),
        }
    }

    fn face(&self, number: usize, body: &mut Body, known: &mut Known) -> Face {
        let face = self.get(number, "ADVANCED_FACE");
        let surface = &self.entities[&face.reference(2)];
        let frame = self.frame(surface.reference(1));
        let surface = match surface.keyword.as_str() {
            "PLANE" => Surface::Plane(frame),
            "CYLINDRICAL_SURFACE" => Surface::Cylinder {
                frame,
                radius: surface.number(2),
            },
            "CONICAL_SURFACE" => Surface::Cone {
                frame,
                radius: surface.number(2),
                half_angle: surface.number(3),
            },
            other => panic!("{other}"),
        };
        let mut loops = Vec::new();
        for (index, bound) in face.references(1).into_iter().enumerate() {
            let kind = if index == 0 {
                "FACE_OUTER_BOUND"
            } else {
                "FACE_BOUND"
            };
            let bound = self.get(bound, kind);
            assert!(bound.truth(2), "bounds are written in their own sense");
            let uses = self.get(bound.reference(1), "EDGE_LOOP").references(1);
            loops.push(
                uses.into_iter()
                    .map(|each| {
                        let each = self.get(each, "ORIENTED_EDGE");
                        Use {
                            edge: self.edge(each.reference(3), body, known),
                            forward: each.truth(4),
                        }
                    })
                    .collect(),
            );
        }
        Face {
            surface,
            same_sense: face.truth(3),
            loops,
        }
    }

    fn edge(&self, number: usize, body: &mut Body, known: &mut Known) -> usize {
        if let Some(&edge) = known.1.get(&number) {
            return edge;
        }
        let edge = self.get(number, "EDGE_CURVE");
        assert!(edge.truth(4), "edges are written in their own sense");
        let [from, to] = [1, 2].map(|end| {
            let vertex = edge.reference(end);
            *known.0.entry(vertex).or_insert_with(|| {
                let point = self.get(vertex, "VERTEX_POINT").reference(1);
                body.vertices.push(self.vector(point, "CARTESIAN_POINT"));
                body.vertices.len() - 1
            })
        });
        let curve = &self.entities[&edge.reference(3)];
        let curve = match curve.keyword.as_str() {
            "LINE" => {
                // The line must run through the vertices, from the first to the second.
                let point = self.vector(curve.reference(1), "CARTESIAN_POINT");
                let vector = self.get(curve.reference(2), "VECTOR");
                let along = self.vector(vector.reference(1), "DIRECTION");
                let (a, b) = (body.vertices[from], body.vertices[to]);
                assert!((a - point).cross(&along).norm() < 1e-8);
                assert!(((b - a).normalize() - along).norm() < 1e-8, "#{number}");
                Curve::Line
            }
            "CIRCLE" => Curve::Circle {
                frame: self.frame(curve.reference(1)),
                radius: curve.number(2),
            },
            "B_SPLINE_CURVE_WITH_KNOTS" => {
                let points = curve.references(2);
                let spline = Spline {
                    points: points
                        .into_iter()
                        .map(|point| self.vector(point, "CARTESIAN_POINT"))
                        .collect(),
                };
                let (knots, times): (Vec<f64>, Vec<f64>) = spline
                    .knots()
                    .into_iter()
                    .map(|(knot, times)| (knot, times as f64))
                    .unzip();
                assert_eq!(curve.number(1), 7.0);
                assert_eq!((curve.numbers(6), curve.numbers(7)), (times, knots));
                Curve::Spline(spline)
            }
            other => panic!("{other}"),
        };
        body.edges.push(Edge { curve, from, to });
        known.1.insert(number, body.edges.len() - 1);
        body.edges.len() - 1
    }
}

impl Entity {
    pub fn number(&self, index: usize) -> f64 {
        match self.parameters[index] {
            Value::Number(number) => number,
            ref other => panic!("{other:?}"),
        }
    }

    pub fn numbers(&self, index: usize) -> Vec<f64> {
        let Value::List(list) = &self.parameters[index] else {
            panic!("no list")
        };
        let number = |value: &Value| match value {
            Value::Number(number) => *number,
            other => panic!("{other:?}"),
        };
        list.iter().map(number).collect()
    }

    pub fn reference(&self, index: usize) -> usize {
        match self.parameters[index] {
            Value::Reference(number) => number,
            ref other => panic!("{other:?}"),
        }
    }

    pub fn references(&self, index: usize) -> Vec<usize> {
        let Value::List(list) = &self.parameters[index] else {
            panic!("no list")
        };
        let reference = |value: &Value| match value {
            Value::Reference(number) => *number,
            other => panic!("{other:?}"),
        };
        list.iter().map(reference).collect()
    }

    pub fn truth(&self, index: usize) -> bool {
        match &self.parameters[index] {
            Value::Word(word) if word == ".T." => true,
            Value::Word(word) if word == ".F." => false,
            other => panic!("{other:?}"),
        }
    }
}
