//! A gate in front of the server: shut, it cuts what is under way and answers nobody. A page that is set
//! offline by the browser still lets its worker through; this cuts both. It can also lose an answer: what was
//! asked arrives, and nobody hears what became of it.
use std::{
    net::SocketAddr,
    sync::{
        Arc,
        atomic::{AtomicUsize, Ordering},
    },
};
use tokio::{
    io::{AsyncReadExt, AsyncWriteExt},
    net::{TcpListener, TcpStream},
    sync::watch,
};

pub struct Gate {
    pub address: SocketAddr,
    open: watch::Sender<bool>,
    lost: Arc<Lost>,
}

/// How many answers to a certain request are still to be lost, and how many were.
#[derive(Default)]
struct Lost {
    still: AtomicUsize,
    were: AtomicUsize,
}

/// The request whose answers are lost.
const ASKED: &[u8] = b"POST /api/completions ";

impl Gate {
    pub async fn before(server: SocketAddr) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        let (open, seen) = watch::channel(true);
        let lost = Arc::new(Lost::default());
        let counted = lost.clone();
        tokio::spawn(async move {
            while let Ok((phone, _)) = listener.accept().await {
                let (mut seen, lost) = (seen.clone(), counted.clone());
                if !*seen.borrow() {
                    continue;
                }
                tokio::spawn(async move {
                    let Ok(server) = TcpStream::connect(server).await else { return };
                    tokio::select! {
                        () = carry(phone, server, &lost) => {}
                        _ = seen.wait_for(|open| !*open) => {}
                    }
                });
            }
        });
        Self { address, open, lost }
    }

    pub fn shut(&self) {
        self.open.send_replace(false);
    }

    pub fn open(&self) {
        self.open.send_replace(true);
    }

    /// Loses so many of the next answers to completions.
    pub fn loses(&self, answers: usize) {
        self.lost.still.store(answers, Ordering::SeqCst);
    }

    /// How many answers were lost.
    pub fn lost(&self) -> usize {
        self.lost.were.load(Ordering::SeqCst)
    }
}

/// Carries bytes both ways until either side ends, or an answer is to be lost.
async fn carry(mut phone: TcpStream, mut server: TcpStream, lost: &Lost) {
    let (mut up, mut down) = ([0; 16 * 1024], [0; 16 * 1024]);
    let mut loses = false;
    loop {
        tokio::select! {
            read = phone.read(&mut up) => {
                let Ok(count @ 1..) = read else { return };
                let asks = up[..count].windows(ASKED.len()).any(|at| at == ASKED);
                let one_less = |still: usize| still.checked_sub(1);
                loses |= asks && lost.still.fetch_update(Ordering::SeqCst, Ordering::SeqCst, one_less).is_ok();
                if server.write_all(&up[..count]).await.is_err() { return }
            }
            read = server.read(&mut down) => {
                let Ok(count @ 1..) = read else { return };
                if loses {
                    // The server has answered: it is done, and the phone does not hear of it.
                    lost.were.fetch_add(1, Ordering::SeqCst);
                    return;
                }
                if phone.write_all(&down[..count]).await.is_err() { return }
            }
        }
    }
}
