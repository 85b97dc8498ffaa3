//! What is wrong with a study, and how that is printed.

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use std::ops::Range;

/// Something in a study that must be mended before it can be used.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// What is wrong, as `room/fault`; one of [`CODES`].
    pub code: &'static str,
    /// What is wrong, in words.
    pub title: String,
    /// Bytes of the text with a remark each; the first is where it is wrong, the others belong to it.
    pub spans: Vec<(Range<usize>, String)>,
    /// What to do about it.
    pub mend: Option<String>,
    /// What else helps.
    pub notes: Vec<String>,
}

impl Problem {
    /// A problem at a place. Public for checks that need more than the text, such as the shape of the baseline.
    pub fn new(
        code: &'static str,
        title: impl Into<String>,
        span: Range<usize>,
        label: impl Into<String>,
    ) -> Problem {
        Problem {
            code,
            title: title.into(),
            spans: vec![(span, label.into())],
            mend: None,
            notes: Vec::new(),
        }
    }

    /// With another place that belongs to it.
    pub fn with(mut self, span: Range<usize>, label: impl Into<String>) -> Problem {
        self.spans.push((span, label.into()));
        self
    }

    /// With what to do about it.
    pub fn mend(mut self, mend: impl Into<String>) -> Problem {
        self.mend = Some(mend.into());
        self
    }

    /// With what to do about it, where that is known.
    pub fn mend_if(mut self, mend: Option<String>) -> Problem {
        self.mend = mend.or(self.mend);
        self
    }

    /// With a remark.
    pub fn note(mut self, note: impl Into<String>) -> Problem {
        self.notes.push(note.into());
        self
    }
}

/// Every code of a problem, with what it means.
pub const CODES: &[(&str, &str)] = &[
    (
        "constraint/comparison",
        "a comparison that is none of <= and >=, or stands where a value is asked for",
    ),
    (
        "constraint/never-met",
        "a constraint that no design in the space can meet",
    ),
    ("constraint/no-comparison", "a constraint without <= or >="),
    ("evaluator/command", "a command without a program"),
    ("evaluator/measures", "a program that is to measure nothing"),
    (
        "explore/no-such-plan",
        "a plan that does not exist for so many variables",
    ),
    ("explore/too-large", "more designs than a run can hold"),
    (
        "expression/arguments",
        "a function with too few or too many arguments",
    ),
    (
        "expression/dimensions",
        "quantities that do not go together",
    ),
    (
        "expression/known-later",
        "something that is known only after evaluation, or further down",
    ),
    (
        "expression/not-finite",
        "arithmetic that gives no finite number",
    ),
    ("expression/syntax", "text that is no expression"),
    (
        "expression/unknown-function",
        "a function that there is not",
    ),
    ("expression/unknown-name", "a name that stands for nothing"),
    (
        "load/empty",
        "a load case without force, moment, acceleration and opening",
    ),
    ("load/hold", "a word that names no direction"),
    (
        "load/opening",
        "an opening beside forces or acceleration, or without supports",
    ),
    (
        "objective/either",
        "an objective without `least` or `most`, or with both",
    ),
    ("objective/none", "no objective"),
    ("objective/too-many", "more than four objectives"),
    (
        "part/angle-off-circle",
        "a place given by an angle on a path that is no circle",
    ),
    (
        "part/no-plan",
        "time or tools asked of a part that no machining plan covers yet",
    ),
    (
        "part/not-a-blade",
        "slits or an opening in a frame that is curved or has walls",
    ),
    (
        "part/not-in-drill-index",
        "a hole for which no drill is in stock",
    ),
    (
        "part/no-such-strip",
        "holes in a strip that the section does not have",
    ),
    ("part/not-on-path", "a place outside the path"),
    (
        "part/piece",
        "a piece of a path that is neither line nor arc",
    ),
    (
        "scatter/spread",
        "a distribution whose numbers are missing, too many or of two kinds",
    ),
    ("scatter/unknown", "scatter of something that there is not"),
    (
        "study/bad-name",
        "a name that cannot be used in expressions",
    ),
    ("study/empty", "an empty file"),
    ("study/missing-key", "a key that must be there"),
    ("study/name-clash", "one name for two things"),
    (
        "study/no-part",
        "something that only a part has, in a study without one",
    ),
    ("study/not-finite", "NaN or an infinite number"),
    ("study/not-toml", "text that is no TOML"),
    ("study/out-of-range", "a number outside of what is allowed"),
    ("study/repeated", "an entry that comes twice"),
    ("study/unknown-key", "a key that there is not"),
    (
        "study/unknown-machine",
        "a machine that is not in the catalogue",
    ),
    (
        "study/unknown-material",
        "a material that is not in the catalogue",
    ),
    ("study/unknown-tool", "a tool that is not in the catalogue"),
    (
        "study/unknown-word",
        "a word that is none of the allowed ones",
    ),
    (
        "study/wrong-type",
        "a text, number or list where something else is asked for",
    ),
    (
        "units/other-money",
        "an amount in another money than the study's",
    ),
    ("units/missing", "a number without its unit"),
    ("units/unknown", "a unit that there is not"),
    ("units/wrong-kind", "a unit of the wrong kind"),
    (
        "variables/baseline-missing",
        "a variable without a value in the baseline",
    ),
    (
        "variables/baseline-outside",
        "a baseline value that the variable cannot take",
    ),
    (
        "variables/bound-reversed",
        "a lower bound that is not below the upper one",
    ),
    ("variables/choices", "choices that are empty or repeated"),
    ("variables/none", "no variables"),
    (
        "variables/range",
        "a variable with neither or both of a range and choices",
    ),
    (
        "variables/step",
        "a step that is not above zero, or larger than the range",
    ),
    (
        "variables/unknown",
        "a baseline value of a variable that there is not",
    ),
    ("variables/unused", "a variable that nothing depends on"),
    (
        "variables/whole",
        "a number that is not whole where whole numbers are asked for",
    ),
];

