//! Closed lists of values.

/// Declares an enum whose values are typed by code, shown by label and stored by position.
/// The order of a published list never changes; new values go at the end.
macro_rules! choices {
    ($(#[doc = $doc:literal])+ $name:ident { $($(#[doc = $vdoc:literal])* $variant:ident = $code:literal, $label:literal $(, also $($alias:literal)|+)?;)+ }) => {
        $(#[doc = $doc])+
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
        pub enum $name {
            $(#[doc = $label] $(#[doc = $vdoc])* #[serde(rename = $code)] $variant,)+
        }

        impl $name {
            /// Every value, in stored order.
            pub const ALL: &'static [$name] = &[$($name::$variant),+];
            /// Every value's code and label, in stored order.
            pub const CHOICES: &'static [$crate::record::field::Choice] =
                &[$($crate::record::field::Choice { code: $code, label: $label }),+];

            /// What is typed and what JSON carries.
            #[must_use]
            pub const fn code(self) -> &'static str {
                match self { $($name::$variant => $code),+ }
            }

            /// What is shown.
            #[must_use]
            pub const fn label(self) -> &'static str {
                match self { $($name::$variant => $label),+ }
            }

            /// By code or alias, in any case; spaces and underscores count as hyphens.
            #[must_use]
            pub fn from_code(text: &str) -> Option<$name> {
                let text = text.trim().to_ascii_lowercase().replace([' ', '_'], "-");
                match text.as_str() {
                    $($code $($(| $alias)+)? => Some($name::$variant),)+
                    _ => None,
                }
            }
        }

        impl $crate::record::field::FieldValue for $name {
            const SHAPE: $crate::record::field::Shape =
                $crate::record::field::Shape::Choice($name::CHOICES);
            const HINT: &'static str = $crate::record::choice::hint!($($code),+);

            fn read(
                text: &str,
                _: &$crate::record::field::ReadContext,
            ) -> Result<Self, $crate::record::problem::Problem> {
                $name::from_code(text).ok_or_else(|| {
                    let codes: Vec<&str> = $name::CHOICES.iter().map(|c| c.code).collect();
                    let near = $crate::record::field::nearest(text, &codes);
                    let meant = near.map(|n| format!(" (did you mean {n}?)")).unwrap_or_default();
                    $crate::record::problem::Problem::new(
                        format!("\"{text}\" is not one of the values{meant}"),
                        codes.join(", "),
                    )
                })
            }
            fn show(&self, _: &$crate::record::field::ShowContext) -> Option<String> {
                Some(self.label().to_owned())
            }
            fn typed(&self, _: &$crate::record::field::ShowContext) -> Option<String> {
                Some(self.code().to_owned())
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.label())
            }
        }
    };
}

/// `a, b, c` as one literal.
macro_rules! hint {
    ($first:literal $(, $rest:literal)*) => { concat!($first $(, ", ", $rest)*) };
}

pub(crate) use choices;
pub(crate) use hint;
