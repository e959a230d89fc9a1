//! May this ingredient be used here, by this applicator, on this day?
//!
//! A rule names a state, and where it is narrower a county or municipality; the
//! ingredients, the land, the methods and the hosts that it speaks of; and what
//! it asks. It is put the question of the day on which somebody would apply.
//!
//! State rules are data ([`rules`]), each with its source and with how far it
//! was checked. The product label and the live rule decide; a rule that nobody
//! has read is shown as a caution and never as a hard stop.

mod answer;
mod rules;

pub use answer::{Answer, RuleAnswer, RuleBook};
pub use rules::RULES;

use super::calendar::{add_days, add_months};
use chrono::NaiveDate;

/// How far the text of a rule was checked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// Read in a copy of the source.
    Checked,
    /// Read in part, or in somebody's summary.
    PartChecked,
    /// Not read: a starting point to verify.
    Unverified,
}

impl Mark {
    /// For people.
    pub fn words(self) -> &'static str {
        match self {
            Self::Checked => "checked",
            Self::PartChecked => "part checked",
            Self::Unverified => "unverified",
        }
    }

    /// The code used in forms and the database.
    pub fn code(self) -> &'static str {
        match self {
            Self::Checked => "checked",
            Self::PartChecked => "part-checked",
            Self::Unverified => "unverified",
        }
    }

    /// The mark of that code.
    pub fn from_code(code: &str) -> Option<Self> {
        [Self::Checked, Self::PartChecked, Self::Unverified].into_iter().find(|mark| mark.code() == code)
    }
}

/// What a rule asks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Demand {
    /// A certified applicator, or somebody who works under one.
    Certified,
    /// The person applying is certified; supervision does not do.
    CertifiedPerson,
    /// The person applying has taken the state's course in the last twelve
    /// months.
    Course,
    /// No use, save against a pest that the state lists, by a certified
    /// applicator, or under an exemption that the regulator has granted.
    ListedPest,
    /// No use, save under an exemption that the regulator has granted.
    Exemption,
    /// As before, and the applicator has taken the state's course in the last
    /// twelve months.
    ExemptionAndCourse,
    /// No use at all.
    Never,
}

/// To which land a rule applies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Land {
    /// All.
    Any,
    /// Land that is not farmed: gardens, streets, parks.
    NotAgricultural,
    /// Farms, nurseries, greenhouses.
    Agricultural,
}

/// To which plants a rule applies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HostScope {
    /// All ornamental plants.
    Any,
    /// Plants whose name holds one of these words.
    Named(&'static [&'static str]),
    /// Plants in bloom.
    InBloom,
}

/// One rule of a state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rule {
    /// Name that stays, by which answers about the rule are kept.
    pub code: &'static str,
    /// Two-letter code.
    pub state: &'static str,
    /// Active ingredients.
    pub ingredients: &'static [&'static str],
    /// First day in force as year, month, day; none: as long as we know.
    pub from: Option<(i32, u32, u32)>,
    /// Last day in force.
    pub until: Option<(i32, u32, u32)>,
    /// Only in this county or municipality; none: the whole state.
    pub place: Option<&'static str>,
    /// On which land.
    pub land: Land,
    /// By which methods; empty: all.
    pub methods: &'static [&'static str],
    /// To which plants.
    pub hosts: HostScope,
    /// Licence category that the applicator needs; none: any.
    pub category: Option<&'static str>,
    /// What it asks.
    pub demand: Demand,
    /// In plain words.
    pub words: &'static str,
    /// Where it is written.
    pub source: &'static str,
    /// How far it was checked.
    pub mark: Mark,
}

/// A course that an applicator took.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Course {
    /// The state that approved it.
    pub state: String,
    /// The day.
    pub on: NaiveDate,
    /// The last day on which it counts, where that comes before a year is over.
    pub until: Option<NaiveDate>,
}

impl Course {
    /// The last day on which it counts: a year after it was taken, or earlier.
    pub fn last_day(&self) -> NaiveDate {
        let year = add_months(self.on, 12);
        self.until.map_or(year, |until| until.min(year))
    }
}

/// Who would apply.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Applicator {
    /// Certified, or working as the law allows under one who is.
    pub certified: bool,
    /// Is it the latter? Then rules on the person applying are not kept.
    pub supervised: bool,
    /// Licence categories, where they were entered.
    pub categories: Vec<String>,
    /// Courses taken.
    pub courses: Vec<Course>,
}

impl Default for Applicator {
    fn default() -> Self {
        Self { certified: true, supervised: false, categories: Vec::new(), courses: Vec::new() }
    }
}

/// An exemption that a regulator has granted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exemption {
    /// The state that granted it.
    pub state: String,
    /// The ingredient; none: every one.
    pub ingredient: Option<String>,
    /// First day.
    pub from: NaiveDate,
    /// Last day.
    pub until: NaiveDate,
    /// Number or reason, for the record.
    pub reason: String,
}

/// A pest that a state lists for its exemption, as a licensed person entered it
/// from the state's own list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ListedPest {
    /// The state whose list it is.
    pub state: String,
    /// The pest.
    pub pest: String,
}

