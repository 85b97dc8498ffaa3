//! What drives what, as a section of the page: one table of all dimensions and measures, and each measure in full.

use super::drivers::{bars, interplay, means};
use crate::drawing::text::{escaped, grouped, significant};
use crate::run::{QuadraticFit, Screened, Screening};

/// Shades of a cell, by the share of the variance from which on it has each.
const SHADES: [f64; 4] = [0.02, 0.1, 0.3, 0.6];
/// Terms of a fit that are listed.
const MOST_TERMS: usize = 8;

/// The section; empty without a screening, or where nothing varies.
pub(super) fn section(screening: Option<&Screening>) -> String {
    let Some(screening) = screening else {
        return String::new();
    };
    let measures: Vec<&Screened> = screening
        .measures
        .iter()
        .filter(|measure| !measure.drivers.is_empty())
        .collect();
    if measures.is_empty() {
        return String::new();
    }
    let remarks: String = screening
        .remarks
        .iter()
        .map(|remark| format!("<p class=\"remark\">{}</p>", escaped(remark)))
        .collect();
    let details: String = measures
        .iter()
        .map(|measure| in_full(measure, screening))
        .collect();
    format!(
        "<section class=\"panel\" id=\"drivers\" aria-labelledby=\"h-drivers\">\n  <h2 id=\"h-drivers\">What drives \
         what</h2>\n  <p class=\"hint\">Share of each figure's variance over the whole space by each dimension, alone and \
         together with others; + where the figure rises along the dimension, − where it falls. From {} designs of their \
         own, figures of the beam.</p>\n  <div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Shares by \
         dimension and figure\">{}</div>\n  {remarks}{details}\n</section>\n",
        grouped(screening.designs),
        overview(&measures, screening)
    )
}

fn bdi(text: &str) -> String {
    format!("<bdi>{}</bdi>", escaped(text))
}

/// Dimensions down, figures across.
fn overview(measures: &[&Screened], screening: &Screening) -> String {
    let heads: String = measures
        .iter()
        .map(|measure| format!("<th scope=\"col\">{}</th>", bdi(&measure.name)))
        .collect();
    let row = |(index, name): (usize, &String)| {
        let cells: String = measures
            .iter()
            .map(|measure| {
                let drivers = measure.drivers.iter();
                let driver = drivers.into_iter().find(|each| each.dimension == index);
                driver.map_or("<td>–</td>".to_string(), |driver| {
                    let total = driver.total[0];
                    if !total.is_finite() {
                        return "<td>–</td>".to_string();
                    }
                    let shade = SHADES.iter().filter(|&&from| total >= from).count();
                    let sign = match driver.rise {
                        _ if shade == 0 => "",
                        rise if rise > 0.0 => " +",
                        rise if rise < 0.0 => " −",
                        _ => "",
                    };
                    format!(
                        "<td class=\"share s{shade}\">{:.2}{sign}</td>",
                        total.max(0.0)
                    )
                })
            })
            .collect();
        format!("<tr><th scope=\"row\">{}</th>{cells}</tr>", bdi(name))
    };
    let names = screening.dimensions.iter().map(|dimension| &dimension.name);
    let rows: String = names.enumerate().map(row).collect();
    format!(
        "<table class=\"figures shares\"><thead><tr><th \
         scope=\"col\">dimension</th>{heads}</tr></thead><tbody>{rows}</tbody></table>"
    )
}

/// One figure: drawings, shares with their intervals, fit.
fn in_full(measure: &Screened, screening: &Screening) -> String {
    let strongest: Vec<String> = measure
        .drivers
        .iter()
        .take(3)
        .filter(|driver| driver.total[0] >= SHADES[0])
        .map(|driver| format!("{} {:.2}", bdi(&driver.name), driver.total[0]))
        .collect();
    let pair = measure.interplay.as_ref().map_or(String::new(), |pair| {
        format!(
            "<figure>{}</figure>",
            interplay(measure, pair, &screening.dimensions)
        )
    });
    format!(
        "<details><summary>{}: {}</summary><div class=\"trace drawn\"><figure>{}</figure><figure>{}</figure>{pair}</div>{}{}\
         </details>",
        bdi(&measure.name),
        strongest.join(", "),
        bars(measure),
        means(measure, &screening.dimensions),
        shares(measure),
        measure.fit.as_ref().map_or(String::new(), fit)
    )
}

fn shares(measure: &Screened) -> String {
    let share = |value: f64| match value.is_finite() {
        true => format!("{:.3}", value.max(0.0)),
        false => "–".to_string(),
    };
    let figure = |value: f64| significant(value, 4).replace('-', "−");
    let rows: String = measure
        .drivers
        .iter()
        .map(|driver| {
            let [total, low, high] = driver.total;
            format!(
                "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}–{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>",
                bdi(&driver.name),
                share(total),
                share(low),
                share(high),
                share(driver.first[0]),
                figure(driver.rise),
                figure(driver.effect_size),
                figure(driver.effect_spread)
            )
        })
        .collect();
    format!(
        "<div class=\"scroll\"><table class=\"figures\"><thead><tr><th scope=\"col\">dimension</th><th \
         scope=\"col\">total share</th><th scope=\"col\">95 % interval</th><th scope=\"col\">alone</th><th \
         scope=\"col\">rise over the range</th><th scope=\"col\">mean size of effect</th><th scope=\"col\">its \
         spread</th></tr></thead><tbody>{rows}</tbody></table></div>"
    )
}

fn fit(fit: &QuadraticFit) -> String {
    let percent = |share: f64| match share.is_finite() {
        true => format!("{:.1} %", 100.0 * share.max(0.0)),
        false => "–".to_string(),
    };
    let figure = |value: f64| significant(value, 4).replace('-', "−");
    let rows: String = fit
        .terms
        .iter()
        .take(MOST_TERMS)
        .map(|term| {
            let p = match term.p {
                p if p < 0.0001 => "&lt; 0.0001".to_string(),
                p => format!("{p:.4}"),
            };
            format!(
                "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}</td><td>{p}</td></tr>",
                bdi(&term.name),
                figure(term.value),
                figure(term.error),
                figure(term.t)
            )
        })
        .collect();
    format!(
        "<p>A linear fit explains {} of the variance of designs that it does not know, a quadratic {} (R² {}, adjusted {}, \
         residual deviation {}). Its strongest terms, dimensions coded −1 to 1 over their ranges:</p><div \
         class=\"scroll\"><table class=\"figures\"><thead><tr><th scope=\"col\">term</th><th \
         scope=\"col\">coefficient</th><th scope=\"col\">standard error</th><th scope=\"col\">t</th><th \
         scope=\"col\">p</th></tr></thead><tbody>{rows}</tbody></table></div>",
        percent(fit.linear.predicted_r2),
        percent(fit.quadratic.predicted_r2),
        percent(fit.quadratic.r2),
        percent(fit.quadratic.adjusted_r2),
        figure(fit.quadratic.deviation)
    )
}
