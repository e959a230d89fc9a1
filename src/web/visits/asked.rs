//! Which fields of a record the site's state asks for: the form says so beside them and blocks nothing.
use crate::{
    domain::record::{Field, rules_for},
    texts::Language,
};
use fluent_bundle::FluentArgs;

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
    pub fn of(language: Language, state: &str, restricted: bool) -> Self {
        let field = |field: Field, text: &str| {
            let words = language.say(text);
            let rule = rules_for(state, restricted).into_iter().find(|rule| rule.asks(field));
            match rule {
                Some(rule) => {
                    let mut args = FluentArgs::new();
                    args.set("what", words);
                    args.set("state", rule.state);
                    args.set("source", rule.source);
                    Asked { words: language.fill("asked-by", &args), by_rule: true }
                }
                None => Asked { words, by_rule: false },
            }
        };
        Self {
            started: field(Field::StartTime, "asked-started"),
            finished: field(Field::EndTime, "asked-finished"),
            wind_direction: field(Field::WindDirection, "asked-wind"),
            wind_mph: field(Field::WindSpeed, "asked-wind-speed"),
            temperature: field(Field::AirTemperature, "asked-temperature"),
            water: field(Field::Mixture, "asked-water"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_state_marks_its_own_fields() {
        // California Code of Regulations, title 3, section 6624(b): the time, no weather.
        let california = StopFields::of(Language::English, "CA", false);
        assert_eq!(california.started.words, "Started, asked by CA (3 CCR 6624(b))");
        assert!(!california.finished.by_rule && !california.wind_mph.by_rule);
        let spanish = StopFields::of(Language::Spanish, "CA", false).started.words;
        assert_eq!(spanish, "Comienzo, lo pide CA (3 CCR 6624(b))");
        // Minnesota Statutes 18B.37, subdivision 2: the completion time, temperature and wind.
        let minnesota = StopFields::of(Language::English, "MN", false);
        assert!(minnesota.finished.by_rule && minnesota.temperature.by_rule && !minnesota.started.by_rule);
        // 40 CFR 171.303(b)(7) asks for the time with restricted products only.
        assert!(
            StopFields::of(Language::English, "KS", true).started.by_rule
                && !StopFields::of(Language::English, "KS", false).started.by_rule
        );
    }
}
