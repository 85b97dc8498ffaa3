//! `fretwork`: which revision of a light machined frame should be cut next, and what is given up for it?
//!
//! A study (a TOML file) names a parametric frame, the dimensions that may change, loads, limits and
//! objectives. Every design is weighed, loaded and "machined" in the computer; a search gives the front of
//! candidate revisions.
//!
//! The pipeline, one way:
//!
//! ```text
//! study text -> study -> part -> structure, solid, machining -> evaluate -> explore -> analyse -> run
//!                                                                                                |
//!                                                                          store, review, cli <--+
//! ```
//!
//! | room | what is in it |
//! |---|---|
//! | [`units`] | dimensions, units, the only conversions |
//! | [`expression`] | arithmetic over named quantities with dimensions checked |
//! | [`catalogue`] | materials, drills, end mills, machines: plain data with their sources |
//! | [`part`] | path, section, hole rows, bosses; segments, volume, mass, geometric rules |
//! | [`structure`] | section properties, exact arc element, assembly, stress, frequency |
//! | [`solid`] | hexahedral mesh, equal slabs condensed once, the solid answer |
//! | [`machining`] | operations, cutting data, motion, cycle time |
//! | [`evaluate`] | one design to every measure, with its trace |
//! | [`explore`] | samplers and search; numbers only, nothing of frames |
//! | [`analyse`] | front, active constraints |
//! | [`study`] | TOML text to a checked study, or problems that point into the text |
//! | [`drawing`] | drawings of a frame, letters, sheets of paper |
//! | [`ledger`] | decisions of a meeting, revisions and their history: texts in, records out |
//! | [`budget`] | mass budget of a product, the fronts of its parts put together |
//! | [`measured`] | parts that were made and measured; what that says of the model |
//! | [`run`] | where the rooms meet |
//! | [`handoff`] | what is needed to draw and cut a design: files in memory |
//! | [`store`] | run folders |
//! | [`review`] | the offline page and the plots |
//! | [`cli`] | arguments, progress, printed tables and problems |

pub mod analyse;
pub mod budget;
pub mod catalogue;
pub mod cli;
pub mod drawing;
pub mod evaluate;
pub mod explore;
pub mod expression;
pub mod handoff;
pub mod ledger;
pub mod machining;
pub mod measured;
pub mod part;
pub mod review;
pub mod run;
pub mod solid;
pub mod store;
pub mod structure;
pub mod study;
pub mod units;
