//! One design in full, with words to every number: the sheet.

use super::correction::Truth;
use super::evaluator::{
    Answer, Evaluator, Record, Solved, Trouble, frequency_supports, load_size, margin, plan_axes,
    total_t,
};
use super::making::{features, tolerances};
use super::measures::rule_name;
use super::outside::Ask;
use super::setup::Relation;
use super::strength::{cut_deflection_mm, cut_force_n};
use super::{
    Arrow, Held, Judged, LoadFatigue, LoadPeak, LoadRow, MassRow, Named, OpeningRow, RuleRow,
    ScrewRow, SectionRow, Sheet, WallRow,
};
use crate::machining::Plan;
use crate::part::{Boss, Layout, Part};
use crate::structure::clamp::cone_stiffness_n_mm;
use crate::structure::{Field, Frame, LoadResponse, Loading, Opened, Opening, Support};
use crate::units::Unit;

/// Standard gravity, in mm/s² (exact by ISO 80000-3).
const STANDARD_GRAVITY: f64 = 9806.65;

/// Natural vibrations that a sheet has.
const MODES: usize = 6;

/// Yield safety below this is remarked on.
const LOW_SAFETY: f64 = 1.0;

impl Evaluator {
    /// One design in full, from its variables in base units.
    pub fn sheet(&self, variables: &[f64]) -> Sheet {
        self.sheet_asking(variables, Ask::Somebody)
    }

    /// As [`Evaluator::sheet`], where the measures from outside are known, in their units: nobody is asked.
    pub fn sheet_known(&self, variables: &[f64], outside: &[f64]) -> Sheet {
        self.sheet_asking(variables, Ask::Known(outside))
    }

    /// As [`Evaluator::sheet`], of what the frame alone says: nobody outside is asked.
    pub fn sheet_of_frame(&self, variables: &[f64]) -> Sheet {
        self.sheet_asking(variables, Ask::Nobody)
    }

    fn sheet_asking(&self, variables: &[f64], ask: Ask) -> Sheet {
        let (mut record, answer, trouble) = self.examine(variables, true, ask);
        if self.robust.is_some() {
            record.objectives = self.record(variables).objectives;
        }
        let setup = &self.setup;
        let solved = answer.as_ref().and_then(|answer| answer.solved.as_ref());
        let mut sheet = Sheet {
            variables: named(
                setup
                    .variables
                    .iter()
                    .map(|each| (&each.name[..], each.unit)),
                &record.slots,
            ),
            derived: named(
                setup.derived.iter().map(|each| (&each.name[..], each.unit)),
                &record.slots[variables.len()..],
            ),
            measures: named(
                self.measures(),
                &record.slots[variables.len() + setup.derived.len()..],
            ),
            objectives: self.objectives(&record, solved.is_some() || !self.has_part()),
            constraints: self.judged(&record, answer.as_ref()),
            sections: Vec::new(),
            loads: Vec::new(),
            modes: Vec::new(),
            walls: Vec::new(),
            screws: Vec::new(),
            features: Vec::new(),
            tolerances: Vec::new(),
            currency: setup.currency.symbol.to_string(),
            plan: solved.map_or_else(Plan::empty, |solved| solved.plan.clone()),
            mass: Vec::new(),
            rules: Vec::new(),
            proof: None,
            calibration: None,
            remarks: trouble
                .iter()
                .map(|trouble| self.trouble(trouble))
                .collect(),
            part: None,
            layout: None,
        };
        if let Some(mut answer) = answer {
            self.account(&answer, &mut sheet);
            sheet.screws = self.screws(&answer);
            if let Some(solved) = answer.solved.take() {
                sheet.sections = sections(answer.as_made().0, answer.as_made().1, &solved);
                sheet.loads = self.loads(&answer, &solved);
                let supports = frequency_supports(&answer.loadings);
                // A frame that is solved for its first frequency has the others; without them nothing is drawn.
                sheet.modes = solved.model.modes(supports, MODES).unwrap_or_default();
                sheet.walls = walls(&answer, &solved);
                sheet.features = features(&solved.plan);
                sheet.tolerances = tolerances(&answer, &solved.plan);
                sheet.remarks.extend(remarks(&sheet, &solved));
                self.strength_remarks(&mut sheet);
            }
            sheet.calibration = self.calibration_of(variables, &sheet.measures);
            sheet.part = Some(answer.part);
            sheet.layout = Some(answer.layout);
        }
        sheet
    }

