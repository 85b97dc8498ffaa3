//! The built-in tables are whole and sourced; a user's file adds, overrides, and fails with a place.

use fretwork::catalogue::{Catalogue, ToolMaterial, chip_loads};

#[test]
fn every_row_of_the_data_files_arrives() {
    let catalogue = Catalogue::builtin();
    let lines = |text: &str| text.lines().count() - 1;
    assert_eq!(
        catalogue.materials().len(),
        lines(include_str!("../src/catalogue/data/materials.csv"))
    );
    assert_eq!(
        catalogue.drills().len(),
        lines(include_str!("../src/catalogue/data/drills.csv"))
    );
    assert_eq!(
        catalogue.end_mills().len(),
        lines(include_str!("../src/catalogue/data/end_mills.csv"))
    );
    assert_eq!(
        catalogue.machines().len(),
        lines(include_str!("../src/catalogue/data/machines.csv"))
            + lines(include_str!("../src/catalogue/data/lasers.csv"))
    );
    assert_eq!(
        chip_loads().len(),
        lines(include_str!("../src/catalogue/data/chip_loads.csv"))
    );
}

#[test]
fn ids_are_unique_and_every_row_names_its_source() {
    let catalogue = Catalogue::builtin();
    for table in [
        catalogue.material_table(),
        catalogue.drill_table(),
        catalogue.end_mill_table(),
        catalogue.machine_table(),
    ] {
        let mut ids: Vec<_> = table.rows.iter().map(|row| row[0].clone()).collect();
        ids.sort();
        ids.dedup();
        assert_eq!(ids.len(), table.rows.len());
        for row in &table.rows {
            assert_eq!(row.len(), table.headers.len());
            assert!(row.last().is_some_and(|source| source.len() > 5), "{row:?}");
        }
    }
}

/// Inch drills: fractions exactly (25.4 mm an inch); #30 = 0.1285 in, E = 1/4 in, #7 = 0.201 in by ASME
/// B94.11M (from memory). Jobber flute lengths by ISO 235 (from memory).
#[test]
fn drill_sizes_as_published() {
    let catalogue = Catalogue::builtin();
    let size = |id: &str| {
        catalogue
            .drill(id)
            .map(|drill| drill.diameter_mm)
            .unwrap_or(f64::NAN)
    };
    assert!((size("1/8 in") - 25.4 / 8.0).abs() < 1e-4);
    assert!((size("#30") - 0.1285 * 25.4).abs() < 1e-3);
    assert!((size("#7") - 0.201 * 25.4).abs() < 1e-3);
    assert!((size("E") - 6.35).abs() < 1e-3);
    let flute = |id: &str| {
        catalogue
            .drill(id)
            .map(|drill| drill.flute_length_mm)
            .unwrap_or(f64::NAN)
    };
    assert_eq!(
        [flute("1 mm"), flute("3 mm"), flute("5 mm"), flute("10 mm")],
        [12.0, 33.0, 52.0, 87.0]
    );
    assert_eq!(
        catalogue.drill_of(3.2).map(|drill| drill.id.as_str()),
        Some("3.2 mm")
    );
    assert!(catalogue.drill_of(3.217).is_none());
}

/// 7075-T651 against 6061-T651: half as much strength again and more, hardly any stiffness (Aluminum
/// Association typical properties: yield 505 and 275 MPa, E 72 and 69 GPa).
#[test]
fn aluminium_as_published() {
    let catalogue = Catalogue::builtin();
    let find = |id: &str| {
        catalogue
            .material(id)
            .cloned()
            .unwrap_or_else(|| panic!("no {id}"))
    };
    let (weak, strong) = (find("6061-T6"), find("7075-T6"));
    assert_eq!(
        (weak.id.as_str(), strong.id.as_str()),
        ("al6061_t651", "al7075_t651")
    );
    assert_eq!(
        (weak.yield_mpa, strong.yield_mpa),
        (Some(275.0), Some(505.0))
    );
    assert!((strong.modulus_gpa / weak.modulus_gpa - 72.0 / 69.0).abs() < 0.01);
    assert_eq!(find("6061-T6511").id, "al6061_t6511");
    assert_eq!(find("AL6061 t6511").id, "al6061_t6511");
    assert_eq!(catalogue.nearest_material("7057-T651"), Some("7075-T651"));
    assert_eq!(catalogue.nearest_machine("smal_vmc"), Some("small_vmc"));
}

#[test]
fn a_missing_property_is_named() {
    let catalogue = Catalogue::builtin();
    let laminate = catalogue.material("cfrp_qi").expect("in the table");
    let error = laminate
        .need_yield_mpa()
        .expect_err("it has no yield strength");
    assert_eq!(
        error.to_string(),
        "`cfrp_qi` has no `yield_mpa` in the catalogue"
    );
}

