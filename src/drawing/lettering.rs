//! Letters on paper and in pictures: the two faces that we ship, how wide a text is in them, where it is cut.
//!
//! The faces are Inter, cut to Latin, Greek and the signs of the trade (`fonts/make.py`), with figures of equal
//! width. A letter that they lack is drawn as an empty box, so a name in another script keeps its room.

use std::sync::{Arc, OnceLock};

use resvg::usvg::{Options, fontdb::Database};
use rustybuzz::{Direction, Face, UnicodeBuffer};

/// The regular face, an OpenType file.
pub(crate) const REGULAR: &[u8] = include_bytes!("fonts/regular.otf");
/// The bold face (its own weight is 600).
pub(crate) const BOLD: &[u8] = include_bytes!("fonts/bold.otf");

/// Letters of a text that are looked at, at most: no line of paper takes more.
const MOST_LETTERS: usize = 400;

/// Which face.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Weight {
    /// For reading.
    Regular,
    /// For headings, and what counts most.
    Bold,
}

/// A letter as it is set: the face's glyph, its advance as a share of the letters' size, and the bytes of the text
/// that it stands for.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Set {
    pub glyph: u32,
    pub advance: f32,
    pub offset: [f32; 2],
    pub bytes: std::ops::Range<usize>,
}

fn face(weight: Weight) -> &'static Face<'static> {
    static FACES: OnceLock<[Face<'static>; 2]> = OnceLock::new();
    let faces = FACES.get_or_init(|| {
        [REGULAR, BOLD].map(|data| Face::from_slice(data, 0).expect("the faces that we ship"))
    });
    &faces[usize::from(weight == Weight::Bold)]
}

/// A text set from left to right, kerned.
pub(crate) fn set(text: &str, weight: Weight) -> Vec<Set> {
    let face = face(weight);
    let mut buffer = UnicodeBuffer::new();
    buffer.push_str(text);
    buffer.guess_segment_properties();
    buffer.set_direction(Direction::LeftToRight);
    let shaped = rustybuzz::shape(face, &[], buffer);
    let em = face.units_per_em() as f32;
    let (infos, places) = (shaped.glyph_infos(), shaped.glyph_positions());
    let end = |index: usize| {
        let own = infos[index].cluster;
        let later = infos[index..].iter().find(|info| info.cluster != own);
        later.map_or(text.len(), |info| info.cluster as usize)
    };
    (infos.iter().zip(places).enumerate())
        .map(|(index, (info, place))| Set {
            glyph: info.glyph_id,
            advance: place.x_advance as f32 / em,
            offset: [place.x_offset as f32 / em, place.y_offset as f32 / em],
            bytes: info.cluster as usize..end(index),
        })
        .collect()
}

/// Width of a text as a multiple of the size of its letters.
pub(crate) fn width(text: &str, weight: Weight) -> f64 {
    set(text, weight)
        .iter()
        .map(|set| f64::from(set.advance))
        .sum()
}

/// Text without control characters and marks that turn the direction of what follows; lines become spaces.
pub(crate) fn plain(text: &str) -> String {
    let letters = text.chars().filter_map(|c| match c {
        '\n' | '\t' | '\r' => Some(' '),
        '\u{200b}'..='\u{200f}'
        | '\u{202a}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}'
        | '\u{feff}' => None,
        c if c.is_control() || c == '\u{fffe}' || c == '\u{ffff}' => None,
        c => Some(c),
    });
    letters.collect()
}

/// A text cut to `room` (a multiple of its letters' size), an ellipsis in place of the rest.
pub(crate) fn cut(text: &str, weight: Weight, room: f64) -> String {
    let mut letters: Vec<char> = plain(text).chars().take(MOST_LETTERS + 1).collect();
    let whole: String = letters.iter().collect();
    if letters.len() <= MOST_LETTERS && width(&whole, weight) <= room {
        return whole;
    }
    letters.truncate(MOST_LETTERS);
    // The longest beginning that fits with its ellipsis.
    let fits = |count: usize| {
        let mut text: String = letters[..count].iter().collect();
        text.truncate(text.trim_end().len());
        text.push('…');
        (width(&text, weight) <= room).then_some(text)
    };
    let (mut least, mut most) = (0, letters.len());
    while least < most {
        let middle = (least + most).div_ceil(2);
        match fits(middle) {
            Some(_) => least = middle,
            None => most = middle - 1,
        }
    }
    fits(least).unwrap_or_default()
}

/// A text in lines of `room` (a multiple of its letters' size), `most` of them; the last is cut where there is more. A
/// word too long for a line is broken behind a dot, stroke or underline, or anywhere.
pub(crate) fn wrapped(text: &str, weight: Weight, room: f64, most: usize) -> Vec<String> {
    let text = plain(text);
    let fits = |line: &str| width(line, weight) <= room;
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        if let Some(last) = lines.last_mut() {
            let longer = format!("{last} {word}");
            if word.len() < MOST_LETTERS && fits(&longer) {
                *last = longer;
                continue;
            }
        }
        let mut word = word;
        while !word.is_empty() {
            if lines.len() == most {
                // More than there are lines for: the last one says so.
                if let Some(last) = lines.last_mut() {
                    *last = cut(&format!("{last} {}…", &word[..end(word, 20)]), weight, room);
                }
                return lines;
            }
            let kept = match word.len() < MOST_LETTERS && fits(word) {
                true => word.len(),
                false => broken(word, weight, room),
            };
            lines.push(word[..kept].into());
            word = &word[kept..];
        }
    }
    lines
}

