//! Whoever may do anything to the database changes the records or the audit: every change of what a head that was
//! kept outside covers is found, and the row named.
//!
//! The short form runs with every test; ten thousand tries are
//! `PLANTWARD_FAULTS=long cargo test --release --test faults tamper:: -- --nocapture`. The harness first shows that
//! it finds two checkers that are blind in one eye.
use crate::{
    database::database,
    field::{company, dice::Dice, size},
};
use plantward::{
    actions::{Doer, evidence},
    clock::Clock,
    db::{
        self, audit, chain,
        record::{self, Head, Item, Version},
    },
    domain::{chain::preimage, head},
};
use sha2::{Digest, Sha256};
use sqlx::{AssertSqlSafe, PgConnection, PgPool};
use std::collections::BTreeMap;
use uuid::Uuid;

const RECORDS: usize = 16;
/// Some of them are amended.
const AMENDED: usize = 4;
const AUDIT: i64 = 20;

struct Case {
    pool: PgPool,
    head: head::Head,
    places: u64,
    rows: u64,
    versions: Vec<Version>,
}

fn known(n: u128) -> Uuid {
    Uuid::from_u128(0x0000_0000_0000_7000_8000_0000_0000_0000 + n)
}

fn version(n: usize, id: Uuid, number: i32, site: Uuid, parcel: Uuid) -> Version {
    let head = Head {
        id,
        version: number,
        visit_id: None,
        site_id: site,
        parcel_id: parcel,
        origin: "own".into(),
        withdrawn: false,
        applied_on: "2026-10-05".parse().unwrap(),
        started_at: "09:30:00".parse().ok(),
        finished_at: "10:15:00".parse().ok(),
        customer_name: format!("Customer {n}"),
        customer_address: "14 Tamber Lane, Quillan Springs, CA 93499".into(),
        site_address: format!("{n} Tamber Lane, Quillan Springs, CA 93499"),
        site_state: "CA".into(),
        site_county: "San Luis Obispo".into(),
        applicator_id: Some(known(1)),
        applicator_name: "Maren Quist".into(),
        applicator_certification: "QA-00001".into(),
        supervisor_id: None,
        supervisor_name: String::new(),
        supervisor_certification: String::new(),
        wind_direction: "NW".into(),
        wind_mph: "4.5".parse().ok(),
        temperature_f: "61".parse().ok(),
        area_treated_sqft: None,
        note: "by the gate".into(),
        recorded_by: known(1),
        recorded_at: "2026-10-05T18:00:00Z".parse().unwrap(),
        amend_reason: if number == 1 { String::new() } else { "The wind was left out.".into() },
        conditions: None,
    };
    let item = |position: i32| Item {
        position,
        plant_id: None,
        plant_words: "front hedge".into(),
        host_plant: "podocarpus".into(),
        target_pest: "aphids".into(),
        product_id: known(3),
        label_version_id: known(4),
        label_use_id: Some(known(5)),
        product_name: "Rootward 2F".into(),
        registration_number: "99999-12".into(),
        method: "basal-drench".into(),
        measure: "6".parse().ok(),
        measure_basis: "height-ft".into(),
        count: 3,
        rate: "3".parse().ok(),
        amount: "54".parse().unwrap(),
        unit: "mL".into(),
        water: "1.5".parse().ok(),
        water_unit: Some("gal".into()),
        lot: String::new(),
    };
    Version { head, items: vec![item(1), item(2)] }
}

async fn run(conn: &mut PgConnection, statements: &str) {
    sqlx::raw_sql(AssertSqlSafe(statements.to_owned())).execute(conn).await.unwrap();
}

/// As somebody for whom no trigger and no key holds.
async fn force(pool: &PgPool, statements: &str) {
    let mut tx = pool.begin().await.unwrap();
    run(&mut tx, "set local session_replication_role = replica").await;
    run(&mut tx, statements).await;
    tx.commit().await.unwrap();
}

