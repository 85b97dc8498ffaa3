//! How much of a scatter is the gauge's: average and range of parts measured by several people several times.

use statrs::distribution::{Continuous, ContinuousCDF, Normal};

/// Ranges beyond which their number no longer counts.
const MANY_RANGES: usize = 15;

/// Trials of one gauge, (parts, people, trials), all of one unit.
pub type Trials = Vec<Vec<Vec<f64>>>;

/// Standard deviations found, in the unit of the trials.
#[derive(Clone, Debug, PartialEq)]
pub struct Gauge {
    /// Parts, people, trials.
    pub size: (usize, usize, usize),
    /// Mean range of the trials of one part by one person.
    pub range: f64,
    /// Greatest less least mean of a person.
    pub people_apart: f64,
    /// Greatest less least mean of a part.
    pub parts_apart: f64,
    /// Repeatability: one part, one person, again (equipment variation, EV).
    pub repeatability: f64,
    /// Reproducibility: from person to person (appraiser variation, AV); 0 where it is lost in the repeatability, and of
    /// one person.
    pub reproducibility: f64,
    /// Both together (GRR).
    pub gauge: f64,
    /// From part to part (PV).
    pub parts: f64,
    /// All together (TV).
    pub total: f64,
    /// Part and person (by their indices) whose trials range further than those of one gauge do.
    pub out_of_hand: Vec<(usize, usize)>,
}

/// Why trials can't be judged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum GaugeFault {
    /// Fewer than two parts.
    Parts(usize),
    /// Fewer than two trials of each part by each person.
    Trials(usize),
    /// A part, person (by their indices) with another number of trials than the first.
    Uneven {
        /// Part.
        part: usize,
        /// Person.
        person: usize,
        /// Trials found.
        found: usize,
        /// Trials of the first part by the first person.
        wanted: usize,
    },
    /// A number is NaN or infinite.
    NotFinite,
}

/// How good a gauge is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Under 10 %.
    Good,
    /// 10 to 30 %.
    Fair,
    /// Over 30 %.
    Poor,
}

impl Gauge {
    /// What trials say of their gauge.
    ///
    /// EV = R K1; AV = sqrt((X K2)² - EV²/(n r)) with n parts and r trials; GRR = sqrt(EV² + AV²); PV = P K3;
    /// TV = sqrt(GRR² + PV²). R is the mean range, X and P are how far the means of people and of parts lie apart. Each K
    /// is one over d2* of as many values and as many ranges ([`d2_star`]).
    ///
    /// # Errors
    /// [`GaugeFault`].
    ///
    /// Source: Measurement Systems Analysis, reference manual, 4th edition, 2010 (formulas and constants read in forms
    /// that cite it).
    pub fn of(trials: &Trials) -> Result<Gauge, GaugeFault> {
        let parts = trials.len();
        let people = trials.first().map_or(0, Vec::len);
        let count = trials
            .first()
            .and_then(|part| part.first())
            .map_or(0, Vec::len);
        if parts < 2 || people == 0 {
            return Err(GaugeFault::Parts(parts));
        }
        for (part, by_people) in trials.iter().enumerate() {
            for person in 0..people.max(by_people.len()) {
                let found = by_people.get(person).map_or(0, Vec::len);
                if found != count {
                    let wanted = count;
                    return Err(GaugeFault::Uneven {
                        part,
                        person,
                        found,
                        wanted,
                    });
                }
            }
        }
        if count < 2 {
            return Err(GaugeFault::Trials(count));
        }
        if trials
            .iter()
            .flatten()
            .flatten()
            .any(|each| !each.is_finite())
        {
            return Err(GaugeFault::NotFinite);
        }
        let ranges: Vec<Vec<f64>> = trials
            .iter()
            .map(|part| part.iter().map(|trials| apart(trials)).collect())
            .collect();
        let range = ranges.iter().flatten().sum::<f64>() / (parts * people) as f64;
        let of_part = |part: &Vec<Vec<f64>>| mean(part.iter().flatten().copied());
        let part_means: Vec<f64> = trials.iter().map(of_part).collect();
        let of_person = |person: usize| mean(trials.iter().flat_map(|part| part[person].clone()));
        let person_means: Vec<f64> = (0..people).map(of_person).collect();
        let (people_apart, parts_apart) = (apart(&person_means), apart(&part_means));
        let repeatability = range / d2_star(count, parts * people);
        let between = match people {
            1 => 0.0,
            _ => (people_apart / d2_star(people, 1)).powi(2),
        };
        let lost = repeatability * repeatability / (parts * count) as f64;
        let reproducibility = (between - lost).max(0.0).sqrt();
        let gauge = repeatability.hypot(reproducibility);
        let spread = parts_apart / d2_star(parts, 1);
        let limit = range_limit(count) * range;
        let mut out_of_hand = Vec::new();
        for (part, by_people) in ranges.iter().enumerate() {
            for (person, range) in by_people.iter().enumerate() {
                if *range > limit {
                    out_of_hand.push((part, person));
                }
            }
        }
        Ok(Gauge {
            size: (parts, people, count),
            range,
            people_apart,
            parts_apart,
            repeatability,
            reproducibility,
            gauge,
            parts: spread,
            total: gauge.hypot(spread),
            out_of_hand,
        })
    }

