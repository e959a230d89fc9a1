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
//! | `plants[].active` | `false`: retired, never due (default `true`) |
//!
//! Units: volumes `mL L floz tsp tbsp cup pt qt gal`, masses `g mg kg oz lb`,
//! areas `sqft 1000sqft sqyd acre m2 ha`; strengths `percent` or any
//! mass/volume; caps any mass/area. Beside the rules listed for `held_by` it may
//! say `food-plant` and `host-excluded`.

mod answer;
mod json;
mod read;
mod scenario;

use crate::domain::book::{Book, FactError};
use crate::domain::due::outlook_of;
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
    let facts = scenario::read(&tree)?;
    let book = Book::new(&facts).map_err(located)?;
    answer::answer(&facts, &book, &outlook_of(&book)).map_err(whole)
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
