//! Names of steels: how they are compared, and which of them look alike.

/// A name as it is compared: lower case, letters and digits only.
pub(super) fn folded(name: &str) -> String {
    name.chars().filter(|letter| letter.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// The name without the body that issues it ("AISI 1095", "W.-Nr. 1.3505"), folded.
pub(super) fn without_body(name: &str) -> String {
    let folded = folded(name);
    ["aisisae", "aisi", "saeaisi", "sae", "astm", "din", "wnr", "werkstoff"]
        .iter()
        .find_map(|body| folded.strip_prefix(body).filter(|rest| !rest.is_empty()))
        .map_or_else(|| folded.clone(), ToOwned::to_owned)
}

/// How many letters must be put in, taken out or changed to make one name of the other (Levenshtein 1965).
pub(super) fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, letter) in a.chars().enumerate() {
        let mut next = vec![i + 1];
        for ((&other, pair), j) in b.iter().zip(row.windows(2)).zip(0..) {
            let &[diagonal, above] = pair else { continue };
            let before = next.get(j).copied().unwrap_or(usize::MAX - 1);
            next.push((above + 1).min(before + 1).min(diagonal + usize::from(letter != other)));
        }
        row = next;
    }
    row.last().copied().unwrap_or(0)
}

/// Up to five of the names that look most like the one asked for.
pub(super) fn close<'a>(asked: &str, names: impl Iterator<Item = &'a str>) -> Vec<String> {
    let asked = without_body(asked);
    let tolerated = (asked.chars().count() / 3).clamp(1, 3);
    let mut found: Vec<(usize, &str)> = names
        .map(|name| (distance(&asked, &folded(name)), name))
        .filter(|(far, name)| *far <= tolerated || (asked.len() >= 3 && folded(name).starts_with(&asked)))
        .collect();
    found.sort();
    found.dedup_by(|a, b| a.1 == b.1);
    found.into_iter().take(5).map(|(_, name)| name.to_owned()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn distances_by_hand() {
        assert_eq!(distance("kitten", "sitting"), 3);
        assert_eq!(distance("", "o1"), 2);
        assert_eq!(distance("52100", "52100"), 0);
        assert_eq!(without_body("W.-Nr. 1.3505"), "13505");
        assert_eq!(without_body("AISI 52100"), "52100");
    }
}
