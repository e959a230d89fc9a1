//! The land and who would apply.

use super::quantity;
use crate::calc::read::Node;
use crate::domain::due::Allocation;
use crate::domain::facts::SiteFacts;
use crate::domain::permission::{Answer, Applicator, Course, Exemption, ListedPest, RuleAnswer, RuleBook};
use crate::domain::quantity::{Area, AreaUnit};

/// `site`.
pub fn site(node: &Node<'_>) -> Option<SiteFacts> {
    let object = node.object(&[
        "state",
        "county",
        "municipality",
        "agricultural",
        "listed_pests",
        "cap_area",
        "history_known_from",
        "exemptions",
        "rule_answers",
    ])?;
    let cap_area = object.optional("cap_area").and_then(|node| {
        let unit = |code: &str| AreaUnit::from_code(code).ok();
        let (value, unit) = quantity(&node, Node::positive, "unit of area", unit)?;
        Some(Area::new(value, unit))
    });
    Some(SiteFacts {
        state: object.optional("state").and_then(|node| node.state()),
        county: object.optional("county").and_then(|node| node.text()),
        municipality: object.optional("municipality").and_then(|node| node.text()),
        agricultural: object.optional("agricultural").and_then(|node| node.bool()).unwrap_or(false),
        listed_pests: object.items("listed_pests").iter().filter_map(listed_pest).collect(),
        cap_area,
        history_known_from: object.optional("history_known_from").and_then(|node| node.date()),
        exemptions: object.items("exemptions").iter().filter_map(exemption).collect(),
        rules: RuleBook {
            answers: object.items("rule_answers").iter().filter_map(rule_answer).collect(),
            ..RuleBook::default()
        },
        sharing: Allocation::default(),
    })
}

fn rule_answer(node: &Node<'_>) -> Option<RuleAnswer> {
    let object = node.object(&["rule", "citation", "on", "set_aside"])?;
    let rule = object.required("rule").and_then(|node| node.text());
    let answer = match object.optional("set_aside") {
        Some(reason) => Answer::SetAside { reason: reason.text()? },
        None => {
            let citation = object.required("citation").and_then(|node| node.text());
            let on = object.required("on").and_then(|node| node.date());
            Answer::Holds { citation: citation?, on: on? }
        }
    };
    Some(RuleAnswer { rule: rule?, answer })
}

fn listed_pest(node: &Node<'_>) -> Option<ListedPest> {
    let object = node.object(&["state", "pest"])?;
    let state = object.required("state").and_then(|node| node.state());
    let pest = object.required("pest").and_then(|node| node.text());
    Some(ListedPest { state: state?, pest: pest? })
}

fn exemption(node: &Node<'_>) -> Option<Exemption> {
    let object = node.object(&["state", "ingredient", "from", "until", "reason"])?;
    let state = object.required("state").and_then(|node| node.state());
    let from = object.required("from").and_then(|node| node.date());
    let until = object.required("until").and_then(|node| node.date());
    Some(Exemption {
        ingredient: object.optional("ingredient").and_then(|node| node.text()),
        reason: object.optional("reason").and_then(|node| node.text()).unwrap_or_default(),
        state: state?,
        from: from?,
        until: until?,
    })
}

/// `applicator`.
pub fn applicator(node: &Node<'_>) -> Option<Applicator> {
    let object = node.object(&["certified", "supervised", "categories", "courses"])?;
    let certified = object.optional("certified").map_or(Some(true), |node| node.bool());
    let courses = object.items("courses").iter().filter_map(course).collect();
    let supervised = object.optional("supervised").and_then(|node| node.bool()).unwrap_or(false);
    let categories = object.items("categories").iter().filter_map(Node::text).collect();
    Some(Applicator { certified: certified?, supervised, categories, courses })
}

fn course(node: &Node<'_>) -> Option<Course> {
    let object = node.object(&["state", "on", "until"])?;
    let state = object.required("state").and_then(|node| node.state());
    let on = object.required("on").and_then(|node| node.date());
    let until = object.optional("until").and_then(|node| node.date());
    Some(Course { state: state?, on: on?, until })
}
