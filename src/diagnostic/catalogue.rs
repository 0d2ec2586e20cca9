//! The one catalogue of slugs: each kind of finding with its severity, a
//! summary, and its page. Slugs are public: never renamed.

use super::Severity;

/// What has to be understood of a file before a kind of finding can be seen:
/// a fault of one family may hide those of the families after it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Family {
    /// Of the text, before anybody asks what it means.
    Reading,
    /// Of single statements: names, dimensions, values.
    Meaning,
    /// Of the structure: geometry, supports, stability, redundancy.
    Structure,
    /// Of forces, and of what is claimed about them.
    Results,
}

macro_rules! catalogue {
    ($($family:ident { $($variant:ident $slug:literal $severity:ident $summary:literal;)* })*) => {
        /// A kind of finding.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Slug {
            $($(#[doc = $summary] $variant,)*)*
        }

        impl Slug {
            /// Every slug, in the catalogue's order.
            pub const ALL: &'static [Slug] = &[$($(Slug::$variant,)*)*];

            /// The public word for it.
            pub const fn word(self) -> &'static str {
                match self { $($(Slug::$variant => $slug,)*)* }
            }

            pub const fn severity(self) -> Severity {
                match self { $($(Slug::$variant => Severity::$severity,)*)* }
            }

            pub const fn family(self) -> Family {
                match self { $($(Slug::$variant => Family::$family,)*)* }
            }

            /// One line, as lists of slugs show it.
            pub const fn summary(self) -> &'static str {
                match self { $($(Slug::$variant => $summary,)*)* }
            }

            /// What `explain` prints: Markdown.
            pub const fn page(self) -> &'static str {
                match self { $($(Slug::$variant => include_str!(concat!("pages/", $slug, ".md")),)*)* }
            }

            /// Whether `allow` and `deny` may switch it: an error is no matter of
            /// taste. A redundancy that stiffness resolves is worth knowing only.
            pub fn is_switchable(self) -> bool {
                self.severity() != Severity::Error || self == Slug::Redundant
            }

            pub fn from_word(word: &str) -> Option<Slug> {
                match word { $($($slug => Some(Slug::$variant),)*)* _ => None }
            }
        }
    };
}