impl Case {
    async fn grown() -> Self {
        let pool = database().await;
        let mut conn = pool.acquire().await.unwrap();
        company::found(&mut conn).await;
        let (site, parcel) = (Uuid::now_v7(), Uuid::now_v7());
        run(
            &mut conn,
            &format!(
                "insert into parcel (id) values ('{parcel}');
                 insert into site (id, customer_id, parcel_id, street, city, state, zip, county, created_at) values
                    ('{site}', '{}', '{parcel}', 'Tamber Lane', 'Quillan Springs', 'CA', '93499', 'San Luis Obispo', now())",
                known(2)
            ),
        )
        .await;
        let ids: Vec<Uuid> = (0..RECORDS).map(|_| Uuid::now_v7()).collect();
        let mut versions: Vec<Version> =
            ids.iter().enumerate().map(|(n, id)| version(n, *id, 1, site, parcel)).collect();
        versions.extend((0..AMENDED).map(|n| version(n * 3, ids[n * 3], 2, site, parcel)));
        for version in &versions {
            record::insert(&mut conn, version).await.unwrap();
        }
        for n in 0..AUDIT {
            let at = "2026-10-05T18:00:00Z".parse().unwrap();
            let detail = serde_json::json!({ "n": n, "reason": "as told" });
            let deed = audit::Deed {
                at,
                person: Some(known(1)),
                deed: "noted",
                noun: "thing",
                noun_id: Some(known(7)),
                detail,
            };
            audit::write(&mut conn, deed).await.unwrap();
        }
        let doer = Doer::program(&pool, &Clock::fixed("2026-11-25T18:00:00Z".parse().unwrap()));
        let id = evidence::take_head(&doer).await.unwrap();
        evidence::link_audit(&doer).await.unwrap();
        let head = evidence::head(&mut conn, id).await.unwrap();
        for table in TABLES {
            run(&mut conn, &format!("create table kept_{table} as table {table}")).await;
        }
        drop(conn);
        let (places, rows) = (head.records.size, head.audit.size);
        Self { pool, head, places, rows, versions }
    }

    /// Everything as it was.
    async fn restore(&self) {
        let mut all = "delete from audit_unlinked;".to_owned();
        for table in TABLES {
            let over = if table == "audit" { " overriding system value" } else { "" };
            all.push_str(&format!(
                "delete from {table}; insert into {table}{over} select * from kept_{table};"
            ));
        }
        force(&self.pool, &all).await;
    }

    /// The versions from this place on, the first of them changed, linked as the program would.
    async fn rewrite(&self, from: u64, change: impl FnOnce(&mut Vec<Version>)) {
        let at = usize::try_from(from - 1).unwrap();
        let mut tail = self.versions[at..].to_vec();
        change(&mut tail);
        force(
            &self.pool,
            &format!(
                "delete from application_item i using application_record r where i.record_id = r.id and
                    i.version = r.version and r.seq >= {from}; delete from application_record where seq >= {from}"
            ),
        )
        .await;
        let mut conn = self.pool.acquire().await.unwrap();
        for version in &tail {
            record::insert(&mut conn, version).await.unwrap();
        }
    }

    /// One change by dice: what was done, and what must be named.
    async fn tamper(&self, dice: &mut Dice) -> Told {
        let at = 1 + dice.below(usize::try_from(self.places).unwrap()) as u64;
        let row = 1 + dice.below(usize::try_from(self.rows).unwrap()) as u64;
        match dice.below(10) {
            0 | 1 => self.column(dice, at).await,
            2 => self.item(dice, at).await,
            3 => self.order(dice, at).await,
            4 | 5 => self.anew(dice, at).await,
            6 => self.cut(at).await,
            7 | 8 => self.audit(dice, row).await,
            _ => self.audit_anew(dice, row).await,
        }
    }

