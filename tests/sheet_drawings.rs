//! What a sheet draws and hands to the page: the shape in numbers, fields along the path, drawings.

mod studies_support;

use std::f64::consts::PI;

use fretwork::evaluate::Sheet;
use fretwork::part::Volume;
use fretwork::review::geometry::shape_json;
use fretwork::run::Overrides;
use serde_json::Value;
use studies_support::{of_text, prepared, random_designs};

const DEMOS: [&str; 3] = ["yaw-ring", "tilt-arm", "isolator-blade"];

/// The sheet of a demo study's baseline, some variables (base units) set otherwise.
fn sheet(study: &str, set: &[(&str, f64)]) -> Sheet {
    let evaluator = prepared(study, Overrides::default()).evaluator;
    let mut variables = evaluator.baseline();
    for (name, value) in set {
        let at = evaluator
            .setup()
            .variables
            .iter()
            .position(|each| each.name == *name);
        variables[at.expect("a variable of the study")] = *value;
    }
    evaluator.sheet(&variables)
}

fn num(value: &Value, name: &str) -> f64 {
    value[name]
        .as_f64()
        .unwrap_or_else(|| panic!("{name} of {value}"))
}

fn list(value: &Value) -> &[Value] {
    value.as_array().expect("a list")
}

fn numbers(value: &Value) -> Vec<f64> {
    list(value)
        .iter()
        .map(|each| each.as_f64().expect("a number"))
        .collect()
}

/// Curvature of the path at a station.
fn curvature(shape: &Value, station: f64) -> f64 {
    let mut left = station.rem_euclid(num(shape, "length"));
    for piece in list(&shape["pieces"]) {
        let piece = numbers(piece);
        if left <= piece[3] {
            return piece[4];
        }
        left -= piece[3];
    }
    0.0
}

/// Mean over a disc of the distance between a cylindrical face and the plane that touches it on the hole's axis:
/// Simpson's rule over chords (textbook), independent of the crate's own quadrature.
fn sag(radius: f64, curvature: f64, y: f64) -> f64 {
    if curvature == 0.0 {
        return 0.0;
    }
    let face = 1.0 / curvature - y;
    let height = |u: f64| face - face.signum() * (face * face - u * u).sqrt();
    // u = radius sin t takes the root out of the chord's ends.
    let steps = 200;
    let h = PI / f64::from(steps);
    let sum: f64 = (0..=steps)
        .map(|k| {
            let t = -0.5 * PI + h * f64::from(k);
            let weight = if k == 0 || k == steps {
                1.0
            } else if k % 2 == 1 {
                4.0
            } else {
                2.0
            };
            weight * height(radius * t.sin()) * 2.0 * t.cos() * t.cos()
        })
        .sum();
    sum * h / 3.0 / PI
}

/// Area of a disc about the path between two sides of a strip, curved as the path is: a sum over chords square to the
/// path, where the crate has a closed form.
fn between_sides(radius: f64, curvature: f64, from: f64, to: f64) -> f64 {
    let side = |y: f64, u: f64| {
        if curvature == 0.0 {
            return y;
        }
        let face = 1.0 / curvature - y;
        y + face - face.signum() * (face * face - u * u).sqrt()
    };
    // u = radius sin t takes the root out of the chord's ends.
    let steps = 4000;
    let h = PI / f64::from(steps);
    let chord = |k: i32| {
        let (sin, cos) = (-0.5 * PI + h * (f64::from(k) + 0.5)).sin_cos();
        let (u, half) = (radius * sin, radius * cos);
        let within = |y: f64| side(y, u).clamp(-half, half);
        (within(to) - within(from)) * half
    };
    (0..steps).map(chord).sum::<f64>() * h
}

