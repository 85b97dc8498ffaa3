//! Scatter: parts as they come out of the process, not as they are drawn.
//!
//! Every quantity that scatters has a distribution and a standard normal *score*, a weighted sum of the scores of
//! independent *sources*; what has a source in common is correlated (a Gaussian copula: Cario and Nelson, Modeling
//! and generating random vectors with arbitrary marginal distributions and correlation matrix, 1997, from memory).
//! The built part is changed dimension by dimension; machining plan and solid's corrections stay those of the drawing.

mod altered;
mod distribution;
mod recipe;
mod robust;
mod sources;

pub use distribution::{Distribution, Shape, TOLERANCE_SDS, score_of, share_below};
pub use recipe::{Of, ScatterPlan, ScatterRecipe};
pub(super) use robust::Robust;
pub use robust::balanced;
pub use sources::{Quantity, Sources, What};

use super::evaluator::{Answer, AsMade, Evaluator, Frame, Record};
use super::outside::Ask;
use super::stations::stations;
use crate::machining::Plan;
use crate::part::{Layout, Part};
use crate::structure::Metal;
use altered::Altered;

/// A design whose copies scatter.
pub struct Scattered<'a> {
    evaluator: &'a Evaluator,
    frame: &'a Frame,
    variables: Vec<f64>,
    drawn: Drawn,
    nominal: Record,
    sources: Sources,
    /// Factor of each score: how much of its source is left.
    left: Vec<f64>,
}

/// The part as drawn, with what its copies keep of it.
#[derive(Clone)]
struct Drawn {
    part: Part,
    layout: Layout,
    plan: Plan,
    logs: Vec<f64>,
}

/// How the quantities of a design deviate, its dimensions aside.
struct Deviations {
    variables: Option<Vec<f64>>,
    metal: Metal,
    loads: Vec<f64>,
}

impl Evaluator {
    /// A design, from its variables in base units, whose copies scatter; `None` where it can't be made or solved.
    pub fn scattered(&self, variables: &[f64]) -> Option<Scattered<'_>> {
        let (nominal, answer, _) = self.examine(variables, false, Ask::Nobody);
        self.scattered_from(variables, nominal, answer?)
    }

    pub(super) fn scattered_from<'a>(
        &'a self,
        variables: &[f64],
        nominal: Record,
        answer: Answer<'a>,
    ) -> Option<Scattered<'a>> {
        let solved = answer.solved?;
        let given = answer.frame.works.tolerances(&answer.part, &answer.layout);
        let sources = Sources::of(&self.setup.scatter, variables, &given);
        Some(Scattered {
            evaluator: self,
            frame: answer.frame,
            variables: variables.to_vec(),
            left: vec![1.0; sources.scores],
            drawn: Drawn {
                part: answer.part,
                layout: answer.layout,
                plan: solved.plan,
                logs: solved.logs,
            },
            nominal,
            sources,
        })
    }

    /// Names that a study may give scatter to beside variables, materials and load cases: the dimensions of a design
    /// that the process gives a tolerance; empty where it can't be built.
    pub fn dimension_names(&self, variables: &[f64]) -> Vec<String> {
        match self.examine(variables, false, Ask::Nobody).1 {
            Some(answer) => {
                let given = answer.frame.works.tolerances(&answer.part, &answer.layout);
                sources::names(&given)
            }
            None => Vec::new(),
        }
    }
}

