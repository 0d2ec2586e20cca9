//! The words and marks of the notation: one byte each, the text stays in the
//! source.
//!
//! Must not know: where a statement ends, what may follow what.

use logos::Logos;

/// Every token, each written once: keywords, the words that are read by their
/// place, marks, and all others; words are ranges, so that a class is two comparisons. After its name stands
/// how it is written, and how it was written in earlier versions, or what its class is called.
macro_rules! tokens {
    (
        keywords { $($keyword:ident $key:tt $(once $old:tt)?,)* }
        words { $($word:ident $text:tt,)* }
        marks { $($mark:ident $sign:tt,)* }
        others { $($(#[$($read:tt)*])* $other:ident $called:tt,)* }
    ) => {
        /// A token without its text.
        #[derive(Logos, Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        #[logos(skip r"[ \t]+")]
        #[repr(u8)]
        pub enum Token {
            $(#[token($key)] $(#[token($old)])? $keyword,)*
            $(#[token($text)] $word,)*
            $($(#[$($read)*])* $other,)*
            $(#[token($sign)] $mark,)*
        }

        impl Token {
            /// How it is written; for a class of tokens, what the class is called.
            pub const fn spelling(self) -> &'static str {
                match self {
                    $(Token::$keyword => $key,)*
                    $(Token::$word => $text,)*
                    $(Token::$other => $called,)*
                    $(Token::$mark => $sign,)*
                }
            }

            /// Every word that begins a statement, in the order of the notation's page.
            pub const KEYWORDS: [Token; Token::Expect as usize + 1] = [$(Token::$keyword,)*];

            /// Whether a word is one of the notation's own.
            pub fn is_own_word(word: &str) -> bool {
                [$($key, $($old,)?)* $($text,)*].contains(&word)
            }
        }
    };
}

tokens! {
    keywords {
        Title "title", Units "units", Moments "moments", Figures "figures", Let "let",
        Joint "joint", Bar "bar", Cable "cable", Beam "beam", Hinge "hinge",
        Pin "pin", Fixed "fixed", Roller "roller", Guide "guide", Spring "spring", Settle "settle",
        Load "load", Moment "moment", Heat "heat", Misfit "misfit", Case "case", Weigh "weigh", Combination "combination" once "combo",
        Travel "travel",
        Material "material", Section "section", For "for", Use "use", Allow "allow", Deny "deny", Expect "expect",
    }
    words {
        At "at", With "with", From "from", To "to", By "by", Per "per", Along "along", Toward "toward", Under "under",
        Within "within", Of "of",
        Up "up", Down "down", Left "left", Right "right", Above "above", Below "below", Cw "cw", Ccw "ccw",
        All "all", Joints "joints", Run "run", Rise "rise", Hinged "hinged", Pushes "pushes", Lifts "lifts", Off "off",
        Spaced "spaced", Long "long", Short "short", Not "not",
        Reaction "reaction", Force "force", Shear "shear", Deflection "deflection", Rotation "rotation",
        Determinate "determinate", Indeterminate "indeterminate", Unstable "unstable",
        Tension "tension", Compression "compression", Sagging "sagging", Hogging "hogging", Zero "zero", Rigid "rigid",
        X "x", Y "y", Pi "pi",
        Sqrt "sqrt", Sin "sin", Cos "cos", Tan "tan", Asin "asin", Acos "acos", Atan "atan", Atan2 "atan2", Abs "abs",
        Min "min", Max "max", Hypot "hypot", Length "length", Angle "angle", Across "across",
    }
    marks {
        LeftParen "(", RightParen ")", LeftBracket "[", RightBracket "]", LeftBrace "{", RightBrace "}",
        Comma ",", Colon ":", Equals "=", Direct "@", Plus "+", Minus "-", Star "*", Slash "/", Caret "^",
        Dot ".", AtMost "<=", AtLeast ">=", Less "<", Greater ">", Percent "%", Semicolon ";",
    }
    others {
        /// Any other word.
        #[regex(r"[\p{L}_--º][\p{L}\p{M}_0-9--º]*", priority = 1)]
        Name "a name",
        #[regex(r"[0-9](_?[0-9])*(\.[0-9](_?[0-9])*)?([eE][+-]?[0-9]+)?")]
        Number "a number",
        /// A unit with all that belongs to it: `kN/m^2`, `per K`, `%`, `°`. Made
        /// by the scanner, which knows what a unit may follow.
        Unit "a unit",
        #[regex(r#""([^"\\\n\r]|\\[^\n\r])*""#)]
        Text "a string",
        #[token("°")]
        #[token("°C")]
        #[token("°F")]
        Degree "°",
        #[token("·")]
        #[token("⋅")]
        MiddleDot "·",
        #[regex(r"[⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+")]
        Superscript "a superscript",
        #[regex(r"\n|\r\n")]
        Newline "the end of the line",
        #[regex(r"//[^\n\r]*", allow_greedy = true)]
        Comment "a comment",
        /// `3.` or `.5`
        #[regex(r"[0-9](_?[0-9])*\.")]
        #[regex(r"\.[0-9](_?[0-9])*([eE][+-]?[0-9]+)?")]
        BareDecimal "a number",
        #[regex(r#""([^"\\\n\r]|\\[^\n\r])*\\?"#)]
        UnclosedText "a string",
        /// `“A”`: a string in typographic quotes.
        #[regex(r#"[“”„][^"“”„\n\r]*[“”"]"#)]
        CurlyText "a string",
        /// A character that looks like one of the notation's.
        #[regex(
            r"[\u{2010}-\u{2015}\u{2212}\u{FE58}\u{FE63}\u{FF0D}×÷\u{2215}\u{2044}≤≥º˚\u{A0}\u{2000}-\u{200A}\u{202F}\u{205F}\u{3000}]"
        )]
        LookAlike "a character",
        /// A control character, or one that is not seen.
        #[regex(
            r"[\x00-\x08\x0B-\x1F\x7F-\u{9F}\u{AD}\u{61C}\u{180E}\u{200B}-\u{200F}\u{2028}-\u{202E}\u{2060}-\u{206F}\u{FEFF}\u{FFF9}-\u{FFFB}\u{E0000}-\u{E007F}]"
        )]
        Hidden "a character",
        #[regex(r".", priority = 0)]
        Unknown "a character",
    }
}

impl Token {
    /// A word that begins a statement. Only these are reserved.
    pub const fn is_keyword(self) -> bool {
        (self as u8) <= Token::Expect as u8
    }

    /// A word that may be a name where a name is wanted.
    pub const fn is_word(self) -> bool {
        (self as u8) >= Token::At as u8 && (self as u8) <= Token::Name as u8
    }

    pub const fn is_cardinal(self) -> bool {
        matches!(self, Token::Up | Token::Down | Token::Left | Token::Right)
    }

    /// A word that opens a clause after a complete value.
    pub const fn opens_clause(self) -> bool {
        matches!(
            self,
            Token::At
                | Token::From
                | Token::To
                | Token::By
                | Token::Per
                | Token::Along
                | Token::Toward
                | Token::Under
                | Token::With
                | Token::Within
                | Token::Hinged
                | Token::Pushes
                | Token::Lifts
                | Token::Spaced
        )
    }

    /// A word that is called: `sqrt(2)`, `length(A-B)`.
    pub const fn is_function(self) -> bool {
        matches!(self, Token::Along) || ((self as u8) >= Token::Sqrt as u8 && (self as u8) <= Token::Across as u8)
    }

    /// After a number or a name, one of these goes on with the same product.
    pub const fn continues_operand(self) -> bool {
        matches!(
            self,
            Token::Star
                | Token::Slash
                | Token::Caret
                | Token::Dot
                | Token::Number
                | Token::LeftBracket
                | Token::LeftParen
        )
    }

    /// A line that ends in one of these goes on in the next.
    pub const fn continues_line(self) -> bool {
        matches!(
            self,
            Token::Comma
                | Token::Plus
                | Token::Minus
                | Token::Star
                | Token::Slash
                | Token::Direct
                | Token::Equals
                | Token::Colon
        )
    }
}

/// The keyword for a thing that the trade also knows by another word, and by
/// that word no other.
pub fn keyword_called(word: &str) -> Option<Token> {
    Some(match word.to_lowercase().as_str() {
        "node" | "nodes" | "point" | "vertex" | "pt" => Token::Joint,
        "rod" | "strut" | "tie" | "link" | "bars" => Token::Bar,
        "column" | "girder" | "post" | "beams" => Token::Beam,
        "rope" | "wire" | "cables" => Token::Cable,
        "release" | "hinges" => Token::Hinge,
        "pinned" | "pins" => Token::Pin,
        "clamp" | "clamped" | "fix" | "encastre" => Token::Fixed,
        "rocker" | "rolling" | "rollers" => Token::Roller,
        "slider" => Token::Guide,
        "settlement" => Token::Settle,
        "udl" | "loads" => Token::Load,
        "couple" | "torque" => Token::Moment,
        "temperature" => Token::Heat,
        "loadcase" => Token::Case,
        "combine" | "comb" => Token::Combination,
        "train" | "crane" => Token::Travel,
        "import" | "include" => Token::Use,
        "assert" | "claim" | "verify" | "check" => Token::Expect,
        "set" | "var" | "define" | "const" | "param" | "parameter" => Token::Let,
        "name" => Token::Title,
        "repeat" | "foreach" => Token::For,
        _ => return None,
    })
}

/// The same for a word that the trade uses of more than that.
pub fn keyword_perhaps_called(word: &str) -> Option<Token> {
    Some(match word.to_lowercase().as_str() {
        "member" | "element" | "truss" => Token::Bar,
        "support" | "hinged" => Token::Pin,
        "force" | "weight" => Token::Load,
        _ => return keyword_called(word),
    })
}
