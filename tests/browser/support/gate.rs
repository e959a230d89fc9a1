//! A gate in front of the server: shut, it cuts what is under way and answers nobody. A page that is set
//! offline by the browser still lets its worker through; this cuts both.
use std::net::SocketAddr;
use tokio::{
    io::copy_bidirectional,
    net::{TcpListener, TcpStream},
    sync::watch,
};

pub struct Gate {
    pub address: SocketAddr,
    open: watch::Sender<bool>,
}

impl Gate {
    pub async fn before(server: SocketAddr) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        let (open, seen) = watch::channel(true);
        tokio::spawn(async move {
            while let Ok((mut phone, _)) = listener.accept().await {
                let mut seen = seen.clone();
                if !*seen.borrow() {
                    continue;
                }
                tokio::spawn(async move {
                    let Ok(mut server) = TcpStream::connect(server).await else { return };
                    tokio::select! {
                        _ = copy_bidirectional(&mut phone, &mut server) => {}
                        _ = seen.wait_for(|open| !*open) => {}
                    }
                });
            }
        });
        Self { address, open }
    }

    pub fn shut(&self) {
        self.open.send_replace(false);
    }

    pub fn open(&self) {
        self.open.send_replace(true);
    }
}
