//! Which tolerance to tighten, which to relax: tried on the same copies.

use super::{Retoleranced, SourceShare, Study, SureRow, all_met, judged, length, sampled};
use crate::evaluate::Record;
use crate::evaluate::scatter::{Scattered, Sources, share_below};

/// Tolerances that are tried narrower, at most.
const TRIED: usize = 3;

/// What all relaxed tolerances together may cost of the chance.
const RELAXED: f64 = 0.001;

impl Study<'_> {
    fn place(&self, sources: &Sources, name: &str) -> Option<usize> {
        let at = self.names.iter().position(|each| each == name)?;
        Some(sources.used[at].0)
    }

    /// Halves the sources that spoil most, one at a time.
    pub(super) fn tighten(
        &self,
        scattered: &Scattered,
        points: &[Vec<f64>],
        rows: &[SureRow],
    ) -> Vec<Retoleranced> {
        let mut spoils: Vec<SourceShare> = Vec::new();
        for row in rows.iter().filter(|row| row.chance.share < 1.0) {
            for each in &row.sources {
                let share = (1.0 - row.chance.share) * each.share;
                match spoils.iter_mut().find(|known| known.source == each.source) {
                    Some(known) => known.share += share,
                    None => spoils.push(SourceShare {
                        source: each.source.clone(),
                        share,
                    }),
                }
            }
        }
        spoils.sort_by(|a, b| b.share.total_cmp(&a.share));
        spoils.truncate(TRIED);
        let mut tried: Vec<Retoleranced> = spoils
            .into_iter()
            .filter_map(|each| {
                let place = self.place(scattered.sources(), &each.source)?;
                let copies = sampled(&scattered.with(&[place], 0.5), points);
                Some(Retoleranced {
                    sources: vec![each.source],
                    factor: 0.5,
                    chance: all_met(&copies, self.setup),
                })
            })
            .collect();
        tried.sort_by(|a, b| b.chance.share.total_cmp(&a.chance.share));
        tried
    }

    /// Doubles all sources that hardly matter: taken in order of what they add to the chance of failure, linearly, as
    /// long as that stays within [`RELAXED`]; then tried.
    pub(super) fn relax(
        &self,
        scattered: &Scattered,
        points: &[Vec<f64>],
        rows: &[SureRow],
    ) -> Option<Retoleranced> {
        let limits: Vec<(f64, Vec<f64>)> = (0..judged(self.setup) - 1)
            .map(|index| {
                let margin = |record: &Record| -record.violations[index];
                (margin(&self.slopes.middle), self.slopes.parts(margin))
            })
            .filter(|(_, parts)| length(parts) > 1e-9)
            .collect();
        if rows.is_empty() || limits.is_empty() {
            return None;
        }
        let failing = |wide: &[bool]| -> f64 {
            let of = |(middle, parts): &(f64, Vec<f64>)| {
                let parts = parts.iter().zip(wide);
                let parts: Vec<f64> = parts
                    .map(|(part, wide)| if *wide { 2.0 * part } else { *part })
                    .collect();
                share_below(-middle / length(&parts))
            };
            limits.iter().map(of).sum()
        };
        let none = vec![false; self.names.len()];
        let before = failing(&none);
        let mut order: Vec<(f64, usize)> = (0..self.names.len())
            .map(|source| {
                let mut wide = none.clone();
                wide[source] = true;
                (failing(&wide) - before, source)
            })
            .collect();
        order.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut wide = none;
        for (_, source) in order {
            wide[source] = true;
            if failing(&wide) - before > RELAXED {
                wide[source] = false;
                break;
            }
        }
        let chosen: Vec<usize> = (0..wide.len()).filter(|source| wide[*source]).collect();
        if chosen.is_empty() {
            return None;
        }
        let sources = scattered.sources();
        let places: Vec<usize> = chosen
            .iter()
            .map(|source| sources.used[*source].0)
            .collect();
        let wider = scattered.with(&places, 2.0);
        Some(Retoleranced {
            sources: chosen
                .iter()
                .map(|source| self.names[*source].clone())
                .collect(),
            factor: 2.0,
            chance: all_met(&sampled(&wider, points), self.setup),
        })
    }
}
