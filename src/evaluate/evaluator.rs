//! The evaluator: variables in, every measure out.

use std::fmt;

use super::build::{self, BuildError};
use super::correction::{Target, Truth, targets};
use super::measures::{self, Acting, Facts, LoadFacts, LoadName, OpeningFacts, Taken};
use super::setup::{Constraint, LoadRecipe, Relation, Setup};
use super::stations::{loadings, stations};
use super::strength::{self, FatigueData, Screw};
use crate::catalogue::{Machine, Material, MissingProperty, Tools};
use crate::expression::Formula;
use crate::machining::{Billet, MachiningError, Plan, Simulation, Works};
use crate::part::{Layout, Part, Rules, Volume, carried_g};
use crate::structure::{
    Action, Carried, Endurance, Frame, LoadResponse, Loading, Metal, Model, Opened, Opening,
    PointMass, StructureError, Support, WallGive, WallTable,
};
use crate::units::{Dimension, Unit, read_unit};

/// Grams to tonnes.
const TONNES: f64 = 1e-6;

/// Violation of a design that is no part, or that can't be solved: worse than any that is.
const NO_PART: f64 = 1e3;

/// Violation of a part that breaks a geometric rule, added to the mm by which it does.
const BROKEN_RULE: f64 = 10.0;

/// What the sheet of a slit part says of its time on the mill.
/// Objective of a design that has none, so that searches can sort it by violation.
const NO_VALUE: f64 = 1e30;

/// A study ready to evaluate designs.
#[derive(Clone, Debug)]
pub struct Evaluator {
    pub(super) setup: Setup,
    pub(super) metal: Metal,
    /// Fatigue strength, where something is opened.
    pub(super) endurance: Option<Endurance>,
    pub(super) works: Works,
    /// Known where a load case asks for fatigue.
    pub(super) fatigue: Option<FatigueData>,
    pub(super) walls: WallTable,
    pub(super) measures: Vec<Taken>,
    /// Base units in each measure's unit.
    pub(super) sizes: Vec<Unit>,
    pub(super) truth: Truth,
    pub(super) targets: Vec<(Target, String)>,
}

/// Why a study can't be evaluated at all.
#[derive(Clone, Debug, PartialEq)]
pub enum SetupError {
    /// The catalogue lacks a property that is needed.
    Missing(MissingProperty),
    /// A load case asks for fatigue, of which the catalogue lacks a property.
    NoFatigue {
        /// Load case.
        load: String,
        /// What is missing.
        missing: MissingProperty,
    },
    /// A load case asks for more cycles than the material's fatigue strength is known for.
    Cycles {
        /// Load case.
        load: String,
        /// Cycles asked for.
        asked: f64,
        /// Cycles of the known strength.
        known: f64,
        /// Id of the material.
        material: String,
    },
    /// No machining plan can be made.
    Machining(MachiningError),
}

impl fmt::Display for SetupError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            SetupError::Missing(error) => error.fmt(f),
            SetupError::NoFatigue { load, missing } => write!(
                f,
                "load case {load} asks for fatigue, but {missing}: add it in a catalogue file, choose another \
                 material, or take `fatigue` out of the load case"
            ),
            SetupError::Cycles {
                load,
                asked,
                known,
                material,
            } => write!(
                f,
                "load case {load} asks for {asked:e} cycles, but the fatigue strength of `{material}` is known for \
                 {known:e} only and is not carried further: write at most {known:e}"
            ),
            SetupError::Machining(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for SetupError {}

/// Why a design has no measures of strength and time.
#[derive(Clone, Debug, PartialEq)]
pub enum Trouble {
    /// It is no part.
    Build(BuildError),
    /// It breaks a geometric rule.
    Geometry,
    /// A load case, by its index, or the frequency (`None`) can't be solved.
    Structure(Option<usize>, StructureError),
}

/// Everything found out about a part.
pub(super) struct Answer {
    pub part: Part,
    pub layout: Layout,
    pub volume: Volume,
    pub rules: Rules,
    pub loadings: Vec<Loading>,
    /// What each load case opens.
    pub openings: Vec<Option<Opening>>,
    pub screws: Vec<Screw>,
    pub press_n: f64,
    pub solved: Option<Solved>,
}

/// Strength and time of a part that can be made.
pub(super) struct Solved {
    pub model: Model,
    pub responses: Vec<LoadResponse>,
    /// The blade opened, in load cases that open it; their response is the one to the same force at small
    /// deflection.
    pub opened: Vec<Option<Opened>>,
    pub frequency_hz: f64,
    pub plan: Plan,
    pub walls: Vec<WallGive>,
}

/// One design as numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    /// Objectives, all to be made least, in base units; 1e30 where the design has none.
    pub objectives: Vec<f64>,
    /// Relative violation of each constraint, then of the geometric rules, then of the tools in stock: 0 or
    /// less where met.
    pub violations: Vec<f64>,
    /// Every named quantity in base units: variables, derived values, measures. Not a number where it could
    /// not be had.
    pub slots: Vec<f64>,
}

