//! The words and marks of the notation: one byte each, the text stays in the
//! source.
//!
//! Must not know: where a statement ends, what may follow what.

use logos::Logos;

/// A token without its text. Keywords come first, then the words that are read
/// by their place, then plain names, so that the classes are ranges.
#[derive(Logos, Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[logos(skip r"[ \t]+")]
#[repr(u8)]
pub enum Token {
    #[token("title")]
    Title,
    #[token("units")]
    Units,
    #[token("moments")]
    Moments,
    #[token("figures")]
    Figures,
    #[token("let")]
    Let,
    #[token("joint")]
    Joint,
    #[token("bar")]
    Bar,
    #[token("cable")]
    Cable,
    #[token("beam")]
    Beam,
    #[token("hinge")]
    Hinge,
    #[token("pin")]
    Pin,
    #[token("fixed")]
    Fixed,
    #[token("roller")]
    Roller,
    #[token("guide")]
    Guide,
    #[token("spring")]
    Spring,
    #[token("settle")]
    Settle,
    #[token("load")]
    Load,
    #[token("moment")]
    Moment,
    #[token("heat")]
    Heat,
    #[token("misfit")]
    Misfit,
    #[token("case")]
    Case,
    #[token("weigh")]
    Weigh,
    #[token("combo")]
    Combo,
    #[token("travel")]
    Travel,
    #[token("material")]
    Material,
    #[token("section")]
    Section,
    #[token("for")]
    For,
    #[token("use")]
    Use,
    #[token("allow")]
    Allow,
    #[token("deny")]
    Deny,
    /// The last keyword.
    #[token("expect")]
    Expect,

    /// The first word that is read by its place.
    #[token("at")]
    At,
    #[token("from")]
    From,
    #[token("to")]
    To,
    #[token("by")]
    By,
    #[token("per")]
    Per,
    #[token("along")]
    Along,
    #[token("toward")]
    Toward,
    #[token("under")]
    Under,
    #[token("within")]
    Within,
    #[token("of")]
    Of,
    #[token("up")]
    Up,
    #[token("down")]
    Down,
    #[token("left")]
    Left,
    #[token("right")]
    Right,
    #[token("above")]
    Above,
    #[token("below")]
    Below,
    #[token("cw")]
    Cw,
    #[token("ccw")]
    Ccw,
    #[token("all")]
    All,
    #[token("joints")]
    Joints,
    #[token("run")]
    Run,
    #[token("rise")]
    Rise,
    #[token("hinged")]
    Hinged,
    #[token("pushes")]
    Pushes,
    #[token("lifts")]
    Lifts,
    #[token("off")]
    Off,
    #[token("spaced")]
    Spaced,
    #[token("long")]
    Long,
    #[token("short")]
    Short,
    #[token("not")]
    Not,
    #[token("reaction")]
    Reaction,
    #[token("force")]
    Force,
    #[token("shear")]
    Shear,
    #[token("deflection")]
    Deflection,
    #[token("rotation")]
    Rotation,
    #[token("determinate")]
    Determinate,
    #[token("indeterminate")]
    Indeterminate,
    #[token("unstable")]
    Unstable,
    #[token("tension")]
    Tension,
    #[token("compression")]
    Compression,
    #[token("sagging")]
    Sagging,
    #[token("hogging")]
    Hogging,
    #[token("zero")]
    Zero,
    #[token("rigid")]
    Rigid,
    #[token("x")]
    X,
    #[token("y")]
    Y,
    #[token("pi")]
    Pi,
    #[token("sqrt")]
    Sqrt,
    #[token("sin")]
    Sin,
    #[token("cos")]
    Cos,
    #[token("tan")]
    Tan,
    #[token("asin")]
    Asin,
    #[token("acos")]
    Acos,
    #[token("atan")]
    Atan,
    #[token("atan2")]
    Atan2,
    #[token("abs")]
    Abs,
    #[token("min")]
    Min,
    #[token("max")]
    Max,
    #[token("hypot")]
    Hypot,
    #[token("length")]
    Length,
    #[token("angle")]
    Angle,
    #[token("across")]
    Across,
    /// Any other word; the last token that is one.
    #[regex(r"[\p{L}_--º][\p{L}\p{M}_0-9--º]*", priority = 1)]
    Name,