    async fn column(&self, dice: &mut Dice, at: u64) -> Told {
        const TEXTS: [&str; 9] = [
            "body",
            "customer_name",
            "site_address",
            "site_county",
            "applicator_name",
            "applicator_certification",
            "note",
            "wind_direction",
            "customer_address",
        ];
        const OTHERS: [&str; 12] = [
            "applied_on = applied_on + 1",
            "applied_on = applied_on - 365",
            "recorded_at = recorded_at + interval '1 microsecond'",
            "started_at = started_at + interval '1 second'",
            "wind_mph = wind_mph + 0.01",
            "temperature_f = null",
            "withdrawn = not withdrawn",
            "recorded_by = gen_random_uuid()",
            "visit_id = gen_random_uuid()",
            "origin = 'other-company'",
            "supervisor_name = 'x'",
            "conditions = '{}'::jsonb",
        ];
        let set = match dice.below(4) {
            0 => {
                let (column, bit) = (["hash", "previous_hash"][dice.below(2)], dice.below(256));
                format!("{column} = set_bit({column}, {bit}, 1 - get_bit({column}, {bit}))")
            }
            1 => OTHERS[dice.below(OTHERS.len())].to_owned(),
            _ => {
                // One bit of one letter; all of them are ASCII.
                let (column, letter, bit) =
                    (TEXTS[dice.below(TEXTS.len())], dice.below(10_000), [1, 2, 4][dice.below(3)]);
                let place = format!("(1 + {letter} % length({column}))");
                format!(
                    "{column} = overlay({column} placing chr(ascii(substr({column}, {place}, 1)) # {bit}) from {place} for 1)"
                )
            }
        };
        force(&self.pool, &format!("update application_record set {set} where seq = {at}")).await;
        Told { deed: format!("{set} at {at}"), named: vec![format!("place {at}, ")], kind: "column" }
    }

    async fn item(&self, dice: &mut Dice, at: u64) -> Told {
        const CHANGES: [&str; 8] = [
            "update application_item i set amount = amount + 0.0001 from r where i.position = 2 and",
            "update application_item i set amount = 5.4 from r where i.position = 1 and",
            "update application_item i set unit = 'floz' from r where i.position = 1 and",
            "update application_item i set count = count + 1 from r where i.position = 1 and",
            "update application_item i set product_name = 'Leafward 5' from r where i.position = 2 and",
            "update application_item i set lot = '7' from r where i.position = 2 and",
            "delete from application_item i using r where i.position = 2 and",
            "update application_item i set position = 3 - position + 10 from r where",
        ];
        let change = CHANGES[dice.below(CHANGES.len())];
        force(
            &self.pool,
            &format!(
                "with r as (select id, version from application_record where seq = {at})
                 {change} i.record_id = r.id and i.version = r.version"
            ),
        )
        .await;
        Told { deed: format!("{change} at {at}"), named: vec![format!("place {at}, ")], kind: "item" }
    }

    async fn order(&self, dice: &mut Dice, at: u64) -> Told {
        let before = format!("the place before it is {}", at - 1);
        if dice.below(2) == 0 {
            let gone = format!("places {at} to ");
            force(
                &self.pool,
                &format!(
                    "delete from application_item i using application_record r where i.record_id = r.id and
                        i.version = r.version and r.seq = {at}; delete from application_record where seq = {at}"
                ),
            )
            .await;
            return Told { deed: format!("dropped {at}"), named: vec![before, gone], kind: "drop" };
        }
        let other = 1 + (at + dice.below(usize::try_from(self.places).unwrap() - 1) as u64) % self.places;
        let links = ["", ", previous_hash = o.previous_hash, hash = o.hash"][dice.below(2)];
        force(
            &self.pool,
            &format!(
                "create temporary table o on commit drop as select * from application_record where seq in ({at}, {other});
                 update application_record set seq = -seq where seq in ({at}, {other});
                 update application_record r set seq = o.seq{links} from o where r.seq < 0 and o.seq <> -r.seq"
            ),
        )
        .await;
        let first = at.min(other);
        Told {
            deed: format!("swapped {at} and {other}{links}"),
            named: vec![format!("place {first}, ")],
            kind: "swap",
        }
    }

