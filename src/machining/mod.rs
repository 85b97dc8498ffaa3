//! Time and money: the operations a machinist would plan, with tools, speeds, feeds and moves.
//!
//! A [`Shop`] (tools in stock, material, machine) is prepared once; [`plan`] then goes from a part to its
//! operations. The numbers are worked out as small [`Step`]s without text; words are put to them only where
//! the plan is asked for in detail, so that both ways give the same figures.
//!
//! The part is cut from a billet as high as its tallest strip, with 0.5 mm on both faces: faced, pocketed,
//! drilled and cut out from the top down to a skin that holds it, then turned over and faced free; holes in walls and ribs take a third
//! setup. Rules of thumb are gathered in `practice.rs`; each is common practice without a source.

mod bands;
mod billet;
pub mod cost;
pub mod cutting;
mod data;
mod describe;
mod estimate;
mod job;
mod laser;
pub mod life;
mod look_ahead;
pub mod motion;
mod operations;
mod path;
mod practice;
mod shop;
mod simulate;
mod step;
mod task;
pub mod tolerance;
mod tooling;
mod tour;

pub use billet::Billet;
pub use cost::{Cost, FeatureCost};
pub use data::{MachiningError, Work};
pub use laser::{LaserShop, severing_speed_mm_s};
pub use path::{Arc, Motion, Move};
pub use shop::Shop;
pub use simulate::{SimulatedOperation, Simulation, simulate};
use step::BENCH;
pub use step::{Feature, Kind, Limit, Remark, Step, Tool};

use crate::catalogue::{Machine, Material, Tools};
use crate::part::{Layout, Part, StripName, Volume};
use cost::StepCost;
use job::Job;

/// One operation of the plan, with everything its time follows from.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Operation {
    /// What is done: `pocket rough`, `wall finish`, `drill`.
    pub name: String,
    /// On which feature: `slot 1`, `row relief`.
    pub feature: String,
    /// In which setup: 1 from the top, 2 from the underside, 3 from the side.
    pub setup: usize,
    /// Tool from the stock, in words: `end mill 3 mm, 3 flutes, carbide`. Empty where none is used.
    pub tool: String,
    /// Spindle speed, in rev/min; 0 where no tool turns.
    pub spindle_rpm: f64,
    /// Feed, in mm/min; 0 where no tool turns.
    pub feed_mm_min: f64,
    /// Depth of cut (or of hole), in mm.
    pub depth_mm: f64,
    /// Radial width of cut, in mm; 0 for drilling.
    pub width_mm: f64,
    /// Passes over all levels, or holes.
    pub count: usize,
    /// Length travelled at feed, in mm.
    pub cut_length_mm: f64,
    /// Metal removed, in mm³.
    pub removed_mm3: f64,
    /// Time in cut, in s, with the acceleration-limited moves it consists of.
    pub cut_s: f64,
    /// Time of positioning moves, in s.
    pub move_s: f64,
    /// Fixed times that belong to the operation (load, tool change, spindle start), in s.
    pub fixed_s: f64,
    /// Machine, labour and wear of its tool, for one part.
    pub cost: f64,
    /// Share of its tool's life that one part takes; 0 where no tool wears.
    pub tool_life_share: f64,
    /// Time of the operation by the simulation of its moves, fixed times included, in s.
    pub simulated_s: f64,
    /// What bounds the feed or speed: `chip load`, `spindle speed`, `power`, `feed limit`, `tool bending`,
    /// `wall bending`, `acceleration`.
    pub limit: String,
}

impl Operation {
    /// Time of the operation, in s.
    pub fn total_s(&self) -> f64 {
        self.cut_s + self.move_s + self.fixed_s
    }
}

/// Force of the finish pass on a wall or rib.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct WallForce {
    /// Index of the section in [`Layout::sections`].
    pub section: usize,
    /// Which wall or rib.
    #[serde(skip)]
    pub strip: StripName,
    /// Force square to it, in N.
    pub force_n: f64,
}

