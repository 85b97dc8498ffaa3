//! The review: one offline page of a finished run, and static plots.
//!
//! The page is a single HTML file that makes no request: style and script are named in its content policy by
//! their hashes, the figures are JSON in the file, the drawings SVG. Everything a study says (title, notes,
//! names) is escaped where it is put.

mod budget;
mod calibration;
mod columns;
mod comparison;
mod driver_section;
mod drivers;
pub mod fields;
pub mod geometry;
mod history;
mod landmarks;
mod pack;
mod page;
mod paper;
mod plots;
mod sheets;
mod solid;
mod told;

pub use budget::{budget_page, budget_plot};
pub use calibration::calibration_plot;
pub use columns::MOST_DESIGNS;
pub use comparison::comparison_page;
pub use drivers::driver_plots;
pub use history::{history_page, history_plot};
pub use landmarks::{Landmark, landmarks};
pub use page::{PageFacts, RevisionMark, page};
pub use paper::{Paper, paper};
pub use plots::{plots, slides, ticks};
pub use sheets::drawings;
pub use solid::solid_picture;
