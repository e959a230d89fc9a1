//! A hundred thousand of each: lists and searches read them through an index.
use crate::{
    places::{plan_of_last, reads_of},
    support::World,
};
use plantward::db::{customer, plant, seek::Seek, site};
use sqlx::PgConnection;
use uuid::Uuid;

/// 100,000 customers with a site each and a plant each; one of them is searched for.
async fn fill(conn: &mut PgConnection) {
    let sorted: Vec<(String, String)> = sqlx::query_as(
        "select indexname::text, indexdef from pg_indexes where indexname like '%_search'
            and tablename in ('customer', 'site', 'plant') and schemaname = 'public'",
    )
    .fetch_all(&mut *conn)
    .await
    .unwrap();
    assert_eq!(sorted.len(), 3, "one search index a table");
    // The search indexes are built over the full tables, which takes a tenth of the time.
    let drops = sorted.iter().map(|(name, _)| format!("drop index {name}"));
    let builds = sorted.iter().map(|(_, definition)| definition.clone());
    let street =
        "(n % 900 + 1) || ' ' || (array['Tamber', 'Larkspur', 'Quarry', 'Mill'])[n % 4 + 1] || ' Lane'";
    let fills = [
        "insert into customer (id, name, street, city, created_at)
         select ('10000000-0000-0000-0000-' || lpad(n::text, 12, '0'))::uuid,
                'Person ' || md5(n::text), n || case n when 77777 then ' Kiln Row' else ' Elder Row' end,
                'Quillan Springs', now()
         from generate_series(1, 100000) n"
            .to_owned(),
        "insert into parcel (id) select id from customer".to_owned(),
        format!(
            "insert into site (id, customer_id, parcel_id, street, city, state, zip, county, created_at)
             select c, c, c, {street} || case n when 77777 then ' by the kiln' else '' end,
                    'Quillan Springs', 'CA', '93499', 'San Luis Obispo', now()
             from (select n, ('10000000-0000-0000-0000-' || lpad(n::text, 12, '0'))::uuid as c
                   from generate_series(1, 100000) n) numbered"
        ),
        "insert into plant (id, site_id, place, host_plant, kind, count, created_at)
         select id, id, case when street like '%kiln%' then 'kiln wall' else 'front' end,
                'host ' || substr(md5(id::text), 1, 2), 'shrub', 1, now() from site"
            .to_owned(),
    ];
    let unchecked = ["set session_replication_role = replica".to_owned()];
    let analyze = ["analyze customer, site, plant, parcel".to_owned()];
    for statement in unchecked.into_iter().chain(drops).chain(fills).chain(builds).chain(analyze) {
        sqlx::query(sqlx::AssertSqlSafe(statement)).execute(&mut *conn).await.unwrap();
    }
}

fn indexed(kinds: &[String]) -> bool {
    !kinds.is_empty() && kinds.iter().all(|kind| kind != "Seq Scan")
}

macro_rules! holds {
    ($conn:expr, $table:literal, $list:path, $word:literal) => {
        let conn: &mut PgConnection = $conn;
        let first = $list(conn, Seek::First, "", false).await.unwrap();
        assert_eq!((first.rows.len(), first.later), (50, true));
        let plan = plan_of_last(conn, &[]).await;
        assert!(indexed(&reads_of(&plan, $table)), "first page: {plan:#}");
        let middle = "10000000-0000-0000-0000-000000050000";
        let id: Uuid = middle.parse().unwrap();
        for seek in [Seek::After(id), Seek::Before(id)] {
            let page = $list(conn, seek, "", false).await.unwrap();
            assert_eq!((page.rows.len(), page.earlier, page.later), (50, true, true));
            let plan = plan_of_last(conn, &[middle, middle]).await;
            assert!(indexed(&reads_of(&plan, $table)), "{seek:?}: {plan:#}");
            let below = &plan[0]["Plan"]["Plans"];
            let sorts = below.as_array().unwrap().iter().any(|node| node["Node Type"] == "Sort");
            assert!(!sorts, "the index gives the order: {plan:#}");
        }
        let found = $list(conn, Seek::First, $word, false).await.unwrap();
        assert_eq!(found.rows.len(), 1, "{} of {}", $word, $table);
        let plan = plan_of_last(conn, &[concat!("%", $word, "%")]).await;
        assert!(indexed(&reads_of(&plan, $table)), "search: {plan:#}");
    };
}

#[tokio::test]
async fn a_hundred_thousand_are_never_read_from_end_to_end() {
    let world = World::new().await;
    let conn = &mut *world.pool.acquire().await.unwrap();
    fill(conn).await;
    holds!(conn, "customer", customer::list, "kiln");
    holds!(conn, "site", site::list, "kiln");
    holds!(conn, "plant", plant::list, "kiln");
    let id = "10000000-0000-0000-0000-000000077777";
    assert_eq!(site::of_customer(conn, id.parse().unwrap()).await.unwrap().len(), 1);
    let plan = plan_of_last(conn, &[id]).await;
    assert!(indexed(&reads_of(&plan, "site")), "{plan:#}");
    assert_eq!(plant::of_site(conn, id.parse().unwrap()).await.unwrap().len(), 1);
    let plan = plan_of_last(conn, &[id]).await;
    assert!(indexed(&reads_of(&plan, "plant")), "{plan:#}");
    assert_eq!(plant::host_plants(conn).await.unwrap().len(), 256);
    let plan = plan_of_last(conn, &[]).await;
    assert!(indexed(&reads_of(&plan, "plant")), "{plan:#}");
}
