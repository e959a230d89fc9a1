//! A small town to plan: sites of their own parcels along two streets, one technician at work from Monday to
//! Friday, the week of 30 November 2026.
use crate::{
    support::{Answer, Visitor, World},
    yard::{Yard, certify},
};
use plantward::{
    actions::plan::{Limit, work_one},
    domain::user::Role,
};
use uuid::Uuid;

/// The week that is planned; the stories' clock stands on the Wednesday before it.
pub const WEEK: &str = "/plans/2026-11-30";
/// Rounds of the planner that are enough for a small town.
pub const ROUNDS: Limit = Limit::Rounds(400);

pub struct Town {
    pub world: World,
    pub owner: Visitor,
    pub office: Visitor,
    pub ines: Visitor,
    pub yard: Yard,
}

/// Where a stop stands, as the database has it.
#[derive(Debug, Clone, PartialEq, sqlx::FromRow)]
pub struct Stand {
    pub id: Uuid,
    pub street: String,
    pub technician_id: Option<Uuid>,
    pub on_date: Option<chrono::NaiveDate>,
    pub position: Option<i32>,
    pub arrives_at: Option<chrono::NaiveTime>,
    pub starts_at: Option<chrono::NaiveTime>,
    pub leaves_at: Option<chrono::NaiveTime>,
    pub locked: bool,
    pub unserved_why: String,
    pub service_minutes: i32,
    pub load_gal: rust_decimal::Decimal,
    pub latitude: Option<f64>,
    pub longitude: Option<f64>,
}

impl Town {
    /// The company, its technician and no sites but the yard, which lies nowhere.
    pub async fn new() -> Self {
        let world = World::new().await;
        let owner = world.owner().await;
        let (office, ines) = (world.office().await, world.technician().await);
        let yard = Yard::new(&world, &owner).await;
        certify(&world, ines.id).await;
        let town = Self { world, owner, office, ines, yard };
        town.sql("update company set latitude = 35.28, longitude = -120.66").await;
        town.works(town.ines.id).await;
        town
    }

    pub async fn sql(&self, text: &str) {
        sqlx::query(sqlx::AssertSqlSafe(text.to_owned())).execute(&self.world.pool).await.unwrap();
    }

    /// Gives somebody the hours from eight to five, Monday to Friday.
    pub async fn works(&self, person: Uuid) {
        self.sql(&format!(
            "insert into working_day (person_id, weekday, starts, ends, break_minutes, break_from, break_until)
             select '{person}', d, '08:00', '17:00', 30, '11:30', '13:30' from generate_series(1, 5) d"
        ))
        .await;
    }

