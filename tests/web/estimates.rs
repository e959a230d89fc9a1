//! Estimates: prices from what was measured, the margin for the owner alone, acceptance and withdrawal.
use crate::{
    places,
    support::{Answer, Visitor, World},
    yard::Yard,
};
use axum::http::StatusCode;
use plantward::db::agreement;
use uuid::Uuid;

struct Story {
    world: World,
    maren: Visitor,
    tobias: Visitor,
    yard: Yard,
    hedge: Uuid,
    patio: Uuid,
}

impl Story {
    async fn new() -> Self {
        let world = World::new().await;
        let (maren, tobias) = (world.owner().await, world.office().await);
        let yard = Yard::new(&world, &maren).await;
        let hedge = yard.hedge(&world, "Front hedge", 6).await;
        let patio = yard.hedge(&world, "Patio", 1).await;
        Self { world, maren, tobias, yard, hedge, patio }
    }

    async fn make(&self, who: &Visitor, id: Uuid, plants: &[Uuid], fields: &[(&str, &str)]) -> Answer {
        let id = id.to_string();
        let plants: Vec<String> = plants.iter().map(Uuid::to_string).collect();
        let mut all = vec![
            ("id", id.as_str()),
            ("pricing", "by-size"),
            ("rate_foot", "4.25"),
            ("rate_inch", "12"),
            ("valid_until", "2026-12-25"),
        ];
        all.retain(|(name, _)| fields.iter().all(|(own, _)| own != name));
        all.extend(fields);
        all.extend(plants.iter().map(|plant| ("plants", plant.as_str())));
        who.post(&format!("/sites/{}/estimates", self.yard.site), &all).await
    }

    async fn made(&self, plants: &[Uuid], fields: &[(&str, &str)]) -> String {
        let id = Uuid::now_v7();
        self.make(&self.tobias, id, plants, fields).await.went_to(&format!("/estimates/{id}"));
        format!("/estimates/{id}")
    }

    async fn sql(&self, sql: &'static str, id: Uuid) {
        sqlx::query(sql).bind(id).execute(&self.world.pool).await.unwrap();
    }

    async fn prices(&self, who: &Visitor, fields: &[(&str, &str)]) -> Answer {
        let seen = crate::support::seen(&who.get("/company/prices").await.body);
        let mut fields = fields.to_vec();
        fields.push(("seen", &seen));
        who.post("/company/prices", &fields).await
    }
}

#[tokio::test]
async fn an_estimate_counts_what_was_measured_and_its_paper_says_the_same() {
    let s = Story::new().await;
    let path = s.made(&[s.hedge, s.patio], &[("note", "We ring the day before.")]).await;
    // 6 x 8 ft and 8 ft at 4.25.
    let page = s.tobias.get(&path).await;
    let paper = s.tobias.paper(&format!("{path}/paper")).await;
    for said in ["204.00", "34.00", "238.00", "48 ft", "Podocarpus, Front hedge, 6 alike", "Odile Farrant"] {
        assert!(page.page().contains(said), "{said}\n{}", page.body);
        let word = said.split(", ").next().unwrap();
        assert!(paper.contains(word), "{said}\n{paper}");
    }
    for said in [
        "Rootward 2F",
        "EPA Reg. No. 99999-12",
        "Long sleeves",
        "Keep people and pets out",
        "The label and local rules decide; a licensed person answers.",
        "Prepared by Tobias Fenn on Nov 25, 2026",
        "Page 1 of 1",
        "before any tax",
    ] {
        assert!(paper.contains(said), "{said}\n{paper}");
    }
    s.sql("update plant set height_ft = 20 where id = $1", s.hedge).await;
    assert!(s.tobias.get(&path).await.page().contains("$238.00"), "an estimate stays as it was given");
    let refused = sqlx::query("update estimate set total = 1").execute(&s.world.pool).await.unwrap_err();
    assert_eq!(plantward::db::broken_constraint(&refused), Some("estimate_stays"));
}

#[tokio::test]
async fn the_margin_is_the_owners_alone() {
    let s = Story::new().await;
    s.sql("update product set price = 150, price_unit = 'gal' where id = $1", s.yard.product).await;
    assert_eq!(s.tobias.get("/company/prices").await.status, StatusCode::NOT_FOUND);
    s.prices(&s.maren, &[("hour_cost", "60"), ("foot", "4.25")]).await.went_to("/company/prices");
    sqlx::query("update company set stop_minutes = 10, plant_minutes = 2")
        .execute(&s.world.pool)
        .await
        .unwrap();
    let path = s.made(&[s.hedge, s.patio], &[]).await;
    // 56 ft at 3 mL are 168 mL of $150 a gallon: 168 / 3785.411784 x 150 = 6.657 -> 6.66. 10 + 7 x 2 minutes at
    // $60: 24.00. 238 - 30.66 = 207.34, which is 87.1 %.
    let owner = s.maren.get(&path).await;
    for said in ["$6.66", "$24.00 for 24 minutes", "$207.34, 87.1 % of the price"] {
        assert!(owner.page().contains(said), "{said}\n{}", owner.body);
    }
    let office = s.tobias.get(&path).await;
    let ines = s.world.technician().await;
    assert_eq!(ines.get(&path).await.status, StatusCode::NOT_FOUND);
    assert_eq!(ines.get(&format!("{path}/paper")).await.status, StatusCode::NOT_FOUND);
    let papers =
        [s.tobias.paper(&format!("{path}/paper")).await, s.maren.paper(&format!("{path}/paper")).await];
    for text in [office.page(), &papers[0], &papers[1]] {
        for secret in ["6.66", "24.00", "207.34", "87.1", "leaves the company", "minutes at"] {
            assert!(!text.contains(secret), "{secret}\n{text}");
        }
    }
}

