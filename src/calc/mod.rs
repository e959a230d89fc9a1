//! The arithmetic core without a database: one scenario in, one answer out.
//!
//! `plantward calc` reads a JSON scenario and answers with the doses, the state
//! of the caps and the due dates of one property, worked out by the functions
//! that the server uses. All quantities are decimal strings, all dates ISO 8601.
//! A scenario that is wrong is answered with a list of errors, each with a JSON
//! pointer (RFC 6901) to the member that is wrong. Unknown keys are errors.
//!
//! Beyond the required members a scenario may hold:
//!
//! | member | meaning |
//! |---|---|
//! | `site.county`, `products[].name`, `plants[].name` | used in the sentences of `why` |
//! | `site.exemptions` | list of `{state, ingredient, from, until, reason}`: exemptions that a regulator has granted (no ingredient: all) |
//! | `reservations` | like `history`: doses that are booked; they reserve the caps and are no history |
//! | `products[].signed` | `false`: the label entry is not signed (default `true`) |
//! | `products[].density` | `{value, unit}` in `g/mL`, `kg/L` or `lb/gal`, where amounts by volume meet a strength in percent, or the reverse |
//! | `uses[].season` | `{from, to}` or a list of such, month-day as `04-01` |
//! | `uses[].bloom` | `not-in-bloom`: not while the plant is in bloom |
//! | `uses[].covers_food`, `uses[].pre_harvest_days` | the use covers bearing food plants |
//! | `uses[].excluded_hosts` | host plants that the label excludes |
//! | `plants[].host` | a name, or `{name, in_bloom}` |
//! | `plants[].in_bloom` | in bloom until further notice |
//! | `plants[].bloom` | when it usually blooms, like `season` |
//! | `plants[].circumference` | girth of a trunk in inches, instead of `measure` |
//! | `plants[].eaten` | `yes`, `no` (default) or `unknown` |
//! | `site.municipality`, `site.agricultural` | for state rules on places and on farmed land (default `false`) |
//! | `site.listed_pests` | list of `{state, pest}`: pests that a state lists for its exemption |
//! | `applicator.supervised` | `true`: the person applying works under a certified one; `categories`: licence categories |
//! | `applicator.courses[].until` | the last day on which a course counts, where that is before a year is over |
//! | `site.rule_answers` | list of `{rule, citation, on}` or `{rule, set_aside}`: what a licensed person answered about a state rule that ships unverified |
//! | `products[].form` | also `packet` and `tablet`, which are poured whole; `piece` `{value, unit}` is the mass of one |
//! | `strength.unit` | also mass per piece, such as `g/tablet` |
//! | `products[].registrations` | list of `{state, from, until}`: only then and there may it be used |
//! | `caps[].of` | `product`: the cap counts the product itself, such as `gal/acre` (then no `ingredient`) |
//! | `uses[].measure` | also `circumference-in`, `plant`, `container`, `area-1000sqft`, `area-acre` |
//! | `rate.per` | the number of feet, inches and so on that the band is stated for (default 1); the plant's `rate` is read in the same terms |
//! | `uses[].bloom_lead_days` | days before bloom that `not-in-bloom` forbids too |
//! | `uses[].foliar_rest_days`, `uses[].no_group_repeat` | what the label says about repeats of a mode of action |
//! | `plants[].area` | treated ground `{value, unit}`, where the rate goes by ground |
//! | `plants[].pest` | what it is treated against |
//! | `plants[].harvest`, `plants[].harvest_on` | when it is harvested, like `season`, or a day |
//! | `plants[].poured` | `{value, unit}`: answered with a warning where it left the band |
//! | `allocation` | `in-order` (default) or `least-gap`: plants share what a cap leaves so that all together have the fewest days without protection; exact for up to eight plants that compete hard, and for more where few do; beyond some hundred thousand trials the best found (`exact` says which), never worse than in order |
//! | `kit` | list of `{name, mark, holds}`: for each dose the nearest mark inside the band |
//! | `tank` | `{value, unit}`: how the doses of each use go into tanks |
//! | `plants[].active` | `false`: retired, never due (default `true`) |
//!
//! Units: volumes `mL L floz tsp tbsp cup pt qt gal`, masses `g mg kg oz lb`,
//! pieces `packet tablet`,
//! areas `sqft 1000sqft sqyd acre m2 ha`; strengths `percent` or any
//! mass/volume; caps any mass/area, of a product any unit of it/area. Beside the rules listed for `held_by` it may
//! say `food-plant`, `host-excluded`, `not-registered` and `pre-harvest`.

mod answer;
mod json;
mod read;
pub mod route;
mod scenario;

use crate::domain::book::{Book, FactError};
use crate::domain::due::outlook_by;
use read::Problem;

/// Answers a scenario.
///
/// # Errors
/// The list of what is wrong with it, as JSON: `[{"pointer", "error"}]`.
pub fn run(input: &str) -> Result<String, String> {
    let answer = work(input).map_err(|problems| pretty(&problems))?;
    Ok(pretty(&answer))
}

fn work(input: &str) -> Result<answer::Answer, Vec<Problem>> {
    let tree = json::parse(input).map_err(whole)?;
    let scenario = scenario::read(&tree)?;
    let book = Book::new(&scenario.facts).map_err(located)?;
    let outlook = outlook_by(&book, scenario.allocation.unwrap_or_default());
    answer::answer(&scenario, &book, &outlook).map_err(whole)
}

/// A mistake of the scenario as a whole.
fn whole(error: impl std::error::Error) -> Vec<Problem> {
    vec![Problem { pointer: String::new(), error: error.to_string() }]
}

fn located(errors: Vec<FactError>) -> Vec<Problem> {
    let problem = |error: FactError| Problem {
        pointer: format!("/{}/{}/{}", error.list, error.index, error.member),
        error: error.words,
    };
    errors.into_iter().map(problem).collect()
}

fn pretty<T: serde::Serialize>(value: &T) -> String {
    serde_json::to_string_pretty(value).unwrap_or_else(|error| error.to_string())
}
