//! Tool life: how long an edge lasts at a speed, and which speed is the cheapest or the fastest. Formulas only.

/// Time in cut in min until an edge is worn: T = (C/v)^(1/n), from Taylor's v T^n = C.
///
/// `speed` v and `constant` C (the speed at which it lasts 1 min) in m/min, `exponent` n between 0 and 1.
///
/// Source: Taylor, On the Art of Cutting Metals, 1907 (from memory); Ghosh & Mallik, Manufacturing Science, ch. 4.
pub fn taylor_life_min(speed: f64, constant: f64, exponent: f64) -> f64 {
    (constant / speed).powf(1.0 / exponent)
}

/// Cutting speed in m/min at which cutting costs the least: v = C [n/(1 - n) · Co/(Co tc + Ct)]^n.
///
/// `constant` C in m/min, `exponent` n; `rate` Co of machine and labour for a minute, `tool` Ct price of an edge,
/// `change` tc time of changing it in min. The cutter turns at other speeds than the cheapest where the spindle or the
/// tool's maker sets them.
///
/// Source: Ghosh & Mallik, ch. 4.
pub fn least_cost_speed_m_min(
    constant: f64,
    exponent: f64,
    rate: f64,
    tool: f64,
    change: f64,
) -> f64 {
    let balance = exponent / (1.0 - exponent) * rate / (rate * change + tool);
    constant * balance.powf(exponent)
}

/// Cutting speed in m/min at which most parts come off in a time: v = C / [(1/n - 1) tc]^n.
///
/// `constant` C in m/min, `exponent` n, `change` tc time of changing an edge in min.
///
/// Source: Ghosh & Mallik, ch. 4.
pub fn fastest_output_speed_m_min(constant: f64, exponent: f64, change: f64) -> f64 {
    constant / ((1.0 / exponent - 1.0) * change).powf(exponent)
}

/// What the wear of a tool costs a part: (Ct + Co tc) t/T.
///
/// `tool` Ct price of an edge, `rate` Co of machine and labour for a minute, `change` tc time of changing it in min,
/// `cut` t time in cut for one part and `life` T in min (or holes of a part and holes that a drill lasts).
///
/// Source: Ghosh & Mallik, ch. 4.
pub fn wear_cost(tool: f64, rate: f64, change: f64, cut: f64, life: f64) -> f64 {
    (tool + rate * change) * cut / life
}
