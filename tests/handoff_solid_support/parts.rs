//! Parts for the tests, invented.

use std::f64::consts::FRAC_PI_2;

use fretwork::part::{
    Bore, Boss, Counterbore, Depth, HoleRow, Part, Path, Piece, Rib, Section, Slits, StripName,
    Wall,
};

pub fn wall(thickness_mm: f64, height_mm: f64) -> Option<Wall> {
    Some(Wall {
        thickness_mm,
        height_mm,
    })
}

/// A channel 13 mm wide with a rib.
pub fn channel() -> Section {
    Section {
        width_mm: 13.0,
        floor_mm: 1.8,
        outer_wall: wall(1.5, 8.0),
        inner_wall: wall(1.5, 6.4),
        ribs: vec![Rib {
            offset_mm: -1.4,
            thickness_mm: 1.2,
            height_mm: 5.6,
        }],
        slits: None,
    }
}

/// A flat bar.
pub fn flat(width_mm: f64, floor_mm: f64) -> Section {
    Section {
        width_mm,
        floor_mm,
        outer_wall: None,
        inner_wall: None,
        ribs: Vec::new(),
        slits: None,
    }
}

pub fn part(path: Path, section: Section) -> Part {
    Part {
        path,
        section,
        bosses: Vec::new(),
        hole_rows: Vec::new(),
        carried: Vec::new(),
    }
}

pub fn ring() -> Part {
    part(Path::circle(40.0).unwrap(), channel())
}

/// Line, left bend, line, right bend.
pub fn arm() -> Part {
    let side = Piece::Line { length_mm: 32.0 };
    let bends =
        [(38.0, FRAC_PI_2), (25.0, -1.2)].map(|(radius_mm, angle)| Piece::Arc { radius_mm, angle });
    let path = Path::chain(vec![side, bends[0], side, bends[1]], false).unwrap();
    part(path, channel())
}

pub fn row(strip: StripName, diameter_mm: f64, pitch_mm: f64, offset_mm: f64) -> HoleRow {
    HoleRow {
        name: "relief".into(),
        strip,
        diameter_mm,
        pitch_mm,
        depth: Depth::Through,
        rows: 1,
        row_gap_mm: 0.0,
        stagger: 0.0,
        offset_mm,
        span_mm: None,
        clearance_mm: 1.0,
    }
}

pub fn blind(row: HoleRow, depth_mm: f64) -> HoleRow {
    HoleRow {
        depth: Depth::Blind(depth_mm),
        ..row
    }
}

pub fn bore(diameter_mm: f64) -> Bore {
    Bore {
        diameter_mm,
        depth_mm: None,
        reamed: false,
        counterbore: None,
    }
}

pub fn counterbored(bore: Bore, diameter_mm: f64, depth_mm: f64) -> Bore {
    Bore {
        counterbore: Some(Counterbore {
            diameter_mm,
            depth_mm,
        }),
        ..bore
    }
}

pub fn boss(station_mm: f64, length_mm: f64, section: Section, bore: Option<Bore>) -> Boss {
    Boss {
        name: "lug".into(),
        station_mm,
        length_mm,
        section,
        bore,
    }
}

