//! Many hands at the last of a cap: what fits is booked, no more and no less.
use super::{company, dice::Dice, size};
use plantward::{
    actions::{
        Doer,
        visit::{Booking, Wanted, book, preview},
    },
    clock::Clock,
    private_postgres::PrivatePostgres,
};
use sqlx::{Connection, PgConnection, PgPool, postgres::PgPoolOptions};
use std::sync::Arc;
use tokio::sync::Barrier;
use uuid::Uuid;

const OWNER: Uuid = Uuid::from_u128(0x0000_0000_0000_7000_8000_0000_0000_0001);
const HEDGES: usize = 8;
/// Each hedge takes 24 mL: eight feet at 3 mL.
const EACH_ML: f64 = 24.0;
/// 0.4 lb/acre of an ingredient at 2 lb/gal: 0.2 US gal, 757.0823568 mL of product an acre of 43,560 sq ft.
const ML_PER_ACRE: f64 = 757.082_356_8;

struct Race {
    doer: Doer,
    today: chrono::NaiveDate,
    writers: usize,
}

/// What a round came to.
struct Round {
    fits: usize,
    booked: usize,
    /// Millilitres reserved beyond the cap.
    over: f64,
}

impl Race {
    /// A parcel on which `fits` of the hedges may be booked this year, and writers who all want one of them.
    async fn round(&self, fits: usize, careless: bool) -> Round {
        let (land, plants) = self.land(fits).await;
        let start = Arc::new(Barrier::new(self.writers));
        let all = (0..self.writers).map(|writer| {
            let (doer, today, start, plant) =
                (self.doer.clone(), self.today, start.clone(), plants[writer % HEDGES]);
            tokio::spawn(async move {
                let booking = Booking {
                    promised: false,
                    id: Uuid::now_v7(),
                    site: land,
                    technician: OWNER,
                    supervisor: None,
                    on: today,
                    at: None,
                    excuse: String::new(),
                    note: String::new(),
                    doses: vec![Wanted { plant, rate: None }],
                };
                start.wait().await;
                if careless {
                    look_then_write(&doer, today, &booking, &start).await
                } else {
                    try_to_book(&doer, today, &booking).await
                }
            })
        });
        for writer in futures_util::future::join_all(all).await {
            writer.unwrap();
        }
        let (booked, millilitres): (i64, f64) = sqlx::query_as(
            "select count(*), coalesce(sum(d.amount), 0)::float8 from planned_dose d join visit v on v.id = d.visit_id
             where v.site_id = $1 and d.status = 'planned'",
        )
        .bind(land)
        .fetch_one(&self.doer.pool)
        .await
        .unwrap();
        let allowed = EACH_ML * fits as f64 + EACH_ML / 2.0;
        Round { fits, booked: usize::try_from(booked).unwrap(), over: (millilitres - allowed).max(0.0) }
    }

    async fn land(&self, fits: usize) -> (Uuid, Vec<Uuid>) {
        let land = Uuid::now_v7();
        let lot = (EACH_ML * fits as f64 + EACH_ML / 2.0) / ML_PER_ACRE * 43_560.0;
        let mut conn = self.doer.pool.acquire().await.unwrap();
        company::run(
            &mut conn,
            &format!(
                "insert into parcel (id, lot_sqft, history_known_from, history_answered_by) values ('{land}', {lot},
                    '2020-01-01', '{OWNER}');
                 insert into site (id, customer_id, parcel_id, street, city, state, zip, county, created_at) values ('{land}',
                    '00000000-0000-7000-8000-000000000002', '{land}', 'Tamber Lane', 'Quillan Springs', 'CA', '93499',
                    'San Luis Obispo', now());
                 insert into plant (id, site_id, place, host_plant, kind, count, height_ft, eaten, food_in_root_zone,
                    product_id, use_code, created_at) select gen_random_uuid(), '{land}', 'bed ' || n, 'Podocarpus', 'hedge',
                    1, 8, 'no', 'no', '00000000-0000-7000-8000-000000000003', 'shrub-drench', now()
                    from generate_series(1, {HEDGES}) n"
            ),
        )
        .await;
        let plants =
            sqlx::query_scalar("select id from plant where site_id = $1").bind(land).fetch_all(&mut *conn);
        (land, plants.await.unwrap())
    }
}

async fn try_to_book(doer: &Doer, today: chrono::NaiveDate, booking: &Booking) {
    let refused = book(doer, today, booking).await.unwrap();
    assert!(refused.len() <= 1);
}

/// The planted bug: what was looked up without the ledger held is taken for what still is.
async fn look_then_write(doer: &Doer, today: chrono::NaiveDate, booking: &Booking, together: &Barrier) {
    let answer = preview(doer, today, booking).await.unwrap().remove(0).answer;
    together.wait().await;
    if answer.is_err() {
        return;
    }
    let mut tx = doer.pool.begin().await.unwrap();
    for statement in [
        "insert into visit (id, site_id, technician_id, on_date, booked_by, booked_at) values ($1, $2, $3, current_date, $3, now())",
        "insert into planned_dose (visit_id, plant_id, label_use_id, measure, count, rate, amount, unit)
         select $1, $4, '00000000-0000-7000-8000-000000000005', 8, 1, 3, 24, 'mL' where $2 <> $3",
    ] {
        let mut query = sqlx::query(statement).bind(booking.id).bind(booking.site).bind(OWNER);
        if statement.contains("$4") {
            query = query.bind(booking.doses[0].plant);
        }
        query.execute(&mut *tx).await.unwrap();
    }
    tx.commit().await.unwrap();
}

async fn race(server: &PrivatePostgres, writers: usize) -> Race {
    let mut conn = PgConnection::connect_with(&server.connect_options()).await.unwrap();
    let pool: PgPool = PgPoolOptions::new()
        .max_connections(64)
        .acquire_timeout(std::time::Duration::from_secs(300))
        .connect_with(server.connect_options())
        .await
        .unwrap();
    plantward::db::migration::run(&pool).await.unwrap();
    company::found(&mut conn).await;
    conn.close().await.unwrap();
    let doer = Doer::program(&pool, &Clock::system()).acting(OWNER);
    let today = doer.today(&mut pool.acquire().await.unwrap()).await.unwrap();
    Race { doer, today, writers }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_last_of_the_cap_is_booked_once() {
    let (rounds, writers) = (size(12, 10_000), 64);
    let server = tokio::task::spawn_blocking(PrivatePostgres::for_tests).await.unwrap().unwrap();
    let race = race(&server, writers).await;
    let mut dice = Dice(4);
    let (mut exceeded, mut under) = (0, 0);
    for _ in 0..rounds {
        let round = race.round(dice.below(HEDGES), false).await;
        exceeded += usize::from(round.over > 0.0);
        under += usize::from(round.booked < round.fits);
    }
    println!(
        "{rounds} rounds of {writers} writers at the last of a cap: exceeded {exceeded}, under-filled {under}"
    );
    // A writer who looks without holding the ledger is found out.
    let round = race.round(3, true).await;
    assert!(round.over > 0.0 && round.booked > round.fits, "{} booked, {} fit", round.booked, round.fits);
    race.doer.pool.close().await;
    tokio::task::spawn_blocking(move || server.stop()).await.unwrap();
    assert_eq!((exceeded, under), (0, 0));
}