    /// Kinds of parts that the gauge can tell apart: 1.41 PV/GRR, cut to a whole number; infinite of a perfect gauge.
    pub fn kinds(&self) -> f64 {
        (1.41 * self.parts / self.gauge).floor()
    }

    /// Share of a tolerance (its whole width) that six standard deviations of the gauge take.
    pub fn of_tolerance(&self, width: f64) -> f64 {
        6.0 * self.gauge / width
    }

    /// Share of the total scatter that is the gauge's.
    pub fn of_total(&self) -> f64 {
        self.gauge / self.total
    }
}

impl Standing {
    /// Of a gauge that takes this share of a tolerance, or of the total scatter.
    ///
    /// Source: Measurement Systems Analysis manual (10 and 30 %; from memory).
    pub fn of(share: f64) -> Standing {
        match share {
            _ if share < 0.1 => Standing::Good,
            _ if share <= 0.3 => Standing::Fair,
            _ => Standing::Poor,
        }
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Standing::Good => "good",
            Standing::Fair => {
                "fair: good enough where parts matter little or a better gauge is dear"
            }
            Standing::Poor => "poor: find a better gauge, or measure each part several times",
        }
    }
}

/// What the mean of `ranges` ranges of `count` normal values each is divided by to estimate their standard deviation,
/// so that its square comes out right: sqrt(d2² + d3²/ranges); d2 alone of more than 15 ranges.
///
/// Source: Duncan, Quality Control and Industrial Statistics, 1974, table D3; the closed form is what it tabulates.
pub fn d2_star(count: usize, ranges: usize) -> f64 {
    let (d2, d3) = range_moments(count);
    match ranges {
        0 => f64::NAN,
        _ if ranges > MANY_RANGES => d2,
        _ => (d2 * d2 + d3 * d3 / ranges as f64).sqrt(),
    }
}

/// What the mean range is multiplied by for the limit that a range of `count` values keeps (D4): 1 + 3 d3/d2.
///
/// Source: ASTM E2587, Standard Practice for Use of Control Charts (from memory).
pub fn range_limit(count: usize) -> f64 {
    let (d2, d3) = range_moments(count);
    1.0 + 3.0 * d3 / d2
}

/// Mean and standard deviation of the range of `count` normal values of standard deviation 1 (d2, d3).
///
/// Source: Tippett, Biometrika 17, 1925: both are integrals over powers of the normal distribution.
fn range_moments(count: usize) -> (f64, f64) {
    const END: f64 = 9.0;
    const STEP: f64 = 0.05;
    const STEPS: usize = 360;
    let n = i32::try_from(count).unwrap_or(i32::MAX);
    let normal = Normal::standard();
    let place = |k: usize| -END + k as f64 * STEP;
    let below: Vec<f64> = (0..=2 * STEPS).map(|k| normal.cdf(place(k))).collect();
    // Chance of a range beyond k steps: one value lies at x, the others between x and x + w.
    let beyond = |k: usize| {
        let within = |at: usize| normal.pdf(place(at)) * (below[at + k] - below[at]).powi(n - 1);
        1.0 - f64::from(n) * STEP * (0..=STEPS).map(within).sum::<f64>()
    };
    // Simpson's rule: the chance begins at 1 with a slope, where the trapezoidal rule is too coarse.
    let weight = |k: usize| match k {
        0 | STEPS => STEP / 3.0,
        _ if k % 2 == 1 => 4.0 * STEP / 3.0,
        _ => 2.0 * STEP / 3.0,
    };
    let (mut mean, mut square) = (0.0, 0.0);
    for k in 0..=STEPS {
        let share = weight(k) * beyond(k);
        mean += share;
        square += 2.0 * k as f64 * STEP * share;
    }
    (mean, (square - mean * mean).max(0.0).sqrt())
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = values.fold((0.0, 0), |(sum, count), each| (sum + each, count + 1));
    sum / f64::from(count)
}

/// Greatest less least.
fn apart(values: &[f64]) -> f64 {
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    most - least
}
