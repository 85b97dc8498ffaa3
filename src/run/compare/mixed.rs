//! One design under every mixture of two runs' conditions.

use super::data::Incomparable;
use super::{Common, Side};
use crate::evaluate::Truth;
use crate::run::prepare::{Conditions, Prepared, evaluator};
use crate::run::space::Space;
use crate::study::TruthKind;

/// What can be taken from one run or the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Cause {
    Study,
    Material,
    Tools,
    Machine,
    Law,
}

impl Cause {
    pub(super) fn words(self) -> &'static str {
        match self {
            Cause::Study => "study",
            Cause::Material => "material",
            Cause::Tools => "tools",
            Cause::Machine => "machine",
            Cause::Law => "law",
        }
    }
}

/// The causes in which two runs differ.
pub(super) fn causes(before: &Side, after: &Side) -> Vec<Cause> {
    let [a, b] = [before, after].map(|side| side.prepared.conditions.as_ref());
    let mut causes = Vec::new();
    let mut add = |cause, differs| {
        if differs {
            causes.push(cause);
        }
    };
    add(Cause::Study, !same_study(before.prepared, after.prepared));
    let differ =
        |of: fn(&Conditions, &Conditions) -> bool| matches!((a, b), (Some(a), Some(b)) if of(a, b));
    add(Cause::Material, differ(|a, b| a.material != b.material));
    add(Cause::Tools, differ(|a, b| a.tools != b.tools));
    add(Cause::Machine, differ(|a, b| a.machine != b.machine));
    // Two runs on the beam rest on the same; two laws were each learnt from their own solids.
    let rests = |side: &Side| matches!(side.learnt.evaluator.truth(), Truth::Law(_));
    let same_law = match (rests(before), rests(after)) {
        (false, false) => true,
        (true, true) => before.learnt.lessons == after.learnt.lessons,
        _ => false,
    };
    add(Cause::Law, !same_law);
    causes
}

/// Whether two studies ask the same of the same part; bounds, steps and plan aside.
fn same_study(a: &Prepared, b: &Prepared) -> bool {
    let (a, b) = (&a.study, &b.study);
    let names = |of: &crate::study::Study| -> Vec<String> {
        of.variables.iter().map(|v| v.name.clone()).collect()
    };
    names(a) == names(b)
        && a.derived == b.derived
        && a.part == b.part
        && a.loads == b.loads
        && a.constraints == b.constraints
        && a.objectives == b.objectives
        && a.batch == b.batch
        && a.currency == b.currency
}

/// An evaluator for every set of causes; bit k of its index says that cause k is taken from the later run.
pub(super) struct Mixtures {
    mixtures: Vec<Mixture>,
}

struct Mixture {
    prepared: Prepared,
    /// Whether the study is the later run's.
    later_study: bool,
}

impl Mixtures {
    pub(super) fn new(
        before: &Side,
        after: &Side,
        causes: &[Cause],
    ) -> Result<Mixtures, Incomparable> {
        let mixture = |set: usize| {
            let later = |cause: Cause| {
                let at = causes.iter().position(|each| *each == cause);
                at.is_some_and(|at| set >> at & 1 == 1)
            };
            let side = |cause: Cause| if later(cause) { after } else { before };
            let of = |cause: Cause| side(cause).prepared.conditions.as_ref();
            let conditions = match (of(Cause::Material), of(Cause::Tools), of(Cause::Machine)) {
                (Some(a), Some(b), Some(c)) => Some(Conditions {
                    material: a.material.clone(),
                    tools: b.tools.clone(),
                    machine: c.machine.clone(),
                }),
                _ => None,
            };
            let study = side(Cause::Study).prepared;
            let evaluator = evaluator(&study.study, conditions.as_ref()).map_err(|error| {
                Incomparable::Conditions {
                    why: error.to_string(),
                }
            })?;
            let truth = match side(Cause::Law).learnt.evaluator.truth() {
                // A solid of every design under every mixture would take hours.
                Truth::Solid(..) => Truth::Beam,
                truth => truth.clone(),
            };
            Ok(Mixture {
                prepared: Prepared {
                    evaluator: evaluator.resting_on(truth),
                    conditions,
                    ..study.clone()
                },
                later_study: later(Cause::Study),
            })
        };
        let mixtures = (0..1 << causes.len())
            .map(mixture)
            .collect::<Result<_, _>>()?;
        Ok(Mixtures { mixtures })
    }

    /// Number of mixtures.
    pub(super) fn len(&self) -> usize {
        self.mixtures.len()
    }

    /// The common figures of a design under one mixture, and the relative violations of the mixture's study.
    ///
    /// `point`: variables in base units, in the earlier run's order.
    pub(super) fn evaluate(
        &self,
        set: usize,
        point: &[f64],
        common: &Common,
    ) -> (Vec<f64>, Vec<f64>) {
        let Mixture {
            prepared,
            later_study,
        } = &self.mixtures[set];
        let (point, columns) = match later_study {
            true => (common.later_order(point), &common.figures_after),
            false => (point.to_vec(), &common.figures_before),
        };
        let record = prepared.evaluator.record(&point);
        let space = Space::new(prepared);
        let first = point.len();
        let all: Vec<f64> = space.columns(&record).collect();
        let figures = columns.iter().map(|column| all[column - first]).collect();
        (figures, record.violations)
    }
}

/// Whether figures rest on solids of every design, which a comparison doesn't solve again.
pub(super) fn rests_on_solids(side: &Side) -> bool {
    side.prepared.study.plan.truth == TruthKind::Solid
        && matches!(side.learnt.evaluator.truth(), Truth::Solid(..))
}
