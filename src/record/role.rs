//! Who does what on the ward. What each role may write is the station's table.

use super::choice::choices;

choices! {
    /// The role in which a person acts.
    Role {
        Assistant = "assistant", "Assistant practitioner", also "ap" | "hca";
        Nurse = "nurse", "Registered nurse", also "rn";
        Sister = "sister", "Ward sister";
        Clinician = "clinician", "Visiting clinician", also "doctor";
        Governance = "governance", "Governance officer", also "auditor";
        Keeper = "keeper", "Keeper";
    }
}

impl Role {
    /// Whether this role reads records; a sealed journal's keys are wrapped for nobody else.
    #[must_use]
    pub const fn reads_records(self) -> bool {
        matches!(
            self,
            Role::Assistant | Role::Nurse | Role::Sister | Role::Clinician
        )
    }

    /// `a registered nurse`, `an assistant practitioner`.
    #[must_use]
    pub fn with_article(self) -> String {
        let label = self.label().to_lowercase();
        let article = if label.starts_with(['a', 'e', 'i', 'o', 'u']) {
            "an"
        } else {
            "a"
        };
        format!("{article} {label}")
    }

    /// Two or three letters for narrow lists.
    #[must_use]
    pub const fn short(self) -> &'static str {
        match self {
            Role::Assistant => "AP",
            Role::Nurse => "RN",
            Role::Sister => "WS",
            Role::Clinician => "VC",
            Role::Governance => "Gov",
            Role::Keeper => "Kpr",
        }
    }
}
