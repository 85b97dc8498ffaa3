//! The part of a budget's page that follows from the fronts of its parts.

use super::page::{figure, signed};
use super::plot::drawn;
use crate::budget::{
    Answer, Choice, Fronts, Givings, MEASURES, Measure, Options, Report, Rung, moved, plain,
};
use crate::drawing::text::{escaped, grouped, raised};

/// Best choices that a page lists.
const MOST_LISTED: usize = 200;

pub(super) fn fronts(report: &Report, fronts: &Fronts) -> String {
    format!(
        "<section class=\"panel\" aria-labelledby=\"h-gram\"><h2 id=\"h-gram\">Where the next gram is cheapest</h2>{}</section>\
         <section class=\"panel\" aria-labelledby=\"h-best\"><h2 id=\"h-best\">The best choice over all parts</h2>{}</section>",
        next_gram(report, fronts),
        best(report, fronts)
    )
}

fn next_gram(report: &Report, fronts: &Fronts) -> String {
    let kept = |options: &Options| {
        let kept = match options.kept.is_empty() {
            true => "the constraints of its study".into(),
            false => options.kept.join(", "),
        };
        format!(
            "<li><b><bdi>{}</bdi></b>, {}: <bdi>{}</bdi></li>",
            escaped(&options.name),
            escaped(&options.run),
            escaped(&kept)
        )
    };
    let kept: String = report.parts.iter().map(kept).collect();
    format!(
        "<p class=\"hint\">Every point of the line is a choice of a candidate for each part that no other choice beats; mass has \
         its allowance, and counts all pieces. Steps start from today, the cheapest gram first; between the steps the line has \
         choices that no single step reaches.</p><div class=\"trace combined\">{}</div>{}<h3>What every choice keeps</h3><ul \
         class=\"told\">{kept}</ul>{}",
        drawn(report, fronts),
        steps(report, fronts),
        givings(report, fronts)
    )
}

fn take(options: &Options, choice: &Choice) -> String {
    match choice.design {
        Some(design) => format!("#{design}"),
        None => escaped(&options.revision),
    }
}

fn steps(report: &Report, fronts: &Fronts) -> String {
    let ladder = &fronts.ladder;
    if ladder.rungs.is_empty() {
        return "<p>No candidate is lighter than today and keeps what is to be kept.</p>".into();
    }
    let mut all = 0.0;
    let row = |rung: &Rung| {
        let options = &report.parts[rung.part];
        all += rung.saves;
        let rate = match rung.rate(ladder.against) {
            rate if rate <= 0.0 => "<b>free</b>".into(),
            rate => figure(rate),
        };
        format!(
            "<tr><th scope=\"row\"><bdi>{}</bdi></th><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{rate}</td><td>{}</td><td>{}</td>\
             <td class=\"words changed\">{}</td><td class=\"words dimensions\">{}</td></tr>",
            escaped(&options.name),
            take(options, &rung.from),
            take(options, &rung.to),
            figure(rung.saves),
            figure(all),
            signed(rung.costs[0]),
            signed(rung.costs[1]),
            objectives(options, rung),
            changes(options, rung)
        )
    };
    let rows: String = ladder.rungs.iter().map(row).collect();
    let currency = escaped(&report.budget.currency);
    format!(
        "<div class=\"scroll gram\" tabindex=\"0\" role=\"region\" aria-label=\"Table of steps\"><table class=\"figures\"><caption>Steps, \
         the cheapest gram first</caption><thead><tr><th scope=\"col\">part</th><th scope=\"col\">from</th><th scope=\"col\">take</th>\
         <th scope=\"col\">saves <span class=\"unit\">g</span></th><th scope=\"col\">in all <span class=\"unit\">g</span></th><th \
         scope=\"col\">a gram <span class=\"unit\">{}</span></th><th scope=\"col\">cost <span class=\"unit\">{currency}</span></th><th \
         scope=\"col\">time <span class=\"unit\">s</span></th><th scope=\"col\" class=\"words\">objectives</th><th scope=\"col\" \
         class=\"words\">dimensions</th></tr></thead><tbody>{rows}</tbody></table></div>",
        escaped(&raised(ladder.against.unit(&report.budget.currency)))
    )
}

fn objectives(options: &Options, rung: &Rung) -> String {
    let each = options.objectives.iter().zip(&rung.objectives);
    let told: Vec<String> = each
        .filter(|(_, change)| change.is_finite() && **change != 0.0)
        .map(|(objective, change)| {
            format!(
                "<bdi>{}</bdi> {} {}",
                escaped(&objective.name),
                signed(*change),
                escaped(&raised(&objective.unit))
            )
        })
        .collect();
    told.join("<br>")
}

fn changes(options: &Options, rung: &Rung) -> String {
    let told: Vec<String> = moved(options, &rung.from, &rung.to)
        .iter()
        .map(|(name, from, to)| {
            format!(
                "<bdi>{}</bdi> {} → {}",
                escaped(name),
                escaped(from),
                escaped(to)
            )
        })
        .collect();
    told.join(", ")
}

