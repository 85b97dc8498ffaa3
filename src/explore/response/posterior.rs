//! What a Gaussian process says of places it has not seen: an expected value and how far off that may be.

use super::basis::{Basis, dot};
use super::coordinates::Coordinates;
use super::fit::{FREEDOM, Model, trend};
use super::kernel::{Kernel, LANES};
use super::process::{Process, Sample};
use super::terms::{Term, columns};

/// What a process is made of besides its designs: found with some effort, kept for a few designs more.
#[derive(Clone, Debug)]
pub(in super::super) struct Setup {
    model: Model,
    kernel: Kernel,
    terms: Vec<Term>,
    /// Logarithms of lengths and noise.
    parameters: Vec<f64>,
    /// Value of each design less what is expected of it by all others.
    left_out: Vec<f64>,
}

impl Setup {
    /// The likeliest process of a model, sought from `near` where that is of the same model. Nothing where the
    /// designs are too few.
    pub(in super::super) fn of(
        model: Model,
        coordinates: &Coordinates,
        sample: &Sample,
        near: Option<&Self>,
    ) -> Option<Self> {
        let Model::Process { kernel, quadratic } = model else {
            return None;
        };
        let (terms, _, _) = trend(coordinates, sample, quadratic);
        if sample.y.len() < terms.len() + FREEDOM {
            return None;
        }
        let columns = columns(&terms, &sample.at, &vec![1.0; sample.y.len()]);
        let process = Process::new(kernel, sample, &columns, &coordinates.variable);
        let near = near.filter(|near| near.model == model);
        let parameters = process.likeliest(near.map(|near| near.parameters.as_slice()))?;
        let left_out = process.state(&parameters)?.left_out();
        Some(Self {
            model,
            kernel,
            terms,
            parameters,
            left_out,
        })
    }

    /// Its model.
    pub(in super::super) fn model(&self) -> Model {
        self.model
    }

    /// Value of each design less what is expected of it by all others.
    pub(in super::super) fn left_out(&self) -> &[f64] {
        &self.left_out
    }
}

/// A process with its designs, ready to be asked.
///
/// With v = L^-1 k (R = L L', k the correlations of a place with the designs) and w the place's trend less what k says
/// of it, in the trend's basis, the expected value is x b + k' weights and the variance s² (1 - v'v + w'w).
///
/// Source: Sacks, Welch, Mitchell and Wynn, Statistical Science 4(4), 1989, equations 7 and 9 (from memory).
#[derive(Clone, Debug)]
pub(in super::super) struct Posterior {
    kernel: Kernel,
    terms: Vec<Term>,
    coefficients: Vec<f64>,
    /// One over the length of each coordinate.
    sharpness: Vec<f64>,
    /// Coordinates over their lengths: (coordinates, designs).
    scaled: Vec<Vec<f64>>,
    weights: Vec<f64>,
    /// L^-1 row by row, row k of k + 1 numbers.
    rows: Vec<f64>,
    basis: Basis,
    /// s².
    variance: f64,
    /// Noise of a design, in s².
    noise: f64,
    believed: Vec<Believed>,
}

/// A place taken as known, with its expected value.
#[derive(Clone, Debug)]
struct Believed {
    scaled: Vec<f64>,
    v: Vec<f64>,
    w: Vec<f64>,
    /// What places believed before it explain of it.
    shares: Vec<f64>,
    /// Deviation that those leave, a design's noise added, in s.
    deviation: f64,
}

/// Room for what a place is asked.
#[derive(Clone, Debug, Default)]
pub(in super::super) struct Look {
    scaled: Vec<f64>,
    k: Vec<f64>,
    v: Vec<f64>,
    w: Vec<f64>,
    shares: Vec<f64>,
}

/// A matrix that can't be factorised gets this many times more noise, this often.
const MORE_NOISE: (f64, usize) = (30.0, 6);

impl Posterior {
    /// The process of a setup over designs. Nothing where its matrix can't be factorised.
    pub(in super::super) fn new(
        setup: &Setup,
        coordinates: &Coordinates,
        sample: &Sample,
    ) -> Option<Self> {
        let columns = columns(&setup.terms, &sample.at, &vec![1.0; sample.y.len()]);
        let process = Process::new(setup.kernel, sample, &columns, &coordinates.variable);
        let mut parameters = setup.parameters.clone();
        for _ in 0..MORE_NOISE.1 {
            if let Some(white) = process.whiten(&parameters) {
                let sharpness: Vec<f64> = process
                    .lengths(&parameters)
                    .iter()
                    .map(|length| 1.0 / length)
                    .collect();
                let count = sample.y.len();
                let freedom = count.saturating_sub(columns.len()).max(1) as f64;
                let line = |row: usize| (0..=row).map(move |column| (row, column));
                let scaled = |(coordinate, sharpness): (usize, &f64)| {
                    let places = sample.at.iter();
                    places.map(|at| at[coordinate] * sharpness).collect()
                };
                return Some(Self {
                    kernel: setup.kernel,
                    terms: setup.terms.clone(),
                    coefficients: white.coefficients(),
                    scaled: sharpness.iter().enumerate().map(scaled).collect(),
                    sharpness,
                    weights: white.weights(),
                    rows: (0..count)
                        .flat_map(line)
                        .map(|at| white.inverse[at])
                        .collect(),
                    variance: white.square / freedom,
                    noise: process.share_of_noise(&parameters),
                    basis: white.basis,
                    believed: Vec::new(),
                });
            }
            if let Some(noise) = parameters.last_mut() {
                *noise += MORE_NOISE.0.ln();
            }
        }
        None
    }

