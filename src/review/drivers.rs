//! What drives each measure, drawn: bars of the shares, means along each dimension, the strongest pair.

use std::fmt::Write as _;

use super::plots::{Frame, word_of_file};
use crate::drawing::number;
use crate::drawing::text::{escaped, shortened, significant};
use crate::run::{Curve, Dimension, Driver, Interplay, Screened, Screening};

/// Width of every drawing, in mm.
const WIDTH: f64 = 150.0;
/// Left edge of the bars: names stand before it.
const NAMES: f64 = 34.0;
/// Letters of a name.
const LETTERS: usize = 20;
/// Height of a row of bars.
const ROW: f64 = 6.5;

/// Drawings of a screening as (file stem, SVG): for each measure the bars, the means along each dimension, and what
/// the two strongest do together.
pub fn driver_plots(screening: &Screening) -> Vec<(String, String)> {
    let mut plots = Vec::new();
    for (index, measure) in screening.measures.iter().enumerate() {
        if measure.drivers.is_empty() {
            continue;
        }
        let stem = word_of_file(&measure.name, &format!("measure-{index}"));
        plots.push((format!("{stem}-drivers"), bars(measure)));
        plots.push((
            format!("{stem}-means"),
            means(measure, &screening.dimensions),
        ));
        if let Some(pair) = &measure.interplay {
            let drawing = interplay(measure, pair, &screening.dimensions);
            plots.push((format!("{stem}-together"), drawing));
        }
    }
    plots
}

fn words(name: &str, unit: &str) -> String {
    match unit.is_empty() {
        true => name.to_string(),
        false => format!("{name} in {unit}"),
    }
}

/// Shares of the variance, a row a dimension: total as a wide bar with its interval, alone as a narrow one in it.
pub(super) fn bars(measure: &Screened) -> String {
    let height = 17.0 + ROW * measure.drivers.len() as f64;
    let right = WIDTH - 18.0;
    let place = |share: f64| NAMES + share.clamp(0.0, 1.0) * (right - NAMES);
    let mut body = String::new();
    let bottom = height - 6.0;
    for tick in [0.0, 0.25, 0.5, 0.75, 1.0] {
        let x = number(place(tick));
        let _ = write!(
            body,
            "<path class='grid' d='M{x} 9V{}'/><text class='small middle' x='{x}' y='{}'>{}</text>",
            number(bottom),
            number(height - 2.0),
            significant(tick, 2)
        );
    }
    for (row, driver) in measure.drivers.iter().enumerate() {
        let top = 10.0 + ROW * row as f64;
        body += &bar(driver, top, &place);
    }
    let name = escaped(&shortened(&measure.name, 50));
    format!(
        "<svg class='plot' viewBox='0 0 {WIDTH} {h}' width='{WIDTH}mm' height='{h}mm' role='img' aria-label='Shares of \
         the variance of {name} by dimension'><path class='paper' d='M0 0h{WIDTH}v{h}H0z'/><text x='1' y='4.5'>{name}: \
         share of the variance by each dimension (wide: with others, narrow: alone)</text>{body}</svg>",
        h = number(height)
    )
}

fn bar(driver: &Driver, top: f64, place: &dyn Fn(f64) -> f64) -> String {
    let middle = top + ROW / 2.0;
    let block = |class: &str, share: f64, half: f64| {
        format!(
            "<path class='{class}' d='M{x} {y}h{w}v{h}h-{w}z'/>",
            x = number(NAMES),
            y = number(middle - half),
            w = number(place(share) - NAMES),
            h = number(2.0 * half)
        )
    };
    let [total, low, high] = driver.total;
    let (low, high) = (place(low), place(high));
    let sign = match driver.rise {
        rise if rise > 0.0 => "+",
        rise if rise < 0.0 => "−",
        _ => "",
    };
    format!(
        "<text class='end' x='{n}' y='{t}'>{name}</text>{wide}{narrow}<path class='thin' d='M{low} {m}H{high}M{low} \
         {u}v1.6M{high} {u}v1.6'/><text class='small' x='{v}' y='{t}'>{value} {sign}</text>",
        n = number(NAMES - 2.0),
        t = number(middle + 1.1),
        name = escaped(&shortened(&driver.name, LETTERS)),
        wide = block("whole", total, 2.1),
        narrow = block("alone", driver.first[0], 0.9),
        low = number(low),
        high = number(high),
        m = number(middle),
        u = number(middle - 0.8),
        v = number(high.max(place(total)) + 1.5),
        value = format_args!("{:.2}", total.max(0.0)),
    )
}

/// Cells of the small pictures: three a row.
const ACROSS: usize = 3;
const CELL: (f64, f64) = (WIDTH / ACROSS as f64, 34.0);

