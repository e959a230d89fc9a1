//! Toxicity categories and the signal word that they ask for, 40 CFR 156.62
//! and 156.64.

/// Toxicity category; I is the worst.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Toxicity {
    /// Highly toxic.
    I,
    /// Moderately toxic.
    II,
    /// Slightly toxic.
    III,
    /// Practically not toxic.
    IV,
}

/// Categories by the five routes; none where no study was given.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Routes {
    /// By mouth.
    pub oral: Option<Toxicity>,
    /// Through the skin.
    pub dermal: Option<Toxicity>,
    /// By breathing.
    pub inhalation: Option<Toxicity>,
    /// On the eye.
    pub eye: Option<Toxicity>,
    /// On the skin.
    pub skin: Option<Toxicity>,
}

/// The word on the front of the label.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SignalWord {
    /// No word is required.
    None,
    /// Category III.
    Caution,
    /// Category II.
    Warning,
    /// Category I.
    Danger,
    /// Category I by mouth, through the skin or by breathing: with "Poison"
    /// in red and skull and crossbones.
    DangerPoison,
}

impl SignalWord {
    /// As printed; empty when none is required.
    pub fn words(self) -> &'static str {
        match self {
            Self::None => "",
            Self::Caution => "CAUTION",
            Self::Warning => "WARNING",
            Self::Danger => "DANGER",
            Self::DangerPoison => "DANGER-POISON",
        }
    }
}

/// The word that the worst of the routes asks for.
pub fn signal_word(routes: &Routes) -> SignalWord {
    let systemic = [routes.oral, routes.dermal, routes.inhalation];
    let all = systemic.into_iter().chain([routes.eye, routes.skin]);
    match all.flatten().min() {
        Some(Toxicity::I) if systemic.contains(&Some(Toxicity::I)) => SignalWord::DangerPoison,
        Some(Toxicity::I) => SignalWord::Danger,
        Some(Toxicity::II) => SignalWord::Warning,
        Some(Toxicity::III) => SignalWord::Caution,
        Some(Toxicity::IV) | None => SignalWord::None,
    }
}

/// Category by the oral LD50 in mg/kg.
pub fn oral_category(mg_per_kg: u32) -> Toxicity {
    match mg_per_kg {
        0..=50 => Toxicity::I,
        51..=500 => Toxicity::II,
        501..=5000 => Toxicity::III,
        _ => Toxicity::IV,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn category_one_is_poison_only_by_the_systemic_routes() {
        let eye = Routes { eye: Some(Toxicity::I), oral: Some(Toxicity::III), ..Routes::default() };
        assert_eq!(signal_word(&eye).words(), "DANGER");
        let oral = Routes { oral: Some(Toxicity::I), ..eye };
        assert_eq!(signal_word(&oral).words(), "DANGER-POISON");
        assert_eq!(signal_word(&Routes::default()).words(), "");
    }

    #[test]
    fn oral_steps_include_their_upper_end() {
        let steps = [50, 51, 500, 501, 5000, 5001].map(oral_category);
        use Toxicity::{I, II, III, IV};
        assert_eq!(steps, [I, II, II, III, III, IV]);
    }
}
