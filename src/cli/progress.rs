//! How far a run is, on a terminal; nothing at all elsewhere.

use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressStyle};

use super::number::{count, duration};

/// The line at the foot of the terminal.
pub struct Progress {
    bar: ProgressBar,
    begun: Instant,
    known: usize,
    budget: usize,
}

impl Progress {
    /// A line for a run of `budget` designs of which `known` need not be evaluated. Draws nothing where stderr is
    /// no terminal.
    pub fn new(budget: usize, known: usize) -> Self {
        let bar = ProgressBar::new(budget as u64);
        if let Ok(style) = ProgressStyle::with_template("{wide_bar} {msg}") {
            bar.set_style(style.progress_chars("━╸─"));
        }
        bar.enable_steady_tick(Duration::from_millis(200));
        Progress {
            bar,
            begun: Instant::now(),
            known,
            budget,
        }
    }

    /// A line for the solids that are solved before a run, of which there is no saying how many.
    pub fn solids() -> Self {
        let bar = ProgressBar::new_spinner();
        if let Ok(style) = ProgressStyle::with_template("{spinner} {msg}") {
            bar.set_style(style);
        }
        bar.enable_steady_tick(Duration::from_millis(200));
        Progress {
            bar,
            begun: Instant::now(),
            known: 0,
            budget: 0,
        }
    }

    /// Shows how many solids there are.
    pub fn show_solids(&self, solids: usize) {
        let spent = duration(self.begun.elapsed().as_secs_f64());
        self.bar.set_message(format!(
            "{} designs solved as solids, {spent}",
            count(solids)
        ));
    }

    /// Shows where the run is.
    pub fn show(&self, designs: usize, feasible: usize, front: usize) {
        self.bar.set_position(designs as u64);
        let seconds = self.begun.elapsed().as_secs_f64();
        self.bar.set_message(message(
            self.budget,
            self.known,
            designs,
            feasible,
            front,
            seconds,
        ));
    }

    /// Wipes the line.
    pub fn end(self) {
        self.bar.finish_and_clear();
    }
}

/// Designs, rate, time left, feasible share, size of the front.
fn message(
    budget: usize,
    known: usize,
    designs: usize,
    feasible: usize,
    front: usize,
    seconds: f64,
) -> String {
    let evaluated = designs.saturating_sub(known);
    let rate = if seconds > 0.0 {
        evaluated as f64 / seconds
    } else {
        0.0
    };
    let (pace, left) = match rate {
        rate if rate > 0.0 => {
            let left = (budget.saturating_sub(designs) as f64 / rate).ceil();
            let left = if left < 60.0 {
                format!("{left} s")
            } else {
                duration(left)
            };
            (
                format!("{}/s", count(rate.round() as usize)),
                format!("{left} left"),
            )
        }
        _ => ("-/s".into(), "- left".into()),
    };
    let share = if designs > 0 {
        feasible as f64 / designs as f64 * 100.0
    } else {
        0.0
    };
    format!(
        "{}/{}  {pace}  {left}  {share:.0} % feasible  front {front}",
        count(designs),
        count(budget)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn known_designs_don_t_count_for_the_rate() {
        let text = message(24_000, 8_192, 12_192, 6_096, 143, 2.0);
        assert_eq!(
            text,
            "12,192/24,000  2,000/s  6 s left  50 % feasible  front 143"
        );
        assert_eq!(
            message(100, 0, 0, 0, 0, 0.0),
            "0/100  -/s  - left  0 % feasible  front 0"
        );
    }

    #[test]
    fn there_is_room_for_a_bar() {
        let longest = message(10_000_000, 0, 9_999_999, 9_999_998, 9_999, 3600.0 * 10.0);
        assert!(longest.chars().count() <= 72, "{longest}");
    }
}
