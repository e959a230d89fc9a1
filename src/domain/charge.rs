//! What a service that was done is charged, line by line, by the agreements that held that day.
//!
//! The price of a year is charged with the first service of each year of the agreement; later services of that
//! year lie within it. What has been billed or paid is not known here.

use super::agreement::{PlantPrice, PriceBasis, Terms, Work, quote};
use super::money::Money;
use super::plant::Measure;
use super::quantity::Exact;
use chrono::NaiveDate;

/// A plant that was treated, or ground without a plant record.
#[derive(Debug, Clone)]
pub struct Treated {
    /// In words.
    pub words: String,
    /// So many alike plants.
    pub count: u32,
    /// What was measured; none for ground without a plant record.
    pub measure: Option<Measure>,
    /// Its own agreement in force that day.
    pub own: Option<Terms>,
    /// Earlier days on which this plant was treated.
    pub earlier: Vec<NaiveDate>,
}

/// A service that was done.
#[derive(Debug, Clone)]
pub struct Service {
    /// The day.
    pub on: NaiveDate,
    /// The site's agreement in force that day.
    pub site: Option<Terms>,
    /// What was treated, each plant once.
    pub treated: Vec<Treated>,
    /// Earlier days on which something of the site was treated.
    pub earlier: Vec<NaiveDate>,
}

/// A line of what is charged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Charge {
    /// What it is for.
    pub words: String,
    /// What the price is for, and how much one costs.
    pub price: Option<(PriceBasis, Exact)>,
    /// How many of the basis.
    pub times: Option<Exact>,
    /// Rounded to the cent; none: nobody can say, and `note` says why.
    pub amount: Option<Money>,
    /// Why there is no amount, or why it is nothing.
    pub note: String,
}

/// The lines of a service, in the order of what was treated, the one sum of a visit or year last.
#[must_use]
pub fn charges(service: &Service) -> Vec<Charge> {
    let bare = Measure::default();
    let site = service.site.as_ref();
    // Ground without a plant record has a price only within one sum.
    let (plants, ground): (Vec<&Treated>, Vec<&Treated>) =
        service.treated.iter().partition(|one| one.measure.is_some());
    let work: Vec<Work<'_>> = plants
        .iter()
        .map(|one| Work {
            count: one.count,
            measure: one.measure.as_ref().unwrap_or(&bare),
            own: one.own.as_ref(),
        })
        .collect();
    let priced = quote(site, &work);
    let mut lines: Vec<Charge> =
        plants.iter().zip(&priced.plants).map(|(one, price)| of_plant(service, one, price)).collect();
    lines.extend(ground.iter().map(|one| of_ground(site, one)));
    let within = plants.iter().any(|one| one.own.is_none()) || !ground.is_empty();
    if let Some(terms) = site.filter(|terms| terms.basis.is_whole() && within) {
        lines.push(whole(terms, service.on, &service.earlier, terms.basis.words()));
    }
    lines
}

fn of_plant(service: &Service, one: &Treated, price: &PlantPrice) -> Charge {
    let unknown =
        |note: String| Charge { words: one.words.clone(), price: None, times: None, amount: None, note };
    match price {
        PlantPrice::Amount { basis: PriceBasis::Year, .. } => match &one.own {
            Some(terms) => whole(terms, service.on, &one.earlier, &one.words),
            None => unknown("no price is agreed".to_owned()),
        },
        PlantPrice::Amount { basis, price, times, amount } => Charge {
            words: one.words.clone(),
            price: Some((*basis, price.clone())),
            times: Some(times.clone()),
            amount: Some(amount.clone()),
            note: String::new(),
        },
        PlantPrice::Within(basis) => Charge {
            amount: Some(Money::zero()),
            ..unknown(format!("within the price of the {}", basis.words()))
        },
        PlantPrice::Unknown(why) => unknown(why.to_string()),
    }
}

fn of_ground(site: Option<&Terms>, one: &Treated) -> Charge {
    let (amount, note) = match site {
        Some(terms) if terms.basis.is_whole() => {
            (Some(Money::zero()), format!("within the price of the {}", terms.basis.words()))
        }
        Some(terms) => {
            (None, format!("the price is by the {} and this is no plant record", terms.basis.words()))
        }
        None => (None, "no price is agreed".to_owned()),
    };
    Charge { words: one.words.clone(), price: None, times: None, amount, note }
}

