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

/// Greek letters with what sets each in mathematics.
const GREEK: &str = r"
    α\alpha β\beta γ\gamma δ\delta ε\varepsilon ζ\zeta η\eta θ\theta ι\iota κ\kappa λ\lambda μ\mu ν\nu ξ\xi οo π\pi
    ρ\rho σ\sigma ς\varsigma τ\tau υ\upsilon φ\varphi χ\chi ψ\psi ω\omega
    Α\mathrm{A} Β\mathrm{B} Γ\Gamma Δ\Delta Ε\mathrm{E} Ζ\mathrm{Z} Η\mathrm{H} Θ\Theta Ι\mathrm{I} Κ\mathrm{K}
    Λ\Lambda Μ\mathrm{M} Ν\mathrm{N} Ξ\Xi Ο\mathrm{O} Π\Pi Ρ\mathrm{P} Σ\Sigma Τ\mathrm{T} Υ\Upsilon Φ\Phi
    Χ\mathrm{X} Ψ\Psi Ω\Omega";

/// Signs that are set in mathematics wherever they stand.
const SIGNS: &str = r"
    ←\leftarrow →\rightarrow ↑\uparrow ↓\downarrow ↖\nwarrow ↗\nearrow ↘\searrow ↙\swarrow ↔\leftrightarrow
    ↕\updownarrow ↦\mapsto ⇒\Rightarrow ⟂\perp ⊥\perp ∥\parallel ∠\angle ↺\circlearrowleft ↻\circlearrowright
    √\surd ×\times ÷\div ·\cdot ⋅\cdot ±\pm −- ≤\le ≥\ge ≠\ne ≈\approx ≡\equiv ∞\infty ∂\partial ∫\int ∝\propto
    ⌀\varnothing ✓\checkmark ✗\times ✘\times °^\circ ′^\prime ″^{\prime\prime}
    ⁰^0 ¹^1 ²^2 ³^3 ⁴^4 ⁵^5 ⁶^6 ⁷^7 ⁸^8 ⁹^9 ⁻^- ₀_0 ₁_1 ₂_2 ₃_3 ₄_4 ₅_5 ₆_6 ₇_7 ₈_8 ₉_9";

/// Characters that are commands, or that text takes by one.
const TEXT: &str = r#"
    \\textbackslash{} {\{ }\} $\$ &\& #\# %\% _\_ ^\textasciicircum{} ~\textasciitilde{} |\textbar{} <\textless{}
    >\textgreater{} "\textquotedbl{} –\textendash{} —\textemdash{} ‐- ‑- ‘\textquoteleft{} ’\textquoteright{}
    “\textquotedblleft{} ”\textquotedblright{} „\quotedblbase{} «\guillemotleft{} »\guillemotright{} …\dots{}
    •\textbullet{} €\texteuro{} £\pounds{} §\S{} ½\textonehalf{} ¼\textonequarter{} ¾\textthreequarters{}
    ©\textcopyright{}"#;

/// Letters beyond Latin-1 that the T1 encoding sets as they are.
const T1: &str = "ĄąĆćČčĎďĚěĘęĞğĹĺĽľŁłŃńŇňŐőŔŕŘřŚśŞşŠšŤťŢţŰűŮůŸŹźŻżŽžİĐđŒœı";

/// How a table of the above writes a character.
fn listed(table: &'static str, c: char) -> Option<&'static str> {
    table.split_ascii_whitespace().find_map(|entry| entry.strip_prefix(c))
}

/// The command for a character in mathematics, where it is a Greek letter or a
/// sign that is drawn as one.
pub fn greek(c: char) -> Option<&'static str> {
    let letter = match c {
        'µ' => 'μ',
        '∆' => 'Δ',
        '∑' => 'Σ',
        '\u{2126}' => 'Ω',
        c => c,
    };
    listed(GREEK, letter)
}

fn one(c: char) -> String {
    let is_t1 = |c| matches!(c, 'À'..='ÿ') && !matches!(c, '×' | '÷') || T1.contains(c);
    match c {
        '\u{a0}' => "~".to_owned(),
        '\u{2002}'..='\u{200a}' | '\u{202f}' => "\\,".to_owned(),
        c => match listed(TEXT, c) {
            Some(command) => command.to_owned(),
            None if c.is_ascii() || is_t1(c) => c.to_string(),
            None => match greek(c).or_else(|| listed(SIGNS, c)) {
                Some(command) => format!("\\ensuremath{{{command}}}"),
                None => composed(c),
            },
        },
    }
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
