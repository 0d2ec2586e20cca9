//! The slips, and the order in which they are thought of.
//!
//! Must not know: how a slip is tried.

use crate::base::{CaseId, JointId, MemberId, SupportId};

/// A slip, and what it is about.
#[derive(Clone, Debug, PartialEq)]
pub enum Slip {
    /// Tension for compression, up for down: everything with the other sign.
    SenseReversed,
    /// One component of a reaction with the other sign.
    PartReversed(Axis),
    /// The reaction at the other support.
    SupportsExchanged(JointId),
    /// One component taken for the whole reaction; the other is forgotten.
    PartAlone(Axis),
    /// The whole of a reaction given as one component, or along one axis.
    WholeForPart(Axis),
    /// One component of a reaction given for the other.
    PartsExchanged,
    /// A component of a member's force taken for the force: along this axis.
    MemberPart(Axis),
    /// Sine and cosine exchanged for a member's own slope.
    MemberSlope,
    Unit(UnitSlip),
    /// One load's statement, by its place among the groups.
    Load(LoadSlip, usize),
    /// The sizes of two loads exchanged.
    LoadsExchanged(usize, usize),
    /// A case left out of a combination.
    CaseOut(CaseId),
    /// Its factor in the combination taken as one.
    FactorForgotten(CaseId),
    /// All factors of the combination taken as one.
    FactorsForgotten,
    /// Each of two cases with the other's factor.
    FactorsExchanged(CaseId, CaseId),
    /// Each of two supports carries half.
    Halves,
    /// An inclined roller that pushes upwards.
    RollerUpright(SupportId),
    /// An inclined roller that pushes along the plane it rolls on.
    RollerAlong(SupportId),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axis {
    X,
    Y,
}

/// Where the resultant of an even load is put.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spot {
    /// At an end of its stretch, so far along this member, metres.
    End(MemberId, f64),
    MiddleOf(MemberId),
}

/// What was done with one load.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LoadSlip {
    /// Sine for cosine, the angle from the other axis, the slope's legs exchanged.
    SineCosine,
    /// Its angle in degrees taken for radians.
    Radians,
    /// All of it taken as acting along one axis.
    Whole(Axis),
    /// One component left out.
    PartOut(Axis),
    PartReversed(Axis),
    Reversed,
    Out,
    Twice,
    /// The area of a triangle without its half.
    HalfForgotten,
    /// Of a triangle, the resultant in the middle of its length.
    InTheMiddle,
    /// Of a triangle, the high end for the low one.
    TurnedRound,
    /// A triangle taken for a rectangle.
    Rectangle,
    /// The intensity taken for the whole load; of a triangle, its peak.
    Intensity,
    /// Half of a triangle's peak taken for its whole load.
    HalfIntensity,
    /// The resultant of an even load in the wrong place.
    Misplaced(Spot),
    /// An even load on a part of a member put on all of it.
    WholeSpan,
    /// A load for each length of member taken for each of its run, or the reverse.
    OtherLength,
    /// A spread load replaced by its resultant where the forces inside are asked for.
    Resultant,
    /// Its place measured from the other end of the member.
    FromOtherEnd,
    /// The straight distance to the load for the lever arm.
    Arm,
}

/// A factor between two units.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum UnitSlip {
    ThousandTooLarge,
    ThousandTooSmall,
    TwelveTooLarge,
    TwelveTooSmall,
    MassForForce,
    ForceForMass,
}

impl Slip {
    /// The order in which slips are thought of. First those in writing down an
    /// answer that was right, where nothing else need be wrong, and in the line
    /// of an inclined roller, which gives the same numbers as a forgotten
    /// component and is the likelier; then those in resolving, leaving out or
    /// turning round one load, the commonest in the published collections; then
    /// those in setting up the problem. Of two slips with the very same number
    /// the one before is told.
    pub const fn rank(&self) -> u8 {
        match self {
            Slip::SenseReversed | Slip::SupportsExchanged(_) => 0,
            Slip::RollerUpright(_) | Slip::RollerAlong(_) => 1,
            Slip::PartReversed(_) | Slip::PartAlone(_) | Slip::WholeForPart(_) | Slip::PartsExchanged => 2,
            Slip::Unit(_) => 3,
            Slip::Load(LoadSlip::SineCosine, _) => 4,
            Slip::MemberPart(_) | Slip::MemberSlope => 5,
            Slip::Load(LoadSlip::Out, _) | Slip::CaseOut(_) => 6,
            Slip::Load(LoadSlip::Reversed, _) => 7,
            Slip::FactorForgotten(_) | Slip::FactorsForgotten => 8,
            Slip::Load(LoadSlip::HalfForgotten | LoadSlip::InTheMiddle | LoadSlip::Intensity, _) => 9,
            Slip::Load(LoadSlip::HalfIntensity | LoadSlip::Rectangle | LoadSlip::Misplaced(_), _) => 10,
            Slip::Load(LoadSlip::Twice, _) => 11,
            Slip::Load(LoadSlip::Whole(_), _) => 12,
            Slip::Load(LoadSlip::PartOut(_), _) => 13,
            Slip::Load(LoadSlip::PartReversed(_), _) => 14,
            Slip::Load(LoadSlip::Arm, _) => 15,
            Slip::Load(LoadSlip::OtherLength | LoadSlip::Resultant | LoadSlip::TurnedRound, _) => 16,
            Slip::Halves => 17,
            Slip::Load(LoadSlip::FromOtherEnd | LoadSlip::WholeSpan, _) => 18,
            Slip::FactorsExchanged(..) => 18,
            Slip::Load(LoadSlip::Radians, _) | Slip::LoadsExchanged(..) => 19,
        }
    }

