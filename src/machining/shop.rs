//! The shop: stock, material and machine, with every cutting condition that no design changes worked out once.

use super::cost::{Rates, Wear};
use super::cutting;
use super::data::{CuttingData, MachiningError};
use super::life::taylor_life_min;
use super::practice::*;
use super::step::{Limit, Step, Tool};
use super::tooling::{Bit, Cutter, Limits, chip_load};
use crate::catalogue::{Machine, Material, ToolMaterial, Tools, chip_loads, usual_drill_price};
use crate::part::drill_point_height_mm;

/// Speed and feed of a cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Cut {
    pub rpm: f64,
    pub feed_mm_s: f64,
    /// Mean cutting force of all teeth in cut, in N.
    pub force_n: f64,
    pub limit: Limit,
}

impl Cut {
    /// Lowers the feed so far that the force (or the power) falls to a share of what it was, by Kienzle's law
    /// F ~ chip^(1 - mc), but not below `least` mm/s.
    fn slow(&mut self, share: f64, mc: f64, least: f64) {
        let wanted = self.feed_mm_s * share.powf(1.0 / (1.0 - mc));
        if wanted >= least {
            self.feed_mm_s = wanted;
            self.force_n *= share;
        } else if least < self.feed_mm_s {
            self.force_n *= (least / self.feed_mm_s).powf(1.0 - mc);
            self.feed_mm_s = least;
        }
    }

    /// Force in N square to a wall beside the tool.
    pub(super) fn side_force_n(&self) -> f64 {
        SIDE_SHARE * self.force_n
    }
}

/// How an end mill is in the metal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Engaged {
    /// Depth of cut along the tool, in mm.
    pub depth: f64,
    /// Width of cut across it, in mm.
    pub width: f64,
    /// How far the tool reaches down beside metal, in mm.
    pub reach: f64,
    /// How far the wall beside the tool gives, in mm per N; 0 where none is cut.
    pub wall_give: f64,
}

impl Engaged {
    /// A cut beside no wall that could give.
    pub(super) fn new(depth: f64, width: f64, reach: f64) -> Engaged {
        Engaged {
            depth,
            width,
            reach,
            wall_give: 0.0,
        }
    }

    /// The same cut beside a wall that gives so far, in mm per N.
    pub(super) fn beside(self, wall_give: f64) -> Engaged {
        Engaged { wall_give, ..self }
    }
}

/// Stock, material and machine, ready to plan any number of designs.
#[derive(Clone, Debug, PartialEq)]
pub struct Shop {
    pub(super) cutters: Vec<Cutter>,
    pub(super) drills: Vec<Bit>,
    pub(super) spot_rpm: f64,
    pub(super) spot_wear: Wear,
    pub(super) limits: Limits,
    pub(super) rates: Rates,
    pub(super) plain_slenderness: f64,
    /// What had to be assumed about the material.
    pub(super) assumed: Vec<String>,
    cutting: CuttingData,
    /// Young's modulus in MPa and Poisson's ratio of the part.
    elastic: (f64, f64),
}

impl Shop {
    /// The shop for these tools in stock, this material and this machine.
    ///
    /// # Errors
    /// [`MachiningError`] where no end mill is in stock or the material's cutting force is not known.
    pub fn new(
        tools: &Tools,
        material: &Material,
        machine: &Machine,
    ) -> Result<Shop, MachiningError> {
        if tools.end_mills.is_empty() {
            return Err(MachiningError::NoEndMill);
        }
        let mut assumed = Vec::new();
        let cutting = CuttingData::of(material, tools, &mut assumed)?;
        if material.price_per_kg.is_none() {
            assumed.push(format!(
                "{}: no price (`price_per_kg`) in the catalogue, {UNKNOWN_PRICE_PER_KG} a kilogram assumed",
                material.name
            ));
        }
        let mut shop = Shop {
            cutters: Vec::new(),
            drills: Vec::new(),
            spot_rpm: 0.0,
            spot_wear: Wear {
                price: SPOT_PRICE,
                life: 1.0,
            },
            limits: Limits::of(machine),
            rates: Rates::of(material, machine),
            plain_slenderness: plain_slenderness(material.iso_group, material.modulus_gpa),
            assumed,
            cutting,
            elastic: (material.modulus_gpa * 1e3, material.poisson),
        };
        shop.spot_rpm = shop
            .capped(
                shop.cutting.drill[ToolMaterial::Carbide as usize],
                0.5 * SPOT_TOOL_MM,
            )
            .0;
        shop.spot_wear.life = shop.mill_life_s(
            shop.spot_rpm,
            0.5 * SPOT_TOOL_MM,
            ToolMaterial::Carbide,
            None,
        );
        shop.cutters = shop.sharpen(tools);
        shop.drills = tools
            .drills
            .iter()
            .map(|drill| Bit {
                flute_length: drill.flute_length_mm,
                wear: Wear {
                    price: drill.price,
                    life: drill
                        .life_holes
                        .unwrap_or_else(|| holes_per_drill(material.iso_group)),
                },
                words: format!("drill {}, {}", drill.id, drill.material.words()),
                ..shop.bit(drill.diameter_mm, drill.material)
            })
            .collect();
        shop.drills
            .sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
        Ok(shop)
    }

