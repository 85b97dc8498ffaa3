//! Revision letters.

use std::fmt;

/// Letters of revisions, in order: those that can't be taken for a figure or another letter.
const LETTERS: &str = "ABCDEFGHJKLMNPRTUVWY";

/// The letter of a revision: A to Y without I, O, Q, S, X and Z, then AA to AY, BA to BY, and so on to YY, then AAA.
///
/// Source: ASME Y14.35, Revision of Engineering Drawings and Associated Documents (letters left out, AA after Y;
/// from memory). Three letters after YY are our own continuation.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Letter(String);

/// Why a text is no revision letter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotALetter {
    /// It is empty or longer than four letters.
    Length,
    /// It holds this, which is never used.
    Never(char),
}

impl fmt::Display for NotALetter {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NotALetter::Length => write!(out, "a revision has one to four letters"),
            NotALetter::Never(found) => write!(
                out,
                "revisions use the letters {LETTERS}, and `{}` is none of them",
                found.escape_default()
            ),
        }
    }
}

impl Letter {
    /// A, the first.
    pub fn first() -> Letter {
        Letter("A".into())
    }

    /// The letter of a text.
    ///
    /// # Errors
    /// Another sign than the letters in use, none, or more than four.
    pub fn read(text: &str) -> Result<Letter, NotALetter> {
        if let Some(found) = text.chars().find(|each| !LETTERS.contains(*each)) {
            return Err(NotALetter::Never(found));
        }
        match text.len() {
            1..=4 => Ok(Letter(text.into())),
            _ => Err(NotALetter::Length),
        }
    }

    /// The letter of the next revision.
    pub fn next(&self) -> Letter {
        let letters: Vec<char> = LETTERS.chars().collect();
        let mut digits: Vec<char> = self.0.chars().collect();
        for digit in digits.iter_mut().rev() {
            let place = letters.iter().position(|letter| letter == digit);
            match place.and_then(|place| letters.get(place + 1)) {
                Some(next) => {
                    *digit = *next;
                    return Letter(digits.into_iter().collect());
                }
                None => *digit = letters[0],
            }
        }
        digits.insert(0, letters[0]);
        Letter(digits.into_iter().collect())
    }

    /// As written.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Letter {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ASME Y14.35 (from memory): I, O, Q, S, X and Z are not used; AA follows Y, BA follows AY.
    #[test]
    fn letters_follow_drawing_practice() {
        let mut letter = Letter::first();
        let mut all = vec![letter.clone()];
        for _ in 0..420 {
            letter = letter.next();
            all.push(letter.clone());
        }
        let at = |index: usize| all[index].as_str();
        let single: String = (0..20).map(at).collect();
        assert_eq!(single, "ABCDEFGHJKLMNPRTUVWY");
        assert_eq!([at(20), at(21), at(39), at(40)], ["AA", "AB", "AY", "BA"]);
        assert_eq!([at(419), at(420)], ["YY", "AAA"]);
        for letter in &all {
            assert!(!letter.as_str().contains(['I', 'O', 'Q', 'S', 'X', 'Z']));
            assert_eq!(Letter::read(letter.as_str()).as_ref(), Ok(letter));
        }
    }

    #[test]
    fn what_is_no_letter_is_refused() {
        assert_eq!(Letter::read(""), Err(NotALetter::Length));
        assert_eq!(Letter::read("AAAAA"), Err(NotALetter::Length));
        for (text, found) in [
            ("I", 'I'),
            ("AO", 'O'),
            ("a", 'a'),
            ("1", '1'),
            ("Ä", 'Ä'),
            ("A\u{202e}", '\u{202e}'),
        ] {
            assert_eq!(Letter::read(text), Err(NotALetter::Never(found)));
        }
    }
}
