//! Steps and remarks in words, for the sheet.

use super::Operation;
use super::cost::StepCost;
use super::job::Job;
use super::step::{Feature, Kind, Limit, Remark, Step};
use crate::part::{Layout, Part};

/// A step with its words and its cost.
pub(super) fn operation(
    part: &Part,
    layout: &Layout,
    step: &Step,
    tool: String,
    cost: &StepCost,
) -> Operation {
    Operation {
        name: kind(step.kind).into(),
        feature: feature(part, layout, step.feature),
        setup: step.setup + 1,
        tool,
        spindle_rpm: step.spindle_rpm,
        feed_mm_min: step.feed_mm_min,
        depth_mm: step.depth_mm,
        width_mm: step.width_mm,
        count: step.count.round() as usize,
        cut_length_mm: step.cut_length_mm,
        removed_mm3: step.removed_mm3,
        cut_s: step.cut_s,
        move_s: step.move_s,
        fixed_s: step.fixed_s,
        cost: cost.total(),
        tool_life_share: cost.life_share,
        limit: limit(step.limit).into(),
        simulated_s: f64::NAN,
    }
}

pub(super) fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Load => "load and unload",
        Kind::Zero => "probe the zero",
        Kind::Face => "face",
        Kind::OutlineRough => "outline rough",
        Kind::Corners => "corners rough",
        Kind::OutlineFinish => "outline finish",
        Kind::PocketRough => "pocket rough",
        Kind::PocketLoops => "pocket rough in loops",
        Kind::PocketCorners => "pocket corners",
        Kind::FloorFinish => "floor finish",
        Kind::WallFinish => "wall finish",
        Kind::Top => "mill to height",
        Kind::Spot => "spot",
        Kind::Drill => "drill",
        Kind::Peck => "drill in pecks",
        Kind::Bore => "bore on a helix",
        Kind::Ream => "ream",
        Kind::Counterbore => "counterbore",
        Kind::EdgeBreak => "break edges",
        Kind::LaserCut => "cut by laser",
        Kind::Wash => "wash and look over",
        Kind::Measure => "measure",
    }
}

fn limit(limit: Limit) -> &'static str {
    match limit {
        Limit::Nothing => "",
        Limit::ChipLoad => "chip load",
        Limit::SpindleSpeed => "spindle speed",
        Limit::FeedLimit => "feed limit",
        Limit::Power => "power",
        Limit::ToolBending => "tool bending",
        Limit::WallBending => "wall bending",
        Limit::Acceleration => "acceleration",
    }
}

/// ` of boss lug 1` for a boss's section; empty for the frame's own.
fn of_section(part: &Part, layout: &Layout, section: usize) -> String {
    let shape = layout.sections.get(section);
    let boss = part.bosses.iter().find(|boss| Some(&boss.section) == shape);
    match boss {
        Some(boss) if section > 0 => format!(" of boss {}", boss.name),
        _ => String::new(),
    }
}

pub(super) fn feature(part: &Part, layout: &Layout, feature: Feature) -> String {
    let of_section = |section| of_section(part, layout, section);
    match feature {
        Feature::Part => "part".into(),
        Feature::Top => "top".into(),
        Feature::Underside => "underside".into(),
        Feature::Outline => "outline".into(),
        Feature::Slot(section, place) => format!("slot {}{}", place + 1, of_section(section)),
        Feature::OpenSide(section, 0) => format!("outer side{}", of_section(section)),
        Feature::OpenSide(section, _) => format!("inner side{}", of_section(section)),
        Feature::Strip(section, name) => format!("{}{}", name.words(), of_section(section)),
        Feature::Row(index) => {
            let name = part.hole_rows.get(index).map_or("", |row| &row.name);
            format!("row {name}")
        }
        Feature::Slits(index) => {
            let name = part.bosses.get(index).map_or("", |boss| &boss.name);
            format!("slits {name}")
        }
        Feature::Bore(index) => {
            let name = part.bosses.get(index).map_or("", |boss| &boss.name);
            format!("bore of {name}")
        }
    }
}

/// A remark in words.
pub(super) fn remark(job: &Job, remark: &Remark) -> String {
    let feature = |of| feature(job.part, job.layout, of);
    match *remark {
        Remark::Narrow(slot, width) => format!(
            "no end mill in stock fits {} ({width:.2} mm); it is charged with the smallest, {:.2} mm",
            feature(slot),
            job.shop.cutters[0].diameter
        ),
        Remark::Deep(pocket, depth, cutter) => format!(
            "{} is {depth:.1} mm deep, the {:.2} mm end mill reaches {:.1} mm: a tool with more reach (`reach_mm`) is needed",
            feature(pocket),
            job.shop.cutters[cutter].diameter,
            job.shop.cutters[cutter].reach
        ),
        Remark::SharpBend(radius) => {
            format!(
                "the inside of the sharpest bend ({radius:.2} mm) is tighter than the smallest end mill in stock"
            )
        }
        Remark::Slender(section, name, slenderness) => format!(
            "{}{} is {slenderness:.0} times as high as thick: support it while it is finished",
            name.words(),
            of_section(job.part, job.layout, section)
        ),
        Remark::NoDrill(holes, diameter) => format!(
            "no drill of {diameter:.3} mm in stock for {}; charged as if there were one",
            feature(holes)
        ),
        Remark::DeepHole(holes, depth) => {
            format!(
                "{} goes {depth:.1} mm deep, beyond the flutes of its drill",
                feature(holes)
            )
        }
        Remark::Plunge(pocket) => format!(
            "{} has no room for a ramp: its end mill plunges and must cut across its centre",
            feature(pocket)
        ),
        Remark::WideEdges(holes) => format!(
            "edges of {} are wider than the 90° tool: those on the underside are left to hand work and not charged",
            feature(holes)
        ),
        Remark::SideHoles(row) => format!(
            "{} is drilled from the side in a setup of its own, the part turned {} for every hole; whether the drill reaches is not checked",
            feature(Feature::Row(row)),
            if job.shop.limits.rotary {
                "by the machine"
            } else {
                "by hand"
            }
        ),
        Remark::TooLarge(x, y) => format!(
            "the billet, {x:.0} x {y:.0} mm, is too large for the machine's table, {} x {} mm",
            job.shop.limits.table[0], job.shop.limits.table[1]
        ),
    }
}
