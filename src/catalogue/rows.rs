//! Catalogue rows as a data file or a user's file writes them: every property optional, the unit in its name.

use serde::{Deserialize, Serialize};

/// A row type: its keys, the sane range of every number, and laying one row over another.
macro_rules! row {
    ($(#[$about:meta])* $name:ident { $($text:ident,)* } { $($number:ident: $low:literal..$high:literal,)* }) => {
        $(#[$about])*
        #[derive(Clone, Debug, Default, PartialEq, Deserialize, Serialize)]
        #[serde(deny_unknown_fields, default)]
        pub(super) struct $name {
            $(pub(super) $text: Option<String>,)*
            $(pub(super) $number: Option<f64>,)*
        }

        impl $name {
            /// All keys, in order.
            pub(super) const KEYS: &[&str] = &[$(stringify!($text),)* $(stringify!($number),)*];

            /// (key, value, least, greatest sane value) of every number given.
            pub(super) fn numbers(&self) -> Vec<(&'static str, f64, f64, f64)> {
                let mut all = Vec::new();
                $(if let Some(value) = self.$number {
                    all.push((stringify!($number), value, $low, $high));
                })*
                all
            }

            /// Takes over everything that `other` gives.
            pub(super) fn overlay(&mut self, other: &Self) {
                $(if other.$text.is_some() { self.$text.clone_from(&other.$text); })*
                $(if other.$number.is_some() { self.$number = other.$number; })*
            }
        }
    };
}

row! {
    /// A material.
    MaterialRow {
        id, name, also, form, iso_group,
        density_source, elastic_source, strength_source, fatigue_source, expansion_source,
        cutting_force_source, speed_source, tool_life_source, price_source, note,
    } {
        density_kg_m3: 100.0..25000.0,
        modulus_gpa: 0.1..1000.0,
        poisson: 0.0..0.499,
        yield_mpa: 1.0..5000.0,
        ultimate_mpa: 1.0..5000.0,
        fatigue_mpa: 1.0..3000.0,
        fatigue_cycles: 1e3..1e11,
        expansion_1e6_per_k: -5.0..300.0,
        kc11_mpa: 10.0..10000.0,
        mc: 0.0..0.6,
        mill_carbide_low_m_min: 1.0..5000.0,
        mill_carbide_high_m_min: 1.0..5000.0,
        mill_hss_low_m_min: 1.0..5000.0,
        mill_hss_high_m_min: 1.0..5000.0,
        drill_carbide_low_m_min: 1.0..5000.0,
        drill_carbide_high_m_min: 1.0..5000.0,
        drill_hss_low_m_min: 1.0..5000.0,
        drill_hss_high_m_min: 1.0..5000.0,
        drill_feed_at_1_5_mm: 0.001..1.0,
        drill_feed_at_12_5_mm: 0.001..2.0,
        taylor_c_carbide_m_min: 1.0..20000.0,
        taylor_n_carbide: 0.05..0.9,
        taylor_c_hss_m_min: 1.0..20000.0,
        taylor_n_hss: 0.05..0.9,
        price_class: 0.0..100.0,
        price_per_kg: 0.0..1e6,
        chips_per_kg: 0.0..1e6,
    }
}

row! {
    /// A drill.
    DrillRow { id, system, material, note, source, } {
        diameter_mm: 0.05..100.0,
        flute_length_mm: 0.1..1000.0,
        reach_mm: 0.1..1000.0,
        price: 0.0..1e6,
        life_holes: 1.0..1e9,
    }
}

row! {
    /// An end mill.
    EndMillRow { id, material, note, source, } {
        diameter_mm: 0.05..100.0,
        flutes: 1.0..20.0,
        flute_length_mm: 0.05..500.0,
        corner_radius_mm: 0.0..50.0,
        reach_mm: 0.05..500.0,
        price: 0.0..1e6,
        life_min: 0.1..1e5,
    }
}

row! {
    /// A machine.
    MachineRow { id, name, rotary, coolant, note, source, } {
        spindle_min_rpm: 1.0..200000.0,
        spindle_max_rpm: 100.0..200000.0,
        power_kw: 0.05..500.0,
        efficiency: 0.1..1.0,
        rapid_xy_m_min: 0.1..200.0,
        rapid_z_m_min: 0.1..200.0,
        acceleration_xy_m_s2: 0.01..50.0,
        acceleration_z_m_s2: 0.01..50.0,
        feed_max_m_min: 0.05..200.0,
        tool_change_s: 0.0..3600.0,
        spindle_start_s: 0.0..60.0,
        settle_s: 0.0..10.0,
        index_s: 0.0..600.0,
        zero_s: 0.0..3600.0,
        clearance_mm: 0.1..100.0,
        load_s: 0.0..86400.0,
        laser_kw: 0.01..100.0,
        pierce_s: 0.0..60.0,
        kerf_mm: 0.005..5.0,
        setup_s: 0.0..1e6,
        probe_s: 0.0..36000.0,
        rate_per_h: 0.0..1e5,
        labour_per_h: 0.0..1e5,
        table_x_mm: 10.0..20000.0,
        table_y_mm: 10.0..20000.0,
        corner_deviation_mm: 0.0001..1.0,
    }
}
