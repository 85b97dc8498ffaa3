//! Flat strips cut by laser: speed by the heat balance, times by hand, and what a laser cannot cut.

use fretwork::catalogue::{Catalogue, Machine, Tools};
use fretwork::machining::{MachiningError, Plan, Works, severing_speed_mm_s};
use fretwork::part::*;

#[track_caller]
fn check(value: f64, expected: f64, tolerance: f64) {
    assert!(
        (value - expected).abs() <= tolerance * expected.abs(),
        "{value} against {expected}"
    );
}

/// A strip 50 mm long, 12 mm wide, 0.3 mm thick.
fn strip() -> Part {
    Part {
        path: Path::chain(vec![Piece::Line { length_mm: 50.0 }], false).unwrap(),
        section: section(0.3),
        bosses: vec![],
        hole_rows: vec![],
        carried: vec![],
    }
}

fn section(floor_mm: f64) -> Section {
    Section {
        width_mm: 12.0,
        floor_mm,
        outer_wall: None,
        inner_wall: None,
        ribs: vec![],
        slits: None,
    }
}

fn works(material: &str) -> Result<Works, MachiningError> {
    let catalogue = Catalogue::builtin();
    Works::new(
        &Tools::default(),
        catalogue.material(material).unwrap(),
        catalogue.machine("small_laser").unwrap(),
    )
}

fn planned(part: &Part) -> Plan {
    let layout = Layout::new(part, &[]).unwrap();
    let metal = Volume::of(part, &layout).metal_mm3;
    works("c75s_qt").unwrap().plan(part, &layout, metal, true)
}

fn named<'a>(plan: &'a Plan, feature: &str) -> &'a fretwork::machining::Operation {
    let all: Vec<_> = plan.operations.iter().map(|each| &each.feature).collect();
    plan.operations
        .iter()
        .find(|each| each.feature == feature)
        .unwrap_or_else(|| panic!("no {feature} in {all:?}"))
}

/// Steen, Laser Material Processing (from memory): stainless steel by inert gas takes 13 J/mm² on the mean, so 1.5 kW
/// parts 2 mm at 57.7 mm/s, 3.5 m/min.
#[test]
fn speed_by_the_heat_balance() {
    check(severing_speed_mm_s(1500.0, 13.0, 2.0), 57.692, 1e-4);
}

/// Highest feed of the cutter, 10 m/min, and its acceleration, in mm and s.
const FEED: f64 = 1000.0 / 6.0;
const ACCELERATION: f64 = 10_000.0;

/// Time over s from speed u to w, at most v, by the area under the speed: elementary kinematics.
fn over(s: f64, u: f64, w: f64, v: f64) -> f64 {
    let a = ACCELERATION;
    let most = v.min((a * s + 0.5 * (u * u + w * w)).sqrt());
    let ramps = (2.0 * most * most - u * u - w * w) / (2.0 * a);
    (2.0 * most - u - w) / a + (s - ramps) / most
}

/// Through a square corner rounded within 0.01 mm: v² = 10000 · 0.01 / (√2 - 1), v = 15.54 mm/s.
fn corner() -> f64 {
    (ACCELERATION * 0.01 / (2f64.sqrt() - 1.0)).sqrt()
}

/// By hand: a lead of 1 mm from rest into a square corner, 50, 12, 50 mm between corners, 12 mm to rest; 7 mm of rapid
/// from the start of the path; one pierce of 0.1 s; 125 mm of cut, 0.1 mm wide, through 0.3 mm: 3.75 mm³.
#[test]
fn an_outline_by_hand() {
    let plan = planned(&strip());
    let outline = named(&plan, "outline");
    let c = corner();
    check(c, 15.54, 1e-3);
    let (long, short) = (over(50.0, c, c, FEED), over(12.0, c, c, FEED));
    let cut = over(1.0, 0.0, c, FEED) + 2.0 * long + short + over(12.0, c, 0.0, FEED);
    check(outline.cut_s, cut, 1e-6);
    let rapid = 2.0 * (7.0 / ACCELERATION).sqrt();
    check(outline.move_s, rapid, 1e-6);
    check(outline.fixed_s, 0.1, 1e-12);
    check(outline.cut_length_mm, 125.0, 1e-12);
    check(outline.removed_mm3, 3.75, 1e-12);
    assert_eq!(outline.limit, "feed limit");
    check(plan.cycle_s, 60.0 + cut + rapid + 0.1, 1e-6);
    check(plan.simulated_s, plan.cycle_s, 1e-12);
    assert_eq!((plan.obstacles, plan.tool_changes), (0, 0));
}