impl Scattered<'_> {
    /// The design at its nominal sizes, judged there.
    pub fn nominal(&self) -> &Record {
        &self.nominal
    }

    /// What scatters, and what moves it.
    pub fn sources(&self) -> &Sources {
        &self.sources
    }

    /// The same with some sources `factor` times as wide: 0.5 halves the tolerances that come from them.
    pub fn with(&self, sources: &[usize], factor: f64) -> Self {
        let mut left = self.left.clone();
        for source in sources {
            left[*source] *= factor;
        }
        Scattered {
            evaluator: self.evaluator,
            frame: self.frame,
            variables: self.variables.clone(),
            drawn: self.drawn.clone(),
            nominal: self.nominal.clone(),
            sources: self.sources.clone(),
            left,
        }
    }

    /// A copy whose sources stand at these standard normal scores (one for each of [`Sources::scores`]); each
    /// quantity deviates as its distribution says.
    pub fn at(&self, scores: &[f64]) -> Record {
        self.copy(&|quantity| {
            let (score, spread) = self.score(quantity, scores);
            quantity.distribution.spread(spread).at(score)
        })
    }

    /// A copy whose quantities deviate in proportion to their scores: mean and standard deviation are kept, the
    /// distribution's form is not. What a rule of few points needs.
    pub fn in_proportion(&self, scores: &[f64]) -> Record {
        self.copy(&|quantity| {
            let (score, spread) = self.score(quantity, scores);
            quantity.distribution.mean() + spread * score * quantity.distribution.sd()
        })
    }

    /// Standard score of a quantity, and what is left of its spread.
    fn score(&self, quantity: &Quantity, scores: &[f64]) -> (f64, f64) {
        let (mut sum, mut squares) = (0.0, 0.0);
        for &(source, loading) in &quantity.loadings {
            let part = loading * self.left[source];
            sum += part * scores[source];
            squares += part * part;
        }
        let spread = squares.sqrt();
        (if spread > 0.0 { sum / spread } else { 0.0 }, spread)
    }

    fn copy(&self, deviation: &dyn Fn(&Quantity) -> f64) -> Record {
        let evaluator = self.evaluator;
        let mut off = Deviations {
            variables: None,
            metal: self.frame.metal,
            loads: vec![1.0; evaluator.setup.loads.len()],
        };
        for quantity in &self.sources.quantities {
            let by = match quantity.what {
                What::Dimensions(_) => continue,
                _ => deviation(quantity),
            };
            // Nothing grows less than a thousandth of what it was.
            let factor = (1.0 + by).max(1e-3);
            match quantity.what {
                What::Variable(index) => {
                    let values = off.variables.get_or_insert_with(|| self.variables.clone());
                    values[index] += by;
                }
                What::Modulus => off.metal.modulus_mpa *= factor,
                What::Density => off.metal.density_t_mm3 *= factor,
                What::Yield => off.metal.yield_mpa *= factor,
                What::Load(index) => off.loads[index] *= 1.0 + by,
                What::Dimensions(_) => {}
            }
        }
        let slots = evaluator.known_ahead(off.variables.as_ref().unwrap_or(&self.variables));
        let drawn = match &off.variables {
            None => Some(Altered::new(&self.drawn.part, &self.drawn.layout)),
            Some(_) => self.rebuilt(&slots),
        };
        let Some(mut altered) = drawn else {
            return evaluator.no_part(slots);
        };
        for quantity in &self.sources.quantities {
            if let What::Dimensions(dimensions) = &quantity.what {
                let by = deviation(quantity);
                for dimension in dimensions {
                    altered.change(*dimension, by);
                }
            }
        }
        altered.settle();
        let made = AsMade {
            metal: off.metal,
            loads: &off.loads,
            plan: &self.drawn.plan,
            logs: &self.drawn.logs,
        };
        let (answer, trouble) = evaluator.answer_of(
            self.frame,
            altered.part,
            altered.layout,
            &slots,
            Some(&made),
            false,
        );
        let mut slots = slots;
        evaluator.take_measures(&answer, &mut slots);
        evaluator.recorded(slots, Some(&answer), trouble.as_ref())
    }

    /// The part of other values of the variables.
    fn rebuilt(&self, slots: &[f64]) -> Option<Altered> {
        let setup = &self.evaluator.setup;
        let part = super::build::part(&self.frame.part, slots).ok()?;
        let layout = Layout::new(&part, &stations(&setup.loads, &part, slots)).ok()?;
        Some(Altered::new(&part, &layout))
    }
}