    /// Expected value at a place given by its coordinates, and its standard deviation.
    pub(in super::super) fn at(&self, at: &[f64], look: &mut Look) -> (f64, f64) {
        let (mean, variance) = pulp::Arch::new().dispatch(Asked {
            posterior: self,
            at,
            look,
        });
        (mean, (variance.max(0.0) * self.variance).sqrt())
    }

    /// Expected value alone: much quicker.
    pub(in super::super) fn mean(&self, at: &[f64], look: &mut Look) -> f64 {
        pulp::Arch::new().dispatch(Mean {
            posterior: self,
            at,
            look,
        })
    }

    /// Takes a place as known, with its expected value: what is expected elsewhere stays, deviations shrink.
    ///
    /// Source: Ginsbourger, Le Riche and Carraro, in Computational Intelligence in Expensive Optimization Problems,
    /// Springer 2010 (kriging believer; from memory).
    pub(in super::super) fn believe(&mut self, at: &[f64], look: &mut Look) {
        let (_, variance) = Asked {
            posterior: self,
            at,
            look,
        }
        .ask();
        if variance > 1e-12 {
            self.believed.push(Believed {
                scaled: look.scaled.clone(),
                v: look.v.clone(),
                w: look.w.clone(),
                shares: look.shares.clone(),
                deviation: (variance + self.noise).sqrt(),
            });
        }
    }

    #[inline(always)]
    fn mean_wide(&self, at: &[f64], look: &mut Look) -> f64 {
        let count = self.weights.len();
        look.scaled.clear();
        for k in 0..at.len() {
            look.scaled.push(at[k] * self.sharpness[k]);
        }
        look.k.clear();
        look.k.resize(count, 0.0);
        for (here, there) in look.scaled.iter().zip(&self.scaled) {
            for (square, there) in look.k.iter_mut().zip(there) {
                *square += (here - there) * (here - there);
            }
        }
        for part in look.k.chunks_mut(LANES) {
            let mut lanes = [0.0; LANES];
            lanes[..part.len()].copy_from_slice(part);
            self.kernel.correlations(&mut lanes);
            part.copy_from_slice(&lanes[..part.len()]);
        }
        let mut mean = lane_dot(&look.k, &self.weights);
        for (term, coefficient) in self.terms.iter().zip(&self.coefficients) {
            mean += term.at(at) * coefficient;
        }
        mean
    }

    #[inline(always)]
    fn ask_wide(&self, at: &[f64], look: &mut Look) -> (f64, f64) {
        let mean = self.mean_wide(at, look);
        let count = self.weights.len();
        look.v.clear();
        let mut next = 0;
        for row in 0..count {
            let line = &self.rows[next..=next + row];
            look.v.push(lane_dot(line, &look.k[..=row]));
            next += row + 1;
        }
        look.w.clear();
        for term in &self.terms {
            look.w.push(term.at(at));
        }
        self.basis.place(&mut look.w);
        for (w, q) in look.w.iter_mut().zip(&self.basis.q) {
            *w -= lane_dot(q, &look.v);
        }
        let mut variance = 1.0 - lane_dot(&look.v, &look.v) + dot(&look.w, &look.w);
        look.shares.clear();
        for believed in &self.believed {
            let mut square = 0.0;
            for (a, b) in look.scaled.iter().zip(&believed.scaled) {
                square += (a - b) * (a - b);
            }
            let alike = self.kernel.correlation(square) - lane_dot(&look.v, &believed.v)
                + dot(&look.w, &believed.w)
                - dot(&look.shares, &believed.shares);
            let share = alike / believed.deviation;
            variance -= share * share;
            look.shares.push(share);
        }
        (mean, variance)
    }
}

/// Sum of products in eight sums side by side.
#[inline(always)]
fn lane_dot(a: &[f64], b: &[f64]) -> f64 {
    const WIDE: usize = 8;
    let mut sums = [0.0; WIDE];
    let (whole_a, rest_a) = a.as_chunks::<WIDE>();
    let (whole_b, rest_b) = b.as_chunks::<WIDE>();
    for (a, b) in whole_a.iter().zip(whole_b) {
        for lane in 0..WIDE {
            sums[lane] += a[lane] * b[lane];
        }
    }
    for (lane, (a, b)) in rest_a.iter().zip(rest_b).enumerate() {
        sums[lane] += a * b;
    }
    ((sums[0] + sums[4]) + (sums[1] + sums[5])) + ((sums[2] + sums[6]) + (sums[3] + sums[7]))
}

