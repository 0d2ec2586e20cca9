//! Text as the notations of pages and of programs take it: what would be a
//! mark or a command of theirs is written otherwise, and what is not seen is
//! shown by a stand-in.
//!
//! Must not know: what the text says.

pub mod latex;

use crate::base::visible;

/// The text with every character that has another way to be written there
/// written so, and all others visible.
pub fn escaped(text: &str, written: impl Fn(char) -> Option<&'static str>) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match written(c) {
            Some(written) => safe.push_str(written),
            None => safe.push(visible(c)),
        }
    }
    safe
}

/// The characters that begin and end tags and entities.
const fn entity(c: char) -> Option<&'static str> {
    match c {
        '&' => Some("&amp;"),
        '<' => Some("&lt;"),
        '>' => Some("&gt;"),
        _ => None,
    }
}

/// Text between the tags of XML, which has no way to write most control
/// characters.
pub fn xml(text: &str) -> String {
    escaped(text, |c| match c {
        '\n' => Some("\n"),
        '\t' => Some("\t"),
        '\u{fffe}' | '\u{ffff}' => Some("\u{fffd}"),
        c => entity(c),
    })
}

/// Text of an attribute of XML, between double quotes.
pub fn xml_attribute(text: &str) -> String {
    xml(text).replace('"', "&quot;").replace('\n', "&#10;").replace('\t', "&#9;")
}

/// Text of a drawing or an attribute of it, one line.
pub fn svg(text: &str) -> String {
    escaped(text, |c| if c == '"' { Some("&quot;") } else { entity(c) })
}

/// Text of a page and of attributes, its spaces and tabs as they are.
pub fn html(text: &str) -> String {
    escaped(text, |c| match c {
        '"' => Some("&quot;"),
        '\'' => Some("&#39;"),
        '\t' => Some("\t"),
        c => entity(c),
    })
}

/// What a workflow command says, which ends with the line.
pub fn command_data(text: &str) -> String {
    escaped(text, |c| match c {
        '%' => Some("%25"),
        '\r' => Some("%0D"),
        '\n' => Some("%0A"),
        _ => None,
    })
}

/// The value of a workflow command's property, which ends at a comma or a colon.
pub fn command_property(text: &str) -> String {
    command_data(text).replace(':', "%3A").replace(',', "%2C")
}

/// A field of words, all of them visible, quoted where it holds a comma or a
/// quote (RFC 4180) or begins as a command to what reads a build's log.
/// Spreadsheets take a field that begins with one of `=+-@` for a formula and
/// work it out; that an apostrophe before it keeps them from it is common
/// practice.
pub fn csv(text: &str) -> String {
    let mut field = escaped(text, |_| None);
    if field.trim_start().starts_with(['=', '+', '-', '@']) && field.parse::<f64>().is_err() {
        field.insert(0, '\'');
    }
    if field.contains([',', '"']) || field.trim_start().starts_with([':', '#']) {
        field = format!("\"{}\"", field.replace('"', "\"\""));
    }
    field
}

/// One line of visible words in which no character is a mark of Markdown or HTML.
pub fn markdown(line: &str) -> String {
    let plain: Vec<char> = line.chars().collect();
    let mut safe = String::with_capacity(line.len());
    for (index, c) in plain.iter().enumerate() {
        let is_letter = |at: Option<usize>| at.and_then(|at| plain.get(at)).is_some_and(|c| c.is_alphanumeric());
        let is_marked = match c {
            // Between letters it is one of the word: `F_AB`.
            '_' => !(is_letter(index.checked_sub(1)) && is_letter(Some(index + 1))),
            '\\' | '`' | '*' | '[' | ']' | '<' | '>' | '|' | '#' | '$' | '~' | '&' => true,
            _ => false,
        };
        if is_marked {
            safe.push('\\');
        }
        safe.push(*c);
    }
    safe
}

/// What would make a list, a rule or a heading of a line of Markdown stands escaped.
pub fn markdown_start(line: &str) -> String {
    let text = line.trim_start();
    let digits = text.bytes().take_while(u8::is_ascii_digit).count();
    match text.as_bytes().get(digits) {
        Some(b'.' | b')') if digits > 0 => {
            let (number, rest) = text.split_at(digits);
            format!("{number}\\{rest}")
        }
        Some(b'-' | b'+' | b'=') if digits == 0 => format!("\\{text}"),
        _ => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_word_is_a_mark() {
        assert_eq!(markdown("a|b *c* [d](e) <f> `g` $h$ #1 F_AB _i_ &amp;"), {
            r"a\|b \*c\* \[d\](e) \<f\> \`g\` \$h\$ \#1 F_AB \_i\_ \&amp;"
        });
        assert_eq!(markdown_start("1. first"), r"1\. first");
        assert_eq!(markdown_start("- first"), r"\- first");
        assert_eq!(markdown_start("12 kN"), "12 kN");
    }
}