/// A control that may round corners by four times as much takes them twice as fast.
#[test]
fn the_machine_says_how_far_corners_are_rounded() {
    let catalogue = Catalogue::builtin();
    let machine = Machine {
        corner_deviation_mm: 0.04,
        ..catalogue.machine("small_laser").unwrap().clone()
    };
    let material = catalogue.material("c75s_qt").unwrap();
    let works = Works::new(&Tools::default(), material, &machine).unwrap();
    let part = strip();
    let layout = Layout::new(&part, &[]).unwrap();
    let metal = Volume::of(&part, &layout).metal_mm3;
    let plan = works.plan(&part, &layout, metal, true);
    let c = 2.0 * corner();
    let (long, short) = (over(50.0, c, c, FEED), over(12.0, c, c, FEED));
    let cut = over(1.0, 0.0, c, FEED) + 2.0 * long + short + over(12.0, c, 0.0, FEED);
    check(named(&plan, "outline").cut_s, cut, 1e-6);
}

/// By hand: two slits of 40 x 0.5 mm, cut 0.1 mm wide: around 39.9 x 0.4 mm, 80.6 mm and a lead of 0.2 mm each.
/// One as wide as the cut is one pass of 40 mm.
#[test]
fn slits_are_pierced_and_followed() {
    let slit = |width_mm| {
        let slits = Slits {
            count: 2,
            width_mm,
            length_mm: 40.0,
        };
        let mut part = strip();
        part.bosses.push(Boss {
            name: "split".into(),
            station_mm: 25.0,
            length_mm: 40.0,
            section: Section {
                slits: Some(slits),
                ..section(0.3)
            },
            bore: None,
        });
        planned(&part)
    };
    let plan = slit(0.5);
    let slits = named(&plan, "slits split");
    assert_eq!(slits.count, 2);
    check(slits.cut_length_mm, 2.0 * 80.8, 1e-12);
    let c = corner();
    let each = over(0.2, 0.0, c, FEED)
        + 2.0 * over(39.9, c, c, FEED)
        + over(0.4, c, c, FEED)
        + over(0.4, c, 0.0, FEED);
    check(slits.cut_s, 2.0 * each, 1e-6);
    check(slits.fixed_s, 0.2, 1e-12);
    check(plan.cutter_gap_mm, 0.4, 1e-6);

    let plan = slit(0.1);
    check(named(&plan, "slits split").cut_length_mm, 80.0, 1e-12);
    assert!(plan.cutter_gap_mm >= 0.0);
    assert!(slit(0.05).cutter_gap_mm < 0.0);
    // Slits are not milled.
    let mut part = strip();
    part.bosses.push(Boss {
        name: "split".into(),
        station_mm: 25.0,
        length_mm: 40.0,
        section: Section {
            slits: Some(Slits {
                count: 1,
                width_mm: 0.5,
                length_mm: 40.0,
            }),
            ..section(0.3)
        },
        bore: None,
    });
    let catalogue = Catalogue::builtin();
    let tools = Tools {
        end_mills: catalogue.end_mills().to_vec(),
        drills: catalogue.drills().to_vec(),
    };
    let mill = Works::new(
        &tools,
        catalogue.material("c75s_qt").unwrap(),
        catalogue.machine("small_vmc").unwrap(),
    )
    .unwrap();
    let layout = Layout::new(&part, &[]).unwrap();
    let plan = mill.plan(&part, &layout, Volume::of(&part, &layout).metal_mm3, true);
    assert_eq!(plan.cycle_s, f64::INFINITY);
    assert!(
        plan.remarks
            .iter()
            .any(|each| each.contains("laser cutter"))
    );
}

/// Thicker strip is cut more slowly once the beam, not the machine, bounds it; a small hole is bounded by acceleration.
#[test]
fn what_bounds_the_cut() {
    let mut thick = strip();
    thick.section.floor_mm = 2.0;
    let plan = planned(&thick);
    let outline = named(&plan, "outline");
    assert_eq!(outline.limit, "power");
    check(outline.feed_mm_min, 60.0 * 900.0 / (13.0 * 2.0), 1e-9);

    let mut holed = strip();
    holed.hole_rows.push(row(2.0, Depth::Through));
    let plan = planned(&holed);
    let holes = named(&plan, "row relief");
    assert_eq!((holes.limit.as_str(), holes.count), ("acceleration", 10));
    // By hand: radius 0.95 mm, √(10000 x 0.95) = 97.47 mm/s; from the middle 0.95 mm into a square corner, 5.969 mm around.
    let c = corner();
    let each = over(0.95, 0.0, c, FEED) + over(5.969_026, c, 0.0, 97.47);
    check(holes.cut_s, 10.0 * each, 1e-4);
}

