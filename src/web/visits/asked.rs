//! Which fields of a record the site's state asks for: the form says so beside them and blocks nothing.
use crate::domain::record::{Field, rules_for};

/// A field's words, and whether a rule asks for it.
pub struct Asked {
    pub words: String,
    pub by_rule: bool,
}

/// The fields of the stop that a rule may ask for.
pub struct StopFields {
    pub started: Asked,
    pub finished: Asked,
    pub wind_direction: Asked,
    pub wind_mph: Asked,
    pub temperature: Asked,
    pub water: Asked,
}

impl StopFields {
    /// As the state asks, and federal law where a product is restricted.
    pub fn of(state: &str, restricted: bool) -> Self {
        let field = |field: Field, words: &str| {
            let rule = rules_for(state, restricted).into_iter().find(|rule| rule.fields.contains(&field));
            match rule {
                Some(rule) => Asked {
                    words: format!("{words}, asked by {} ({})", rule.state, rule.source),
                    by_rule: true,
                },
                None => Asked { words: words.to_owned(), by_rule: false },
            }
        };
        Self {
            started: field(Field::StartTime, "Started"),
            finished: field(Field::EndTime, "Finished"),
            wind_direction: field(Field::WindDirection, "Wind from"),
            wind_mph: field(Field::WindSpeed, "Wind speed"),
            temperature: field(Field::AirTemperature, "Air temperature"),
            water: field(Field::Mixture, "Water used"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_state_marks_its_own_fields() {
        // California Code of Regulations, title 3, section 6624(b): the time, no weather.
        let california = StopFields::of("CA", false);
        assert_eq!(california.started.words, "Started, asked by CA (3 CCR 6624(b))");
        assert!(!california.finished.by_rule && !california.wind_mph.by_rule);
        // Minnesota Statutes 18B.37, subdivision 2: the completion time, temperature and wind.
        let minnesota = StopFields::of("MN", false);
        assert!(minnesota.finished.by_rule && minnesota.temperature.by_rule && !minnesota.started.by_rule);
        // 40 CFR 171.303(b)(7) asks for the time with restricted products only.
        assert!(StopFields::of("KS", true).started.by_rule && !StopFields::of("KS", false).started.by_rule);
    }
}
