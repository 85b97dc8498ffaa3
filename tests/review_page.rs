//! The review page and the plots of an invented run: one safe, small, complete file.

#[path = "support/invented_run.rs"]
mod invented;

use fretwork::drawing::{load_view, plan_view, section_view, standalone};
use fretwork::part::{Hole, Section};
use fretwork::review::{MOST_DESIGNS, PageFacts, page, plots};
use fretwork::run::{
    Curve, Designs, Dimension, Driver, Finished, FitFigures, Interplay, Killer, QuadraticFit,
    Screened, Screening, Shortfall, TermRow, ToPass,
};
use invented::{invented_arm, invented_layout, invented_part, invented_run, invented_sheet};
use serde_json::Value;
use sha2::{Digest, Sha256};

const HOSTILE: &str = "</script><script>document.title='taken'</script><img src=x onerror=alert(1)>\"'&{{data}}\u{2028}\u{202e}abc]]>-->";

fn facts() -> PageFacts {
    PageFacts {
        tool_version: "0.1.0".into(),
        run_name: "yaw-ring-2031-04-05-1".into(),
        date: "5 April 2031".into(),
        drivers: None,
        fingerprint: "0123abcd".into(),
        revisions: Vec::new(),
        decision: None,
    }
}

/// Three dimensions and what they drive; all figures invented.
fn invented_drivers(names: [&str; 3]) -> Screening {
    let dimension = |name: &str| Dimension {
        name: name.into(),
        unit: "mm".into(),
        low: 1.0,
        high: 3.0,
    };
    let curve = |dimension: usize, rise: f64| Curve {
        dimension,
        at: vec![1.0, 2.0, 3.0],
        mean: vec![20.0, 20.0 + 0.4 * rise, 20.0 + rise],
        designs: vec![40, 50, 45],
    };
    let driver = |dimension: usize, total: f64, rise: f64| Driver {
        dimension,
        name: names[dimension].into(),
        total: [total, total - 0.01, total + 0.02],
        first: [0.9 * total, 0.88 * total, 0.92 * total],
        rise,
        effect_mean: rise,
        effect_size: rise.abs(),
        effect_spread: 0.1,
        effects: 100,
    };
    let figures = |r2: f64| FitFigures {
        r2,
        adjusted_r2: r2 - 0.01,
        predicted_r2: r2 - 0.02,
        deviation: 0.3,
        freedom: 120,
    };
    let measure = |name: &str, shares: [f64; 3]| Screened {
        name: name.into(),
        unit: "g".into(),
        known: 0.8,
        mean: 21.0,
        deviation: 2.0,
        drivers: vec![
            driver(1, shares[0], 3.0),
            driver(0, shares[1], -1.5),
            driver(2, shares[2], 0.1),
        ],
        curves: vec![curve(0, -1.5), curve(1, 3.0), curve(2, 0.1)],
        interplay: Some(Interplay {
            dimensions: [1, 0],
            share: 0.04,
            lines: vec![
                (1.4, curve(1, 2.0)),
                (2.0, curve(1, 3.0)),
                (2.6, curve(1, 4.0)),
            ],
        }),
        fit: Some(QuadraticFit {
            linear: figures(0.9),
            quadratic: figures(0.98),
            constant: 20.5,
            terms: vec![TermRow {
                name: format!("{} × {}", names[0], names[1]),
                dimensions: vec![0, 1],
                value: -0.4,
                error: 0.01,
                t: -40.0,
                p: 0.0,
            }],
        }),
    };
    Screening {
        study: "invented".into(),
        title: "Invented".into(),
        seed: 1,
        designs: 9_900,
        blocks: 1_024,
        trajectories: 100,
        possible: 0.8,
        dimensions: names.map(dimension).to_vec(),
        measures: vec![
            measure("mass", [0.7, 0.25, 0.004]),
            measure("tilt.stiffness", [0.15, 0.06, 0.8]),
        ],
        remarks: vec!["80 % of the designs keep the geometric rules".into()],
    }
}

/// The section stands in the page with a table of every dimension and figure, names escaped, drawings inline; without
/// a screening there is none.
#[test]
fn what_drives_what_is_on_the_page() {
    let run = invented_run(200, 2);
    let without = page(&run, &facts());
    assert!(!without.contains("h-drivers"));
    let drivers = Some(invented_drivers(["floor", "<b>hole", "pitch"]));
    let text = page(&run, &PageFacts { drivers, ..facts() });
    assert!(text.contains("id=\"h-drivers\""));
    assert!(text.contains(
        "<th scope=\"row\"><bdi>&lt;b&gt;hole</bdi></th><td class=\"share s4\">0.70 +</td>"
    ));
    assert!(text.contains("<td class=\"share s0\">0.00</td>"));
    assert!(!text.contains("<b>hole"));
    assert_eq!(text.matches("<details><summary><bdi>").count(), 2);
    assert!(text.contains("&lt; 0.0001"));
}

