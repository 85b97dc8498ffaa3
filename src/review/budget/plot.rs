//! The combined front of all parts: mass against what grams are paid in, with the way from today's choice.

use std::fmt::Write as _;

use crate::budget::{Fronts, Report, Rung, plain};
use crate::drawing::lettering::{Weight, cut, width};
use crate::drawing::text::{escaped, grouped, raised};
use crate::drawing::{number, standalone};
use crate::review::plots::{Frame, LEFT, SMALL};

/// Steps that are named on the plot.
const NAMED: usize = 8;

/// A box on paper: left, top, right, bottom.
type Area = [f64; 4];

/// The combined front as a complete SVG file; `None` where no part has a run.
pub fn budget_plot(report: &Report) -> Option<String> {
    let fronts = report.fronts.as_ref()?;
    Some(standalone(&drawn(report, fronts)))
}

/// The combined front, for a page.
pub(super) fn drawn(report: &Report, fronts: &Fronts) -> String {
    let against = fronts.overall.against;
    let place = |totals: &[f64; 3]| (totals[0], totals[against as usize]);
    let front: Vec<(f64, f64)> = fronts
        .overall
        .offers
        .iter()
        .map(|offer| place(&offer.totals))
        .collect();
    let today = place(&report.account.totals);
    let way = fronts.ladder.way(report.account.totals);
    let limit = report.account.limits[0];
    let mut frame = Frame::around(front.iter().chain(&way).chain([&today]).copied());
    frame.x_words = "mass with allowance in g (less is better)".into();
    let unit = raised(against.unit(&report.budget.currency));
    frame.y_words = format!("{} in {unit} (less is better)", plain(against));
    frame.axes();
    let mut taken: Vec<Area> = Vec::new();
    if let Some(limit) = limit {
        taken.extend(limit_line(&mut frame, limit).into_iter().flatten());
    }
    let _ = write!(
        frame.body,
        "<path class='front-line' d='{}'/>",
        stairs(&frame, &front)
    );
    taken.extend(along(&frame, &front));
    let mut line = String::new();
    for (index, point) in way.iter().enumerate() {
        if let Some((x, y)) = frame.paper(*point) {
            let pen = if index == 0 { 'M' } else { 'L' };
            let _ = write!(line, "{pen}{} {}", number(x), number(y));
            taken.push([x - 1.2, y - 1.2, x + 1.2, y + 1.2]);
        }
    }
    let _ = write!(frame.body, "<path class='chain' d='{line}'/>");
    for (x, y) in way[1..]
        .iter()
        .filter_map(|point| frame.paper(*point))
        .collect::<Vec<_>>()
    {
        let (x, y) = (number(x), number(y));
        let _ = write!(
            frame.body,
            "<circle class='dot worse' cx='{x}' cy='{y}' r='.9'/>"
        );
    }
    let offers = fronts
        .answers
        .iter()
        .filter_map(|answer| answer.offer.as_ref());
    let offers: Vec<(f64, f64)> = offers
        .filter_map(|offer| frame.paper(place(&offer.totals)))
        .collect();
    for (x, y) in &offers {
        taken.push([x - 1.5, y - 1.5, x + 1.5, y + 1.5]);
        let (x, y) = (number(x - 1.4), number(y - 1.4));
        let _ = write!(
            frame.body,
            "<path class='place' d='M{x} {y}h2.8v2.8h-2.8z'/>"
        );
    }
    if let Some((x, y)) = frame.paper(today) {
        taken.push([x - 2.0, y - 2.0, x + 2.0, y + 2.0]);
        let (x, y) = (number(x), number(y));
        let _ = write!(
            frame.body,
            "<path class='base' d='M{x} {y}m0-2l2 2-2 2-2-2z'/>"
        );
    }
    for (rung, point) in fronts.ladder.rungs.iter().zip(&way[1..]).take(NAMED) {
        if let Some(at) = frame.paper(*point) {
            name(&mut frame, at, &label(report, rung), &mut taken);
        }
    }
    frame.body += &legend(front.len(), fronts.ladder.rungs.len(), offers.len());
    frame.finish("Best choices over all parts")
}

/// What changes in a step.
fn label(report: &Report, rung: &Rung) -> String {
    let options = &report.parts[rung.part];
    let design = rung
        .to
        .design
        .map_or(options.revision.clone(), |design| format!("#{design}"));
    format!("{} {design}", cut(&options.name, Weight::Regular, 9.0))
}

/// The front as a staircase: between two choices the dearer one is the best there is. Steps too small to be seen are left
/// out.
fn stairs(frame: &Frame, front: &[(f64, f64)]) -> String {
    let mut line = String::new();
    let mut last: Option<(f64, f64)> = None;
    for (index, point) in front.iter().enumerate() {
        let Some((x, y)) = frame.paper(*point) else {
            continue;
        };
        let Some((was_x, was_y)) = last else {
            let _ = write!(line, "M{} {}", number(x), number(y));
            last = Some((x, y));
            continue;
        };
        let seen = (x - was_x).abs() > 0.05 || (y - was_y).abs() > 0.05;
        if seen || index + 1 == front.len() {
            let _ = write!(line, "H{}V{}", number(x), number(y));
            last = Some((x, y));
        }
    }
    line
}

