//! The exact solid as a STEP file: ISO 10303-21 text of a boundary representation after ISO 10303-214.
//!
//! Millimetres and radians, one product with one closed solid; true planes, cylinders and cones. Organisation and
//! author are left blank. The same body and label give the same bytes.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::body::{Body, Curve, Edge, Face, Frame, Surface, Vec3};

/// Points nearer than this, in mm, are one to a reader.
const UNCERTAINTY: &str = "1.E-07";

/// What a file says of its part besides the shape.
#[derive(Clone, Copy, Debug)]
pub struct Label<'a> {
    /// Name of the part.
    pub name: &'a str,
    /// One line about it; may be empty.
    pub description: &'a str,
    /// Date and time after ISO 8601, as `2026-11-26T13:40:00`.
    pub date: &'a str,
}

/// The STEP text of a body.
pub fn step(body: &Body, label: &Label) -> String {
    let mut file = File {
        text: String::with_capacity(400 * body.edges.len() + 4000),
        next: 1,
        known: BTreeMap::new(),
    };
    head(&mut file.text, label);
    let solid = solid(&mut file, body);
    product(&mut file, label, solid);
    file.text.push_str("ENDSEC;\nEND-ISO-10303-21;\n");
    file.text
}

fn head(text: &mut String, label: &Label) {
    let name = string(label.name);
    let date = string(label.date);
    let tool = concat!("fretwork ", env!("CARGO_PKG_VERSION"));
    let _ = write!(
        text,
        "ISO-10303-21;\nHEADER;\n\
         FILE_DESCRIPTION(({}),'2;1');\n\
         FILE_NAME({name},{date},(''),(''),'{tool}','{tool}','');\n\
         FILE_SCHEMA(('AUTOMOTIVE_DESIGN {{ 1 0 10303 214 1 1 1 1 }}'));\n\
         ENDSEC;\nDATA;\n",
        string(label.description)
    );
}

/// Text and the number of the next entity.
struct File {
    text: String,
    next: usize,
    known: BTreeMap<String, usize>,
}

impl File {
    /// Writes an entity: its number.
    fn put(&mut self, entity: &str) -> usize {
        let number = self.next;
        self.next += 1;
        let _ = writeln!(self.text, "#{number}={entity};");
        number
    }

    /// Writes an entity once, however often it is wanted.
    fn once(&mut self, entity: String) -> usize {
        if let Some(&number) = self.known.get(&entity) {
            return number;
        }
        let number = self.put(&entity);
        self.known.insert(entity, number);
        number
    }

    fn point(&mut self, at: &Vec3) -> usize {
        let text = triple(at, 1e11);
        self.once(format!("CARTESIAN_POINT('',{text})"))
    }

    fn direction(&mut self, of: &Vec3) -> usize {
        let text = triple(of, 1e15);
        self.once(format!("DIRECTION('',{text})"))
    }

    fn placement(&mut self, frame: &Frame) -> usize {
        let origin = self.point(&frame.origin);
        let axis = self.direction(&frame.axis);
        let across = self.direction(&frame.across);
        self.once(format!(
            "AXIS2_PLACEMENT_3D('',#{origin},#{axis},#{across})"
        ))
    }
}

/// A real number as Part 21 wants it: with a point.
fn real(value: f64) -> String {
    let text = format!("{:?}", if value == 0.0 { 0.0 } else { value });
    match text.split_once('e') {
        Some((digits, power)) if digits.contains('.') => format!("{digits}E{power}"),
        Some((digits, power)) => format!("{digits}.E{power}"),
        None => match text.strip_suffix(".0") {
            Some(whole) => format!("{whole}."),
            None => text,
        },
    }
}

/// Three numbers without the noise of their last bits; `parts` of a unit are kept.
fn triple(of: &Vec3, parts: f64) -> String {
    let part = |value: f64| real((value * parts).round() / parts);
    format!("({},{},{})", part(of.x), part(of.y), part(of.z))
}

