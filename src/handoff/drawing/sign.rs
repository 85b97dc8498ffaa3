//! Signs of ISO 129-1 that no common face has: depth and counterbore. They are drawn, not set.

use super::ink::{Pen, Point};

/// A sign among words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Sign {
    /// `↧`: what follows is a depth.
    Depth,
    /// `⌴`: what follows is a counterbore.
    Counterbore,
}

/// Room that a sign takes, as a share of the letters' size.
pub(crate) const WIDTH: f64 = 0.85;

/// Words taken apart at their signs: each piece with the sign behind it.
pub(crate) fn parts(text: &str) -> Vec<(&str, Option<Sign>)> {
    let mut found = Vec::new();
    let mut rest = text;
    while let Some(at) = rest.find(['↧', '⌴']) {
        let sign = match rest[at..].starts_with('↧') {
            true => Sign::Depth,
            false => Sign::Counterbore,
        };
        found.push((&rest[..at], Some(sign)));
        let end = rest[at..].chars().next().map_or(0, char::len_utf8);
        rest = &rest[at + end..];
    }
    found.push((rest, None));
    found
}

/// Lines of a sign, from the base line's start: x to the right, y down.
pub(crate) fn lines(sign: Sign, size: f64) -> Vec<(Pen, Vec<Point>)> {
    let at = |x: f64, y: f64| (x * size, -y * size);
    match sign {
        Sign::Depth => vec![
            (Pen::Narrow, vec![at(0.12, 0.7), at(0.68, 0.7)]),
            (Pen::Narrow, vec![at(0.4, 0.7), at(0.4, 0.2)]),
            (
                Pen::Fill,
                vec![at(0.4, 0.0), at(0.29, 0.32), at(0.51, 0.32), at(0.4, 0.0)],
            ),
        ],
        Sign::Counterbore => vec![(
            Pen::Narrow,
            vec![at(0.08, 0.62), at(0.08, 0.04), at(0.7, 0.04), at(0.7, 0.62)],
        )],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_taken_apart_at_their_signs() {
        assert_eq!(parts("⌀4"), [("⌀4", None)]);
        assert_eq!(
            parts("⌴↧2"),
            [
                ("", Some(Sign::Counterbore)),
                ("", Some(Sign::Depth)),
                ("2", None)
            ]
        );
        assert_eq!(
            parts("⌀6 ⌴ ↧2"),
            [
                ("⌀6 ", Some(Sign::Counterbore)),
                (" ", Some(Sign::Depth)),
                ("2", None)
            ]
        );
    }
}
