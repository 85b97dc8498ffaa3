//! The manufacturing drawing of a design: words that keep off everything, sizes that are there once, sheets that are
//! read back by libraries that had no part in making them.

#[path = "support/sheet_check.rs"]
mod sheet_check;
mod studies_support;

use fretwork::evaluate::Sheet as Told;
use fretwork::handoff::drawing::{Drawing, Facts, Paper, Projection, drawing};
use fretwork::handoff::holes;
use fretwork::machining::tolerance::tolerances;
use fretwork::run::Overrides;
use lopdf::Document;
use sheet_check::Sheet;
use studies_support::{of_text, prepared, random_designs};

const DEMOS: [&str; 3] = ["yaw-ring", "tilt-arm", "isolator-blade"];
const PAPERS: [Paper; 4] = [Paper::A4, Paper::A3, Paper::Letter, Paper::Tabloid];
const BOTH: [Projection; 2] = [Projection::First, Projection::Third];

fn drawn(told: &Told, projection: Projection, paper: Paper) -> Drawing {
    let (part, layout) = (told.part.as_ref().unwrap(), told.layout.as_ref().unwrap());
    let given = tolerances(part, layout, &told.plan);
    let holes = holes(part, layout, &told.plan);
    let notes = ["Mark with number and revision.".to_string()];
    let facts = Facts {
        part,
        layout,
        tolerances: &given,
        holes: &holes,
        title: "Part of a survey-drone gimbal",
        supplement: "run demo-001, design 1804",
        number: "demo-1804",
        revision: "B",
        status: "for review, not released for manufacture",
        date: "2031-04-05T09:12:33Z",
        created_by: "fretwork 0.1.0",
        owner: "",
        material: "6061-T6511",
        mass_g: 34.5,
        edge_mm: Some(0.3),
        notes: &notes,
    };
    drawing(&facts, projection, paper).expect("a drawing")
}

fn baseline(study: &str) -> Told {
    let evaluator = prepared(study, Overrides::default()).evaluator;
    evaluator.sheet(&evaluator.baseline())
}

/// Designs spread over a study's space by a fixed sequence; only those that keep the geometric rules.
fn random(study: &str, count: usize) -> Vec<Told> {
    let evaluator = prepared(study, Overrides::default()).evaluator;
    let designs = random_designs(&evaluator, 20_261_126, 100 * count, count);
    let found: Vec<Told> = designs.iter().map(|each| evaluator.sheet(each)).collect();
    assert_eq!(found.len(), count, "{study}");
    found
}

fn check(what: &str, drawing: &Drawing) -> usize {
    assert!(
        drawing.lost.is_empty(),
        "{what}: no room for {:?}",
        drawing.lost
    );
    for (index, svg) in drawing.sheets_svg.iter().enumerate() {
        let sheet = Sheet::read(svg);
        assert!(
            sheet.words.len() > 20,
            "{what}: {} words",
            sheet.words.len()
        );
        let faults = [sheet.faults(), sheet.outside()].concat();
        assert!(
            faults.is_empty(),
            "{what}, sheet {}: {faults:#?}",
            index + 1
        );
    }
    drawing.sheets_svg.len()
}

#[test]
fn no_words_touch_words_lines_or_the_frame() {
    let mut sheets = 0;
    for study in DEMOS {
        let mut all = vec![baseline(study)];
        all.extend(random(study, 24));
        for (index, told) in all.iter().enumerate() {
            for paper in PAPERS {
                for projection in BOTH {
                    let what = format!("{study} {index}, {paper:?}, {projection:?}");
                    sheets += check(&what, &drawn(told, projection, paper));
                }
            }
        }
    }
    assert!(sheets >= 3 * 25 * 8, "{sheets}");
}

