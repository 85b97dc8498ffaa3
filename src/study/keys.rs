//! Every key of a study file, once: what drives reading, the JSON Schema and the key reference.

use crate::units::Dimension;

/// A table of the study file.
#[derive(Debug)]
pub struct Table {
    /// How it is called in the reference: `part.section`.
    pub name: &'static str,
    /// One sentence.
    pub doc: &'static str,
    /// Its keys.
    pub keys: &'static [Key],
}

/// A key of a table.
#[derive(Debug)]
pub struct Key {
    /// As written.
    pub name: &'static str,
    /// What stands behind it.
    pub kind: Kind,
    /// Whether it must be there, or what is taken where it is not.
    pub need: Need,
    /// One sentence.
    pub doc: &'static str,
}

/// Whether a key must be there.
#[derive(Debug, PartialEq)]
pub enum Need {
    /// It must.
    Required,
    /// It must, unless there is this other key.
    Unless(&'static str),
    /// It may be left out; nothing stands in.
    Optional,
    /// It may be left out; this (as it would be written in the file, without quotes) is taken.
    Default(&'static str),
}

/// What a dimension measures and which signs are allowed.
#[derive(Clone, Copy, Debug)]
pub struct Quantity {
    /// What it measures.
    pub dimension: Dimension,
    /// Allowed signs.
    pub sign: Sign,
}

/// Allowed signs of a quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sign {
    /// Above zero.
    Positive,
    /// Zero or above.
    NotNegative,
    /// Any.
    Any,
}

/// What may stand behind a key.
#[derive(Debug)]
pub enum Kind {
    /// Free text.
    Text,
    /// One of some words.
    Words(&'static [&'static str]),
    /// A whole number between two bounds.
    Whole(i64, i64),
    /// `true` or `false`.
    Flag,
    /// An expression over variables and derived values.
    Formula(Quantity),
    /// Such an expression, or a word.
    FormulaOr(Quantity, &'static str),
    /// Several such expressions, so many.
    Vector(Quantity, usize),
    /// A fixed quantity of any kind: `"1.5 mm"`, `3`.
    Fixed,
    /// A list of fixed lengths.
    Lengths,
    /// A list of texts.
    Texts,
    /// A unit: `mm`, or `1` for plain numbers.
    UnitName,
    /// `"drills"`, `"end_mills"`, or a list of fixed quantities.
    Choices,
    /// An expression over variables, derived values and measures.
    Expression,
    /// Two such expressions with `<=` or `>=` between.
    Comparison,
    /// A place on the path.
    Place,
    /// One place or a list of them.
    Places,
    /// One place, a list of them, or a word.
    PlacesOr(&'static str),
    /// A strip of the section.
    Strip,
    /// `"all"`, or a list of held directions.
    Holds,
    /// A table.
    Table(&'static Table),
    /// A table, or a word.
    TableOr(&'static Table, &'static str),
    /// A table whose keys depend on one of its words.
    TableBy(&'static str, &'static [(&'static str, &'static Table)]),
    /// Several tables: `[[name]]`.
    Tables(&'static Table),
    /// Tables by names of the user's choice: `[load.squeeze]`.
    Named(&'static Table),
    /// Values by names of the user's choice.
    NamedValues(&'static Kind),
}

impl Table {
    /// The key of a name.
    pub fn key(&self, name: &str) -> Option<&'static Key> {
        self.keys.iter().find(|key| key.name == name)
    }
}

const fn required(name: &'static str, kind: Kind, doc: &'static str) -> Key {
    let need = Need::Required;
    Key {
        name,
        kind,
        need,
        doc,
    }
}

/// A key that a study with a part needs, and one without has not.
const fn framed(name: &'static str, kind: Kind, doc: &'static str) -> Key {
    let need = Need::Unless("evaluator");
    Key {
        name,
        kind,
        need,
        doc,
    }
}

const fn optional(name: &'static str, kind: Kind, doc: &'static str) -> Key {
    let need = Need::Optional;
    Key {
        name,
        kind,
        need,
        doc,
    }
}

const fn default(name: &'static str, kind: Kind, value: &'static str, doc: &'static str) -> Key {
    let need = Need::Default(value);
    Key {
        name,
        kind,
        need,
        doc,
    }
}

const fn quantity(dimension: Dimension, sign: Sign) -> Quantity {
    Quantity { dimension, sign }
}

/// A length above zero.
const SIZE: Quantity = quantity(Dimension::LENGTH, Sign::Positive);
/// A length that may be zero.
const GAP: Quantity = quantity(Dimension::LENGTH, Sign::NotNegative);
/// A length of either sign.
const SHIFT: Quantity = quantity(Dimension::LENGTH, Sign::Any);
const TURN: Quantity = quantity(Dimension::ANGLE, Sign::Any);
const MASS: Quantity = quantity(Dimension::MASS, Sign::NotNegative);
const COUNT: Quantity = quantity(Dimension::NUMBER, Sign::NotNegative);
/// A force above zero.
const PULL: Quantity = quantity(Dimension::FORCE, Sign::Positive);
const FORCE: Quantity = quantity(Dimension::FORCE, Sign::Any);
const MOMENT: Quantity = quantity(Dimension::MOMENT, Sign::Any);
const ACCELERATION: Quantity = quantity(Dimension::ACCELERATION, Sign::Any);

const AXES: Kind = Kind::Words(&["plan", "path"]);
const AXES_DOC: &str = "`plan`: x, y, z of the drawing, z along the tool axis. `path`: along the path, to its left (inward on a closed path), along the tool axis.";

/// Words for held directions, in the order of the seven freedoms.
pub const HOLDS: &[&str] = &["x", "y", "z", "turn x", "turn y", "turn z", "warp"];

/// Codes of ISO 4217 that a study may count in. The built-in prices are euros.
pub const CURRENCIES: &[&str] = &[
    "EUR", "USD", "GBP", "CHF", "JPY", "CNY", "INR", "KRW", "SEK", "NOK", "DKK", "PLN", "CZK",
    "CAD", "AUD", "NZD", "SGD", "BRL", "MXN", "ZAR",
];

/// The whole file.
pub static STUDY: Table = Table {
    name: "study",
    doc: "A parametric frame, what may change on it, its loads, limits and objectives. With an `evaluator`, the frame (part, material, machine) may be left out: then all measures are the program's.",
    keys: &[
        required(
            "format",
            Kind::Whole(1, 1),
            "Format of this file; 1 is the only one so far.",
        ),
        required("title", Kind::Text, "Title for sheets and pages."),
        default(
            "notes",
            Kind::Text,
            "",
            "Remarks for the people who read the results.",
        ),
        framed("material", Kind::Text, "Id of a material in the catalogue."),
        framed("machine", Kind::Text, "Id of a machine in the catalogue."),
        optional(
            "catalogue",
            Kind::Text,
            "File with more materials, tools and machines, beside the study.",
        ),
        default(
            "seed",
            Kind::Whole(0, i64::MAX),
            "1",
            "Seed of all random draws; the same seed gives the same results.",
        ),
        default(
            "batch",
            Kind::Whole(1, i64::MAX),
            "10",
            "Parts made in one go: set-up is spread over them in the cost.",
        ),
        default(
            "currency",
            Kind::Words(CURRENCIES),
            "EUR",
            "Money that the catalogue's prices and rates are in, as an ISO 4217 code; nothing is converted.",
        ),
        optional("tools", Kind::Table(&TOOLS), "Tools in stock."),
        framed("part", Kind::Table(&PART), "The frame."),
        optional(
            "evaluator",
            Kind::Table(&EVALUATOR),
            "A program of your own that is asked about every design, and what it measures.",
        ),
        required(
            "variables",
            Kind::Named(&VARIABLE),
            "What may change, by name.",
        ),
        required(
            "baseline",
            Kind::NamedValues(&Kind::Fixed),
            "Today's revision: a value for every variable.",
        ),
        optional(
            "derived",
            Kind::NamedValues(&Kind::Expression),
            "Named expressions; each may use those above it.",
        ),
        optional("load", Kind::Named(&LOAD), "Load cases, by name."),
        optional(
            "constraints",
            Kind::NamedValues(&Kind::Comparison),
            "What every acceptable design must meet.",
        ),
        required(
            "objective",
            Kind::Tables(&OBJECTIVE),
            "What is to be least or most; one to four.",
        ),
        optional(
            "scatter",
            Kind::Tables(&SCATTER),
            "What deviates from its nominal value, beside what the process does to dimensions.",
        ),
        optional(
            "robust",
            Kind::Table(&ROBUST),
            "What is asked of parts as they come out, and how the process scatters.",
        ),
        optional(
            "calibration",
            Kind::Table(&CALIBRATION),
            "What measured parts say of the model; `fretwork calibrate --apply` writes it.",
        ),
        optional(
            "explore",
            Kind::Table(&EXPLORE),
            "How the space of designs is explored.",
        ),
    ],
};

/// `[evaluator]`
pub static EVALUATOR: Table = Table {
    name: "evaluator",
    doc: "A program of your own: it is asked about a design as one JSON object on its standard input and answers with one on its standard output. It runs in the study's folder, without a shell, and only when the call has `--allow-command`.",
    keys: &[
        required(
            "command",
            Kind::Texts,
            "The program and its arguments: `[\"python3\", \"model.py\"]`.",
        ),
        required(
            "measures",
            Kind::NamedValues(&Kind::UnitName),
            "What it gives, by name, with units: `{ wear = \"um\" }`.",
        ),
        default(
            "lines",
            Kind::Flag,
            "false",
            "Whether it stays and answers a question a line; otherwise it is started for every design.",
        ),
        default(
            "time_limit",
            Kind::Fixed,
            "60 s",
            "Longest time for an answer, its start included; then it is ended with all that it started.",
        ),
        default(
            "retries",
            Kind::Whole(0, 100),
            "1",
            "Attempts after one that went wrong. That it says `failed` itself is an answer, and not tried again.",
        ),
    ],
};

/// `[tools]`
pub static TOOLS: Table = Table {
    name: "tools",
    doc: "Tools in stock. What is left out stands for all of the catalogue.",
    keys: &[
        optional("drills", Kind::Lengths, "The drill index: diameters."),
        optional("end_mills", Kind::Lengths, "Diameters of the end mills."),
    ],
};

/// `[part]`
pub static PART: Table = Table {
    name: "part",
    doc: "The frame: a section swept along a path, with ribs, bosses, hole rows and carried masses.",
    keys: &[
        required(
            "path",
            Kind::TableBy(
                "shape",
                &[
                    ("circle", &CIRCLE),
                    ("stadium", &STADIUM),
                    ("rounded rectangle", &RECTANGLE),
                    ("chain", &CHAIN),
                ],
            ),
            "Centreline of the frame, midway across its floor.",
        ),
        required(
            "section",
            Kind::Table(&SECTION),
            "Cross-section wherever no boss is.",
        ),
        optional(
            "rib",
            Kind::Tables(&RIB),
            "Ribs on the floor between the walls, all along the path.",
        ),
        optional(
            "boss",
            Kind::Tables(&BOSS),
            "Places with another section, for screws and inserts.",
        ),
        optional(
            "slit",
            Kind::Tables(&SLIT),
            "Slits that part a bare floor lengthwise into strips: a spring blade.",
        ),
        optional(
            "hole_row",
            Kind::Tables(&HOLE_ROW),
            "Rows of equal drilled holes.",
        ),
        optional(
            "carries",
            Kind::Tables(&CARRIES),
            "Masses that ride on the frame.",
        ),
        default(
            "press",
            Kind::Formula(PULL),
            "10 N",
            "Force of a fingertip or fixture pad on the free edge of a wall or rib, square to it.",
        ),
    ],
};

pub(super) const SHAPE: Key = required(
    "shape",
    Kind::Words(&["circle", "stadium", "rounded rectangle", "chain"]),
    "Kind of path.",
);

/// `[part.path]`, a circle
pub static CIRCLE: Table = Table {
    name: "part.path, circle",
    doc: "A closed circle, from angle 0 on the x axis counter-clockwise.",
    keys: &[
        SHAPE,
        required("radius", Kind::Formula(SIZE), "Radius of the path."),
    ],
};

/// `[part.path]`, a stadium
pub static STADIUM: Table = Table {
    name: "part.path, stadium",
    doc: "Two straight sides joined by half circles.",
    keys: &[
        SHAPE,
        required(
            "straight",
            Kind::Formula(SIZE),
            "Length of a straight side.",
        ),
        required("radius", Kind::Formula(SIZE), "Radius of the ends."),
    ],
};

/// `[part.path]`, a rounded rectangle
pub static RECTANGLE: Table = Table {
    name: "part.path, rounded rectangle",
    doc: "A rectangle with rounded corners.",
    keys: &[
        SHAPE,
        required(
            "length",
            Kind::Formula(SIZE),
            "Length over all, measured on the path.",
        ),
        required(
            "width",
            Kind::Formula(SIZE),
            "Width over all, measured on the path.",
        ),
        required("corner", Kind::Formula(SIZE), "Radius of the corners."),
    ],
};

/// `[part.path]`, a chain
pub static CHAIN: Table = Table {
    name: "part.path, chain",
    doc: "Straight lines and arcs, each going on in the direction in which the one before ends.",
    keys: &[
        SHAPE,
        default(
            "closed",
            Kind::Flag,
            "false",
            "Whether the chain returns to its start.",
        ),
        required("pieces", Kind::Tables(&PIECE), "The pieces, in order."),
    ],
};

/// A piece of a chain
pub static PIECE: Table = Table {
    name: "part.path.pieces",
    doc: "Either `{ line = \"30 mm\" }` or `{ arc = \"40 mm\", turn = \"90 deg\" }`.",
    keys: &[
        optional("line", Kind::Formula(SIZE), "Length of a straight piece."),
        optional("arc", Kind::Formula(SIZE), "Radius of an arc."),
        optional(
            "turn",
            Kind::Formula(TURN),
            "Angle of the arc; positive turns left.",
        ),
    ],
};

const WIDTH_DOC: &str = "Overall width across the frame, walls included.";
const OUTER_DOC: &str = "Wall on the right of the path (the outside of a closed path).";
const INNER_DOC: &str = "Wall on the left of the path (the inside of a closed path).";

/// `[part.section]`
pub static SECTION: Table = Table {
    name: "part.section",
    doc: "A floor with a wall on either edge.",
    keys: &[
        required("width", Kind::Formula(SIZE), WIDTH_DOC),
        required("floor", Kind::Formula(SIZE), "Thickness of the floor."),
        default(
            "outer_wall",
            Kind::TableOr(&WALL, "none"),
            "none",
            OUTER_DOC,
        ),
        default(
            "inner_wall",
            Kind::TableOr(&WALL, "none"),
            "none",
            INNER_DOC,
        ),
    ],
};

/// `section` of a boss
pub static BOSS_SECTION: Table = Table {
    name: "part.boss.section",
    doc: "Section over a boss; what is left out is the part's own.",
    keys: &[
        optional("width", Kind::Formula(SIZE), WIDTH_DOC),
        optional("floor", Kind::Formula(SIZE), "Thickness of the floor."),
        optional("outer_wall", Kind::TableOr(&WALL, "none"), OUTER_DOC),
        optional("inner_wall", Kind::TableOr(&WALL, "none"), INNER_DOC),
        optional(
            "rib",
            Kind::Tables(&RIB),
            "Ribs over the boss, instead of the part's; an empty list: none.",
        ),
    ],
};

/// A wall
pub static WALL: Table = Table {
    name: "wall",
    doc: "A wall standing on an edge of the floor.",
    keys: &[
        required(
            "thickness",
            Kind::Formula(SIZE),
            "Thickness across the frame.",
        ),
        required(
            "height",
            Kind::Formula(SIZE),
            "Height from the underside of the floor.",
        ),
    ],
};

/// `[[part.rib]]`
pub static RIB: Table = Table {
    name: "part.rib",
    doc: "A rib standing on the floor along the path.",
    keys: &[
        default(
            "offset",
            Kind::Formula(SHIFT),
            "0 mm",
            "Middle of the rib from the path, positive to the left (inward).",
        ),
        required(
            "thickness",
            Kind::Formula(SIZE),
            "Thickness across the frame.",
        ),
        required(
            "height",
            Kind::Formula(SIZE),
            "Height from the underside of the floor.",
        ),
    ],
};

/// `[[part.boss]]`
pub static BOSS: Table = Table {
    name: "part.boss",
    doc: "A range of the path with another section, alike at one or several places.",
    keys: &[
        required("name", Kind::Text, "Name for sheets and messages."),
        required("at", Kind::Places, "Place or places of its middle."),
        required("length", Kind::Formula(SIZE), "Length along the path."),
        optional(
            "section",
            Kind::Table(&BOSS_SECTION),
            "Section over that length.",
        ),
        optional(
            "bore",
            Kind::Table(&BORE),
            "Screw or pin hole along the tool axis, in its middle.",
        ),
        optional(
            "screw",
            Kind::Table(&SCREW),
            "Screw through the bore, with its head on the floor of the boss.",
        ),
    ],
};

/// `screw` of a boss
pub static SCREW: Table = Table {
    name: "part.boss.screw",
    doc: "A screw that clamps the boss; it needs a bore.",
    keys: &[
        required("clamp", Kind::Formula(PULL), "Clamp force."),
        required(
            "head",
            Kind::Formula(SIZE),
            "Diameter of the bearing face under the head (or its washer).",
        ),
    ],
};

/// `bore` of a boss
pub static BORE: Table = Table {
    name: "part.boss.bore",
    doc: "A hole along the tool axis, centred on the path.",
    keys: &[
        required("diameter", Kind::Formula(SIZE), "Diameter."),
        default(
            "depth",
            Kind::FormulaOr(SIZE, "through"),
            "through",
            "Depth of the full diameter from the top.",
        ),
        default(
            "reamed",
            Kind::Flag,
            "false",
            "Whether it is reamed to H7 (ISO 286-1).",
        ),
        optional(
            "counterbore",
            Kind::Table(&COUNTERBORE),
            "Wider at the top, for the head of a screw.",
        ),
    ],
};

/// `counterbore` of a bore
pub static COUNTERBORE: Table = Table {
    name: "part.boss.bore.counterbore",
    doc: "A wider start of a bore with a flat bottom. Beam and solid leave it out; mass, rules and plan do not.",
    keys: &[
        required("diameter", Kind::Formula(SIZE), "Diameter."),
        required(
            "depth",
            Kind::Formula(SIZE),
            "Depth from the top of the metal.",
        ),
    ],
};

/// `[[part.hole_row]]`
pub static HOLE_ROW: Table = Table {
    name: "part.hole_row",
    doc: "A row, or several parallel rows, of equal holes; as many as fit, centred between bosses.",
    keys: &[
        required("name", Kind::Text, "Name for sheets and messages."),
        required(
            "strip",
            Kind::Strip,
            "Drilled strip: `floor`, `outer wall`, `inner wall`, `rib 1`, ...",
        ),
        required("diameter", Kind::Formula(SIZE), "Diameter of the holes."),
        required(
            "pitch",
            Kind::Formula(SIZE),
            "Distance between neighbours of a row, along the path.",
        ),
        default(
            "depth",
            Kind::FormulaOr(SIZE, "through"),
            "through",
            "Depth of the full diameter from the drilled face.",
        ),
        default(
            "rows",
            Kind::Formula(COUNT),
            "1",
            "Number of parallel rows, rounded to a whole number; 0 leaves the holes out.",
        ),
        default(
            "row_gap",
            Kind::Formula(GAP),
            "0 mm",
            "Distance between neighbouring rows; needed where there are several.",
        ),
        default(
            "stagger",
            Kind::Formula(COUNT),
            "0",
            "Shift of every second row, as a share of the pitch: 0.5 is staggered.",
        ),
        optional(
            "offset",
            Kind::Formula(SHIFT),
            "Middle of the rows: across the floor from the path; up from the underside in walls and ribs. Left out: on the path; halfway up a wall or rib.",
        ),
        optional(
            "from",
            Kind::Place,
            "Start of the range of the path that is drilled. Left out: the whole path.",
        ),
        optional("to", Kind::Place, "End of that range."),
        default(
            "clearance",
            Kind::Formula(GAP),
            "1 mm",
            "Least distance along the path from a hole's edge to a boss or an end.",
        ),
    ],
};

/// `[[part.slit]]`
pub static SLIT: Table = Table {
    name: "part.slit",
    doc: "Equal slits side by side along a straight frame without walls; the strips between them bend together only where they are joined, at the ends of the slits.",
    keys: &[
        required("name", Kind::Text, "Name for sheets and messages."),
        default(
            "count",
            Kind::Formula(COUNT),
            "1",
            "Number of slits, rounded to a whole number; they leave one strip more; 0 leaves them out.",
        ),
        required(
            "width",
            Kind::Formula(SIZE),
            "Width of each slit: the kerf, or more.",
        ),
        required("from", Kind::Place, "Start of the slits along the path."),
        required("to", Kind::Place, "End of the slits."),
    ],
};

/// `[[part.carries]]`
pub static CARRIES: Table = Table {
    name: "part.carries",
    doc: "A mass that rides on the frame: insert, bearing, screws.",
    keys: &[
        required("name", Kind::Text, "Name for sheets and messages."),
        required(
            "mass",
            Kind::Formula(MASS),
            "Mass at each place; altogether where spread.",
        ),
        default(
            "at",
            Kind::PlacesOr("spread"),
            "spread",
            "Place or places, or `spread` along the path.",
        ),
        default(
            "offset",
            Kind::Vector(SHIFT, 2),
            "[0, 0]",
            "Centre of mass off the path: to the left, and up from the underside.",
        ),
    ],
};

/// `[variables.NAME]`
pub static VARIABLE: Table = Table {
    name: "variables.NAME",
    doc: "A dimension that may change: either `from` and `to`, or `choices`.",
    keys: &[
        optional("from", Kind::Fixed, "Lower bound."),
        optional("to", Kind::Fixed, "Upper bound."),
        optional(
            "step",
            Kind::Fixed,
            "Values are `from`, `from` + `step`, ...",
        ),
        default(
            "whole",
            Kind::Flag,
            "false",
            "Whether only whole numbers count.",
        ),
        optional(
            "choices",
            Kind::Choices,
            "A list of values, `\"drills\"` or `\"end_mills\"`.",
        ),
    ],
};

/// `[load.NAME]`
pub static LOAD: Table = Table {
    name: "load.NAME",
    doc: "A load case. Without supports the frame floats, and forces and moments must balance.",
    keys: &[
        optional(
            "supports",
            Kind::Tables(&SUPPORT),
            "Where the frame is held.",
        ),
        optional(
            "forces",
            Kind::Tables(&FORCES),
            "Forces and moments at places.",
        ),
        default(
            "acceleration",
            Kind::Vector(ACCELERATION, 3),
            "[0, 0, 0]",
            "Acceleration of the frame and all it carries, in plan axes.",
        ),
        optional(
            "opening",
            Kind::Table(&OPENING),
            "A place moved far along the tool axis, instead of forces and acceleration: a blade opened.",
        ),
        optional(
            "fatigue",
            Kind::Table(&FATIGUE),
            "How often the load comes; gives the measure `fatigue_safety`.",
        ),
    ],
};

/// `opening` of a load case
pub static OPENING: Table = Table {
    name: "load.NAME.opening",
    doc: "A place of a straight frame without walls moved along the tool axis in load steps, with large deflection.",
    keys: &[
        required("at", Kind::Place, "Place that is moved."),
        required(
            "to",
            Kind::Formula(SHIFT),
            "How far it comes; stress, force and energy are those there.",
        ),
        default(
            "from",
            Kind::Formula(SHIFT),
            "0 mm",
            "Where it comes back to in service; fatigue is judged between the two.",
        ),
    ],
};

/// `fatigue` of a load case
pub static FATIGUE: Table = Table {
    name: "load.NAME.fatigue",
    doc: "A load that comes and goes, judged by the material's fatigue strength.",
    keys: &[
        required(
            "cycles",
            Kind::Fixed,
            "How often: at most the cycles that the fatigue strength is known for.",
        ),
        default(
            "ratio",
            Kind::Fixed,
            "-1",
            "Least load over this load, from -1 (fully reversed) to below 1; 0: from zero to this load.",
        ),
    ],
};

/// An entry of `supports`
pub static SUPPORT: Table = Table {
    name: "load.NAME.supports",
    doc: "A support, alike at one or several places.",
    keys: &[
        required("at", Kind::Places, "Place or places."),
        default(
            "hold",
            Kind::Holds,
            "all",
            "`all`, or a list of `x`, `y`, `z`, `turn x`, `turn y`, `turn z`, `warp`.",
        ),
        default("axes", AXES, "plan", AXES_DOC),
    ],
};

/// An entry of `forces`
pub static FORCES: Table = Table {
    name: "load.NAME.forces",
    doc: "A force and a moment, alike at one or several places.",
    keys: &[
        required("at", Kind::Places, "Place or places."),
        default("axes", AXES, "plan", AXES_DOC),
        default(
            "force",
            Kind::Vector(FORCE, 3),
            "[0, 0, 0]",
            "Force along the three axes.",
        ),
        default(
            "moment",
            Kind::Vector(MOMENT, 3),
            "[0, 0, 0]",
            "Moment about the three axes.",
        ),
        default(
            "offset",
            Kind::Vector(SHIFT, 2),
            "[0, 0]",
            "Where the force acts off the path: to the left, and up from the underside.",
        ),
    ],
};

/// `[[objective]]`
pub static OBJECTIVE: Table = Table {
    name: "objective",
    doc: "Either `least` or `most`.",
    keys: &[
        optional(
            "least",
            Kind::Expression,
            "What is to be as small as can be.",
        ),
        optional(
            "most",
            Kind::Expression,
            "What is to be as large as can be.",
        ),
        optional(
            "name",
            Kind::Text,
            "What it is called where its formula is long; default: the formula.",
        ),
        optional(
            "quantile",
            Kind::Fixed,
            "Share of the parts that come out so good or better, such as `95 %`; without it, nominal sizes count.",
        ),
    ],
};

/// `[[scatter]]`
pub static SCATTER: Table = Table {
    name: "scatter",
    doc: "One thing that deviates from its nominal value. Dimensions deviate as the process makes them where nothing else is said.",
    keys: &[
        required(
            "of",
            Kind::Text,
            "A variable; `material.modulus`, `material.density` or `material.yield`; `load.` and a load case; or a dimension as `try` lists it: `outer wall, thickness`.",
        ),
        default(
            "shape",
            Kind::Words(&["normal", "uniform", "triangular", "truncated"]),
            "normal",
            "Distribution; `truncated` is a normal one cut off at `plus_minus`.",
        ),
        optional(
            "plus_minus",
            Kind::Fixed,
            "To either side, with a unit or in per cent: the limits; of a normal distribution three standard deviations.",
        ),
        optional(
            "sd",
            Kind::Fixed,
            "Standard deviation, with a unit or in per cent.",
        ),
        default(
            "shift",
            Kind::Fixed,
            "0",
            "Mean less nominal value, with a unit or in per cent: drills cut wide, bar comes strong.",
        ),
        optional(
            "common",
            Kind::Text,
            "Name of a cause that others have in common, such as `same bar`.",
        ),
        default(
            "share",
            Kind::Fixed,
            "1",
            "Share of the variance that comes from the common cause.",
        ),
    ],
};

/// `[robust]`
pub static ROBUST: Table = Table {
    name: "robust",
    doc: "What is asked of parts as they come out of the shop.",
    keys: &[
        optional(
            "chance",
            Kind::Fixed,
            "Least chance that a part meets all constraints, such as `99 %`; without it, nominal sizes are judged.",
        ),
        default(
            "samples",
            Kind::Whole(1, 4096),
            "16",
            "Scattered copies of every design of a search, at least; more than there are sources of scatter in any case.",
        ),
        default(
            "process",
            Kind::Words(&["normal", "uniform", "triangular", "truncated", "none"]),
            "normal",
            "How the tolerances of the process are read: plus-minus as three standard deviations, or as limits.",
        ),
    ],
};

/// `[calibration]`
pub static CALIBRATION: Table = Table {
    name: "calibration",
    doc: "How parts come out of this shop beside what catalogue and model say, each factor with its standard error. What is left out stays as it is.",
    keys: &[
        required(
            "parts",
            Kind::Whole(1, 100_000),
            "Measured parts that it rests on.",
        ),
        optional(
            "density",
            Kind::Table(&DENSITY),
            "Density over the catalogue's.",
        ),
        optional(
            "modulus",
            Kind::Table(&MODULUS),
            "Modulus of elasticity over the catalogue's.",
        ),
        optional(
            "wall",
            Kind::Table(&WALL_OFFSET),
            "What floors, walls and ribs come out thicker than drawn.",
        ),
        optional(
            "joint",
            Kind::Table(&JOINT),
            "Give of the joints, in series with every load case that is held and loaded by forces.",
        ),
        optional(
            "overhead",
            Kind::Table(&OVERHEAD),
            "What every operation on the machine takes beyond its plan.",
        ),
        optional(
            "acceleration",
            Kind::Table(&QUICKNESS),
            "The machine's acceleration over the catalogue's.",
        ),
    ],
};

/// `[calibration.density]`
pub static DENSITY: Table = Table {
    name: "calibration.density",
    doc: "Density of the metal.",
    keys: &[
        required(
            "factor",
            Kind::Fixed,
            "Over that of the catalogue, such as `0.995`.",
        ),
        required("error", Kind::Fixed, "Its standard error."),
    ],
};

/// `[calibration.modulus]`
pub static MODULUS: Table = Table {
    name: "calibration.modulus",
    doc: "Modulus of elasticity.",
    keys: &[
        required("factor", Kind::Fixed, "Over that of the catalogue."),
        required("error", Kind::Fixed, "Its standard error."),
    ],
};

/// `[calibration.wall]`
pub static WALL_OFFSET: Table = Table {
    name: "calibration.wall",
    doc: "Thickness of floors, walls and ribs.",
    keys: &[
        required(
            "offset",
            Kind::Fixed,
            "Added to each; negative where they come out thinner.",
        ),
        required("error", Kind::Fixed, "Its standard error."),
    ],
};

/// `[calibration.joint]`
pub static JOINT: Table = Table {
    name: "calibration.joint",
    doc: "Give of the joints.",
    keys: &[
        required(
            "compliance",
            Kind::Fixed,
            "Way per force, such as `0.00002 mm/N`.",
        ),
        required("error", Kind::Fixed, "Its standard error."),
    ],
};

/// `[calibration.overhead]`
pub static OVERHEAD: Table = Table {
    name: "calibration.overhead",
    doc: "Time of every operation.",
    keys: &[
        required("time", Kind::Fixed, "Added to each."),
        required("error", Kind::Fixed, "Its standard error."),
    ],
};

/// `[calibration.acceleration]`
pub static QUICKNESS: Table = Table {
    name: "calibration.acceleration",
    doc: "Acceleration of the machine.",
    keys: &[
        required("factor", Kind::Fixed, "Over that of the catalogue."),
        required("error", Kind::Fixed, "Its standard error."),
    ],
};

/// `[explore]`
pub static EXPLORE: Table = Table {
    name: "explore",
    doc: "How the space of designs is explored.",
    keys: &[
        default(
            "plan",
            Kind::Words(&[
                "search",
                "surrogate search",
                "grid",
                "latin hypercube",
                "even latin hypercube",
                "sobol",
                "halton",
                "space filling",
                "two-level",
                "plackett-burman",
                "central composite",
                "box-behnken",
            ]),
            "search",
            "`search` looks for the front; so does `surrogate search`, for studies of some hundred designs that take seconds each; the others sample. `grid`: every combination. `latin hypercube`, `even latin hypercube`, `sobol`, `halton`: as many designs as asked for, spread evenly. `space filling`: the same, but none that breaks a geometric rule. `two-level`: the bounds of all variables combined, or a fraction of them. `plackett-burman`: the bounds in the fewest designs. `central composite`, `box-behnken`: what a quadratic fit needs.",
        ),
        default(
            "evaluations",
            Kind::Whole(1, i64::MAX),
            "20000",
            "Designs to evaluate; grid, two-level, Plackett-Burman, central composite and Box-Behnken designs take all of their own.",
        ),
        default(
            "stall",
            Kind::Whole(0, i64::MAX),
            "0",
            "A search ends when its front's hypervolume has gained less than 0.01 % in so many evaluations; 0: it uses them all.",
        ),
        default(
            "at_once",
            Kind::Whole(1, 256),
            "4",
            "Of the surrogate search: designs chosen together and evaluated side by side. 1 makes the most of few evaluations.",
        ),
        default(
            "levels",
            Kind::Whole(2, 1000),
            "5",
            "Values of each variable without a step on a grid.",
        ),
        default(
            "halvings",
            Kind::Whole(0, 11),
            "0",
            "How often the number of corners is halved, of `two-level` and `central composite`: fewer designs, more effects that can't be told apart.",
        ),
        default(
            "axial",
            Kind::Words(&["inscribed", "faced"]),
            "inscribed",
            "Of `central composite`: the ends of the axes on the bounds and the corners drawn in (rotatable), or both on the bounds.",
        ),
        default(
            "even_by",
            Kind::Words(&["discrepancy", "distance"]),
            "discrepancy",
            "Of `even latin hypercube`: least centred discrepancy, or greatest least distance between two designs.",
        ),
        default(
            "truth",
            Kind::Words(&["law", "beam", "solid"]),
            "law",
            "What stiffness, displacement and frequency rest on: `law`, the beam times ratios learnt from solids of some designs; `beam` alone; `solid`, a coarse solid of every design (slow).",
        ),
        default(
            "proofs",
            Kind::Whole(0, 1000),
            "24",
            "Candidates, spread over the front, that are solved in solid on two meshes at the end.",
        ),
    ],
};