/// The plan of a part.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Plan {
    /// In the order in which they are done; empty unless asked for in detail.
    pub operations: Vec<Operation>,
    /// Work at the bench, not in the cycle: washing, measuring; empty unless asked for in detail.
    pub bench: Vec<Operation>,
    /// Its time for one part, in s.
    pub bench_s: f64,
    /// Tool changes: one for each distinct tool of each setup.
    pub tool_changes: usize,
    /// Time for one part, in s: the sum over the operations.
    pub cycle_s: f64,
    /// Time for one part by the simulation of every move, in s; NaN unless asked for in detail.
    pub simulated_s: f64,
    /// Time in cut, in s.
    pub cut_s: f64,
    /// Time of positioning moves, in s.
    pub move_s: f64,
    /// Loading, tool changes, spindle starts, in s.
    pub fixed_s: f64,
    /// Metal removed, in mm³.
    pub removed_mm3: f64,
    /// The stock for one part.
    pub billet: Billet,
    /// What one part costs.
    pub cost: Cost,
    /// Time of making the machine ready, a part's share of it, in s.
    pub setup_s: f64,
    /// Room that the billet leaves on the machine's table, in mm, the better way round: negative where it is too
    /// large, infinite where the table is not known.
    pub table_room_mm: f64,
    /// Width of the narrowest slot less the diameter of the smallest end mill in stock, in mm: negative where
    /// a slot cannot be cut, infinite where the part has no slot.
    pub cutter_gap_mm: f64,
    /// Force of the finish pass on every wall and rib that a pocket touches.
    pub wall_forces: Vec<WallForce>,
    /// Features that the shop cannot make as they are: holes without a drill in stock, what a laser cannot cut.
    pub obstacles: usize,
    /// Remarks the sheet must show: `no end mill in stock fits slot 2 (1.60 mm)`; empty unless asked for in
    /// detail.
    pub remarks: Vec<String>,
}

impl Plan {
    /// The plan of a design that is no part: nothing is done, and no time is known.
    pub fn empty() -> Plan {
        Plan {
            operations: Vec::new(),
            bench: Vec::new(),
            bench_s: f64::NAN,
            tool_changes: 0,
            cycle_s: f64::NAN,
            simulated_s: f64::NAN,
            cut_s: f64::NAN,
            move_s: f64::NAN,
            fixed_s: f64::NAN,
            removed_mm3: f64::NAN,
            billet: Billet::UNKNOWN,
            cost: Cost::all(f64::NAN),
            setup_s: f64::NAN,
            table_room_mm: f64::NAN,
            cutter_gap_mm: f64::NAN,
            wall_forces: Vec::new(),
            obstacles: 0,
            remarks: Vec::new(),
        }
    }
}

impl Plan {
    /// The plan of a part that the machine cannot make: endless in time, so that it wins nothing by that.
    pub fn none(remark: Option<String>) -> Plan {
        Plan {
            cycle_s: f64::INFINITY,
            cut_s: f64::INFINITY,
            move_s: f64::INFINITY,
            fixed_s: f64::INFINITY,
            removed_mm3: f64::INFINITY,
            billet: Billet::all(f64::INFINITY),
            cost: Cost::all(f64::INFINITY),
            setup_s: f64::INFINITY,
            table_room_mm: f64::INFINITY,
            cutter_gap_mm: f64::INFINITY,
            remarks: remark.into_iter().collect(),
            ..Plan::empty()
        }
    }
}

impl Plan {
    /// Times and metal of all steps, in one pass.
    /// Takes operations in detail, apart those at the bench.
    fn take(&mut self, all: impl Iterator<Item = Operation>) {
        (self.bench, self.operations) = all.partition(|operation| operation.setup == BENCH + 1);
    }

    fn add_up(&mut self, steps: &[Step]) {
        (self.cycle_s, self.cut_s, self.move_s) = (0.0, 0.0, 0.0);
        (self.fixed_s, self.removed_mm3, self.bench_s) = (0.0, 0.0, 0.0);
        for step in steps {
            if step.setup == BENCH {
                self.bench_s += step.total_s();
                continue;
            }
            self.cycle_s += step.total_s();
            self.cut_s += step.cut_s;
            self.move_s += step.move_s;
            self.fixed_s += step.fixed_s;
            self.removed_mm3 += step.removed_mm3;
        }
    }
}