/// Load cases of a study as their measures need to know them.
pub fn load_names(loads: &[LoadRecipe]) -> Vec<LoadName> {
    loads
        .iter()
        .map(|load| LoadName {
            name: load.name.clone(),
            acting: acting(load),
            fatigue: load.fatigue.is_some(),
        })
        .collect()
}

/// Fatigue data of a material, if a load case asks for fatigue and no more cycles than are known.
fn fatigue_data(
    loads: &[LoadRecipe],
    material: &Material,
) -> Result<Option<FatigueData>, SetupError> {
    let mut found = None;
    for load in loads {
        let Some(cycles) = load.fatigue else { continue };
        let data = FatigueData::of(material).map_err(|missing| SetupError::NoFatigue {
            load: load.name.clone(),
            missing,
        })?;
        if cycles.count > data.cycles {
            return Err(SetupError::Cycles {
                load: load.name.clone(),
                asked: cycles.count,
                known: data.cycles,
                material: material.id.clone(),
            });
        }
        found = Some(data);
    }
    Ok(found)
}

fn acting(load: &LoadRecipe) -> Acting {
    let acts = |formulas: &[Formula; 3]| {
        formulas
            .iter()
            .any(|formula| formula.constant_value() != Some(0.0))
    };
    if load.opening.is_some() {
        return Acting::Opening;
    }
    // Inertia moves the points of the forces too, so no stiffness can be read off them.
    if acts(&load.acceleration) {
        Acting::Inertia
    } else if load.actions.iter().any(|action| acts(&action.force)) {
        Acting::Forces
    } else if load.actions.iter().any(|action| acts(&action.moment)) {
        Acting::Moments
    } else {
        Acting::Inertia
    }
}

impl Evaluator {
    /// The evaluator of a study with its material, tools in stock and machine.
    ///
    /// # Errors
    /// [`SetupError`] where the catalogue lacks what is needed.
    pub fn new(
        setup: Setup,
        material: &Material,
        tools: &Tools,
        machine: &Machine,
    ) -> Result<Evaluator, SetupError> {
        let yield_mpa = material
            .yield_mpa
            .ok_or(SetupError::Missing(MissingProperty {
                id: material.id.clone(),
                property: "yield_mpa",
            }))?;
        let metal = Metal {
            modulus_mpa: material.modulus_gpa * 1e3,
            poisson: material.poisson,
            density_t_mm3: material.density_kg_m3 * 1e-12,
            yield_mpa,
        };
        let opens = setup.loads.iter().any(|load| load.opening.is_some());
        let endurance = opens
            .then(|| endurance(material))
            .transpose()
            .map_err(SetupError::Missing)?;
        let works = Works::new(tools, material, machine)
            .map_err(SetupError::Machining)?
            .for_batch(setup.batch);
        let bored = setup.part.bosses.iter().any(|boss| boss.bore.is_some());
        if bored || !setup.part.hole_rows.is_empty() {
            works.can_drill().map_err(SetupError::Machining)?;
        }
        let fatigue = fatigue_data(&setup.loads, material)?;
        let loads = load_names(&setup.loads);
        let targets = targets(&loads, !setup.part.hole_rows.is_empty());
        let measures = measures::of_study(&loads);
        let sizes = measures
            .iter()
            .map(|taken| match unit(taken.unit) {
                unit if unit.dimension == Dimension::MONEY => setup.currency,
                unit => unit,
            })
            .collect();
        Ok(Evaluator {
            setup,
            metal,
            endurance,
            works,
            fatigue,
            walls: WallTable::new(&metal),
            measures,
            sizes,
            truth: Truth::Beam,
            targets,
        })
    }

