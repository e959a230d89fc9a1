//! Packets and tablets from the label to the visit: typed in, refused where it cannot be, signed, planned whole.
use crate::{
    support::{
        Visitor, World,
        product::{CATEGORY, Fields, drench, label, product},
    },
    yard::{Yard, certify},
};
use axum::http::StatusCode;
use uuid::Uuid;

/// One packet of 1.6 oz, three quarters imidacloprid (the shape of Georgia's sheet on hemlock woolly adelgid).
fn packets(id: Uuid) -> Fields {
    label(id)
        .with("ingredient-1-strength", "75")
        .with("ingredient-1-unit", "percent")
        .with("piece", "1.6")
        .with("piece_unit", "oz")
        .with("excluded_hosts", "")
}

/// One to two packets for thirty inches of trunk.
fn by_trunk(id: Uuid) -> Fields {
    drench(id)
        .with("measure", "diameter-in")
        .with("rate_low", "1")
        .with("rate_high", "2")
        .with("rate_unit", "packet")
        .with("rate_per", "30")
        .with("season2_from", "")
        .with("bloom_lead_days", "14")
        .with("foliar_rest_days", "365")
        .with("no_group_repeat", "yes")
        .with("season_from", "03-01")
        .with("season_to", "05-31")
        .with("season2_from", "09-01")
        .with("season2_to", "12-15")
}

/// A packet product, its draft without a use.
async fn entered(by: &Visitor) -> (Uuid, Uuid) {
    let (of, version) = (Uuid::now_v7(), Uuid::now_v7());
    let new = product(of, "Rootguard Sachets", "99999-77").with("form", "packet");
    let new = new.with("price", "4.25").with("price_unit", "packet");
    new.send(by, "/products").await.went_to(&format!("/products/{of}"));
    let at = format!("/label-versions/{version}");
    packets(version).send(by, &format!("/products/{of}/label-versions")).await.went_to(&at);
    (of, version)
}

async fn tree(world: &World, yard: &Yard, product: Uuid, inches: i32) -> Uuid {
    let id = Uuid::now_v7();
    sqlx::query(
        "insert into plant (id, site_id, place, host_plant, kind, count, stems_in, eaten, food_in_root_zone,
            product_id, use_code, created_at)
         values ($1, $2, 'Gate ' || $4, 'Tulip tree', 'tree', 1, array[$4::numeric], 'no', 'no', $3, 'shrub-drench', now())",
    )
    .bind(id)
    .bind(yard.site)
    .bind(product)
    .bind(inches)
    .execute(&world.pool)
    .await
    .unwrap();
    let mut tx = world.pool.begin().await.unwrap();
    plantward::actions::due::recompute_parcel(&mut tx, &world.doer(), yard.parcel).await.unwrap();
    tx.commit().await.unwrap();
    id
}

#[tokio::test]
async fn everything_that_is_signed_for_stands_on_the_page() {
    let world = World::new().await;
    let owner = world.owner().await;
    world.certify(owner.id, CATEGORY, "2027-12-31").await;
    let (of, version) = entered(&owner).await;
    let at = format!("/label-versions/{version}");
    let capped = packets(version)
        .with("cap-2-counts", "product")
        .with("cap-2-amount", "12")
        .with("cap-2-unit", "packet/acre")
        .with("cap-2-year", "calendar");
    capped.change(&owner, &at).await.went_to(&at);
    by_trunk(Uuid::now_v7()).send(&owner, &format!("{at}/uses")).await.went_to(&at);
    let page = owner.get(&at).await;
    for words in [
        "in packets",
        "<dt>One packet</dt><dd>1.6 oz</dd>",
        "1 to 2 packets per 30 in of trunk diameter",
        "Only from Mar 1 to May 31 and from Sep 1 to Dec 15",
        "Not while the plant is in bloom, nor in the 14 days before",
        "After it no foliar use of group 4 for 365 days",
        "Not on a plant that had the same mode of action before",
        "75 percent",
        "Rootguard Sachets, the product itself",
        "12 packet/acre",
        "at most 1 application to one plant in any 12 months",
    ] {
        assert!(page.page().contains(words), "{words}");
    }
    assert!(owner.get(&format!("/products/{of}")).await.page().contains("4.25 for 1 packet"));
    // What a packet weighs is signed for: a change in between is not covered.
    let before = crate::support::seen(page.page());
    capped.with("piece", "1.5").change(&owner, &at).await.went_to(&at);
    let refused = owner.sign_as_seen(version, &before).await;
    assert!(refused.body.contains("is not the one that you compared"));
    owner.sign_label(version).await.went_to(&at);
    // The forms give back what was typed.
    let copy = Uuid::now_v7().to_string();
    let fields = [("id", copy.as_str()), ("from", &version.to_string())];
    owner
        .post(&format!("/products/{of}/label-versions"), &fields)
        .await
        .went_to(&format!("/label-versions/{copy}"));
    let form = owner.get(&format!("/label-versions/{copy}/edit")).await;
    assert!(form.page().contains("name=\"piece\"") && form.page().contains("value=\"1.5\""));
    assert!(form.page().contains("<option value=\"packet/acre\" selected>"));
}