/// A string as Part 21 wants it: printable ASCII, apostrophe and backslash doubled, all else as \X2\ in UTF-16 or
/// \X4\; control characters become spaces.
fn string(text: &str) -> String {
    let mut coded = String::with_capacity(text.len() + 2);
    coded.push('\'');
    for each in text.chars() {
        match each {
            '\'' => coded.push_str("''"),
            '\\' => coded.push_str("\\\\"),
            ' '..='~' => coded.push(each),
            _ if each.is_control() => coded.push(' '),
            _ => {
                let code = u32::from(each);
                let _ = match code {
                    0..=0xFFFF => write!(coded, "\\X2\\{code:04X}\\X0\\"),
                    _ => write!(coded, "\\X4\\{code:08X}\\X0\\"),
                };
            }
        }
    }
    coded.push('\'');
    coded
}

/// References as a list.
fn list(numbers: &[usize]) -> String {
    let all: Vec<String> = numbers.iter().map(|number| format!("#{number}")).collect();
    format!("({})", all.join(","))
}

fn solid(file: &mut File, body: &Body) -> usize {
    let vertices: Vec<usize> = body
        .vertices
        .iter()
        .map(|at| {
            let point = file.point(at);
            file.put(&format!("VERTEX_POINT('',#{point})"))
        })
        .collect();
    let edges: Vec<usize> = body
        .edges
        .iter()
        .map(|edge| edge_curve(file, body, edge, &vertices))
        .collect();
    let faces: Vec<usize> = body
        .faces
        .iter()
        .map(|face| advanced_face(file, face, &edges))
        .collect();
    let shell = file.put(&format!("CLOSED_SHELL('',{})", list(&faces)));
    file.put(&format!("MANIFOLD_SOLID_BREP('',#{shell})"))
}

fn edge_curve(file: &mut File, body: &Body, edge: &Edge, vertices: &[usize]) -> usize {
    let curve = match &edge.curve {
        Curve::Line => {
            let (from, to) = (body.vertices[edge.from], body.vertices[edge.to]);
            let point = file.point(&from);
            let direction = file.direction(&(to - from).normalize());
            let vector = file.once(format!("VECTOR('',#{direction},1.)"));
            file.put(&format!("LINE('',#{point},#{vector})"))
        }
        Curve::Circle { frame, radius } => {
            let placement = file.placement(frame);
            file.once(format!("CIRCLE('',#{placement},{})", real(*radius)))
        }
        Curve::Spline(spline) => {
            let points: Vec<usize> = spline.points.iter().map(|at| file.point(at)).collect();
            let (knots, times): (Vec<String>, Vec<String>) = spline
                .knots()
                .iter()
                .map(|&(knot, times)| (real(knot), times.to_string()))
                .unzip();
            file.put(&format!(
                "B_SPLINE_CURVE_WITH_KNOTS('',{},{},.UNSPECIFIED.,.F.,.F.,({}),({}),.UNSPECIFIED.)",
                super::body::DEGREE,
                list(&points),
                times.join(","),
                knots.join(",")
            ))
        }
    };
    let (from, to) = (vertices[edge.from], vertices[edge.to]);
    file.put(&format!("EDGE_CURVE('',#{from},#{to},#{curve},.T.)"))
}

fn advanced_face(file: &mut File, face: &Face, edges: &[usize]) -> usize {
    let mut bounds = Vec::with_capacity(face.loops.len());
    for (index, around) in face.loops.iter().enumerate() {
        let uses: Vec<usize> = around
            .iter()
            .map(|each| {
                let edge = edges[each.edge];
                let sense = logical(each.forward);
                file.put(&format!("ORIENTED_EDGE('',*,*,#{edge},{sense})"))
            })
            .collect();
        let around = file.put(&format!("EDGE_LOOP('',{})", list(&uses)));
        let kind = if index == 0 {
            "FACE_OUTER_BOUND"
        } else {
            "FACE_BOUND"
        };
        bounds.push(file.put(&format!("{kind}('',#{around},.T.)")));
    }
    let surface = match &face.surface {
        Surface::Plane(frame) => {
            let placement = file.placement(frame);
            file.once(format!("PLANE('',#{placement})"))
        }
        Surface::Cylinder { frame, radius } => {
            let placement = file.placement(frame);
            file.once(format!(
                "CYLINDRICAL_SURFACE('',#{placement},{})",
                real(*radius)
            ))
        }
        Surface::Cone {
            frame,
            radius,
            half_angle,
        } => {
            let placement = file.placement(frame);
            file.once(format!(
                "CONICAL_SURFACE('',#{placement},{},{})",
                real(*radius),
                real(*half_angle)
            ))
        }
    };
    let sense = logical(face.same_sense);
    file.put(&format!(
        "ADVANCED_FACE('',{},#{surface},{sense})",
        list(&bounds)
    ))
}