/// The check itself sees words on words, words on a line, and words beyond the frame.
#[test]
fn the_check_sees_what_it_is_there_for() {
    let sheet = |body: &str| {
        let head = "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 100 100' width='100mm' height='100mm'>";
        Sheet::read(&format!("{head}{body}</svg>"))
    };
    let text = |x: f64, y: f64| {
        format!("<text x='{x}' y='{y}' font-size='4' font-family='Inter'>13.5</text>")
    };
    let line = "<path d='M30 39L60 39' stroke='#000' stroke-width='.25' fill='none'/>";
    let turned =
        "<text transform='translate(36 44) rotate(-90)' font-size='4' font-family='Inter'>8</text>";
    assert_eq!(
        sheet(&(text(30.0, 40.0) + &text(50.0, 40.0)))
            .faults()
            .len(),
        0
    );
    assert_eq!(
        sheet(&(text(30.0, 40.0) + &text(33.0, 42.0)))
            .faults()
            .len(),
        1
    );
    assert_eq!(sheet(&(text(30.0, 40.0) + line)).faults().len(), 1);
    assert_eq!(sheet(&(text(30.0, 38.5) + line)).faults().len(), 0);
    assert_eq!(sheet(&(text(30.0, 42.0) + turned)).faults().len(), 1);
    assert_eq!(sheet(&text(30.0, 40.0)).outside().len(), 0);
    assert_eq!(sheet(&text(84.0, 40.0)).outside().len(), 1);
    assert_eq!(sheet(&line.replace("M30", "M15")).outside().len(), 1);
}

fn words(drawing: &Drawing) -> Vec<String> {
    let sheets = drawing.sheets_svg.iter().map(|svg| Sheet::read(svg));
    sheets
        .flat_map(|sheet| sheet.words.into_iter().map(|ink| ink.words))
        .collect()
}

/// How often some words stand on the drawing.
fn count(words: &[String], what: &str) -> usize {
    words.iter().filter(|own| own.trim() == what).count()
}

/// Sizes by hand from `studies/yaw-ring.toml`: radius 40, width 13, wall heights 8, 0.8 and 0.7 of it; the rib stands 3
/// from the wall; 24 holes of 4 midway between rib and inner wall, 8 apart; lugs 9 long, both measured on the path.
/// Tolerances are those that the process gives (`machining/tolerance.rs`, common practice), in hundredths.
#[test]
fn every_size_of_the_ring_is_there_once() {
    let all = words(&drawn(&baseline("yaw-ring"), Projection::First, Paper::A3));
    let degrees = |arc: f64| (arc / 40.0_f64).to_degrees();
    let offset = ((1.5 + 3.0 + 1.2 - 6.5) + (6.5 - 1.5)) / 2.0;
    let sizes = [
        "⌀93".to_string(),
        format!("⌀{}", 2.0 * (40.0 - offset)),
        "⌀80".into(),
        "13 ±0.03".into(),
        "8 ±0.08".into(),
        "6.4 ±0.08".into(),
        "5.6 ±0.08".into(),
        "1.8 ±0.08".into(),
        "1.2 ±0.03".into(),
        "3".into(),
        format!("{}", 6.5 + offset),
        "24× ⌀4".into(),
        "4× ⌀3.2".into(),
        "5 ±0.08".into(),
        format!("4× {:.2}°", degrees(9.0)),
        format!("{:.3}°", degrees(8.0)),
    ];
    for size in &sizes {
        // Hole 3 has its number on the plan and in the table.
        let expected = if size == "3" { 3 } else { 1 };
        assert_eq!(count(&all, size), expected, "{size} in {all:?}");
    }
    assert_eq!(count(&all, "1.5 ±0.03"), 2, "both walls");
    assert_eq!(count(&all, "ISO 2768-m"), 2, "a title block a sheet");
}