/// One sum: each visit, or the first service of each year of the agreement.
fn whole(terms: &Terms, on: NaiveDate, earlier: &[NaiveDate], words: &str) -> Charge {
    let one = Charge {
        words: words.to_owned(),
        price: Some((terms.basis, terms.price.clone())),
        times: Some(Exact::from_integer(1.into())),
        amount: Some(Money::rounded(&terms.price)),
        note: String::new(),
    };
    let (PriceBasis::Year, Some((from, last))) = (terms.basis, terms.year_of(on)) else { return one };
    let first = earlier.iter().filter(|day| (from..=last).contains(*day)).min();
    match first {
        Some(first) => Charge {
            price: None,
            times: None,
            amount: Some(Money::zero()),
            note: format!("within the year from {from} to {last}, charged with the service of {first}"),
            ..one
        },
        None => Charge { note: format!("for the year from {from} to {last}"), ..one },
    }
}

#[cfg(test)]
mod tests {
    use super::super::quantity::parse;
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn terms(basis: PriceBasis, price: &str) -> Terms {
        Terms { basis, price: parse(price).unwrap(), starts_on: day("2025-03-10"), ends_on: None }
    }

    fn hedge(own: Option<Terms>) -> Treated {
        let measure = Some(Measure { height_ft: Some(6.into()), ..Measure::default() });
        Treated { words: "hedge".into(), count: 10, measure, own, earlier: vec![] }
    }

    fn ground() -> Treated {
        Treated { words: "lawn".into(), count: 1, measure: None, own: None, earlier: vec![] }
    }

    fn service(site: Option<Terms>, treated: Vec<Treated>) -> Service {
        Service { on: day("2026-05-15"), site, treated, earlier: vec![] }
    }

    fn said(service: &Service) -> Vec<(String, String)> {
        let amount = |c: &Charge| c.amount.as_ref().map_or("unknown".to_owned(), Money::plain);
        charges(service).iter().map(|c| (c.words.clone(), amount(c))).collect()
    }

    fn pairs(list: &[(&str, &str)]) -> Vec<(String, String)> {
        list.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect()
    }

    #[test]
    fn each_line_is_charged_by_what_holds_for_it() {
        let own = terms(PriceBasis::Plant, "3.333");
        let by_foot =
            service(Some(terms(PriceBasis::Foot, "0.375")), vec![hedge(None), hedge(Some(own)), ground()]);
        // 60 ft at 0.375; 10 plants at 3.333; a lawn has no feet.
        assert_eq!(said(&by_foot), pairs(&[("hedge", "22.50"), ("hedge", "33.33"), ("lawn", "unknown")]));
        let by_visit = service(Some(terms(PriceBasis::Visit, "150")), vec![hedge(None), ground()]);
        assert_eq!(said(&by_visit), pairs(&[("hedge", "0.00"), ("lawn", "0.00"), ("visit", "150.00")]));
        let nothing = service(None, vec![hedge(None), ground()]);
        assert_eq!(said(&nothing), pairs(&[("hedge", "unknown"), ("lawn", "unknown")]), "unknown, not free");
    }

    #[test]
    fn a_year_is_charged_once_a_year_of_the_agreement() {
        let yearly = || service(Some(terms(PriceBasis::Year, "420")), vec![hedge(None)]);
        for (earlier, amount) in [
            (vec![], "420.00"),
            (vec!["2026-03-09"], "420.00"),
            (vec!["2026-03-10"], "0.00"),
            (vec!["2025-06-01", "2026-05-14"], "0.00"),
        ] {
            let one = Service { earlier: earlier.iter().map(|d| day(d)).collect(), ..yearly() };
            assert_eq!(said(&one).last().unwrap().1, amount, "{earlier:?}");
        }
        let within = Service { earlier: vec![day("2026-03-10")], ..yearly() };
        let last = charges(&within).pop().unwrap();
        assert_eq!(
            last.note,
            "within the year from 2026-03-10 to 2027-03-09, charged with the service of 2026-03-10"
        );
    }

    #[test]
    fn a_plants_own_year_asks_when_that_plant_was_treated() {
        let own = terms(PriceBasis::Year, "90");
        let mut one = service(None, vec![hedge(Some(own))]);
        one.earlier = vec![day("2026-04-01")];
        assert_eq!(said(&one), pairs(&[("hedge", "90.00")]), "another plant of the site was treated then");
        one.treated[0].earlier = vec![day("2026-04-01")];
        assert_eq!(said(&one), pairs(&[("hedge", "0.00")]));
    }
}
