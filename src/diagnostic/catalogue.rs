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

    // Names, dimensions, values, and statements that do not fit their place.
    UnknownName "unknown-name" Error "a name that nothing declares";
    WrongKindOfName "wrong-kind-of-name" Error "a name that stands for something else than the place needs";
    DuplicateName "duplicate-name" Error "one name declared twice";
    CircularValue "circular-value" Error "a value that depends on itself";
    IndexNotWhole "index-not-whole" Error "an index that is no whole number";
    IndexNegative "index-negative" Error "an index below zero";
    UseRefused "use-refused" Error "a used file that could not be taken in";
    DuplicateUnits "duplicate-units" Error "a second `units` statement in one file";
    DuplicateTitle "duplicate-title" Error "a second title";
    MomentsClash "moments-clash" Error "couples signed both ways";
    LoopBoundNotWhole "loop-bound-not-whole" Error "a loop's bound or step that is no whole number";
    LoopStepZero "loop-step-zero" Error "a loop that would never end";
    TooManyStatements "too-many-statements" Error "loops that unroll beyond the limit";
    NotInCase "not-in-case" Error "a statement that does not act, inside a case";
    NotInBlock "not-in-block" Error "a statement for the whole file, inside a block";
    UnknownSlug "unknown-slug" Warning "`allow` or `deny` of a finding that does not exist";
    UnitsOfWrongKind "units-of-wrong-kind" Error "a `units` statement out of order, or with a unit of another kind";
    UnknownUnit "unknown-unit" Error "a word that is no unit";
    AmbiguousTon "ambiguous-ton" Error "`ton`, which is three different forces";
    BarAsUnit "bar-as-unit" Error "`bar` as a pressure";
    PoundAsForce "pound-as-force" Information "`lb` read as the force `lbf`";
    MassAsLoad "mass-as-load" Error "a mass where its weight is wanted";
    WrongDimension "wrong-dimension" Error "a quantity of another kind than the place needs";
    MixedDimensions "mixed-dimensions" Error "unlike quantities added, compared or paired";
    BareNumber "bare-number" Error "a number without a unit in a file without `units`";
    BareAngle "bare-angle" Error "an angle that says neither degrees nor radians";
    ShareOutOfPlace "share-out-of-place" Error "`%` where nothing is there to take a share of";
    NeighbourOrder "neighbour-order" Error "neighbouring quantities such as `6 in 4 ft` that do not step down";
    VectorWanted "vector-wanted" Error "a single value where a point or vector belongs";
    ScalarWanted "scalar-wanted" Error "a vector where a single value belongs";
    DirectionMissing "direction-missing" Error "a load of known size and unknown direction";
    DirectionTwice "direction-twice" Error "a direction given to what already has one";
    TowardWithoutJoint "toward-without-joint" Error "`toward` where no joint is loaded";
    ZeroDirection "zero-direction" Error "a direction that points nowhere";
    DivisionByZero "division-by-zero" Error "a division by zero";
    OutsideDomain "outside-domain" Error "a function of a value it is not defined for";
    RootOfDimension "root-of-dimension" Error "the root of a quantity that has none";
    NumberOutOfRange "number-out-of-range" Error "a number too large or too small to reckon with";
    PowerNotWhole "power-not-whole" Error "a broken power of a quantity with a unit";
    ArgumentCount "argument-count" Error "a function with too few or too many arguments";
    ScalarAndVector "scalar-and-vector" Error "a vector and a single value added";
    ProductOfVectors "product-of-vectors" Error "two vectors multiplied or divided";
    ComponentOfScalar "component-of-scalar" Error "`.x` or `.y` of a single value";
    MemberOnItself "member-on-itself" Error "a member from a joint to itself";
    DuplicateMember "duplicate-member" Error "two members between the same joints";
    HingedElsewhere "hinged-elsewhere" Error "a beam hinged at a joint it does not reach";
    NoSuchMember "no-such-member" Error "a chain along which no member runs";
    UnknownProperty "unknown-property" Error "a property that the thing does not have";
    DuplicateProperty "duplicate-property" Error "a property given twice";
    NotPositive "not-positive" Error "a stiffness, area or weight of nothing or less";
    NotRigid "not-rigid" Error "`rigid` for what cannot be";
    DuplicateSupport "duplicate-support" Error "two supports on one joint";
    SettleWithoutSupport "settle-without-support" Error "a settlement where there is no support";
    PositionOutside "position-outside" Error "a place beyond the end of the member";
    StretchReversed "stretch-reversed" Error "a loaded stretch that ends where it begins, or before";
    PositionMissing "position-missing" Error "a force or couple on a member without its place";
    ClauseNotForJoint "clause-not-for-joint" Error "a clause for members on a joint";
    ClausesClash "clauses-clash" Error "two clauses that cannot both hold";
    WeightUnknown "weight-unknown" Error "own weight of a member that has none given";
    ExpansionUnknown "expansion-unknown" Error "heat on a member whose expansion is not given";
    CircularCombination "circular-combination" Error "a combination that contains itself";
    ClaimWithoutSupport "claim-without-support" Error "a reaction claimed where there is no support";
    ClaimPlace "claim-place" Error "a claim about a thing that has no such quantity";
    ClaimSense "claim-sense" Error "a sense word that does not fit what is claimed";
    ClaimComparesVector "claim-compares-vector" Error "a vector claimed to be at most or at least another";
    ClaimCaseUnsaid "claim-case-unsaid" Error "a claim that does not say under which case";
    ClaimCaseTwice "claim-case-twice" Error "a claim inside a case that names a case again";
    DegreeNotWhole "degree-not-whole" Error "a degree of redundancy that is no whole number";
}
