//! The land's areas, and which of them an annual cap is counted on.
//!
//! Which area counts is a licensed person's choice. Until somebody has chosen, the
//! smallest known one holds: it allows the least. Unknown is not zero and not "no limit".

use rust_decimal::Decimal;
use serde::Serialize;

/// One of the areas that a cap per acre can be counted on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AreaKind {
    /// The whole lot.
    Lot,
    /// What is planted, lawn included.
    Landscaped,
    /// The beds that are treated.
    TreatedBed,
}

impl AreaKind {
    /// Every kind, the largest first.
    pub const ALL: [Self; 3] = [Self::Lot, Self::Landscaped, Self::TreatedBed];

    /// The code used in the database and in forms.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::Lot => "lot",
            Self::Landscaped => "landscaped",
            Self::TreatedBed => "treated-bed",
        }
    }

    /// The kind of that code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.code() == code)
    }

    /// As the name of a figure.
    #[must_use]
    pub fn title(self) -> &'static str {
        match self {
            Self::Lot => "Lot",
            Self::Landscaped => "Landscaped area",
            Self::TreatedBed => "Treated bed",
        }
    }

    /// As people say it.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Lot => "lot",
            Self::Landscaped => "landscaped area",
            Self::TreatedBed => "treated bed",
        }
    }
}

/// The areas of a parcel in square feet, as far as they are known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Areas {
    /// The whole lot, sq ft.
    pub lot: Option<Decimal>,
    /// What is planted, sq ft.
    pub landscaped: Option<Decimal>,
    /// The treated beds, sq ft.
    pub treated_bed: Option<Decimal>,
}

impl Areas {
    /// The area of that kind, sq ft.
    #[must_use]
    pub fn get(&self, kind: AreaKind) -> Option<Decimal> {
        match kind {
            AreaKind::Lot => self.lot,
            AreaKind::Landscaped => self.landscaped,
            AreaKind::TreatedBed => self.treated_bed,
        }
    }

    /// The known areas, sq ft.
    #[must_use]
    pub fn known(&self) -> Vec<(AreaKind, Decimal)> {
        AreaKind::ALL.into_iter().filter_map(|kind| Some((kind, self.get(kind)?))).collect()
    }
}

/// The area that caps are counted on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CapArea {
    /// Square feet.
    pub value: Decimal,
    /// Which of the three it is.
    pub which: AreaKind,
    /// Whether a licensed person chose it; if not, it is the smallest known.
    pub chosen: bool,
}

/// The area that caps are counted on: the chosen one, else the smallest known. None: no cap
/// can be checked. A chosen area that is not known is none as well, never another one.
#[must_use]
pub fn cap_area(areas: &Areas, choice: Option<AreaKind>) -> Option<CapArea> {
    if let Some(which) = choice {
        return areas.get(which).map(|value| CapArea { value, which, chosen: true });
    }
    let smallest = areas.known().into_iter().min_by_key(|&(_, value)| value);
    smallest.map(|(which, value)| CapArea { value, which, chosen: false })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn areas(lot: Option<i64>, landscaped: Option<i64>, treated_bed: Option<i64>) -> Areas {
        let area = |n: Option<i64>| n.map(Decimal::from);
        Areas { lot: area(lot), landscaped: area(landscaped), treated_bed: area(treated_bed) }
    }

    #[test]
    fn until_somebody_chooses_the_smallest_known_area_holds() {
        let smallest = |a: Areas| cap_area(&a, None).map(|c| (c.which, c.value, c.chosen));
        let of = |kind, n: i64| Some((kind, Decimal::from(n), false));
        assert_eq!(smallest(areas(Some(10_890), Some(6000), Some(400))), of(AreaKind::TreatedBed, 400));
        assert_eq!(smallest(areas(Some(10_890), Some(6000), None)), of(AreaKind::Landscaped, 6000));
        assert_eq!(smallest(areas(Some(10_890), None, None)), of(AreaKind::Lot, 10_890));
        assert_eq!(smallest(areas(Some(300), Some(6000), None)), of(AreaKind::Lot, 300));
        assert_eq!(smallest(areas(None, None, None)), None, "no area: the cap cannot be checked");
    }

    #[test]
    fn the_choice_of_a_licensed_person_holds_even_if_it_is_larger() {
        let a = areas(Some(10_890), None, Some(400));
        let chosen = cap_area(&a, Some(AreaKind::Lot)).unwrap();
        assert_eq!((chosen.value, chosen.which, chosen.chosen), (Decimal::from(10_890), AreaKind::Lot, true));
        assert_eq!(cap_area(&a, Some(AreaKind::Landscaped)), None, "chosen but unknown is unknown");
    }

    #[test]
    fn codes_read_back() {
        for kind in AreaKind::ALL {
            assert_eq!(AreaKind::from_code(kind.code()), Some(kind));
        }
        assert_eq!(AreaKind::from_code("roof"), None);
    }
}
