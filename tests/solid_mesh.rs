//! Meshes of `solid`: sound elements, conforming, the part's own volume.

mod solid_mesh_common;
mod structure_common;
mod studies_support;

use fretwork::run::{Overrides, design};
use fretwork::solid::Density;
use solid_mesh_common::*;
use structure_common::Table;

const MEMBERS: &str = include_str!("data/solid/members.csv");

fn volume_holds(error: f64, density: Density, what: &str) {
    let allowed = match density {
        Density::Coarse => 5e-4,
        Density::Fine => 1e-4,
        Density::Finest => 3e-5,
    };
    assert!(error.abs() < allowed, "{what}: volume off by {error:.2e}");
}

#[test]
fn all_members() {
    let table = Table::read(MEMBERS);
    for row in &table.rows {
        let (part, stations) = member(&table, row);
        for density in [Density::Coarse, Density::Fine, Density::Finest] {
            let what = format!("{} {density:?}", row[0]);
            let (cut, error) = check(&part, &stations, density, &what);
            println!("{what}: {} volume {error:.1e}", size(&cut));
            volume_holds(error, density, &what);
            assert_eq!(cut.slabs.len(), 1, "{what}");
            // The table's own volume, rounded to its digits.
            let volume: f64 = cut
                .links
                .iter()
                .map(|l| slab_volume(&cut.slabs[l.slab]))
                .sum();
            let expected = table.get(row, "volume_mm3").unwrap();
            assert!(
                (volume / expected - 1.0).abs() < 1e-3,
                "{what}: {volume} {expected}"
            );
        }
    }
}

#[test]
fn demo_studies() {
    for study in ["yaw-ring", "tilt-arm"] {
        let prepared = studies_support::prepared(study, Overrides::default());
        let sheet = design(&prepared, &[]).unwrap();
        let (part, layout) = (sheet.part.unwrap(), sheet.layout.unwrap());
        let stations: Vec<f64> = layout
            .station_nodes
            .iter()
            .map(|&node| layout.nodes_mm[node])
            .collect();
        for density in [Density::Coarse, Density::Fine, Density::Finest] {
            let what = format!("{study} {density:?}");
            let (cut, error) = check(&part, &stations, density, &what);
            println!(
                "{what}: {} volume {error:.1e} {:?}",
                size(&cut),
                cut.remarks
            );
            volume_holds(error, density, &what);
        }
    }
}