/// The mean of a measure along each dimension, small pictures to one scale, the strongest first.
pub(super) fn means(measure: &Screened, dimensions: &[Dimension]) -> String {
    let all = measure.curves.iter().flat_map(|curve| &curve.mean);
    let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), &each| {
        (low.min(each), high.max(each))
    });
    let span = if high > low { high - low } else { 1.0 };
    let rows = measure.drivers.len().div_ceil(ACROSS);
    let height = 8.0 + CELL.1 * rows as f64;
    let mut body = String::new();
    for (index, driver) in measure.drivers.iter().enumerate() {
        let corner = (
            (index % ACROSS) as f64 * CELL.0,
            8.0 + (index / ACROSS) as f64 * CELL.1,
        );
        let curves = measure.curves.iter();
        if let Some(curve) = curves
            .into_iter()
            .find(|each| each.dimension == driver.dimension)
        {
            let dimension = &dimensions[driver.dimension];
            body += &small(curve, dimension, (low, span), index % ACROSS == 0, corner);
        }
    }
    let name = escaped(&shortened(&words(&measure.name, &measure.unit), 60));
    format!(
        "<svg class='plot' viewBox='0 0 {WIDTH} {h}' width='{WIDTH}mm' height='{h}mm' role='img' aria-label='Mean of \
         {name} along each dimension'><path class='paper' d='M0 0h{WIDTH}v{h}H0z'/><text x='1' y='4.5'>mean of {name} \
         along each dimension, all others spread over their ranges</text>{body}</svg>",
        h = number(height)
    )
}

fn small(
    curve: &Curve,
    dimension: &Dimension,
    (low, span): (f64, f64),
    with_scale: bool,
    corner: (f64, f64),
) -> String {
    let (left, top) = (corner.0 + 12.0, corner.1 + 2.0);
    let (wide, high) = (CELL.0 - 14.0, CELL.1 - 13.0);
    let across = if dimension.high > dimension.low {
        dimension.high - dimension.low
    } else {
        1.0
    };
    let x = |at: f64| left + (at - dimension.low) / across * wide;
    let y = |mean: f64| top + high - (mean - low) / span * high;
    let mut commands = String::new();
    let mut dots = String::new();
    for (&at, &mean) in curve.at.iter().zip(&curve.mean) {
        commands.push(if commands.is_empty() { 'M' } else { 'L' });
        let _ = write!(commands, "{} {}", number(x(at)), number(y(mean)));
        let _ = write!(
            dots,
            "<circle class='dot' cx='{}' cy='{}' r='.7'/>",
            number(x(at)),
            number(y(mean))
        );
    }
    let mut body = format!(
        "<path class='grid' d='M{l} {t}h{w}M{l} {m}h{w}'/><path class='axis' d='M{l} {t}v{h}h{w}'/><path \
         class='front-line' d='{commands}'/>{dots}<text class='small' x='{l}' y='{b}'>{from}</text><text class='small \
         end' x='{r}' y='{b}'>{to}</text><text class='middle' x='{c}' y='{n}'>{name}</text>",
        l = number(left),
        t = number(top),
        m = number(top + high / 2.0),
        w = number(wide),
        h = number(high),
        b = number(top + high + 3.4),
        r = number(left + wide),
        c = number(left + wide / 2.0),
        n = number(top + high + 7.6),
        from = significant(dimension.low, 4),
        to = significant(dimension.high, 4),
        name = escaped(&shortened(&words(&dimension.name, &dimension.unit), 24)),
    );
    if with_scale {
        for share in [0.0, 1.0] {
            let _ = write!(
                body,
                "<text class='small end' x='{}' y='{}'>{}</text>",
                number(left - 1.2),
                number(top + high * (1.0 - share) + 0.9),
                significant(low + share * span, 3)
            );
        }
    }
    body
}

/// What two dimensions do together: the mean along one, a line for each part of the other's range.
pub(super) fn interplay(measure: &Screened, pair: &Interplay, dimensions: &[Dimension]) -> String {
    let [along, between] = pair.dimensions.map(|dimension| &dimensions[dimension]);
    let points = |curve: &Curve| -> Vec<(f64, f64)> {
        curve
            .at
            .iter()
            .copied()
            .zip(curve.mean.iter().copied())
            .collect()
    };
    let all = pair.lines.iter().flat_map(|(_, curve)| points(curve));
    let mut frame = Frame::around(all);
    frame.x_words = words(&along.name, &along.unit);
    frame.y_words = format!("mean of {}", words(&measure.name, &measure.unit));
    frame.axes();
    let mut key = String::new();
    for (index, (at, curve)) in pair.lines.iter().enumerate() {
        let mut commands = String::new();
        for point in points(curve) {
            if let Some((x, y)) = frame.paper(point) {
                commands.push(if commands.is_empty() { 'M' } else { 'L' });
                let _ = write!(commands, "{} {}", number(x), number(y));
            }
        }
        let _ = write!(frame.body, "<path class='way w{index}' d='{commands}'/>");
        let unit = match between.unit.is_empty() {
            true => String::new(),
            false => format!(" {}", between.unit),
        };
        let _ = write!(
            key,
            "<g transform='translate({} 9)'><path class='way w{index}' d='M0 0h7'/><text class='small' x='8.5' \
             y='.9'>{} {}{}</text></g>",
            number(18.0 + 43.0 * index as f64),
            escaped(&shortened(&between.name, 14)),
            significant(*at, 3),
            escaped(&unit)
        );
    }
    frame.body += &key;
    frame.finish("What two dimensions do together")
}
