//! The caps on the phone: what the page adds up over products of one ingredient, over the stop and over what waits
//! there, beside the server's own count of the same facts; and the warning as a technician sees it.
use crate::support::{Browser, Gate, House, Screen};
use num_traits::Zero;
use plantward::domain::{
    book::Book,
    facts::{Application, Facts, SiteFacts},
    label::{Cap, CapOf, CapYear, Ingredient, Product, ProductForm, Strength},
    permission::Applicator,
    quantity::{Amount, AmountUnit, Area, AreaUnit, Exact, MassUnit, VolumeUnit, from_decimal},
};
use rust_decimal::Decimal;
use serde_json::{Value, json};
use std::collections::BTreeMap;

struct Dice(u64);

impl Dice {
    fn below(&mut self, many: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % many
    }

    fn decimal(&mut self, below: u64, places: u32) -> Decimal {
        Decimal::new(i64::try_from(self.below(below) + 1).unwrap(), places)
    }

    fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[usize::try_from(self.below(from.len() as u64)).unwrap()]
    }
}

const TODAY: &str = "2026-11-25";
/// What each product is poured or weighed in.
const UNITS: [&[&str]; 3] = [&["mL", "floz"], &["g", "oz"], &["mL", "qt"]];

/// A liquid and a powder of one ingredient, and a liquid that holds it too and caps itself.
fn products(dice: &mut Dice) -> Vec<Product> {
    let held = |name: &str, strength| Ingredient { name: name.to_owned(), group: None, strength };
    let per_gallon = |value: Decimal| Strength::PerVolume {
        value: from_decimal(value),
        mass: MassUnit::Pound,
        volume: VolumeUnit::Gallon,
    };
    let cap = |of, amount: Decimal, unit, year: &str| Cap {
        of,
        amount: from_decimal(amount),
        unit,
        area: AreaUnit::Acre,
        year: CapYear::from_code(year).unwrap(),
    };
    let product = |id: &str, form, ingredients, caps| Product {
        id: id.to_owned(),
        name: None,
        form,
        density: None,
        pieces: None,
        registrations: None,
        ingredients,
        caps,
        uses: vec![],
        signed: true,
    };
    let x = || CapOf::Ingredient("x".to_owned());
    let pound = AmountUnit::Mass(MassUnit::Pound);
    let gallon = AmountUnit::Volume(VolumeUnit::Gallon);
    let years = ["calendar", "rolling-12-months", "unstated"];
    let (first, second, own) = (dice.pick(&years), dice.pick(&years), dice.pick(&years));
    vec![
        product(
            "liquid",
            ProductForm::Liquid,
            vec![held("x", per_gallon(dice.decimal(40, 1)))],
            vec![cap(x(), dice.decimal(60, 2), pound, first)],
        ),
        product(
            "powder",
            ProductForm::Dry,
            vec![
                held("x", Strength::Percent(from_decimal(dice.decimal(75, 0)))),
                held("y", Strength::Percent(from_decimal(dice.decimal(20, 0)))),
            ],
            vec![cap(x(), dice.decimal(60, 2), pound, second)],
        ),
        product(
            "both",
            ProductForm::Liquid,
            vec![held("x", per_gallon(dice.decimal(20, 1))), held("z", per_gallon(dice.decimal(20, 1)))],
            vec![cap(CapOf::Product, dice.decimal(30, 2), gallon, own)],
        ),
    ]
}

fn application(plant: Option<String>, product: &str, on: &str, amount: Decimal, unit: &str) -> Application {
    let unit = AmountUnit::from_code(unit).unwrap();
    let amount = Amount::new(from_decimal(amount), unit);
    Application { plant, product: product.to_owned(), use_id: None, on: on.parse().unwrap(), amount }
}

/// A dose that is booked, and what became of it.
struct Booked {
    visit: usize,
    plant: String,
    product: usize,
    unit: &'static str,
    amount: Decimal,
    /// Nothing: not answered yet.
    done: Option<Done>,
}

#[derive(Clone, Copy)]
enum Done {
    Planned,
    Poured(Decimal),
    Skipped,
}

struct Case {
    facts: Facts,
    doses: Vec<Booked>,
}

