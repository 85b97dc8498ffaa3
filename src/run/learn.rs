//! What solids say of a study's space before it is searched: the ratio law.
//!
//! Designs spread over the space, as far as they come near to meeting the constraints, are solved both ways, beam
//! and coarse solid; a few also on a finer mesh, which gives constant ratios between the meshes. The logarithms of
//! solid over beam are fitted. Then short searches on the corrected beam show where fronts lie; designs of those
//! fronts, which the law has not seen, judge it and join it, until it is right there.

use rayon::prelude::*;

use super::data::Next;
use super::prepare::Prepared;
use super::space::{Space, place, value};
use crate::evaluate::setup::{Range, Variable};
use crate::evaluate::{Evaluator, Ratios, Target, Truth};
use crate::explore::response::{self, Law, Misfit};
use crate::explore::{self, Plan, Problem, Settings};
use crate::solid::Density;
use crate::study::TruthKind;

/// Designs that break a constraint by more than this share of its limit are not learnt from: no front comes near
/// them, and the beam may be off by a multiple there (ligaments of a tenth of a millimetre).
const FAR: f64 = 0.5;
/// Lessons that must know a figure for it to be fitted.
const LEAST_KNOWN: usize = 20;
/// Designs solved for each coordinate of the space, and one more.
const FOR_EACH: usize = 12;
/// Fewest and most designs solved over the space.
const SPREAD: (usize, usize) = (48, 120);
/// Of these, solved on the finer mesh too.
const BOTH_MESHES: usize = 6;
/// Designs of a front that judge the law in a round.
const OF_FRONT: usize = 20;
/// Rounds at most.
const ROUNDS: usize = 3;
/// Evaluations of the search that shows a round's front, at most.
const SCOUT: usize = 8_000;
/// The rounds end when the law is off by no more than this on the front (root mean square).
const RIGHT: f64 = 0.01;
/// Runs of fewer evaluations than this are trials that nothing is solved in solid for.
pub(super) const SHORT: usize = 1_000;
/// Why there is no law in a short run.
const TOO_SHORT: &str = "a run of fewer than 1000 designs learns no law and proves no candidate";
/// Why there is no law when the learning is cut short.
const STOPPED: &str = "stopped before the law was learnt";
/// What a law is worth where a program of the user's is asked.
const UNJUDGED: &str = "the law was not judged on a front: looking for one would have asked the study's program about \
     thousands of designs";
/// A design of a front counts as much as this many others in the fit.
const FRONT_WEIGHT: f64 = 4.0;

/// A design solved both ways.
#[derive(Clone, Debug, PartialEq)]
pub struct Lesson {
    /// Places on the axes.
    pub x: Vec<f64>,
    /// The beam's figures, one for each target.
    pub beam: Vec<f64>,
    /// The solid's on the coarse mesh; not a number where it has none.
    pub solid: Vec<f64>,
    /// The solid's on the fine mesh; empty where it was not solved.
    pub finer: Vec<f64>,
    /// Whether it was on a front.
    pub front: bool,
    /// Whether it was solved in an earlier run, and holds in this one.
    pub earlier: bool,
}

/// How good the law is for one figure, in per cent of it.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct LawRow {
    /// Measure.
    pub name: String,
    /// Root mean square and worst on designs of the space that were left out of the fit.
    pub space_percent: (f64, f64),
    /// Designs that this judges.
    pub space_designs: usize,
    /// The same on designs of the last round's front, before they joined the fit.
    pub front_percent: (f64, f64),
    /// Designs that this judges.
    pub front_designs: usize,
    /// Median of solid over beam.
    pub ratio: f64,
    /// What the finer mesh takes off the coarse one, in per cent, and by how much designs differ in that.
    pub mesh_percent: (f64, f64),
}