/// Work done in wide registers where the processor has them; no bit changes, since nothing is reordered or fused.
struct Asked<'a> {
    posterior: &'a Posterior,
    at: &'a [f64],
    look: &'a mut Look,
}

impl Asked<'_> {
    fn ask(self) -> (f64, f64) {
        pulp::Arch::new().dispatch(self)
    }
}

impl pulp::WithSimd for Asked<'_> {
    type Output = (f64, f64);

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> (f64, f64) {
        self.posterior.ask_wide(self.at, self.look)
    }
}

/// As [`Asked`].
struct Mean<'a> {
    posterior: &'a Posterior,
    at: &'a [f64],
    look: &'a mut Look,
}

impl pulp::WithSimd for Mean<'_> {
    type Output = f64;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> f64 {
        self.posterior.mean_wide(self.at, self.look)
    }
}

#[cfg(test)]
mod tests {
    use super::super::coordinates::Variable;
    use super::*;

    fn designs(count: usize) -> (Coordinates, Sample) {
        let number = Variable::Number {
            low: -1.0,
            high: 1.0,
            log: false,
        };
        let coordinates = Coordinates::new(&[number.clone(), number]).unwrap();
        let place = |k: usize| {
            let k = k as f64 + 0.5;
            vec![
                2.0 * (k * 0.754_877_666).fract() - 1.0,
                2.0 * (k * 0.569_840_291).fract() - 1.0,
            ]
        };
        let at: Vec<Vec<f64>> = (0..count).map(place).collect();
        let y = at
            .iter()
            .map(|at| (2.0 * at[0]).sin() + at[1] * at[1] * at[0]);
        let sample = Sample {
            y: y.collect(),
            weights: vec![1.0; count],
            at,
        };
        (coordinates, sample)
    }

    const MODELS: [Model; 4] = [Model::ALL[1], Model::ALL[2], Model::ALL[3], Model::ALL[4]];

    /// Leave-one-out residuals and their deviations in closed form (Dubrule 1983) are those of a process over the
    /// other designs.
    #[test]
    fn predicts_a_design_left_out() {
        let (coordinates, sample) = designs(30);
        for model in MODELS {
            let setup = Setup::of(model, &coordinates, &sample, None).unwrap();
            let columns = columns(&setup.terms, &sample.at, &[1.0; 30]);
            let process = Process::new(setup.kernel, &sample, &columns, &coordinates.variable);
            let left_out = process.state(&setup.parameters).unwrap().left_out();
            for out in [0, 7, 29] {
                let others: Vec<usize> = (0..30).filter(|&k| k != out).collect();
                let rest = sample.only(&others);
                let posterior = Posterior::new(&setup, &coordinates, &rest).unwrap();
                let mut look = Look::default();
                let (mean, deviation) = posterior.at(&sample.at[out], &mut look);
                assert_eq!(mean, posterior.mean(&sample.at[out], &mut look));
                let residual = sample.y[out] - mean;
                assert!(
                    (residual - left_out[out]).abs() < 1e-3 * left_out[out].abs() + 1e-9,
                    "{residual} for {}",
                    left_out[out]
                );
                assert!(residual.abs() < 5.0 * deviation + 1e-9);
            }
        }
    }

    /// A place believed is a design known with its expected value.
    #[test]
    fn belief_is_a_further_design() {
        let (coordinates, sample) = designs(25);
        let setup = Setup::of(MODELS[3], &coordinates, &sample, None).unwrap();
        let mut posterior = Posterior::new(&setup, &coordinates, &sample).unwrap();
        let mut look = Look::default();
        let (before, spread) = posterior.at(&[0.3, -0.2], &mut look);
        let scale = posterior.variance;
        let mut more = sample.clone();
        for place in [[0.31, -0.4], [-0.2, 0.9], [0.35, -0.2]] {
            more.at.push(place.to_vec());
            more.y.push(posterior.mean(&place, &mut look));
            more.weights.push(1.0);
            posterior.believe(&place, &mut look);
        }
        let (after, less) = posterior.at(&[0.3, -0.2], &mut look);
        assert_eq!(before, after);
        let whole = Posterior::new(&setup, &coordinates, &more).unwrap();
        let (mean, deviation) = whole.at(&[0.3, -0.2], &mut look);
        assert!(
            (mean - after).abs() < 1e-2 * spread,
            "{mean} for {after}, {spread}"
        );
        let expected = deviation * (scale / whole.variance).sqrt();
        assert!(less < 0.9 * spread);
        assert!(
            (less / expected - 1.0).abs() < 1e-2,
            "{less} for {expected}"
        );
        let noise = (posterior.noise * posterior.variance).sqrt();
        assert!(posterior.at(&[0.35, -0.2], &mut look).1 < 1.01 * noise);
    }
}