    fn objectives(&self, record: &Record, solved: bool) -> Vec<Named> {
        let value = |objective: &super::setup::Objective, least: f64| {
            let sign = if objective.most { -1.0 } else { 1.0 };
            if solved {
                sign * least / objective.unit.size
            } else {
                f64::NAN
            }
        };
        let objectives = self.setup.objectives.iter().zip(&record.objectives);
        objectives
            .map(|(objective, least)| Named {
                name: objective.name.clone(),
                value: value(objective, *least),
                unit: objective.unit.symbol.to_string(),
            })
            .collect()
    }

    fn judged(&self, record: &Record, answer: Option<&Answer>) -> Vec<Judged> {
        let mut judged: Vec<Judged> = self
            .setup
            .constraints
            .iter()
            .map(|constraint| {
                let margin = margin(constraint, &record.slots);
                let sign = match constraint.relation {
                    Relation::AtMost => "<=",
                    Relation::AtLeast => ">=",
                };
                Judged {
                    name: constraint.name.clone(),
                    text: format!("{} {sign} {}", constraint.value.text, constraint.limit.text),
                    value: constraint.value.value(&record.slots) / constraint.unit.size,
                    limit: constraint.limit.value(&record.slots) / constraint.unit.size,
                    relation: match constraint.relation {
                        Relation::AtMost => "at most",
                        Relation::AtLeast => "at least",
                    },
                    unit: constraint.unit.symbol.to_string(),
                    met: margin >= 0.0,
                    margin,
                }
            })
            .collect();
        if !self.has_part() {
            return judged;
        }
        let least = answer.map_or(f64::NAN, |answer| answer.rules.least_mm());
        judged.push(implied(
            "geometric rules",
            "least metal or room by the geometric rules >= 0 mm",
            least,
            "mm",
        ));
        let kept = answer.is_some_and(|answer| answer.rules.kept());
        if let Some(rules) = judged.last_mut() {
            rules.met = kept;
        }
        if let Some(solved) = answer.and_then(|answer| answer.solved.as_ref()) {
            judged.push(implied(
                "slots and cutters",
                "narrowest slot less the smallest end mill in stock >= 0 mm",
                solved.plan.cutter_gap_mm,
                "mm",
            ));
            if solved.plan.table_room_mm < 0.0 {
                judged.push(implied(
                    "billet and table",
                    "room that the billet leaves on the machine's table >= 0 mm",
                    solved.plan.table_room_mm,
                    "mm",
                ));
            }
            let missing = solved.plan.obstacles;
            judged.push(Judged {
                relation: "at most",
                met: missing == 0,
                margin: 0.0 - missing as f64,
                ..implied(
                    "tools in stock",
                    "features that no tool in stock makes <= 0",
                    missing as f64,
                    "",
                )
            });
        }
        judged
    }

    fn trouble(&self, trouble: &Trouble) -> String {
        match trouble {
            Trouble::Build(error) => format!("not a part: {error}"),
            Trouble::Geometry => "a geometric rule is broken, so strength and time on the mill \
                                  were not worked out; see the rules for the place"
                .into(),
            Trouble::Structure(Some(load), error) => format!(
                "load case {} could not be solved: {error}",
                self.setup.loads[*load].name
            ),
            Trouble::Structure(None, error) => format!("the frame could not be solved: {error}"),
            Trouble::Outside(why) => format!("no answer from the study's program: {why}"),
        }
    }

    fn account(&self, answer: &Answer, sheet: &mut Sheet) {
        let density = answer.frame.metal.density_t_mm3;
        sheet.mass = answer
            .volume
            .items(&answer.part, density)
            .into_iter()
            .map(|item| MassRow {
                name: item.name,
                volume_mm3: item.volume_mm3,
                mass_g: item.mass_g,
            })
            .collect();
        sheet.rules = answer
            .rules
            .all
            .iter()
            .map(|rule| RuleRow {
                name: rule_name(rule.kind).into(),
                value_mm: rule.value_mm,
                place: rule.words(&answer.part, &answer.layout),
            })
            .collect();
    }

