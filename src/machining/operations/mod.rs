//! The operations: one file each, one line in [`ALL`] each.

mod bench;
mod bores;
mod edges;
mod facing;
mod floors;
mod holes;
mod loading;
mod outline;
mod pockets;
mod tops;
mod walls;

pub(super) use bench::at_bench;
pub(super) use walls::forces as wall_forces;

use super::job::Job;
use super::step::{Remark, Step};

/// Adds the steps of one kind of operation, and what the reader must know of them.
type Operation = fn(&Job, &mut Vec<Step>, &mut Vec<Remark>);

/// Every operation, in the order in which a machinist would do them within one setup.
pub(super) const ALL: &[Operation] = &[
    loading::plan,
    facing::plan,
    pockets::plan,
    tops::plan,
    floors::plan,
    walls::plan,
    holes::plan,
    bores::plan,
    outline::plan,
    edges::plan,
    bench::plan,
];
