//! A floor slit lengthwise: strips side by side that bend together only where they are joined.

use super::section::Metal;
use super::torsion::rectangle_torsion;
use crate::part::{Section, Slits};

/// What slits make of a floor, seen as one beam over their length.
pub(super) struct SlitFloor {
    /// Torsion constant, in mm⁴: the strips' own.
    pub torsion: f64,
    /// Warping constant, in mm⁶: every strip bends flatwise as it is carried round at its distance, and twists.
    pub warping: f64,
    /// Flexibility times G for shear along y, along z, and for the warping torque.
    pub shear: [[f64; 3]; 3],
    /// Greatest stress of a strip's own edgewise bending at the joints per shear force along y, in MPa/N.
    pub local: f64,
}

/// Shear factor of a rectangle: shear area 5/6 of the area (Timoshenko; from memory).
const RECTANGLE: f64 = 1.2;

/// The slit floor of a section; it must have no walls.
///
/// n strips b wide and t thick between joints L apart. Flatwise they bend as one: I adds up. Edgewise the joints turn
/// alike and each strip bends into an S: k = 12 n E I_b / (L³ (1 + 6 r / L)) with I_b = t b³ / 12 and the give of its
/// roots r ([`root_give`]), which a beam of the strips' whole I about their common middle has where its shear flexibility
/// is made up to 1 / GA = L² / (12 E) ((1 + 6 r / L) / (n I_b) - 1 / I) + 1.2 / (G n b t). A strip's S-bending has
/// M = V L / (2 n) at the joints.
///
/// Twist: J = sum of the strips', warping constant sum t³ (b y_i² / 12 + b³ / 144), which is the whole floor's where the
/// slits are thin. See [`warping_slip`] for how the strips go separate ways between the joints.
///
/// Source: frames of parallel bars between stiff ends (Vierendeel), Vlasov's theory for the strips' flatwise bending:
/// both derived here.
pub(super) fn slit_floor(section: &Section, slits: Slits, metal: &Metal) -> SlitFloor {
    let (t, b) = (section.floor_mm, section.floor_strip_mm());
    let n = slits.count as f64 + 1.0;
    let (mut whole, mut carried) = (0.0, 0.0);
    for strip in section.strips() {
        let y = strip.centre().0;
        whole += t * b * y * y + t * b.powi(3) / 12.0;
        carried += t.powi(3) * b * y * y / 12.0;
    }
    let twisted = n * (b * t).powi(3) / 144.0;
    let torsion = n * rectangle_torsion(b, t);
    let own = n * t * b.powi(3) / 12.0;
    let area = n * b * t;
    let roots = 1.0 + 6.0 * root_give(b, b + slits.width_mm) / slits.length_mm;
    let sway = slits.length_mm.powi(2) / (12.0 * metal.modulus_mpa) * (roots / own - 1.0 / whole);
    let mut shear = [[0.0; 3]; 3];
    shear[0][0] = RECTANGLE / area + metal.shear_modulus_mpa() * sway;
    shear[1][1] = RECTANGLE / area;
    let stiffness = Twist {
        torsion: metal.shear_modulus_mpa() * torsion,
        carried: metal.modulus_mpa * carried,
        twisted: metal.modulus_mpa * twisted,
        length: slits.length_mm,
    };
    shear[2][2] = warping_slip(&stiffness) / torsion;
    SlitFloor {
        torsion,
        warping: carried + twisted,
        shear,
        local: 3.0 * slits.length_mm / (n * t * b * b),
    }
}

/// How much longer a strip seems to its edgewise bending because the metal it stands on gives at its root, in mm.
///
/// A row of strips `width` b wide, `pitch` p apart, on the edge of a half-plane, each with the stresses of a moment M. The
/// edge's mean turn over a strip is M r / (E I), with
/// r = 48 / (p b³) sum S² / k over k = 2 pi m / p, S = (b² / 2) (sin u / u² - cos u / u), u = k b / 2:
/// 0.233 b where the slits are thin, 0.477 b for a strip alone.
///
/// Source: derived here from the half-plane under a wave of normal stress, v = 2 q / (E k) (Timoshenko and Goodier; from
/// memory). For a strip alone O'Donnell, J. Appl. Mech. 1960, has 0.442 b (from memory). Against solids of slit blades:
/// tests/solid_blade.rs.
fn root_give(width: f64, pitch: f64) -> f64 {
    let waves = (12.0 * pitch / width).ceil().clamp(24.0, 400.0) as usize;
    let sum: f64 = (1..=waves)
        .map(|wave| {
            let k = 2.0 * std::f64::consts::PI * wave as f64 / pitch;
            let u = 0.5 * k * width;
            let (sin, cos) = u.sin_cos();
            // Small u by its series, u / 3.
            let bessel = if u < 1e-3 {
                u / 3.0
            } else {
                sin / (u * u) - cos / u
            };
            (0.5 * width * width * bessel).powi(2) / k
        })
        .sum();
    48.0 / (pitch * width.powi(3)) * sum
}

/// Stiffness of slit strips against twist, and their length.
struct Twist {
    /// G J of all strips, in N mm².
    torsion: f64,
    /// E C_w of the strips carried round flatwise, and of their own warping, in N mm⁴.
    carried: f64,
    twisted: f64,
    length: f64,
}

/// G J times the flexibility for the warping torque with which one beam twists as the strips do.
///
/// Between joints that do not warp every strip twists by itself and bends flatwise by itself:
/// k = (G J / L) / (1 - tanh v / v) + 12 E C / L³, v² = G J L² / (4 E C_b), C of the carried and C_b of the strips' own
/// warping. One beam of all, whose strips would keep in step all along, has k = (G J / L) / (1 - tanh(u) / (u g)),
/// u² = G J L² / (4 E (C + C_b) g) with g = 1 + G J F; F is found so that both are equal.
fn warping_slip(twist: &Twist) -> f64 {
    let half = |warping: f64| 0.5 * twist.length * (twist.torsion / warping).sqrt();
    let (own, all) = (half(twist.twisted), half(twist.twisted + twist.carried));
    let uniform = twist.torsion / twist.length;
    // 1 - tanh v / v, by its series where that would cancel.
    let held = |v: f64| match v < 0.05 {
        true => v * v * (1.0 / 3.0 - 2.0 / 15.0 * v * v),
        false => 1.0 - v.tanh() / v,
    };
    let separate = uniform / held(own) + 12.0 * twist.carried / twist.length.powi(3);
    let wanted = 1.0 - uniform / separate;
    let share = |root: f64| (all / root).tanh() / (all * root);
    let (mut low, mut high) = (1.0, 2.0);
    while share(high) > wanted && high < 1e6 {
        high *= 2.0;
    }
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if share(middle) > wanted {
            low = middle;
        } else {
            high = middle;
        }
    }
    low * low - 1.0
}

#[cfg(test)]
mod tests {
    use super::root_give;

    /// Limits of the sum: zeta(3) 48 / (8 pi³) = 0.23260 b with no gap, 3 / (2 pi) = 0.47746 b alone (from the integrals
    /// of spherical Bessel functions; own computation). 2e-3: waves left out.
    #[test]
    fn roots_give_between_their_limits() {
        let close = |got: f64, want: f64| assert!((got - want).abs() < 2e-3 * want, "{got} {want}");
        close(root_give(3.0, 3.0), 3.0 * 0.232_60);
        close(root_give(0.5, 16.0), 0.5 * 0.477_46);
        assert!(root_give(3.0, 4.0) > root_give(3.0, 3.5));
    }
}