fn row(diameter_mm: f64, depth: Depth) -> HoleRow {
    HoleRow {
        name: "relief".into(),
        strip: StripName::Floor,
        diameter_mm,
        pitch_mm: 5.0,
        depth,
        rows: 1,
        row_gap_mm: 0.0,
        stagger: 0.0,
        offset_mm: 0.0,
        span_mm: None,
        clearance_mm: 1.0,
    }
}

/// Walls, two thicknesses, blind holes and holes smaller than the strip is thick: told, and counted.
#[test]
fn what_a_laser_cannot_cut() {
    let mut part = strip();
    part.hole_rows.push(row(0.25, Depth::Through));
    assert_eq!(planned(&part).obstacles, 1);
    part.hole_rows[0] = row(2.0, Depth::Blind(0.1));
    assert_eq!(planned(&part).obstacles, 1);
    let mut part = strip();
    part.section.outer_wall = Some(Wall {
        thickness_mm: 1.0,
        height_mm: 5.0,
    });
    let plan = planned(&part);
    assert_eq!(plan.obstacles, 1);
    assert!(
        plan.remarks[0].contains("name a mill"),
        "{:?}",
        plan.remarks
    );
    let mut part = strip();
    part.bosses.push(Boss {
        name: "lug".into(),
        station_mm: 25.0,
        length_mm: 8.0,
        section: section(0.6),
        bore: Some(Bore {
            diameter_mm: 0.2,
            depth_mm: None,
            reamed: false,
            counterbore: None,
        }),
    });
    assert_eq!(planned(&part).obstacles, 2);
}

/// A laser needs a beam and a metal.
#[test]
fn errors_name_machine_and_material() {
    let error = works("pom_c").unwrap_err();
    assert!(error.to_string().contains("`pom_c`"), "{error}");
    let catalogue = Catalogue::builtin();
    let blunt = Machine {
        laser: None,
        ..catalogue.machine("small_laser").unwrap().clone()
    };
    let material = catalogue.material("c75s_qt").unwrap();
    assert_eq!(
        fretwork::machining::LaserShop::new(material, &blunt).unwrap_err(),
        MachiningError::NoLaser {
            machine: "small_laser".into()
        }
    );
}

/// Every move is in the simulation: it begins where the one before it ended, and lengths and times are the plan's. An
/// outline around a ring is two contours, around an open strip one that closes.
#[test]
fn every_move_is_there() {
    let mut part = strip();
    part.hole_rows.push(row(2.0, Depth::Through));
    let layout = Layout::new(&part, &[]).unwrap();
    let works = works("c75s_qt").unwrap();
    let simulation = works.simulate(&part, &layout);
    let plan = planned(&part);
    check(simulation.cycle_s, plan.cycle_s, 1e-12);
    let moves: Vec<_> = simulation
        .operations
        .iter()
        .flat_map(|each| &each.moves)
        .collect();
    assert!(
        moves
            .windows(2)
            .all(|pair| pair[0].to_mm == pair[1].from_mm)
    );
    // Ten circles: rapid, lead, arc; the outline: rapid, lead, four edges.
    assert_eq!(moves.len(), 10 * 3 + 6);
    let last = simulation
        .operations
        .iter()
        .rev()
        .find(|each| !each.moves.is_empty());
    let outline = &last.unwrap().moves;
    let (first, end) = (outline[1].to_mm, outline[5].to_mm);
    assert!((0..2).all(|axis| (first[axis] - end[axis]).abs() < 1e-9));

    let ring = Part {
        path: Path::circle(20.0).unwrap(),
        ..strip()
    };
    let cut = &named(&planned(&ring), "outline").clone();
    assert_eq!(cut.count, 2);
    // 2π (26 + 14) mm and two leads of 1 mm.
    check(cut.cut_length_mm, 80.0 * std::f64::consts::PI + 2.0, 1e-9);
}
