//! The written form of a unit.

use std::fmt;
use std::ops::Deref;

/// Text of a unit, short enough to be copied about: `mm`, `N mm/rad`.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Symbol {
    bytes: [u8; Symbol::LONGEST],
    length: u8,
}

impl Symbol {
    /// Most bytes a symbol may have.
    pub const LONGEST: usize = 31;

    /// The symbol as given, cut at a character boundary to [`Symbol::LONGEST`] bytes.
    pub const fn new(text: &str) -> Symbol {
        let source = text.as_bytes();
        let mut length = if source.len() > Symbol::LONGEST {
            Symbol::LONGEST
        } else {
            source.len()
        };
        while !text.is_char_boundary(length) {
            length -= 1;
        }
        let mut bytes = [0; Symbol::LONGEST];
        let mut index = 0;
        while index < length {
            bytes[index] = source[index];
            index += 1;
        }
        Symbol {
            bytes,
            length: length as u8,
        }
    }

    /// The text.
    pub fn as_str(&self) -> &str {
        std::str::from_utf8(&self.bytes[..usize::from(self.length)]).unwrap_or_default()
    }
}

impl Deref for Symbol {
    type Target = str;

    fn deref(&self) -> &str {
        self.as_str()
    }
}

impl From<&str> for Symbol {
    fn from(text: &str) -> Symbol {
        Symbol::new(text)
    }
}

impl PartialEq<&str> for Symbol {
    fn eq(&self, other: &&str) -> bool {
        self.as_str() == *other
    }
}

impl fmt::Display for Symbol {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self)
    }
}

impl fmt::Debug for Symbol {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{:?}", self.as_str())
    }
}

impl serde::Serialize for Symbol {
    fn serialize<S: serde::Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        out.serialize_str(self)
    }
}