    /// Fatigue of a load case, in words.
    fn fatigue_row(&self, index: usize, response: &LoadResponse) -> Option<LoadFatigue> {
        let cycles = self.setup.loads[index].fatigue?;
        let data = self.frame.as_ref()?.fatigue?;
        Some(LoadFatigue {
            safety: self.fatigue_safety(index, response)?,
            words: format!(
                "{:e} cycles, stress ratio {}; {:.1} MPa after notch sensitivity, against {} MPa at {:e} cycles and \
                 {} MPa ultimate (Goodman)",
                cycles.count,
                plain(cycles.ratio),
                data.effective_mpa(response),
                data.strength_mpa,
                data.cycles,
                data.ultimate_mpa
            ),
        })
    }

    /// Screws on bosses, those of one boss of the study once.
    fn screws(&self, answer: &Answer) -> Vec<ScrewRow> {
        let mut rows: Vec<ScrewRow> = Vec::new();
        for screw in &answer.screws {
            let row = ScrewRow {
                name: answer.part.bosses[screw.boss].name.clone(),
                clamp_n: screw.clamp_n,
                bearing_mpa: screw.bearing_mpa,
                bearing_safety: answer.frame.metal.yield_mpa / screw.bearing_mpa,
                cone_mm: screw.cone_mm,
                cone_room_mm: screw.cone_room_mm,
                head_room_mm: screw.head_room_mm,
                stiffness_n_mm: cone_stiffness_n_mm(
                    answer.frame.metal.modulus_mpa,
                    screw.hole_mm,
                    screw.head_mm,
                    screw.plate_mm,
                ),
            };
            let alike = |other: &ScrewRow| {
                ScrewRow {
                    name: row.name.clone(),
                    ..other.clone()
                } == row
            };
            if !rows.iter().any(alike) {
                rows.push(row);
            }
        }
        rows
    }

    /// What the reader must know of peaks, fatigue and screws.
    fn strength_remarks(&self, sheet: &mut Sheet) {
        let mut remarks = Vec::new();
        let bosses = self.frame.iter().flat_map(|frame| &frame.part.bosses);
        let bores = bosses.flat_map(|boss| &boss.bore);
        if bores.into_iter().any(|bore| bore.counterbore.is_some()) {
            remarks.push(
                "counterbores are weighed and planned, but left out of beam and solid: the boss is a little softer"
                    .to_string(),
            );
        }
        if sheet.loads.iter().any(|load| load.peak.is_some()) {
            let rest = match self.truth() {
                Truth::Beam => {
                    "are handbook factors on the beam, -20 to +41 % of solids in the range checked"
                }
                _ => "are handbook factors set right by solids, to what the run states",
            };
            remarks.push(format!(
                "peaks at holes {rest}; bores of bosses and re-entrant corners are not in them"
            ));
        }
        for load in &sheet.loads {
            if let Some(fatigue) = load.fatigue.as_ref().filter(|row| row.safety < LOW_SAFETY) {
                remarks.push(format!(
                    "load case {} passes its fatigue strength: safety {:.2}",
                    load.name, fatigue.safety
                ));
            }
        }
        if sheet.loads.iter().any(|load| load.fatigue.is_some()) {
            remarks.push(
                "fatigue strength is the mean of smooth bars: finish, size and scatter are not in it, and it is not \
                 raised for fewer cycles than it is known for"
                    .into(),
            );
            let fatigue = self.frame.as_ref().and_then(|frame| frame.fatigue);
            if fatigue.is_some_and(|data| data.notch_length_mm.is_none()) {
                remarks.push(
                    "no notch sensitivity is known for this material: the full peak counts".into(),
                );
            }
        }
        for screw in &sheet.screws {
            if screw.bearing_safety < LOW_SAFETY {
                remarks.push(format!(
                    "the screw on boss {} presses harder than yield: safety {:.2}",
                    screw.name, screw.bearing_safety
                ));
            }
            if screw.cone_room_mm < 0.0 {
                remarks.push(format!(
                    "the cone that the screw on boss {} clamps ({:.1} mm wide at the far side) is wider than the boss \
                     by {:.1} mm",
                    screw.name, screw.cone_mm, -screw.cone_room_mm
                ));
            }
            if screw.head_room_mm < 0.0 {
                remarks.push(format!(
                    "the screw's head on boss {} does not fit between walls and ribs: {:.1} mm too wide a side",
                    screw.name, -screw.head_room_mm
                ));
            }
        }
        sheet.remarks.extend(remarks);
    }

