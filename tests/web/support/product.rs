//! Products and labels as the office types them. All of them are invented.
use super::{Answer, Visitor, World};
use plantward::{actions::person, db::person::Certification};
use uuid::Uuid;

/// The category that the labels of the stories ask for.
pub const CATEGORY: &str = "landscape maintenance";

/// A form's fields, to be changed one by one.
#[derive(Clone)]
pub struct Fields(pub Vec<(String, String)>);

impl Fields {
    pub fn of(pairs: &[(&str, &str)]) -> Self {
        Self(pairs.iter().map(|(n, v)| ((*n).to_owned(), (*v).to_owned())).collect())
    }
    pub fn with(mut self, name: &str, value: &str) -> Self {
        self.0.retain(|(n, _)| n != name);
        self.0.push((name.to_owned(), value.to_owned()));
        self
    }
    pub fn id(self, id: Uuid) -> Self {
        self.with("id", &id.to_string())
    }
    /// Sends it as the edit form of that record, opened just now.
    pub async fn change(&self, visitor: &Visitor, path: &str) -> Answer {
        let opened = visitor.get(&format!("{path}/edit")).await;
        self.clone().with("seen", &super::seen(&opened.body)).send(visitor, path).await
    }
    pub async fn send(&self, visitor: &Visitor, path: &str) -> Answer {
        let fields: Vec<(&str, &str)> = self.0.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
        visitor.post(path, &fields).await
    }
}

/// A poured product.
pub fn product(id: Uuid, name: &str, number: &str) -> Fields {
    Fields::of(&[("name", name), ("registration_number", number), ("form", "liquid")]).id(id)
}

/// A whole label without uses.
pub fn label(id: Uuid) -> Fields {
    Fields::of(&[
        ("label_date", "2025-03-01"),
        ("category", CATEGORY),
        ("signal_word", "CAUTION"),
        ("clothing", "Long sleeves, long trousers, waterproof gloves"),
        ("precautions", "Keep out of lakes and streams."),
        ("first_aid", "If in eyes: rinse with water for 15 minutes."),
        ("excluded_hosts", "Linden\nTilia cordata\n\nlinden"),
        ("ingredient-1-name", "Imidacloprid"),
        ("ingredient-1-group", "4a"),
        ("ingredient-1-strength", "2.00"),
        ("ingredient-1-unit", "lb/gal"),
        ("ingredient-2-unit", "lb/gal"),
        ("cap-1-name", "imidacloprid"),
        ("cap-1-amount", "0.4"),
        ("cap-1-unit", "lb/acre"),
        ("cap-1-year", "unstated"),
    ])
    .id(id)
}

/// A drench by height.
pub fn drench(id: Uuid) -> Fields {
    Fields::of(&[
        ("name", "Basal drench, shrubs"),
        ("code", "shrub-drench"),
        ("hosts", "Ornamental shrubs"),
        ("pests", "Aphids, scale, psyllids"),
        ("method", "basal-drench"),
        ("measure", "height-ft"),
        ("rate_low", "3"),
        ("rate_high", "6"),
        ("rate_unit", "mL"),
        ("water_low", "0.5"),
        ("water_high", "1"),
        ("water_unit", "gal"),
        ("protection_value", "12"),
        ("protection_unit", "month"),
        ("uptake_days", "14"),
        ("min_interval_days", "300"),
        ("max_per_year", "1"),
        ("season_from", "03-01"),
        ("season_to", "11-30"),
        ("barred_in_bloom", "yes"),
    ])
    .id(id)
}

impl World {
    /// Enters a certification for somebody.
    pub async fn certify(&self, person: Uuid, category: &str, until: &str) {
        let new = Certification {
            id: Uuid::now_v7(),
            person_id: person,
            state: "CA".into(),
            category: category.into(),
            number: "QA-00017".into(),
            valid_from: "2025-01-01".parse().unwrap(),
            expires_on: until.parse().unwrap(),
        };
        person::certify(&self.doer(), &new).await.unwrap();
    }

    /// A product with a whole draft: their ids.
    pub async fn drafted(&self, by: &Visitor) -> (Uuid, Uuid) {
        let (of, version) = (Uuid::now_v7(), Uuid::now_v7());
        product(of, "Rootguard Two", "99999-12")
            .send(by, "/products")
            .await
            .went_to(&format!("/products/{of}"));
        let at = format!("/label-versions/{version}");
        label(version).send(by, &format!("/products/{of}/label-versions")).await.went_to(&at);
        drench(Uuid::now_v7()).send(by, &format!("{at}/uses")).await.went_to(&at);
        (of, version)
    }
}

impl Visitor {
    /// Signs a label version as it stands on its page now, the box ticked.
    pub async fn sign_label(&self, version: Uuid) -> Answer {
        let page = self.get(&format!("/label-versions/{version}")).await;
        self.sign_as_seen(version, &super::seen(&page.body)).await
    }

    /// Signs a label version as it stood on the page that carried this fingerprint.
    pub async fn sign_as_seen(&self, version: Uuid, seen: &str) -> Answer {
        let fields = [("compared", "yes"), ("seen", seen)];
        self.post(&format!("/label-versions/{version}/signatures"), &fields).await
    }
}