    #[regex(r"[0-9](_?[0-9])*(\.[0-9](_?[0-9])*)?([eE][+-]?[0-9]+)?")]
    Number,
    /// A unit with all that belongs to it: `kN/m^2`, `per K`, `%`, `°`. Made
    /// by the scanner, which knows what a unit may follow.
    Unit,
    #[regex(r#""([^"\\\n\r]|\\[^\n\r])*""#)]
    Text,
    #[token("(")]
    LeftParen,
    #[token(")")]
    RightParen,
    #[token("[")]
    LeftBracket,
    #[token("]")]
    RightBracket,
    #[token("{")]
    LeftBrace,
    #[token("}")]
    RightBrace,
    #[token(",")]
    Comma,
    #[token(":")]
    Colon,
    #[token("=")]
    Equals,
    #[token("@")]
    Direct,
    #[token("+")]
    Plus,
    #[token("-")]
    Minus,
    #[token("*")]
    Star,
    #[token("/")]
    Slash,
    #[token("^")]
    Caret,
    #[token(".")]
    Dot,
    #[token("<=")]
    AtMost,
    #[token(">=")]
    AtLeast,
    #[token("<")]
    Less,
    #[token(">")]
    Greater,
    #[token("%")]
    Percent,
    #[token("°")]
    #[token("°C")]
    #[token("°F")]
    Degree,
    #[token("·")]
    #[token("⋅")]
    MiddleDot,
    #[regex(r"[⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+")]
    Superscript,

    /// The tokens from here on never reach the parser.
    #[regex(r"\n|\r\n")]
    Newline,
    #[regex(r"//[^\n\r]*", allow_greedy = true)]
    Comment,
    #[token(";")]
    Semicolon,
    /// `3.` or `.5`
    #[regex(r"[0-9](_?[0-9])*\.")]
    #[regex(r"\.[0-9](_?[0-9])*([eE][+-]?[0-9]+)?")]
    BareDecimal,
    #[regex(r#""([^"\\\n\r]|\\[^\n\r])*\\?"#)]
    UnclosedText,
    /// `“A”`: a string in typographic quotes.
    #[regex(r#"[“”„][^"“”„\n\r]*[“”"]"#)]
    CurlyText,
    /// A character that looks like one of the notation's.
    #[regex(
        r"[\u{2010}-\u{2015}\u{2212}\u{FE58}\u{FE63}\u{FF0D}×÷\u{2215}\u{2044}≤≥º˚\u{A0}\u{2000}-\u{200A}\u{202F}\u{205F}\u{3000}]"
    )]
    LookAlike,
    /// A control character, or one that is not seen.
    #[regex(
        r"[\x00-\x08\x0B-\x1F\x7F-\u{9F}\u{AD}\u{61C}\u{180E}\u{200B}-\u{200F}\u{2028}-\u{202E}\u{2060}-\u{206F}\u{FEFF}\u{FFF9}-\u{FFFB}\u{E0000}-\u{E007F}]"
    )]
    Hidden,
    #[regex(r".", priority = 0)]
    Unknown,
}

impl Token {
    /// A word that begins a statement. Only these are reserved.
    /// Whether a word is one of the notation's own.
    pub fn is_own_word(word: &str) -> bool {
        let is_own = |token: Token| token != Token::Name && (token.is_keyword() || token.is_word());
        let mut lexer = Token::lexer(word);
        lexer.next().is_some_and(|token| token.is_ok_and(is_own)) && lexer.remainder().is_empty()
    }

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

