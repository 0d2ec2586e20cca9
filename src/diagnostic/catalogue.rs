//! The one catalogue of slugs: each kind of finding with its severity, a
//! summary, and its page. Slugs are public: never renamed.

use super::Severity;

macro_rules! catalogue {
    ($($variant:ident $slug:literal $severity:ident $summary:literal;)*) => {
        /// A kind of finding.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Slug {
            $(#[doc = $summary] $variant,)*
        }

        impl Slug {
            /// Every slug, in the catalogue's order.
            pub const ALL: &'static [Slug] = &[$(Slug::$variant),*];

            /// The public word for it.
            pub const fn word(self) -> &'static str {
                match self { $(Slug::$variant => $slug,)* }
            }

            pub const fn severity(self) -> Severity {
                match self { $(Slug::$variant => Severity::$severity,)* }
            }

            /// One line, as lists of slugs show it.
            pub const fn summary(self) -> &'static str {
                match self { $(Slug::$variant => $summary,)* }
            }

            /// What `explain` prints: Markdown.
            pub const fn page(self) -> &'static str {
                match self { $(Slug::$variant => include_str!(concat!("pages/", $slug, ".md")),)* }
            }

            pub fn from_word(word: &str) -> Option<Slug> {
                match word { $($slug => Some(Slug::$variant),)* _ => None }
            }
        }
    };
}

catalogue! {
    UnknownToken "unknown-token" Error "a character the notation has no use for";

    EmptyStructure "empty-structure" Error "a file without members";
    CoincidentJoints "coincident-joints" Error "two joints at one place";
    LooseJoint "loose-joint" Error "a joint in no member";
    RunsThroughJoint "runs-through-joint" Warning "a member that passes a joint without using it";
    CrossingMembers "crossing-members" Warning "members that cross without a joint";
    NoSupport "no-support" Error "a structure without supports";
    TooFewReactions "too-few-reactions" Error "fewer than three reaction components";
    ParallelReactions "parallel-reactions" Error "reactions in one direction only";
    ConcurrentReactions "concurrent-reactions" Error "reactions through one point";
    DanglingJoint "dangling-joint" Error "a joint that hangs on one member";
    CollinearJoint "collinear-joint" Error "a joint whose members are in one line";
    UnbracedPanel "unbraced-panel" Error "a panel without a diagonal";
    TurningPart "turning-part" Error "a part that turns about a point";
    SpecialLayout "special-layout" Error "members enough, but placed so that they do not hold";
    Mechanism "mechanism" Error "joints that can move";
    MoreMechanisms "more-mechanisms" Error "further motions that are not told one by one";
    Redundant "redundant" Error "more members or reactions than statics can resolve";
    RigidRedundancy "rigid-redundancy" Error "rigid members that are redundant among themselves";
    NotSolvedYet "not-solved-yet" Error "something the notation states and this program does not solve yet";
    NoLoads "no-loads" Warning "a structure without loads";
    EmptyCase "empty-case" Warning "a case without loads";
    LoadOnBar "load-on-bar" Error "a load on a bar between its joints";
    CoupleOnPinnedJoint "couple-on-pinned-joint" Error "a couple where no member can take it";
    UnusedCase "unused-case" Warning "a case in no combination";
    DoubledLoad "doubled-load" Warning "the same load twice";
    NearlySingular "nearly-singular" Warning "forces that few figures survive in";
    TooSensitive "too-sensitive" Error "a layout all but a mechanism";
    NotComputable "not-computable" Error "equations that cannot be solved";
    DoesNotBalance "does-not-balance" Error "a result that fails its own check";
    RollerPulls "roller-pulls" Warning "a roller that has to pull";
    LiftsOff "lifts-off" Error "a one-way roller that would have to pull";
    SlackCable "slack-cable" Error "a cable that would have to push";
    ClaimFails "claim-fails" Error "a claim that does not hold";
    ClaimNotRefuted "claim-not-refuted" Error "a claim that holds where it should not";
    UnusedLet "unused-let" Warning "a let that nothing reads";
    ZeroForceMember "zero-force-member" Information "members that carry nothing";
    TooManyFindings "too-many-findings" Error "more faults than are told one by one";
}