    /// The study.
    pub fn setup(&self) -> &Setup {
        &self.setup
    }

    /// The measures with their units, in the order of their slots.
    pub fn measures(&self) -> impl Iterator<Item = (&str, Unit)> {
        self.measures
            .iter()
            .zip(&self.sizes)
            .map(|(taken, unit)| (taken.name.as_str(), *unit))
    }

    /// Values of the design variables in today's revision, in base units.
    pub fn baseline(&self) -> Vec<f64> {
        self.setup
            .variables
            .iter()
            .map(|variable| variable.baseline)
            .collect()
    }

    /// Number of violations in a [`Record`].
    pub fn violations(&self) -> usize {
        self.setup.constraints.len() + 2
    }

    /// Whether a design, from its variables in base units, is a part that keeps the geometric rules: a small part of
    /// the work of evaluating it.
    pub fn keeps_rules(&self, variables: &[f64]) -> bool {
        let mut slots = variables.to_vec();
        for derived in &self.setup.derived {
            let value = if derived.after {
                f64::NAN
            } else {
                derived.formula.value(&slots)
            };
            slots.push(value);
        }
        let Ok(part) = build::part(&self.setup.part, &slots) else {
            return false;
        };
        let stations = stations(&self.setup.loads, &part, &slots);
        Layout::new(&part, &stations).is_ok_and(|layout| Rules::of(&part, &layout).kept())
    }

    /// One design, from its variables in base units, to numbers.
    pub fn record(&self, variables: &[f64]) -> Record {
        let (record, _, _) = self.examine(variables, false);
        record
    }

    /// One design with all that was found out on the way.
    pub(super) fn examine(
        &self,
        variables: &[f64],
        detail: bool,
    ) -> (Record, Option<Answer>, Option<Trouble>) {
        let setup = &self.setup;
        let known = variables.len() + setup.derived.len();
        let mut slots = Vec::with_capacity(known + self.measures.len());
        slots.extend_from_slice(variables);
        for derived in &setup.derived {
            let value = if derived.after {
                f64::NAN
            } else {
                derived.formula.value(&slots)
            };
            slots.push(value);
        }
        let mut record = Record {
            objectives: vec![NO_VALUE; setup.objectives.len()],
            violations: vec![0.0; self.violations()],
            slots,
        };
        let geometry = setup.constraints.len();
        let (answer, trouble) = match self.answer(&record.slots, detail) {
            Ok(found) => found,
            Err(error) => {
                record.violations[geometry] = NO_PART;
                record.slots.resize(known + self.measures.len(), f64::NAN);
                return (record, None, Some(Trouble::Build(error)));
            }
        };
        self.take_measures(&answer, &mut record.slots);
        for (index, derived) in setup.derived.iter().enumerate() {
            if derived.after {
                record.slots[variables.len() + index] = derived.formula.value(&record.slots);
            }
        }
        match &trouble {
            None => self.judge(&answer, &mut record),
            Some(Trouble::Geometry) => {
                record.violations[geometry] = BROKEN_RULE - answer.rules.least_mm().max(-NO_PART);
            }
            Some(_) => record.violations[geometry] = NO_PART,
        }
        (record, Some(answer), trouble)
    }

    fn answer(&self, slots: &[f64], detail: bool) -> Result<(Answer, Option<Trouble>), BuildError> {
        let part = build::part(&self.setup.part, slots)?;
        let layout = Layout::new(&part, &stations(&self.setup.loads, &part, slots))?;
        let volume = Volume::of(&part, &layout);
        let rules = Rules::of(&part, &layout);
        let (loadings, openings, carried_nodes) = loadings(&self.setup.loads, &layout, slots);
        let recipe = &self.setup.part;
        let mut answer = Answer {
            screws: strength::screws(recipe, &part.bosses, slots),
            press_n: recipe.press.value(slots),
            part,
            layout,
            volume,
            rules,
            loadings,
            openings,
            solved: None,
        };
        if !answer.rules.kept() {
            return Ok((answer, Some(Trouble::Geometry)));
        }
        match self.solve(&mut answer, &carried_nodes, detail) {
            Ok(mut solved) => {
                self.correct(&answer, &mut solved, slots);
                answer.solved = Some(solved);
                Ok((answer, None))
            }
            Err((load, error)) => Ok((answer, Some(Trouble::Structure(load, error)))),
        }
    }

