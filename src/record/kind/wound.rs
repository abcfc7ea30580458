//! Wounds and their dressings. A wound keeps its number for life.

use super::declare::{CrossCheck, Findings, fields};
use crate::record::choice::choices;
use crate::record::moment::Due;
use crate::record::quantity::{Count, LengthMm, Pain, SharePercent};
use crate::record::text::{Line, Note};

choices! {
    /// Which side of the body.
    Side {
        Left = "left", "left", also "l";
        Right = "right", "right", also "r";
        Midline = "midline", "midline";
        NotApplicable = "n-a", "not applicable";
    }
}

choices! {
    /// What kind of wound.
    WoundType {
        PressureUlcer = "pressure-ulcer", "pressure ulcer", also "pressure";
        VenousLegUlcer = "venous-leg-ulcer", "venous leg ulcer", also "venous";
        ArterialUlcer = "arterial-ulcer", "arterial ulcer", also "arterial";
        DiabeticFootUlcer = "diabetic-foot-ulcer", "diabetic foot ulcer", also "dfu";
        Surgical = "surgical", "surgical wound";
        SkinTear = "skin-tear", "skin tear";
        Burn = "burn", "burn";
        Trauma = "trauma", "traumatic wound";
        Moisture = "moisture", "moisture-associated damage";
        Other = "other", "another kind";
        Unknown = "unknown", "kind not known";
    }
}

choices! {
    /// How length and width are taken; one method for a wound's whole life.
    MeasureMethod {
        HeadToToe = "head-to-toe", "longest head to toe, width at right angles";
        LongestAxis = "longest-axis", "longest axis, width at right angles";
    }
}

choices! {
    /// Pressure-ulcer category (EPUAP/NPIAP/PPPIA 2019). Never reversed as it heals.
    PressureCategory {
        One = "1", "category 1";
        Two = "2", "category 2";
        Three = "3", "category 3";
        Four = "4", "category 4";
        Unstageable = "unstageable", "unstageable";
        DeepTissue = "deep-tissue", "suspected deep tissue injury";
    }
}

choices! {
    /// How much exudate.
    ExudateAmount {
        None = "none", "none";
        Low = "low", "low";
        Moderate = "moderate", "moderate";
        High = "high", "high";
    }
}

choices! {
    /// What the exudate is like.
    ExudateType {
        Serous = "serous", "serous";
        Haemoserous = "haemoserous", "haemoserous";
        Sanguineous = "sanguineous", "sanguineous";
        Seropurulent = "seropurulent", "seropurulent";
        Purulent = "purulent", "purulent";
    }
}

choices! {
    /// Where on the infection continuum (IWII 2022).
    Infection {
        None = "none", "no signs of infection";
        CovertLocal = "covert-local", "local infection, covert signs";
        OvertLocal = "overt-local", "local infection, overt signs";
        Spreading = "spreading", "spreading infection";
        Systemic = "systemic", "systemic infection";
    }
}

fields! {
    /// One look at one wound.
    WoundAssessment {
        /// The wound's number; left out for a wound not seen before.
        wound: Option<Count>,
        /// Where on the body.
        site: Line,
        /// Which side.
        side: Side,
        /// What kind of wound.
        kind: WoundType,
        /// Healed.
        healed: Option<bool>,
        /// Length.
        length: Option<LengthMm>,
        /// Width.
        width: Option<LengthMm>,
        /// Depth at the deepest point.
        depth: Option<LengthMm>,
        /// How it was measured.
        method: Option<MeasureMethod>,
        /// Undermining or tunnelling by clock face, 12 is the head.
        undermining: Option<Line>,
        /// Pressure-ulcer category.
        category: Option<PressureCategory>,
        /// Share of epithelial tissue.
        epithelial: Option<SharePercent>,
        /// Share of granulation.
        granulation: Option<SharePercent>,
        /// Share of slough.
        slough: Option<SharePercent>,
        /// Share of necrotic tissue.
        necrotic: Option<SharePercent>,
        /// How much exudate.
        exudate: Option<ExudateAmount>,
        /// What it is like.
        exudate_type: Option<ExudateType>,
        /// Odour.
        odour: Option<bool>,
        /// Pain, 0 to 10.
        pain: Option<Pain>,
        /// Edges.
        edges: Option<Line>,
        /// Surrounding skin.
        skin: Option<Line>,
        /// Signs of infection.
        infection: Option<Infection>,
        /// Swab taken.
        swab: Option<bool>,
        /// Dressing used.
        dressing: Option<Line>,
        /// Pieces of dressing or packing counted out.
        packing_out: Option<Count>,
        /// Pieces of packing counted in.
        packing_in: Option<Count>,
        /// Next change due.
        next_change: Option<Due>,
        /// What else was seen.
        detail: Option<Note>,
    }
}

impl CrossCheck for WoundAssessment {
    fn cross_check(&self, findings: &mut Findings) {
        let shares = [
            self.epithelial,
            self.granulation,
            self.slough,
            self.necrotic,
        ];
        let stated = shares.iter().flatten().count();
        let sum: i32 = shares.iter().flatten().map(|share| share.0).sum();
        if sum > 100 || (stated == shares.len() && sum != 100) {
            let what = format!("tissue shares add up to {sum} %");
            findings.refuse("granulation", what, "shares that add up to 100 %");
        }
        if self.length.is_some() != self.width.is_some() {
            findings.refuse(
                "width",
                "length and width belong together",
                "both, or neither",
            );
        }
        if self.length.is_some() && self.method.is_none() && self.wound.is_none() {
            let methods = "head-to-toe or longest-axis, kept for this wound's whole life";
            findings.refuse("method", "a first measurement needs its method", methods);
        }
        if let (Some(length), Some(width)) = (self.length, self.width)
            && width > length
            && self.method == Some(MeasureMethod::LongestAxis)
        {
            findings.refuse(
                "width",
                "is more than the longest axis",
                "a width up to the length",
            );
        }
        if self.category.is_some() && self.kind != WoundType::PressureUlcer {
            findings.refuse("category", "is for pressure ulcers only", "leave it out");
        }
        check_packing(self.packing_in, self.packing_out, findings);
    }
}

fn check_packing(inside: Option<Count>, out: Option<Count>, findings: &mut Findings) {
    if inside.is_some_and(|count| count.0 > 0) && out.is_none() {
        findings.ask(
            "packing_out",
            "packing went in, and what came out was not counted",
        );
    }
}

fields! {
    /// A dressing changed without a full assessment.
    Dressing {
        /// The wound's number.
        wound: Count,
        /// What was applied.
        applied: Line,
        /// How the wound looked.
        looked: Option<Note>,
        /// Strike-through of the old dressing.
        strike_through: Option<bool>,
        /// Pieces counted out.
        packing_out: Option<Count>,
        /// Pieces counted in.
        packing_in: Option<Count>,
        /// Next change due.
        next_change: Option<Due>,
    }
}

impl CrossCheck for Dressing {
    fn cross_check(&self, findings: &mut Findings) {
        check_packing(self.packing_in, self.packing_out, findings);
    }
}