    fn loads(&self, answer: &Answer, solved: &Solved) -> Vec<LoadRow> {
        let mass_t = total_t(
            &answer.part,
            &answer.volume,
            answer.frame.metal.density_t_mm3,
        );
        let mut rows = Vec::with_capacity(answer.loadings.len());
        for (index, loading) in answer.loadings.iter().enumerate() {
            let response = &solved.responses[index];
            let name = &self.setup.loads[index].name;
            let stiffness = sheet_stiffness(self, name, loading, response, answer);
            let strip = response.strips.first();
            let opened = solved.opened[index].as_ref();
            let mut row = LoadRow {
                name: name.clone(),
                words: load_words(loading, answer.openings[index].as_ref(), &answer.layout),
                stiffness,
                displacement_mm: response.greatest_displacement_mm,
                displacement_at_mm: answer.layout.nodes_mm[response.greatest_displacement_node],
                stress_mpa: strip.map_or(0.0, |strip| strip.equivalent_mpa),
                stress_place: strip.map_or_else(String::new, |strip| {
                    let place = (strip.station_mm, strip.segment);
                    place_words(&strip.strip.words(), place, answer)
                }),
                stress_at_mm: strip.map(|strip| at_mm(answer, strip.station_mm, strip.place_mm.0)),
                peak: peak(answer, response),
                fatigue: self.fatigue_row(index, response),
                safety: answer.frame.metal.yield_mpa
                    / strip.map_or(0.0, |strip| strip.equivalent_mpa),
                arrows: arrows(loading, answer, mass_t),
                supports: loading
                    .supports
                    .iter()
                    .map(|support| held(support, answer))
                    .collect(),
                field: field(loading, solved, response),
                opening: None,
            };
            if let Some(opened) = opened {
                show_opening(&mut row, opened, answer, answer.frame.metal.yield_mpa);
                row.field = solved.model.opened_field(opened);
            }
            rows.push(row);
        }
        rows
    }
}

/// A load case that opens a blade tells of the opened one.
fn show_opening(row: &mut LoadRow, opened: &Opened, answer: &Answer, yield_mpa: f64) {
    (row.displacement_at_mm, row.displacement_mm) = opened.greatest_displacement();
    row.stress_mpa = opened.stress_mpa;
    row.stress_place = format!("floor, s = {:.1} mm", opened.stress_at_mm);
    row.safety = yield_mpa / opened.stress_mpa;
    row.opening = Some(OpeningRow {
        force_n: opened.force_n,
        energy_n_mm: opened.energy_n_mm,
        fatigue_safety: opened.fatigue_safety.unwrap_or(f64::NAN),
        curve: opened.curve.clone(),
    });
    row.stress_at_mm = Some(at_mm(answer, opened.stress_at_mm, 0.0));
    row.peak = None;
}

/// `floor, s = 31.2 mm, in boss lug 2`: station and segment of a place.
fn place_words(what: &str, (station, segment): (f64, usize), answer: &Answer) -> String {
    let layout = &answer.layout;
    let station = if layout.closed {
        station.rem_euclid(layout.length_mm)
    } else {
        station
    };
    let boss = in_boss(&answer.part, layout, segment);
    format!("{what}, s = {station:.1} mm{boss}")
}

fn at_mm(answer: &Answer, station: f64, y: f64) -> [f64; 2] {
    let (x, y) = answer.part.path.pose(station).left(y);
    [x, y]
}

