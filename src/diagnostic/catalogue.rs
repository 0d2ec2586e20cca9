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
    // Reading: what is wrong with a text before anybody asks what it means.
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

    LookAlike "look-alike-character" Warning "a typographic character in place of a plain one";
    HiddenCharacter "hidden-character" Error "a control character, or one that is not seen";
    UnclosedString "unclosed-string" Error "a string that does not end on its line";
    UnknownEscape "unknown-escape" Error "a backslash in a string before anything but a quote or a backslash";
    MalformedNumber "malformed-number" Error "digits that do not make a number";
    UnknownUnit "unknown-unit" Error "a word after a number that is no unit";
    AngleWithoutUnit "angle-without-unit" Error "an angle without degrees or radians";
    NeighbourWithoutUnit "neighbour-without-unit" Error "numbers side by side of which one has no unit";
    OneStatementALine "one-statement-a-line" Error "a semicolon, or two statements on one line";
    UnknownStatement "unknown-statement" Error "a line that begins with no statement keyword";
    MissingColon "missing-colon" Error "no colon between a subject and what is said of it";
    MissingEquals "missing-equals" Error "no equals sign between a name and its value";
    WrongMark "wrong-mark" Error "a colon, an equals sign or a comparison in place of another";
    UnexpectedToken "unexpected-token" Error "something that cannot stand at its place";
    KeywordAsName "keyword-as-name" Error "a statement keyword used as a name";
    UnknownFunction "unknown-function" Error "a call of a function that does not exist";
    IndexedNameDigit "indexed-name-digit" Error "an indexed name that ends in a digit";
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
    OverLimit "over-limit" Error "a file, an expression or a nesting beyond what is read";
}
