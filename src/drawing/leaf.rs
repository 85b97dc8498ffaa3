//! A page being drawn: letters, lines, blocks and drawings, all in mm from its upper left corner.

use resvg::usvg::Tree;

use crate::drawing::lettering::{self, Weight, cut, width};
use crate::drawing::standalone;

/// Colours of ink. Letters keep a contrast of 4.5 and more to white, signs of 3 (WCAG 2.2, 1.4.3 and 1.4.11).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ink {
    /// Words and outlines.
    Dark,
    /// Words beside what counts.
    Quiet,
    /// Lines between rows.
    Rule,
    /// Grounds of heads.
    Pale,
    /// What is met, what is ours.
    Blue,
    /// What is broken, and today's revision.
    Warm,
}

impl Ink {
    pub(crate) fn rgb(self) -> (u8, u8, u8) {
        match self {
            Ink::Dark => (0x1d, 0x25, 0x28),
            Ink::Quiet => (0x4c, 0x5a, 0x5e),
            Ink::Rule => (0xc9, 0xd0, 0xcf),
            Ink::Pale => (0xed, 0xf0, 0xef),
            Ink::Blue => (0x0b, 0x5a, 0x8a),
            Ink::Warm => (0xa4, 0x48, 0x1a),
        }
    }
}

/// How letters are set: their size in mm, weight and colour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Hand {
    pub size: f64,
    pub weight: Weight,
    pub ink: Ink,
}

impl Hand {
    pub(crate) const fn new(size: f64) -> Hand {
        Hand {
            size,
            weight: Weight::Regular,
            ink: Ink::Dark,
        }
    }

    pub(crate) const fn bold(self) -> Hand {
        Hand {
            weight: Weight::Bold,
            ..self
        }
    }

    pub(crate) const fn ink(self, ink: Ink) -> Hand {
        Hand { ink, ..self }
    }

    /// Width of a text in mm.
    pub(crate) fn width(self, text: &str) -> f64 {
        self.size * width(text, self.weight)
    }

    /// A text cut to so many mm.
    pub(crate) fn cut(self, text: &str, room: f64) -> String {
        cut(text, self.weight, room / self.size)
    }

    /// A text in lines of so many mm.
    pub(crate) fn wrapped(self, text: &str, room: f64, most: usize) -> Vec<String> {
        lettering::wrapped(text, self.weight, room / self.size, most)
    }
}

/// Text for reading, for tables, for tables of many figures, and for what stands beside.
pub(crate) const BODY: Hand = Hand::new(3.0);
pub(crate) const TABLE: Hand = Hand::new(2.6);
pub(crate) const FINE: Hand = Hand::new(2.2);
pub(crate) const SMALL: Hand = Hand::new(2.2);

/// Something on a page.
pub(crate) enum Item {
    /// Text from a point on its base line.
    Text {
        at: (f64, f64),
        text: String,
        hand: Hand,
    },
    /// A straight line.
    Line {
        from: (f64, f64),
        to: (f64, f64),
        width: f64,
        ink: Ink,
    },
    /// A filled rectangle: left, top, width, height.
    Block { place: [f64; 4], ink: Ink },
    /// A drawing in a rectangle: left, top, width, height.
    Drawing { place: [f64; 4], tree: Box<Tree> },
}

/// A page.
#[derive(Default)]
pub(crate) struct Leaf {
    pub(crate) items: Vec<Item>,
}

impl Leaf {
    /// Text from `x` on, base line at `y`.
    pub(crate) fn text(&mut self, x: f64, y: f64, text: &str, hand: Hand) {
        let text = lettering::plain(text);
        if !text.trim().is_empty() {
            let at = (x, y);
            self.items.push(Item::Text { at, text, hand });
        }
    }

    /// Text that ends at `x`.
    pub(crate) fn text_to(&mut self, x: f64, y: f64, text: &str, hand: Hand) {
        self.text(x - hand.width(text), y, text, hand);
    }

    pub(crate) fn line(&mut self, from: (f64, f64), to: (f64, f64), width: f64, ink: Ink) {
        let line = Item::Line {
            from,
            to,
            width,
            ink,
        };
        self.items.push(line);
    }

    pub(crate) fn block(&mut self, place: [f64; 4], ink: Ink) {
        if place[2] > 0.0 && place[3] > 0.0 {
            self.items.push(Item::Block { place, ink });
        }
    }

    /// The outline of a rectangle: left, top, width, height.
    pub(crate) fn frame(&mut self, [x, y, w, h]: [f64; 4], width: f64) {
        let corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)];
        for side in 0..4 {
            self.line(corners[side], corners[(side + 1) % 4], width, Ink::Dark);
        }
    }

    pub(crate) fn drawing(&mut self, at: (f64, f64), picture: Picture, scale: f64) {
        let (width, height) = picture.size_mm();
        self.items.push(Item::Drawing {
            place: [at.0, at.1, scale * width, scale * height],
            tree: picture.tree,
        });
    }
}

/// A drawing ready to be placed.
pub(crate) struct Picture {
    tree: Box<Tree>,
}

impl Picture {
    /// A drawing or plot as the page has it; none where it can't be read.
    pub(crate) fn of(svg: &str) -> Option<Picture> {
        let tree = Tree::from_str(&standalone(svg), &lettering::options()).ok()?;
        Some(Picture {
            tree: Box::new(tree),
        })
    }

    /// A complete SVG file that has a style of its own; none where it can't be read.
    pub(crate) fn of_file(svg: &str) -> Option<Picture> {
        let tree = Tree::from_str(svg, &lettering::options()).ok()?;
        Some(Picture {
            tree: Box::new(tree),
        })
    }

    /// Its own width and height, in mm: at this size a drawing has the scale that it states.
    pub(crate) fn size_mm(&self) -> (f64, f64) {
        // CSS Values and Units 3, 5.2: 96 px are 25.4 mm.
        let mm = |px: f32| f64::from(px) * 25.4 / 96.0;
        let size = self.tree.size();
        (mm(size.width()), mm(size.height()))
    }
}
