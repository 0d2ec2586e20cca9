//! What is wrong with a text before anybody asks what it means: the words for
//! every [`SyntaxError`].
//!
//! Must not know: names, structures.

mod expected;
mod habits;
mod statements;

pub use habits::chain_meant;

use super::certain::rest_of_line;
use crate::base::{FileId, Origin, Span, similar};
use crate::diagnostic::{Diagnostic, Slug};
use crate::quantity::{is_same_unit, similar_unit};
use crate::syntax::Parse;
use crate::syntax::error::{Fits, MoreOnLine, Statement, SyntaxError};
use crate::syntax::is_hash_comment;
use crate::syntax::limits::{MAX_BLOCKS, MAX_BRACKETS, MAX_ERRORS, MAX_EXPRESSION_DEPTH, MAX_FILE_BYTES};
use crate::syntax::token::{Token, keyword_perhaps_called};

/// A diagnostic for each error of a parse, in source order.
pub fn check_reading(parse: &Parse, text: &str) -> Vec<Diagnostic> {
    parse.errors.iter().map(|error| explain(error, parse.tree.file, text)).collect()
}

/// The words for one error in a file with this text.
pub fn explain(error: &SyntaxError, file: FileId, text: &str) -> Diagnostic {
    let source = Source { file, text };
    match error {
        SyntaxError::Habit { habit, at, edits } => source.explain_habit(*habit, *at, edits),
        SyntaxError::UnknownCharacter { .. }
        | SyntaxError::LookAlike { .. }
        | SyntaxError::HiddenCharacter { .. }
        | SyntaxError::UnclosedText { .. }
        | SyntaxError::BadEscape { .. } => source.explain_character(error),
        SyntaxError::NumberRange { low, high } => source.explain_range(*low, *high),
        SyntaxError::MalformedNumber { .. }
        | SyntaxError::DecimalComma { .. }
        | SyntaxError::UnknownUnit { .. }
        | SyntaxError::NeighbourWithoutUnit { .. } => source.explain_number(error),
        SyntaxError::Semicolon { .. }
        | SyntaxError::TwoStatements { .. }
        | SyntaxError::UnknownStatement { .. }
        | SyntaxError::NoStatement { .. }
        | SyntaxError::OldKeyword { .. }
        | SyntaxError::MergeConflict { .. }
        | SyntaxError::MissingMark { .. }
        | SyntaxError::WrongMark { .. } => source.explain_statement(error),
        SyntaxError::UnclosedBracket { .. }
        | SyntaxError::StrayBracket { .. }
        | SyntaxError::ThirdCoordinate { .. }
        | SyntaxError::UnclosedBlock { .. }
        | SyntaxError::StrayBrace { .. }
        | SyntaxError::MissingBlock { .. }
        | SyntaxError::BraceOnNextLine { .. }
        | SyntaxError::UnexpectedBlock { .. } => source.explain_bracket(error),
        SyntaxError::Expected { .. }
        | SyntaxError::KeywordAsName { .. }
        | SyntaxError::UnknownFunction { .. }
        | SyntaxError::IndexedNameEndsInDigit { .. }
        | SyntaxError::ShortChain { .. }
        | SyntaxError::ClauseTwice { .. }
        | SyntaxError::MisplacedClause { .. }
        | SyntaxError::LateDirection { .. } => source.explain_place(error),
        SyntaxError::ExpressionTooDeep { .. }
        | SyntaxError::BracketsTooDeep { .. }
        | SyntaxError::BlocksTooDeep { .. }
        | SyntaxError::FileTooLarge { .. }
        | SyntaxError::TooManyErrors { .. } => source.explain_limit(error),
    }
}

/// What a character that may not stand in a file is called.
const fn hidden_name(character: char) -> &'static str {
    match character {
        '\0' => "the null character",
        '\r' => "a carriage return without a line feed",
        '\u{B}' => "a vertical tab",
        '\u{C}' => "a form feed",
        '\u{1B}' => "an escape character",
        '\u{85}' => "a next-line character",
        '\u{AD}' => "a soft hyphen",
        '\u{180E}' | '\u{200B}'..='\u{200D}' | '\u{2060}'..='\u{2064}' => "a character of no width",
        '\u{61C}' | '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}' => {
            "a character that turns the direction of writing"
        }
        '\u{2028}' => "a line separator",
        '\u{2029}' => "a paragraph separator",
        '\u{FEFF}' => "a byte order mark within the text",
        '\u{E0000}'..='\u{E007F}' => "a tag character",
        _ => "a control character",
    }
}