    fn solve(
        &self,
        answer: &mut Answer,
        carried_nodes: &[usize],
        detail: bool,
    ) -> Result<Solved, (Option<usize>, StructureError)> {
        let (part, layout) = (&answer.part, &answer.layout);
        let start = part.path.pose(layout.nodes_mm[0]);
        let carried = carried(part, layout.length_mm, carried_nodes);
        let mut model =
            Model::new(layout, start, &self.metal, &carried).map_err(|error| (None, error))?;
        let mut responses = Vec::with_capacity(answer.loadings.len());
        let mut opened = Vec::with_capacity(answer.loadings.len());
        for (index, loading) in answer.loadings.iter_mut().enumerate() {
            let wrong = |error| (Some(index), error);
            opened.push(match &answer.openings[index] {
                None => None,
                Some(opening) => {
                    let supports = &loading.supports;
                    let opened = model
                        .open(layout, supports, opening, self.endurance)
                        .map_err(wrong)?;
                    loading.actions.push(holding(opening.node, opened.force_n));
                    Some(opened)
                }
            });
            responses.push(model.solve(loading).map_err(wrong)?);
        }
        let frequency_hz = model
            .first_frequency_hz(frequency_supports(&answer.loadings))
            .map_err(|error| (None, error))?;
        Ok(Solved {
            model,
            responses,
            opened,
            frequency_hz,
            plan: self
                .works
                .plan(part, layout, answer.volume.metal_mm3, detail),
            walls: self.walls.gives(layout),
        })
    }

    fn take_measures(&self, answer: &Answer, slots: &mut Vec<f64>) {
        let mut loads = Vec::with_capacity(self.setup.loads.len());
        let solved = answer.solved.as_ref();
        for (index, loading) in answer.loadings.iter().enumerate() {
            loads.push(match solved {
                Some(solved) => LoadFacts {
                    fatigue_safety: self
                        .fatigue_safety(index, &solved.responses[index])
                        .unwrap_or(f64::NAN),
                    ..load_facts(
                        loading,
                        &solved.responses[index],
                        solved.opened[index].as_ref(),
                        &answer.part,
                        &answer.layout,
                    )
                },
                None => LoadFacts {
                    stiffness: f64::NAN,
                    displacement_mm: f64::NAN,
                    stress_mpa: f64::NAN,
                    opening: OpeningFacts::UNKNOWN,
                    peak_mpa: f64::NAN,
                    fatigue_safety: f64::NAN,
                },
            });
        }
        let of_plan = |of: fn(&Plan) -> f64| solved.map_or(f64::NAN, |solved| of(&solved.plan));
        let of_walls = |of: &dyn Fn(&WallGive, &Plan) -> f64| {
            solved.map_or(f64::NAN, |solved| {
                let each = solved.walls.iter().map(|wall| of(wall, &solved.plan));
                each.fold(0.0, f64::max)
            })
        };
        let of_screws = |none: f64, pick: fn(f64, f64) -> f64, of: fn(&Screw) -> f64| {
            answer.screws.iter().map(of).fold(none, pick)
        };
        let facts = Facts {
            part: &answer.part,
            layout: &answer.layout,
            volume: &answer.volume,
            rules: &answer.rules,
            density: self.metal.density_t_mm3,
            yield_mpa: self.metal.yield_mpa,
            loads: &loads,
            frequency_hz: solved.map_or(f64::NAN, |solved| solved.frequency_hz),
            cycle_s: of_plan(|plan| plan.cycle_s),
            tool_changes: of_plan(|plan| plan.tool_changes as f64),
            cutter_gap_mm: of_plan(|plan| plan.cutter_gap_mm),
            removed_mm3: of_plan(|plan| plan.removed_mm3),
            cost: of_plan(|plan| plan.cost.total),
            setup_s: of_plan(|plan| plan.setup_s),
            billet: solved.map_or(Billet::UNKNOWN, |solved| solved.plan.billet),
            table_room_mm: of_plan(|plan| plan.table_room_mm),
            wall_deflection_mm: of_walls(&|wall, plan| strength::cut_deflection_mm(wall, plan)),
            wall_press_mm: of_walls(&|wall, _| wall.give_mm_n * answer.press_n),
            bearing_mpa: of_screws(0.0, f64::max, |screw| screw.bearing_mpa),
            cone_room_mm: of_screws(f64::INFINITY, f64::min, |screw| screw.cone_room_mm),
            head_room_mm: of_screws(f64::INFINITY, f64::min, |screw| screw.head_room_mm),
        };
        let taken = self.measures.iter().zip(&self.sizes);
        slots.extend(taken.map(|(taken, unit)| taken.value(&facts) * unit.size));
    }

