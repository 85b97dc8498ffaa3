//! Plans that sample: which sampler each is, and whether it exists for a study's variables.

use super::{PlanKind, Study};
use crate::explore::{Error, Fraction, Plan};

impl PlanKind {
    /// How a plan explores; `None` of the search, and of a grid, whose levels depend on the variables.
    pub fn sampler(self) -> Option<Plan> {
        Some(match self {
            Self::Search | Self::Grid => return None,
            Self::Surrogate { at_once } => Plan::Surrogate { batch: at_once },
            Self::LatinHypercube => Plan::LatinHypercube,
            Self::EvenLatinHypercube { by } => Plan::EvenLatinHypercube { by },
            Self::Sobol => Plan::Sobol,
            Self::Halton => Plan::Halton,
            Self::SpaceFilling => Plan::SpaceFilling,
            Self::TwoLevel { halvings } => Plan::TwoLevel { halvings },
            Self::PlackettBurman => Plan::PlackettBurman,
            Self::CentralComposite { axial, halvings } => {
                Plan::CentralComposite { axial, halvings }
            }
            Self::BoxBehnken => Plan::BoxBehnken,
        })
    }

    /// Whether the plan says by itself how many designs it has.
    pub fn is_fixed(self) -> bool {
        matches!(
            self,
            Self::Grid
                | Self::TwoLevel { .. }
                | Self::PlackettBurman
                | Self::CentralComposite { .. }
                | Self::BoxBehnken
        )
    }

    /// As it is called in a sentence.
    pub(super) fn words(self) -> &'static str {
        match self {
            Self::Search => "search",
            Self::Surrogate { .. } => "surrogate search",
            Self::Grid => "grid",
            Self::LatinHypercube => "Latin hypercube",
            Self::EvenLatinHypercube { .. } => "even Latin hypercube",
            Self::Sobol => "Sobol sequence",
            Self::Halton => "Halton sequence",
            Self::SpaceFilling => "space filling",
            Self::TwoLevel { halvings: 0 } => "two-level factorial",
            Self::TwoLevel { .. } => "fraction of a two-level factorial",
            Self::PlackettBurman => "Plackett-Burman design",
            Self::CentralComposite { .. } => "central composite design",
            Self::BoxBehnken => "Box-Behnken design",
        }
    }
}

/// Designs of a plan over so many variables where it fixes them itself; what is wrong and the mend where there is no
/// such plan.
pub(super) fn fixed_designs(
    kind: PlanKind,
    variables: usize,
) -> Result<Option<usize>, (String, String)> {
    let Some(plan) = kind.sampler() else {
        return Ok(None);
    };
    plan.designs(variables).map_err(|error| match error {
        Error::AxisCount {
            plan, least, most, ..
        } => (
            format!("there is no {plan} design of {variables} variables"),
            format!("it takes {least} to {most}: choose another plan, such as \"sobol\""),
        ),
        Error::NoFraction {
            halvings, possible, ..
        } => (
            format!("{variables} variables at two levels can't be halved {halvings} times"),
            match &possible[..] {
                [] => "leave `halvings` out".to_string(),
                [only] => format!("write halvings = {only}, or leave it out"),
                [rest @ .., last] => {
                    let rest: Vec<String> = rest.iter().map(usize::to_string).collect();
                    format!(
                        "`halvings` may be {} or {last}, or be left out",
                        rest.join(", ")
                    )
                }
            },
        ),
        other => (
            format!("failed to {other}"),
            "choose another plan".to_string(),
        ),
    })
}

/// What the reader must know of a plan before trusting effects seen in its designs.
pub(super) fn plan_remarks(study: &Study) -> Vec<String> {
    let names: Vec<&str> = study.variables.iter().map(|each| &each.name[..]).collect();
    match study.plan.kind {
        PlanKind::TwoLevel { halvings } if halvings > 0 => {
            let fraction = Fraction::new(names.len(), halvings);
            fraction.map_or(Vec::new(), |fraction| fraction_remarks(&fraction, &names))
        }
        PlanKind::PlackettBurman => vec![
            "a Plackett-Burman design tells main effects from each other (resolution III); \
             what two variables do together is spread over the effects of all others"
                .to_string(),
        ],
        _ => Vec::new(),
    }
}

fn fraction_remarks(fraction: &Fraction, names: &[&str]) -> Vec<String> {
    let effect = |bits: u64| {
        let of = names.iter().enumerate().filter(|(k, _)| bits >> k & 1 == 1);
        let of: Vec<&str> = of.map(|(_, name)| *name).collect();
        of.join(" × ")
    };
    let resolution = fraction
        .resolution()
        .map_or("", |resolution| match resolution {
            3 => "III",
            4 => "IV",
            5 => "V",
            6 => "VI",
            _ => "VII and more",
        });
    let mut remarks = vec![match fraction.aliases().len() {
        0 => format!(
            "resolution {resolution}: the effects of one and of two variables can all be told apart"
        ),
        _ => format!("resolution {resolution}: these effects can't be told apart"),
    }];
    remarks.extend(fraction.aliases().iter().map(|group| {
        let group: Vec<String> = group.iter().map(|&bits| effect(bits)).collect();
        group.join(" = ")
    }));
    remarks
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fraction_says_what_it_cannot_tell_apart() {
        let fraction = Fraction::new(4, 1).unwrap();
        let told = fraction_remarks(&fraction, &["floor", "wall", "hole", "pitch"]);
        let expected = [
            "resolution IV: these effects can't be told apart",
            "floor × wall = hole × pitch",
            "floor × hole = wall × pitch",
            "floor × pitch = wall × hole",
        ];
        assert_eq!(told, expected);
        let half = fraction_remarks(&Fraction::new(5, 1).unwrap(), &["a", "b", "c", "d", "e"]);
        assert_eq!(half.len(), 1);
        assert!(half[0].starts_with("resolution V: "));
    }

    #[test]
    fn plans_that_do_not_exist_come_with_a_mend() {
        let of = |kind, variables| fixed_designs(kind, variables);
        assert_eq!(of(PlanKind::BoxBehnken, 7), Ok(Some(57)));
        assert_eq!(of(PlanKind::Search, 7), Ok(None));
        let (what, mend) = of(PlanKind::BoxBehnken, 2).unwrap_err();
        assert_eq!(what, "there is no Box-Behnken design of 2 variables");
        assert!(mend.starts_with("it takes 3 to 16"));
        let (_, mend) = of(PlanKind::TwoLevel { halvings: 9 }, 8).unwrap_err();
        assert_eq!(mend, "`halvings` may be 1, 2, 3 or 4, or be left out");
    }
}