/// The law, and what it was learnt from.
#[derive(Clone, Debug)]
pub struct Learnt {
    /// An evaluator that rests on the law; on the beam where there is none.
    pub evaluator: Evaluator,
    /// Every design solved, in order.
    pub lessons: Vec<Lesson>,
    /// How good the law is; empty where there is none.
    pub rows: Vec<LawRow>,
    /// What the reader must know: designs that could not be meshed, why there is no law.
    pub remarks: Vec<String>,
    /// Whether the observer stopped it.
    pub stopped: bool,
}

impl Learnt {
    /// Nothing learnt: the figures rest on the beam.
    pub fn nothing(prepared: &Prepared) -> Learnt {
        School::new(prepared, &[]).unlearnt(&[], false)
    }
}

/// What a study's figures rest on, made ready as its plan asks. `known` are lessons of an earlier sitting, which are
/// not solved again, and of an earlier run: enough of those stand in place of the designs spread over the space, and
/// only the rounds on fronts are solved. `observer` is told how many lessons there are.
///
/// # Errors
/// In words that fit after "failed to", why the space can't be explored.
pub fn learn(
    prepared: &Prepared,
    known: &[Lesson],
    observer: &mut dyn FnMut(usize) -> Next,
) -> Result<Learnt, String> {
    let school = School::new(prepared, known);
    match prepared.study.plan.truth {
        _ if !prepared.evaluator.has_part() => Ok(school.unlearnt(&[], false)),
        _ if prepared.job.evaluations < SHORT => Ok(school.unlearnt(&[TOO_SHORT], false)),
        TruthKind::Beam => Ok(school.unlearnt(&[], false)),
        TruthKind::Law => learn_law(school, observer),
        TruthKind::Solid => learn_meshes(school, observer),
    }
}

/// What a finished run's figures rest on, from the designs that it solved as solids; nothing is solved or searched. How
/// good the law is on designs it has not seen is not known from them alone: `rows` have only what the fit leaves out.
pub fn relearn(prepared: &Prepared, lessons: &[Lesson]) -> Learnt {
    let mut school = School::new(prepared, &[]);
    let truth = prepared.study.plan.truth;
    if prepared.job.evaluations < SHORT || truth == TruthKind::Beam {
        return school.unlearnt(&[], false);
    }
    if truth == TruthKind::Solid {
        school.lessons = lessons.to_vec();
        return school.on_solids();
    }
    // Which figures the law has was decided before the first round on a front.
    let own_front = |lesson: &Lesson| lesson.front && !lesson.earlier;
    let first = lessons.iter().position(own_front).unwrap_or(lessons.len());
    school.lessons = lessons[..first].to_vec();
    school.fitted = school.known_targets();
    school.lessons.extend_from_slice(&lessons[first..]);
    match school.fit() {
        Ok(law) => school.learnt(&law, None),
        Err(why) => school.unlearnt(&[&why], false),
    }
}

/// Relative difference from which on a beam's figure is another one.
const ANOTHER: f64 = 1e-9;

/// Lessons of an earlier run of the same study that hold in this one as they are: solids know neither tools nor
/// machine, so only the metal's elastic constants and density must be the same. Lessons with a value that a variable
/// no longer takes are left out; so are all where the beam has other figures today than it had then, since the solid
/// may have them too.
pub(super) fn still_true(
    earlier: &Prepared,
    lessons: &[Lesson],
    prepared: &Prepared,
) -> Vec<Lesson> {
    let metal = |of: &Prepared| {
        of.conditions.as_ref().map(|with| {
            let material = &with.material;
            [
                material.modulus_gpa,
                material.poisson,
                material.density_kg_m3,
            ]
        })
    };
    if metal(earlier) != metal(prepared) || earlier.job.targets != prepared.job.targets {
        return Vec::new();
    }
    let same = |a: f64, b: f64| (a - b).abs() <= ANOTHER * a.abs() || a.is_nan() && b.is_nan();
    let mut kept = Vec::new();
    for lesson in lessons {
        let point = values(&earlier.study.variables, &lesson.x);
        let beam = prepared.evaluator.beam(&point).unwrap_or_default();
        let unmoved = beam.len() == lesson.beam.len()
            && beam.iter().zip(&lesson.beam).all(|(a, b)| same(*a, *b));
        if !unmoved {
            return Vec::new();
        }
        let variables = &prepared.study.variables;
        let x: Vec<f64> = variables
            .iter()
            .zip(&point)
            .map(|(variable, value)| place(variable, *value))
            .collect();
        if values(variables, &x) == point {
            kept.push(Lesson {
                x,
                earlier: true,
                ..lesson.clone()
            });
        }
    }
    kept
}