/// A run whose every word tries to leave its place.
fn hostile_run() -> Finished {
    let mut run = invented_run(600, 5);
    run.title = format!("{HOSTILE}{}", "x".repeat(10_000));
    run.notes = HOSTILE.into();
    run.study = HOSTILE.into();
    run.ending = HOSTILE.into();
    run.columns[0].name = HOSTILE.into();
    run.columns[8].unit = HOSTILE.into();
    run.limits[0].name = HOSTILE.into();
    run.limits[0].text = HOSTILE.into();
    for told in &mut run.told {
        if let Some(why) = &mut told.why {
            why.active[0].name = HOSTILE.into();
        }
        if let Some(scatter) = &mut told.scatter {
            scatter.figures[0].sources[0].source = HOSTILE.into();
            scatter.constraints[0].text = HOSTILE.into();
        }
    }
    for (_, sheet) in &mut run.sheets {
        sheet.loads[0].name = HOSTILE.into();
        sheet.loads[0].words = HOSTILE.into();
        sheet.remarks.push(HOSTILE.into());
        sheet.plan.operations[1].tool = HOSTILE.into();
        if let Some(part) = &mut sheet.part {
            part.bosses[0].name = HOSTILE.into();
            part.hole_rows[0].name = HOSTILE.into();
        }
    }
    run
}

/// No design meets every constraint.
fn broken_run() -> Finished {
    let mut run = invented_run(800, 0);
    for (index, violation) in run.designs.violation.iter_mut().enumerate() {
        *violation += 0.05 + 0.001 * ((index * 37) % 101) as f64;
    }
    run.front.clear();
    run.shortfall = Some(Shortfall {
        designs: 800,
        unmade: 0,
        otherwise: 0,
        asks: false,
        killers: vec![Killer {
            name: "stiff <enough>".into(),
            text: "squeeze.stiffness >= 38 N/mm".into(),
            breaks: 800,
            alone: 20,
            nearest: Some((
                7,
                ToPass {
                    name: "stiff <enough>".into(),
                    text: "squeeze.stiffness >= 38 N/mm".into(),
                    limit: 38.0,
                    needed: 36.1,
                    unit: "N/mm".into(),
                },
            )),
        }],
        nearest: 7,
        moves: vec![],
        obstacles: vec![],
    });
    run
}

/// One objective, so a front of one.
fn single_run() -> Finished {
    let mut run = invented_run(500, 40);
    run.goals.truncate(1);
    run.front.truncate(1);
    let only = run.front[0];
    run.sheets.retain(|(design, _)| *design == only);
    run
}

/// A front of 2,000, few of them with a sheet.
fn crowded_run() -> Finished {
    let mut run = invented_run(20_000, 0);
    let feasible = (0..run.designs.len()).filter(|&design| run.designs.violation[design] == 0.0);
    run.front = feasible.take(2_000).collect();
    let kept: Vec<usize> = run.front.iter().copied().step_by(20).collect();
    run.sheets = kept
        .into_iter()
        .map(|design| (design, invented_sheet(design)))
        .collect();
    run
}

fn empty_run() -> Finished {
    let mut run = invented_run(1, 0);
    run.designs = Designs::default();
    run.front.clear();
    run.trace.clear();
    run
}

fn between<'a>(text: &'a str, from: &str, to: &str) -> &'a str {
    let start = text.find(from).expect(from) + from.len();
    &text[start..start + text[start..].find(to).expect(to)]
}

fn data(page: &str) -> Value {
    block(page, "run-data")
}

/// A block of the page's data: base64, deflated (RFC 1951), JSON.
fn block(page: &str, id: &str) -> Value {
    let text = between(page, &format!("id=\"{id}\">"), "</script>");
    let packed = decoded(text);
    serde_json::from_reader(flate2::read::DeflateDecoder::new(packed.as_slice())).unwrap()
}

fn sheets(page: &str) -> usize {
    block(page, "sheet-data")["sheets"]
        .as_array()
        .unwrap()
        .len()
}