/// Problems as text for a terminal: code, what, file, line, column, the text underlined, mend.
///
/// `text` is the study as read, `file` its name, `colour` whether to use terminal colours.
pub fn print(problems: &[Problem], text: &str, file: &str, colour: bool) -> String {
    let renderer = if colour {
        Renderer::styled().decor_style(DecorStyle::Unicode)
    } else {
        Renderer::plain().decor_style(DecorStyle::Unicode)
    };
    let printed: Vec<String> = problems
        .iter()
        .map(|problem| print_one(problem, text, file, &renderer))
        .collect();
    printed.join("\n\n")
}

fn print_one(problem: &Problem, text: &str, file: &str, renderer: &Renderer) -> String {
    let spans = problem
        .spans
        .iter()
        .enumerate()
        .map(|(index, (span, label))| {
            let kind = if index == 0 {
                AnnotationKind::Primary
            } else {
                AnnotationKind::Context
            };
            kind.span(whole_letters(text, span)).label(label.as_str())
        });
    let mut group = Level::ERROR
        .primary_title(problem.title.as_str())
        .id(problem.code)
        .element(Snippet::source(text).path(file).annotations(spans));
    for note in &problem.notes {
        group = group.element(Level::NOTE.message(note.as_str()));
    }
    if let Some(mend) = &problem.mend {
        group = group.element(Level::HELP.with_name("mend").message(mend.as_str()));
    }
    renderer.render(&[group])
}

/// The span cut to the text and to whole letters, at least one letter wide where the text has one there.
fn whole_letters(text: &str, span: &Range<usize>) -> Range<usize> {
    let mut start = span.start.min(text.len());
    while !text.is_char_boundary(start) {
        start -= 1;
    }
    let mut end = span.end.clamp(start, text.len());
    while !text.is_char_boundary(end) {
        end += 1;
    }
    start..end
}

/// Which of `known` is nearest to `word`, if any is near: at most a third of its letters differ, or one begins
/// with the other.
pub(super) fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let low = word.to_lowercase();
    let distance = |other: &str| {
        let other_low = other.to_lowercase();
        let starts = low.len() >= 3
            && other_low.len() >= 3
            && (other_low.starts_with(&low) || low.starts_with(&other_low));
        if starts {
            1
        } else {
            strsim::damerau_levenshtein(&low, &other_low)
        }
    };
    known
        .into_iter()
        .map(|other| (distance(other), other))
        .filter(|(distance, other)| {
            *distance * 3 <= other.chars().count().max(word.chars().count()).max(3)
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, other)| other)
}

/// `did you mean ...?` for the nearest word, otherwise the whole list where it is short.
pub fn suggest(word: &str, known: &[&str]) -> Option<String> {
    if let Some(near) = nearest(word, known.iter().copied()) {
        return Some(format!("did you mean `{near}`?"));
    }
    let quoted: Vec<String> = known.iter().map(|word| format!("`{word}`")).collect();
    (!known.is_empty() && known.len() <= 16).then(|| format!("there are: {}", quoted.join(", ")))
}