/// The ratios between the meshes alone, for solids inside the search.
fn learn_meshes(
    mut school: School,
    observer: &mut dyn FnMut(usize) -> Next,
) -> Result<Learnt, String> {
    let points = school.spread(BOTH_MESHES)?;
    if school.solve(&points, false, observer) == Next::Stop {
        return Ok(school.unlearnt(&[STOPPED], true));
    }
    Ok(school.on_solids())
}

fn learn_law(
    mut school: School,
    observer: &mut dyn FnMut(usize) -> Next,
) -> Result<Learnt, String> {
    let prepared = school.prepared;
    let targets = prepared.evaluator.targets();
    let axes = school.axes();
    school.take_over();
    if school.lessons.is_empty() {
        let points = school.spread((FOR_EACH * (axes.len() + 1)).clamp(SPREAD.0, SPREAD.1))?;
        if school.solve(&points, false, observer) == Next::Stop {
            return Ok(school.unlearnt(&[STOPPED], true));
        }
    }
    school.fitted = school.known_targets();
    let mut law = match school.fit() {
        Ok(law) => law,
        Err(why) => return Ok(school.unlearnt(&[&why], false)),
    };
    let mut judged: Option<Vec<Misfit>> = None;
    let asks = prepared.study.asking.is_some();
    for round in 0..if asks { 0 } else { ROUNDS } {
        let resting = school.resting(&law);
        let front = scout(prepared, &resting, round)?;
        let seen: Vec<f64> = school
            .lessons
            .iter()
            .flat_map(|lesson| lesson.x.clone())
            .collect();
        let chosen = response::farthest(&axes, &front, &seen, OF_FRONT)
            .map_err(|error| error.to_string())?;
        let points: Vec<Vec<f64>> = chosen
            .iter()
            .map(|&at| front[at * axes.len()..(at + 1) * axes.len()].to_vec())
            .collect();
        let before = school.lessons.len();
        if school.solve(&points, true, observer) == Next::Stop {
            return Ok(school.unlearnt(&[STOPPED], true));
        }
        let (xs, ys, _) = school.designs(before);
        let others = response::Designs {
            points: &xs,
            values: &ys,
            weights: &[],
        };
        if xs.is_empty() {
            break;
        }
        let misfit = law.misfit_on(others).map_err(|error| error.to_string())?;
        // Peaks jump from hole to hole; waiting for them to be right would not end.
        let smooth = |output: usize| !matches!(targets[school.fitted[output]].0, Target::Peak(_));
        let right = misfit
            .iter()
            .enumerate()
            .all(|(output, each)| each.designs == 0 || each.rms <= RIGHT || !smooth(output));
        judged = Some(misfit);
        law = match school.fit() {
            Ok(law) => law,
            Err(why) => return Ok(school.unlearnt(&[&why], false)),
        };
        if right {
            break;
        }
    }
    let mut learnt = school.learnt(&law, judged);
    if asks {
        learnt.remarks.push(UNJUDGED.into());
    }
    Ok(learnt)
}

fn values(variables: &[Variable], x: &[f64]) -> Vec<f64> {
    variables
        .iter()
        .zip(x)
        .map(|(variable, &at)| value(variable, at))
        .collect()
}

