//! A mass budget as one JSON object.

use serde_json::{Map, Value, json as object};

use super::fronts::name;
use crate::budget::{
    Asked, BASES, Choice, Fronts, MEASURES, Measure, Offer, Options, Report, Rung, moved,
};

/// The whole report as one object; figures that nothing tells are `null`.
pub fn json(report: &Report) -> Value {
    let account = &report.account;
    let items = report.budget.items.iter().zip(&account.lines);
    let items: Vec<Value> = items
        .map(|(item, line)| {
            object!({
                "name": line.name,
                "kind": item.kind.to_string(),
                "revision": line.revision,
                "quantity": line.quantity,
                "basis": line.basis.word(),
                "estimate_g": line.estimate,
                "growth": line.growth,
                "own_growth": line.own_growth,
                "totals": totals(line.totals),
                "note": item.note,
            })
        })
        .collect();
    let margin = |measure: Measure| {
        let (left, share) = account.margin(measure)?;
        Some(object!({ "limit": account.limits[measure as usize], "margin": left, "share": share }))
    };
    let limits: Map<String, Value> = MEASURES
        .into_iter()
        .filter_map(|measure| Some((measure.name().to_string(), margin(measure)?)))
        .collect();
    let shares: Map<String, Value> = BASES
        .iter()
        .zip(account.shares())
        .map(|(basis, share)| (basis.word().to_string(), share.into()))
        .collect();
    object!({
        "title": report.budget.title,
        "units": { "mass": "g", "cost": report.budget.currency, "cycle_time": "s" },
        "items": items,
        "estimate_g": account.estimate,
        "growth_g": account.growth(),
        "totals": totals(account.totals.map(Some)),
        "limits": limits,
        "shares": shares,
        "parts": report.parts.iter().map(part).collect::<Vec<_>>(),
        "fronts": report.fronts.as_ref().map(|each| fronts(report, each)),
        "remarks": report.remarks,
    })
}

fn totals(values: [Option<f64>; 3]) -> Map<String, Value> {
    let value = |measure: Measure| values[measure as usize].filter(|value| value.is_finite());
    MEASURES
        .into_iter()
        .map(|measure| (measure.name().to_string(), value(measure).into()))
        .collect()
}

fn part(options: &Options) -> Value {
    object!({
        "name": options.name,
        "run": options.run,
        "revision": options.revision,
        "candidates": options.candidates,
        "choices": options.choices.len(),
        "may_stay": options.may_stay(),
        "keeps": options.kept,
    })
}

fn taken(options: &Options, choice: &Choice) -> Value {
    let objectives = options.objectives.iter().zip(&choice.objectives);
    let objectives: Map<String, Value> = objectives
        .map(|(objective, value)| {
            (
                objective.name.clone(),
                object!({ "value": finite(*value), "unit": objective.unit }),
            )
        })
        .collect();
    object!({
        "part": options.name,
        "take": name(options, choice),
        "design": choice.design,
        "estimate_g": choice.estimate,
        "totals": totals(choice.totals.map(Some)),
        "objectives": objectives,
    })
}

fn finite(value: f64) -> Option<f64> {
    Some(value).filter(|value| value.is_finite())
}

fn offer(report: &Report, offer: &Offer) -> Value {
    let parts = report.parts.iter().zip(&offer.takes);
    object!({
        "totals": totals(offer.totals.map(Some)),
        "estimate_g": offer.estimate,
        "takes": parts.map(|(options, take)| taken(options, &options.choices[*take])).collect::<Vec<_>>(),
    })
}

fn step(report: &Report, rung: &Rung) -> Value {
    let options = &report.parts[rung.part];
    let objectives = options.objectives.iter().zip(&rung.objectives);
    let objectives: Map<String, Value> = objectives
        .map(|(objective, change)| (objective.name.clone(), finite(*change).into()))
        .collect();
    let moved: Vec<Value> = moved(options, &rung.from, &rung.to)
        .into_iter()
        .map(|(name, from, to)| object!({ "name": name, "from": from, "to": to }))
        .collect();
    object!({
        "part": options.name,
        "from": name(options, &rung.from),
        "take": name(options, &rung.to),
        "design": rung.to.design,
        "saves_g": rung.saves,
        "cost": finite(rung.costs[0]),
        "cycle_time_s": finite(rung.costs[1]),
        "cost_per_g": finite(rung.rate(Measure::Cost)),
        "s_per_g": finite(rung.rate(Measure::CycleTime)),
        "objectives": objectives,
        "changes": moved,
    })
}

fn asked(asked: &Asked) -> Value {
    let bounds: Map<String, Value> = asked
        .bounds
        .iter()
        .map(|bound| (bound.measure.name().to_string(), bound.limit.into()))
        .collect();
    object!({ "least": asked.least.name(), "at_most": bounds })
}

fn fronts(report: &Report, fronts: &Fronts) -> Value {
    let giving = |each: &crate::budget::Givings| {
        let objective = &report.parts[each.rung.part].objectives[each.objective];
        object!({
            "objective": objective.name,
            "unit": objective.unit,
            "per_g": each.rate(),
            "step": step(report, &each.rung),
        })
    };
    let answer = |each: &crate::budget::Answer| {
        object!({
            "question": each.question,
            "asked": asked(&each.asked),
            "offer": each.offer.as_ref().map(|found| offer(report, found)),
        })
    };
    let point = |each: &Offer| {
        let takes = report.parts.iter().zip(&each.takes);
        let takes: Vec<String> = takes
            .map(|(options, take)| name(options, &options.choices[*take]))
            .collect();
        object!({ "totals": totals(each.totals.map(Some)), "takes": takes })
    };
    object!({
        "against": fronts.overall.against.name(),
        "steps": fronts.ladder.rungs.iter().map(|rung| step(report, rung)).collect::<Vec<_>>(),
        "give_up": fronts.givings.iter().map(giving).collect::<Vec<_>>(),
        "answers": fronts.answers.iter().map(answer).collect::<Vec<_>>(),
        "combined": fronts.overall.offers.iter().map(point).collect::<Vec<_>>(),
    })
}