    /// Every move of the tools that make a part.
    pub fn simulation(&self, part: &Part, layout: &Layout) -> Simulation {
        self.works.simulate(part, layout)
    }

    /// Fatigue safety of a load case that asks for it.
    pub(super) fn fatigue_safety(&self, load: usize, response: &LoadResponse) -> Option<f64> {
        let cycles = self.setup.loads[load].fatigue.as_ref()?;
        Some(self.fatigue?.safety(cycles, response))
    }

    fn judge(&self, answer: &Answer, record: &mut Record) {
        let setup = &self.setup;
        for (violation, constraint) in record.violations.iter_mut().zip(&setup.constraints) {
            *violation = -margin(constraint, &record.slots);
        }
        let plan = answer.solved.as_ref().map(|solved| &solved.plan);
        record.violations[setup.constraints.len()] = -answer.rules.least_mm().min(1.0);
        record.violations[setup.constraints.len() + 1] = plan.map_or(0.0, |plan| {
            (-plan.cutter_gap_mm.min(1.0))
                .max(-plan.table_room_mm.min(1.0))
                .max(plan.obstacles as f64)
        });
        for (value, objective) in record.objectives.iter_mut().zip(&setup.objectives) {
            let base = objective.value.value(&record.slots);
            *value = if objective.most { -base } else { base };
        }
    }
}

/// Room left in a constraint as a share of its limit (of one printing unit where the limit is 0); negative
/// where broken.
pub(super) fn margin(constraint: &Constraint, slots: &[f64]) -> f64 {
    let (value, limit) = (constraint.value.value(slots), constraint.limit.value(slots));
    let scale = if limit == 0.0 {
        constraint.unit.size
    } else {
        limit.abs()
    };
    // Infinite room counts as much.
    let room = match constraint.relation {
        Relation::AtMost => (limit - value) / scale,
        Relation::AtLeast => (value - limit) / scale,
    };
    if room.is_nan() {
        room
    } else {
        room.clamp(-1e6, 1e6)
    }
}

/// Supports that the frequency is taken with: those of the first load case that has any; none: free.
pub(super) fn frequency_supports(loadings: &[Loading]) -> &[Support] {
    loadings
        .iter()
        .map(|loading| loading.supports.as_slice())
        .find(|supports| !supports.is_empty())
        .unwrap_or(&[])
}

/// What rides on the frame; `nodes` are those of the carried masses, in order.
pub(super) fn carried(part: &Part, length: f64, nodes: &[usize]) -> Carried {
    let mut carried = Carried::default();
    let mut nodes = nodes.iter();
    let mut spread = (0.0, 0.0, 0.0);
    for each in &part.carried {
        let mass_t = each.mass_g * TONNES;
        if each.stations_mm.is_empty() {
            spread.0 += mass_t;
            spread.1 += mass_t * each.offset_mm.0;
            spread.2 += mass_t * each.offset_mm.1;
        }
        for _ in &each.stations_mm {
            carried.points.push(PointMass {
                node: nodes.next().copied().unwrap_or(0),
                mass_t,
                offset_mm: each.offset_mm,
            });
        }
    }
    if spread.0 > 0.0 {
        carried.spread_t_per_mm = spread.0 / length;
        carried.spread_offset_mm = (spread.1 / spread.0, spread.2 / spread.0);
    }
    carried
}

