//! Characters for plain pdfLaTeX with the T1 encoding: what it can set, by
//! command where need be; letters with accents from their parts; and for all
//! others (Cyrillic, Chinese, emoji …) a small box with the character's Unicode
//! number, by the page's own `\kpchar`. So every page compiles and nothing is
//! lost without a trace.
//!
//! Must not know: pages, formulae.

use unicode_normalization::UnicodeNormalization;

use crate::base::visible;

/// Words safe in running text, one line.
pub fn text(words: &str) -> String {
    let mut safe = String::with_capacity(words.len() + words.len() / 8);
    let mut last = '\0';
    for c in words.chars().map(|c| if matches!(c, '\n' | '\t') { ' ' } else { visible(c) }) {
        // Rows of hyphens, quotation marks and such grow together otherwise.
        if c == last && matches!(c, '-' | '\'' | '`' | ',' | '<' | '>') || (c == '`' && matches!(last, '?' | '!')) {
            safe.push_str("{}");
        }
        safe.push_str(&one(c));
        last = c;
    }
    safe
}

/// Typed text: every blank as wide as a letter.
pub fn typed(words: &str) -> String {
    let mut safe = String::with_capacity(words.len() * 2);
    for c in words.chars() {
        match c {
            ' ' => safe.push_str("\\ "),
            '\t' => safe.push_str("\\ \\ "),
            // Rows of these grow together, and quotation marks turn.
            '-' | '\'' | '`' | ',' | '<' | '>' | '?' | '!' => safe.push_str(&format!("{{{}}}", one(c))),
            '"' => safe.push_str("\\textquotedbl{}"),
            c => safe.push_str(&one(visible(c))),
        }
    }
    safe
}

/// The command for a character in mathematics, where it is a Greek letter.
pub fn greek(c: char) -> Option<&'static str> {
    Some(match c {
        'α' => "\\alpha ",
        'β' => "\\beta ",
        'γ' => "\\gamma ",
        'δ' => "\\delta ",
        'ε' => "\\varepsilon ",
        'ζ' => "\\zeta ",
        'η' => "\\eta ",
        'θ' => "\\theta ",
        'ι' => "\\iota ",
        'κ' => "\\kappa ",
        'λ' => "\\lambda ",
        'μ' | 'µ' => "\\mu ",
        'ν' => "\\nu ",
        'ξ' => "\\xi ",
        'ο' => "o",
        'π' => "\\pi ",
        'ρ' => "\\rho ",
        'σ' => "\\sigma ",
        'ς' => "\\varsigma ",
        'τ' => "\\tau ",
        'υ' => "\\upsilon ",
        'φ' => "\\varphi ",
        'χ' => "\\chi ",
        'ψ' => "\\psi ",
        'ω' => "\\omega ",
        'Α' => "\\mathrm{A}",
        'Β' => "\\mathrm{B}",
        'Γ' => "\\Gamma ",
        'Δ' | '∆' => "\\Delta ",
        'Ε' => "\\mathrm{E}",
        'Ζ' => "\\mathrm{Z}",
        'Η' => "\\mathrm{H}",
        'Θ' => "\\Theta ",
        'Ι' => "\\mathrm{I}",
        'Κ' => "\\mathrm{K}",
        'Λ' => "\\Lambda ",
        'Μ' => "\\mathrm{M}",
        'Ν' => "\\mathrm{N}",
        'Ξ' => "\\Xi ",
        'Ο' => "\\mathrm{O}",
        'Π' => "\\Pi ",
        'Ρ' => "\\mathrm{P}",
        'Σ' | '∑' => "\\Sigma ",
        'Τ' => "\\mathrm{T}",
        'Υ' => "\\Upsilon ",
        'Φ' => "\\Phi ",
        'Χ' => "\\mathrm{X}",
        'Ψ' => "\\Psi ",
        'Ω' | '\u{2126}' => "\\Omega ",
        _ => return None,
    })
}

