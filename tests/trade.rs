//! Facts of the trade that the evaluator must show by itself: common practice, no source.

use fretwork::catalogue::Catalogue;
use fretwork::part::{Layout, Part, Path, Rib, Section, Volume, Wall};
use fretwork::structure::{Action, Carried, Frame, Loading, Metal, Model};

fn metal() -> Metal {
    Metal {
        modulus_mpa: 68_900.0,
        poisson: 0.33,
        density_t_mm3: 2.7e-9,
        yield_mpa: 275.0,
    }
}

fn ring(outer_wall_mm: f64, rib: Option<Rib>) -> Part {
    let wall = |thickness_mm, height_mm| {
        Some(Wall {
            thickness_mm,
            height_mm,
        })
    };
    Part {
        path: Path::circle(40.0).unwrap(),
        section: Section {
            width_mm: 13.0,
            floor_mm: 1.5,
            outer_wall: wall(outer_wall_mm, 8.0),
            inner_wall: None,
            ribs: rib.into_iter().collect(),
            slits: None,
        },
        bosses: Vec::new(),
        hole_rows: Vec::new(),
        carried: Vec::new(),
    }
}

/// Mass in g, and stiffness in N/mm against two opposite inward forces.
fn mass_and_stiffness(part: &Part) -> (f64, f64) {
    let length = part.path.length_mm();
    let stations = [0.0, 0.25 * length, 0.5 * length, 0.75 * length];
    let layout = Layout::new(part, &stations).unwrap();
    let volume = Volume::of(part, &layout);
    let start = part.path.pose(layout.nodes_mm[0]);
    let mut model = Model::new(&layout, start, &metal(), &Carried::default()).unwrap();
    let nodes = &layout.station_nodes;
    let push = |node: usize| Action {
        node,
        frame: Frame::Path,
        force: [0.0, 10.0, 0.0],
        moment: [0.0; 3],
        offset_mm: (0.0, 0.0),
    };
    let loading = Loading {
        supports: Vec::new(),
        actions: vec![push(nodes[0]), push(nodes[2])],
        acceleration: [0.0; 3],
    };
    let response = model.solve(&loading).unwrap();
    (volume.metal_mm3 * 2.7e-3, 100.0 / response.work_n_mm)
}

/// A ring with an outer wall alone: a thin rib on the other side of the pocket, a second flange, lets the outer wall
/// be thinner at equal stiffness and lower mass.
#[test]
fn a_rib_lets_the_outer_wall_be_thinner() {
    let (plain_mass, plain_stiffness) = mass_and_stiffness(&ring(1.8, None));
    let rib = Rib {
        offset_mm: 4.0,
        thickness_mm: 0.6,
        height_mm: 8.0,
    };
    let (mass, stiffness) = mass_and_stiffness(&ring(0.8, Some(rib)));
    println!(
        "{mass:.3} g, {stiffness:.0} N/mm against {plain_mass:.3} g, {plain_stiffness:.0} N/mm"
    );
    assert!(stiffness >= plain_stiffness && mass < 0.95 * plain_mass);
    // Without the rib the thinner wall is not stiff enough: it is the rib that pays for it.
    assert!(mass_and_stiffness(&ring(0.8, None)).1 < plain_stiffness);
}

/// 7075-T6 gains strength over 6061-T6 but hardly any stiffness.
#[test]
fn the_stronger_alloy_is_hardly_stiffer() {
    let catalogue = Catalogue::builtin();
    let soft = catalogue.material("al6061_t6511").unwrap();
    let strong = catalogue.material("al7075_t651").unwrap();
    let part = ring(1.2, None);
    let stiffness = |material: &fretwork::catalogue::Material| {
        let layout = Layout::new(&part, &[0.0, 0.5 * part.path.length_mm()]).unwrap();
        let metal = Metal {
            modulus_mpa: material.modulus_gpa * 1e3,
            poisson: material.poisson,
            density_t_mm3: material.density_kg_m3 * 1e-12,
            yield_mpa: material.yield_mpa.unwrap(),
        };
        let start = part.path.pose(layout.nodes_mm[0]);
        let mut model = Model::new(&layout, start, &metal, &Carried::default()).unwrap();
        let push = |node: usize| Action {
            node,
            frame: Frame::Path,
            force: [0.0, 10.0, 0.0],
            moment: [0.0; 3],
            offset_mm: (0.0, 0.0),
        };
        let response = model
            .solve(&Loading {
                supports: Vec::new(),
                actions: layout
                    .station_nodes
                    .iter()
                    .map(|&node| push(node))
                    .collect(),
                acceleration: [0.0; 3],
            })
            .unwrap();
        let stress = response.strips[0].equivalent_mpa;
        (100.0 / response.work_n_mm, metal.yield_mpa / stress)
    };
    let (soft_stiffness, soft_safety) = stiffness(soft);
    let (strong_stiffness, strong_safety) = stiffness(strong);
    assert!((1.0..1.06).contains(&(strong_stiffness / soft_stiffness)));
    assert!(strong_safety / soft_safety > 1.6);
}