catalogue! {
    Reading {
        UnknownToken "unknown-token" Error "a character that is not part of the notation";
    }

    Structure {
        EmptyStructure "empty-structure" Error "a file without members";
        CoincidentJoints "coincident-joints" Error "two joints at one place";
        LooseJoint "loose-joint" Error "a joint without members";
        RunsThroughJoint "runs-through-joint" Warning "a member that passes through a joint it does not name";
        CrossingMembers "crossing-members" Warning "members that cross without a joint";
        NoSupport "no-support" Error "a structure without supports";
        TooFewReactions "too-few-reactions" Error "fewer than three reaction components";
        ParallelReactions "parallel-reactions" Error "parallel reactions";
        ConcurrentReactions "concurrent-reactions" Error "concurrent reactions";
        DanglingJoint "dangling-joint" Error "a joint on a single member";
        CollinearJoint "collinear-joint" Error "a joint with collinear members only";
        UnbracedPanel "unbraced-panel" Error "a panel without a diagonal";
        TurningPart "turning-part" Error "a part that can rotate about a point";
        Sway "sway" Error "a frame that can sway, or a beam with a hinge too many";
        HingesInLine "hinges-in-line" Error "three collinear hinges";
        SpecialLayout "special-layout" Error "enough members and reactions, but in an unstable layout";
        Mechanism "mechanism" Error "joints that can move";
        MoreMechanisms "more-mechanisms" Error "further motions that are only counted";
        Redundant "redundant" Error "more unknown forces than equilibrium determines";
        RigidRedundancy "rigid-redundancy" Error "a redundancy of rigid members";
        IdleClamp "idle-clamp" Warning "a support that holds rotation where no beam ends";
        IdleHinge "idle-hinge" Warning "a hinge where no beam ends";
        NoLoads "no-loads" Warning "a structure without loads";
        EmptyCase "empty-case" Warning "a case without loads";
        LoadOnBar "load-on-bar" Error "a load on a bar between its joints";
        CoupleOnPinnedJoint "couple-on-pinned-joint" Error "a couple where no member can resist it";
        UnusedCase "unused-case" Warning "a case in no combination";
        DoubledLoad "doubled-load" Warning "the same load twice";
    }

    Results {
        NearlySingular "nearly-singular" Warning "an ill-conditioned structure";
        LargeForces "large-forces" Warning "member forces many times the loads";
        TooSensitive "too-sensitive" Error "a layout almost a mechanism";
        NotComputable "not-computable" Error "equations that cannot be solved";
        DoesNotBalance "does-not-balance" Error "a result that fails the equilibrium check";
        RollerPulls "roller-pulls" Warning "a roller that pulls";
        LiftsOff "lifts-off" Error "a one-way roller that would have to pull";
        SlackCable "slack-cable" Error "a cable in compression";
        ClaimFails "claim-fails" Error "a claim that does not hold";
        ClaimNotRefuted "claim-not-refuted" Error "a claim that holds where it should not";
        ClaimNotKnown "claim-not-known" Error "a claim about what cannot be known";
    }

    Structure {
        DoubtfulAngle "doubtful-angle" Warning "an angle that looks like one in the other unit";
        MinusAndSense "minus-and-sense" Warning "a minus sign with a sense word";
        LoadAndComponents "load-and-components" Warning "a force and its own components on one joint";
        NarrowAngle "narrow-angle" Information "members at a very small angle";
        MixedUnits "mixed-units" Information "two systems of units in one file";
        ExcessFigures "excess-figures" Information "a load with too many figures";
        UnusedLet "unused-let" Warning "a let that is not used";
    }

    Results {
        ZeroForceMember "zero-force-member" Information "members without force";
    }

    Meaning {
        TooManyFindings "too-many-findings" Error "more faults or failed claims than are listed";
    }

    Reading {
        LookAlike "look-alike-character" Warning "a typographic character in place of a plain one";
        HiddenCharacter "hidden-character" Error "a control character, or an invisible one";
        UnclosedString "unclosed-string" Error "a string that does not end on its line";
        UnknownEscape "unknown-escape" Error "a backslash in a string before anything but a quote or a backslash";
        MalformedNumber "malformed-number" Error "digits that do not form a number";
        UnknownUnit "unknown-unit" Error "a word after a number that is not a unit";
        NeighbourWithoutUnit "neighbour-without-unit" Error "numbers side by side of which one has no unit";
        OneStatementALine "one-statement-a-line" Error "a semicolon, or two statements on one line";
        UnknownStatement "unknown-statement" Error "a line that begins with no statement keyword";
        OldKeyword "old-keyword" Information "a keyword as it was written in earlier versions";
        MergeConflict "merge-conflict" Error "conflict markers of a merge";
        MissingColon "missing-colon" Error "no colon after the subject of a statement";
        MissingEquals "missing-equals" Error "no equals sign between a name and its value";
        WrongMark "wrong-mark" Error "a colon, an equals sign or a comparison in place of another";
        UnexpectedToken "unexpected-token" Error "something that is not allowed at its place";
        KeywordAsName "keyword-as-name" Error "a statement keyword used as a name";
        UnknownFunction "unknown-function" Error "a call of a function that does not exist";
        IndexedNameDigit "indexed-name-digit" Error "a digit before an index";
        ShortChain "short-chain" Error "a chain of one joint where members are meant";
        ClauseTwice "clause-twice" Error "a clause given twice in one statement";
        MisplacedClause "misplaced-clause" Error "a clause in a statement that does not take it, or at the wrong place";
        UnclosedBracket "unclosed-bracket" Error "a bracket that is not closed before its statement ends";
        StrayBracket "stray-bracket" Error "a closing bracket where none is open";
        VectorParts "vector-parts" Error "a vector with more than two components";
        UnclosedBlock "unclosed-block" Error "a block that is still open at the end of the file";
        StrayBrace "stray-brace" Error "a closing brace where no block is open";
        MissingBlock "missing-block" Error "a case or for without its block on the same line";
        UnexpectedBlock "unexpected-block" Error "a block after something that takes none";
        OverLimit "over-limit" Error "a file, an expression, a nesting, trains of loads, or results beyond the limits";
    }

    Meaning {
        UnknownName "unknown-name" Error "a name that nothing declares";
        WrongKindOfName "wrong-kind-of-name" Error "a name of something other than is required";
        DuplicateName "duplicate-name" Error "one name declared twice";
        ReservedName "reserved-name" Error "a name with a fixed meaning";
        CircularValue "circular-value" Error "a value that depends on itself";
        IndexNotWhole "index-not-whole" Error "an index that is not a whole number";
        IndexNegative "index-negative" Error "an index below zero";
        UseRefused "use-refused" Error "a used file that cannot be included, or not with two values of one let";
        DuplicateUnits "duplicate-units" Error "a second `units` statement in one file";
        DuplicateTitle "duplicate-title" Error "a second title";
        MomentsClash "moments-clash" Error "two sign conventions for moments";
        FiguresClash "figures-clash" Error "two different counts of figures";
        FiguresOutOfRange "figures-out-of-range" Error "a count of figures that is not a whole number from 1 to 12";
        LoopBoundNotWhole "loop-bound-not-whole" Error "a bound or step of a loop that is not a whole number";
        LoopStepZero "loop-step-zero" Error "a loop that would never end";
        TooManyStatements "too-many-statements" Error "loops that unroll beyond the limit";
        NotInCase "not-in-case" Error "a statement of the structure inside a case";
        NotInBlock "not-in-block" Error "a statement for the whole file, inside a block";
        UnknownSlug "unknown-slug" Warning "`allow` or `deny` of a finding that does not exist";
        NotSwitchable "not-switchable" Warning "`allow` or `deny` of an error";
        UnitsOfWrongKind "units-of-wrong-kind" Error "a `units` statement out of order, or with a unit of another kind";
        AmbiguousTon "ambiguous-ton" Error "`ton`, which is three different forces";
        BarAsUnit "bar-as-unit" Error "`bar` as a pressure";
        PoundAsForce "pound-as-force" Information "`lb` read as the force `lbf`";
        MassAsLoad "mass-as-load" Error "a mass where a force is required";
        WrongDimension "wrong-dimension" Error "a quantity of the wrong dimension";
        MixedDimensions "mixed-dimensions" Error "unlike quantities added, compared or paired";
        BareNumber "bare-number" Error "a number without a unit in a file without `units`";
        UnitMissing "unit-missing" Error "a quantity that needs a unit of its own";
        LetOfOtherUnits "let-of-other-units" Error "a number of one file that would take another file's unit";
        BareAngle "bare-angle" Error "an angle that says neither degrees nor radians";
        ShareOutOfPlace "share-out-of-place" Error "`%` where no percentage is taken";
        NeighbourOrder "neighbour-order" Error "neighbouring quantities such as `6 in 4 ft` in the wrong order";
        VectorWanted "vector-wanted" Error "a single value where a point or vector belongs";
        ScalarWanted "scalar-wanted" Error "a vector where a single value belongs";
        DirectionMissing "direction-missing" Error "a load without a direction";
        DirectionTwice "direction-twice" Error "a direction given to what already has one";
        TowardWithoutJoint "toward-without-joint" Error "`toward` where no joint is loaded";
        ZeroDirection "zero-direction" Error "a direction from a zero vector";
        DivisionByZero "division-by-zero" Error "a division by zero";
        OutsideDomain "outside-domain" Error "a function of a value for which it is not defined";
        RootOfDimension "root-of-dimension" Error "the root of a quantity that has none";
        NumberOutOfRange "number-out-of-range" Error "a number too large or too small to compute with";
        PowerNotWhole "power-not-whole" Error "a fractional power of a quantity with a unit";
        ArgumentCount "argument-count" Error "a function with too few or too many arguments";
        ScalarAndVector "scalar-and-vector" Error "a vector and a single value added";
        ProductOfVectors "product-of-vectors" Error "two vectors multiplied or divided";
        ComponentOfScalar "component-of-scalar" Error "`.x` or `.y` of a single value";
        MemberOnItself "member-on-itself" Error "a member from a joint to itself";
        DuplicateMember "duplicate-member" Error "two members between the same joints";
        HingedElsewhere "hinged-elsewhere" Error "a beam hinged at a joint it does not reach";
        NoSuchMember "no-such-member" Error "a chain without a member between two of its joints";
        UnknownProperty "unknown-property" Error "an unknown property";
        DuplicateProperty "duplicate-property" Error "a property given twice";
        NotPositive "not-positive" Error "a stiffness, area or weight that is not positive";
        NotRigid "not-rigid" Error "`rigid` for something other than a stiffness";
        DuplicateSupport "duplicate-support" Error "two supports on one joint";
        SettleWithoutSupport "settle-without-support" Error "a settlement where no support resists it";
        SettlePartFree "settle-part-free" Warning "a settlement with a component that is not held";
        LiftSideUnsaid "lift-side-unsaid" Error "a roller on a vertical track that may lift off, to an unknown side";
        TurningSenseUnsaid "turning-sense-unsaid" Error "a couple without a sense where files differ in theirs";
        CoupleAtHinge "couple-at-hinge" Error "a couple at a hinge, on either side of it";
        NoProjection "no-projection" Warning "a load per run of vertical members, or per rise of horizontal ones";
        PositionOutside "position-outside" Error "a place beyond the end of the member";
        TrainSpacing "train-spacing" Error "spacings that do not fit the loads of a train";
        PathDoublesBack "path-doubles-back" Error "a train's path that passes a member twice";
        StretchReversed "stretch-reversed" Error "a loaded stretch that ends where it begins, or before";
        PositionMissing "position-missing" Error "a force or couple on a member without its place";
        ClauseNotForJoint "clause-not-for-joint" Error "a clause for members on a joint";
        ClausesClash "clauses-clash" Error "two clauses that cannot both hold";
        WeightUnknown "weight-unknown" Error "self-weight of a member whose weight is not given";
        ExpansionUnknown "expansion-unknown" Error "a temperature change of a member whose expansion is not given";
        CircularCombination "circular-combination" Error "a combination that contains itself";
        ClaimWithoutSupport "claim-without-support" Error "a reaction claimed where there is no support";
        ClaimPlace "claim-place" Error "a claim about a quantity that does not exist there";
        ClaimSense "claim-sense" Error "a sense word that does not fit what is claimed";
        NegativeLimit "negative-limit" Error "a claim with a limit below zero";
        ClaimComparesVector "claim-compares-vector" Error "a vector claimed to be at most or at least another";
        ClaimCaseUnsaid "claim-case-unsaid" Error "a claim that does not say under which case";
        ClaimCaseTwice "claim-case-twice" Error "a claim inside a case that names a case again";
        DegreeNotWhole "degree-not-whole" Error "a degree of redundancy that is not a whole number";
    }
}