/// Bytes of at most so many letters of a text.
fn end(text: &str, letters: usize) -> usize {
    text.char_indices()
        .nth(letters)
        .map_or(text.len(), |(at, _)| at)
}

/// Bytes of the beginning of a word that fills a line; one letter at least.
fn broken(word: &str, weight: Weight, room: f64) -> usize {
    let (mut least, mut most) = (1, MOST_LETTERS);
    while least < most {
        let middle = (least + most).div_ceil(2);
        match width(&word[..end(word, middle)], weight) <= room {
            true if end(word, middle) < word.len() => least = middle,
            _ => most = middle - 1,
        }
    }
    let whole = end(word, least);
    let mark = word[..whole].rfind(['.', '/', '_', '-']).map(|at| at + 1);
    mark.filter(|&at| 3 * at > whole).unwrap_or(whole)
}

/// How pictures are read: our faces and no others, whatever a drawing asks for.
pub(crate) fn options() -> Options<'static> {
    static FONTS: OnceLock<Arc<Database>> = OnceLock::new();
    let fonts = FONTS.get_or_init(|| {
        let mut fonts = Database::new();
        for data in [REGULAR, BOLD] {
            fonts.load_font_data(data.to_vec());
        }
        fonts.set_sans_serif_family("Inter");
        Arc::new(fonts)
    });
    Options {
        fontdb: fonts.clone(),
        font_family: "Inter".into(),
        ..Options::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_of_equal_width() {
        for weight in [Weight::Regular, Weight::Bold] {
            let zero = width("0", weight);
            for figure in '1'..='9' {
                let own = width(&figure.to_string(), weight);
                assert!((own - zero).abs() < 0.002, "{figure}: {own} beside {zero}");
            }
        }
    }

    #[test]
    fn signs_of_the_trade_are_in_both_faces() {
        for weight in [Weight::Regular, Weight::Bold] {
            for sign in "⌀Ø°′″≤≥×·–—−±µ²³⁴⁻ΣσφθΔ→←↑↓✓✗…∞≈√◆".chars()
            {
                let set = set(&sign.to_string(), weight);
                assert!(set.iter().all(|set| set.glyph != 0), "{sign} is missing");
            }
        }
    }

    #[test]
    fn a_cut_text_fits_and_says_that_it_is_cut() {
        let name = "a name of ten thousand letters ".repeat(330);
        let text = cut(&name, Weight::Regular, 12.0);
        assert!(
            text.ends_with('…') && width(&text, Weight::Regular) <= 12.0,
            "{text}"
        );
        assert!(text.chars().count() > 15, "{text}");
        assert_eq!(cut("mass", Weight::Regular, 12.0), "mass");
        assert_eq!(cut("mass", Weight::Regular, 0.0), "");
        assert_eq!(cut("a\u{202e}b\u{0}c\nd", Weight::Regular, 12.0), "abc d");
    }

    #[test]
    fn lines_fit_and_the_last_is_cut() {
        let text = "what holds a candidate and what it would cost to be better than it is";
        let all = wrapped(text, Weight::Regular, 14.0, 99);
        assert_eq!(all.join(" "), text);
        assert!(all.iter().all(|line| width(line, Weight::Regular) <= 14.0));
        let two = wrapped(text, Weight::Regular, 14.0, 2);
        assert_eq!((two.len(), &two[0]), (2, &all[0]));
        assert!(two[1].ends_with('…'), "{two:?}");
        let long = wrapped(&"x".repeat(10_000), Weight::Regular, 14.0, 3);
        assert_eq!(long.len(), 3);
        assert!(long.iter().all(|line| width(line, Weight::Regular) <= 14.0));
        assert!(
            long[2].ends_with('…') && !long[0].ends_with('…'),
            "{long:?}"
        );
        let name = wrapped("squeeze.stiffness", Weight::Regular, 6.0, 3);
        assert_eq!(name, ["squeeze.", "stiffness"]);
        // Neither Hebrew nor Chinese is in the faces: boxes, but no fault.
        assert!(width("שלום 你好", Weight::Bold) > 1.0);
    }
}