/// Signs set in mathematics wherever they stand.
fn sign(c: char) -> Option<&'static str> {
    Some(match c {
        '←' => "\\leftarrow",
        '→' => "\\rightarrow",
        '↑' => "\\uparrow",
        '↓' => "\\downarrow",
        '↖' => "\\nwarrow",
        '↗' => "\\nearrow",
        '↘' => "\\searrow",
        '↙' => "\\swarrow",
        '↔' => "\\leftrightarrow",
        '↕' => "\\updownarrow",
        '↦' => "\\mapsto",
        '⇒' => "\\Rightarrow",
        '⟂' | '⊥' => "\\perp",
        '∥' => "\\parallel",
        '∠' => "\\angle",
        '↺' => "\\circlearrowleft",
        '↻' => "\\circlearrowright",
        '√' => "\\surd",
        '×' => "\\times",
        '÷' => "\\div",
        '·' | '⋅' => "\\cdot",
        '±' => "\\pm",
        '−' => "-",
        '≤' => "\\le",
        '≥' => "\\ge",
        '≠' => "\\ne",
        '≈' => "\\approx",
        '≡' => "\\equiv",
        '∞' => "\\infty",
        '∂' => "\\partial",
        '∫' => "\\int",
        '∝' => "\\propto",
        '⌀' => "\\varnothing",
        '✓' => "\\checkmark",
        '✗' | '✘' => "\\times",
        '°' => "^\\circ",
        '′' => "^\\prime",
        '″' => "^{\\prime\\prime}",
        '⁰' => "^0",
        '¹' => "^1",
        '²' => "^2",
        '³' => "^3",
        '⁴' => "^4",
        '⁵' => "^5",
        '⁶' => "^6",
        '⁷' => "^7",
        '⁸' => "^8",
        '⁹' => "^9",
        '⁻' => "^-",
        '₀' => "_0",
        '₁' => "_1",
        '₂' => "_2",
        '₃' => "_3",
        '₄' => "_4",
        '₅' => "_5",
        '₆' => "_6",
        '₇' => "_7",
        '₈' => "_8",
        '₉' => "_9",
        _ => return None,
    })
}

fn one(c: char) -> String {
    let plain = match c {
        '\\' => "\\textbackslash{}",
        '{' => "\\{",
        '}' => "\\}",
        '$' => "\\$",
        '&' => "\\&",
        '#' => "\\#",
        '%' => "\\%",
        '_' => "\\_",
        '^' => "\\textasciicircum{}",
        '~' => "\\textasciitilde{}",
        '|' => "\\textbar{}",
        '<' => "\\textless{}",
        '>' => "\\textgreater{}",
        '"' => "\\textquotedbl{}",
        '\u{a0}' => "~",
        '–' => "\\textendash{}",
        '—' => "\\textemdash{}",
        '‐' | '‑' => "-",
        '‘' => "\\textquoteleft{}",
        '’' => "\\textquoteright{}",
        '“' => "\\textquotedblleft{}",
        '”' => "\\textquotedblright{}",
        '„' => "\\quotedblbase{}",
        '«' => "\\guillemotleft{}",
        '»' => "\\guillemotright{}",
        '…' => "\\dots{}",
        '•' => "\\textbullet{}",
        '€' => "\\texteuro{}",
        '£' => "\\pounds{}",
        '§' => "\\S{}",
        '½' => "\\textonehalf{}",
        '¼' => "\\textonequarter{}",
        '¾' => "\\textthreequarters{}",
        '©' => "\\textcopyright{}",
        '\u{2002}'..='\u{200a}' | '\u{202f}' => "\\,",
        c if c.is_ascii() => return c.to_string(),
        // Set by T1 as they are.
        'À'..='ÿ'
        | 'Ą'
        | 'ą'
        | 'Ć'
        | 'ć'
        | 'Č'
        | 'č'
        | 'Ď'
        | 'ď'
        | 'Ě'
        | 'ě'
        | 'Ę'
        | 'ę'
        | 'Ğ'
        | 'ğ'
        | 'Ĺ'
        | 'ĺ'
        | 'Ľ'
        | 'ľ'
        | 'Ł'
        | 'ł'
        | 'Ń'
        | 'ń'
        | 'Ň'
        | 'ň'
        | 'Ő'
        | 'ő'
        | 'Ŕ'
        | 'ŕ'
        | 'Ř'
        | 'ř'
        | 'Ś'
        | 'ś'
        | 'Ş'
        | 'ş'
        | 'Š'
        | 'š'
        | 'Ť'
        | 'ť'
        | 'Ţ'
        | 'ţ'
        | 'Ű'
        | 'ű'
        | 'Ů'
        | 'ů'
        | 'Ÿ'
        | 'Ź'
        | 'ź'
        | 'Ż'
        | 'ż'
        | 'Ž'
        | 'ž'
        | 'İ'
        | 'Đ'
        | 'đ'
        | 'Œ'
        | 'œ'
        | 'ı'
            if !matches!(c, '×' | '÷') =>
        {
            return c.to_string();
        }
        c => match (greek(c), sign(c)) {
            (Some(command), _) => return format!("\\ensuremath{{{}}}", command.trim_end()),
            (None, Some(command)) => return format!("\\ensuremath{{{command}}}"),
            (None, None) => return composed(c),
        },
    };
    plain.to_owned()
}