fn case(dice: &mut Dice) -> Case {
    let products = products(dice);
    let mut history = vec![];
    for _ in 0..dice.below(4) {
        let n = usize::try_from(dice.below(3)).unwrap();
        let on = dice.pick(&["2025-11-20", "2025-12-31", "2026-01-01", "2026-06-30"]);
        history.push(application(None, &products[n].id, on, dice.decimal(900, 1), dice.pick(UNITS[n])));
    }
    let mut doses = vec![];
    for number in 0..2 + dice.below(4) {
        let product = usize::try_from(dice.below(3)).unwrap();
        let done = match dice.below(4) {
            0 => None,
            1 => Some(Done::Planned),
            2 => Some(Done::Poured(dice.decimal(9000, 2))),
            _ => Some(Done::Skipped),
        };
        doses.push(Booked {
            visit: usize::try_from(dice.below(2)).unwrap(),
            plant: format!("a{number}"),
            product,
            unit: dice.pick(UNITS[product]),
            amount: dice.decimal(6000, 2),
            done,
        });
    }
    let area =
        (dice.below(8) > 0).then(|| Area::new(from_decimal(dice.decimal(90000, 0)), AreaUnit::SquareFoot));
    let site = SiteFacts { cap_area: area, ..SiteFacts::default() };
    let facts = Facts {
        today: TODAY.parse().unwrap(),
        site,
        applicator: Applicator::default(),
        products,
        plants: vec![],
        history,
        reservations: vec![],
    };
    Case { facts, doses }
}

impl Case {
    /// The visit as the phone has it: the other visit's doses are booked, its own are left out of the room.
    fn visit(&self, number: usize) -> Value {
        let mut facts = self.facts.clone();
        let others = self.doses.iter().filter(|d| d.visit != number);
        facts.reservations = others.map(|d| self.booked(d, d.amount)).collect();
        let land = Book::new(&facts).unwrap();
        let text = |value: &Exact| format!("{}/{}", value.numer(), value.denom());
        let caps: Vec<Value> =
            land.rooms().iter().map(|r| json!({ "key": r.key, "room": r.free.as_ref().map(text) })).collect();
        let dose = |d: &Booked| {
            let unit = AmountUnit::from_code(d.unit).unwrap();
            let draws = land.draws(&facts.products[d.product], unit);
            let draws: Vec<Value> =
                draws.iter().map(|(cap, per)| json!({ "cap": cap, "per": text(per) })).collect();
            json!({ "plant": d.plant, "label_use": "u", "unit": d.unit, "amount": d.amount, "status": "planned",
                "measure_basis": "plant", "draws": draws })
        };
        let doses: Vec<Value> = self.doses.iter().filter(|d| d.visit == number).map(dose).collect();
        json!({ "id": format!("v{number}"), "parcel": "land", "caps": caps, "doses": doses })
    }

    fn draft(&self, number: usize) -> Value {
        let mut plants = serde_json::Map::new();
        for d in self.doses.iter().filter(|d| d.visit == number) {
            let said = match d.done {
                None => json!({}),
                Some(Done::Planned) => json!({ "did": "planned" }),
                Some(Done::Poured(amount)) => json!({ "did": "measured", "amount": amount.to_string() }),
                Some(Done::Skipped) => json!({ "did": "skipped" }),
            };
            plants.insert(format!("{}.u", d.plant), said);
        }
        json!({ "visit": format!("v{number}"), "plants": plants })
    }

    fn booked(&self, d: &Booked, amount: Decimal) -> Application {
        application(Some(d.plant.clone()), &self.facts.products[d.product].id, TODAY, amount, d.unit)
    }

    /// What the server counts once all of it is recorded: by cap the least that is left, with what is not answered
    /// yet still booked.
    fn counted(&self) -> BTreeMap<String, Option<Exact>> {
        let mut facts = self.facts.clone();
        for d in &self.doses {
            match d.done {
                None => facts.reservations.push(self.booked(d, d.amount)),
                Some(Done::Planned) => facts.history.push(self.booked(d, d.amount)),
                Some(Done::Poured(amount)) => facts.history.push(self.booked(d, amount)),
                Some(Done::Skipped) => {}
            }
        }
        let land = Book::new(&facts).unwrap();
        let least = |one: &plantward::domain::cap::CapStanding| {
            let all = std::iter::once(one).chain(&one.others);
            let left: Option<Vec<Exact>> = all.map(|c| Some(c.remaining.as_ref()? - &c.reserved)).collect();
            (one.key(), left.map(|all| all.into_iter().min().unwrap()))
        };
        land.standings().iter().map(least).collect()
    }
}

