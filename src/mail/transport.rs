//! The way to the mail server, and what its answers mean.
use super::compose::{Outgoing, compose};
use crate::{
    config::{MailConfig, SmtpTls},
    domain::message::Answer,
};
use anyhow::Context;
use lettre::{
    AsyncSmtpTransport, AsyncTransport, Tokio1Executor,
    message::Mailbox,
    transport::smtp::{
        Error, PoolConfig,
        authentication::Credentials,
        client::{Certificate, Tls, TlsParameters},
    },
};
use std::time::Duration;

/// A mail server that we may send through. Copies share their connections.
#[derive(Debug, Clone)]
pub struct Mailer {
    transport: AsyncSmtpTransport<Tokio1Executor>,
    from: Mailbox,
}

impl Mailer {
    /// The server that the configuration names; none: it names none.
    ///
    /// # Errors
    /// When the settings do not go together: no sender, or a password over an open line.
    pub fn new(config: &MailConfig) -> anyhow::Result<Option<Self>> {
        let Some(host) = &config.smtp_host else { return Ok(None) };
        let from =
            config.mail_from.as_deref().context("--smtp-host needs --mail-from, the sender's address")?;
        let from: Mailbox = from.parse().with_context(|| format!("--mail-from {from} is no address"))?;
        let here = matches!(host.as_str(), "localhost" | "127.0.0.1" | "::1");
        let open_line = config.smtp_tls == SmtpTls::None;
        anyhow::ensure!(
            here || !open_line,
            "--smtp-tls none is for a server on this machine only: mail would travel readable"
        );
        let (tls, port) = match config.smtp_tls {
            SmtpTls::None => (Tls::None, 25),
            SmtpTls::Starttls => (Tls::Required(tls(host, config)?), 587),
            SmtpTls::Implicit => (Tls::Wrapper(tls(host, config)?), 465),
        };
        let mut builder = AsyncSmtpTransport::<Tokio1Executor>::builder_dangerous(host.clone())
            .port(config.smtp_port.unwrap_or(port))
            .tls(tls)
            .timeout(Some(Duration::from_secs(config.smtp_seconds.into())))
            .pool_config(PoolConfig::new().max_size(4).idle_timeout(Duration::from_secs(20)));
        if let Some(user) = &config.smtp_user {
            let password = config.smtp_password.clone().context("--smtp-user needs --smtp-password")?;
            builder = builder.credentials(Credentials::new(user.clone(), password));
        }
        Ok(Some(Self { transport: builder.build(), from }))
    }

    /// Hands one message to the server. A message that cannot even be written down is refused for good.
    pub async fn send(&self, out: &Outgoing<'_>) -> Answer {
        let (envelope, bytes) = match compose(&self.from, out) {
            Ok(made) => made,
            Err(reason) => return Answer::Never(format!("The message could not be made: {reason:#}.")),
        };
        // A task of its own: if whoever asked is cut off half way, the exchange still ends as it should. Otherwise the
        // line would go back to the others with an answer left in it, and that would be taken for the next message's.
        let transport = self.transport.clone();
        match tokio::spawn(async move { transport.send_raw(&envelope, &bytes).await }).await {
            Ok(Ok(taken)) => Answer::Taken(said(&taken.message().collect::<Vec<_>>().join(" "))),
            Ok(Err(error)) => meaning(&error),
            Err(reason) => Answer::Unknown(said(&format!("The sending broke off: {reason}."))),
        }
    }

    /// The sender's address.
    #[must_use]
    pub fn sender(&self) -> String {
        self.from.email.to_string()
    }
}

fn tls(host: &str, config: &MailConfig) -> anyhow::Result<TlsParameters> {
    let mut builder = TlsParameters::builder(host.to_owned());
    if let Some(path) = &config.smtp_ca {
        let pem = std::fs::read(path).with_context(|| format!("cannot read {}", path.display()))?;
        builder = builder.add_root_certificate(Certificate::from_pem(&pem)?);
    }
    Ok(builder.build()?)
}

/// RFC 5321, 4.2.1, and RFC 4954 for those that are about our own sign-in: they say nothing about the message.
fn meaning(error: &Error) -> Answer {
    let mut words = error.to_string();
    let mut cause = std::error::Error::source(error);
    while let Some(deeper) = cause {
        words = format!("{words}: {deeper}");
        cause = deeper.source();
    }
    let words = said(&words);
    let code = error.status().map(|code| code.to_string());
    match code.as_deref() {
        Some("421" | "432" | "454" | "530" | "534" | "535" | "538") => Answer::Unknown(words),
        _ if error.is_permanent() => Answer::Never(words),
        _ if error.is_transient() => Answer::Later(words),
        _ => Answer::Unknown(words),
    }
}

/// A server's words, as long as a line of a page.
fn said(words: &str) -> String {
    words.chars().filter(|c| !c.is_control()).take(300).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::Parser;

    #[derive(Parser)]
    struct Line {
        #[command(flatten)]
        mail: MailConfig,
    }

    fn made(arguments: &[&str]) -> anyhow::Result<Option<Mailer>> {
        let line = Line::try_parse_from([&["plantward"], arguments].concat())?;
        Mailer::new(&line.mail)
    }

    #[tokio::test]
    async fn settings_that_do_not_go_together_are_named() {
        assert!(made(&[]).unwrap().is_none());
        for (arguments, part) in [
            (&["--smtp-host", "mail.example.test"][..], "--mail-from"),
            (&["--smtp-host", "h", "--mail-from", "no address"], "is no address"),
            (
                &["--smtp-host", "mail.example.test", "--mail-from", "a@b.test", "--smtp-tls", "none"],
                "readable",
            ),
            (&["--smtp-host", "h", "--mail-from", "a@b.test", "--smtp-user", "u"], "--smtp-password"),
        ] {
            let reason = format!("{:#}", made(arguments).unwrap_err());
            assert!(reason.contains(part), "{arguments:?}: {reason}");
        }
        let there = made(&["--smtp-host", "mail.example.test", "--mail-from", "a@b.test"]).unwrap();
        assert_eq!(there.unwrap().sender(), "a@b.test");
    }
}