/// A Latin letter with one accent, from its parts; else the box with its number.
fn composed(c: char) -> String {
    let parts: Vec<char> = std::iter::once(c).nfd().collect();
    if let [base @ ('A'..='Z' | 'a'..='z'), accent] = parts.as_slice()
        && let Some(command) = accent_command(*accent)
    {
        // Accents above take the letters without their dots.
        return match (base, command) {
            ('i' | 'j', "`" | "'" | "^" | "~" | "=" | "u" | "." | "\"" | "r" | "H" | "v") => {
                format!("\\{command}{{\\{base}}}")
            }
            _ => format!("\\{command}{{{base}}}"),
        };
    }
    format!("\\kpchar{{{:04X}}}", u32::from(c))
}

fn accent_command(c: char) -> Option<&'static str> {
    Some(match c {
        '\u{300}' => "`",
        '\u{301}' => "'",
        '\u{302}' => "^",
        '\u{303}' => "~",
        '\u{304}' => "=",
        '\u{306}' => "u",
        '\u{307}' => ".",
        '\u{308}' => "\"",
        '\u{30a}' => "r",
        '\u{30b}' => "H",
        '\u{30c}' => "v",
        '\u{323}' => "d",
        '\u{327}' => "c",
        '\u{328}' => "k",
        '\u{331}' => "b",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_character_is_a_command() {
        assert_eq!(text("50% of $5 & #1_a^b~c"), r"50\% of \$5 \& \#1\_a\textasciicircum{}b\textasciitilde{}c");
        assert_eq!(text(r"\end{document}"), r"\textbackslash{}end\{document\}");
        assert_eq!(text("a--b ``c'' ?`"), r"a-{}-b `{}`c'{}' ?{}`");
        assert_eq!(typed("a  -- b"), r"a\ \ {-}{-}\ b");
    }

    #[test]
    fn letters_beyond_ascii() {
        assert_eq!(text("Łódź ñ ị"), r"Łódź ñ \d{i}");
        assert_eq!(text("α ΣM ↺ 30° m²"), {
            r"\ensuremath{\alpha} \ensuremath{\Sigma}M \ensuremath{\circlearrowleft} 30\ensuremath{^\circ} m\ensuremath{^2}"
        });
        assert_eq!(text("Ж 桁 🚣"), r"\kpchar{0416} \kpchar{6841} \kpchar{1F6A3}");
        assert_eq!(text("a\u{202e}b\u{7}"), r"a\kpchar{FFFD}b\kpchar{2407}");
    }
}