/// The greatest local stress of a drilled frame.
fn peak(answer: &Answer, response: &LoadResponse) -> Option<LoadPeak> {
    let hole = response.holes.first()?;
    let strip = response.strips.first()?;
    if strip.equivalent_mpa >= hole.peak_mpa {
        return Some(LoadPeak {
            mpa: strip.equivalent_mpa,
            place: place_words(
                &strip.strip.words(),
                (strip.station_mm, strip.segment),
                answer,
            ),
            at_mm: at_mm(answer, strip.station_mm, strip.place_mm.0),
        });
    }
    let row = answer.part.hole_rows.get(hole.row);
    let what = format!(
        "hole of row {} in the {}",
        row.map_or("", |row| row.name.as_str()),
        hole.strip.words()
    );
    Some(LoadPeak {
        mpa: hole.peak_mpa,
        place: place_words(&what, (hole.station_mm, hole.segment), answer),
        at_mm: at_mm(answer, hole.station_mm, hole.place_mm.0),
    })
}

/// Walls and ribs, the softest first.
fn walls(answer: &Answer, solved: &Solved) -> Vec<WallRow> {
    let mut rows: Vec<WallRow> = solved
        .walls
        .iter()
        .map(|wall| {
            let boss = answer
                .part
                .bosses
                .iter()
                .find(|boss| {
                    wall.section > 0 && boss.section == answer.layout.sections[wall.section]
                })
                .map_or_else(String::new, |boss| format!(", boss {}", boss.name));
            WallRow {
                name: format!("{}{boss}", wall.strip.words()),
                height_mm: wall.height_mm,
                thickness_mm: wall.thickness_mm,
                slenderness: wall.height_mm / wall.thickness_mm,
                cut_force_n: cut_force_n(wall, &solved.plan),
                cut_mm: cut_deflection_mm(wall, &solved.plan),
                press_mm: wall.give_mm_n * answer.press_n,
                held: if wall.length_mm == f64::INFINITY {
                    "root, without ends".into()
                } else if wall.held {
                    format!("root and both ends, {:.1} mm long", wall.length_mm)
                } else {
                    format!("root, free end, {:.1} mm long", wall.length_mm)
                },
            }
        })
        .collect();
    rows.sort_by(|a, b| b.press_mm.total_cmp(&a.press_mm));
    rows
}

fn named<'a>(names: impl Iterator<Item = (&'a str, Unit)>, values: &[f64]) -> Vec<Named> {
    names
        .zip(values)
        .map(|((name, unit), value)| Named {
            name: name.into(),
            value: value / unit.size,
            unit: unit.symbol.to_string(),
        })
        .collect()
}

/// A constraint that every part must meet, stated or not: a value of at least 0.
fn implied(name: &str, text: &str, value: f64, unit: &str) -> Judged {
    Judged {
        name: name.into(),
        text: text.into(),
        value,
        limit: 0.0,
        relation: "at least",
        unit: unit.into(),
        met: value >= 0.0,
        margin: value,
    }
}

fn sheet_stiffness(
    evaluator: &Evaluator,
    load: &str,
    loading: &Loading,
    response: &LoadResponse,
    answer: &Answer,
) -> Option<Named> {
    let size = load_size(loading, &answer.part, &answer.layout);
    let name = format!("{load}.stiffness");
    let taken = evaluator.measures.iter().find(|taken| taken.name == name)?;
    (size > 0.0).then(|| Named {
        name,
        value: size * size / response.work_n_mm,
        unit: taken.unit.into(),
    })
}

/// `, in boss lug 2` where a segment lies in one.
fn in_boss(part: &Part, layout: &Layout, segment: usize) -> String {
    let middle = 0.5 * (layout.segments[segment].start_mm + layout.end_mm(segment));
    layout
        .boss_at(part, middle)
        .map(|boss| format!(", in {}", part.bosses[boss].words()))
        .unwrap_or_default()
}

fn point(answer: &Answer, node: usize) -> [f64; 2] {
    let pose = answer.part.path.pose(answer.layout.nodes_mm[node]);
    [pose.x, pose.y]
}