    /// The same shop, parts made so many in one go (at least one).
    pub fn for_batch(mut self, parts: f64) -> Shop {
        self.rates.batch = parts.max(1.0);
        self
    }

    fn sharpen(&self, tools: &Tools) -> Vec<Cutter> {
        let loads = chip_loads();
        let mut cutters: Vec<_> = tools
            .end_mills
            .iter()
            .map(|mill| {
                let hss = mill.material == ToolMaterial::Hss;
                let share = self.cutting.chip_share * if hss { HSS_CHIP } else { 1.0 };
                let (rpm, limit) =
                    self.capped(self.cutting.mill[mill.material as usize], mill.diameter_mm);
                Cutter {
                    diameter: mill.diameter_mm,
                    flutes: mill.flutes,
                    flute_length: mill.flute_length_mm,
                    reach: mill.reach_mm,
                    chip: share * chip_load(&loads, mill.diameter_mm),
                    give: cutting::tool_deflection_mm(
                        1.0,
                        1.0,
                        FLUTED_CORE * mill.diameter_mm,
                        tool_modulus(mill.material),
                    ),
                    rpm,
                    limit,
                    wear: Wear {
                        price: mill.price,
                        life: self.mill_life_s(rpm, mill.diameter_mm, mill.material, mill.life_min),
                    },
                    words: format!(
                        "end mill {}, {} flutes, {}",
                        mill.id,
                        mill.flutes,
                        mill.material.words()
                    ),
                }
            })
            .collect();
        cutters.sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
        cutters
    }

    /// Speed in rev/min for a cutting speed in m/min and a diameter in mm, within what the spindle can do.
    fn capped(&self, cutting_speed: f64, diameter: f64) -> (f64, Limit) {
        let wanted = cutting::spindle_speed_rpm(cutting_speed, diameter);
        if wanted > self.limits.fastest_rpm {
            (self.limits.fastest_rpm, Limit::SpindleSpeed)
        } else {
            (wanted.max(self.limits.slowest_rpm), Limit::ChipLoad)
        }
    }

    /// A drill of any diameter in mm.
    pub(super) fn bit(&self, diameter: f64, material: ToolMaterial) -> Bit {
        let (rpm, mut limit) = self.capped(self.cutting.drill[material as usize], diameter);
        let mut feed_per_turn = match self.cutting.feed_at {
            Some((at_1_5, _)) if diameter < 1.5 => at_1_5 * diameter / 1.5,
            Some((at_1_5, at_12_5)) => {
                at_1_5 + (at_12_5 - at_1_5) * (diameter.min(12.5) - 1.5) / 11.0
            }
            None => UNKNOWN_DRILL_FEED * diameter,
        };
        let CuttingData { kc11, mc, .. } = self.cutting;
        let sine_of_half_point = 0.5 / drill_point_height_mm(1.0).hypot(0.5);
        let chip = 0.5 * feed_per_turn * sine_of_half_point;
        let torque = cutting::drill_torque_n_m(
            cutting::specific_force_mpa(kc11, mc, chip),
            feed_per_turn,
            diameter,
        );
        let power_w = torque * rpm * std::f64::consts::PI / 30.0;
        if power_w > self.limits.power_w {
            feed_per_turn *= (self.limits.power_w / power_w).powf(1.0 / (1.0 - mc));
            limit = Limit::Power;
        }
        let mut feed_mm_s = rpm * feed_per_turn / 60.0;
        if feed_mm_s > self.limits.feed {
            feed_mm_s = self.limits.feed;
            limit = Limit::FeedLimit;
        }
        Bit {
            diameter,
            flute_length: f64::INFINITY,
            hss: material == ToolMaterial::Hss,
            rpm,
            feed_mm_s,
            limit,
            wear: self.special_wear(diameter),
            words: String::new(),
        }
    }

