//! Words written by people. Kept exactly as typed, except that line ends become `\n`;
//! whoever shows them makes them harmless for its own medium.

use serde::{Deserialize, Serialize};

use super::field::{FieldValue, ReadContext, Shape, ShowContext};
use super::problem::Problem;

/// Most characters in one line of text.
pub const LINE_CHARS_MAX: usize = 400;
/// Most characters in a note.
pub const NOTE_CHARS_MAX: usize = 8_000;

/// Declares a text type with its own length and shape.
macro_rules! text {
    ($(#[$doc:meta])* $name:ident, $shape:ident, $max:expr, $hint:literal, lines: $lines:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub String);

        impl $name {
            /// The words.
            #[must_use]
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl From<&str> for $name {
            fn from(text: &str) -> $name {
                $name(text.to_owned())
            }
        }

        impl FieldValue for $name {
            const SHAPE: Shape = Shape::$shape;
            const HINT: &'static str = $hint;

            fn read(text: &str, _: &ReadContext) -> Result<Self, Problem> {
                let text = text.trim().replace("\r\n", "\n");
                let length = text.chars().count();
                if length > $max {
                    return Err(Problem::new(
                        format!("is {length} characters long"),
                        format!("at most {} characters", $max),
                    ));
                }
                if !$lines && text.contains(['\n', '\r']) {
                    return Err(Problem::new("has more than one line", "one line"));
                }
                Ok($name(text))
            }
            fn show(&self, cx: &ShowContext) -> Option<String> {
                let hidden = matches!(Self::SHAPE, Shape::Secret) && !cx.secrets;
                Some(if hidden { "held, not shown here".to_owned() } else { self.0.clone() })
            }
        }
    };
}

text!(
    /// One line, up to 400 characters.
    Line, Line, LINE_CHARS_MAX, "one line of text", lines: false
);
text!(
    /// Several lines, up to 8,000 characters.
    Note, Note, NOTE_CHARS_MAX, "text, over several lines if need be", lines: true
);
text!(
    /// One line that only roles who visit may read back, and that is never printed.
    Secret, Secret, LINE_CHARS_MAX, "one line; shown only to staff who visit", lines: false
);