fn givings(report: &Report, fronts: &Fronts) -> String {
    if fronts.givings.is_empty() {
        return String::new();
    }
    let row = |each: &Givings| {
        let options = &report.parts[each.rung.part];
        let objective = &options.objectives[each.objective];
        format!(
            "<tr><th scope=\"row\"><bdi>{}</bdi></th><td class=\"words\"><bdi>{}</bdi></td><td>{}</td><td>{}</td><td>{} {}</td></tr>",
            escaped(&options.name),
            escaped(&objective.name),
            take(options, &each.rung.to),
            figure(each.rung.saves),
            figure(each.rate()),
            escaped(&raised(&objective.unit))
        )
    };
    let rows: String = fronts.givings.iter().map(row).collect();
    format!(
        "<h3>Or give up</h3><p class=\"hint\">From today's revision, at no more cost and time and with nothing else worse: what a gram \
         costs in an objective that does not add up.</p><div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Table of \
         what else a gram costs\"><table class=\"figures\"><thead><tr><th scope=\"col\">part</th><th scope=\"col\" class=\"words\">objective</th>\
         <th scope=\"col\">take</th><th scope=\"col\">saves <span class=\"unit\">g</span></th><th scope=\"col\">a gram</th></tr></thead>\
         <tbody>{rows}</tbody></table></div>"
    )
}

fn best(report: &Report, fronts: &Fronts) -> String {
    let answers: String = fronts
        .answers
        .iter()
        .map(|each| answer(report, each))
        .collect();
    format!(
        "<div class=\"offers\">{answers}</div>{}",
        listed(report, fronts)
    )
}

fn answer(report: &Report, answer: &Answer) -> String {
    let currency = &report.budget.currency;
    let bounds: Vec<String> = answer
        .asked
        .bounds
        .iter()
        .map(|bound| {
            let unit = escaped(&raised(bound.measure.unit(currency)));
            format!("{} ≤ {} {unit}", plain(bound.measure), figure(bound.limit))
        })
        .collect();
    let question = capital(&answer.question);
    let heading = format!(
        "<h3>{}</h3><p class=\"hint\">{}</p>",
        escaped(&question),
        bounds.join(", ")
    );
    let Some(offer) = &answer.offer else {
        return format!("<div>{heading}<p>No choice of candidates is within the limits.</p></div>");
    };
    let cells = |now: &[f64; 3], was: &[f64; 3]| -> String {
        now.iter()
            .zip(was)
            .map(|(now, was)| {
                let difference = now - was;
                let same = difference.abs() < 1e-9 * was.abs();
                let change = if same { "=".into() } else { signed(difference) };
                format!("<td>{}</td><td><small>{change}</small></td>", figure(*now))
            })
            .collect()
    };
    let row = |(options, taken): (&Options, &usize)| {
        let choice = &options.choices[*taken];
        let word = match choice.design {
            None => "stays".into(),
            Some(_) => take(options, choice),
        };
        format!(
            "<tr><th scope=\"row\"><bdi>{}</bdi></th><td>{}</td><td>{word}</td>{}</tr>",
            escaped(&options.name),
            escaped(&options.revision),
            cells(&choice.totals, &options.today.totals)
        )
    };
    let rows: String = report.parts.iter().zip(&offer.takes).map(row).collect();
    let heads: String = MEASURES
        .into_iter()
        .map(|measure| {
            let unit = escaped(&raised(measure.unit(currency)));
            format!(
                "<th scope=\"col\" colspan=\"2\">{} <span class=\"unit\">{unit}</span></th>",
                plain(measure)
            )
        })
        .collect();
    format!(
        "<div>{heading}<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"{}\"><table class=\"figures\"><thead><tr><th \
         scope=\"col\">part</th><th scope=\"col\">today</th><th scope=\"col\">take</th>{heads}</tr></thead><tbody>{rows}</tbody><tfoot><tr>\
         <th scope=\"row\">all items</th><td></td><td></td>{}</tr></tfoot></table></div></div>",
        escaped(&question),
        cells(&offer.totals, &report.account.totals)
    )
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// The combined front as a table; of a long one so many, evenly.
fn listed(report: &Report, fronts: &Fronts) -> String {
    let offers = &fronts.overall.offers;
    let against = fronts.overall.against;
    let step = offers.len().div_ceil(MOST_LISTED).max(1);
    let shown = offers
        .iter()
        .enumerate()
        .filter(|(at, _)| at % step == 0 || at + 1 == offers.len());
    let rows: String = shown
        .map(|(_, offer)| {
            let takes = report.parts.iter().zip(&offer.takes);
            let takes: String = takes
                .map(|(options, at)| format!("<td>{}</td>", take(options, &options.choices[*at])))
                .collect();
            format!(
                "<tr><th scope=\"row\">{:.2}</th><td>{:.2}</td>{takes}</tr>",
                offer.totals[0], offer.totals[against as usize]
            )
        })
        .collect();
    let heads: String = report
        .parts
        .iter()
        .map(|options| {
            format!(
                "<th scope=\"col\"><bdi>{}</bdi></th>",
                escaped(&options.name)
            )
        })
        .collect();
    let sizes: Vec<String> = report
        .parts
        .iter()
        .map(|options| grouped(options.choices.len()))
        .collect();
    let thinned = if step > 1 {
        format!(" One in {step} is listed; `budget --json` has all.")
    } else {
        String::new()
    };
    let unit = escaped(&raised(against.unit(&report.budget.currency)));
    let word = if against == Measure::Cost {
        "cost"
    } else {
        "time"
    };
    format!(
        "<h3>All best choices</h3><p class=\"hint\">Of {} choices over all parts {} are beaten by no other in mass and {}: exact, \
         nothing was thinned.{thinned}</p><div class=\"scroll tall\" tabindex=\"0\" role=\"region\" aria-label=\"Table of best choices\">\
         <table class=\"figures\"><thead><tr><th scope=\"col\">mass <span class=\"unit\">g</span></th><th scope=\"col\">{word} <span \
         class=\"unit\">{unit}</span></th>{heads}</tr></thead><tbody>{rows}</tbody></table></div>",
        sizes.join(" × "),
        grouped(offers.len()),
        plain(against)
    )
}
