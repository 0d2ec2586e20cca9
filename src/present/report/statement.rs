//! The source as the report shows it: each file with its notes, its words
//! by kind for formats that can show it.
//!
//! Must not know: what a statement means.

use logos::Logos;

use crate::present::document::{Block, Ink, Inline, Source, words};
use crate::structure::Project;
use crate::syntax::token::Token;

use super::heading;

/// The most lines of source in a report, all files together.
pub const MOST_LINES: usize = 600;

pub fn blocks(project: &Project) -> Vec<Block> {
    let mut blocks = vec![heading(1, "Statement")];
    let mut left = MOST_LINES;
    let mut untold = 0;
    for (index, (_, file)) in project.files.iter().take(project.targets.len()).enumerate() {
        let total = file.text.lines().count();
        if left == 0 {
            untold += total;
            continue;
        }
        if project.targets.len() > 1 {
            let what = if index == 0 { "" } else { ", which it uses" };
            blocks.push(Block::Paragraph(vec![Inline::Code(file.name.clone()), Inline::Words(what.to_owned())]));
        }
        let shown = total.min(left);
        let end: usize = file.text.split_inclusive('\n').take(shown).map(str::len).sum();
        let text = file.text.get(..end).unwrap_or(&file.text);
        blocks.push(Block::Source(Source { file: file.name.clone(), pieces: pieces(text) }));
        left -= shown;
        untold += total - shown;
    }
    if untold > 0 {
        let said = format!("{untold} more lines of source: a report shows {MOST_LINES} at most.");
        blocks.push(Block::Paragraph(words(said)));
    }
    blocks
}

/// The text in pieces by what they are; joined they are the text.
fn pieces(text: &str) -> Vec<(Ink, String)> {
    let mut pieces: Vec<(Ink, String)> = Vec::new();
    let mut add = |ink: Ink, piece: &str| match pieces.last_mut() {
        _ if piece.is_empty() => {}
        Some((last, whole)) if *last == ink => whole.push_str(piece),
        _ => pieces.push((ink, piece.to_owned())),
    };
    let mut done = 0;
    // Only the first word of a statement is one of its keywords: `moment` also
    // stands in claims.
    let mut starts = true;
    for (token, range) in Token::lexer(text).spanned() {
        let Some(piece) = text.get(range.clone()) else { continue };
        add(Ink::Plain, text.get(done..range.start).unwrap_or(""));
        done = range.end;
        let ink = match token {
            Ok(Token::Comment) if piece.starts_with("///") => Ink::Note,
            Ok(Token::Comment) => Ink::Comment,
            Ok(Token::Text | Token::CurlyText | Token::UnclosedText) => Ink::Quoted,
            Ok(Token::Number) => Ink::Number,
            Ok(token) if starts && token <= Token::Expect => Ink::Keyword,
            _ => Ink::Plain,
        };
        add(ink, piece);
        starts = matches!(token, Ok(Token::Newline | Token::LeftBrace | Token::RightBrace));
    }
    add(Ink::Plain, text.get(done..).unwrap_or(""));
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_joined_are_the_text() {
        let text = "/// ridge\njoint K: (0, 3 m) // top\r\ntitle \"a // b\"\nexpect moment A-B <= 3 kN*m\n\u{202e}§";
        let pieces = pieces(text);
        assert_eq!(pieces.iter().map(|(_, piece)| piece.as_str()).collect::<String>(), text);
        let inked = |wanted: Ink| -> Vec<&str> {
            pieces.iter().filter(|(ink, _)| *ink == wanted).map(|(_, piece)| piece.as_str()).collect()
        };
        assert_eq!(inked(Ink::Keyword), ["joint", "title", "expect"]);
        assert_eq!(inked(Ink::Note), ["/// ridge"]);
        assert_eq!(inked(Ink::Comment), ["// top"]);
        assert_eq!(inked(Ink::Quoted), ["\"a // b\""]);
    }
}
