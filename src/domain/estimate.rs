//! What a treatment would be sold for and what it costs the company.
//!
//! The price is that of the agreements' own rule ([`super::agreement::quote`]). The cost is the product of the
//! planned doses at what the company pays for it, and the time at what an hour costs. A cost that is not known is
//! not zero: then there is no margin.

use super::agreement::{PriceBasis, Terms};
use super::label::MeasureBasis;
use super::money::Money;
use super::plant::Measure;
use super::quantity::{Amount, Exact};
use super::way_out::Price;
use chrono::NaiveDate;
use num_bigint::BigInt;
use num_traits::Zero;

/// How an estimate is priced.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pricing {
    /// By the inch where a trunk is measured, else by the foot.
    BySize,
    /// By the plant.
    Plant,
    /// One sum for the visit.
    Visit,
    /// One sum for the year.
    Year,
}

impl Pricing {
    /// Every way.
    pub const ALL: [Self; 4] = [Self::BySize, Self::Plant, Self::Visit, Self::Year];

    /// The code used in the database and in forms.
    #[must_use]
    pub fn code(self) -> &'static str {
        match self {
            Self::BySize => "by-size",
            Self::Plant => "plant",
            Self::Visit => "visit",
            Self::Year => "year",
        }
    }

    /// The way of that code.
    #[must_use]
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|one| one.code() == code)
    }

    /// What a plant of this measure is priced by.
    #[must_use]
    pub fn basis(self, measure: &Measure) -> PriceBasis {
        match self {
            Self::BySize if measure.for_basis(MeasureBasis::DiameterIn).is_some() => PriceBasis::Inch,
            Self::BySize => PriceBasis::Foot,
            Self::Plant => PriceBasis::Plant,
            Self::Visit => PriceBasis::Visit,
            Self::Year => PriceBasis::Year,
        }
    }
}

/// The prices that an estimate uses, US dollars for one of each basis.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Rates {
    /// By basis; one that is missing was not named.
    pub named: Vec<(PriceBasis, Exact)>,
}

impl Rates {
    /// Terms from that day by that basis, if its price was named.
    #[must_use]
    pub fn terms(&self, basis: PriceBasis, starts_on: NaiveDate) -> Option<Terms> {
        let (_, price) = self.named.iter().find(|(own, _)| *own == basis)?;
        Some(Terms { basis, price: price.clone(), starts_on, ends_on: None })
    }
}

/// What a dose costs: its product at the price for one unit, exactly. None where the price is for another kind of
/// unit than the dose (a mass, a volume, pieces).
#[must_use]
pub fn product_cost(dose: &Amount, price: &Price) -> Option<Exact> {
    Some(dose.in_unit(price.unit).ok()?.value * &price.amount)
}

/// What so many minutes cost at that price of an hour, rounded to the cent.
#[must_use]
pub fn time_cost(minutes: u32, hour: &Exact) -> Money {
    Money::rounded(&(hour * Exact::new(BigInt::from(minutes), BigInt::from(60))))
}

/// What is left of a price after its cost, and in per cent of the price; no share of a price of nothing.
#[must_use]
pub fn margin(total: &Money, cost: &Money) -> (Money, Option<Exact>) {
    let left = total.clone() - cost.clone();
    let share =
        (!total.exact().is_zero()).then(|| left.exact() * Exact::from(BigInt::from(100)) / total.exact());
    (left, share)
}

#[cfg(test)]
mod tests {
    use super::super::quantity::{AmountUnit, fixed_half_up, parse};
    use super::*;

    fn exact(text: &str) -> Exact {
        parse(text).unwrap()
    }

    fn unit(code: &str) -> AmountUnit {
        AmountUnit::from_code(code).unwrap()
    }

    #[test]
    fn product_costs_what_its_volume_costs() {
        // $150 a gallon; 720 mL of it are 720 / 3785.411784 gal (NIST Handbook 44, Appendix C).
        let price = Price { product: "x".into(), amount: exact("150"), unit: unit("gal") };
        let cost = product_cost(&Amount::new(exact("720"), unit("mL")), &price).unwrap();
        assert_eq!(fixed_half_up(&cost, 6), "28.530582");
        assert_eq!(Money::rounded(&cost).plain(), "28.53");
        assert_eq!(
            product_cost(&Amount::new(exact("3"), unit("oz")), &price),
            None,
            "a mass has no such price"
        );
    }

    #[test]
    fn time_and_margin_are_exact_to_the_cent() {
        assert_eq!(time_cost(50, &exact("38.50")).plain(), "32.08");
        assert_eq!(time_cost(0, &exact("38.50")).plain(), "0.00");
        let money = |text: &str| Money::rounded(&exact(text));
        let (left, share) = margin(&money("185"), &money("60.61"));
        assert_eq!((left.plain(), fixed_half_up(&share.unwrap(), 1)), ("124.39".into(), "67.2".into()));
        let (left, share) = margin(&money("10"), &money("12.5"));
        assert_eq!((left.plain(), fixed_half_up(&share.unwrap(), 0)), ("-2.50".into(), "-25".into()));
        assert_eq!(margin(&Money::zero(), &money("1")), (money("-1"), None));
    }

    #[test]
    fn size_means_the_trunk_where_there_is_one() {
        let tall = Measure { height_ft: Some(8.into()), ..Measure::default() };
        let tree = Measure { stems_in: vec![12.into()], height_ft: Some(30.into()), ..Measure::default() };
        assert_eq!(Pricing::BySize.basis(&tall), PriceBasis::Foot);
        assert_eq!(Pricing::BySize.basis(&tree), PriceBasis::Inch);
        assert_eq!(Pricing::Visit.basis(&tree), PriceBasis::Visit);
        for one in Pricing::ALL {
            assert_eq!(Pricing::from_code(one.code()), Some(one));
        }
        let rates = Rates { named: vec![(PriceBasis::Foot, exact("4.25"))] };
        let day = "2026-11-25".parse().unwrap();
        assert_eq!(rates.terms(PriceBasis::Foot, day).unwrap().price, exact("4.25"));
        assert_eq!(rates.terms(PriceBasis::Inch, day), None);
    }
}
