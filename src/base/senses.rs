//! Words that tell one way from another. No slip of the pen is read from one
//! of them into another: `lift` is not `left`, and `stable` not `unstable`.
//!
//! Must not know: where such words may stand.

/// Each row is one question, each entry an answer to it: first the word of the
/// notation, then what else the trade says for it.
const SENSES: &[&[&[&str]]] = &[
    &[
        &["up", "upward", "upwards", "lift", "lifted", "uplift", "raise", "rise", "north"],
        &["down", "downward", "downwards", "drop", "lower", "sink", "south"],
        &["left", "leftward", "leftwards", "west"],
        &["right", "rightward", "rightwards", "east"],
    ],
    &[&["above", "over"], &["below", "beneath"]],
    &[&["cw", "clockwise"], &["ccw", "acw", "counterclockwise", "anticlockwise"]],
    &[&["tension", "tensile", "t", "pull", "pulled", "tie"], &["compression", "compressive", "c", "push", "strut"]],
    &[&["sagging", "sag"], &["hogging", "hog"]],
    &[&["stable"], &["unstable", "instable"]],
    &[&["determinate", "determined"], &["indeterminate", "undetermined", "hyperstatic"]],
    &[&["long", "longer"], &["short", "shorter"]],
    &[&["from"], &["to", "until", "till"]],
    &[&["run", "horizontal"], &["rise", "vertical"]],
    &[&["along", "parallel"], &["across", "perpendicular", "normal"]],
    &[&["pushes"], &["pulls"]],
    &[&["min", "minimum"], &["max", "maximum"]],
    &[&["allow"], &["deny"]],
];

/// Whether a word says another thing than `meant` does, or may as well be a
/// slip of a word that does.
pub fn is_turned(word: &str, meant: &str) -> bool {
    let (word, meant) = (word.to_lowercase(), meant.to_lowercase());
    if word == meant {
        return false;
    }
    let says = |answer: &[&str], text: &str| answer.contains(&text);
    for row in SENSES.iter().filter(|row| row.iter().any(|answer| says(answer, &meant))) {
        let is_own = |answer: &&&[&str]| says(answer, &meant);
        if row.iter().any(|answer| is_own(&answer) && says(answer, &word)) {
            return false;
        }
        // A word half typed is no slip of the others, unless they begin so too.
        if word.len() > 1 && meant.starts_with(&word) {
            return row.iter().any(|answer| !is_own(&answer) && answer.iter().any(|other| other.starts_with(&word)));
        }
        let distance = |other: &str| strsim::damerau_levenshtein(&word, other);
        let own = distance(&meant);
        let may_be = |answer: &&[&str]| {
            let is_near = |(at, other): (usize, &&str)| distance(other) <= if at == 0 { own + 1 } else { own };
            answer.iter().enumerate().any(is_near)
        };
        if row.iter().filter(|answer| !is_own(answer)).any(may_be) {
            return true;
        }
    }
    false
}

/// The word of the notation for what a word says, if it tells one way from
/// another.
pub fn sense_of(word: &str) -> Option<&'static str> {
    let mut answers = SENSES.iter().flat_map(|row| row.iter());
    answers.find(|answer| answer.iter().any(|own| word.eq_ignore_ascii_case(own)))?.first().copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_word_is_taken_for_its_opposite() {
        for (word, meant) in [
            ("stable", "unstable"),
            ("lift", "left"),
            ("lieft", "left"),
            ("cww", "cw"),
            ("ccww", "ccw"),
            ("pull", "pushes"),
            ("nstable", "unstable"),
            ("undetermined", "determinate"),
            ("UP", "down"),
        ] {
            assert!(is_turned(word, meant), "{word} is not {meant}");
        }
    }

    #[test]
    fn a_slip_of_one_of_them_is_still_that_one() {
        for (word, meant) in [
            ("donw", "down"),
            ("lef", "left"),
            ("rihgt", "right"),
            ("Down", "down"),
            ("tensoin", "tension"),
            ("instable", "unstable"),
            ("hoging", "hogging"),
            ("jiont", "joint"),
            ("do", "down"),
            ("comp", "compression"),
        ] {
            assert!(!is_turned(word, meant), "{word} is {meant}");
        }
    }
}
