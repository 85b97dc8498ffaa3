mod structure_common;
use structure_common::*;

const SECTIONS: &str = include_str!("data/solid/sections.csv");

#[test]
fn table() {
    let t = Table::read(SECTIONS);
    for row in &t.rows {
        let g = |c: &str| t.get(row, c).unwrap();
        let w = g("B_mm");
        let rib =
            (g("rib_t_mm") > 0.0).then(|| (0.5 * w - g("rib_y_mm"), g("rib_t_mm"), g("rib_H_mm")));
        let section = channel(
            w,
            g("tf_mm"),
            (g("to_mm"), g("Ho_mm")),
            (g("ti_mm"), g("Hi_mm")),
            rib,
        );
        let layout = chain(section, vec![], 0.0, 100.0, 1, false);
        let metal = fretwork::structure::Metal {
            poisson: 0.0,
            ..ALUMINIUM
        };
        let m =
            fretwork::structure::Model::new(&layout, ORIGIN, &metal, &Default::default()).unwrap();
        let p = m.section_properties(0).unwrap();
        let e = |v: f64, c: &str| format!("{}={:.2}({:+.1}%)", c, v, 100.0 * (v / g(c) - 1.0));
        println!(
            "{} {} {} {} Iyz={:.2}/{:.2} {} {} {} sc=({:.2},{:.2})/({:.2},{:.2}) {}",
            row[0],
            e(p.stretch_area_mm2, "A_mm2"),
            e(p.bending_mm4.0, "Iy_mm4"),
            e(p.bending_mm4.1, "Iz_mm4"),
            -p.bending_mm4.2,
            g("Iyz_mm4"),
            e(p.torsion_mm4, "J_mm4"),
            e(p.shear_areas_mm2.0, "As_y_mm2"),
            e(p.shear_areas_mm2.1, "As_z_mm2"),
            0.5 * w - p.shear_centre_mm.0,
            p.shear_centre_mm.1,
            g("sc_y_mm"),
            g("sc_z_mm"),
            e(p.warping_mm6, "Cw_mm6")
        );
    }
}