#[test]
fn blind_and_stepped_holes_are_called_out_and_shown_larger() {
    let text = std::fs::read_to_string("studies/tilt-arm.toml").unwrap();
    let bore = "bore = { diameter = \"3.2 mm\" }";
    let text = text
        .replace("strip = \"outer wall\"", "strip = \"inner wall\"\ndepth = \"0.4 mm\"")
        .replacen(
            bore,
            "bore = { diameter = \"3.2 mm\", counterbore = { diameter = \"6 mm\", depth = \"1.5 mm\" } }",
            1,
        )
        .replacen(
            &format!("{bore}\n\n[[part.hole_row]]"),
            "bore = { diameter = \"3 mm\", depth = \"2.2 mm\", reamed = true }\n\n[[part.hole_row]]",
            1,
        );
    let evaluator = of_text("arm", text, Overrides::default()).evaluator;
    let told = evaluator.sheet(&evaluator.baseline());
    for paper in PAPERS {
        for projection in BOTH {
            let drawing = drawn(&told, projection, paper);
            check(&format!("blind arm, {paper:?}"), &drawing);
            let all = words(&drawing);
            // Signs of depth and counterbore are drawn, so the words around them stand alone. In the call-out and the
            // detail: diameters; in call-out, detail and table: depths.
            assert!(count(&all, "⌀3 H7") >= 2, "{all:?}");
            assert_eq!(count(&all, "⌀6"), 2, "{all:?}");
            assert!(count(&all, "2.2") >= 2 && count(&all, "1.5") >= 2 && count(&all, "0.4") >= 2);
            // The point of a common twist drill, ISO 5419 (from memory).
            assert_eq!(count(&all, "118°"), 2, "one a blind hole: {all:?}");
            for letter in ["Z", "Y", "X"] {
                assert!(
                    all.iter()
                        .any(|own| own.starts_with(&format!("{letter} ("))),
                    "{letter}"
                );
            }
        }
    }
}

/// Shapes that no demo has: a stadium, a rounded rectangle, a bend of 60 degrees, staggered rows, holes in a rib, slits.
#[test]
fn other_shapes_are_drawn_as_well() {
    let ring = |path: &str, bosses: &str| {
        let text = std::fs::read_to_string("studies/yaw-ring.toml").unwrap();
        // Loads and what rests on them are of no account here.
        let head = text.split("# A hand around the ring.").next().unwrap();
        let head = head.replace("shape = \"circle\"\nradius = \"40 mm\"", path);
        let head = head.replace("[\"0 deg\", \"90 deg\", \"180 deg\", \"270 deg\"]", bosses);
        head + "[load.push]\nsupports = [{ at = \"0 mm\", hold = \"all\" }]\n\
                forces = [{ at = \"60 mm\", force = [\"0 N\", \"0 N\", \"1 N\"] }]\n\
                [[objective]]\nleast = \"mass\"\n[explore]\nplan = \"search\"\nevaluations = 1000\n"
    };
    let stadium = ring(
        "shape = \"stadium\"\nstraight = \"40 mm\"\nradius = \"30 mm\"",
        "[\"0 mm\", \"67.124 mm\", \"134.248 mm\", \"201.372 mm\"]",
    );
    let rectangle = ring(
        "shape = \"rounded rectangle\"\nlength = \"90 mm\"\nwidth = \"70 mm\"\ncorner = \"20 mm\"",
        "[\"0 mm\", \"142 mm\"]",
    );
    let staggered = rectangle
        .replace(
            "pitch = \"pitch\"",
            "pitch = \"pitch\"\nrows = 2\nrow_gap = \"2.8 mm\"\nstagger = 0.5",
        )
        .replace("hole = \"4 mm\"", "hole = \"2 mm\"");
    let arm = std::fs::read_to_string("studies/tilt-arm.toml").unwrap();
    let bent = arm
        .replace("turn = \"90 deg\"", "turn = \"60 deg\"")
        .replace("(90 deg / 1 rad)", "(60 deg / 1 rad)");
    let blade = std::fs::read_to_string("studies/isolator-blade.toml").unwrap();
    let slit = blade.replace(
        "slits = 0\nslit = \"0.3 mm\"",
        "slits = 2\nslit = \"1.5 mm\"",
    );
    let cases = [
        ("stadium", stadium, vec!["113", "73", "2× R36.5", "4× 9"]),
        (
            "rectangle",
            rectangle,
            vec!["103", "83", "4× R26.5", "2× 9"],
        ),
        ("staggered", staggered, vec!["103", "83"]),
        ("bent", bent, vec!["60°", "R44.5", "2× 14"]),
        (
            "slit",
            slit,
            vec!["54", "36", "9", "3× 3", "2× 1.5", "0.3 ±0.02"],
        ),
    ];
    for (name, text, sizes) in cases {
        let evaluator = of_text(name, text, Overrides::default()).evaluator;
        let told = evaluator.sheet(&evaluator.baseline());
        for paper in PAPERS {
            for projection in BOTH {
                let drawing = drawn(&told, projection, paper);
                check(&format!("{name}, {paper:?}, {projection:?}"), &drawing);
                let all = words(&drawing);
                for size in &sizes {
                    assert!(
                        count(&all, size) >= 1,
                        "{name}, {paper:?}: {size} in {all:?}"
                    );
                }
            }
        }
    }
}

