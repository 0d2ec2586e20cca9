//! Orders of names and names that look alike.

use std::cmp::Ordering;

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
    let folded = name.to_lowercase();
    let limit = (folded.chars().count() / 3).max(1);
    candidates
        .into_iter()
        .filter(|candidate| *candidate != name)
        .map(|candidate| (strsim::damerau_levenshtein(&folded, &candidate.to_lowercase()), candidate))
        .filter(|(distance, candidate)| *distance <= limit && *distance < candidate.chars().count().max(1))
        .min_by(|(da, a), (db, b)| da.cmp(db).then_with(|| natural_order(a, b)))
        .map(|(_, candidate)| candidate)
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
}
