//! The form every kind of entry is declared in.

use super::super::field::{FieldReader, FieldSpec, ShowContext};
use super::super::problem::{Refusal, Unusual};

/// What a whole entry is checked for once each field can stand by itself.
#[derive(Debug, Default)]
pub struct Findings {
    /// Reasons why it cannot be taken.
    pub refusals: Vec<Refusal>,
    /// What the writer must confirm.
    pub unusual: Vec<Unusual>,
}

impl Findings {
    /// Refuses because of one field.
    pub fn refuse(&mut self, field: &str, what: impl Into<String>, accepted: impl Into<String>) {
        self.refusals.push(Refusal::field(field, what, accepted));
    }

    /// Asks about one field.
    pub fn ask(&mut self, field: &str, what: impl Into<String>) {
        self.unusual.push(Unusual {
            field: field.to_owned(),
            what: what.into(),
        });
    }
}

/// One field as people read it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    /// The field's name.
    pub name: &'static str,
    /// Its value in words.
    pub text: String,
}

/// The fields of one kind of entry in its newest version.
pub trait Fields: Sized {
    /// Every field, in the order a form asks for them.
    fn specs() -> Vec<FieldSpec>;
    /// Reads the fields; `None` if any was refused (the reader holds why).
    fn read(reader: &mut FieldReader<'_>) -> Option<Self>;
    /// The stated fields in words.
    fn show(&self, cx: &ShowContext) -> Vec<Shown>;
    /// The stated fields as they would be typed.
    fn typed(&self, cx: &ShowContext) -> Vec<(String, String)>;
}

/// Rules across the fields of one entry, without knowledge of any other entry.
pub trait CrossCheck {
    /// Adds what it finds.
    fn cross_check(&self, findings: &mut Findings);
}

/// Declares the newest version of one kind. Fields are in stored order: they are never
/// reordered or removed; a change makes a new version and freezes the old struct.
/// `seen` fields are filled in by the program, not typed.
macro_rules! fields {
    (
        $(#[$doc:meta])*
        $name:ident {
            $($(#[doc = $help:literal])+ $field:ident: $ty:ty,)*
        }
        $(seen { $($(#[doc = $shelp:literal])+ $sfield:ident: $sty:ty,)* })?
    ) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
        pub struct $name {
            $($(#[doc = $help])+ pub $field: $ty,)*
            $($($(#[doc = $shelp])+ pub $sfield: $sty,)*)?
        }

        impl $crate::record::kind::declare::Fields for $name {
            fn specs() -> Vec<$crate::record::field::FieldSpec> {
                use $crate::record::field::FieldValue;
                vec![$($crate::record::field::FieldSpec {
                    name: stringify!($field),
                    help: concat!($($help),+).trim_ascii(),
                    shape: <$ty>::SHAPE,
                    hint: <$ty>::HINT,
                    required: !<$ty>::OPTIONAL,
                    many: <$ty>::MANY,
                }),*]
            }

            fn read(reader: &mut $crate::record::field::FieldReader<'_>) -> Option<Self> {
                $(let $field = reader.take::<$ty>(stringify!($field));)*
                reader.refuse_unknown(&Self::specs());
                Some($name {
                    $($field: $field?,)*
                    $($($sfield: Default::default(),)*)?
                })
            }

            fn show(
                &self,
                cx: &$crate::record::field::ShowContext,
            ) -> Vec<$crate::record::kind::declare::Shown> {
                use $crate::record::field::FieldValue;
                let mut shown = Vec::new();
                $(if let Some(text) = self.$field.show(cx) {
                    shown.push($crate::record::kind::declare::Shown {
                        name: stringify!($field), text,
                    });
                })*
                let _ = (&mut shown, cx);
                shown
            }

            fn typed(
                &self,
                cx: &$crate::record::field::ShowContext,
            ) -> Vec<(String, String)> {
                use $crate::record::field::FieldValue;
                let mut typed = Vec::new();
                $(if let Some(text) = self.$field.typed(cx) {
                    typed.push((stringify!($field).to_owned(), text));
                })*
                let _ = (&mut typed, cx);
                typed
            }
        }
    };
}

pub(crate) use fields;