/// Designs on the front of a short search, flat.
fn scout(prepared: &Prepared, resting: &Evaluator, round: usize) -> Result<Vec<f64>, String> {
    let prepared = Prepared {
        evaluator: resting.clone(),
        ..prepared.clone()
    };
    let space = Space::new(&prepared);
    let axes = space.axes().len();
    let baseline: Vec<f64> = prepared
        .study
        .variables
        .iter()
        .map(|variable| place(variable, variable.baseline))
        .collect();
    let settings = Settings {
        start: vec![baseline],
        ..Settings::new(
            Plan::Search,
            prepared.job.evaluations.min(SCOUT),
            prepared.job.seed.wrapping_add(1 + round as u64),
        )
    };
    let mut seen = Vec::new();
    let outcome = explore::explore(
        &space,
        &settings,
        explore::Known::default(),
        &mut |progress| {
            seen.extend_from_slice(progress.xs);
            explore::Next::Continue
        },
    )
    .map_err(|error| error.to_string())?;
    Ok(outcome
        .front
        .iter()
        .flat_map(|&design| seen[design * axes..(design + 1) * axes].to_vec())
        .collect())
}

struct School<'a> {
    prepared: &'a Prepared,
    known: &'a [Lesson],
    variables: Vec<response::Variable>,
    lessons: Vec<Lesson>,
    /// Targets that the law has, in the order of its outputs.
    fitted: Vec<usize>,
    /// Designs that could not be meshed, and why the first could not.
    unmeshed: usize,
    why: Option<String>,
}

