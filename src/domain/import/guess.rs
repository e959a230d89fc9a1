//! Which column of a file is probably meant.
use super::Kind;

/// A head in lower case, its words divided by single blanks, units and marks left out.
fn plain(head: &str) -> String {
    let marked: String = head.chars().map(|c| if c.is_alphanumeric() { c } else { ' ' }).collect();
    marked.to_lowercase().split_whitespace().collect::<Vec<_>>().join(" ")
}

/// For each column of the kind the place of the file's column that is probably meant. A head fits by its own
/// code or words first, by another usual head after that; no column of the file is given twice.
#[must_use]
pub fn guess(kind: Kind, heads: &[String]) -> Vec<Option<usize>> {
    let heads: Vec<String> = heads.iter().map(|head| plain(head)).collect();
    let columns = kind.columns();
    let mut found = vec![None; columns.len()];
    let mut taken = vec![false; heads.len()];
    for round in 0..2 {
        for (place, column) in columns.iter().enumerate() {
            if found[place].is_some() {
                continue;
            }
            let fits = |head: &str| match round {
                0 => head == plain(column.code) || head == plain(column.words),
                _ => column.heads.contains(&head),
            };
            let at = (0..heads.len()).find(|at| !taken[*at] && fits(&heads[*at]));
            if let Some(at) = at {
                taken[at] = true;
                found[place] = Some(at);
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn guessed(kind: Kind, heads: &[&str]) -> Vec<(&'static str, usize)> {
        let heads: Vec<String> = heads.iter().map(|head| (*head).to_owned()).collect();
        let found = guess(kind, &heads);
        let named = kind.columns().iter().zip(found);
        named.filter_map(|(column, at)| Some((column.code, at?))).collect()
    }

    #[test]
    fn our_own_heads_and_usual_ones_are_known() {
        let own: Vec<&str> = Kind::Plants.columns().iter().map(|c| c.words).collect();
        assert_eq!(guessed(Kind::Plants, &own).len(), own.len());
        let usual =
            ["Customer No.", "CUSTOMER NAME", "E-Mail", "Street Address", "Zip Code", "Favourite colour"];
        assert_eq!(
            guessed(Kind::Customers, &usual),
            [("number", 0), ("name", 1), ("email", 2), ("street", 3), ("zip", 4)]
        );
    }

    #[test]
    fn a_column_of_the_file_is_given_once_and_to_the_nearer_name() {
        assert_eq!(
            guessed(Kind::Applications, &["Date", "Plant", "Product", "EPA Reg. No."]),
            [("on", 0), ("place", 1), ("product", 2)]
        );
        assert_eq!(guessed(Kind::Customers, &["name", "Name"]), [("name", 0)]);
        assert!(guessed(Kind::Sites, &[]).is_empty());
    }
}
