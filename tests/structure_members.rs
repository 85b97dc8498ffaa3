//! The beam against solid finite elements of drilled and undrilled members: data/solid/members*.csv.

mod structure_common;

use structure_common::{Table, member_stiffness};

const MEMBERS: &str = include_str!("data/solid/members.csv");
const UNDRILLED: &str = include_str!("data/solid/members_undrilled.csv");

#[test]
fn table() {
    let members = Table::read(MEMBERS);
    let undrilled = Table::read(UNDRILLED);
    for row in &members.rows {
        for drilled in [false, true] {
            let holes = members.get(row, "n_rows").unwrap_or(0.0) > 0.0;
            if drilled && !holes {
                continue;
            }
            let mut line = format!("{} {}", row[0], if drilled { "D" } else { "-" });
            for (column, value) in member_stiffness(&members, row, drilled) {
                let expected = if drilled || !holes {
                    members.get(row, column)
                } else {
                    undrilled
                        .rows
                        .iter()
                        .find(|r| r[0] == row[0])
                        .and_then(|r| undrilled.get(r, column))
                };
                if let Some(expected) = expected {
                    line += &format!(
                        "  {}={:+.1}",
                        column
                            .split('_')
                            .take(2)
                            .collect::<Vec<_>>()
                            .join("_")
                            .replace("_N", ""),
                        100.0 * (value / expected - 1.0)
                    );
                }
            }
            println!("{line}");
        }
    }
}