    /// Whether the problem was worked out right, and only its answer written
    /// down or read off wrong: such a slip is of one line, not of a sheet.
    pub const fn is_of_answer(&self) -> bool {
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
                | Slip::Unit(_)
        )
    }

    /// Whether another slip of the very same number is this one in other words:
    /// where only one component of a load counts, leaving that out leaves out
    /// the load. Nor does it say more than an answer that was right but for its
    /// form.
    pub fn says_the_same(&self, other: &Slip) -> bool {
        let (Slip::Load(own, load), Slip::Load(other, of)) = (self, other) else {
            // Few exchange two loads: it is told where nothing else will do. At
            // 45° the two components of a member's force are one.
            return self.rank() <= 3 && self.rank() < other.rank()
                || matches!(other, Slip::LoadsExchanged(..))
                || matches!((self, other), (Slip::MemberPart(_), Slip::MemberPart(_)));
        };
        // A resultant at a support is as good as left out there.
        let is_out = |slip: &LoadSlip| {
            matches!(
                slip,
                LoadSlip::Out | LoadSlip::PartOut(_) | LoadSlip::Whole(_) | LoadSlip::Misplaced(Spot::End(..))
            )
        };
        let is_turned = |slip: &LoadSlip| matches!(slip, LoadSlip::Reversed | LoadSlip::PartReversed(_));
        load == of && ((is_out(own) && is_out(other)) || (is_turned(own) && is_turned(other)))
    }

    /// A fixed word for the kind.
    pub const fn slug(&self) -> &'static str {
        match self {
            Slip::SenseReversed | Slip::PartReversed(_) => "sense-reversed",
            Slip::SupportsExchanged(_) => "supports-exchanged",
            Slip::PartAlone(_) => "component-forgotten",
            Slip::WholeForPart(_) => "whole-for-component",
            Slip::PartsExchanged => "components-exchanged",
            Slip::MemberPart(_) => "component-for-force",
            Slip::MemberSlope => "member-sine-cosine",
            Slip::Unit(UnitSlip::MassForForce | UnitSlip::ForceForMass) => "mass-as-force",
            Slip::Unit(_) => "unit",
            Slip::CaseOut(_) => "case-left-out",
            Slip::FactorForgotten(_) | Slip::FactorsForgotten => "factor-forgotten",
            Slip::FactorsExchanged(..) => "factors-exchanged",
            Slip::LoadsExchanged(..) => "loads-exchanged",
            Slip::Halves => "halves-assumed",
            Slip::RollerUpright(_) => "roller-upright",
            Slip::RollerAlong(_) => "roller-along-plane",
            Slip::Load(slip, _) => slip.slug(),
        }
    }
}

impl LoadSlip {
    const fn slug(self) -> &'static str {
        match self {
            LoadSlip::SineCosine => "sine-cosine",
            LoadSlip::Whole(Axis::X) => "taken-as-horizontal",
            LoadSlip::Whole(Axis::Y) => "taken-as-vertical",
            LoadSlip::PartOut(_) => "load-component-left-out",
            LoadSlip::PartReversed(_) => "load-component-reversed",
            LoadSlip::Reversed => "load-reversed",
            LoadSlip::Out => "load-left-out",
            LoadSlip::Twice => "load-counted-twice",
            LoadSlip::HalfForgotten => "triangle-without-half",
            LoadSlip::InTheMiddle => "triangle-in-the-middle",
            LoadSlip::TurnedRound => "triangle-turned-round",
            LoadSlip::Intensity | LoadSlip::HalfIntensity => "intensity-for-total",
            LoadSlip::Rectangle => "triangle-as-rectangle",
            LoadSlip::Misplaced(_) => "resultant-misplaced",
            LoadSlip::WholeSpan => "load-on-the-whole-span",
            LoadSlip::Radians => "degrees-as-radians",
            LoadSlip::OtherLength => "per-run-and-per-length",
            LoadSlip::Resultant => "resultant-for-spread-load",
            LoadSlip::FromOtherEnd => "from-the-other-end",
            LoadSlip::Arm => "arm-along-the-member",
        }
    }
}
