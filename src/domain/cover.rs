//! Does a use, in the words of its label entry, speak of this plant and pest?
//!
//! The words are compared, never guessed: where the entry does not name the
//! plant, its habit or ornamental plants as such, the use is not offered for it.
//! Whoever chooses it reads the label. Common practice, no published source.

use super::plant::Kind;

/// Words by which a label speaks of all plants in a landscape.
const ALL_PLANTS: [&str; 4] = ["ornamental", "ornamentals", "plant", "plants"];

/// Does the entry's list of hosts hold the plant?
pub fn covers_host(hosts: &str, host: &str, kind: Kind) -> bool {
    let listed = words(hosts);
    let habit: &[&str] = match kind {
        Kind::Shrub => &["shrub"],
        Kind::Hedge => &["hedge", "shrub"],
        Kind::Tree => &["tree"],
        Kind::Palm => &["palm"],
    };
    // "Ornamental trees" are trees: a word for all plants counts where no habit is named.
    let habits = ["shrub", "hedge", "tree", "palm"];
    let names_habits = listed.iter().any(|word| habits.contains(&word.as_str()));
    let any_plant = !names_habits && listed.iter().any(|word| ALL_PLANTS.contains(&word.as_str()));
    let named = words(host);
    // The kind stands last ("coast live oak"), save in "tulip tree".
    let own = named.iter().rev().find(|word| !habits.contains(&word.as_str()));
    any_plant
        || listed.iter().any(|word| habit.contains(&word.as_str()))
        || own.into_iter().any(|word| listed.contains(word))
}

/// Does the entry's list of pests hold the pest? A plant of which none is named
/// asks for none.
pub fn covers_pest(pests: &str, pest: &str) -> bool {
    let (listed, named) = (words(pests), words(pest));
    named.is_empty() || named.iter().filter(|word| word.len() > 3).any(|word| listed.contains(word))
}

/// Lower case, one by one, without the plural's ending.
fn words(text: &str) -> Vec<String> {
    let parts = text.split(|letter: char| !letter.is_alphanumeric()).filter(|part| !part.is_empty());
    parts.map(|part| singular(&part.to_lowercase())).collect()
}

fn singular(word: &str) -> String {
    if let Some(stem) = word.strip_suffix("flies") {
        return format!("{stem}fly");
    }
    let plural = word.len() > 3 && word.ends_with('s') && !word.ends_with("us") && !word.ends_with("ss");
    if plural { word[..word.len() - 1].to_owned() } else { word.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_use_is_offered_where_its_words_hold_the_plant() {
        let host = |hosts: &str, kind| covers_host(hosts, "coast live oak", kind);
        assert!(host("Ornamental trees", Kind::Tree));
        assert!(!host("Ornamental shrubs and hedges", Kind::Tree));
        assert!(host("Oaks, elms", Kind::Tree));
        assert!(host("Ornamental plants", Kind::Tree));
        assert!(!host("Coast redwood", Kind::Tree), "half a name is another plant");
        assert!(covers_host("Tulip, ash", "tulip tree", Kind::Tree));
        assert!(!host("", Kind::Tree), "what nobody wrote covers nothing");
        assert!(!host("Lawns", Kind::Tree));
        assert!(covers_host("shrubs", "Podocarpus", Kind::Hedge));
        assert!(!covers_host("Palms", "Podocarpus", Kind::Hedge));
    }

    #[test]
    fn pests_are_compared_in_one_number() {
        assert!(covers_pest("Aphids, scales, whiteflies", "aphid"));
        assert!(covers_pest("Whiteflies", "ash whitefly"));
        assert!(!covers_pest("Borers", "aphids"));
        assert!(covers_pest("", ""), "no pest is named");
        assert!(!covers_pest("", "aphids"));
    }
}