/// What makes the part: a mill with its tools, or a laser cutter.
#[expect(clippy::large_enum_variant, reason = "there is one in a study")]
#[derive(Clone, Debug, PartialEq)]
pub enum Works {
    /// A milling machine, with tools in stock.
    Mill(Shop),
    /// A laser cutter, for flat strips.
    Laser(LaserShop),
}

impl Works {
    /// What makes parts of this material on this machine.
    ///
    /// # Errors
    /// [`MachiningError`] where tools or cutting data are missing.
    pub fn new(
        tools: &Tools,
        material: &Material,
        machine: &Machine,
    ) -> Result<Works, MachiningError> {
        match machine.laser {
            Some(_) => LaserShop::new(material, machine).map(Works::Laser),
            None => Shop::new(tools, material, machine).map(Works::Mill),
        }
    }

    /// The same, parts made so many in one go.
    pub fn for_batch(self, parts: f64) -> Works {
        match self {
            Works::Mill(shop) => Works::Mill(shop.for_batch(parts)),
            Works::Laser(shop) => Works::Laser(shop.for_batch(parts)),
        }
    }

    /// The same, every operation on the machine taking so many seconds longer than its plan says.
    pub fn with_overhead(mut self, seconds: f64) -> Works {
        match &mut self {
            Works::Mill(shop) => shop.limits.operation_s = seconds,
            Works::Laser(shop) => shop.limits.operation_s = seconds,
        }
        self
    }

    /// Whether holes can be made in this material.
    ///
    /// # Errors
    /// [`MachiningError::NoSpeed`] where no speed of drilling is known.
    pub fn can_drill(&self) -> Result<(), MachiningError> {
        match self {
            Works::Mill(shop) => shop.can_drill(),
            Works::Laser(_) => Ok(()),
        }
    }

    /// The plan of a part; operations and remarks in words only where `detail` is asked for.
    ///
    /// `metal` is the part's volume in mm³. Slits are not milled: a slit part on a mill has a plan that never ends.
    pub fn plan(&self, part: &Part, layout: &Layout, metal: f64, detail: bool) -> Plan {
        match self {
            Works::Laser(laser) => laser.plan(part, layout, metal, detail),
            Works::Mill(_)
                if layout
                    .sections
                    .iter()
                    .any(|section| section.slits.is_some()) =>
            {
                Plan::none(detail.then(|| NO_SLITS.to_string()))
            }
            Works::Mill(shop) => milled(part, layout, metal, shop, detail),
        }
    }
}

impl Works {
    /// Every move of the plan of a part.
    pub fn simulate(&self, part: &Part, layout: &Layout) -> Simulation {
        match self {
            Works::Mill(shop) => simulate(part, layout, shop),
            Works::Laser(laser) => laser.simulate(part, layout),
        }
    }
}

impl Works {
    /// Operations on the machine with feature and time in s, as they are planned: a small part of the work of a plan in
    /// detail, whose times they are. None for slits on a mill.
    pub fn times(&self, part: &Part, layout: &Layout) -> Vec<(String, String, f64)> {
        let slit = |section: &crate::part::Section| section.slits.is_some();
        let Works::Mill(shop) = self else {
            let metal = Volume::of(part, layout).metal_mm3;
            let all = self.plan(part, layout, metal, true).operations.into_iter();
            return all
                .map(|each| (each.name.clone(), each.feature.clone(), each.total_s()))
                .collect();
        };
        if layout.sections.iter().any(slit) {
            return Vec::new();
        }
        let job = Job::new(part, layout, shop);
        let (steps, _) = steps(&job, &mut Vec::new());
        let on_machine = steps.iter().filter(|step| step.setup != BENCH);
        on_machine
            .map(|step| {
                let feature = describe::feature(part, layout, step.feature);
                (describe::kind(step.kind).into(), feature, step.total_s())
            })
            .collect()
    }
}

