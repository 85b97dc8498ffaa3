//! Cost of a part: stock, machine, labour, tools, set-up, and what each feature takes of time and money.

use super::billet::Billet;
use super::life::wear_cost;
use super::practice::{UNKNOWN_PRICE_PER_KG, USUAL_BATCH};
use super::step::{BENCH, Kind, Step, Tool};
use super::{Operation, Plan};
use crate::catalogue::{Machine, Material};

/// What one part costs, in the money of the catalogue's prices.
///
/// total = stock + machine + labour + tools + setup.
///
/// Source: the sum is common practice, no source; wear of tools by [`wear_cost`].
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Cost {
    /// The billet, less what its chips and offcuts are sold back for.
    pub stock: f64,
    /// The machine's time, loading included.
    pub machine: f64,
    /// People: loading and unloading, work at the bench.
    pub labour: f64,
    /// Wear of tools, with the time of changing them.
    pub tools: f64,
    /// Making the machine ready, spread over the batch.
    pub setup: f64,
    /// All of it.
    pub total: f64,
}

impl Cost {
    /// A cost of which every item is the same, such as not a number.
    pub(super) const fn all(value: f64) -> Cost {
        Cost {
            stock: value,
            machine: value,
            labour: value,
            tools: value,
            setup: value,
            total: value,
        }
    }
}

/// Prices and rates, and what set-ups take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Rates {
    /// Machine, for a second.
    pub machine_s: f64,
    /// Labour, for a second.
    pub labour_s: f64,
    /// Stock and chips, for a gram.
    pub stock_g: f64,
    pub chips_g: f64,
    pub density_g_mm3: f64,
    /// Set-up for a new part, for each setup, in s.
    pub setup_s: f64,
    /// Measuring a tool, in s.
    pub probe_s: f64,
    /// Parts made in one go.
    pub batch: f64,
}

impl Rates {
    /// Rates of a machine and prices of a material, for a second and a gram.
    pub(super) fn of(material: &Material, machine: &Machine) -> Rates {
        Rates {
            machine_s: machine.rate_per_h / 3600.0,
            labour_s: machine.labour_per_h / 3600.0,
            stock_g: material.price_per_kg.unwrap_or(UNKNOWN_PRICE_PER_KG) / 1000.0,
            chips_g: material.chips_per_kg.unwrap_or(0.0) / 1000.0,
            density_g_mm3: material.density_kg_m3 * 1e-6,
            setup_s: machine.setup_s,
            probe_s: machine.probe_s,
            batch: USUAL_BATCH,
        }
    }
}

/// How a tool wears.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Wear {
    /// Price of one.
    pub price: f64,
    /// How long it lasts: seconds in cut of a mill, holes of a drill.
    pub life: f64,
}

impl Wear {
    /// Of no tool, or one whose wear is in the machine's rate.
    pub(super) const NONE: Wear = Wear {
        price: 0.0,
        life: f64::INFINITY,
    };
}

/// What a step costs beside stock and set-up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct StepCost {
    pub machine: f64,
    pub labour: f64,
    pub tools: f64,
    /// Share of its tool's life.
    pub life_share: f64,
}

impl StepCost {
    /// `used` is what the step takes of the tool's life, seconds in cut or holes.
    pub(super) fn of(step: &Step, rates: &Rates, (used, wear): (f64, Wear)) -> StepCost {
        let time = step.total_s();
        let on_machine = on_machine(step);
        let by_hand = step.tool == Tool::Hand && step.kind != Kind::Zero;
        let change_rate = rates.machine_s + rates.labour_s;
        StepCost {
            machine: if on_machine {
                time * rates.machine_s
            } else {
                0.0
            },
            labour: if by_hand { time * rates.labour_s } else { 0.0 },
            tools: wear_cost(wear.price, change_rate, rates.probe_s, used, wear.life),
            life_share: used / wear.life,
        }
    }

    pub(super) fn total(&self) -> f64 {
        self.machine + self.labour + self.tools
    }
}

/// Whether a step keeps the machine busy: all but work by hand at the bench.
fn on_machine(step: &Step) -> bool {
    step.setup != BENCH
}

/// What a part costs, from all its steps; `setup_s` is its share of making the machine ready.
pub(super) fn of_part(
    steps: &[Step],
    billet: &Billet,
    setup_s: f64,
    rates: &Rates,
    wear: impl Fn(&Step) -> (f64, Wear),
) -> Cost {
    let (mut machine, mut labour, mut tools) = (0.0, 0.0, 0.0);
    for step in steps {
        let each = StepCost::of(step, rates, wear(step));
        machine += each.machine;
        labour += each.labour;
        tools += each.tools;
    }
    let stock = billet.mass_g * (rates.stock_g - rates.chips_g * billet.chips);
    let setup = setup_s * (rates.machine_s + rates.labour_s);
    Cost {
        stock,
        machine,
        labour,
        tools,
        setup,
        total: stock + machine + labour + tools + setup,
    }
}

/// Time of making the machine ready, a part's share of it, in s: every setup, and every tool of the batch once.
///
/// `loads`: every tool in every setup that calls for it; hands in each setup of the machine.
pub(super) fn setup_s(loads: &[(usize, Tool)], rates: &Rates) -> f64 {
    let (mut setups, mut tools) = (0.0, 0.0);
    for (at, &(setup, tool)) in loads.iter().enumerate() {
        if tool == Tool::Hand {
            setups += if setup == BENCH { 0.0 } else { 1.0 };
        } else if loads[..at].iter().all(|before| before.1 != tool) {
            tools += 1.0;
        }
    }
    (setups * rates.setup_s + tools * rates.probe_s) / rates.batch
}

/// What a feature takes, and what a gram of metal removed there costs.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct FeatureCost {
    /// In words: `slot 1`, `row relief`.
    pub feature: String,
    /// Time of its operations, tool changes that they begin with included, in s.
    pub time_s: f64,
    /// Machine, labour and tools of its operations.
    pub cost: f64,
    /// Metal removed, in g.
    pub removed_g: f64,
    /// Time for a gram removed, in s; absent where nothing is removed.
    pub s_per_g: Option<f64>,
    /// Cost of a gram removed; absent where nothing is removed.
    pub cost_per_g: Option<f64>,
}

/// Time, cost and metal removed of each feature, in the order in which they are first worked on. Together they are the
/// plan's time and its cost without stock, set-up and bench.
///
/// The plan must be one in detail; of another the list is empty.
pub fn by_feature(plan: &Plan) -> Vec<FeatureCost> {
    let density = plan.billet.mass_g / plan.billet.volume_mm3;
    let mut features: Vec<FeatureCost> = Vec::new();
    for operation in &plan.operations {
        let known = features
            .iter()
            .position(|feature| feature.feature == operation.feature);
        let at = known.unwrap_or_else(|| {
            features.push(FeatureCost {
                feature: operation.feature.clone(),
                time_s: 0.0,
                cost: 0.0,
                removed_g: 0.0,
                s_per_g: None,
                cost_per_g: None,
            });
            features.len() - 1
        });
        add(&mut features[at], operation, density);
    }
    features
}

fn add(feature: &mut FeatureCost, operation: &Operation, density: f64) {
    feature.time_s += operation.total_s();
    feature.cost += operation.cost;
    feature.removed_g += operation.removed_mm3 * density;
    let each = |of: f64| (feature.removed_g > 0.0).then(|| of / feature.removed_g);
    (feature.s_per_g, feature.cost_per_g) = (each(feature.time_s), each(feature.cost));
}
