//! What a plane cuts out of the frame, holes along the tool axis left out.

use super::columns::{Cell, crossed};
use super::ink::Point;
use super::shape::plan;
use super::side::View;
use crate::part::{Depth, Layout, StripName, drill_point_height_mm};

impl View<'_> {
    /// The metal that the plane goes through, as shapes, holes along the tool axis left out.
    pub(crate) fn cut_faces(&mut self, layout: &Layout, cells: &[Cell]) {
        let mut spans: Vec<(f64, f64, f64)> = Vec::new();
        for cell in cells {
            let turned: Vec<Point> = cell.outline.iter().map(|p| (p.1, p.0)).collect();
            let low = turned.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
            let high = turned.iter().map(|p| p.0).fold(f64::NEG_INFINITY, f64::max);
            let at = self.cut + 1e-5;
            spans.extend(
                crossed(&turned, at, low, high)
                    .into_iter()
                    .map(|(a, b)| (a, b, cell.top)),
            );
        }
        spans.sort_by(|a, b| a.0.total_cmp(&b.0));
        // Holes: middle, half chord, bottom, tip.
        let mut drilled: Vec<(f64, f64, f64, Option<f64>)> = Vec::new();
        let mut take = |at: Point, diameter: f64, bottom: Option<f64>, pointed: bool| {
            let (u, depth) = self.look.of(at);
            let (off, radius) = (depth - self.cut, 0.5 * diameter);
            if off.abs() < radius {
                let middle = pointed && off.abs() < 0.02 * radius;
                let tip = bottom
                    .filter(|_| middle)
                    .map(|z| z - drill_point_height_mm(diameter));
                let half = (radius * radius - off * off).sqrt();
                drilled.push((u, half, bottom.unwrap_or(0.0), tip));
            }
        };
        for hole in &layout.holes {
            let row = &self.part.hole_rows[hole.row];
            if row.strip == StripName::Floor {
                let floor = super::shape::section_at(layout, hole.station_mm).floor_mm;
                let bottom = match row.depth {
                    Depth::Through => None,
                    Depth::Blind(depth) => Some(floor - depth),
                };
                let at = plan(&self.part.path, hole.station_mm, hole.across_mm);
                take(at, row.diameter_mm, bottom, true);
            }
        }
        for boss in &self.part.bosses {
            let Some(bore) = boss.bore else { continue };
            let at = plan(&self.part.path, boss.station_mm, 0.0);
            let top = boss.bore_top_mm();
            if let Some(wide) = bore.counterbore {
                take(at, wide.diameter_mm, Some(top - wide.depth_mm), false);
            }
            take(
                at,
                bore.diameter_mm,
                bore.depth_mm.map(|depth| top - depth),
                true,
            );
        }
        let mut left: Vec<(f64, f64, f64)> = spans;
        for &(u, half, bottom, _) in &drilled {
            let mut next = Vec::new();
            for (a, b, top) in left {
                let (from, to) = (u - half, u + half);
                if to <= a || from >= b {
                    next.push((a, b, top));
                    continue;
                }
                if from > a {
                    next.push((a, from, top));
                }
                if bottom > 0.0 {
                    next.push((from.max(a), to.min(b), top.min(bottom)));
                }
                if to < b {
                    next.push((to, b, top));
                }
                // The far half of the hole is seen behind.
                self.seen.level.push((top, (from.max(a), to.min(b))));
                self.seen
                    .level
                    .push((bottom.max(0.0), (from.max(a), to.min(b))));
            }
            left = next;
        }
        let mut shape: Vec<Point> = Vec::new();
        let mut shapes: Vec<Vec<Point>> = Vec::new();
        let mut close = |shape: &mut Vec<Point>| {
            if let (Some(&first), Some(&last)) = (shape.first(), shape.last()) {
                let mut whole = vec![(first.0, 0.0)];
                whole.append(shape);
                whole.push((last.0, 0.0));
                shapes.push(whole);
            }
        };
        for (a, b, top) in left {
            if shape.last().is_some_and(|last| a - last.0 > 1e-3) {
                close(&mut shape);
            }
            shape.push((a, top));
            let tip = drilled.iter().find(|hole| {
                hole.3.is_some() && (hole.2 - top).abs() < 1e-9 && (a..=b).contains(&hole.0)
            });
            if let Some((u, _, _, Some(z))) = tip {
                shape.push((*u, z.max(0.0)));
            }
            shape.push((b, top));
        }
        close(&mut shape);
        self.seen.cut = shapes;
    }
}