/// ISO 5456-2: of first angle the view from the right stands on the left of the main view, of third angle on its right.
#[test]
fn views_stand_where_the_projection_has_them() {
    let told = baseline("yaw-ring");
    let place = |projection| {
        let drawing = drawn(&told, projection, Paper::A3);
        let sheet = Sheet::read(&drawing.sheets_svg[0]);
        let at = |name: &str| {
            sheet
                .words
                .iter()
                .find(|ink| ink.words == name)
                .expect("there")
                .middle()
        };
        (at("C–C").0, at("Y").0)
    };
    let (side, main) = place(Projection::First);
    assert!(side < main - 50.0, "{side} {main}");
    let (side, main) = place(Projection::Third);
    assert!(side > main + 50.0, "{side} {main}");
}

fn close(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

/// A4 and A3: ISO 216; Letter and Tabloid: 8.5 by 11 and 17 by 11 inches (ANSI/ASME Y14.1, sizes A and B). A point is 1/72
/// inch (ISO 32000-1, 8.3.2.3).
#[test]
fn the_pdf_has_the_paper_and_its_words_can_be_found() {
    let told = baseline("yaw-ring");
    let mm = 72.0 / 25.4;
    let cases = [
        (Paper::A4, [210.0 * mm, 297.0 * mm]),
        (Paper::A3, [420.0 * mm, 297.0 * mm]),
        (Paper::Letter, [8.5 * 72.0, 11.0 * 72.0]),
        (Paper::Tabloid, [17.0 * 72.0, 11.0 * 72.0]),
    ];
    for (paper, size) in cases {
        let drawing = drawn(&told, Projection::Third, paper);
        let document = Document::load_mem(&drawing.pdf).expect("a PDF file");
        let pages = document.get_pages();
        assert_eq!(pages.len(), drawing.sheets_svg.len());
        for page in pages.values() {
            let page = document.get_dictionary(*page).unwrap();
            let media = page.get(b"MediaBox").unwrap().as_array().unwrap();
            let side = |k: usize| f64::from(media[k].as_float().unwrap());
            assert!((side(2) - side(0) - size[0]).abs() < 0.05, "{paper:?}");
            assert!((side(3) - side(1) - size[1]).abs() < 0.05, "{paper:?}");
        }
        let numbers: Vec<u32> = pages.keys().copied().collect();
        let text = close(&document.extract_text(&numbers).expect("text"));
        let last = format!("{0}/{0}", numbers.len());
        for words in [
            "Part drawing",
            "demo-1804",
            "for review, not released for manufacture",
            "6061-T6511",
            "34.5 g",
            "2031-04-05",
            "ISO 2768-m",
            "13 ±0.03",
            last.as_str(),
        ] {
            assert!(
                text.contains(&close(words)),
                "{paper:?}: `{words}` in {text}"
            );
        }
        let again = drawn(&told, Projection::Third, paper);
        assert_eq!(again, drawing, "same facts, same bytes");
    }
}

/// The table against the layout: every hole of the ring at its angle, the bores on the axes.
#[test]
fn the_table_lists_every_hole() {
    let told = baseline("yaw-ring");
    let all = words(&drawn(&told, Projection::First, Paper::A4));
    for number in 1..=28 {
        assert!(count(&all, &number.to_string()) >= 1, "hole {number}");
    }
    // Lugs at 0, 90, 180 and 270 degrees on a radius of 40.
    assert_eq!(count(&all, "40.00"), 2);
    assert_eq!(count(&all, "−40.00"), 2);
    assert_eq!(
        count(&all, "90.00") + count(&all, "180.00") + count(&all, "270.00"),
        3
    );
}