/// Volume of the solid that the numbers describe: strips by Pappus and Guldin, less holes and bores.
fn volume(shape: &Value) -> f64 {
    let length = num(shape, "length");
    let closed = shape["closed"].as_bool().unwrap();
    let mut total = 0.0;
    for segment in list(&shape["segments"]) {
        let [s0, s1, section] = numbers(segment)[..] else {
            panic!("{segment}")
        };
        for strip in list(&shape["sections"][section as usize]) {
            let (y0, y1) = (num(strip, "y0"), num(strip, "y1"));
            let area = (y1 - y0) * (num(strip, "z1") - num(strip, "z0"));
            let laps = if closed { -1..=1 } else { 0..=0 };
            for lap in laps {
                let mut at = f64::from(lap) * length;
                for piece in list(&shape["pieces"]) {
                    let piece = numbers(piece);
                    let along = (s1.min(at + piece[3]) - s0.max(at)).max(0.0);
                    total += area * along * (1.0 - piece[4] * 0.5 * (y0 + y1));
                    at += piece[3];
                }
            }
        }
    }
    for row in list(&shape["holes"]) {
        let (d, depth) = (num(row, "d"), num(row, "depth"));
        let through = row["through"].as_bool().unwrap();
        let disc = 0.25 * PI * d * d;
        let cone = if through {
            0.0
        } else {
            disc * 0.5 * d / (0.5 * num(row, "point")).tan() / 3.0
        };
        let strip = list(&shape["sections"][0])
            .iter()
            .find(|strip| strip["name"] == row["strip"])
            .expect("the drilled strip");
        for place in list(&row["at"]) {
            let [s, _] = numbers(place)[..] else {
                panic!("{place}")
            };
            let bent = if row["axis"] == "y" {
                curvature(shape, s)
            } else {
                0.0
            };
            let over = |face: &str| sag(0.5 * d, bent, num(strip, face));
            let more = match (row["axis"].as_str(), through, row["from"].as_str()) {
                (Some("z"), ..) => 0.0,
                (_, true, _) => over("y1") - over("y0"),
                (_, false, Some("y1")) => over("y1"),
                (_, false, _) => -over("y0"),
            };
            total -= disc * (depth + more) + cone;
        }
    }
    for bore in list(&shape["bores"]) {
        let s = num(bore, "s").rem_euclid(length);
        let section = list(&shape["segments"])
            .iter()
            .map(numbers)
            .find(|segment| {
                [s, s - length, s + length]
                    .iter()
                    .any(|s| segment[0] <= *s && *s <= segment[1])
            });
        let strips = list(&shape["sections"][section.unwrap()[2] as usize]);
        let bent = curvature(shape, s);
        let within = |radius: f64, above: f64| -> f64 {
            let strip = |strip: &Value| {
                between_sides(radius, bent, num(strip, "y0"), num(strip, "y1"))
                    * (num(strip, "z1") - num(strip, "z0").max(above)).max(0.0)
            };
            strips.iter().map(strip).sum()
        };
        let radius = 0.5 * num(bore, "d");
        total -= if bore["through"].as_bool().unwrap() {
            within(radius, 0.0)
        } else {
            let point = radius / (0.5 * num(bore, "point")).tan() / 3.0;
            within(radius, num(bore, "top") - num(bore, "depth")) + PI * radius * radius * point
        };
        if let Some(wide) = bore["counterbore"].as_object() {
            let (d, depth) = (wide["d"].as_f64().unwrap(), wide["depth"].as_f64().unwrap());
            let bottom = num(bore, "top") - depth;
            total -= within(0.5 * d, bottom) - within(radius, bottom);
        }
    }
    total
}

