//! The revisions of a study: small plots, one a measure, and a page of them with the steps in words.

mod page;
mod panel;

pub use page::history_page;
pub use panel::history_plot;
