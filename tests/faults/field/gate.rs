//! A link that breaks: it stands between phones and program and cuts connections after any byte, in either
//! direction. Where the program listens may change while it stands.
use super::dice::Dice;
use std::sync::{
    Arc, Mutex,
    atomic::{AtomicUsize, Ordering::SeqCst},
};
use tokio::{
    io::{AsyncReadExt, AsyncWriteExt},
    net::{TcpListener, TcpStream},
};

#[derive(Clone)]
pub struct Gate {
    pub address: String,
    /// Where the program listens now.
    pub to: Arc<Mutex<String>>,
    /// Connections that were cut, and how many are to be.
    pub cut: Arc<AtomicUsize>,
    cuts: usize,
    /// Bytes of the last whole connection: a cut lies somewhere within as many.
    usual: Arc<AtomicUsize>,
    dice: Arc<Mutex<Dice>>,
}

impl Gate {
    pub async fn open(to: &str, cuts: usize, luck: u64) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let gate = Self {
            address: listener.local_addr().unwrap().to_string(),
            to: Arc::new(Mutex::new(to.to_owned())),
            cut: Arc::default(),
            cuts,
            usual: Arc::new(AtomicUsize::new(2_000)),
            dice: Arc::new(Mutex::new(Dice(luck))),
        };
        let own = gate.clone();
        tokio::spawn(async move {
            while let Ok((phone, _)) = listener.accept().await {
                let gate = own.clone();
                tokio::spawn(async move { gate.carry(phone).await });
            }
        });
        gate
    }

    pub fn has_cut_all(&self) -> bool {
        self.cut.load(SeqCst) >= self.cuts
    }

    async fn carry(&self, phone: TcpStream) {
        let to = self.to.lock().unwrap().clone();
        let Ok(program) = TcpStream::connect(&to).await else { return };
        let limit = {
            let mut dice = self.dice.lock().unwrap();
            let wanted = !self.has_cut_all() && dice.below(2) == 0;
            wanted.then(|| dice.below(self.usual.load(SeqCst)))
        };
        let carried = Arc::new(AtomicUsize::new(0));
        let (from_phone, to_phone) = phone.into_split();
        let (from_program, to_program) = program.into_split();
        let there = pass(from_phone, to_program, carried.clone(), limit);
        let back = pass(from_program, to_phone, carried.clone(), limit);
        tokio::pin!(there, back);
        // The first that is cut takes the other with it: both ends are dropped.
        let whole = tokio::select! {
            whole = &mut there => whole && back.await,
            whole = &mut back => whole,
        };
        if whole {
            self.usual.store(carried.load(SeqCst).max(1), SeqCst);
        } else {
            self.cut.fetch_add(1, SeqCst);
        }
    }
}

/// Carries bytes on until the end; false: it was cut.
async fn pass(
    mut from: tokio::net::tcp::OwnedReadHalf,
    mut to: tokio::net::tcp::OwnedWriteHalf,
    carried: Arc<AtomicUsize>,
    limit: Option<usize>,
) -> bool {
    let mut bytes = [0; 1024];
    loop {
        let Ok(count) = from.read(&mut bytes).await else { return true };
        if count == 0 {
            let _ = to.shutdown().await;
            return true;
        }
        let before = carried.fetch_add(count, SeqCst);
        let may = limit.map_or(count, |limit| limit.saturating_sub(before).min(count));
        if to.write_all(&bytes[..may]).await.is_err() {
            return true;
        }
        if may < count {
            return false;
        }
    }
}
