//! The evaluator: variables in, every measure out.

use std::fmt;
use std::sync::Arc;

use super::build::{self, BuildError};
use super::calibration::Beside;
use super::correction::{Target, Truth, targets};
use super::measures::{self, Acting, Facts, LoadFacts, LoadName, OpeningFacts, Taken};
use super::outside::{self, Ask, Asked, NOT_ASKED, NOT_KNOWN, Outside, Quantity, Question};
use super::scatter::Robust;
use super::setup::{Constraint, LoadRecipe, PartRecipe, Relation, Setup};
use super::stations::{loadings, stations};
use super::strength::{self, FatigueData, Screw};
use crate::catalogue::{Machine, Material, MissingProperty, Tools};
use crate::expression::Formula;
use crate::machining::{Billet, MachiningError, Plan, Simulation, Works};
use crate::part::{Layout, Part, Rules, Volume, carried_g};
use crate::structure::{
    Action, Carried, Endurance, Frame as Axes, LoadResponse, Loading, Metal, Model, Opened,
    Opening, PointMass, StructureError, Support, WallGive, WallTable,
};
use crate::units::{Dimension, Unit, read_unit};

/// Grams to tonnes.
const TONNES: f64 = 1e-6;

/// Violation of a design that is no part, or that can't be solved: worse than any that is.
const NO_PART: f64 = 1e3;

/// Violation of a part that breaks a geometric rule, added to the mm by which it does.
const BROKEN_RULE: f64 = 10.0;

/// Objective of a design that has none, so that searches can sort it by violation.
const NO_VALUE: f64 = 1e30;

/// A study ready to evaluate designs.
#[derive(Clone, Debug)]
pub struct Evaluator {
    pub(super) setup: Setup,
    /// `None` in a study without a part.
    pub(super) frame: Option<Frame>,
    /// Whoever gives the measures from outside; `None`: nobody is asked.
    pub(super) asked: Option<Asked>,
    /// Measures of the frame.
    pub(super) measures: Vec<Taken>,
    /// Unit of each.
    pub(super) sizes: Vec<Unit>,
    pub(super) truth: Truth,
    pub(super) targets: Vec<(Target, String)>,
    /// What is asked of the scattered copies of a design; `None`: designs are judged at nominal sizes.
    pub(super) robust: Option<Robust>,
    /// The same without its calibration and beside it; `None` where there is none.
    pub(super) beside: Option<Arc<Beside>>,
}

/// What a frame is made of and made with, as the catalogue has it.
#[derive(Debug)]
pub(super) struct Given {
    material: Material,
    tools: Tools,
    machine: Machine,
}

/// A parametric frame with what it is made of and made with.
#[derive(Clone, Debug)]
pub(super) struct Frame {
    pub part: PartRecipe,
    pub metal: Metal,
    /// Fatigue strength, where something is opened.
    pub endurance: Option<Endurance>,
    pub works: Works,
    /// Known where a load case asks for fatigue.
    pub fatigue: Option<FatigueData>,
    pub walls: WallTable,
    /// What it was made from, before calibration.
    pub given: Arc<Given>,
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
    /// Measures from outside are missing; in words, why.
    Outside(String),
}

/// Everything found out about a part.
pub(super) struct Answer<'a> {
    pub frame: &'a Frame,
    /// As drawn.
    pub part: Part,
    pub layout: Layout,
    /// As it comes out, where that is known to differ.
    pub made: Option<(Part, Layout)>,
    pub volume: Volume,
    pub rules: Rules,
    pub loadings: Vec<Loading>,
    /// What each load case opens.
    pub openings: Vec<Option<Opening>>,
    pub screws: Vec<Screw>,
    pub press_n: f64,
    /// The metal, as it came.
    pub metal: Metal,
    pub solved: Option<Solved>,
}

impl Answer<'_> {
    /// The part and its layout as they come out.
    pub fn as_made(&self) -> (&Part, &Layout) {
        match &self.made {
            Some((part, layout)) => (part, layout),
            None => (&self.part, &self.layout),
        }
    }
}

/// How a scattered copy of a part differs from its drawing, beyond its dimensions.
pub(super) struct AsMade<'a> {
    pub metal: Metal,
    /// Factor of each load case.
    pub loads: &'a [f64],
    /// The plan of the part as drawn: it is made as it was planned.
    pub plan: &'a Plan,
    /// Corrections of the part as drawn.
    pub logs: &'a [f64],
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
    /// Logarithms by which the beam was corrected, one for each target.
    pub logs: Vec<f64>,
}