impl<'a> School<'a> {
    fn new(prepared: &'a Prepared, known: &'a [Lesson]) -> School<'a> {
        let space = Space::new(prepared);
        let variables = prepared
            .study
            .variables
            .iter()
            .zip(space.axes())
            .map(|(variable, axis)| {
                let numbers = match &variable.range {
                    Range::Choice(values) => Some(values.as_slice()),
                    _ => None,
                };
                response::Variable::of(axis, numbers)
            })
            .collect();
        School {
            prepared,
            known,
            variables,
            lessons: Vec::new(),
            fitted: Vec::new(),
            unmeshed: 0,
            why: None,
        }
    }

    /// Takes over the solids of an earlier run, if they are enough to begin with.
    fn take_over(&mut self) {
        for lesson in self.known.iter().filter(|lesson| lesson.earlier) {
            if !self.lessons.iter().any(|taken| taken.x == lesson.x) {
                self.lessons.push(lesson.clone());
            }
        }
        if self.lessons.len() < SPREAD.0 {
            self.lessons.clear();
        }
    }

    /// Designs spread over the part of the space that matters: those that the beam can solve and that break no
    /// constraint by more than [`FAR`].
    fn spread(&self, count: usize) -> Result<Vec<Vec<f64>>, String> {
        let axes = self.axes();
        let (evaluator, study) = (&self.prepared.evaluator, &self.prepared.study.variables);
        let asks = self.prepared.study.asking.is_some();
        let spread = response::spread(&axes, count, self.prepared.job.seed, &mut |x| {
            // Nobody outside is asked: what depends on that keeps no design out.
            let record = evaluator.record_of_frame(&values(study, x));
            let unknown = |violation: f64| asks && violation.is_nan();
            let mut violations = record.violations.iter();
            violations.all(|violation| *violation <= FAR || unknown(*violation))
        })
        .map_err(|error| error.to_string())?;
        Ok(spread.chunks(axes.len()).map(<[f64]>::to_vec).collect())
    }

    fn axes(&self) -> Vec<explore::Axis> {
        Space::new(self.prepared).axes().to_vec()
    }

    /// Solves designs both ways, a few at a time, and adds them as lessons.
    fn solve(
        &mut self,
        points: &[Vec<f64>],
        front: bool,
        observer: &mut dyn FnMut(usize) -> Next,
    ) -> Next {
        let evaluator = &self.prepared.evaluator;
        let variables = &self.prepared.study.variables;
        for (group, points) in points.chunks(8).enumerate() {
            let solved: Vec<Result<Lesson, String>> = points
                .par_iter()
                .enumerate()
                .map(|(index, x)| {
                    let both = !front && 8 * group + index < BOTH_MESHES;
                    let is_known =
                        |lesson: &&Lesson| lesson.x == *x && !(both && lesson.finer.is_empty());
                    if let Some(known) = self.known.iter().find(is_known) {
                        return Ok(Lesson {
                            front,
                            earlier: false,
                            ..known.clone()
                        });
                    }
                    lesson(evaluator, &values(variables, x), x, both, front)
                })
                .collect();
            for lesson in solved {
                match lesson {
                    Ok(lesson) => self.lessons.push(lesson),
                    Err(why) => {
                        self.unmeshed += 1;
                        self.why.get_or_insert(why);
                    }
                }
            }
            if observer(self.lessons.len()) == Next::Stop {
                return Next::Stop;
            }
        }
        Next::Continue
    }

    fn targets(&self) -> usize {
        self.prepared.evaluator.targets().len()
    }

    /// Targets that enough lessons know for a fit; the beam's figures stand for the others.
    fn known_targets(&self) -> Vec<usize> {
        let known = |k: usize| {
            let both = |lesson: &&Lesson| (lesson.solid[k] / lesson.beam[k]).is_finite();
            self.lessons.iter().filter(both).count()
        };
        (0..self.targets())
            .filter(|&k| known(k) >= LEAST_KNOWN)
            .collect()
    }

    /// Logarithm of fine over coarse of each target: mean and spread.
    fn meshes(&self) -> Vec<(f64, f64)> {
        (0..self.targets())
            .map(|k| {
                let ratios: Vec<f64> = self
                    .lessons
                    .iter()
                    .filter(|lesson| !lesson.finer.is_empty())
                    .map(|lesson| (lesson.finer[k] / lesson.solid[k]).ln())
                    .filter(|ratio| ratio.is_finite())
                    .collect();
                let mean = ratios.iter().sum::<f64>() / ratios.len().max(1) as f64;
                let square: f64 = ratios.iter().map(|r| (r - mean).powi(2)).sum();
                (mean, (square / ratios.len().max(1) as f64).sqrt())
            })
            .collect()
    }

    /// Points, logarithms of solid over beam and weights of the lessons from `from` on.
    fn designs(&self, from: usize) -> (Vec<f64>, Vec<f64>, Vec<f64>) {
        let (meshes, targets) = (self.meshes(), &self.fitted);
        let lessons = &self.lessons[from..];
        let points = lessons.iter().flat_map(|lesson| lesson.x.clone()).collect();
        let values = lessons
            .iter()
            .flat_map(|lesson| {
                let meshes = &meshes;
                targets.iter().map(move |&k| {
                    let ratio = (lesson.solid[k] / lesson.beam[k]).ln() + meshes[k].0;
                    if ratio.is_finite() { ratio } else { f64::NAN }
                })
            })
            .collect();
        let weight = |lesson: &Lesson| if lesson.front { FRONT_WEIGHT } else { 1.0 };
        (points, values, lessons.iter().map(weight).collect())
    }

    fn fit(&self) -> Result<Law, String> {
        let (points, values, weights) = self.designs(0);
        if self.fitted.is_empty() {
            return Err(match &self.why {
                Some(why) => format!("no design could be solved in solid: failed to {why}"),
                None => "no design could be solved in solid".into(),
            });
        }
        let designs = response::Designs {
            points: &points,
            values: &values,
            weights: &weights,
        };
        Law::fit(&self.variables, designs, &response::Settings::default())
            .map_err(|error| error.to_string())
    }

    fn resting(&self, law: &Law) -> Evaluator {
        let (law, variables) = (law.clone(), self.prepared.study.variables.clone());
        let fitted = self.fitted.clone();
        self.prepared
            .evaluator
            .resting_on(Truth::Law(Ratios::new(move |values, logs| {
                let mut x = [0.0; 64];
                for ((at, variable), value) in x.iter_mut().zip(&variables).zip(values) {
                    *at = place(variable, *value);
                }
                let mut known = [0.0; 64];
                law.predict(&x[..variables.len()], &mut known);
                for (&target, log) in fitted.iter().zip(known) {
                    logs[target] = log;
                }
            })))
    }

    fn remarks(&self) -> Vec<String> {
        let mut remarks = Vec::new();
        if let (1.., Some(why)) = (self.unmeshed, &self.why) {
            remarks.push(format!(
                "{} designs have no solid answer (failed to {why}); the beam's stands for them",
                self.unmeshed
            ));
        }
        remarks
    }

    /// Solids inside the search, with the ratios between the meshes.
    fn on_solids(self) -> Learnt {
        let finer = self.meshes().iter().map(|mesh| mesh.0).collect();
        let evaluator = self.prepared.evaluator.clone();
        let mut learnt = self.unlearnt(&[], false);
        learnt.evaluator = evaluator.resting_on(Truth::Solid(Density::Coarse, finer));
        learnt
    }

    fn unlearnt(self, why: &[&str], stopped: bool) -> Learnt {
        let mut remarks = self.remarks();
        let beam = |why: &&str| format!("the figures rest on the beam alone: {why}");
        remarks.extend(why.iter().map(beam));
        Learnt {
            evaluator: self.prepared.evaluator.clone(),
            lessons: self.lessons,
            rows: Vec::new(),
            remarks,
            stopped,
        }
    }

    fn learnt(self, law: &Law, judged: Option<Vec<Misfit>>) -> Learnt {
        let percent = |misfit: &Misfit| (100.0 * misfit.rms, 100.0 * misfit.worst);
        let (_, values, _) = self.designs(0);
        let meshes = self.meshes();
        let count = self.fitted.len();
        let targets = self.prepared.evaluator.targets();
        let rows = self
            .fitted
            .iter()
            .zip(law.misfit())
            .enumerate()
            .map(|(output, (&k, misfit))| {
                let name = &targets[k].1;
                let front = judged.as_ref().map(|judged| judged[output]);
                let mut ratios: Vec<f64> =
                    values.iter().skip(output).step_by(count).copied().collect();
                ratios.retain(|ratio| ratio.is_finite());
                ratios.sort_by(f64::total_cmp);
                LawRow {
                    name: name.clone(),
                    space_percent: percent(&misfit),
                    space_designs: misfit.designs,
                    front_percent: front.as_ref().map_or((f64::NAN, f64::NAN), percent),
                    front_designs: front.map_or(0, |front| front.designs),
                    ratio: ratios
                        .get(ratios.len() / 2)
                        .map_or(f64::NAN, |ratio| ratio.exp()),
                    mesh_percent: (100.0 * meshes[k].0, 100.0 * meshes[k].1),
                }
            })
            .collect();
        Learnt {
            evaluator: self.resting(law),
            remarks: self.remarks(),
            lessons: self.lessons,
            rows,
            stopped: false,
        }
    }
}

fn lesson(
    evaluator: &Evaluator,
    variables: &[f64],
    x: &[f64],
    both: bool,
    front: bool,
) -> Result<Lesson, String> {
    let beam = evaluator.beam(variables).ok_or("solve the beam")?;
    let coarse = evaluator
        .solid(variables, Density::Coarse, 1)
        .map_err(|error| error.to_string())?;
    let finer = match both {
        true => evaluator
            .solid(variables, Density::Fine, 1)
            .map(|facts| evaluator.figures(&facts))
            .unwrap_or_default(),
        false => Vec::new(),
    };
    Ok(Lesson {
        x: x.to_vec(),
        beam,
        solid: evaluator.figures(&coarse),
        finer,
        front,
        earlier: false,
    })
}
