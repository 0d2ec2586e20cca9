//! The slips, a row each: what it is about, its rank, its fixed word, and the
//! clause that stands after "follows when".
//!
//! Must not know: how a slip is tried.

use crate::base::{CaseId, JointId, MemberId};

use super::group::{Axis, Group};
use super::teller::{Teller, other_way};

/// A row: the slip with what it is made with, its rank, its word, its clause.
macro_rules! slips {
    ($(#[$own:meta])* $name:ident($($known:ident: $type:ty),+) {
        $($(#[$doc:meta])* $variant:ident $(($($with:ident: $of:ty),+))?, $rank:expr, $word:expr, $clause:expr;)+
    }) => {
        $(#[$own])*
        #[derive(Clone, Copy, Debug, PartialEq)]
        pub enum $name {
            $($(#[$doc])* $variant $(($($of),+))?,)+
        }

        #[allow(unused_variables)]
        impl $name {
            /// The order in which slips are thought of. First those in writing
            /// down an answer that was right, where nothing else need be wrong,
            /// and in the line of an inclined roller, which gives the same numbers
            /// as a forgotten component and is the likelier; then those in
            /// resolving, leaving out or turning round one load, the commonest in
            /// the published collections; then those in setting up the problem. Of
            /// two slips with the very same number the one before is told.
            pub const fn rank(self) -> u8 {
                match self { $($name::$variant $(($($with),+))? => $rank,)+ }
            }

            /// A fixed word for the kind: public, never renamed.
            pub const fn word(self) -> &'static str {
                match self { $($name::$variant $(($($with),+))? => $word,)+ }
            }

            /// What was done, exact and short.
            pub fn clause(self, $($known: $type),+) -> String {
                match self { $($name::$variant $(($($with),+))? => $clause.to_string(),)+ }
            }
        }
    };
}

slips! {
    /// A slip, and what it is about.
    Slip(t: &Teller<'_>) {
        /// Tension for compression, up for down: everything with the other sign.
        SenseReversed, 0, "sense-reversed", t.sense_reversed();
        /// The reaction at the other support.
        SupportsExchanged(joint: JointId), 0, "supports-exchanged",
            format!("the two supports are exchanged: that is the reaction at {}", t.joint(joint));
        /// An inclined roller that pushes upwards.
        RollerUpright(joint: JointId), 1, "roller-upright",
            format!("the roller at {} is taken to push straight up", t.joint(joint));
        /// An inclined roller that pushes along the plane it rolls on.
        RollerAlong(joint: JointId), 1, "roller-along-plane",
            format!("the roller at {} is taken to push along the plane it rolls on, not square to it", t.joint(joint));
        /// One component of a reaction with the other sign.
        PartReversed(axis: Axis), 2, "sense-reversed", format!("the {axis} component has the other sense");
        /// One component taken for the whole reaction; the other is forgotten.
        PartAlone(axis: Axis), 2, "component-forgotten", t.component_forgotten(axis.other());
        /// The whole of a reaction given as one component, or along one axis.
        WholeForPart(axis: Axis), 2, "whole-for-component",
            format!("the whole reaction, {}, is taken for its {axis} component", t.whole_reaction());
        /// One component of a reaction given for the other.
        PartsExchanged, 2, "components-exchanged", "the horizontal and the vertical component are exchanged";
        ThousandTooLarge, 3, "unit",
            format!("the figures are right, a thousand times too large: {} are confused", t.units_confused());
        ThousandTooSmall, 3, "unit",
            format!("the figures are right, a thousand times too small: {} are confused", t.units_confused());
        TwelveTooLarge, 3, "unit", "it is twelve times too large: inches and feet are confused";
        TwelveTooSmall, 3, "unit", "it is twelve times too small: inches and feet are confused";
        MassForForce, 3, "mass-as-force", "it is 9.81 times too small: a mass stands for its weight";
        ForceForMass, 3, "mass-as-force", "it is 9.81 times too large: a weight is multiplied by 9.81 once more";
        /// A component of a member's force taken for the force: along this axis.
        MemberPart(axis: Axis), 5, "component-for-force", t.component_for_force(axis);
        /// Sine and cosine exchanged for a member's own slope.
        MemberSlope, 5, "member-sine-cosine", format!("sine and cosine are exchanged for the slope of {}", t.member());
        /// A case left out of a combination.
        CaseOut(case: CaseId), 6, "case-left-out", format!("{} is left out of {}", t.case(case), t.combination());
        /// Its factor in the combination taken as one.
        FactorForgotten(case: CaseId), 8, "factor-forgotten",
            format!("the factor {} of {} is forgotten", t.factor(case), t.case(case));
        /// All factors of the combination taken as one.
        FactorsForgotten, 8, "factor-forgotten", format!("the factors of {} are forgotten", t.combination());
        /// Each of two supports carries half.
        Halves, 17, "halves-assumed", "each support is taken to carry half of the load";
        /// Each of two cases with the other's factor.
        FactorsExchanged(a: CaseId, b: CaseId), 18, "factors-exchanged",
            format!("the factors of {} and {} are exchanged", t.case(a), t.case(b));
        /// The sizes of two loads exchanged.
        LoadsExchanged(a: usize, b: usize), 19, "loads-exchanged",
            format!("{} and {} are exchanged", t.load(a), t.load(b));
        /// One load's statement, by its place among the groups.
        Load(slip: LoadSlip, load: usize), slip.rank(), slip.word(),
            t.groups.get(load).map_or(String::new(), |group| slip.clause(t, group, &t.name(group)));
    }
}

slips! {
    /// What was done with one load.
    LoadSlip(t: &Teller<'_>, group: &Group<'_>, load: &str) {
        /// Sine for cosine, the angle from the other axis, the slope's legs exchanged.
        SineCosine, 4, "sine-cosine", t.components_exchanged(group, load);
        Out, 6, "load-left-out", format!("{load} is left out");
        Reversed, 7, "load-reversed", format!("{load} {}", t.reversed(group));
        /// The area of a triangle without its half.
        HalfForgotten, 9, "triangle-without-half", format!("{load} is taken as w L, not as w L/2");
        /// Of a triangle, the resultant in the middle of its length.
        InTheMiddle, 9, "triangle-in-the-middle",
            format!("the resultant of {load} is put at the middle of its length, not at a third");
        /// The intensity taken for the whole load; of a triangle, its peak.
        Intensity, 9, "intensity-for-total",
            format!("{load} is taken for the total, and not multiplied by its length in {}", t.unit_of_length());
        /// Half of a triangle's peak taken for its whole load.
        HalfIntensity, 10, "intensity-for-total",
            format!("half of {load} is taken for the total, and not multiplied by its length in {}", t.unit_of_length());
        /// A triangle taken for a rectangle.
        Rectangle, 10, "triangle-as-rectangle",
            format!("{load} is taken as even, with w L at the middle of its length");
        /// The resultant of an even load at an end of its stretch, so far along this member, metres.
        AtEnd(member: MemberId, at: f64), 10, "resultant-misplaced",
            format!("the resultant of {load} is put at an end of the load, {}, not at its middle", t.end(member, at));
        AtMiddleOf(member: MemberId), 10, "resultant-misplaced", format!(
            "the resultant of {load} is put at the middle of {}, not at the middle of the load",
            t.structure.member_name(member)
        );
        Twice, 11, "load-counted-twice", format!("{load} is counted twice");
        AllHorizontal, 12, "taken-as-horizontal", format!("the whole of {load} is taken as horizontal");
        AllVertical, 12, "taken-as-vertical", format!("the whole of {load} is taken as vertical");
        /// One component left out.
        PartOut(axis: Axis), 13, "load-component-left-out", {
            let of = if t.is_by_moments(axis) { " of the moment equation" } else { "" };
            format!("the {axis} component of {load}, {}, is left out{of}", t.component(group, axis))
        };
        PartReversed(axis: Axis), 14, "load-component-reversed", {
            let own = axis.only(axis.of(group.vector().unwrap_or_default()));
            format!("the {axis} component of {load}, {}, {}", t.component(group, axis), other_way(own))
        };
        /// The straight distance to the load for the lever arm.
        Arm, 15, "arm-along-the-member", format!("the arm of {load} is measured straight to it, not square to its line");
        /// A load for each length of member taken for each of its run, or the reverse.
        OtherLength, 16, "per-run-and-per-length", format!("{load} is taken {}", t.other_length(group));
        /// A spread load replaced by its resultant where the forces inside are asked for.
        Resultant, 16, "resultant-for-spread-load",
            format!("{load} is replaced by its resultant, which gives the reactions only");
        /// Of a triangle, the high end for the low one.
        TurnedRound, 16, "triangle-turned-round", format!("{load} is turned round, its high end for its low one");
        /// Its place measured from the other end of the member.
        FromOtherEnd, 18, "from-the-other-end", format!("the place of {load} is measured from the other end");
        /// An even load on a part of a member put on all of it.
        WholeSpan, 18, "load-on-the-whole-span", format!("{load} is put on the whole of {}", t.on(group));
        /// Its angle in degrees taken for radians.
        Radians, 19, "degrees-as-radians",
            format!("the angle of {load} is taken as {} radians, not degrees", t.degrees(group));
    }
}

impl Slip {
    /// Whether the problem was worked out right, and only its answer written
    /// down or read off wrong: such a slip is of one line, not of a sheet.
    pub const fn is_of_answer(self) -> bool {
        matches!(
            self,
            Slip::SenseReversed
                | Slip::SupportsExchanged(_)
                | Slip::PartReversed(_)
                | Slip::PartAlone(_)
                | Slip::WholeForPart(_)
                | Slip::PartsExchanged
                | Slip::MemberPart(_)
                | Slip::MemberSlope
        ) || self.is_of_units()
    }

    pub const fn is_of_units(self) -> bool {
        self.rank() == Slip::ThousandTooLarge.rank()
    }

    /// Whether another slip of the very same number is this one in other words:
    /// where only one component of a load counts, leaving that out leaves out
    /// the load. Nor does it say more than an answer that was right but for its
    /// form.
    pub fn says_the_same(self, other: Slip) -> bool {
        use LoadSlip as L;
        let (Slip::Load(own, load), Slip::Load(other, of)) = (self, other) else {
            // Few exchange two loads: it is told where nothing else will do. At
            // 45° the two components of a member's force are one.
            return self.rank() <= 3 && self.rank() < other.rank()
                || matches!(other, Slip::LoadsExchanged(..))
                || matches!((self, other), (Slip::MemberPart(_), Slip::MemberPart(_)));
        };
        // A resultant at a support is as good as left out there.
        let is_out = |slip| matches!(slip, L::Out | L::PartOut(_) | L::AllHorizontal | L::AllVertical | L::AtEnd(..));
        let is_turned = |slip| matches!(slip, L::Reversed | L::PartReversed(_));
        load == of && ((is_out(own) && is_out(other)) || (is_turned(own) && is_turned(other)))
    }

    /// The load it is about, by its place among the groups.
    pub const fn load(self) -> Option<usize> {
        match self {
            Slip::Load(_, load) | Slip::LoadsExchanged(load, _) => Some(load),
            _ => None,
        }
    }
}