/// The question that is put to the rules.
#[derive(Debug, Clone, Copy)]
pub struct Question<'a> {
    /// The rules, and what was answered about them.
    pub rules: &'a RuleBook,
    /// Two-letter code.
    pub state: &'a str,
    /// County and municipality, where known.
    pub places: [Option<&'a str>; 2],
    /// Is the land farmed?
    pub agricultural: bool,
    /// Active ingredient.
    pub ingredient: &'a str,
    /// Method, where known.
    pub method: Option<&'a str>,
    /// What it is used against, where known.
    pub pest: Option<&'a str>,
    /// Pests that states list.
    pub listed_pests: &'a [ListedPest],
    /// Host plant, where known.
    pub host: Option<&'a str>,
    /// Is the plant in bloom that day?
    pub in_bloom: bool,
    /// Who would apply.
    pub applicator: &'a Applicator,
    /// What was granted.
    pub exemptions: &'a [Exemption],
}

/// What the rules answer for one day.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Standing {
    /// Rules that forbid it. Empty: allowed.
    pub blocked: Vec<&'static Rule>,
    /// Rules that are kept, such as restricted use by a certified applicator.
    pub kept: Vec<&'static Rule>,
    /// Rules that would forbid it but that nobody has verified.
    pub unverified: Vec<&'static Rule>,
}

fn date(parts: (i32, u32, u32)) -> NaiveDate {
    NaiveDate::from_ymd_opt(parts.0, parts.1, parts.2).unwrap_or(NaiveDate::MIN)
}

impl Rule {
    fn concerns(&self, question: &Question<'_>) -> bool {
        let host = || question.host.unwrap_or_default().to_lowercase();
        let placed =
            |place: &str| question.places.iter().flatten().any(|known| known.eq_ignore_ascii_case(place));
        let land = match self.land {
            Land::Any => true,
            Land::NotAgricultural => !question.agricultural,
            Land::Agricultural => question.agricultural,
        };
        self.state == question.state
            && land
            && self.place.is_none_or(placed)
            // A method that nobody named may be the one that is meant.
            && question.method.is_none_or(|method| self.methods.is_empty() || self.methods.contains(&method))
            && self.ingredients.iter().any(|name| name.eq_ignore_ascii_case(question.ingredient))
            && match self.hosts {
                HostScope::Any => true,
                HostScope::Named(words) => words.iter().any(|word| host().contains(word)),
                HostScope::InBloom => question.in_bloom,
            }
    }

    fn in_force(&self, day: NaiveDate) -> bool {
        self.from.is_none_or(|from| date(from) <= day) && self.until.is_none_or(|until| day <= date(until))
    }

    fn satisfied(&self, question: &Question<'_>, day: NaiveDate) -> bool {
        let applicator = question.applicator;
        let holds =
            |category: &str| applicator.categories.iter().any(|held| held.eq_ignore_ascii_case(category));
        if !self.category.is_none_or(holds) {
            return false;
        }
        match self.demand {
            Demand::Certified => applicator.certified,
            Demand::CertifiedPerson => applicator.certified && !applicator.supervised,
            Demand::Course => taught(question, day),
            Demand::ListedPest => exempt(question, day) || (applicator.certified && listed(question)),
            Demand::Exemption => exempt(question, day),
            Demand::ExemptionAndCourse => exempt(question, day) && taught(question, day),
            Demand::Never => false,
        }
    }
}

fn exempt(question: &Question<'_>, day: NaiveDate) -> bool {
    question.exemptions.iter().any(|granted| {
        granted.state == question.state
            && granted.from <= day
            && day <= granted.until
            && granted.ingredient.as_deref().is_none_or(|name| name.eq_ignore_ascii_case(question.ingredient))
    })
}

fn listed(question: &Question<'_>) -> bool {
    let Some(pest) = question.pest else { return false };
    question.listed_pests.iter().any(|one| one.state == question.state && one.pest.eq_ignore_ascii_case(pest))
}

/// A course counts from its day to its last one.
fn taught(question: &Question<'_>, day: NaiveDate) -> bool {
    question
        .applicator
        .courses
        .iter()
        .any(|course| course.state == question.state && course.on <= day && day <= course.last_day())
}

/// Puts the question for one day. A rule that was set aside asks nothing; one that
/// nobody has verified cautions, and forbids once it was found at its source.
pub fn standing(question: &Question<'_>, day: NaiveDate) -> Standing {
    let mut answer = Standing::default();
    for rule in question.rules.asked().filter(|rule| rule.concerns(question) && rule.in_force(day)) {
        if rule.satisfied(question, day) {
            answer.kept.push(rule);
        } else if !question.rules.is_hard(rule) {
            answer.unverified.push(rule);
        } else {
            answer.blocked.push(rule);
        }
    }
    answer
}