/// Size P of a load case, in N (or, of moments alone, N mm): the resultant of its forces, or the greatest of them
/// where that is more, as when two opposite forces cancel.
///
/// With the work W of the forces on their displacements P²/W is then the stiffness: F/u for one force, 2F/u for two
/// side by side that both move by u, F/(u1 + u2) for an opposed pair.
pub(super) fn load_size(loading: &Loading, part: &Part, layout: &Layout) -> f64 {
    let length = |v: &[f64; 3]| v.iter().map(|x| x * x).sum::<f64>().sqrt();
    let size = |of: &dyn Fn(&Action) -> [f64; 3]| {
        let (mut sum, mut greatest) = ([0.0; 3], 0.0_f64);
        for action in &loading.actions {
            let vector = of(action);
            greatest = greatest.max(length(&vector));
            let in_plan = plan_axes(vector, action, part, layout);
            for (sum, value) in sum.iter_mut().zip(in_plan) {
                *sum += value;
            }
        }
        greatest.max(length(&sum))
    };
    let force = size(&|action| action.force);
    if force > 0.0 {
        force
    } else {
        size(&|action| action.moment)
    }
}

/// A vector of an action, in plan axes.
pub(super) fn plan_axes(
    [a, b, c]: [f64; 3],
    action: &Action,
    part: &Part,
    layout: &Layout,
) -> [f64; 3] {
    if action.frame == Frame::Plan {
        return [a, b, c];
    }
    let pose = part.path.pose(layout.nodes_mm[action.node]);
    let (sin, cos) = pose.heading.sin_cos();
    [a * cos - b * sin, a * sin + b * cos, c]
}

fn load_facts(
    loading: &Loading,
    response: &LoadResponse,
    opened: Option<&Opened>,
    part: &Part,
    layout: &Layout,
) -> LoadFacts {
    let size = load_size(loading, part, layout);
    let mut facts = LoadFacts {
        stiffness: size * size / response.work_n_mm,
        displacement_mm: response.greatest_displacement_mm,
        stress_mpa: response
            .strips
            .first()
            .map_or(0.0, |strip| strip.equivalent_mpa),
        peak_mpa: strength::peak_mpa(response),
        fatigue_safety: f64::NAN,
        opening: OpeningFacts::UNKNOWN,
    };
    if let Some(opened) = opened {
        facts.displacement_mm = opened.greatest_displacement().1;
        facts.stress_mpa = opened.stress_mpa;
        facts.peak_mpa = opened.stress_mpa;
        facts.opening = OpeningFacts {
            force_n: opened.force_n.abs(),
            energy_n_mm: opened.energy_n_mm,
            fatigue_safety: opened.fatigue_safety.unwrap_or(f64::NAN),
        };
    }
    facts
}

/// The force that holds a blade open, as an action; where none is needed, one to take the stiffness by.
fn holding(node: usize, force_n: f64) -> Action {
    Action {
        node,
        frame: Frame::Plan,
        force: [0.0, 0.0, if force_n == 0.0 { 1.0 } else { force_n }],
        moment: [0.0; 3],
        offset_mm: (0.0, 0.0),
    }
}

/// What the fatigue of a blade is judged by.
fn endurance(material: &Material) -> Result<Endurance, MissingProperty> {
    Ok(Endurance {
        amplitude_mpa: material.need(material.fatigue_mpa, "fatigue_mpa")?,
        ultimate_mpa: material.need(material.ultimate_mpa, "ultimate_mpa")?,
    })
}

/// Total mass that a part carries and is, in t.
pub(super) fn total_t(part: &Part, volume: &Volume, density: f64) -> f64 {
    volume.metal_mm3 * density + carried_g(part) * TONNES
}

/// A unit of the measures, all of which the unit table knows.
fn unit(symbol: &str) -> Unit {
    if symbol.is_empty() {
        Unit::NUMBER
    } else {
        read_unit(symbol).unwrap_or(Unit::NUMBER)
    }
}