/// Forces to draw: those that act, and for an acceleration the inertia force of the whole at the middle.
fn arrows(loading: &Loading, answer: &Answer, mass_t: f64) -> Vec<Arrow> {
    let mut arrows: Vec<Arrow> = loading
        .actions
        .iter()
        .map(|action| {
            let turned = |v| plan_axes(v, action, &answer.part, &answer.layout);
            Arrow {
                at_mm: point(answer, action.node),
                force_n: turned(action.force),
                moment_n_mm: turned(action.moment),
                inertia: false,
            }
        })
        .collect();
    if loading.acceleration.iter().any(|a| *a != 0.0) {
        let nodes = answer.layout.nodes_mm.len();
        let mut middle = [0.0; 2];
        for node in 0..nodes {
            let at = point(answer, node);
            middle[0] += at[0] / nodes as f64;
            middle[1] += at[1] / nodes as f64;
        }
        arrows.push(Arrow {
            at_mm: middle,
            force_n: loading.acceleration.map(|a| -a * mass_t),
            moment_n_mm: [0.0; 3],
            inertia: true,
        });
    }
    arrows
}

fn held(support: &Support, answer: &Answer) -> Held {
    let pose = answer.part.path.pose(answer.layout.nodes_mm[support.node]);
    Held {
        at_mm: [pose.x, pose.y],
        heading: match support.frame {
            Frame::Plan => 0.0,
            Frame::Path => pose.heading,
        },
        moves: support.hold_move,
        turns: support.hold_turn,
        warp: support.hold_warp,
    }
}

/// Movement and stress along the path, the movement set right as the greatest displacement is.
fn field(loading: &Loading, solved: &Solved, response: &LoadResponse) -> Field {
    let length = |d: &[f64; 7]| d[..3].iter().map(|x| x * x).sum::<f64>().sqrt();
    let beam = response
        .displacements
        .iter()
        .map(length)
        .fold(0.0, f64::max);
    let right = response.greatest_displacement_mm / beam;
    let field = solved.model.field(loading, response);
    field.scaled(if right.is_finite() { right } else { 1.0 })
}

/// A load case in words: what holds, what pulls.
fn load_words(loading: &Loading, opening: Option<&Opening>, layout: &Layout) -> String {
    let places = |count: usize| match count {
        1 => "at one place".into(),
        count => format!("at {count} places"),
    };
    let mut words = Vec::new();
    words.push(if loading.supports.is_empty() {
        "floating free".into()
    } else {
        format!("held {}", places(loading.supports.len()))
    });
    if let Some(opening) = opening {
        let at = layout.nodes_mm[opening.node];
        words.push(match opening.from_mm {
            0.0 => format!("opened by {} mm at s = {at:.1} mm", plain(opening.to_mm)),
            from => format!(
                "opened by {} mm, back to {} mm, at s = {at:.1} mm",
                plain(opening.to_mm),
                plain(from)
            ),
        });
        return words.join("; ");
    }
    for action in &loading.actions {
        let axes = match action.frame {
            Frame::Plan => "x, y, z",
            Frame::Path => "along, inward, up",
        };
        let vector = |v: &[f64; 3]| format!("({}, {}, {})", plain(v[0]), plain(v[1]), plain(v[2]));
        let at = layout.nodes_mm[action.node];
        if action.force.iter().any(|f| *f != 0.0) {
            words.push(format!(
                "force {} N ({axes}) at s = {at:.1} mm",
                vector(&action.force)
            ));
        }
        if action.moment.iter().any(|m| *m != 0.0) {
            words.push(format!(
                "moment {} N mm ({axes}) at s = {at:.1} mm",
                vector(&action.moment)
            ));
        }
    }
    if loading.acceleration.iter().any(|a| *a != 0.0) {
        let [x, y, z] = loading
            .acceleration
            .map(|a| plain((a / STANDARD_GRAVITY * 1e6).round() / 1e6));
        words.push(format!("acceleration ({x}, {y}, {z}) gn (x, y, z)"));
    }
    words.join("; ")
}

/// A number without a trailing `.0`, and never `-0`.
fn plain(value: f64) -> String {
    format!("{}", value + 0.0)
}