    /// A site on a parcel of its own with one hedge that is due, so many thousandths of a degree north and
    /// east of the company.
    pub async fn site(&self, street: &str, north: i32, east: i32) -> Uuid {
        let [parcel, site, plant] = std::array::from_fn(|_| Uuid::now_v7());
        let (customer, product) = (self.customer().await, self.yard.product);
        let (latitude, longitude) = (35.28 + f64::from(north) / 1000.0, -120.66 + f64::from(east) / 1000.0);
        self.sql(&format!(
            "insert into parcel (id, lot_sqft, history_known_from, history_answered_by)
                values ('{parcel}', 10890, '2020-01-01', '{}')",
            self.owner.id
        ))
        .await;
        self.sql(&format!(
            "insert into site (id, customer_id, parcel_id, street, city, state, zip, county, latitude, longitude, created_at)
             values ('{site}', '{customer}', '{parcel}', '{street}', 'Quillan Springs', 'CA', '93499',
                'San Luis Obispo', {latitude}, {longitude}, now())"
        ))
        .await;
        self.sql(&format!(
            "insert into plant (id, site_id, place, host_plant, kind, count, height_ft, target_pest, eaten,
                food_in_root_zone, product_id, use_code, created_at)
             values ('{plant}', '{site}', 'front', 'Podocarpus', 'hedge', 2, 8, 'aphids', 'no', 'no', '{product}',
                'shrub-drench', now())"
        ))
        .await;
        let mut tx = self.world.pool.begin().await.unwrap();
        plantward::actions::due::recompute_parcel(&mut tx, &self.world.doer(), parcel).await.unwrap();
        tx.commit().await.unwrap();
        site
    }

    /// Three sites in a row to the north.
    pub async fn three(&self) -> [Uuid; 3] {
        [
            self.site("1 Quarry Road", 10, 0).await,
            self.site("2 Quarry Road", 20, 0).await,
            self.site("3 Quarry Road", 30, 0).await,
        ]
    }

    async fn customer(&self) -> Uuid {
        sqlx::query_scalar("select id from customer").fetch_one(&self.world.pool).await.unwrap()
    }

    /// Another technician with the same hours, certified or not.
    pub async fn another(&self, name: &str, certified: bool) -> Uuid {
        let id = self.world.person(name, Role::Technician).await;
        if certified {
            certify(&self.world, id).await;
        }
        self.works(id).await;
        id
    }

    /// The plan's version; 0 before there is one.
    pub async fn version(&self) -> String {
        let found: Option<i32> = sqlx::query_scalar("select version from week_plan")
            .fetch_optional(&self.world.pool)
            .await
            .unwrap();
        found.unwrap_or(0).to_string()
    }

    /// Asks for the week with these people.
    pub async fn start(&self, people: &[Uuid]) -> Answer {
        let (id, version) = (Uuid::now_v7().to_string(), self.version().await);
        let people: Vec<String> = people.iter().map(Uuid::to_string).collect();
        let mut fields =
            vec![("id", id.as_str()), ("version", version.as_str()), ("seconds", "5"), ("gather", "yes")];
        fields.extend(people.iter().map(|p| ("technicians", p.as_str())));
        self.office.post(&format!("{WEEK}/runs"), &fields).await
    }

    /// Gathers and calculates the week with Ines alone.
    pub async fn planned(&self) {
        self.planned_with(&[self.ines.id]).await;
    }

    pub async fn planned_with(&self, people: &[Uuid]) {
        self.start(people).await.went_to(WEEK);
        assert!(work_one(&self.world.doer(), ROUNDS).await.unwrap(), "there was something to do");
    }

    /// Calculates the plan that is there anew.
    pub async fn replanned(&self) {
        let (id, version) = (Uuid::now_v7().to_string(), self.version().await);
        let fields = [("id", id.as_str()), ("version", version.as_str()), ("seconds", "5")];
        self.office.post(&format!("{WEEK}/runs"), &fields).await.went_to(WEEK);
        assert!(work_one(&self.world.doer(), ROUNDS).await.unwrap());
    }

    /// Every stop by technician, day and place; those that stand nowhere last.
    pub async fn stands(&self) -> Vec<Stand> {
        sqlx::query_as(
            "select t.*, s.street, s.latitude, s.longitude from plan_stop t join site s on s.id = t.site_id
             order by t.on_date, t.technician_id, t.position, s.street",
        )
        .fetch_all(&self.world.pool)
        .await
        .unwrap()
    }

    pub async fn stand(&self, street: &str) -> Stand {
        let all = self.stands().await;
        all.iter().find(|s| s.street == street).cloned().unwrap_or_else(|| panic!("no {street} in {all:?}"))
    }

    /// Takes a step with a stop, as the page's buttons do.
    pub async fn step(&self, street: &str, fields: &[(&str, &str)]) -> Answer {
        let (id, version) = (self.stand(street).await.id, self.version().await);
        let mut fields = fields.to_vec();
        if !fields.iter().any(|(name, _)| *name == "version") {
            fields.push(("version", &version));
        }
        self.office.post(&format!("{WEEK}/stops/{id}"), &fields).await
    }

    pub async fn move_to(&self, street: &str, technician: Uuid, on: &str) -> Answer {
        let technician = technician.to_string();
        self.step(street, &[("step", "move"), ("technician", &technician), ("on", on)]).await
    }

    pub async fn release(&self) -> Answer {
        let version = self.version().await;
        self.office.post(&format!("{WEEK}/releases"), &[("version", &version)]).await
    }

    /// A visit to the site's only plant, booked for somebody.
    pub async fn booked(&self, site: Uuid, technician: Uuid, on: &str) -> Uuid {
        let id = Uuid::now_v7();
        let plant: Uuid = sqlx::query_scalar("select id from plant where site_id = $1")
            .bind(site)
            .fetch_one(&self.world.pool)
            .await
            .unwrap();
        let [id_text, site, technician, plant] = [id, site, technician, plant].map(|one| one.to_string());
        let fields = [
            ("id", id_text.as_str()),
            ("site", &site),
            ("technician", &technician),
            ("on", on),
            ("plant", &plant),
        ];
        self.office.post("/visits", &fields).await.went_to(&format!("/visits/{id}"));
        id
    }

    pub async fn count(&self, sql: &str) -> i64 {
        sqlx::query_scalar(sqlx::AssertSqlSafe(sql.to_owned())).fetch_one(&self.world.pool).await.unwrap()
    }
}