/// For each case: what is left by cap, and for each dose of the open visit whether it is over.
const COUNTED: &str = "const [cases, done] = arguments; const at = document.querySelector('script[type=module]').src.replace('page.js', ''); \
    Promise.all([import(at + 'caps.js'), import(at + 'exact.js')]).then(([caps, exact]) => done(cases.map(([open, draft, finished, other]) => { \
    const sums = new Map(); for (const { cap, amount } of caps.draws(finished, other)) sums.set(cap, exact.plus(sums.get(cap) ?? exact.fraction(0n), exact.ratio(amount))); \
    const left = open.caps.map((cap) => { const free = caps.rest(open, draft, cap, sums); return [cap.key, free && `${free.n}/${free.d}`]; }); \
    const over = open.doses.map((dose) => { const free = caps.left(open, draft, dose, sums); \
    return free !== null && exact.compare(caps.taken(dose, draft.plants[`${dose.plant}.u`]), free) > 0; }); return [left, over]; })))";

#[tokio::test(flavor = "multi_thread")]
async fn the_page_counts_as_the_server_does() {
    let house = House::now().await;
    let phone = Browser::start(&house, Screen::Phone, "field-caps-counted").await;
    phone.open_field().await;
    let mut dice = Dice(0x1eed_9e37_79b9_7f4a);
    let cases: Vec<Case> = (0..2000).map(|_| case(&mut dice)).collect();
    let mut all = vec![];
    for one in &cases {
        // The other stop on the land is finished: what was not answered there was poured as planned.
        all.push(json!([one.visit(0), one.draft(0), one.visit(1), one.draft(1)]));
    }
    let said = phone.later(COUNTED, vec![json!(all)]).await;
    let (mut over, mut within, mut unknown) = (0, 0, 0);
    for (one, said) in cases.iter().zip(said.as_array().unwrap()) {
        let counted = one.counted();
        for pair in said[0].as_array().unwrap() {
            let key = pair[0].as_str().unwrap();
            let wanted = counted[key].as_ref().map(|v| format!("{}/{}", v.numer(), v.denom()));
            assert_eq!(pair[1].as_str().map(str::to_owned), wanted, "{key}: {}", one.visit(0));
        }
        let doses = one.doses.iter().filter(|d| d.visit == 0);
        for (d, said) in doses.zip(said[1].as_array().unwrap()) {
            let product = &one.facts.products[d.product];
            let counts = |key: &str| key == "x" || key == format!("product/{}", product.id);
            let broken = counted
                .iter()
                .any(|(key, left)| counts(key) && left.as_ref().is_some_and(|left| *left < Exact::zero()));
            assert_eq!(said, &json!(broken), "{}", one.visit(0));
            match (broken, one.facts.site.cap_area.is_some()) {
                (_, false) => unknown += 1,
                (true, true) => over += 1,
                (false, true) => within += 1,
            }
        }
    }
    println!("{over} doses over a cap, {within} within, {unknown} that cannot be checked");
    assert!(over > 300 && within > 300 && unknown > 100);
    phone.close().await;
}

impl House {
    /// The technician's first stop gets a second product of the same ingredient for one of its plants, and a second
    /// visit to the same land gets that product too: (first visit, second visit, its doses).
    async fn shares_an_ingredient(&self) -> (String, String, i64) {
        let (visit, street): (uuid::Uuid, String) = sqlx::query_as(
            "select v.id, s.street from visit v join site s on s.id = v.site_id join parcel l on l.id = s.parcel_id
             where v.technician_id = $1::uuid and v.status = 'booked' and v.on_date between $2 and $2 + 7
                and coalesce(l.lot_sqft, l.landscaped_sqft, l.treated_bed_sqft) is not null
                and exists (select 1 from planned_dose p join label_use u on u.id = p.label_use_id
                    join label_ingredient i using (label_version_id) where p.visit_id = v.id and i.name = 'imidacloprid')
             order by v.on_date, v.id limit 1",
        )
        .bind(self.id_of("technician").await)
        .bind(self.today)
        .fetch_one(&self.pool)
        .await
        .unwrap();
        println!("at {street}");
        let powder = "select u.id from label_use u join label_version v on v.id = u.label_version_id
            join label_ingredient i on i.label_version_id = v.id where i.name = 'imidacloprid' and u.rate_unit = 'g'
                and v.signed_at is not null order by v.signed_at desc limit 1";
        let dose = format!(
            "insert into planned_dose (visit_id, plant_id, label_use_id, measure, count, rate, amount, unit)
             select $1, plant_id, ({powder}), measure, count, 0.5, 2, 'g' from planned_dose where visit_id = $2 limit 1"
        );
        let second = uuid::Uuid::now_v7();
        sqlx::query(
            "insert into visit (id, site_id, technician_id, on_date, booked_by, booked_at)
             select $1, site_id, technician_id, on_date, booked_by, booked_at from visit where id = $2",
        )
        .bind(second)
        .bind(visit)
        .execute(&self.pool)
        .await
        .unwrap();
        for to in [visit, second] {
            let query = sqlx::query(sqlx::AssertSqlSafe(dose.clone()));
            assert_eq!(query.bind(to).bind(visit).execute(&self.pool).await.unwrap().rows_affected(), 1);
        }
        let doses = sqlx::query_scalar("select count(*) from planned_dose where visit_id = $1");
        (visit.to_string(), second.to_string(), doses.bind(visit).fetch_one(&self.pool).await.unwrap())
    }
}