const NO_SLITS: &str =
    "no plan for making it: slits are cut by laser; name a laser cutter as `machine`";

/// The plan of a part in a shop; operations and remarks in words only where `detail` is asked for.
///
/// Sizes must be positive and finite, as a checked part's are; a slot that no end mill in stock fits is charged
/// with the smallest and told by [`Plan::cutter_gap_mm`].
pub fn plan(part: &Part, layout: &Layout, shop: &Shop, detail: bool) -> Plan {
    let metal = Volume::of(part, layout).metal_mm3;
    milled(part, layout, metal, shop, detail)
}

fn milled(part: &Part, layout: &Layout, metal: f64, shop: &Shop, detail: bool) -> Plan {
    let mut job = Job::new(part, layout, shop);
    let mut remarks = std::mem::take(&mut job.remarks);
    let (steps, loads) = steps(&job, &mut remarks);
    let tool_changes = loads.iter().filter(|load| load.1 != Tool::Hand).count();
    let billet = Billet::milled(&job, metal);
    let setup_s = cost::setup_s(&loads, &shop.rates);
    let table_room_mm = billet.table_room_mm(shop.limits.table);
    if table_room_mm < 0.0 {
        remarks.push(Remark::TooLarge(billet.x_mm, billet.y_mm));
    }
    let missing = |remark: &&Remark| matches!(remark, Remark::NoDrill(..));
    let mut plan = Plan {
        tool_changes,
        billet,
        cost: cost::of_part(&steps, &billet, setup_s, &shop.rates, |step| {
            shop.wear(step)
        }),
        setup_s,
        table_room_mm,
        cutter_gap_mm: job.cutter_gap,
        wall_forces: operations::wall_forces(&job, &steps),
        obstacles: remarks.iter().filter(missing).count(),
        ..Plan::empty()
    };
    plan.add_up(&steps);
    if detail {
        let steps = in_order(steps);
        let simulation = simulate::simulated(&job, &steps);
        plan.simulated_s = simulation.cycle_s;
        let cost = |step: &Step| StepCost::of(step, &shop.rates, shop.wear(step));
        let described = steps.iter().zip(&simulation.operations);
        let all = described.map(|(step, simulated)| Operation {
            simulated_s: simulated.total_s(),
            ..describe::operation(part, layout, step, shop.words(step.tool), &cost(step))
        });
        plan.take(all);
        plan.remarks = remarks
            .iter()
            .map(|remark| describe::remark(&job, remark))
            .collect();
        plan.remarks.extend(shop.assumed.iter().cloned());
    }
    plan
}

/// All steps, each with its turn: every tool is loaded once a setup; and these loads, (setup, tool), hands included.
///
/// They come as they are planned. Sums are taken over that; only a plan in detail needs them [`in_order`].
fn steps(job: &Job, remarks: &mut Vec<Remark>) -> (Vec<Step>, Vec<(usize, Tool)>) {
    let mut planned = Vec::with_capacity(48);
    for operation in operations::ALL {
        operation(job, &mut planned, remarks);
    }
    let mut loads: Vec<(usize, Tool)> = Vec::with_capacity(24);
    for step in &mut planned {
        if step.setup != BENCH {
            step.fixed_s += job.shop.limits.operation_s;
        }
        let load = (step.setup, step.tool);
        let known = loads.iter().position(|known| *known == load);
        step.turn = known.unwrap_or(loads.len());
        if known.is_some() {
            continue;
        }
        loads.push(load);
        if step.tool != Tool::Hand {
            step.fixed_s += job.shop.limits.tool_change_s;
        }
    }
    (planned, loads)
}

/// Steps in the order in which they are done: setup by setup, tool by tool as first called for.
fn in_order(mut steps: Vec<Step>) -> Vec<Step> {
    steps.sort_by_key(|step| (step.setup, step.turn));
    steps
}