fn check_shape(what: &str, sheet: &Sheet, holes: usize) {
    let (part, layout) = (sheet.part.as_ref().unwrap(), sheet.layout.as_ref().unwrap());
    let shape = shape_json(part, layout);
    // Read back from text, as a browser does.
    let shape: Value = serde_json::from_str(&shape.to_string()).unwrap();
    let (got, want) = (volume(&shape), Volume::of(part, layout).metal_mm3);
    assert!(
        (got / want - 1.0).abs() < 1e-6,
        "{what}: {got} mm3, evaluator {want} mm3"
    );
    let told: usize = list(&shape["holes"])
        .iter()
        .map(|row| list(&row["at"]).len())
        .sum();
    assert_eq!((told, layout.holes.len()), (holes, holes), "{what}");
    // Every piece starts where the one before ends: arcs turn about their centre (plane geometry).
    let pieces: Vec<Vec<f64>> = list(&shape["pieces"]).iter().map(numbers).collect();
    for pair in pieces.windows(2) {
        let [x, y, heading, length, bent] = pair[0][..] else {
            panic!()
        };
        let end = heading + length * bent;
        let (dx, dy) = match bent {
            0.0 => (length * heading.cos(), length * heading.sin()),
            _ => (
                (end.sin() - heading.sin()) / bent,
                (heading.cos() - end.cos()) / bent,
            ),
        };
        let gap = (x + dx - pair[1][0]).hypot(y + dy - pair[1][1]);
        assert!(
            gap < 1e-5 && (end - pair[1][2]).abs() < 1e-9,
            "{what}: {gap}"
        );
    }
}

#[test]
fn the_shape_in_numbers_has_the_evaluators_volume() {
    // Counted by hand: ring, four times 46.8 / 8 mm; arm, 88.7 / 9 mm in the floor and 89.7 / 8 mm in the wall.
    for (study, holes) in DEMOS.iter().zip([4 * 6, 10 + 12, 0]) {
        check_shape(study, &sheet(study, &[]), holes);
    }
    // Slit; blind holes in curved walls; a bore with a counterbore, a blind one.
    check_shape(
        "slit blade",
        &sheet("isolator-blade", &[("slits", 2.0), ("slit", 1.5)]),
        0,
    );
    let text = std::fs::read_to_string("studies/tilt-arm.toml").unwrap();
    let text = text
        .replace("strip = \"outer wall\"", "strip = \"inner wall\"\ndepth = \"0.4 mm\"")
        .replacen(
            "bore = { diameter = \"3.2 mm\" }",
            "bore = { diameter = \"3.2 mm\", counterbore = { diameter = \"6 mm\", depth = \"1.5 mm\" } }",
            1,
        )
        .replacen(
            "bore = { diameter = \"3.2 mm\" }\n\n[[part.hole_row]]",
            "bore = { diameter = \"2.5 mm\", depth = \"2.2 mm\" }\n\n[[part.hole_row]]",
            1,
        );
    let evaluator = of_text("arm", text, Overrides::default()).evaluator;
    let odd = evaluator.sheet(&evaluator.baseline());
    let count = odd.layout.as_ref().unwrap().holes.len();
    check_shape("blind arm", &odd, count);
    let shape = shape_json(odd.part.as_ref().unwrap(), odd.layout.as_ref().unwrap());
    assert_eq!(shape["holes"][1]["from"], "y1");
    assert_eq!(shape["bores"][0]["counterbore"]["depth"], 1.5);
    assert_eq!(shape["bores"][1]["through"], false);
}

/// Sheets of designs spread over a study's space by a fixed sequence; only those that can be built.
fn random_sheets(study: &str, count: usize) -> Vec<Sheet> {
    let evaluator = prepared(study, Overrides::default()).evaluator;
    let designs = random_designs(&evaluator, 20_261_126, 40 * count, count);
    let sheets: Vec<Sheet> = designs.iter().map(|each| evaluator.sheet(each)).collect();
    assert!(
        sheets.len() >= count / 2,
        "{study}: {} sheets",
        sheets.len()
    );
    sheets
}

/// Advance of a character in thousandths of its size in Helvetica, Adobe's metrics of the core fonts (AFM 1997, from
/// memory); Arial and Liberation Sans share them. Greek and other letters as wide as the widest capital.
fn advance(c: char) -> f64 {
    let thousandths = match c {
        'i' | 'j' | 'l' | '\'' => 222.0,
        ' ' | '.' | ',' | ':' | ';' | 'I' | 'f' | 't' | '!' | '/' | '\\' | '|' | '·' => 278.0,
        'r' | '(' | ')' | '-' => 333.0,
        '°' => 400.0,
        'J' | 'c' | 'k' | 's' | 'v' | 'x' | 'y' | 'z' => 500.0,
        'F' | 'T' | 'Z' | 'L' | '⌀' => 611.0,
        'A' | 'B' | 'E' | 'K' | 'P' | 'S' | 'V' | 'X' | 'Y' => 667.0,
        'C' | 'D' | 'H' | 'N' | 'R' | 'U' | 'w' => 722.0,
        'G' | 'O' | 'Q' => 778.0,
        'm' | 'M' => 833.0,
        'W' | '—' => 944.0,
        '×' | '±' | '+' | '=' | '<' | '>' => 584.0,
        c if c.is_ascii() => 556.0,
        _ => 1000.0,
    };
    0.001 * thousandths
}