    /// How it is written; for a class of tokens, what the class is called.
    pub const fn spelling(self) -> &'static str {
        match self {
            Token::Title => "title",
            Token::Units => "units",
            Token::Moments => "moments",
            Token::Figures => "figures",
            Token::Let => "let",
            Token::Joint => "joint",
            Token::Bar => "bar",
            Token::Cable => "cable",
            Token::Beam => "beam",
            Token::Hinge => "hinge",
            Token::Pin => "pin",
            Token::Fixed => "fixed",
            Token::Roller => "roller",
            Token::Guide => "guide",
            Token::Spring => "spring",
            Token::Settle => "settle",
            Token::Load => "load",
            Token::Moment => "moment",
            Token::Heat => "heat",
            Token::Misfit => "misfit",
            Token::Case => "case",
            Token::Weigh => "weigh",
            Token::Combo => "combo",
            Token::Travel => "travel",
            Token::Material => "material",
            Token::Section => "section",
            Token::For => "for",
            Token::Use => "use",
            Token::Allow => "allow",
            Token::Deny => "deny",
            Token::Expect => "expect",
            Token::At => "at",
            Token::From => "from",
            Token::To => "to",
            Token::By => "by",
            Token::Per => "per",
            Token::Along => "along",
            Token::Toward => "toward",
            Token::Under => "under",
            Token::Within => "within",
            Token::Of => "of",
            Token::Up => "up",
            Token::Down => "down",
            Token::Left => "left",
            Token::Right => "right",
            Token::Above => "above",
            Token::Below => "below",
            Token::Cw => "cw",
            Token::Ccw => "ccw",
            Token::All => "all",
            Token::Joints => "joints",
            Token::Run => "run",
            Token::Rise => "rise",
            Token::Hinged => "hinged",
            Token::Pushes => "pushes",
            Token::Lifts => "lifts",
            Token::Off => "off",
            Token::Spaced => "spaced",
            Token::Long => "long",
            Token::Short => "short",
            Token::Not => "not",
            Token::Reaction => "reaction",
            Token::Force => "force",
            Token::Shear => "shear",
            Token::Deflection => "deflection",
            Token::Rotation => "rotation",
            Token::Determinate => "determinate",
            Token::Indeterminate => "indeterminate",
            Token::Unstable => "unstable",
            Token::Tension => "tension",
            Token::Compression => "compression",
            Token::Sagging => "sagging",
            Token::Hogging => "hogging",
            Token::Zero => "zero",
            Token::Rigid => "rigid",
            Token::X => "x",
            Token::Y => "y",
            Token::Pi => "pi",
            Token::Sqrt => "sqrt",
            Token::Sin => "sin",
            Token::Cos => "cos",
            Token::Tan => "tan",
            Token::Asin => "asin",
            Token::Acos => "acos",
            Token::Atan => "atan",
            Token::Atan2 => "atan2",
            Token::Abs => "abs",
            Token::Min => "min",
            Token::Max => "max",
            Token::Hypot => "hypot",
            Token::Length => "length",
            Token::Angle => "angle",
            Token::Across => "across",
            Token::Name => "a name",
            Token::Number => "a number",
            Token::Unit => "a unit",
            Token::Text => "a string",
            Token::LeftParen => "(",
            Token::RightParen => ")",
            Token::LeftBracket => "[",
            Token::RightBracket => "]",
            Token::LeftBrace => "{",
            Token::RightBrace => "}",
            Token::Comma => ",",
            Token::Colon => ":",
            Token::Equals => "=",
            Token::Direct => "@",
            Token::Plus => "+",
            Token::Minus => "-",
            Token::Star => "*",
            Token::Slash => "/",
            Token::Caret => "^",
            Token::Dot => ".",
            Token::AtMost => "<=",
            Token::AtLeast => ">=",
            Token::Less => "<",
            Token::Greater => ">",
            Token::Percent => "%",
            Token::Degree => "°",
            Token::MiddleDot => "·",
            Token::Superscript => "a superscript",
            Token::Newline => "the end of the line",
            Token::Comment => "a comment",
            Token::Semicolon => ";",
            Token::BareDecimal => "a number",
            Token::UnclosedText | Token::CurlyText => "a string",
            Token::LookAlike | Token::Hidden | Token::Unknown => "a character",
        }
    }

    /// Every statement keyword, in the order of the notation's page.
    pub const KEYWORDS: [Token; 31] = [
        Token::Title,
        Token::Units,
        Token::Moments,
        Token::Figures,
        Token::Let,
        Token::Joint,
        Token::Bar,
        Token::Cable,
        Token::Beam,
        Token::Hinge,
        Token::Pin,
        Token::Fixed,
        Token::Roller,
        Token::Guide,
        Token::Spring,
        Token::Settle,
        Token::Load,
        Token::Moment,
        Token::Heat,
        Token::Misfit,
        Token::Case,
        Token::Weigh,
        Token::Combo,
        Token::Travel,
        Token::Material,
        Token::Section,
        Token::For,
        Token::Use,
        Token::Allow,
        Token::Deny,
        Token::Expect,
    ];
}