    /// What a step takes of its tool's life, and that tool's wear.
    pub(super) fn wear(&self, step: &Step) -> (f64, Wear) {
        match step.tool {
            Tool::Hand | Tool::Laser => (0.0, Wear::NONE),
            Tool::EndMill(index) => (step.cut_s, self.cutters[index].wear),
            Tool::Spot => (step.cut_s, self.spot_wear),
            Tool::Drill(index) => (step.count, self.drills[index].wear),
            Tool::SpecialDrill(diameter) => (step.count, self.special_wear(diameter)),
            Tool::Reamer(diameter) => (step.count, self.reamer_wear(diameter)),
        }
    }

    /// Wear of a drill that is not in stock, by diameter in mm.
    pub(super) fn special_wear(&self, diameter: f64) -> Wear {
        Wear {
            price: usual_drill_price(diameter, ToolMaterial::Hss),
            life: holes_per_drill(self.cutting.group),
        }
    }

    /// A reamer of any diameter in mm, of high-speed steel: slower than a drill, fed faster.
    pub(super) fn reamer(&self, diameter: f64) -> Bit {
        let drill = self.bit(diameter, ToolMaterial::Hss);
        let rpm = (REAM_SPEED * drill.rpm).max(self.limits.slowest_rpm);
        let wanted = REAM_FEED * drill.feed_mm_s * rpm / drill.rpm;
        let (feed_mm_s, limit) = if wanted > self.limits.feed {
            (self.limits.feed, Limit::FeedLimit)
        } else {
            (wanted, Limit::ChipLoad)
        };
        Bit {
            rpm,
            feed_mm_s,
            limit,
            wear: self.reamer_wear(diameter),
            ..drill
        }
    }

    fn reamer_wear(&self, diameter: f64) -> Wear {
        let drill = self.special_wear(diameter);
        Wear {
            price: REAMER_PRICE * drill.price,
            life: (REAMER_LIFE * drill.life).max(1.0),
        }
    }

    /// Time in cut in s that a milling tool lasts: Taylor's, at most what its row or the material's group allows.
    fn mill_life_s(
        &self,
        rpm: f64,
        diameter: f64,
        material: ToolMaterial,
        longest_min: Option<f64>,
    ) -> f64 {
        let group = self.cutting.group;
        let speed = rpm * std::f64::consts::PI * diameter / 1000.0;
        let life = match self.cutting.taylor[material as usize] {
            Some((constant, exponent)) => taylor_life_min(speed, constant, exponent),
            None => unknown_life_min(group),
        };
        60.0 * life.min(longest_min.unwrap_or_else(|| longest_life_min(group)))
    }

