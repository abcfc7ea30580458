//! The material itself.

use crate::material::{Act, KINDS, Story};

/// A form that is refused would silently make the stories poorer.
#[test]
fn every_form_of_every_kind_can_be_written() {
    for kind in 0..u8::try_from(KINDS.len()).unwrap() {
        for form in 0..60 {
            let act = Act {
                kind,
                who: 1,
                patient: 0,
                refers: u16::from(form),
                form,
                minutes: 5,
                late: 0,
            };
            assert_eq!(Story::of(&[act]).entries.len(), 8);
        }
    }
}