/// The first day after `day` on which the answer may differ; none: never.
pub fn next_change(question: &Question<'_>, day: NaiveDate) -> Option<NaiveDate> {
    let mut days: Vec<NaiveDate> = Vec::new();
    for rule in question.rules.asked().filter(|rule| rule.concerns(question)) {
        days.extend(rule.from.map(date));
        days.extend(rule.until.map(|until| add_days(date(until), 1)));
    }
    for granted in question.exemptions {
        days.extend([granted.from, add_days(granted.until, 1)]);
    }
    for course in &question.applicator.courses {
        days.extend([course.on, add_days(course.last_day(), 1)]);
    }
    days.into_iter().filter(|change| *change > day).min()
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHIPPED: &RuleBook = &RuleBook { rules: RULES, answers: Vec::new() };

    fn question<'a>(state: &'a str, ingredient: &'a str, applicator: &'a Applicator) -> Question<'a> {
        Question {
            rules: SHIPPED,
            state,
            places: [None, None],
            agricultural: false,
            ingredient,
            method: None,
            pest: None,
            listed_pests: &[],
            host: None,
            in_bloom: true,
            applicator,
            exemptions: &[],
        }
    }

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn nobody() -> Applicator {
        Applicator { certified: false, ..Applicator::default() }
    }

    #[test]
    fn a_state_without_rules_asks_nothing() {
        let applicator = nobody();
        let question = question("KS", "imidacloprid", &applicator);
        assert_eq!(standing(&question, NaiveDate::MIN), Standing::default());
        assert_eq!(next_change(&question, NaiveDate::MIN), None);
    }

    #[test]
    fn every_rule_has_a_code_of_its_own() {
        let mut codes: Vec<&str> = RULES.iter().map(|rule| rule.code).collect();
        codes.sort_unstable();
        codes.dedup();
        assert_eq!(codes.len(), RULES.len());
        let shaped = |code: &str| code.bytes().all(|b| b.is_ascii_lowercase() || b == b'-');
        assert!(RULES.iter().all(|r| shaped(r.code) && r.code.starts_with(&r.state.to_lowercase())));
    }

    #[test]
    fn a_course_counts_a_year_or_until_it_runs_out() {
        let course =
            |until: Option<&str>| Course { state: "NY".into(), on: day("2026-02-28"), until: until.map(day) };
        assert_eq!(course(None).last_day(), day("2027-02-28"));
        assert_eq!(course(Some("2026-12-31")).last_day(), day("2026-12-31"));
        assert_eq!(
            course(Some("2029-12-31")).last_day(),
            day("2027-02-28"),
            "the rule asks for it every year"
        );
    }

    #[test]
    fn an_unverified_rule_never_blocks() {
        let applicator = nobody();
        for rule in RULES.iter().filter(|rule| rule.mark == Mark::Unverified) {
            let mut question = question(rule.state, rule.ingredients[0], &applicator);
            question.host = match rule.hosts {
                HostScope::Named(words) => words.first().copied(),
                _ => None,
            };
            let answer = standing(&question, day("2026-11-25"));
            assert!(!answer.blocked.contains(&rule));
            assert!(answer.unverified.contains(&rule));
        }
    }

    #[test]
    fn every_rule_has_words_a_source_and_real_dates() {
        for rule in RULES {
            assert!(rule.words.len() > 20 && rule.source.len() > 5, "{}", rule.state);
            for parts in rule.from.into_iter().chain(rule.until) {
                assert!(NaiveDate::from_ymd_opt(parts.0, parts.1, parts.2).is_some());
            }
        }
    }

    // Invented rules: what a rule can say, beyond what the shipped ones do say.
    const BASE: Rule = Rule {
        place: Some("Quillan County"),
        land: Land::NotAgricultural,
        methods: &["foliar-spray"],
        category: Some("ornamental"),
        ..*INVENTED
    };
    const INVENTED: &Rule = &RULES[0];
    const NARROW: &RuleBook = &RuleBook { rules: &[BASE], answers: Vec::new() };

    #[test]
    fn a_rule_may_be_narrowed_by_place_land_method_and_category() {
        let mut applicator = Applicator { categories: vec!["Turf".into()], ..Applicator::default() };
        let blocked = |change: &dyn Fn(&mut Question<'_>), applicator: &Applicator| {
            let mut asked = question("CA", "imidacloprid", applicator);
            asked.places = [Some("quillan county"), None];
            asked.method = Some("foliar-spray");
            asked.rules = NARROW;
            change(&mut asked);
            !standing(&asked, day("2026-06-01")).blocked.is_empty()
        };
        assert!(blocked(&|_| {}, &applicator), "the category is missing");
        assert!(blocked(&|asked| asked.method = None, &applicator), "an unknown method may be meant");
        assert!(!blocked(&|asked| asked.places = [Some("Other"), None], &applicator));
        assert!(!blocked(&|asked| asked.places = [None, None], &applicator));
        assert!(!blocked(&|asked| asked.agricultural = true, &applicator));
        assert!(!blocked(&|asked| asked.method = Some("basal-drench"), &applicator));
        applicator.categories.push("Ornamental".into());
        assert!(!blocked(&|_| {}, &applicator));
        applicator.supervised = true;
        assert!(blocked(&|_| {}, &applicator), "supervision is not enough");
    }
}