/// One design as numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    /// Objectives, all to be made least, in base units; 1e30 where the design has none.
    pub objectives: Vec<f64>,
    /// Relative violation of each constraint, then of the geometric rules, then of the tools in stock; then, where a
    /// chance is asked for, of the chance of meeting all together, or, where measures come from outside, whether
    /// they are missing: 0 or less where met.
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

impl Frame {
    fn new(part: PartRecipe, setup: &Setup, given: Arc<Given>) -> Result<Frame, SetupError> {
        let material = &setup.calibration.of_material(&given.material);
        let machine = &setup.calibration.of_machine(&given.machine);
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
        let works = Works::new(&given.tools, material, machine)
            .map_err(SetupError::Machining)?
            .for_batch(setup.batch)
            .with_overhead(setup.calibration.operation_s.value);
        let bored = part.bosses.iter().any(|boss| boss.bore.is_some());
        if bored || !part.hole_rows.is_empty() {
            works.can_drill().map_err(SetupError::Machining)?;
        }
        Ok(Frame {
            fatigue: fatigue_data(&setup.loads, material)?,
            walls: WallTable::new(&metal),
            part,
            metal,
            endurance,
            works,
            given,
        })
    }
}

impl Evaluator {
    /// The evaluator of a study of a part with its material, tools in stock and machine.
    ///
    /// # Errors
    /// [`SetupError`] where the catalogue lacks what is needed.
    pub fn new(
        setup: Setup,
        part: PartRecipe,
        material: &Material,
        tools: &Tools,
        machine: &Machine,
    ) -> Result<Evaluator, SetupError> {
        let given = Given {
            material: material.clone(),
            tools: tools.clone(),
            machine: machine.clone(),
        };
        Evaluator::uncompared(setup, part, Arc::new(given))?.comparing()
    }

    /// The same, without what says what its calibration does.
    pub(super) fn uncompared(
        setup: Setup,
        part: PartRecipe,
        given: Arc<Given>,
    ) -> Result<Evaluator, SetupError> {
        let frame = Frame::new(part, &setup, given)?;
        let loads = load_names(&setup.loads);
        let targets = targets(&loads, !frame.part.hole_rows.is_empty());
        let measures = measures::of_study(&loads);
        let sizes = measures
            .iter()
            .map(|taken| match unit(taken.unit) {
                unit if unit.dimension == Dimension::MONEY => setup.currency,
                unit => unit,
            })
            .collect();
        let robust = Robust::of(&setup);
        Ok(Evaluator {
            setup,
            frame: Some(frame),
            asked: None,
            measures,
            sizes,
            truth: Truth::Beam,
            targets,
            robust,
            beside: None,
        })
    }

    /// The evaluator of a study without a part, all of whose measures come from outside.
    pub fn without_part(setup: Setup) -> Evaluator {
        Evaluator {
            setup,
            frame: None,
            asked: None,
            measures: Vec::new(),
            sizes: Vec::new(),
            truth: Truth::Beam,
            targets: Vec::new(),
            robust: None,
            beside: None,
        }
    }

    /// The same, with somebody who gives the measures from outside. Until then nobody is asked, and they are not
    /// numbers.
    pub fn asking(&self, outside: Arc<dyn Outside>) -> Evaluator {
        Evaluator {
            asked: Some(Asked::new(outside)),
            ..self.clone()
        }
    }

    /// Why a design has no measures from outside, if they were asked for and did not come. Told once.
    pub fn take_failure(&self, variables: &[f64]) -> Option<String> {
        self.asked.as_ref()?.take_failure(variables)
    }

    /// Whether there is a part.
    pub fn has_part(&self) -> bool {
        self.frame.is_some()
    }

    /// The study.
    pub fn setup(&self) -> &Setup {
        &self.setup
    }

    /// The measures with their units, in the order of their slots.
    pub fn measures(&self) -> impl Iterator<Item = (&str, Unit)> {
        let own = self.measures.iter().zip(&self.sizes);
        let outside = self.setup.outside.iter();
        own.map(|(taken, unit)| (taken.name.as_str(), *unit))
            .chain(outside.map(|each| (each.name.as_str(), each.unit)))
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
        self.setup.violations()
    }

