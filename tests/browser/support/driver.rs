//! A chromedriver of one's own on a free port; it ends with the test.
use std::{
    net::TcpListener,
    process::{Child, Command, Stdio},
    time::Duration,
};

pub struct Driver {
    process: Child,
    port: u16,
}

impl Driver {
    pub async fn start() -> Self {
        let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
        let started = Command::new("chromedriver")
            .arg(format!("--port={port}"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn();
        let driver = Self {
            process: started.expect("chromedriver is missing: apt-get install chromium chromium-driver"),
            port,
        };
        for _ in 0..500 {
            if tokio::net::TcpStream::connect(("127.0.0.1", port)).await.is_ok() {
                return driver;
            }
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
        panic!("chromedriver does not answer");
    }

    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}", self.port)
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        // It ends its browsers with itself; it may be gone already.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}