/// A part and its name.
pub type Named = (&'static str, Part);

/// Every feature at least once.
pub fn features() -> Vec<Named> {
    let quarter = 40.0 * FRAC_PI_2;
    let with = |mut part: Part, rows: Vec<HoleRow>, bosses: Vec<Boss>| {
        part.hole_rows = rows;
        part.bosses = bosses;
        part
    };
    let floor = || row(StripName::Floor, 4.0, 8.0, 2.1);
    let thick = |floor_mm: f64| Section {
        floor_mm,
        ..channel()
    };
    let low_walls = Section {
        outer_wall: wall(1.5, 5.0),
        inner_wall: wall(2.5, 4.0),
        ..thick(3.0)
    };
    let lugs = |bore: Bore| {
        (0..4)
            .map(|k| boss(quarter * f64::from(k), 9.0, thick(5.0), Some(bore)))
            .collect::<Vec<_>>()
    };
    let plain_lugs = |bore: Bore| {
        let mut lugs = lugs(bore);
        for lug in &mut lugs {
            lug.section.ribs.clear();
        }
        lugs
    };
    let stadium = || part(Path::stadium(60.0, 30.0).unwrap(), channel());
    let rectangle = || {
        part(
            Path::rounded_rectangle(100.0, 70.0, 18.0).unwrap(),
            channel(),
        )
    };
    let tooth = |strip, offset| row(strip, 2.0, 3.7, offset);
    let mut slit = part(arm().path, flat(12.0, 0.4));
    let slits = Some(Slits {
        count: 2,
        width_mm: 0.5,
        length_mm: 20.0,
    });
    let straight = Path::chain(vec![Piece::Line { length_mm: 60.0 }], false).unwrap();
    slit.path = straight.clone();
    slit.bosses = vec![
        boss(4.0, 8.0, flat(12.0, 0.4), Some(bore(3.2))),
        boss(
            30.0,
            20.0,
            Section {
                slits,
                ..flat(12.0, 0.4)
            },
            None,
        ),
    ];
    let touching = |offset_mm: f64| {
        let mut lugs = lugs(bore(3.2));
        for lug in &mut lugs {
            lug.section.ribs[0].offset_mm = offset_mm;
        }
        with(ring(), vec![], lugs)
    };
    let spiral = Path::chain(
        vec![Piece::Arc {
            radius_mm: 30.0,
            angle: 5.0,
        }],
        false,
    )
    .unwrap();
    vec![
        ("ring", ring()),
        ("ring-drilled", with(ring(), vec![floor()], vec![])),
        (
            "ring-bored-through-ribs",
            with(ring(), vec![floor()], lugs(bore(3.2))),
        ),
        (
            "ring-counterbored",
            with(
                ring(),
                vec![floor()],
                plain_lugs(counterbored(bore(3.2), 6.0, 1.5)),
            ),
        ),
        (
            "ring-counterbored-in-ribs",
            with(
                ring(),
                vec![],
                lugs(Bore {
                    depth_mm: Some(3.0),
                    ..counterbored(bore(2.5), 6.0, 1.5)
                }),
            ),
        ),
        (
            "ring-drilled-blind",
            with(
                ring(),
                vec![
                    blind(row(StripName::Floor, 1.5, 8.0, 2.1), 1.0),
                    blind(row(StripName::OuterWall, 1.2, 5.0, 5.0), 0.8),
                    blind(row(StripName::InnerWall, 1.0, 5.0, 4.0), 0.9),
                    blind(row(StripName::Rib(0), 1.0, 5.0, 3.7), 0.6),
                ],
                vec![],
            ),
        ),
        (
            "ring-walls-dense",
            with(
                ring(),
                vec![HoleRow {
                    rows: 3,
                    row_gap_mm: 1.7,
                    stagger: 0.5,
                    ..row(StripName::OuterWall, 1.2, 3.0, 4.9)
                }],
                vec![],
            ),
        ),
        (
            "stadium",
            with(
                stadium(),
                vec![
                    floor(),
                    tooth(StripName::OuterWall, 4.9),
                    tooth(StripName::InnerWall, 4.0),
                    tooth(StripName::Rib(0), 3.7),
                ],
                vec![],
            ),
        ),
        (
            "rounded-rectangle",
            with(
                rectangle(),
                vec![
                    floor(),
                    tooth(StripName::OuterWall, 4.9),
                    tooth(StripName::InnerWall, 4.0),
                ],
                vec![boss(30.0, 10.0, low_walls.clone(), Some(bore(2.5)))],
            ),
        ),
        (
            "arm",
            with(
                arm(),
                vec![
                    row(StripName::Floor, 4.0, 6.0, 2.1),
                    tooth(StripName::OuterWall, 4.9),
                    tooth(StripName::InnerWall, 4.0),
                ],
                vec![
                    boss(5.0, 10.0, thick(4.0), Some(bore(3.2))),
                    boss(80.0, 10.0, low_walls, None),
                ],
            ),
        ),
        ("slit-blade", slit),
        // The circle of 3.2 mm just touches the rib's near side, its far side.
        ("ring-bored-beside-ribs", touching(-2.2)),
        ("ring-bored-to-the-ribs-end", touching(-1.0)),
        (
            "nearly-a-ring",
            with(
                part(spiral, channel()),
                vec![tooth(StripName::OuterWall, 4.9)],
                vec![],
            ),
        ),
        (
            "straight-bar",
            with(
                part(straight, flat(10.0, 6.0)),
                vec![row(StripName::Floor, 3.0, 5.0, 0.0)],
                vec![],
            ),
        ),
    ]
}
