//! A product's mass budget: the combined front as a picture, and a page.

mod fronts;
mod page;
mod plot;

pub use page::budget_page;
pub use plot::budget_plot;
