//! Holes, parameters and operations as CSV (RFC 4180): a head, then one line each; points for decimals.

use super::{Facts, HoleRecord};
use crate::evaluate::Named;
use crate::machining::Operation;

/// A file of comma-separated values. A text that a spreadsheet would take for a formula gets an apostrophe in front.
fn written(head: &[&str], rows: Vec<Vec<String>>) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    let rows = rows
        .into_iter()
        .map(|row| row.iter().map(|text| harmless(text)).collect());
    let head = head.iter().map(|text| text.to_string()).collect();
    for row in std::iter::once::<Vec<String>>(head).chain(rows) {
        // Memory takes whatever is written.
        let _ = writer.write_record(&row);
    }
    writer.into_inner().unwrap_or_default()
}

fn harmless(text: &str) -> String {
    let number = text.parse::<f64>().is_ok();
    match text.chars().next() {
        Some('=' | '+' | '-' | '@' | '\t' | '\r') if !number => format!("'{text}"),
        _ => text.to_string(),
    }
}

/// A number with so many decimals, without a sign on nothing.
fn number(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return String::new();
    }
    let text = format!("{value:.decimals$}");
    match text
        .trim_start_matches('-')
        .chars()
        .all(|c| c == '0' || c == '.')
    {
        true => text.trim_start_matches('-').to_string(),
        false => text,
    }
}

/// A figure to nine digits, as short as it goes.
fn figure(value: f64) -> String {
    match value.is_finite() {
        true => {
            let rounded: f64 = format!("{value:.8e}").parse().unwrap_or(value);
            format!("{rounded}")
        }
        false => String::new(),
    }
}

/// The hole table.
pub fn holes(holes: &[HoleRecord]) -> Vec<u8> {
    let head = [
        "number",
        "of",
        "in",
        "x_mm",
        "y_mm",
        "z_mm",
        "angle_deg",
        "axis_x",
        "axis_y",
        "axis_z",
        "station_mm",
        "diameter_mm",
        "fit",
        "depth_mm",
        "through",
        "point_angle_deg",
        "point_mm",
        "counterbore_diameter_mm",
        "counterbore_depth_mm",
        "tool",
    ];
    let row = |hole: &HoleRecord| {
        let [x, y, z] = hole.at_mm;
        let wide = |of: fn((f64, f64)) -> f64| {
            hole.counterbore_mm
                .map_or(String::new(), |wide| number(of(wide), 4))
        };
        let blind = |text: String| if hole.through { String::new() } else { text };
        vec![
            hole.number.to_string(),
            hole.group.clone(),
            hole.strip.clone(),
            number(x, 4),
            number(y, 4),
            number(z, 4),
            number(hole.angle_deg, 5),
            number(hole.axis[0], 6),
            number(hole.axis[1], 6),
            number(hole.axis[2], 6),
            number(hole.station_mm, 4),
            number(hole.diameter_mm, 4),
            if hole.reamed {
                "H7".into()
            } else {
                String::new()
            },
            number(hole.depth_mm, 4),
            if hole.through {
                "yes".into()
            } else {
                "no".into()
            },
            blind(number(HoleRecord::POINT_ANGLE_DEG, 0)),
            blind(number(hole.point_mm, 4)),
            wide(|wide| wide.0),
            wide(|wide| wide.1),
            hole.tools.join("; "),
        ]
    };
    written(&head, holes.iter().map(row).collect())
}

/// Variables, derived values and measures of the design.
pub fn parameters(facts: &Facts) -> Vec<u8> {
    let groups: [(&str, &[Named]); 3] = [
        ("variable", &facts.sheet.variables),
        ("derived", &facts.sheet.derived),
        ("measure", &facts.sheet.measures),
    ];
    let row = |kind: &str, named: &Named| {
        vec![
            named.name.clone(),
            figure(named.value),
            named.unit.clone(),
            kind.to_string(),
        ]
    };
    let rows = groups
        .iter()
        .flat_map(|(kind, list)| list.iter().map(|named| row(kind, named)));
    written(&["name", "value", "unit", "kind"], rows.collect())
}

/// The operations in the order in which they are done, then the work at the bench.
pub fn operations(facts: &Facts) -> Vec<u8> {
    let cost = format!("cost_{}", facts.sheet.currency);
    let head = [
        "number",
        "setup",
        "operation",
        "on",
        "tool",
        "spindle_rev_min",
        "feed_mm_min",
        "depth_mm",
        "width_mm",
        "count",
        "cut_length_mm",
        "removed_mm3",
        "cut_s",
        "move_s",
        "fixed_s",
        "total_s",
        "simulated_s",
        &cost,
        "bound_by",
    ];
    let plan = &facts.sheet.plan;
    let all = plan.operations.iter().chain(&plan.bench).enumerate();
    let row = |(index, each): (usize, &Operation)| {
        let bench = index >= plan.operations.len();
        vec![
            (index + 1).to_string(),
            if bench {
                "bench".into()
            } else {
                each.setup.to_string()
            },
            each.name.clone(),
            each.feature.clone(),
            each.tool.clone(),
            number(each.spindle_rpm, 0),
            number(each.feed_mm_min, 0),
            number(each.depth_mm, 3),
            number(each.width_mm, 3),
            each.count.to_string(),
            number(each.cut_length_mm, 1),
            number(each.removed_mm3, 1),
            number(each.cut_s, 2),
            number(each.move_s, 2),
            number(each.fixed_s, 2),
            number(each.total_s(), 2),
            number(each.simulated_s, 2),
            number(each.cost, 3),
            each.limit.clone(),
        ]
    };
    written(&head, all.map(row).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_no_sign_on_nothing_and_no_text_is_a_formula() {
        assert_eq!(number(-0.00001, 3), "0.000");
        assert_eq!(number(-0.001, 3), "-0.001");
        assert_eq!(number(f64::NAN, 3), "");
        assert_eq!(figure(0.1 + 0.2), "0.3");
        assert_eq!(harmless("=1+1"), "'=1+1");
        assert_eq!(harmless("-1.5"), "-1.5");
        assert_eq!(harmless("-lug"), "'-lug");
    }
}