#[test]
fn a_user_file_adds_and_overrides() {
    let text = r#"
        [[material]]
        id = "al6061_t6511"
        yield_mpa = 262

        [[material]]
        id = "ours"
        density_kg_m3 = 2680
        modulus_gpa = 70
        poisson = 0.33

        [[drill]]
        id = "3.17 mm"
        diameter_mm = 3.17
        flute_length_mm = 40
        material = "carbide"

        [[machine]]
        id = "small_vmc"
        spindle_max_rpm = 12000
    "#;
    let builtin = Catalogue::builtin();
    let merged = builtin.clone().with_user_file(text).expect("a good file");
    let bar = merged.material("al6061_t6511").expect("still there");
    assert_eq!((bar.yield_mpa, bar.modulus_gpa), (Some(262.0), 68.9));
    let strength = bar
        .sources
        .iter()
        .find(|source| source.of == "strength")
        .expect("sourced");
    assert_eq!(strength.text, "user's catalogue file");
    let density = bar
        .sources
        .iter()
        .find(|source| source.of == "density")
        .expect("sourced");
    assert!(density.text.contains("ASM"));
    assert_eq!(merged.material("ours").and_then(|m| m.yield_mpa), None);
    assert_eq!(
        merged.drill_of(3.17).map(|drill| drill.material),
        Some(ToolMaterial::Carbide)
    );
    assert_eq!(
        merged
            .machine("small_vmc")
            .map(|m| (m.spindle_max_rpm, m.power_kw)),
        Some((12000.0, 7.5))
    );
    assert_eq!(merged.materials().len(), builtin.materials().len() + 1);
    assert_eq!(merged.machines().len(), builtin.machines().len());
}

/// Text, line, column, part of the message, part of the mend.
#[track_caller]
fn check(text: &str, line: usize, column: usize, message: &str, mend: &str) {
    let error = Catalogue::builtin()
        .with_user_file(text)
        .expect_err("a bad file");
    assert_eq!((error.line, error.column), (line, column), "{error}");
    assert!(error.message.contains(message), "{error}");
    assert!(error.mend.contains(mend), "{error}");
}

#[test]
fn mistakes_point_into_the_text() {
    check(
        "[[material]]\nid = \"x\"\nmodulus = 70\n",
        3,
        1,
        "unknown field `modulus`",
        "`modulus_gpa`",
    );
    check(
        "[[machine]]\nid = \"small_vmc\"\npower = 7\n",
        3,
        1,
        "unknown field `power`",
        "`power_kw`",
    );
    check(
        "[[materials]]\nid = \"x\"\n",
        1,
        3,
        "unknown field `materials`",
        "`material`",
    );
    check(
        "[[material]]\nid = \"x\"\n  modulus_gpa = 70\npoisson = 0.3\n",
        2,
        1,
        "no `density_kg_m3`",
        "add a line",
    );
    check(
        "[[material]]\nid = \"al6061_t651\"\n  modulus_gpa = 68900\n",
        3,
        3,
        "outside 0.1 to 1000",
        "unit",
    );
    check(
        "[[material]]\nid = \"al6061_t651\"\nmodulus_gpa = nan\n",
        3,
        1,
        "NaN",
        "unit",
    );
    check(
        "[[material]]\nid = \"al6061_t651\"\nmodulus_gpa = \"68.9 GPa\"\n",
        3,
        15,
        "invalid type",
        "plain number",
    );
    check(
        "[[drill]]\ndiameter_mm = 3\n",
        2,
        1,
        "no `id`",
        "add a line",
    );
    check(
        "[[drill]]\nid = \"a\"\ndiameter_mm = 0\nflute_length_mm = 9\n",
        3,
        1,
        "outside",
        "unit",
    );
    check(
        "[[end_mill]]\nid = \"1 mm\"\nmaterial = \"steel\"\n",
        3,
        1,
        "material",
        "carbide",
    );
    check(
        "[[end_mill]]\nid = \"1 mm\"\nflutes = 2.5\n",
        3,
        1,
        "flutes",
        "whole",
    );
    check(
        "[[end_mill]]\nid = \"3 mm\"\nreach_mm = 5\n",
        3,
        1,
        "reach_mm",
        "flutes",
    );
    check(
        "[[end_mill]]\nid = \"3 mm\"\nprice = -2\n",
        3,
        1,
        "outside 0",
        "unit",
    );
    check(
        "[[machine]]\nid = \"small_vmc\"\nrotary = \"perhaps\"\n",
        3,
        1,
        "rotary",
        "\"yes\" or \"no\"",
    );
    check(
        "[[machine]]\nid = \"small_vmc\"\nrotary = true\n",
        3,
        10,
        "invalid type",
        "\"yes\" or \"no\"",
    );
    // A machine without a spindle limit.
    check(
        "[[machine]]\nid = \"ours\"\npower_kw = 5\nrapid_xy_m_min = 20\n",
        2,
        1,
        "no `spindle_max_rpm`",
        "add a line",
    );
    check(
        "[[material]]\nid = \"pom_c\"\nmill_hss_low_m_min = 30\nmill_hss_high_m_min = 20\n",
        3,
        1,
        "reversed",
        "exchange",
    );
    check("[[material]\n", 1, 12, "", "");
    check(
        "[material]\nid = \"x\"\n",
        1,
        1,
        "invalid type: map",
        "double brackets",
    );
}