#[derive(Clone, Copy)]
struct Source<'t> {
    file: FileId,
    text: &'t str,
}

impl<'t> Source<'t> {
    fn at(self, span: Span) -> Origin {
        Origin::new(self.file, span)
    }

    /// The text at a place, short enough for a sentence.
    fn quote(self, span: Span) -> String {
        const LONGEST: usize = 40;
        let written = span.text(self.text).lines().next().unwrap_or("");
        match written.char_indices().nth(LONGEST) {
            Some((end, _)) => format!("`{}…`", written.get(..end).unwrap_or("")),
            None => format!("`{written}`"),
        }
    }

    /// The character at a place by its number, as `U+202E`.
    fn code_point(self, span: Span) -> String {
        span.text(self.text).chars().next().map_or(String::new(), |character| format!("U+{:04X}", u32::from(character)))
    }

    /// The line from the start of a place on, without its comment.
    fn line_from(self, span: Span) -> &'t str {
        self.rest_of_line(Span::at(span.start)).split("//").next().unwrap_or("")
    }

    /// What follows a place on its line, or what is near to it of a long line.
    fn rest_of_line(self, span: Span) -> &'t str {
        let line = rest_of_line(self.text, span.end as usize);
        line.strip_suffix('\r').unwrap_or(line)
    }

    fn with_blanks_before(self, span: Span) -> Origin {
        let before = self.text.get(..span.start as usize).unwrap_or("");
        let kept = before.trim_end_matches([' ', '\t']).len();
        self.at(Span::new(u32::try_from(kept).unwrap_or(span.start), span.end))
    }

    fn with_blanks_after(self, span: Span) -> Origin {
        let rest = self.rest_of_line(span);
        let blanks = rest.len() - rest.trim_start_matches([' ', '\t']).len();
        self.at(Span::new(span.start, span.end + u32::try_from(blanks).unwrap_or(0)))
    }

    /// A line break with the indentation of the line a place is on.
    fn new_line(self, span: Span) -> String {
        let before = self.text.get(..span.start as usize).unwrap_or("");
        let line = before.rsplit('\n').next().unwrap_or("");
        let indentation = line.len() - line.trim_start_matches([' ', '\t']).len();
        format!("\n{}", line.get(..indentation).unwrap_or(""))
    }

    fn explain_character(self, error: &SyntaxError) -> Diagnostic {
        let at = self.at(error.span());
        let quoted = self.quote(error.span());
        match error {
            SyntaxError::LookAlike { instead, .. } if instead == " " => Diagnostic::new(
                Slug::LookAlike,
                format!("a space that is not a plain space ({})", self.code_point(at.span)),
            )
            .label(at, "read as a plain space")
            .help("write a plain space")
            .edit(at, " "),
            SyntaxError::LookAlike { instead, .. } => {
                Diagnostic::new(Slug::LookAlike, format!("{quoted} looks like `{instead}` and is read as that"))
                    .label(at, self.code_point(at.span))
                    .why("Word processors and PDF files exchange plain signs for typographic ones.")
                    .help(format!("write `{instead}`"))
                    .edit(at, instead.clone())
            }
            SyntaxError::HiddenCharacter { .. } => self.explain_hidden(at),
            SyntaxError::UnclosedText { .. } => Diagnostic::new(Slug::UnclosedString, "the string is not closed")
                .label(at, "it opens here and does not end on this line")
                .help("end it with `\"` on the same line"),
            SyntaxError::BadEscape { .. } => {
                Diagnostic::new(Slug::UnknownEscape, format!("{quoted} stands for nothing in a string"))
                    .label(at, "unknown escape")
                    .why("A string knows two escapes: `\\\"` for a quote and `\\\\` for a backslash.")
                    .help("write the backslash twice if a backslash is meant")
            }
            _ => {
                let found = Diagnostic::new(Slug::UnknownToken, format!("{quoted} means nothing in this notation"))
                    .label(at, "unknown character");
                match at.span.text(self.text).chars().next() {
                    Some('#') => {
                        let found = found.help("a comment begins with `//`");
                        if is_hash_comment(self.text, at.span.start as usize) { found.edit(at, "//") } else { found }
                    }
                    Some('\'' | '′' | '″' | '’') => found.help("feet and inches are written `4 ft 6 in`"),
                    Some('±') => self.explain_tolerance(found, at.span),
                    Some('!') => found.help("a claim is turned round with `expect not …`"),
                    Some('\\') => {
                        found.help("a line goes on in the next when it ends in an operator or inside brackets")
                    }
                    Some('↑' | '↓' | '←' | '→') => self.explain_arrow(found, at),
                    _ => found.help("leave it out, or put it into a comment"),
                }
            }
        }
    }

    fn explain_hidden(self, at: Origin) -> Diagnostic {
        let character = at.span.text(self.text).chars().next().unwrap_or(' ');
        let code = self.code_point(at.span);
        let name = hidden_name(character);
        let told = Diagnostic::new(Slug::HiddenCharacter, format!("{name} ({code}) may not stand in a source file"));
        if matches!(character, '\r' | '\u{B}' | '\u{C}' | '\u{85}' | '\u{2028}' | '\u{2029}') {
            return told
                .label(at, "read as the end of the line")
                .why("Some editors begin a new line here and some do not, so readers would see different files.")
                .help("end lines with LF or CRLF")
                .edit(at, "\n");
        }
        let told = told
            .label(at, "a character that is not seen")
            .why("What cannot be seen could make the text read other than it is.")
            .help("delete it");
        let before = self.text.get(..at.span.start as usize).unwrap_or("");
        let is_within_digits = before.ends_with(|last: char| last.is_ascii_digit())
            && self.rest_of_line(at.span).starts_with(|next: char| next.is_ascii_digit());
        // Two numbers that only seem to touch are not made one.
        if is_within_digits { told } else { told.edit(at, "") }
    }

    fn explain_number(self, error: &SyntaxError) -> Diagnostic {
        let at = self.at(error.span());
        let quoted = self.quote(error.span());
        match error {
            SyntaxError::DecimalComma { number, comma, decimals, fits } => {
                let (whole, digits) = (number.text(self.text), decimals.text(self.text));
                let told = Diagnostic::new(Slug::MalformedNumber, "a comma inside a number")
                    .label(self.at(*comma), "separates values, not digits")
                    .label(self.at(*number), "the number ends here")
                    .why("A decimal sign is a point; thousands may be set apart with `_`.");
                let whole_thousands = whole.split_once('.').filter(|(_, part)| part.len() == 3);
                let thousands = digits.split_once('.').filter(|(part, _)| part.len() == 3);
                if let Some((whole, part)) = whole_thousands {
                    return told.help(format!("write `{whole}{part}.{digits}`"));
                }
                if let (Some((part, decimals)), false) = (thousands, whole.contains('.')) {
                    return told.help(format!("write `{whole}{part}.{decimals}`"));
                }
                if whole.contains('.') || digits.contains('.') {
                    return told.help("numbers are written `12`, `4.5`, `1_000` or `2.5e3`");
                }
                if self.may_be_vector(*number, *decimals) {
                    return told.help(format!(
                        "write `{whole}.{digits}` with its direction, or `({whole}, {digits})` if two components are meant"
                    ));
                }
                if digits.len() == 3 {
                    return told.help(format!(
                        "write `{whole}.{digits}` if the comma is a decimal sign, `{whole}_{digits}` if it sets thousands apart"
                    ));
                }
                let told = told.help(format!("write `{whole}.{digits}`"));
                if *fits == Fits::Yes { told.edit(self.at(*comma), ".") } else { told }
            }
            SyntaxError::UnknownUnit { number, word } => {
                let found = Diagnostic::new(Slug::UnknownUnit, format!("{quoted} is no unit"))
                    .label(at, "a word straight after a number is its unit")
                    .label(self.at(*number), "this number");
                let word = word.text(self.text);
                match similar_unit(word) {
                    Some(unit) if is_same_unit(word, &unit) => found.help(format!("write `{unit}`")).edit(at, unit),
                    Some(unit) => found.help(format!("did you mean `{unit}`?")),
                    None => found.help(format!("to multiply by a name, write `{} * {word}`", number.text(self.text))),
                }
            }
            SyntaxError::NeighbourWithoutUnit { number, other } => Diagnostic::new(
                Slug::NeighbourWithoutUnit,
                format!("two numbers side by side, and {} has no unit", self.quote(*number)),
            )
            .label(self.at(*number), "no unit")
            .label(self.at(*other), "its neighbour")
            .why("Neighbouring literals add, as in `4 ft 6 in`: each carries its own unit.")
            .help("give it a unit, or put an operator between the two"),
            SyntaxError::MalformedNumber { instead: Some(instead), .. } => {
                Diagnostic::new(Slug::MalformedNumber, format!("{quoted} is not a number as it stands"))
                    .label(at, "digits are missing at the decimal point")
                    .help(format!("write `{instead}`"))
                    .edit(at, instead.clone())
            }
            _ => {
                let told = Diagnostic::new(Slug::MalformedNumber, format!("{quoted} is not a number"))
                    .label(at, "cannot be read");
                let written = at.span.text(self.text);
                match written.strip_suffix('.') {
                    Some(whole) => {
                        told.help(format!("write `{whole}`, or the digits that are missing after the point"))
                    }
                    None if written.contains(['\'', '’', '′']) => told
                        .help("thousands are set apart by `_`, as in `1_500`; feet and inches are written `4 ft 6 in`"),
                    None => told.help("numbers are written `12`, `4.5`, `1_000` or `2.5e3`"),
                }
            }
        }
    }

    fn explain_statement(self, error: &SyntaxError) -> Diagnostic {
        let at = self.at(error.span());
        match error {
            SyntaxError::Semicolon { more, .. } => {
                let found = Diagnostic::new(Slug::OneStatementALine, "there is no `;` in this notation")
                    .label(at, "a statement ends with its line")
                    .why("One fact a line: a changed line is one changed fact.");
                match more {
                    MoreOnLine::Yes => {
                        found.help("begin a new line").edit(self.with_blanks_after(at.span), self.new_line(at.span))
                    }
                    MoreOnLine::No => found.help("leave it out").edit(at, ""),
                    MoreOnLine::Unclear if self.line_start(at.span).is_empty() => {
                        found.help("a comment begins with `//`; in front of a statement leave the `;` out")
                    }
                    MoreOnLine::Unclear => {
                        found.help("write `,` between values, and begin a new line for another statement")
                    }
                }
            }
            SyntaxError::TwoStatements { first, .. } => Diagnostic::new(
                Slug::OneStatementALine,
                format!("{} begins a second statement on this line", self.quote(at.span)),
            )
            .label(at, "the second statement")
            .label(self.at(*first), "the first")
            .why("One fact a line: a changed line is one changed fact.")
            .help("begin a new line")
            .edit(self.with_blanks_before(Span::at(at.span.start)), self.new_line(at.span)),
            SyntaxError::UnknownStatement { word, instead } => self.explain_unknown_statement(*word, *instead),
            SyntaxError::MissingMark { mark, subject, fits } => self.explain_missing_mark(*mark, *subject, *fits),
            SyntaxError::OldKeyword { at } => self.explain_old_keyword(at),
            SyntaxError::MergeConflict { start, middle, end } => self.explain_conflict(*start, *middle, *end),
            SyntaxError::WrongMark { instead: Token::Comma, .. } => {
                Diagnostic::new(Slug::WrongMark, format!("{} stands where `,` belongs", self.quote(at.span)))
                    .label(at, "`,` belongs here")
                    .why("Values are set apart by commas; the decimal sign is a point.")
                    .help("write `,`")
                    .edit(at, ",")
            }
            SyntaxError::WrongMark { instead, fits, .. } => {
                let instead = instead.spelling();
                let found = Diagnostic::new(Slug::WrongMark, format!("{} stands where `{instead}` belongs", self.quote(at.span)))
                    .label(at, format!("`{instead}` belongs here"))
                    .why("`:` stands between a subject and what is said of it, `=` between a name and its value; claims compare with `:`, `<=` or `>=`.")
                    .help(format!("write `{instead}`"));
                let separator = if instead == ":" { ":".to_owned() } else { format!(" {instead}") };
                if *fits == Fits::Yes { found.edit(self.with_blanks_before(at.span), separator) } else { found }
            }
            _ => Diagnostic::new(
                Slug::UnknownStatement,
                format!("a statement cannot begin with {}", self.quote(at.span)),
            )
            .label(at, "no statement keyword")
            .why("A statement begins with its keyword: `joint`, `bar`, `load` …")
            .help("a line goes on in the next when it ends in `,` `+` `-` `*` `/` `@` `=` or `:`, or inside brackets"),
        }
    }

    fn explain_unknown_statement(self, word: Span, instead: Option<Token>) -> Diagnostic {
        let written = word.text(self.text);
        let found = Diagnostic::new(Slug::UnknownStatement, format!("there is no statement {}", self.quote(word)));
        let at = self.at(word);
        if written == "hinged" {
            return found
                .label(at, "no such statement")
                .help("a support that lets its member turn is `pin A`; a hinge between beams is `hinge A`");
        }
        if self.rest_of_line(word).trim_start().starts_with([':', '=']) {
            let keyword = if self.rest_of_line(word).trim_start().starts_with('=') { "let" } else { "joint" };
            return found
                .label(at, "a statement begins with its keyword")
                .help(format!("if this is meant as a new name, write `{keyword} {written}`"));
        }
        let keywords = Token::KEYWORDS.map(Token::spelling);
        if let Some(keyword) = keywords.into_iter().find(|keyword| written.eq_ignore_ascii_case(keyword)) {
            return found.label(at, "keywords are lower case").help(format!("write `{keyword}`")).edit(at, keyword);
        }
        let found = found.label(at, "no such statement");
        if let Some(keyword) = instead.map(Token::spelling) {
            return found.help(format!("write `{keyword}`")).edit(at, keyword);
        }
        match keyword_perhaps_called(written).map(Token::spelling).or_else(|| similar(written, keywords)) {
            Some(keyword) => found.help(format!("did you mean `{keyword}`?")),
            None => found.help(format!("the statements are {}", expected::list(&keywords, "and"))),
        }
    }

    /// `combo`, with every place of it in the file.
    fn explain_old_keyword(self, places: &[Span]) -> Diagnostic {
        const MOST_LABELS: usize = 4;
        let times = match places.len() {
            0 | 1 => String::new(),
            count => format!(" ({count} times in this file)"),
        };
        let told = Diagnostic::new(Slug::OldKeyword, format!("`combo` is now written `combination`{times}"));
        let told =
            places.iter().take(MOST_LABELS).fold(told, |told, at| told.label(self.at(*at), "read as `combination`"));
        let told = told.help("write `combination`");
        places.iter().fold(told, |told, at| told.edit(self.at(*at), Token::Combination.spelling()))
    }

    fn explain_conflict(self, start: Span, middle: Option<Span>, end: Option<Span>) -> Diagnostic {
        let mark = self.quote(start);
        let told = match (middle, end) {
            (Some(_), Some(_)) => Diagnostic::new(Slug::MergeConflict, "a merge stopped here with two versions")
                .label(self.at(start), "the first version begins"),
            _ => Diagnostic::new(Slug::MergeConflict, format!("{mark} is a mark that a merge left"))
                .label(self.at(start), "no statement"),
        };
        let told = match middle {
            Some(middle) => told.label(self.at(middle), "the second version begins"),
            None => told,
        };
        let told = match end {
            Some(end) => told.label(self.at(end), "the conflict ends"),
            None => told,
        };
        let told = told.why("Where two people changed the same lines, a merge writes both versions between marks.");
        match (middle, end) {
            (Some(_), Some(_)) => told.help("keep the lines that are meant and delete the others with the three marks"),
            _ => told.help("delete the line, after a look whether the lines about it are what is meant"),
        }
    }

    fn explain_missing_mark(self, mark: Token, subject: Span, fits: Fits) -> Diagnostic {
        let (slug, rule) = match mark {
            Token::Equals => {
                (Slug::MissingEquals, "`let`, and properties such as `E` or `kx`, give a name its value with `=`.")
            }
            _ => (Slug::MissingColon, "What a statement is about stands before the colon, what it says stands after."),
        };
        let end = self.at(Span::at(subject.end));
        let mark = mark.spelling();
        let found = Diagnostic::new(slug, format!("`{mark}` is missing after {}", self.quote(subject)))
            .label(end, format!("`{mark}` belongs here"))
            .why(rule);
        let separator = if mark == "=" { " =" } else { ":" };
        match fits {
            Fits::Yes => found.help(format!("put in `{mark}`")).edit(end, separator),
            Fits::No => found.help(statements::form_of(self.line_from(subject))),
        }
    }

    fn explain_bracket(self, error: &SyntaxError) -> Diagnostic {
        let at = self.at(error.span());
        let quoted = self.quote(error.span());
        match error {
            SyntaxError::UnclosedBracket { open, end } => {
                let closing = if open.text(self.text) == "[" { "]" } else { ")" };
                Diagnostic::new(Slug::UnclosedBracket, format!("{quoted} is not closed"))
                    .label(at, "opens here")
                    .label(self.at(Span::at(end.end)), "the statement ends here")
                    .help(format!("close it with `{closing}`"))
            }
            SyntaxError::StrayBracket { .. } => Diagnostic::new(Slug::StrayBracket, format!("{quoted} closes nothing"))
                .label(at, "no bracket is open here")
                .help("take it out, or open a bracket before it"),
            SyntaxError::ThirdCoordinate { .. } => {
                Diagnostic::new(Slug::VectorParts, "a vector has two components, x and y")
                    .label(at, "a third begins after this comma")
                    .help("if the comma is meant as a decimal sign, write a point")
            }
            SyntaxError::UnclosedBlock { .. } => Diagnostic::new(Slug::UnclosedBlock, "the block is not closed")
                .label(at, "opens here, and no `}` closes it")
                .help("close it with `}` on a line of its own"),
            SyntaxError::StrayBrace { .. } => Diagnostic::new(Slug::StrayBrace, "`}` closes nothing")
                .label(at, "no block is open here")
                .help("take it out, or look for a block that was closed too early"),
            SyntaxError::MissingBlock { header } => {
                Diagnostic::new(Slug::MissingBlock, format!("{quoted} has no block"))
                    .label(at, "`{` belongs at the end of this line")
                    .help(format!("write {} {{ … }}`", self.quote(*header).trim_end_matches('`')))
            }
            SyntaxError::BraceOnNextLine { header, brace } => {
                Diagnostic::new(Slug::MissingBlock, "`{` stands on a line of its own")
                    .label(self.at(*header), "`{` belongs at the end of this line")
                    .label(self.at(*brace), "not here")
                    .why("A newline ends a statement, and `{` does not begin one.")
                    .help("move the brace up")
                    .edit(self.at(Span::at(header.end)), " {")
                    .edit(self.at(*brace), "")
            }
            _ => Diagnostic::new(Slug::UnexpectedBlock, "no block can stand here")
                .label(at, "only `case` and `for` open a block")
                .help("take the braces out, or put `case NAME` or `for …` before them"),
        }
    }

    fn explain_place(self, error: &SyntaxError) -> Diagnostic {
        let at = self.at(error.span());
        let quoted = self.quote(error.span());
        match error {
            SyntaxError::Expected { statement, expected, found, instead } => match instead.map(Token::spelling) {
                Some(word) => Diagnostic::new(Slug::UnexpectedToken, format!("{quoted} means nothing at this place"))
                    .label(at, format!("did you mean `{word}`?"))
                    .help(format!("write `{word}`"))
                    .edit(at, word),
                None => expected::explain(self, *statement, expected, *found),
            },
            SyntaxError::KeywordAsName { .. } => {
                let name = at.span.text(self.text);
                Diagnostic::new(Slug::KeywordAsName, format!("{quoted} begins a statement and cannot be a name"))
                    .label(at, "a name is wanted here")
                    .why("The statement keywords are reserved; every other word may be a name.")
                    .help(format!("call it otherwise: `{name}1`, `{name}_a`"))
            }
            SyntaxError::UnknownFunction { .. } => {
                let found = Diagnostic::new(Slug::UnknownFunction, format!("there is no function {quoted}"))
                    .label(at, "called here");
                match similar(at.span.text(self.text), statements::FUNCTIONS.iter().copied()) {
                    Some(function) => found.help(format!("did you mean `{function}`?")),
                    None => found.help(format!(
                        "the functions are {}; to multiply, write `*`",
                        expected::list(&statements::FUNCTIONS, "and")
                    )),
                }
            }
            SyntaxError::IndexedNameEndsInDigit { .. } => Diagnostic::new(
                Slug::IndexedNameDigit,
                format!("the indexed name {quoted} ends in a digit"),
            )
            .label(at, "ends in a digit")
            .why("An index is written out after the name: `L[3]` is `L3`, so `L1[2]` and `L[12]` would be one name.")
            .help(format!("end it in a letter or `_`: `{}_[…]`", at.span.text(self.text))),
            SyntaxError::ShortChain { statement, name } => {
                if let Some(told) = self.explain_run_together(*statement, *name) {
                    return told;
                }
                Diagnostic::new(Slug::ShortChain, format!("{} needs at least two joints", self.statement(*statement)))
                    .label(at, "one joint alone is no member")
                    .why("A chain names the joints that members join, end to end: `A-B-C` is two members.")
                    .help(format!("name the joint at the other end: `{}-…`", at.span.text(self.text)))
            }
            SyntaxError::ClauseTwice { first, .. } => Diagnostic::new(Slug::ClauseTwice, "this is said twice")
                .label(at, "said again here")
                .label(self.at(*first), "said first here")
                .help("leave one of the two"),
            SyntaxError::LateDirection { .. } => Diagnostic::new(
                Slug::MisplacedClause,
                format!("{quoted} stands too late: a direction belongs to its value"),
            )
            .label(at, "belongs straight after the load's value")
            .help(format!("write `5 kN {} at 2 m`, not `5 kN at 2 m {0}`", at.span.text(self.text))),
            SyntaxError::MisplacedClause { statement, .. } => {
                Diagnostic::new(Slug::MisplacedClause, format!("{} does not take {quoted}", self.statement(*statement)))
                    .label(at, "does not belong to this statement")
                    .label(self.at(statement.span), "this statement")
                    .help(statements::form_of(self.line_from(statement.span)))
            }
            _ => {
                Diagnostic::new(Slug::UnexpectedToken, format!("{quoted} does not belong here")).label(at, "found here")
            }
        }
    }

    fn explain_limit(self, error: &SyntaxError) -> Diagnostic {
        let at = self.at(error.span());
        let (headline, why) = match error {
            SyntaxError::ExpressionTooDeep { .. } => (
                "the expression is nested too deep",
                format!("Expressions may nest {MAX_EXPRESSION_DEPTH} deep; a sum of n terms is n deep."),
            ),
            SyntaxError::BracketsTooDeep { .. } => {
                ("the brackets are nested too deep", format!("Brackets may nest {MAX_BRACKETS} deep."))
            }
            SyntaxError::BlocksTooDeep { .. } => (
                "the blocks are nested too deep",
                format!("Blocks may nest {MAX_BLOCKS} deep; what stands inside is not read."),
            ),
            SyntaxError::FileTooLarge { bytes } => {
                ("the file is too large", format!("It has {bytes} bytes; a file may have {MAX_FILE_BYTES}."))
            }
            _ => (
                "there are more errors than are shown",
                format!("{MAX_ERRORS} are listed for one file; this is where the next begins."),
            ),
        };
        let found = Diagnostic::new(Slug::OverLimit, headline).label(at, "the limit is passed here").why(why);
        match error {
            SyntaxError::TooManyErrors { .. } => found.help("see whether this is a Kingpost file at all"),
            SyntaxError::FileTooLarge { .. } => found.help("split it, and take the parts in with `use`"),
            _ => found.help("give parts of it names of their own with `let`"),
        }
    }

    /// A statement with its article: "a `bar`", "an `expect`".
    fn statement(self, statement: Statement) -> String {
        let keyword = statement.keyword.spelling();
        let article = if keyword.starts_with(['a', 'e']) { "an" } else { "a" };
        format!("{article} `{keyword}`")
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests;