    /// The whole chain from there as if it had always been so: only a head finds it.
    async fn anew(&self, dice: &mut Dice, at: u64) -> Told {
        let way = dice.below(3);
        self.rewrite(at, |tail| match way {
            0 => tail[0].items[0].amount = "5.4".parse().unwrap(),
            1 => tail[0].head.applied_on = "2026-10-04".parse().unwrap(),
            _ => {
                let mut put_in = tail[0].clone();
                (put_in.head.id, put_in.head.version) = (Uuid::now_v7(), 1);
                put_in.head.amend_reason = String::new();
                tail.insert(0, put_in);
            }
        })
        .await;
        Told {
            deed: format!("written anew from {at}, way {way}"),
            named: vec![format!("place {at} is not")],
            kind: "anew",
        }
    }

    async fn cut(&self, at: u64) -> Told {
        self.rewrite(at, Vec::clear).await;
        Told {
            deed: format!("cut off from {at}"),
            named: vec![format!("places {at} to {} are gone", self.places)],
            kind: "cut",
        }
    }

    async fn audit(&self, dice: &mut Dice, at: u64) -> Told {
        const CHANGES: [&str; 9] = [
            "update audit a set deed = 'noteD' from l where",
            "update audit a set at = at + interval '1 microsecond' from l where",
            "update audit a set person_id = null from l where",
            "update audit a set noun_id = gen_random_uuid() from l where",
            "update audit a set detail = detail || '{\"n\": -1}' from l where",
            "update audit a set noun = noun || '.' from l where",
            "delete from audit a using l where",
            "update audit_link k set hash = set_bit(k.hash, 7, 1 - get_bit(k.hash, 7)) from l, audit a where k.seq = l.seq and",
            "update audit_link k set previous_hash = set_bit(k.previous_hash, 99, 1 - get_bit(k.previous_hash, 99)) from l, audit a where k.seq = l.seq and",
        ];
        let change = CHANGES[dice.below(CHANGES.len())];
        let text = format!(
            "with l as (select seq, audit_id from audit_link where seq = {at}) {change} a.id = l.audit_id"
        );
        force(&self.pool, &text).await;
        Told {
            deed: format!("{change} at {at}"),
            named: vec![format!("place {at}, audit row ")],
            kind: "audit",
        }
    }

    /// The audit's links from there made anew, as the program makes them.
    async fn audit_anew(&self, dice: &mut Dice, at: u64) -> Told {
        let drop = dice.below(2) == 0;
        let change = if drop {
            format!("delete from audit where id = (select audit_id from audit_link where seq = {at});")
        } else {
            format!(
                "update audit set deed = 'undone' where id = (select audit_id from audit_link where seq = {at});"
            )
        };
        force(
            &self.pool,
            &format!(
                "{change} delete from audit_link where seq >= {at}; delete from audit_unlinked;
                 insert into audit_unlinked select id from audit a
                    where not exists (select 1 from audit_link l where l.audit_id = a.id)"
            ),
        )
        .await;
        let clock = Clock::fixed("2026-11-25T18:00:00Z".parse().unwrap());
        evidence::link_audit(&Doer::program(&self.pool, &clock)).await.unwrap();
        // The row about the head itself came after it, so the list is as long as before.
        Told {
            deed: format!("audit anew from {at}, drop {drop}"),
            named: vec![format!("place {at} is not")],
            kind: "audit anew",
        }
    }
}

const TABLES: [&str; 4] = ["application_record", "application_item", "audit", "audit_link"];

/// What was done, and what a checker must name: one of these.
struct Told {
    deed: String,
    named: Vec<String>,
    kind: &'static str,
}