fn logical(value: bool) -> &'static str {
    if value { ".T." } else { ".F." }
}

/// The product that has the solid for its shape.
fn product(file: &mut File, label: &Label, solid: usize) {
    let name = string(label.name);
    let description = string(label.description);
    let length = file.put("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))");
    let angle = file.put("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))");
    let solid_angle = file.put("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())");
    let uncertainty = file.put(&format!(
        "UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE({UNCERTAINTY}),#{length},'distance_accuracy_value','')"
    ));
    let context = file.put(&format!(
        "(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((#{uncertainty}))GLOBAL_UNIT_ASSIGNED_CONTEXT((#{length},#{angle},#{solid_angle}))REPRESENTATION_CONTEXT('','3D'))"
    ));
    let origin = file.placement(&Frame {
        origin: Vec3::zeros(),
        axis: Vec3::z(),
        across: Vec3::x(),
    });
    let shape = file.put(&format!(
        "ADVANCED_BREP_SHAPE_REPRESENTATION({name},(#{origin},#{solid}),#{context})"
    ));
    let application =
        file.put("APPLICATION_CONTEXT('core data for automotive mechanical design processes')");
    file.put(&format!(
        "APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,#{application})"
    ));
    let product_context = file.put(&format!("PRODUCT_CONTEXT('',#{application},'mechanical')"));
    let product = file.put(&format!(
        "PRODUCT({name},{name},{description},(#{product_context}))"
    ));
    file.put(&format!(
        "PRODUCT_RELATED_PRODUCT_CATEGORY('part',$,(#{product}))"
    ));
    let formation = file.put(&format!("PRODUCT_DEFINITION_FORMATION('','',#{product})"));
    let definition_context = file.put(&format!(
        "PRODUCT_DEFINITION_CONTEXT('part definition',#{application},'design')"
    ));
    let definition = file.put(&format!(
        "PRODUCT_DEFINITION('design','',#{formation},#{definition_context})"
    ));
    let definition_shape = file.put(&format!("PRODUCT_DEFINITION_SHAPE('','',#{definition})"));
    file.put(&format!(
        "SHAPE_DEFINITION_REPRESENTATION(#{definition_shape},#{shape})"
    ));
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 10303-21, 6.4.3: apostrophe and backslash doubled, \X2\ for the basic plane, \X4\ beyond.
    #[test]
    fn strings_are_coded() {
        assert_eq!(string("ring Ø"), "'ring \\X2\\00D8\\X0\\'");
        assert_eq!(string("o'clock \\ x"), "'o''clock \\\\ x'");
        assert_eq!(string("a\nb"), "'a b'");
        assert_eq!(string("𝄞"), "'\\X4\\0001D11E\\X0\\'");
    }

    /// ISO 10303-21, 6.4.2: a real number has a decimal point, and E before its power of ten.
    #[test]
    fn real_numbers_have_a_point() {
        for (value, text) in [
            (1.0, "1."),
            (-0.0, "0."),
            (0.5, "0.5"),
            (-2.25e-9, "-2.25E-9"),
            (1e-7, "1.E-7"),
            (1e20, "1.E20"),
        ] {
            assert_eq!(real(value), text);
            assert_eq!(
                real(value).replace("E", "e").parse::<f64>().ok(),
                Some(value)
            );
        }
    }
}