    /// Speed and feed of an end mill in a cut: chip load with radial thinning, then the machine's feed, its power
    /// (Kienzle), then how far tool and wall may bend; the last that bound is named.
    ///
    /// A cut no wider than what roughing leaves is a finish pass, which bends tool and wall by the side share of the
    /// force; roughing bends the tool by all of it. The force acts halfway up the depth of cut. Bending lowers the chip
    /// load to no less than the least chip that is cut: what is then left of it is for the reader of the wall's
    /// deflection.
    pub(super) fn mill(&self, cutter: &Cutter, engaged: Engaged) -> Cut {
        let Engaged { depth, width, .. } = engaged;
        let width = width.clamp(1e-3 * cutter.diameter, cutter.diameter);
        let chip_load = cutting::thinned_chip_load_mm(cutter.chip, width, cutter.diameter)
            .min(MOST_THINNING * cutter.chip);
        let per_s = cutter.rpm * cutter.flutes / 60.0;
        let mut cut = Cut {
            rpm: cutter.rpm,
            feed_mm_s: per_s * chip_load,
            force_n: 0.0,
            limit: cutter.limit,
        };
        if cut.feed_mm_s > self.limits.feed {
            cut.feed_mm_s = self.limits.feed;
            cut.limit = Limit::FeedLimit;
        }
        let least = (LEAST_CHIP * per_s * chip_load).min(cut.feed_mm_s);
        let angle = cutting::engagement_angle(width, cutter.diameter);
        let chip = 2.0 * cut.feed_mm_s / per_s * width / (cutter.diameter * angle);
        let CuttingData { kc11, mc, .. } = self.cutting;
        let specific = cutting::specific_force_mpa(kc11, mc, chip);
        let teeth = (cutter.flutes * angle / (2.0 * std::f64::consts::PI)).max(1.0);
        cut.force_n = teeth * specific * depth * chip;
        let power_w = depth * width * cut.feed_mm_s * specific / 1000.0;
        if power_w > self.limits.power_w {
            cut.slow(self.limits.power_w / power_w, mc, 0.0);
            cut.limit = Limit::Power;
        }
        let finishing = width <= FINISH_ALLOWANCE_MM;
        let (share, most) = if finishing {
            (SIDE_SHARE, FINISH_BEND_MM)
        } else {
            (1.0, ROUGH_BEND_MM)
        };
        let stick_out =
            (engaged.reach + HOLDER_ROOM_MM).max(LEAST_STICK_OUT * cutter.diameter) - 0.5 * depth;
        let tool_mm = share * cut.force_n * cutter.give * stick_out.max(0.0).powi(3);
        if tool_mm > most {
            cut.slow(most / tool_mm, mc, least);
            cut.limit = Limit::ToolBending;
        }
        let wall_mm = SIDE_SHARE * cut.force_n * engaged.wall_give;
        if wall_mm > FINISH_BEND_MM {
            cut.slow(FINISH_BEND_MM / wall_mm, mc, least);
            cut.limit = Limit::WallBending;
        }
        cut
    }

    /// Deflection in mm per N of a free-standing wall's edge under a force that is spread evenly over its height, as a
    /// finish pass does: 3/8 of that under the force at the edge (cantilever, q H⁴ / 8 against P H³ / 3).
    ///
    /// `thickness` and `height` in mm, both positive.
    pub(super) fn wall_give(&self, thickness: f64, height: f64) -> f64 {
        let (modulus, poisson) = self.elastic;
        0.375 * cutting::wall_edge_give_mm_n(height, thickness, modulus, poisson)
    }

    /// Whether holes can be drilled in this material.
    ///
    /// # Errors
    /// [`MachiningError::NoSpeed`] where no speed of drilling is known for any tool.
    pub fn can_drill(&self) -> Result<(), MachiningError> {
        self.cutting.drilling.clone()
    }

    /// The widest end mill not wider than `room` in mm, if there is one.
    pub(super) fn widest_within(&self, room: f64) -> Option<usize> {
        self.cutters
            .iter()
            .rposition(|cutter| cutter.diameter <= room)
    }

    /// The drill in stock for a hole of this diameter in mm, if there is one.
    pub(super) fn drill_for(&self, diameter: f64) -> Option<usize> {
        let off = |bit: &Bit| (bit.diameter - diameter).abs();
        (0..self.drills.len())
            .filter(|&index| off(&self.drills[index]) <= SAME_DRILL_MM)
            .min_by(|&a, &b| off(&self.drills[a]).total_cmp(&off(&self.drills[b])))
    }

    /// Whether a hole of this diameter in mm in a boss is milled on a helix: no drill has it, and a cutter fits.
    pub(super) fn bores(&self, diameter: f64) -> bool {
        self.drill_for(diameter).is_none() && self.widest_within(BORE_CUTTER * diameter).is_some()
    }

    /// The tool in words; empty for none.
    pub(super) fn words(&self, tool: Tool) -> String {
        match tool {
            Tool::Hand | Tool::Laser => String::new(),
            Tool::EndMill(index) => self.cutters[index].words.clone(),
            Tool::Drill(index) => self.drills[index].words.clone(),
            Tool::SpecialDrill(diameter) => format!("drill {diameter:.3} mm, not in stock"),
            Tool::Reamer(diameter) => format!("reamer {diameter} mm H7, HSS"),
            Tool::Spot => format!("90° mill {SPOT_TOOL_MM} mm, 2 flutes, carbide"),
        }
    }
}