#[tokio::test]
async fn what_does_not_fit_together_is_said_at_its_field() {
    let world = World::new().await;
    let office = world.office().await;
    let (poured, _) = world.drafted(&office).await;
    let (packet, version) = entered(&office).await;
    let liquid = |id| label(id).with("ingredient-1-unit", "percent");
    let own = |fields: Fields, unit: &str| {
        let fields = fields.with("cap-2-counts", "product").with("cap-2-amount", "3");
        fields.with("cap-2-unit", unit).with("cap-2-year", "calendar")
    };
    let id = Uuid::now_v7;
    for (of, fields, field, words) in [
        (poured, liquid(id()), "ingredient-1-unit", "fill in its density"),
        (poured, liquid(id()).with("density", "1.1"), "density_unit", "choose one of these"),
        (poured, label(id()).with("cap-1-unit", "gal/acre"), "cap-1-unit", "counts its weight"),
        (poured, own(label(id()), "lb/acre"), "cap-2-unit", "takes its density"),
        (
            poured,
            own(label(id()), "gal/acre").with("cap-2-name", "imidacloprid"),
            "cap-2-name",
            "Leave it empty",
        ),
        (packet, packets(id()).with("piece", ""), "ingredient-1-unit", "what one packet weighs"),
        (
            packet,
            packets(id()).with("ingredient-1-strength", "50").with("ingredient-1-unit", "g/packet"),
            "ingredient-1-strength",
            "more than the whole piece weighs",
        ),
        (
            packet,
            packets(id()).with("ingredient-1-unit", "lb/gal"),
            "ingredient-1-unit",
            "choose one of these",
        ),
    ] {
        let answer = fields.send(&office, &format!("/products/{of}/label-versions")).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{words}");
        assert!(answer.body.contains(&format!("id=\"f-{field}-wrong\"")), "{field}: {words}");
        assert!(answer.body.contains(words), "{words}");
    }
    let uses = format!("/label-versions/{version}/uses");
    for (name, typed, words) in [
        ("rate_unit", "mL", "choose one of these"),
        ("rate_per", "0", "more than zero"),
        ("measure", "plant", "stated for one of them"),
        ("season2_to", "", "a first and a last day"),
        ("season_from", "", "a first and a last day"),
        ("bloom_lead_days", "400", "more than a year"),
        ("barred_in_bloom", "no", "barred in bloom"),
        ("foliar_rest_days", "long", "a whole number"),
    ] {
        let answer = by_trunk(id()).with(name, typed).send(&office, &uses).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{name}");
        assert!(answer.body.contains(words), "{name}: {words}");
    }
    let priced = product(id(), "Other", "99999-78").with("price", "3").with("price_unit", "oz");
    assert!(priced.send(&office, "/products").await.body.contains("f-price_unit-wrong"));
    let days = Fields::of(&[("state", "CA"), ("valid_from", "2027-01-01"), ("expires_on", "2026-12-31")]);
    let days = days.send(&office, &format!("/products/{packet}/registrations")).await;
    assert_eq!(days.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(days.body.contains("before the first") && days.body.contains("value=\"2027-01-01\""));
}

#[tokio::test]
async fn a_tree_gets_whole_packets_or_none() {
    let world = World::new().await;
    let owner = world.owner().await;
    world.certify(owner.id, CATEGORY, "2027-12-31").await;
    let (office, ines) = (world.office().await, world.technician().await);
    certify(&world, ines.id).await;
    let yard = Yard::new(&world, &owner).await;
    // A big lot: two packets of 34 g and the cap of 0.4 lb an acre.
    sqlx::query("update parcel set lot_sqft = 43560 where id = $1")
        .bind(yard.parcel)
        .execute(&world.pool)
        .await
        .unwrap();
    let (of, version) = entered(&owner).await;
    let at = format!("/label-versions/{version}");
    by_trunk(Uuid::now_v7()).send(&owner, &format!("{at}/uses")).await.went_to(&at);
    owner.sign_label(version).await.went_to(&at);
    let to = format!("/products/{of}/registrations");
    Fields::of(&[("state", "CA"), ("expires_on", "2027-12-31")]).send(&owner, &to).await;
    let (thick, thin) = (tree(&world, &yard, of, 20).await, tree(&world, &yard, of, 10).await);
    assert!(yard.due_on(&world, thick).await.is_some());
    let form = office.get(&format!("/visits/new?site={}&on=2026-12-01", yard.site)).await;
    assert!(form.page().contains("label: 1 to 2 packets per 30 in"), "{}", form.body);
    let ask = |plant: Uuid, rate: &str, step: &str| {
        Fields::of(&[
            ("site", &yard.site.to_string()),
            ("technician", &ines.id.to_string()),
            ("on", "2026-12-01"),
            ("step", step),
            ("plant", &plant.to_string()),
            (&format!("rate-{plant}"), rate),
        ])
        .id(Uuid::now_v7())
    };
    // Ten inches take from a third to two thirds of a packet.
    let refused = ask(thin, "1", "check").send(&office, "/visits").await;
    assert!(refused.body.contains("No whole number of packets lies within"), "{}", refused.body);
    let outside = ask(thick, "3", "book").send(&office, "/visits").await;
    assert_eq!(outside.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(outside.body.contains("the label states 1 to 2 per 30 in of trunk diameter"), "{}", outside.body);
    // Twenty take from two thirds to one and a third: one, and 34.02 g of ingredient.
    let worked = ask(thick, "1", "check").send(&office, "/visits").await;
    assert!(worked.body.contains("1 packet of product (34.02 g of imidacloprid)"), "{}", worked.body);
    let booking = ask(thick, "1", "book");
    let id = booking.0.iter().find(|(name, _)| name == "id").unwrap().1.clone();
    booking.send(&office, "/visits").await.went_to(&format!("/visits/{id}"));
    let visit = ines.get(&format!("/visits/{id}")).await;
    assert!(visit.page().contains("<p class=\"pour\">1 packet</p>"), "{}", visit.body);
    // The cap of 181.436948 g has 147.41752 g left, and four packets of 34.019428 g in it.
    assert!(visit.page().contains("147.41 g left, 4 packets of Rootguard Sachets"), "{}", visit.body);
    recorded(&ines, &id, thick).await;
}

/// On the spot it measures sixty inches: from two to four packets.
async fn recorded(ines: &Visitor, visit: &str, plant: Uuid) {
    let to = format!("/visits/{visit}/records");
    let base = Fields::of(&[
        (&format!("did-{plant}"), "other"),
        (&format!("measure-{plant}"), "60"),
        ("on", "2026-11-25"),
        ("confirmed", "2026-11-25"),
    ]);
    let base = base.id(Uuid::now_v7());
    let offered = base.send(ines, &to).await;
    assert!(offered.body.contains("that is 2 packets; the label"), "{}", offered.body);
    let field = |name: &str| format!("{name}-{plant}");
    let poured = base.with(&field("amount"), "2").with(&field("offered"), "60");
    let done = poured.send(ines, &to).await;
    assert_eq!(done.status, StatusCode::SEE_OTHER, "{}", done.body);
    let record = ines.get(done.location()).await;
    assert!(record.page().contains("2 packets"), "{}", record.body);
}