impl Browser {
    /// What each plant's card says.
    async fn cards(&self) -> Vec<String> {
        let script = "return [...document.querySelectorAll('.card[id^=plant-]')].map(e => e.innerText)";
        serde_json::from_value(self.script(script, vec![]).await).unwrap()
    }

    async fn goes_to(&self, visit: &str) {
        self.script(&format!("location.hash = '#stop-{visit}'"), vec![]).await;
        // Another stop may stand there still.
        for _ in 0..200 {
            let shown = self.script("return document.body.dataset.ready", vec![]).await;
            if shown == json!(format!("stop-{visit}")) {
                return;
            }
            tokio::time::sleep(std::time::Duration::from_millis(50)).await;
        }
        panic!("the stop never came: {}", self.text().await);
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_powder_takes_from_what_is_left_for_a_drench() {
    let house = House::now().await;
    let gate = Gate::before(house.address).await;
    let (first, second, doses) = house.shares_an_ingredient().await;
    let mut phone = Browser::at(gate.address, Screen::Phone, "field-caps", None).await;
    phone.sign_in(house.person("technician")).await;
    phone.open_field().await;
    phone.waits_for("Everything is accepted.").await;
    phone.waits_for("Last contact").await;
    phone.goes_to(&second).await;
    assert!(!phone.text().await.contains("More than the cap allows"));

    gate.shut();
    phone.goes_to(&first).await;
    let over = |cards: &[String]| cards.iter().filter(|c| c.contains("More than the cap allows")).count();
    let cards = phone.cards().await;
    assert_eq!((cards.len(), over(&cards)), (usize::try_from(doses).unwrap(), 0), "{cards:#?}");
    let powder = cards.iter().position(|c| c.contains("Tarnwell 75 Packets")).expect("the powder");
    for at in (0..cards.len()).rev().filter(|at| *at != powder) {
        phone.tap("Done as planned", at).await;
    }
    phone.tap("Done, measured or poured otherwise", powder).await;
    // Less than the band, more than the band: it asks to read the label again, and only the larger one breaks the cap.
    phone.types(&format!("amount-{powder}"), "0.01").await;
    let cards = phone.cards().await;
    assert!(cards[powder].contains("Outside the label's band") && over(&cards) == 0, "{cards:#?}");
    phone.types(&format!("amount-{powder}"), "5000").await;
    let cards = phone.cards().await;
    assert!(cards[powder].contains("Outside the label's band"), "{cards:#?}");
    // Both Tarnwells hold it, and nothing else at the stop does.
    let of_it = cards.iter().filter(|c| c.contains("of Tarnwell")).count();
    assert_eq!(over(&cards), of_it, "every plant that gets the ingredient: {cards:#?}");
    assert!(of_it >= 2);
    phone.is_accessible("the powder takes it all").await;
    phone.script("document.getElementById('finish').click()", vec![]).await;
    tokio::time::sleep(std::time::Duration::from_millis(300)).await;
    if phone.text().await.contains("A rule of the state wants this written down") {
        phone.tap("Finish without it", 0).await;
    }
    phone.waits_for("1 completion is on this phone").await;

    // It waits here, and the next stop on the land knows of it.
    phone.goes_to(&second).await;
    phone.waits_for("More than the cap allows: 0 g left").await;
    gate.open();
    phone.script("dispatchEvent(new Event('online'))", vec![]).await;
    phone.waits_for("Everything is accepted.").await;
    phone.open_field().await;
    phone.waits_for("Last contact").await;
    phone.goes_to(&second).await;
    phone.waits_for("More than the cap allows: 0 g left").await;
    phone.close().await;
}
