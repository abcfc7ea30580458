//! What a refusal for damage says in the shell: how to look at it, and whom to tell.

use super::session::{Session, held};
use crate::record::role::Role;
use crate::station::SubmitError;

impl Session {
    /// Why nothing was recorded; of a damaged journal also what to do now.
    pub(super) fn why_not(&self, error: &SubmitError) -> String {
        if !error.is_damage() {
            return error.to_string();
        }
        let keepers: Vec<String> = held(&self.station)
            .ward()
            .roster()
            .filter(|staff| staff.role == Role::Keeper && !staff.is_suspended())
            .map(|staff| format!("{} ({})", staff.name, staff.handle))
            .collect();
        let keepers = match keepers.as_slice() {
            [] => "the ward's keeper".to_owned(),
            keepers => format!("a keeper: {}", keepers.join(" or ")),
        };
        format!(
            "{error}.\n`handfast damage show` on the command line shows the report. Tell {keepers}, and governance; \
             write on paper until it is accepted. What is shown here can be read on."
        )
    }
}
