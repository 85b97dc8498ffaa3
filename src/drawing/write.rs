//! Pages to the bytes of a PDF file.

use krilla::Data;
use krilla::Document;
use krilla::color::rgb;
use krilla::destination::XyzDestination;
use krilla::geom::{PathBuilder, Point, Rect, Size, Transform};
use krilla::metadata::{DateTime, Metadata};
use krilla::num::NormalizedF32;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, Stroke};
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use krilla_svg::{SurfaceExt, SvgSettings};

use super::leaf::{Hand, Ink, Item, Leaf};
use crate::drawing::lettering::{BOLD, REGULAR, Weight, set};

/// Points of PostScript in a mm.
const POINTS: f64 = 72.0 / 25.4;

/// What a document says of itself.
pub(crate) struct About {
    pub title: String,
    pub subject: String,
    pub tool: String,
    /// Date and time as the run has them: `2026-11-26T09:12:33Z`.
    pub date: String,
}

/// An entry of the outline: how deep, its words, page (from 0) and height on it in mm.
pub(crate) struct Bookmark {
    pub depth: usize,
    pub words: String,
    pub leaf: usize,
    pub y: f64,
}

/// The pages as a PDF file, `size` in mm. The same pages give the same bytes.
///
/// # Errors
/// In words, why there is no file.
pub(crate) fn write(
    leaves: &[Leaf],
    bookmarks: &[Bookmark],
    size: (f64, f64),
    about: &About,
) -> Result<Vec<u8>, String> {
    let fonts = Fonts::new().ok_or("set letters: a face can't be read")?;
    let mut document = Document::new();
    let points = |mm: f64| (mm * POINTS) as f32;
    let paper = PageSettings::from_wh(points(size.0), points(size.1)).ok_or("lay out the paper")?;
    for leaf in leaves {
        let mut page = document.start_page_with(paper.clone());
        let mut surface = page.surface();
        surface.push_transform(&Transform::from_scale(POINTS as f32, POINTS as f32));
        for item in &leaf.items {
            draw(&mut surface, item, &fonts);
        }
        surface.pop();
        surface.finish();
        page.finish();
    }
    document.set_outline(outline(bookmarks));
    document.set_metadata(metadata(about));
    document
        .finish()
        .map_err(|why| format!("write the pages: {why:?}"))
}

struct Fonts {
    regular: Font,
    bold: Font,
}

impl Fonts {
    fn new() -> Option<Fonts> {
        Some(Fonts {
            regular: Font::new(Data::from(REGULAR), 0)?,
            bold: Font::new(Data::from(BOLD), 0)?,
        })
    }

    fn of(&self, weight: Weight) -> Font {
        match weight {
            Weight::Regular => self.regular.clone(),
            Weight::Bold => self.bold.clone(),
        }
    }
}

fn colour(ink: Ink) -> rgb::Color {
    let (red, green, blue) = ink.rgb();
    rgb::Color::new(red, green, blue)
}

fn fill(ink: Ink) -> Fill {
    Fill {
        paint: colour(ink).into(),
        opacity: NormalizedF32::ONE,
        rule: FillRule::NonZero,
    }
}

fn draw(surface: &mut Surface, item: &Item, fonts: &Fonts) {
    match item {
        Item::Text { at, text, hand } => letters(surface, *at, text, *hand, fonts),
        Item::Line {
            from,
            to,
            width,
            ink,
        } => {
            let mut path = PathBuilder::new();
            path.move_to(from.0 as f32, from.1 as f32);
            path.line_to(to.0 as f32, to.1 as f32);
            if let Some(path) = path.finish() {
                surface.set_fill(None);
                surface.set_stroke(Some(Stroke {
                    paint: colour(*ink).into(),
                    width: *width as f32,
                    ..Stroke::default()
                }));
                surface.draw_path(&path);
            }
        }
        Item::Block {
            place: [x, y, w, h],
            ink,
        } => {
            let mut path = PathBuilder::new();
            if let Some(rect) = Rect::from_xywh(*x as f32, *y as f32, *w as f32, *h as f32) {
                path.push_rect(rect);
            }
            if let Some(path) = path.finish() {
                surface.set_stroke(None);
                surface.set_fill(Some(fill(*ink)));
                surface.draw_path(&path);
            }
        }
        Item::Drawing {
            place: [x, y, w, h],
            tree,
        } => {
            let Some(size) = Size::from_wh(*w as f32, *h as f32) else {
                return;
            };
            surface.push_transform(&Transform::from_translate(*x as f32, *y as f32));
            let _ = surface.draw_svg(tree, size, SvgSettings::default());
            surface.pop();
        }
    }
}

fn letters(surface: &mut Surface, at: (f64, f64), text: &str, hand: Hand, fonts: &Fonts) {
    let glyphs: Vec<KrillaGlyph> = set(text, hand.weight)
        .into_iter()
        .map(|set| {
            let [x, y] = set.offset;
            KrillaGlyph::new(
                GlyphId::new(set.glyph),
                set.advance,
                x,
                y,
                0.0,
                set.bytes,
                None,
            )
        })
        .collect();
    surface.set_stroke(None);
    surface.set_fill(Some(fill(hand.ink)));
    let start = Point::from_xy(at.0 as f32, at.1 as f32);
    let font = fonts.of(hand.weight);
    surface.draw_glyphs(start, &glyphs, font, text, hand.size as f32, false);
}

fn outline(bookmarks: &[Bookmark]) -> Outline {
    let mut outline = Outline::new();
    let mut rest = bookmarks;
    while !rest.is_empty() {
        outline.push_child(node(&mut rest));
    }
    outline
}

/// The first entry with those that lie deeper.
fn node(rest: &mut &[Bookmark]) -> OutlineNode {
    let first = &rest[0];
    *rest = &rest[1..];
    let place = Point::from_xy(0.0, (first.y * POINTS) as f32);
    let mut node = OutlineNode::new(first.words.clone(), XyzDestination::new(first.leaf, place));
    while rest.first().is_some_and(|next| next.depth > first.depth) {
        node.push_child(self::node(rest));
    }
    node
}

fn metadata(about: &About) -> Metadata {
    let metadata = Metadata::new()
        .title(about.title.clone())
        .description(about.subject.clone())
        .authors(vec![about.tool.clone()])
        .creator(about.tool.clone())
        .language("en-GB".into());
    match date(&about.date) {
        Some(date) => metadata.creation_date(date),
        None => metadata,
    }
}

/// `2026-11-26T09:12:33Z` (RFC 3339), as far as it can be read.
fn date(text: &str) -> Option<DateTime> {
    let numbers: Vec<u16> = text
        .split(|c: char| !c.is_ascii_digit())
        .filter(|part| !part.is_empty())
        .map_while(|part| part.parse().ok())
        .collect();
    let [year, month, day, rest @ ..] = &numbers[..] else {
        return None;
    };
    let part = |index: usize| rest.get(index).map_or(0, |value| *value as u8);
    let date = DateTime::new(*year).month(*month as u8).day(*day as u8);
    let date = date.hour(part(0)).minute(part(1)).second(part(2));
    Some(date.utc_offset_hour(0).utc_offset_minute(0))
}