fn decoded(text: &str) -> Vec<u8> {
    let letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = Vec::new();
    for group in text.trim_end_matches('=').as_bytes().chunks(4) {
        let word = group.iter().fold(0u32, |word, &c| {
            word << 6 | letters.find(c as char).unwrap() as u32
        }) << (6 * (4 - group.len()));
        out.extend((0..group.len() - 1).map(|i| (word >> (16 - 8 * i)) as u8));
    }
    out
}

/// Panics unless every element of the markup is closed in order and no stray `<` or `&` is in it.
fn assert_well_formed(markup: &str) {
    let mut open: Vec<&str> = Vec::new();
    let mut rest = markup;
    while let Some(at) = rest.find('<') {
        assert!(!rest[..at].contains('>'), "stray > in {}", &rest[..at]);
        let end = rest[at..].find('>').expect("an open tag") + at;
        let tag = &rest[at + 1..end];
        assert!(!tag.contains('<'), "stray < in {tag}");
        assert_eq!(tag.matches('\'').count() % 2, 0, "open quote in {tag}");
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name));
        } else if !tag.ends_with('/') {
            open.push(tag.split_whitespace().next().unwrap());
        }
        rest = &rest[end + 1..];
    }
    assert!(open.is_empty(), "left open: {open:?}");
    for (at, _) in markup.match_indices('&') {
        let entity = &markup[at + 1..at + 1 + markup[at + 1..].find(';').expect("an entity")];
        assert!(
            ["amp", "lt", "gt", "quot", "#39"].contains(&entity),
            "{entity}"
        );
    }
    assert!(
        !markup.contains("NaN") && !markup.contains("inf "),
        "a number that is none"
    );
}

#[test]
fn pages_for_the_browser_are_written() {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join("review");
    std::fs::create_dir_all(&folder).unwrap();
    let runs = [
        ("plain.html", invented_run(26_000, 250)),
        ("hostile.html", hostile_run()),
        ("broken.html", broken_run()),
        ("single.html", single_run()),
        ("crowded.html", crowded_run()),
        ("empty.html", empty_run()),
    ];
    for (name, run) in &runs {
        let drivers = match *name {
            "plain.html" => Some(invented_drivers(["floor", "hole", "pitch"])),
            "hostile.html" => Some(invented_drivers(["</td><script>", "a\u{202e}b", "\"'&"])),
            _ => None,
        };
        let facts = PageFacts { drivers, ..facts() };
        let text = page(run, &facts);
        assert!(text.starts_with("<!doctype html>") && text.trim_end().ends_with("</html>"));
        std::fs::write(folder.join(name), text).unwrap();
    }
    for (stem, svg) in plots(&runs[0].1) {
        std::fs::write(folder.join(stem + ".svg"), svg).unwrap();
    }
}

#[test]
fn twenty_thousand_designs_and_250_sheets_stay_under_five_megabytes() {
    let run = invented_run(20_000, 250);
    let text = page(&run, &facts());
    assert!(text.len() < 5_000_000, "{} bytes", text.len());
    assert_eq!(data(&text)["leftOut"], 0);
    assert_eq!(sheets(&text), run.sheets.len() + 1);
}

#[test]
fn sheets_are_thinned_before_a_page_passes_five_megabytes() {
    let mut run = invented_run(20_000, 0);
    run.sheets = (1..=600)
        .map(|design| (design * 30, invented_sheet(design * 30)))
        .collect();
    let text = page(&run, &facts());
    assert!(text.len() < 5_000_000, "{} bytes", text.len());
    let kept = sheets(&text);
    assert!((100..=601).contains(&kept), "{kept} sheets");
    let drawn = block(&text, "drawing-data");
    assert_eq!(drawn.as_object().unwrap().len(), kept);
}

#[test]
fn more_designs_are_thinned_and_the_page_says_so() {
    let run = invented_run(MOST_DESIGNS + 3_000, 5);
    let data = data(&page(&run, &facts()));
    assert_eq!(data["leftOut"], 3_000);
    let exact = decoded(data["rows"]["exact"].as_str().unwrap()).len() / 4;
    let cloud = decoded(data["rows"]["cloud"].as_str().unwrap()).len() / 4;
    assert_eq!(exact + cloud, MOST_DESIGNS);
    assert_eq!(
        data["candidates"].as_array().unwrap().len(),
        run.front.len()
    );
}

