//! Orders of names and names that look alike.

use std::cmp::Ordering;

use super::senses::is_turned;

/// Longer names, in bytes, are no slips of each other: comparing takes as long
/// as the product of both lengths.
const LONGEST: usize = 256;

/// Natural order: runs of digits compare as numbers (`L2` before `L10`), all
/// else by Unicode scalar value; ties are broken by plain byte order.
pub fn natural_order(left: &str, right: &str) -> Ordering {
    let (mut a, mut b) = (left.as_bytes(), right.as_bytes());
    loop {
        match (a.first(), b.first()) {
            (Some(x), Some(y)) if x.is_ascii_digit() && y.is_ascii_digit() => {
                let (digits_a, rest_a) = split_digits(a);
                let (digits_b, rest_b) = split_digits(b);
                let order = digits_a.len().cmp(&digits_b.len()).then_with(|| digits_a.cmp(digits_b));
                if order != Ordering::Equal {
                    return order;
                }
                (a, b) = (rest_a, rest_b);
            }
            (Some(x), Some(y)) if x == y => (a, b) = (a.get(1..).unwrap_or(&[]), b.get(1..).unwrap_or(&[])),
            (Some(x), Some(y)) => return x.cmp(y),
            (None, None) => return left.cmp(right),
            (None, Some(_)) => return Ordering::Less,
            (Some(_), None) => return Ordering::Greater,
        }
    }
}

/// The leading digits without their leading zeros, and what follows them.
fn split_digits(bytes: &[u8]) -> (&[u8], &[u8]) {
    let end = bytes.iter().position(|byte| !byte.is_ascii_digit()).unwrap_or(bytes.len());
    let (digits, rest) = bytes.split_at(end);
    let zeros = digits.iter().position(|byte| *byte != b'0').unwrap_or(digits.len());
    (digits.get(zeros..).unwrap_or(&[]), rest)
}

/// The candidate most like `name`, if one is near enough to be meant: at most
/// one slip in three letters (swaps count once), case aside.
pub fn similar<'a>(name: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    nearest(name, candidates).first().copied()
}

/// All candidates as near to `name` as the nearest, by the measure of
/// [`similar`], in natural order; letters that only look alike count as one.
/// One letter alone is no slip of another word, and no word one of its opposite.
pub fn nearest<'a>(name: &str, candidates: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    if name.len() > LONGEST {
        return Vec::new();
    }
    let folded = fold(name);
    let letters = folded.chars().count();
    let limit = if letters > 1 { (letters / 3).max(1) } else { 0 };
    let mut least = limit;
    let mut found: Vec<&str> = Vec::new();
    for candidate in candidates {
        if candidate.len() > 2 * LONGEST {
            continue;
        }
        let distance = strsim::damerau_levenshtein(&folded, &fold(candidate));
        let is_far = distance > least || distance >= candidate.chars().count().max(1);
        if candidate == name || is_far || is_turned(&folded, candidate) {
            continue;
        }
        if distance < least {
            found.clear();
            least = distance;
        }
        found.push(candidate);
    }
    found.sort_by(|a, b| natural_order(a, b));
    found.dedup();
    found
}

/// Whether two different names cannot be told apart on paper: `А` (Cyrillic)
/// and `A`.
pub fn letters_alike(left: &str, right: &str) -> bool {
    left != right && left.chars().map(look_alike).eq(right.chars().map(look_alike))
}

fn fold(name: &str) -> String {
    name.chars().map(look_alike).collect::<String>().to_lowercase()
}

/// The Latin letter that a Cyrillic or Greek one is drawn like. After the
/// confusables of Unicode Technical Standard 39, the letters that names of
/// joints are made of.
const fn look_alike(letter: char) -> char {
    match letter {
        'А' | 'Α' => 'A',
        'В' | 'Β' => 'B',
        'С' | 'Ϲ' => 'C',
        'Е' | 'Ε' => 'E',
        'Н' | 'Η' => 'H',
        'І' | 'Ι' => 'I',
        'Ј' => 'J',
        'К' | 'Κ' => 'K',
        'М' | 'Μ' => 'M',
        'Ν' => 'N',
        'О' | 'Ο' => 'O',
        'Р' | 'Ρ' => 'P',
        'Ѕ' => 'S',
        'Т' | 'Τ' => 'T',
        'Х' | 'Χ' => 'X',
        'У' | 'Υ' => 'Y',
        'Ζ' => 'Z',
        'а' => 'a',
        'с' | 'ϲ' => 'c',
        'е' => 'e',
        'і' => 'i',
        'ј' => 'j',
        'о' | 'ο' => 'o',
        'р' => 'p',
        'ѕ' => 's',
        'у' => 'y',
        'х' => 'x',
        'ν' => 'v',
        other => other,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_compare_as_numbers() {
        let mut names = ["L10", "L2", "L02", "A", "L", "U1"];
        names.sort_by(|a, b| natural_order(a, b));
        assert_eq!(names, ["A", "L", "L02", "L2", "L10", "U1"]);
    }

    #[test]
    fn the_nearest_name_is_offered_and_a_far_one_is_not() {
        assert_eq!(similar("rafer", ["rafter", "strut", "tie"]), Some("rafter"));
        assert_eq!(similar("K", ["k", "Q"]), Some("k"));
        assert_eq!(similar("Z", ["A", "B"]), None);
    }

    #[test]
    fn names_too_long_to_compare_have_no_hint() {
        let long = "a".repeat(1_000_000);
        assert_eq!(similar(&long, [long[1..].as_ref(), "b"]), None);
        assert_eq!(similar("rafer", [long.as_str(), "rafter"]), Some("rafter"));
    }

    #[test]
    fn equally_near_names_are_all_offered() {
        assert_eq!(nearest("L11", ["L2", "L10", "L1", "L12"]), ["L1", "L10", "L12"]);
        assert_eq!(nearest("strutt", ["strut", "tie"]), ["strut"]);
    }

    #[test]
    fn letters_that_look_alike_count_as_one() {
        assert_eq!(nearest("\u{410}", ["A", "B"]), ["A"]);
        assert!(letters_alike("\u{410}1", "A1"));
        assert!(!letters_alike("A1", "A1") && !letters_alike("a", "A"));
    }
}