    /// What each violation of a [`Record`] is of.
    pub fn violation_names(&self) -> Vec<&str> {
        let constraints = self.setup.constraints.iter().map(|each| each.name.as_str());
        let asks = |asks: bool, name| asks.then_some(name);
        let implied = [
            Some("geometric rules"),
            Some("tools in stock"),
            asks(self.setup.scatter.chance.is_some(), "chance of meeting all"),
            asks(!self.setup.outside.is_empty(), "answer of the program"),
        ];
        constraints.chain(implied.into_iter().flatten()).collect()
    }

    /// Room left in each constraint as a share of its limit, negative where broken, of a design's named quantities
    /// ([`Record::slots`]); not a number where it is not known.
    pub fn margins(&self, slots: &[f64]) -> Vec<f64> {
        let constraints = self.setup.constraints.iter();
        constraints.map(|each| margin(each, slots)).collect()
    }

    /// Whether a design, from its variables in base units, is a part that keeps the geometric rules: a small part of
    /// the work of evaluating it. Without a part there are no rules.
    pub fn keeps_rules(&self, variables: &[f64]) -> bool {
        let Some(frame) = &self.frame else {
            return true;
        };
        let slots = self.known_ahead(variables);
        let Ok(part) = build::part(&frame.part, &slots) else {
            return false;
        };
        let stations = stations(&self.setup.loads, &part, &slots);
        Layout::new(&part, &stations).is_ok_and(|layout| Rules::of(&part, &layout).kept())
    }

    /// One design, from its variables in base units, to numbers.
    pub fn record(&self, variables: &[f64]) -> Record {
        let (mut record, answer, trouble) = self.examine(variables, false, Ask::Somebody);
        self.harden(variables, &mut record, answer, trouble.is_none());
        record
    }

    /// As [`Evaluator::record`], of what the frame alone says: nobody outside is asked. What depends on measures from
    /// outside is not a number.
    pub fn record_of_frame(&self, variables: &[f64]) -> Record {
        let (record, _, _) = self.examine(variables, false, Ask::Nobody);
        record
    }

    /// One design with all that was found out on the way.
    pub(super) fn examine(
        &self,
        variables: &[f64],
        detail: bool,
        ask: Ask,
    ) -> (Record, Option<Answer<'_>>, Option<Trouble>) {
        let mut slots = self.known_ahead(variables);
        let (mut answer, mut trouble) = (None, None);
        if let Some(frame) = &self.frame {
            match self.answer(frame, &slots, detail) {
                Ok(found) => (answer, trouble) = (Some(found.0), found.1),
                Err(error) => return (self.no_part(slots), None, Some(Trouble::Build(error))),
            }
        }
        if let Some(answer) = &answer {
            self.take_measures(answer, &mut slots);
        }
        if trouble.is_none() && !self.setup.outside.is_empty() {
            match self.ask_outside(&slots, ask) {
                Ok(values) => {
                    let units = self.setup.outside.iter().map(|each| each.unit.size);
                    let base = values.iter().zip(units).map(|(value, size)| value * size);
                    slots.extend(base);
                }
                Err(why) => trouble = Some(Trouble::Outside(why)),
            }
        }
        let record = self.recorded(slots, answer.as_ref(), trouble.as_ref());
        (record, answer, trouble)
    }

    /// Number of named quantities.
    fn all_slots(&self) -> usize {
        let setup = &self.setup;
        let known = setup.variables.len() + setup.derived.len();
        known + self.measures.len() + setup.outside.len()
    }

    /// The record of what is no part; `slots` as known ahead.
    pub(super) fn no_part(&self, mut slots: Vec<f64>) -> Record {
        slots.resize(self.all_slots(), f64::NAN);
        let mut record = self.blank(slots);
        record.violations[self.setup.constraints.len()] = NO_PART;
        record
    }

    /// Variables and what derives from them alone; not a number for what derives from measures.
    pub(super) fn known_ahead(&self, variables: &[f64]) -> Vec<f64> {
        let derived = &self.setup.derived;
        let all = self.all_slots();
        let mut slots = Vec::with_capacity(all);
        slots.extend_from_slice(variables);
        for derived in derived {
            let value = if derived.after {
                f64::NAN
            } else {
                derived.formula.value(&slots)
            };
            slots.push(value);
        }
        slots
    }

    fn blank(&self, slots: Vec<f64>) -> Record {
        Record {
            objectives: vec![NO_VALUE; self.setup.objectives.len()],
            violations: vec![0.0; self.violations()],
            slots,
        }
    }