/// Value of an attribute of a tag.
fn attribute<'a>(tag: &'a str, name: &str) -> &'a str {
    let mut parts = tag.split('\'');
    loop {
        let before = parts.next().unwrap_or_else(|| panic!("no {name} in {tag}"));
        let value = parts.next().unwrap_or_else(|| panic!("no {name} in {tag}"));
        if before.trim_start() == format!("{name}=") {
            return value;
        }
    }
}

/// Texts of a drawing with the room that each takes: left, top, right, bottom in mm.
fn texts(svg: &str) -> Vec<(String, [f64; 4])> {
    let parse = |tag: &str, name: &str| attribute(tag, name).parse::<f64>().unwrap();
    svg.split("<text ")
        .skip(1)
        .map(|rest| {
            let (tag, rest) = rest.split_once('>').unwrap();
            let text = rest.split_once('<').unwrap().0.replace("&amp;", "&");
            let class = attribute(tag, "class");
            let size = if class.contains("small") { 2.7 } else { 3.2 };
            let width = size * text.chars().map(advance).sum::<f64>();
            let back = match class {
                class if class.contains("middle") => 0.5,
                class if class.contains("end") => 1.0,
                _ => 0.0,
            };
            let (x, y) = (parse(tag, "x") - back * width, parse(tag, "y"));
            // Capitals and figures are 0.72 of the size high, descenders 0.21 deep (same metrics).
            (text, [x, y - 0.72 * size, x + width, y + 0.21 * size])
        })
        .collect()
}

fn check_drawing(what: &str, svg: &str) {
    let texts = texts(svg);
    for (k, (one, a)) in texts.iter().enumerate() {
        for (other, b) in &texts[..k] {
            let over = a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];
            assert!(
                !over,
                "{what}: `{one}` {a:?} lies on `{other}` {b:?}\n{svg}"
            );
        }
    }
    // Nothing is written off the paper.
    let head = svg["<svg ".len()..].split_once('>').unwrap().0;
    let view: Vec<f64> = attribute(head, "viewBox")
        .split(' ')
        .map(|v| v.parse().unwrap())
        .collect();
    for (text, [left, top, right, bottom]) in &texts {
        let inside = *left >= view[0]
            && *top >= view[1]
            && *right <= view[0] + view[2]
            && *bottom <= view[1] + view[3];
        assert!(inside, "{what}: `{text}` off the paper");
    }
    assert!(!svg.contains("NaN") && !svg.contains("inf"), "{what}");
}

#[test]
fn no_text_of_a_drawing_lies_on_another() {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("sheets");
    std::fs::create_dir_all(&folder).unwrap();
    let mut looked_at = 0;
    for study in DEMOS {
        let mut sheets = vec![sheet(study, &[])];
        sheets.extend(random_sheets(study, 40));
        for (index, sheet) in sheets.iter().enumerate() {
            let drawn = fretwork::review::drawings(index, sheet);
            for kind in ["plan", "sections", "loads"] {
                for (k, svg) in list(&drawn[kind]).iter().enumerate() {
                    let svg = svg.as_str().unwrap();
                    if index < 6 {
                        let file = folder.join(format!("{study}-{index}-{kind}-{k}.svg"));
                        std::fs::write(file, fretwork::drawing::standalone(svg)).unwrap();
                    }
                    check_drawing(&format!("{study} {index} {kind} {k}"), svg);
                    looked_at += 1;
                }
            }
        }
    }
    assert!(looked_at > 3 * 20 * 3, "{looked_at}");
}
