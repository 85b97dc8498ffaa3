//! A design's proof on a terminal.

use std::io::{self, Write};

use super::number::figure;
use super::style;
use super::table::{Align, Table, paragraph, width};
use crate::evaluate::Proof;

/// Prints beam, searched and solid figures, hole peaks, vibrations and what the mesh leaves open.
pub fn print(out: &mut dyn Write, proof: &Proof) -> io::Result<()> {
    let mut table = Table::new(&[
        ("SOLID", Align::Left),
        ("beam", Align::Right),
        ("searched", Align::Right),
        ("coarser", Align::Right),
        ("finer", Align::Right),
        ("solid", Align::Right),
        ("open", Align::Right),
        ("", Align::Left),
    ]);
    for row in &proof.rows {
        table.row([
            row.name.as_str().into(),
            figure(row.beam).into(),
            figure(row.searched).into(),
            figure(row.coarser).into(),
            figure(row.finer).into(),
            figure(row.solid).into(),
            format!("{:.1} %", row.open_percent).into(),
            row.unit.as_str().into(),
        ]);
    }
    writeln!(out)?;
    table.print(out, width())?;
    if !proof.peaks.is_empty() {
        let mut table = Table::new(&[
            ("PEAK AT HOLES", Align::Left),
            ("coarser", Align::Right),
            ("finer", Align::Right),
            ("", Align::Left),
            ("where", Align::Wrap),
        ]);
        for peak in &proof.peaks {
            let [x, y, z] = peak.place_mm;
            table.row([
                peak.load.as_str().into(),
                figure(peak.coarser_mpa).into(),
                figure(peak.finer_mpa).into(),
                "MPa".into(),
                format!("{}, at x {x:.1}, y {y:.1}, z {z:.1} mm", peak.hole).into(),
            ]);
        }
        writeln!(out)?;
        table.print(out, width())?;
    }
    if !proof.modes.is_empty() {
        let mut table = Table::new(&[
            ("VIBRATIONS", Align::Right),
            ("", Align::Left),
            ("", Align::Left),
            ("share", Align::Right),
        ]);
        for mode in &proof.modes {
            table.row([
                figure(mode.frequency_hz).into(),
                "Hz".into(),
                mode.kind.as_str().into(),
                format!("{:.0} %", 100.0 * mode.share).into(),
            ]);
        }
        writeln!(out)?;
        table.print(out, width())?;
    }
    let text = format!(
        "Meshes: {}. Solid: the finer mesh carried on to an endlessly fine one; open: what that may be \
         off by. Stress at sharp inner corners has no limit in a solid and is not given.",
        proof.meshes
    );
    paragraph(out, &text, 2, style::DIM)?;
    for remark in &proof.remarks {
        paragraph(out, remark, 2, style::WARN)?;
    }
    Ok(())
}
