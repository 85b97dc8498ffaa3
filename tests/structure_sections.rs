//! Section properties against `data/solid/sections.csv`: eight sections by a general-purpose open library of
//! cross-section analysis, two-dimensional finite elements, Poisson's ratio 0 (see the README there).

mod structure_common;

use structure_common::{ALUMINIUM, ORIGIN, Table, chain, section_of};

const SECTIONS: &str = include_str!("data/solid/sections.csv");

fn close(id: &str, what: &str, value: f64, expected: f64, allowed: f64) {
    assert!(
        (value - expected).abs() <= allowed,
        "{id} {what}: {value} against {expected}"
    );
}

#[test]
fn eight_sections() {
    let table = Table::read(SECTIONS);
    assert_eq!(table.rows.len(), 8);
    for row in &table.rows {
        let get = |column: &str| table.get(row, column).unwrap();
        let width = get("B_mm");
        let section = section_of(&table, row);
        let layout = chain(section, vec![], 0.0, 100.0, 1, false);
        let metal = fretwork::structure::Metal {
            poisson: 0.0,
            ..ALUMINIUM
        };
        let model =
            fretwork::structure::Model::new(&layout, ORIGIN, &metal, &Default::default()).unwrap();
        let p = model.section_properties(0).unwrap();
        let id = row[0].as_str();
        let relative = |what: &str, value: f64, allowed: f64| {
            close(id, what, value, get(what), allowed * get(what).abs());
        };
        // Rectangles are integrated exactly; the table's own mesh error is below 1e-6.
        relative("A_mm2", p.area_mm2, 1e-6);
        relative("A_mm2", p.stretch_area_mm2, 1e-6);
        relative("Iy_mm4", p.bending_mm4.0, 1e-4);
        relative("Iz_mm4", p.bending_mm4.1, 1e-4);
        close(id, "Iyz", p.bending_mm4.2.abs(), get("Iyz_mm4").abs(), 1e-2);
        close(id, "yc", 0.5 * width - p.centroid_mm.0, get("yc_mm"), 1e-5);
        close(id, "zc", p.centroid_mm.1, get("zc_mm"), 1e-5);
        // Thin plates with corrections for ends and junctions.
        relative("J_mm4", p.torsion_mm4, 0.015);
        // Sectorial coordinates on midlines: walls are not infinitely thin.
        relative("Cw_mm6", p.warping_mm6, 0.045);
        close(
            id,
            "shear centre y",
            0.5 * width - p.shear_centre_mm.0,
            get("sc_y_mm"),
            0.05,
        );
        close(
            id,
            "shear centre z",
            p.shear_centre_mm.1,
            get("sc_z_mm"),
            0.2,
        );
        // Shear flow along midlines, right for thin plates; shear gives a few per cent of a frame's deflection.
        relative("As_y_mm2", p.shear_areas_mm2.0, 0.095);
        let stocky = id == "P8";
        relative(
            "As_z_mm2",
            p.shear_areas_mm2.1,
            if stocky { 0.37 } else { 0.145 },
        );
    }
}