    /// What was found out as numbers; `slots` as known ahead, and the measures.
    pub(super) fn recorded(
        &self,
        mut slots: Vec<f64>,
        answer: Option<&Answer<'_>>,
        trouble: Option<&Trouble>,
    ) -> Record {
        let setup = &self.setup;
        slots.resize(self.all_slots(), f64::NAN);
        let mut record = self.blank(slots);
        for (index, derived) in setup.derived.iter().enumerate() {
            if derived.after {
                record.slots[setup.variables.len() + index] = derived.formula.value(&record.slots);
            }
        }
        let geometry = setup.constraints.len();
        match (trouble, answer) {
            (None, answer) => self.judge(answer, &mut record),
            (Some(Trouble::Geometry), Some(answer)) => {
                record.violations[geometry] = BROKEN_RULE - answer.rules.least_mm().max(-NO_PART);
            }
            (Some(Trouble::Outside(_)), answer) => {
                self.judge(answer, &mut record);
                record.objectives.fill(NO_VALUE);
                if let Some(missing) = record.violations.last_mut() {
                    *missing = NO_PART;
                }
            }
            (Some(_), _) => record.violations[geometry] = NO_PART,
        }
        record
    }

    /// Measures from outside, in their units; or why there are none.
    fn ask_outside<'a>(&'a self, slots: &[f64], ask: Ask) -> outside::Answer {
        let asked = match (ask, &self.asked) {
            (Ask::Known(values), _) if values.iter().all(|value| value.is_finite()) => {
                return Ok(values.to_vec());
            }
            (Ask::Somebody, Some(asked)) => asked,
            (Ask::Known(_), _) => return Err(NOT_KNOWN.into()),
            (Ask::Nobody, _) => return Ok(vec![f64::NAN; self.setup.outside.len()]),
            (Ask::Somebody, None) => return Err(NOT_ASKED.into()),
        };
        let setup = &self.setup;
        let first = setup.variables.len();
        let quantity = |(name, unit, value): (&'a str, Unit, &f64)| Quantity {
            name,
            unit,
            value: value / unit.size,
        };
        let question = Question {
            variables: setup
                .variables
                .iter()
                .zip(slots)
                .map(|(each, value)| quantity((&each.name, each.unit, value)))
                .collect(),
            derived: setup
                .derived
                .iter()
                .zip(&slots[first..])
                .filter(|(each, _)| !each.after)
                .map(|(each, value)| quantity((&each.name, each.unit, value)))
                .collect(),
            measures: self
                .measures
                .iter()
                .zip(&self.sizes)
                .zip(&slots[first + setup.derived.len()..])
                .map(|((each, unit), value)| quantity((&each.name, *unit, value)))
                .collect(),
        };
        asked.answer(
            &slots[..setup.variables.len()],
            &question,
            setup.outside.len(),
        )
    }

    fn answer<'a>(
        &self,
        frame: &'a Frame,
        slots: &[f64],
        detail: bool,
    ) -> Result<(Answer<'a>, Option<Trouble>), BuildError> {
        let part = build::part(&frame.part, slots)?;
        let layout = Layout::new(&part, &stations(&self.setup.loads, &part, slots))?;
        Ok(self.answer_of(frame, part, layout, slots, None, detail))
    }

    /// What is found out about a part: as drawn, or as it was made.
    pub(super) fn answer_of<'a>(
        &self,
        frame: &'a Frame,
        part: Part,
        layout: Layout,
        slots: &[f64],
        made: Option<&AsMade>,
        detail: bool,
    ) -> (Answer<'a>, Option<Trouble>) {
        let made_part = self.setup.calibration.of_part(&part, &layout);
        let volume = match &made_part {
            Some((part, layout)) => Volume::of(part, layout),
            None => Volume::of(&part, &layout),
        };
        let rules = Rules::of(&part, &layout);
        let (mut loadings, mut openings, carried_nodes) =
            loadings(&self.setup.loads, &layout, slots);
        if let Some(made) = made {
            for (index, factor) in made.loads.iter().enumerate() {
                grow(&mut loadings[index], openings[index].as_mut(), *factor);
            }
        }
        let recipe = &frame.part;
        let mut answer = Answer {
            frame,
            screws: strength::screws(recipe, &part.bosses, slots),
            press_n: recipe.press.value(slots),
            part,
            layout,
            made: made_part,
            volume,
            rules,
            loadings,
            openings,
            metal: made.map_or(frame.metal, |made| made.metal),
            solved: None,
        };
        if !answer.rules.kept() {
            return (answer, Some(Trouble::Geometry));
        }
        match self.solve(&mut answer, &carried_nodes, made, detail) {
            Ok(mut solved) => {
                self.join(&answer, &mut solved);
                match made {
                    None => self.correct(&answer, &mut solved, slots),
                    Some(made) => self.correct_by(made.logs.to_vec(), &mut solved),
                }
                answer.solved = Some(solved);
                (answer, None)
            }
            Err((load, error)) => (answer, Some(Trouble::Structure(load, error))),
        }
    }

    fn solve(
        &self,
        answer: &mut Answer,
        carried_nodes: &[usize],
        made: Option<&AsMade>,
        detail: bool,
    ) -> Result<Solved, (Option<usize>, StructureError)> {
        let (part, layout, frame) = (&answer.part, &answer.layout, answer.frame);
        let as_made = answer.made.as_ref().map_or(layout, |made| &made.1);
        let start = part.path.pose(layout.nodes_mm[0]);
        let carried = carried(part, layout.length_mm, carried_nodes);
        let mut model =
            Model::new(as_made, start, &answer.metal, &carried).map_err(|error| (None, error))?;
        let mut responses = Vec::with_capacity(answer.loadings.len());
        let mut opened = Vec::with_capacity(answer.loadings.len());
        for (index, loading) in answer.loadings.iter_mut().enumerate() {
            let wrong = |error| (Some(index), error);
            opened.push(match &answer.openings[index] {
                None => None,
                Some(opening) => {
                    let supports = &loading.supports;
                    let opened = model
                        .open(as_made, supports, opening, frame.endurance)
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
        let plan = match made {
            Some(made) => made.plan.clone(),
            None => frame
                .works
                .plan(part, layout, answer.volume.metal_mm3, detail),
        };
        let mut walls = frame.walls.gives(as_made);
        for wall in &mut walls {
            wall.give_mm_n *= frame.metal.modulus_mpa / answer.metal.modulus_mpa;
        }
        Ok(Solved {
            model,
            responses,
            opened,
            frequency_hz,
            plan,
            walls,
            logs: Vec::new(),
        })
    }

    pub(super) fn take_measures(&self, answer: &Answer, slots: &mut Vec<f64>) {
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
            density: answer.metal.density_t_mm3,
            yield_mpa: answer.metal.yield_mpa,
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

    /// Every move of the tools that make a part; `None` in a study without one.
    pub fn simulation(&self, part: &Part, layout: &Layout) -> Option<Simulation> {
        Some(self.frame.as_ref()?.works.simulate(part, layout))
    }

    /// Fatigue safety of a load case that asks for it.
    pub(super) fn fatigue_safety(&self, load: usize, response: &LoadResponse) -> Option<f64> {
        let cycles = self.setup.loads[load].fatigue.as_ref()?;
        Some(self.frame.as_ref()?.fatigue?.safety(cycles, response))
    }

    fn judge(&self, answer: Option<&Answer>, record: &mut Record) {
        let setup = &self.setup;
        for (violation, constraint) in record.violations.iter_mut().zip(&setup.constraints) {
            *violation = -margin(constraint, &record.slots);
        }
        if let Some(answer) = answer {
            let plan = answer.solved.as_ref().map(|solved| &solved.plan);
            record.violations[setup.constraints.len()] = -answer.rules.least_mm().min(1.0);
            record.violations[setup.constraints.len() + 1] = plan.map_or(0.0, |plan| {
                (-plan.cutter_gap_mm.min(1.0))
                    .max(-plan.table_room_mm.min(1.0))
                    .max(plan.obstacles as f64)
            });
        }
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
    if action.frame == Axes::Plan {
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

/// A load case `factor` times as great.
fn grow(loading: &mut Loading, opening: Option<&mut Opening>, factor: f64) {
    for action in &mut loading.actions {
        for part in action.force.iter_mut().chain(&mut action.moment) {
            *part *= factor;
        }
    }
    for part in &mut loading.acceleration {
        *part *= factor;
    }
    if let Some(opening) = opening {
        opening.to_mm *= factor;
        opening.from_mm *= factor;
    }
}

/// The force that holds a blade open, as an action; where none is needed, one to take the stiffness by.
fn holding(node: usize, force_n: f64) -> Action {
    Action {
        node,
        frame: Axes::Plan,
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