fn sections(part: &Part, layout: &Layout, solved: &Solved) -> Vec<SectionRow> {
    let mut rows: Vec<SectionRow> = Vec::new();
    let mut seen: Vec<(usize, Vec<usize>, u64)> = Vec::new();
    for (kind, each) in layout.kinds.iter().enumerate() {
        let drilled: Vec<usize> = each.perforations.iter().map(|p| p.row).collect();
        let key = (each.section, drilled, each.curvature.to_bits());
        let Some(properties) = solved.model.section_properties(kind) else {
            continue;
        };
        if seen.contains(&key) {
            continue;
        }
        let curved = layout
            .kinds
            .iter()
            .any(|other| other.curvature != each.curvature);
        let mut name = match each.section {
            0 => "frame".to_string(),
            section => part
                .bosses
                .iter()
                .find(|boss| boss.section == layout.sections[section])
                .map_or("boss".into(), Boss::words),
        };
        if !key.1.is_empty() {
            name.push_str(", drilled");
        }
        if curved {
            name.push_str(&match each.curvature {
                0.0 => ", straight".to_string(),
                curvature => format!(", R {:.1} mm", 1.0 / curvature.abs()),
            });
        }
        let value = |name: &str, value: f64, unit: &str| Named {
            name: name.into(),
            value,
            unit: unit.into(),
        };
        let p = properties;
        rows.push(SectionRow {
            name,
            values: vec![
                value("area", p.area_mm2, "mm^2"),
                value("area in tension", p.stretch_area_mm2, "mm^2"),
                value("centroid y", p.centroid_mm.0, "mm"),
                value("centroid z", p.centroid_mm.1, "mm"),
                value("I out of plane", p.bending_mm4.0, "mm^4"),
                value("I in plane", p.bending_mm4.1, "mm^4"),
                value("I product", p.bending_mm4.2, "mm^4"),
                value("torsion constant", p.torsion_mm4, "mm^4"),
                value("shear centre y", p.shear_centre_mm.0, "mm"),
                value("shear centre z", p.shear_centre_mm.1, "mm"),
                value("warping constant", p.warping_mm6, "mm^6"),
                value("shear area y", p.shear_areas_mm2.0, "mm^2"),
                value("shear area z", p.shear_areas_mm2.1, "mm^2"),
            ],
            outside_range: solved
                .model
                .cautions()
                .iter()
                .find(|caution| caution.kind == kind)
                .map_or_else(String::new, |caution| caution.reason.to_string()),
        });
        seen.push(key);
    }
    rows
}

fn remarks(sheet: &Sheet, solved: &Solved) -> Vec<String> {
    let mut remarks: Vec<String> = Vec::new();
    for remark in &solved.plan.remarks {
        if !remarks.contains(remark) {
            remarks.push(remark.clone());
        }
    }
    let mut outside: Vec<&str> = sheet
        .sections
        .iter()
        .map(|section| section.outside_range.as_str())
        .filter(|reason| !reason.is_empty())
        .collect();
    outside.dedup();
    for reason in outside {
        remarks.push(format!(
            "outside the range in which the beam model was checked: {reason}"
        ));
    }
    for load in &sheet.loads {
        if load.safety < LOW_SAFETY {
            remarks.push(format!(
                "load case {} passes yield: safety {:.2}",
                load.name, load.safety
            ));
        }
    }
    for (load, opened) in sheet.loads.iter().zip(&solved.opened) {
        remarks.extend(opened.iter().flat_map(|opened| blade_remarks(load, opened)));
    }
    remarks
}

/// Greatest b² / (R t) below which a strip still bends as a beam does.
const WIDE_STRIP: f64 = 4.0;

/// What the reader of an opened blade's figures must know.
fn blade_remarks(load: &LoadRow, opened: &Opened) -> Vec<String> {
    let mut remarks = vec![format!(
        "load case {}: fatigue by the material's smooth-bar strength and Goodman's line, an estimate and no release; \
         laser edges are brittle, so deburr, polish or etch them and take off from it; a hardened strip opened stores \
         energy ({:.3} N mm) and its edges cut",
        load.name, opened.energy_n_mm
    )];
    if opened.searle > WIDE_STRIP {
        remarks.push(format!(
            "load case {}: strips are wide for how sharply they bend (b²/(R t) = {:.0}) and stiffen toward a plate: \
             force and stress may be higher than given, by 1/(1 - nu²) at most, about 10 % (Searle 1908, Ashwell 1950; \
             from memory)",
            load.name, opened.searle
        ));
    }
    remarks
}