#[test]
fn candidates_keep_their_figures() {
    let run = invented_run(3_000, 5);
    let data = data(&page(&run, &facts()));
    let words = |bytes: Vec<u8>| -> Vec<[u8; 4]> {
        bytes.chunks(4).map(|c| [c[0], c[1], c[2], c[3]]).collect()
    };
    let designs = words(decoded(data["rows"]["exact"].as_str().unwrap()));
    for column in 0..run.columns.len() {
        let text = data["rows"]["columns"][column]["exact"].as_str().unwrap();
        for (design, value) in designs.iter().zip(words(decoded(text))) {
            let expected = run.designs.row(u32::from_le_bytes(*design) as usize)[column];
            assert_eq!(f32::from_le_bytes(value), expected as f32);
        }
    }
}

#[test]
fn style_and_script_are_those_the_policy_names_and_nothing_points_outside() {
    let text = page(&invented_run(200, 2), &facts());
    let policy = between(&text, "Content-Security-Policy\" content=\"", "\"");
    assert!(policy.starts_with("default-src 'none';"));
    let named = |part: &str| {
        let digest = decoded(between(policy, &format!("{part}-src 'sha256-"), "'"));
        (part.to_string(), digest)
    };
    let style = between(&text, "<style>", "</style>");
    let script = between(&text, "<script>", "</script>");
    for (content, (part, digest)) in [(style, named("style")), (script, named("script"))] {
        assert_eq!(
            Sha256::digest(content.as_bytes()).as_slice(),
            digest,
            "{part}"
        );
    }
    // Names of XML namespaces are no addresses: nothing is fetched from there.
    let text = text.replace("http://www.w3.org/", "");
    for outside in [
        "http:",
        "https:",
        "//cdn",
        "@import",
        "unsafe-inline",
        "innerHTML",
    ] {
        assert!(!text.contains(outside), "{outside}");
    }
}

#[test]
fn hostile_words_stay_words() {
    let run = hostile_run();
    let text = page(&run, &facts());
    assert_eq!(text.matches("<script").count(), 4);
    assert_eq!(text.matches("</script").count(), 4);
    assert!(!text.contains("<img"));
    assert_eq!(data(&text)["study"], HOSTILE);
    let drawn = block(&text, "drawing-data");
    let drawings = drawn.as_object().unwrap().values();
    let kinds = drawings.flat_map(|kinds| kinds.as_object().unwrap().values());
    for svg in kinds.flat_map(|svgs| svgs.as_array().unwrap()) {
        assert_well_formed(svg.as_str().unwrap());
    }
    for (stem, svg) in plots(&run) {
        assert_well_formed(&svg);
        assert!(
            stem.chars().all(|c| c.is_ascii_alphanumeric() || c == '-'),
            "{stem}"
        );
    }
}

#[test]
fn without_a_feasible_design_the_least_violating_are_shown() {
    let told = page(&broken_run(), &facts());
    assert!(told.contains("stiff &lt;enough&gt;") && told.contains("36.1 N/mm instead of 38"));
    let run = broken_run();
    let text = page(&run, &facts());
    assert!(text.contains("No design meets every constraint"));
    let shown: Vec<usize> = data(&text)["candidates"]
        .as_array()
        .unwrap()
        .iter()
        .map(|design| design.as_u64().unwrap() as usize)
        .collect();
    assert!(!shown.is_empty());
    let worst = shown
        .iter()
        .map(|&d| run.designs.violation[d])
        .fold(0.0, f64::max);
    for design in (0..run.designs.len()).filter(|design| !shown.contains(design)) {
        assert!(run.designs.violation[design] >= worst);
    }
}

#[test]
fn the_plan_shows_every_hole_at_its_place() {
    let part = invented_part([1.0, 1.2, 8.0, 1.0, 1.0, 3.0, 1.2]);
    let layout = invented_layout(&part);
    let svg = plan_view(&part, &layout, &[("local peak", [40.0, 0.0])], "k");
    assert_well_formed(&standalone(&svg));
    let chain = between(&svg, "<path class='holes' fill='none' d='M", "'");
    let centres: Vec<&str> = chain.split('L').collect();
    assert_eq!(centres.len(), layout.holes.len());
    // On paper at 1 : 1, y down: a hole `across` left of a circle of radius 46 mm, at its angle.
    for (
        text,
        Hole {
            station_mm,
            across_mm,
            ..
        },
    ) in centres.iter().zip(&layout.holes)
    {
        let split = text[1..].find([' ', '-']).unwrap() + 1;
        let (x, y): (f64, f64) = (
            text[..split].parse().unwrap(),
            text[split..].trim().parse().unwrap(),
        );
        let angle = station_mm / 46.0;
        let radius = 46.0 - across_mm;
        assert!((x - radius * angle.cos()).abs() < 0.0051, "{text}");
        assert!((-y - radius * angle.sin()).abs() < 0.0051, "{text}");
    }
    // 2 x (46 + 5) mm over the outer wall; the bosses stand at 45 degrees and reach no further.
    assert!(svg.contains("⌀102</text>") && svg.contains("scale 1 : 1"));
    assert!(svg.contains(&format!("{} × ⌀3 through", layout.holes.len())));
}