/// What is checked: the program's own way, or one that is blind to something.
#[derive(Clone, Copy)]
enum Checker {
    Ours,
    /// Never saw a head.
    WithoutHead,
    /// Believes the texts and does not compare them with what is shown.
    TextsOnly,
}

async fn check(case: &Case, checker: Checker) -> Vec<String> {
    let kept = |part| if matches!(checker, Checker::WithoutHead) { None } else { Some(part) };
    let records = if matches!(checker, Checker::TextsOnly) {
        texts_only(case).await
    } else {
        chain::verify(&case.pool, kept(&case.head.records)).await.unwrap().faults
    };
    let audit = db::audit::verify(&case.pool, kept(&case.head.audit)).await.unwrap().faults;
    [records, audit].concat()
}

async fn texts_only(case: &Case) -> Vec<String> {
    let rows: Vec<(i64, Vec<u8>, Vec<u8>, String)> =
        sqlx::query_as("select seq, previous_hash, hash, body from application_record order by seq")
            .fetch_all(&case.pool)
            .await
            .unwrap();
    let (mut walk, mut against) = (head::Walk::default(), head::Against::of(case.head.records.clone()));
    for (place, (seq, before, hash, body)) in (1..).zip(rows) {
        if seq != place
            || before != walk.last()
            || hash != Sha256::digest(preimage(&before, seq, &body)).as_slice()
        {
            return vec![format!("place {seq}, the place before it is {}", place - 1)];
        }
        walk.push(hash.try_into().unwrap());
        against.passed(&walk);
    }
    against.end(walk.size()).into_iter().collect()
}

/// Kinds of change that the checker missed or named wrongly, with the last example of each.
async fn missed(
    case: &Case,
    checker: Checker,
    tries: usize,
    dice: &mut Dice,
) -> BTreeMap<&'static str, String> {
    let mut missed = BTreeMap::new();
    for _ in 0..tries {
        let told = case.tamper(dice).await;
        let wrong = check(case, checker).await;
        if !wrong.iter().any(|fault| told.named.iter().any(|name| fault.contains(name))) {
            missed.insert(told.kind, format!("{}: {wrong:?}", told.deed));
        }
        case.restore().await;
    }
    missed
}

#[tokio::test]
async fn every_change_up_to_the_last_head_is_found_and_the_row_named() {
    let case = Case::grown().await;
    assert_eq!(check(&case, Checker::Ours).await, Vec::<String>::new());
    let mut dice = Dice(9162);
    let blind = missed(&case, Checker::WithoutHead, 120, &mut dice).await;
    for kind in ["anew", "cut", "audit anew"] {
        assert!(blind.contains_key(kind), "the harness finds a checker without a head: {blind:?}");
    }
    assert!(!blind.contains_key("column") && !blind.contains_key("item"), "{blind:?}");
    let trusting = missed(&case, Checker::TextsOnly, 120, &mut dice).await;
    assert!(trusting.contains_key("column") && trusting.contains_key("item"), "{trusting:?}");
    let tries = size(150, 10_000);
    let ours = missed(&case, Checker::Ours, tries, &mut dice).await;
    assert_eq!(ours, BTreeMap::new(), "of {tries} tries");
    assert_eq!(check(&case, Checker::Ours).await, Vec::<String>::new(), "all was put back");
    println!("{tries} tries, every one found and named");
}

/// What comes after the head is not the head's business, and the head stays true.
#[tokio::test]
async fn a_list_that_only_grew_is_as_the_head_says() {
    let case = Case::grown().await;
    let mut conn = case.pool.acquire().await.unwrap();
    for n in 0..5 {
        let mut more = case.versions[n].clone();
        (more.head.id, more.head.version, more.head.amend_reason) = (Uuid::now_v7(), 1, String::new());
        record::insert(&mut conn, &more).await.unwrap();
    }
    drop(conn);
    assert_eq!(check(&case, Checker::Ours).await, Vec::<String>::new());
}