#[test]
fn an_empty_file_changes_nothing() {
    let merged = Catalogue::builtin()
        .with_user_file("")
        .expect("an empty file is no mistake");
    assert_eq!(merged, Catalogue::builtin());
}

/// What a run freezes can be laid over a later catalogue and gives the same entries.
#[test]
fn extracted_entries_come_back_the_same() {
    let changed = "[[material]]\nid = \"al6061_t6511\"\nyield_mpa = 262\n[[machine]]\nid = \"small_vmc\"\nload_s = 45\n";
    let ours = Catalogue::builtin()
        .with_user_file(changed)
        .expect("a good file");
    let text = ours.extract(
        &["al6061_t6511"],
        &["3.2 mm", "#30"],
        &["3 mm"],
        &["small_vmc"],
    );
    let again = Catalogue::builtin()
        .with_user_file(&text)
        .expect("our own writing");
    assert_eq!(
        again.material("al6061_t6511"),
        ours.material("al6061_t6511")
    );
    assert_eq!(again.machine("small_vmc"), ours.machine("small_vmc"));
    assert_eq!(again, ours);
    assert_eq!(text.matches("[[drill]]").count(), 2);
}

/// Prices, rates, tool life and tables of a user's file: what is left out is usual, and invented where it is money.
#[test]
fn a_user_file_prices_its_tools() {
    let text = r#"
        [[drill]]
        id = "2.7 mm carbide"
        diameter_mm = 2.7
        flute_length_mm = 20
        material = "carbide"
        price = 21.5
        life_holes = 4000

        [[end_mill]]
        id = "2 mm long"
        diameter_mm = 2
        flutes = 2
        flute_length_mm = 6
        reach_mm = 14

        [[machine]]
        id = "small_vmc"
        rate_per_h = 72
        table_y_mm = 350

        [[material]]
        id = "al6061_t6511"
        price_per_kg = 6.4
        taylor_c_carbide_m_min = 2000
    "#;
    let catalogue = Catalogue::builtin()
        .with_user_file(text)
        .expect("a good file");
    let drill = catalogue.drill("2.7 mm carbide").expect("added");
    assert_eq!((drill.price, drill.life_holes), (21.5, Some(4000.0)));
    assert_eq!(drill.reach_mm, 20.0);
    let mill = catalogue.end_mill("2 mm long").expect("added");
    assert_eq!((mill.reach_mm, mill.life_min), (14.0, None));
    assert!((mill.price - (9.0 + 2.0 + 0.12 * 4.0)).abs() < 1e-12);
    let machine = catalogue.machine("small_vmc").expect("known");
    assert_eq!(
        (machine.rate_per_h, machine.table_x_mm, machine.table_y_mm),
        (72.0, 700.0, 350.0)
    );
    let bar = catalogue.material("al6061_t6511").expect("known");
    assert_eq!(bar.price_per_kg, Some(6.4));
    assert_eq!(bar.taylor(ToolMaterial::Carbide), Some((2000.0, 0.25)));
    let source = |of: &str| {
        let source = bar.sources.iter().find(|source| source.of == of);
        source.expect("sourced").text.clone()
    };
    assert_eq!(source("tool life"), "user's catalogue file");
    assert_eq!(source("price"), "user's catalogue file");
    assert!(source("speeds").contains("Kalpakjian"));
}

/// Taylor's constants lie in the ranges of the trade (m/min for one minute): carbide in aluminium 900 to 2500, in steel
/// 300 to 500, in titanium 90 to 150; exponents of Groover and Kalpakjian & Schmid (from memory): HSS 0.1 to 0.15,
/// carbide 0.2 to 0.3. Constants are common practice without a source.
#[test]
fn tool_life_within_the_ranges_of_the_trade() {
    let catalogue = Catalogue::builtin();
    for material in catalogue.materials() {
        for (tool, range) in [
            (ToolMaterial::Hss, 0.1..=0.15),
            (ToolMaterial::Carbide, 0.2..=0.3),
        ] {
            if let Some((_, exponent)) = material.taylor(tool) {
                assert!(range.contains(&exponent), "{}", material.id);
            }
        }
    }
    let constant = |id: &str| {
        let material = catalogue.material(id).expect("known");
        material.taylor(ToolMaterial::Carbide).expect("known").0
    };
    assert!((900.0..=2500.0).contains(&constant("7075-T651")));
    assert!((300.0..=500.0).contains(&constant("4130")));
    assert!((90.0..=150.0).contains(&constant("Ti-6Al-4V")));
}