#[test]
fn the_section_is_drawn_to_its_scale_with_its_dimensions() {
    let part = invented_part([0.9, 1.3, 8.0, 1.1, 1.0, 3.0, 1.2]);
    let layout = invented_layout(&part);
    let svg = section_view(&part.section, &layout.kinds[0].perforations, "frame", "k");
    assert_well_formed(&svg);
    assert!(svg.contains("(5 : 1)"));
    // 10 mm wide and 8 mm high at 5 : 1, outer wall first: foot, floor, wall up and down again.
    let body = between(&svg, "<path class='cut' fill='url(#kh)' d='", "'");
    assert!(
        body.starts_with("M-25 0L-25-5.5L-25-40L-20.5-40L-20.5-5.5"),
        "{body}"
    );
    for size in [">10<", ">0.9<", ">1.3<", ">1.1<", ">8<", ">6.4<", ">1<"] {
        assert!(svg.contains(size), "{size}");
    }
}

#[test]
fn an_open_bar_bends_both_ways() {
    let (part, layout) = invented_arm();
    let plan = plan_view(&part, &layout, &[("local peak", [40.0, 0.0])], "k");
    let section = section_view(&part.section, &layout.kinds[1].perforations, "frame", "k");
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR"));
    for (name, svg) in [("arm-plan.svg", plan.clone()), ("arm-section.svg", section)] {
        assert_well_formed(&svg);
        std::fs::write(folder.join(name), standalone(&svg)).unwrap();
    }
    // The path at 1 : 1, by hand: 30 mm along x; then 25 mm about (30, 25) by 1.2 rad; then 40 mm to the right.
    let path = between(&plan, "<path class='chain' d='", "'");
    let (x, y) = (30.0 + 25.0 * 1.2f64.sin(), 25.0 - 25.0 * 1.2f64.cos());
    let (x2, y2) = (
        x + 40.0 * (1.2f64.sin() - 0.6f64.sin()),
        y + 40.0 * (0.6f64.cos() - 1.2f64.cos()),
    );
    let words = |v: f64| ((v * 100.0).round() / 100.0).to_string();
    let expected = format!(
        "M0 0L30 0A25 25 0 0 0 {}-{}A40 40 0 0 1 {}-{}",
        words(x),
        words(y),
        words(x2),
        words(y2)
    );
    assert_eq!(path, expected);
    assert!(
        plan.contains("20 × ⌀1.6 1 deep, row pockets in the floor, pitch 4 in 2 rows 2.4 apart")
    );
}

#[test]
fn odd_parts_and_loads_are_drawn_without_nonsense() {
    let strip = Section {
        width_mm: 6.0,
        floor_mm: 0.3,
        outer_wall: None,
        inner_wall: None,
        ribs: vec![],
        slits: None,
    };
    assert_well_formed(&section_view(&strip, &[], "blade", "k"));
    let mut load = invented_sheet(0).loads[1].clone();
    load.field.places[3].moved_mm = [f64::NAN, f64::INFINITY, 0.0];
    load.displacement_mm = f64::NAN;
    assert_well_formed(&load_view(&load, true));
    load.field.places.clear();
    load.arrows.clear();
    load.supports.clear();
    assert_well_formed(&load_view(&load, false));
}

#[test]
fn plots_cover_every_pair_of_objectives() {
    let run = invented_run(3_000, 0);
    let made = plots(&run);
    let stems: Vec<&str> = made.iter().map(|(stem, _)| stem.as_str()).collect();
    assert_eq!(
        stems,
        [
            "front-mass-squeeze-stiffness",
            "front-mass-cycle",
            "front-squeeze-stiffness-cycle",
            "front-all-axes",
            "hypervolume"
        ]
    );
    for (_, svg) in &made {
        assert_well_formed(svg);
    }
    // Every candidate is a dot in the shade of its third objective.
    let shaded = made[0].1.split("<path fill='#").skip(1);
    let dots = shaded.map(|path| path.split("'/>").next().unwrap());
    let dots: usize = (dots.filter(|path| path.contains(" 0a")))
        .map(|path| path.matches('M').count())
        .sum();
    assert_eq!(dots, run.front.len());
}