#[tokio::test]
async fn a_cost_that_is_not_known_leaves_no_margin() {
    let s = Story::new().await;
    let path = s.made(&[s.hedge], &[]).await;
    let page = s.maren.get(&path).await;
    for said in ["no cost of an hour is entered", "no price of Rootward 2F is entered", "cannot be told"] {
        assert!(page.page().contains(said), "{said}\n{}", page.body);
    }
}

#[tokio::test]
async fn what_cannot_be_priced_is_said_at_its_field() {
    let s = Story::new().await;
    let none = s.make(&s.tobias, Uuid::now_v7(), &[], &[("note", "typed <already>")]).await;
    assert!(
        none.body.contains("Choose at least one plant.") && none.body.contains("typed &#60;already&#62;")
    );
    let silent = s.make(&s.tobias, Uuid::now_v7(), &[s.hedge], &[("rate_foot", "")]).await;
    assert_eq!(silent.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(silent.body.contains("needs the price per foot of height"), "{}", silent.body);
    let past = s.make(&s.tobias, Uuid::now_v7(), &[s.hedge], &[("valid_until", "2026-11-24")]).await;
    assert!(past.body.contains("This day is past."));
    s.sql("update plant set product_id = null, use_code = null where id = $1", s.patio).await;
    let bare = s.make(&s.tobias, Uuid::now_v7(), &[s.hedge, s.patio], &[]).await;
    assert!(
        bare.body.contains("Podocarpus, Patio: choose a treatment and measure it first"),
        "{}",
        bare.body
    );
    let count: i64 =
        sqlx::query_scalar("select count(*) from estimate").fetch_one(&s.world.pool).await.unwrap();
    assert_eq!(count, 0);
}

#[tokio::test]
async fn accepted_it_becomes_what_is_agreed_in_place_of_older_prices() {
    let s = Story::new().await;
    let own = [
        ("id", "01890a5d-ac96-774b-bcce-b302099a8057"),
        ("basis", "plant"),
        ("price", "99"),
        ("starts_on", "2026-01-05"),
        ("plant", &s.patio.to_string()),
    ];
    let agreements = format!("/sites/{}/agreements", s.yard.site);
    s.tobias.post(&agreements, &own).await.went_to(&agreements);
    let path = s.made(&[s.hedge, s.patio], &[]).await;
    let answer = s.tobias.post(&format!("{path}/acceptances"), &[("starts_on", "2026-11-25")]).await;
    answer.went_to(&agreements);
    let mut conn = s.world.pool.acquire().await.unwrap();
    let next = agreement::next(&mut conn, s.yard.site, "2026-11-25".parse().unwrap()).await.unwrap().unwrap();
    assert_eq!(next.quote.total.unwrap().plain(), "238.00", "the estimate's price, and not 99 for the patio");
    assert_eq!(agreement::of_site(&mut conn, s.yard.site).await.unwrap().len(), 2, "one for the whole site");
    let again = s.tobias.post(&format!("{path}/acceptances"), &[("starts_on", "2026-11-26")]).await;
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(again.body.contains("It is accepted already."), "{}", again.body);
    // A part of the plants gets prices of its own.
    let part = s.made(&[s.patio], &[("rate_foot", "5")]).await;
    s.tobias.post(&format!("{part}/acceptances"), &[("starts_on", "2026-12-01")]).await.went_to(&agreements);
    let later =
        agreement::next(&mut conn, s.yard.site, "2026-12-01".parse().unwrap()).await.unwrap().unwrap();
    assert_eq!(later.quote.total.unwrap().plain(), "244.00", "48 x 4.25 and 8 x 5");
}

#[tokio::test]
async fn withdrawn_it_says_why_and_cannot_be_accepted() {
    let s = Story::new().await;
    let path = s.made(&[s.hedge], &[("pricing", "visit"), ("rate_visit", "185")]).await;
    let page = s.tobias.get(&path).await;
    assert!(page.page().contains("within the visit") && page.body.contains("$185.00"));
    let silent = s.tobias.post(&format!("{path}/withdrawals"), &[]).await;
    assert!(silent.body.contains("Please fill this in."));
    s.tobias.post(&format!("{path}/withdrawals"), &[("reason", "Counted wrong")]).await.went_to(&path);
    assert!(s.tobias.get(&path).await.page().contains("Withdrawn: Counted wrong."));
    let late = s.tobias.post(&format!("{path}/acceptances"), &[("starts_on", "2026-12-01")]).await;
    assert!(late.body.contains("It is withdrawn. Make a new one."));
    let id = path.rsplit('/').next().unwrap();
    assert_eq!(places::deeds(&s.world, "estimate", id).await, ["made", "withdrawn"]);
    let missing = s.maren.get("/estimates/01890a5d-ac96-774b-bcce-b302099a8057/paper").await;
    assert_eq!(missing.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn the_price_list_starts_a_form_and_a_stale_one_overwrites_nothing() {
    let s = Story::new().await;
    let opened = crate::support::seen(&s.maren.get("/company/prices").await.body);
    s.prices(&s.maren, &[("foot", "4.375"), ("visit", "190")]).await.went_to("/company/prices");
    let form = s.tobias.get(&format!("/sites/{}/estimates", s.yard.site)).await;
    assert!(form.page().contains("value=\"4.375\"") && form.body.contains("value=\"190\""));
    let stale = s.maren.post("/company/prices", &[("foot", "9"), ("seen", &opened)]).await;
    assert_eq!(stale.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(stale.body.contains("Saved meanwhile: 4.375"));
    let wrong = s.prices(&s.maren, &[("inch", "-1"), ("plant", "1.00001")]).await;
    assert!(wrong.body.contains("zero or more") && wrong.body.contains("at most four decimals"));
}