/// What the staircase covers, in small boxes.
fn along(frame: &Frame, front: &[(f64, f64)]) -> Vec<Area> {
    const HALF: f64 = 0.5;
    let places: Vec<(f64, f64)> = front
        .iter()
        .filter_map(|point| frame.paper(*point))
        .collect();
    let mut boxes: Vec<Area> = Vec::new();
    for pair in places.windows(2) {
        let ((x, y), (to_x, to_y)) = (pair[0], pair[1]);
        let seen = |last: &Area| (to_x - last[2]).abs() > 0.1 || (to_y - last[3]).abs() > 0.1;
        if boxes.last().is_none_or(seen) {
            boxes.push([x, y - HALF, to_x, y + HALF]);
            boxes.push([to_x - HALF, y.min(to_y), to_x + HALF, y.max(to_y)]);
        }
    }
    boxes
}

/// The limit of mass, where it lies within the frame.
fn limit_line(frame: &mut Frame, limit: f64) -> Option<[Area; 2]> {
    let (x, top, bottom) = frame.upright(limit)?;
    let words = "limit";
    let long = SMALL * width(words, Weight::Regular);
    let right = frame.holds([x + 1.0, top + 0.2, x + 1.0 + long, top + 4.0]);
    let left = if right { x + 1.0 } else { x - 1.0 - long };
    let _ = write!(
        frame.body,
        "<path class='place' d='M{x} {t}V{b}'/><text class='small' x='{l}' y='{y}'>{words}</text>",
        x = number(x),
        t = number(top),
        b = number(bottom),
        l = number(left),
        y = number(top + 3.0)
    );
    Some([
        [left, top, left + long, top + 4.0],
        [x - 0.4, top, x + 0.4, bottom],
    ])
}

/// A name beside a place, where there is room for it.
fn name(frame: &mut Frame, (x, y): (f64, f64), words: &str, taken: &mut Vec<Area>) {
    let long = SMALL * width(words, Weight::Regular);
    let places = [
        (x + 1.8, y - 1.2),
        (x + 1.8, y + 0.9),
        (x + 1.8, y + 3.2),
        (x - 1.8 - long, y + 3.2),
        (x - 1.8 - long, y + 0.9),
        (x - 0.5 * long, y - 2.4),
        (x - 0.5 * long, y + 4.6),
        (x + 4.0, y - 4.4),
        (x + 1.8, y - 3.6),
        (x - 1.8 - long, y - 1.2),
        (x + 1.8, y - 6.0),
    ];
    let area = |(left, base): (f64, f64)| [left, base - 2.2, left + long, base + 0.6];
    let overlaps = |a: Area, b: &Area| a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];
    let clear = |place: &&(f64, f64)| {
        let own = area(**place);
        frame.holds(own) && !taken.iter().any(|other| overlaps(own, other))
    };
    let Some(found) = places.iter().find(clear).copied() else {
        return;
    };
    taken.push(area(found));
    let _ = write!(
        frame.body,
        "<text class='small rim' x='{x}' y='{y}' stroke='#fff' stroke-width='.7' \
         stroke-linejoin='round'>{w}</text><text class='small' x='{x}' y='{y}'>{w}</text>",
        x = number(found.0),
        y = number(found.1),
        w = escaped(words)
    );
}

fn legend(choices: usize, steps: usize, offers: usize) -> String {
    let mut items = vec![
        (
            "<path class='base' d='M0-1.5l1.5 1.5-1.5 1.5-1.5-1.5z'/>".to_string(),
            "today".to_string(),
        ),
        (
            "<path class='front-line' d='M-1.6 0h3.2'/>".into(),
            format!("{} best choices", grouped(choices)),
        ),
    ];
    if steps > 0 {
        items.push((
            "<circle class='dot worse' cx='0' cy='0' r='.9'/>".into(),
            "steps from today".into(),
        ));
    }
    if offers > 0 {
        let words = if offers == 1 { "choice" } else { "choices" };
        items.push((
            "<path class='place' d='M-1.4-1.4h2.8v2.8h-2.8z'/>".into(),
            format!("{words} for what was asked"),
        ));
    }
    let mut x = LEFT + 1.0;
    let mut body = String::new();
    for (sign, text) in items {
        let _ = write!(
            body,
            "<g transform='translate({} 9)'>{sign}<text class='small' x='2.4' y='.9'>{text}</text></g>",
            number(x)
        );
        x += 8.0 + SMALL * width(&text, Weight::Regular);
    }
    body
}
