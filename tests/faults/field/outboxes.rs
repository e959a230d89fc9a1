//! Twenty phones with full outboxes on a link that breaks, while the program and its database are killed.
use super::{
    company::{self, Technician},
    gate::Gate,
    judge,
    phone::{Built, Tally, empty_outbox},
    size,
};
use crate::support::{Home, Program, signal, until};
use plantward::private_postgres;
use sqlx::{Connection, PgConnection, PgPool, postgres::PgPoolOptions};
use std::{
    collections::BTreeSet,
    sync::{Arc, atomic::Ordering::SeqCst},
};
use tokio::{runtime::Runtime, task::JoinHandle};
use uuid::Uuid;

struct Field {
    home: Home,
    program: Option<Program>,
    staff: Vec<Technician>,
    runtime: Runtime,
    tally: Arc<Tally>,
}

impl Field {
    fn new(technicians: usize, completions: usize) -> Self {
        let home = Home::new();
        let program = home.serve();
        let runtime =
            tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build().unwrap();
        let staff = runtime.block_on(async {
            let mut conn =
                PgConnection::connect_with(&private_postgres::join(home.data()).unwrap()).await.unwrap();
            company::found(&mut conn).await;
            let staff = company::staff(&mut conn, technicians, completions.div_ceil(technicians)).await;
            conn.close().await.unwrap();
            staff
        });
        Self { home, program: Some(program), staff, runtime, tally: Arc::default() }
    }

    fn all(&self) -> usize {
        self.staff.iter().map(|t| t.done.len()).sum()
    }

    fn gate(&self, cuts: usize) -> Gate {
        self.runtime.block_on(Gate::open(&self.address(), cuts, 0xF1E1D))
    }

    fn address(&self) -> String {
        self.program.as_ref().unwrap().base().trim_start_matches("http://").to_owned()
    }

    fn send(&self, gate: &Gate, built: Built) -> Vec<JoinHandle<BTreeSet<Uuid>>> {
        let phones = self.staff.iter().enumerate().map(|(number, technician)| {
            let (gate, tally) = (gate.clone(), self.tally.clone());
            let address = gate.address.clone();
            let enough = move || gate.has_cut_all();
            self.runtime.spawn(empty_outbox(
                technician.clone(),
                address,
                built,
                number as u64 + 1,
                tally,
                enough,
            ))
        });
        phones.collect()
    }

    fn wait(&self, phones: Vec<JoinHandle<BTreeSet<Uuid>>>) -> BTreeSet<Uuid> {
        self.runtime.block_on(async {
            let mut all = BTreeSet::new();
            for phone in phones {
                all.extend(phone.await.unwrap());
            }
            all
        })
    }

    fn pool(&self) -> PgPool {
        let options = private_postgres::join(self.home.data()).unwrap();
        self.runtime.block_on(PgPoolOptions::new().max_connections(2).connect_with(options)).unwrap()
    }

    fn judge(&self, expected: &BTreeSet<Uuid>) -> Vec<String> {
        let pool = self.pool();
        let wrong = self.runtime.block_on(judge::faults(&pool, expected));
        self.runtime.block_on(pool.close());
        wrong
    }

    fn kill_program(&mut self, gate: &Gate) {
        self.program.take().unwrap().kill();
        self.program = Some(self.home.serve());
        *gate.to.lock().unwrap() = self.address();
    }

    fn kill_database(&self) {
        let killed = self.home.postmaster();
        signal(killed, libc::SIGKILL);
        let program = self.program.as_ref().unwrap();
        until("another database serves", || {
            self.home.postgres_processes().iter().all(|pid| *pid != killed) && program.is_ready()
        });
    }

    fn said(&self, gate: &Gate, kills: (usize, usize)) {
        let count = |n: &std::sync::atomic::AtomicUsize| n.load(SeqCst);
        println!(
            "{} completions from {} phones, sent {} times; {} requests broke off, {} connections cut, {} answers \
             \"in progress\"; program killed {} times, database {} times",
            self.all(),
            self.staff.len(),
            count(&self.tally.sent),
            count(&self.tally.broken),
            count(&gate.cut),
            count(&self.tally.busy),
            kills.0,
            kills.1
        );
    }
}

#[test]
fn each_completion_is_one_record_whatever_the_link_does() {
    let cuts = size(10, 500);
    let field = Field::new(20, size(200, 10_000));
    let gate = field.gate(cuts);
    let accepted = field.wait(field.send(&gate, Built::Well));
    field.said(&gate, (0, 0));
    assert_eq!(accepted.len(), field.all());
    assert!(gate.cut.load(SeqCst) >= cuts);
    assert_eq!(field.judge(&accepted), Vec::<String>::new());
}

#[test]
fn each_accepted_completion_outlives_kills_of_program_and_database() {
    let (programs, databases) = (size(3, 100), size(1, 20));
    let mut field = Field::new(20, size(200, 10_000));
    let gate = field.gate(size(10, 500));
    let phones = field.send(&gate, Built::Well);
    let kills = programs + databases;
    for kill in 0..kills {
        // Spread over the work: some of it is accepted before each, and most of it while it is under way.
        let some = field.all() * (kill + 1) / (kills + 1);
        while field.tally.accepted.load(SeqCst) < some && !phones.iter().all(JoinHandle::is_finished) {
            std::thread::sleep(std::time::Duration::from_millis(2));
        }
        if kill % kills.div_ceil(databases) == 1 { field.kill_database() } else { field.kill_program(&gate) }
    }
    let accepted = field.wait(phones);
    field.said(&gate, (programs, databases));
    assert_eq!(accepted.len(), field.all());
    assert_eq!(field.judge(&accepted), Vec::<String>::new());
    // The judge sees a record that is gone, although the chain before it is whole.
    let pool = field.pool();
    field.runtime.block_on(judge::take_last(&pool));
    field.runtime.block_on(pool.close());
    let wrong = field.judge(&accepted);
    assert!(wrong.contains(&"1 accepted completions have no record".to_owned()), "{wrong:?}");
}

/// Phones that are built wrongly are found out.
#[test]
fn a_phone_that_forgets_its_keys_is_found_out() {
    let field = Field::new(4, 12);
    let gate = field.gate(0);
    let accepted = field.wait(field.send(&gate, Built::Forgetful));
    let wrong = field.judge(&accepted);
    assert!(accepted.len() > field.all(), "each sending was a completion of its own");
    assert!(wrong.iter().any(|w| w.ends_with("visits with more than one record")), "{wrong:?}");
}

#[test]
fn a_phone_that_takes_sent_for_accepted_is_found_out() {
    let field = Field::new(4, 100);
    // Every connection is cut before its answer, or within its request.
    let gate = field.gate(usize::MAX);
    let phones: Vec<_> = field
        .staff
        .iter()
        .map(|t| {
            let (tally, address) = (field.tally.clone(), gate.address.clone());
            field.runtime.spawn(empty_outbox(t.clone(), address, Built::Hasty, 7, tally, || true))
        })
        .collect();
    let accepted = field.wait(phones);
    assert_eq!(accepted.len(), field.all());
    let wrong = field.judge(&accepted);
    assert!(wrong.iter().any(|w| w.ends_with("accepted completions have no record")), "{wrong:?}");
}
