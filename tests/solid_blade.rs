//! The law of a slit floor against the blade meshed as a solid.

use fretwork::part::{Boss, Layout, Part, Path, Piece, Section, Slits};
use fretwork::solid::{Density, Solid, cut};
use fretwork::structure::{Action, Carried, Frame, Loading, Metal, Model, Support};

const STEEL: Metal = Metal {
    modulus_mpa: 206_000.0,
    poisson: 0.3,
    density_t_mm3: 7.85e-9,
    yield_mpa: 1350.0,
};
const LENGTH: f64 = 40.0;
const THICK: f64 = 0.5;

/// Stiffness along the path's left, along the tool axis and against twist at the tip of a blade clamped at its root:
/// beam over solid.
fn beam_over_solid(count: usize, kerf: f64, (from, to): (f64, f64)) -> [f64; 3] {
    let section = Section {
        width_mm: 12.0,
        floor_mm: THICK,
        outer_wall: None,
        inner_wall: None,
        ribs: Vec::new(),
        slits: None,
    };
    let slit = Boss {
        name: "split".into(),
        station_mm: 0.5 * (from + to),
        length_mm: to - from,
        section: Section {
            slits: Some(Slits {
                count,
                width_mm: kerf,
                length_mm: to - from,
            }),
            ..section.clone()
        },
        bore: None,
    };
    let part = Part {
        path: Path::chain(vec![Piece::Line { length_mm: LENGTH }], false).expect("a line"),
        section,
        bosses: if count > 0 { vec![slit] } else { Vec::new() },
        hole_rows: Vec::new(),
        carried: Vec::new(),
    };
    let stations = [0.0, LENGTH];
    let layout = Layout::new(&part, &stations).expect("layout");
    let tip = layout.station_nodes[1];
    let load = |force: [f64; 3], moment: [f64; 3]| Loading {
        supports: vec![Support {
            node: layout.station_nodes[0],
            frame: Frame::Plan,
            hold_move: [true; 3],
            hold_turn: [true; 3],
            hold_warp: true,
        }],
        actions: vec![Action {
            node: tip,
            frame: Frame::Plan,
            force,
            moment,
            offset_mm: (0.0, 0.5 * THICK),
        }],
        acceleration: [0.0; 3],
    };
    let loadings = [
        load([0.0, 1.0, 0.0], [0.0; 3]),
        load([0.0, 0.0, 1.0], [0.0; 3]),
        load([0.0; 3], [1.0, 0.0, 0.0]),
    ];
    let meshed = cut(&part, &layout, &stations, Density::Fine).expect("mesh");
    let carried = Carried::default();
    let solid = Solid::new(
        &meshed,
        &part.path,
        &layout.station_nodes,
        &STEEL,
        &carried,
        &loadings,
    )
    .expect("solid");
    let truth = solid.solve(&loadings).expect("solved");
    let mut beam = Model::new(&layout, part.path.pose(0.0), &STEEL, &carried).expect("model");
    std::array::from_fn(|k| {
        let response = beam.solve(&loadings[k]).expect("solved");
        truth[k].work_n_mm / response.work_n_mm
    })
}

/// Sideways, flatwise, twist; what was found stands in DEVELOPERS.md. Flatwise the solid's clamp keeps the blade from
/// curling across, which a beam does not see: 3 % stiffer. Two strips far apart stand on a joint 4 mm long, which is no
/// half-plane: 4 % softer sideways than the law.
#[test]
fn slit_blades_agree_with_solids() {
    for (count, kerf, span) in [
        (0, 0.0, (0.0, 0.0)),
        (1, 0.5, (8.0, 32.0)),
        (1, 6.0, (4.0, 36.0)),
        (2, 1.0, (4.0, 36.0)),
        (3, 0.5, (10.0, 30.0)),
    ] {
        let ratios = beam_over_solid(count, kerf, span);
        println!("{count} slits {kerf} wide: {ratios:.4?}");
        let bands = [(0.97, 1.045), (0.965, 1.03), (0.98, 1.03)];
        for (ratio, (low, high)) in ratios.iter().zip(bands) {
            assert!(
                (low..high).contains(ratio),
                "{count} slits {kerf} wide: beam over solid {ratios:?}"
            );
        }
    }
}
