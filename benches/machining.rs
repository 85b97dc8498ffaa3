//! Plans a second on one thread, for a channel ring with a rib, four bosses and a row of holes.

use std::f64::consts::PI;

use fretwork::catalogue::{Catalogue, Tools};
use fretwork::machining::{Shop, Works, plan};
use fretwork::part::*;

fn main() {
    divan::main();
}

/// The ring and its layout, by hand.
fn ring() -> (Part, Layout) {
    let (radius, bosses, boss_length, holes) = (40.0, 4, 10.0, 56);
    let wall = Some(Wall {
        thickness_mm: 1.0,
        height_mm: 8.0,
    });
    let section = Section {
        width_mm: 11.0,
        floor_mm: 1.2,
        outer_wall: wall,
        inner_wall: wall,
        ribs: vec![Rib {
            offset_mm: 1.0,
            thickness_mm: 0.8,
            height_mm: 6.0,
        }],
        slits: None,
    };
    let solid = Section {
        floor_mm: 8.0,
        outer_wall: None,
        inner_wall: None,
        ribs: vec![],
        slits: None,
        ..section.clone()
    };
    let total = 2.0 * PI * radius;
    let between = total / f64::from(bosses) - boss_length;
    let kind = |length_mm, section| SegmentKind {
        length_mm,
        curvature: 1.0 / radius,
        section,
        perforations: vec![],
    };
    let segment = |index: i32, kind| Segment {
        start_mm: f64::from(index) * (between + boss_length)
            + if kind == 1 { between } else { 0.0 },
        kind,
    };
    let segments: Vec<_> = (0..bosses)
        .flat_map(|index| [segment(index, 0), segment(index, 1)])
        .collect();
    let pitch = 3.9;
    let holes = (0..holes).map(|index| Hole {
        row: 0,
        line: 0,
        station_mm: f64::from(index % 14) * pitch + f64::from(index / 14) * (between + boss_length),
        across_mm: -2.0,
    });
    let layout = Layout {
        closed: true,
        length_mm: total,
        sections: vec![section.clone(), solid.clone()],
        kinds: vec![kind(between, 0), kind(boss_length, 1)],
        nodes_mm: segments.iter().map(|segment| segment.start_mm).collect(),
        segments,
        station_nodes: vec![],
        holes: holes.collect(),
    };
    let boss = |index| Boss {
        name: "lug".into(),
        station_mm: f64::from(index + 1) * (between + boss_length) - 0.5 * boss_length,
        length_mm: boss_length,
        section: solid.clone(),
        bore: Some(Bore {
            diameter_mm: 3.3,
            depth_mm: None,
            reamed: false,
            counterbore: None,
        }),
    };
    let part = Part {
        path: Path::circle(radius).expect("a positive radius"),
        section,
        bosses: (0..bosses).map(boss).collect(),
        hole_rows: vec![HoleRow {
            name: "relief".into(),
            strip: StripName::Floor,
            diameter_mm: 2.5,
            pitch_mm: pitch,
            depth: Depth::Through,
            rows: 1,
            row_gap_mm: 0.0,
            stagger: 0.0,
            offset_mm: -2.0,
            span_mm: None,
            clearance_mm: 0.5,
        }],
        carried: vec![],
    };
    (part, layout)
}

fn shop() -> Shop {
    let catalogue = Catalogue::builtin();
    let material = catalogue.material("6061-T6511").expect("in the catalogue");
    let machine = catalogue.machine("small_vmc").expect("in the catalogue");
    let mills = [1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 10.0, 16.0];
    let stock = Tools {
        end_mills: mills
            .iter()
            .flat_map(|&d| catalogue.end_mill_of(d))
            .cloned()
            .collect(),
        drills: [2.0, 2.5, 3.0, 3.3]
            .iter()
            .flat_map(|&d| catalogue.drill_of(d))
            .cloned()
            .collect(),
    };
    Shop::new(&stock, material, machine).expect("complete data")
}

#[divan::bench]
fn plan_numbers(bencher: divan::Bencher) {
    let ((part, layout), shop) = (ring(), shop());
    let metal = Volume::of(&part, &layout).metal_mm3;
    let works = Works::Mill(shop);
    bencher.bench(|| works.plan(divan::black_box(&part), &layout, metal, false));
}

#[divan::bench]
fn plan_with_words(bencher: divan::Bencher) {
    let ((part, layout), shop) = (ring(), shop());
    bencher.bench(|| plan(divan::black_box(&part), &layout, &shop, true));
}
