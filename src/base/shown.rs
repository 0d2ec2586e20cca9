//! Text from outside made fit to be shown: what a name, a title or a line of a
//! file looks like wherever it is printed.
//!
//! A character that is not seen, or that steers a terminal, is shown by a
//! stand-in. What stands at the start of a line may be taken for a command by
//! whatever reads the log of a build; that too is shown by a look-alike.
//!
//! Must not know: what the text says, how wide a line is.

/// Whether a character is not seen by itself: controls, the marks that turn
/// the direction of writing, what has no width. Line feeds and tabs are among
/// them.
pub const fn is_unseen(c: char) -> bool {
    matches!(c,
        '\0'..='\u{1f}' | '\u{7f}'..='\u{9f}' | '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}'
        | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}'
        | '\u{e0000}'..='\u{e007f}')
}

/// A character as it is shown: one that is not seen by a stand-in one column
/// wide.
pub fn visible(c: char) -> char {
    match c {
        '\0'..='\u{1f}' => char::from_u32(0x2400 + u32::from(c)).unwrap_or('�'),
        '\u{7f}' => '␡',
        c if is_unseen(c) => '�',
        c => c,
    }
}

/// A whole text on one line, every character visible, with nothing at its start
/// that is taken for a command: a file's name in a line of its own.
pub fn shown(text: &str) -> String {
    unheeded(&text.chars().map(visible).collect::<String>())
}

/// The text with no word in it that begins as a command to the programs that
/// run builds and read what they print: `::error::` or `##[error]`, with blanks
/// before it or not. That these are obeyed at a line's start is common
/// practice; any word may come to stand there where lines are broken.
pub fn unheeded(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    let mut before = ' ';
    for (at, c) in text.char_indices() {
        let rest = text.get(at..).unwrap_or("");
        safe.push(match c {
            ':' if before.is_whitespace() && is_command(rest) => '∶',
            '#' if before.is_whitespace() && is_command(rest) => '♯',
            c => c,
        });
        before = c;
    }
    safe
}

/// `::word` or `##[word`, `##word[`.
fn is_command(text: &str) -> bool {
    let word = text.strip_prefix("::").or_else(|| text.strip_prefix("##"));
    word.is_some_and(|word| word.starts_with(|c: char| c.is_ascii_alphabetic() || c == '['))
}

/// The text of a JSON document with every character that is not seen written
/// by its number: it means the same and shows nothing raw. Line feeds stay;
/// within a string they are written so already.
pub fn escaped_json(json: String) -> String {
    if !json.chars().any(|c| is_unseen(c) && c != '\n') {
        return json;
    }
    let mut safe = String::with_capacity(json.len() + 64);
    for c in json.chars() {
        if !is_unseen(c) || c == '\n' {
            safe.push(c);
            continue;
        }
        for unit in c.encode_utf16(&mut [0; 2]) {
            safe.push_str(&format!("\\u{unit:04x}"));
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_unseen_is_left_and_nothing_seen_is_changed() {
        let all = (0..=0x0010_ffff).filter_map(char::from_u32);
        for c in all {
            assert!(!is_unseen(visible(c)), "{:04X}", u32::from(c));
            assert_eq!(visible(c) == c, !is_unseen(c), "{:04X}", u32::from(c));
        }
        assert_eq!(shown("a\u{1b}[31m\n\u{9b}\u{202e}b"), "a␛[31m␊��b");
    }

    #[test]
    fn no_line_begins_as_a_command() {
        assert_eq!(shown("::error::x"), "∶:error::x");
        assert_eq!(shown("  ##[error]x a::b ## 1"), "  ♯#[error]x a::b ## 1");
        assert_eq!(unheeded("roof ::error"), "roof ∶:error");
    }

    #[test]
    fn a_json_text_means_the_same() {
        assert_eq!(
            escaped_json("{\n\"a\":\"\u{7f}\u{202e}\u{e0041}é\"}".to_owned()),
            "{\n\"a\":\"\\u007f\\u202e\\udb40\\udc41é\"}"
        );
        assert_eq!(escaped_json("\"é\"".to_owned()), "\"é\"");
    }
}
