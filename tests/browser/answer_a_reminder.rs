//! From the mail to an accepted visit: a reminder leaves through a real mail server, its link is followed on a phone,
//! the customer says yes in their own language, and the owner sees it on the first page and books it.
use crate::{
    smtp::SmtpServer,
    support::{Browser, House, Screen},
};
use clap::Parser;
use mail_parser::MessageParser;
use plantward::{
    actions::{Doer, message, message::Delivery},
    clock::Clock,
    config::MailConfig,
    mail::Mailer,
};

#[derive(Parser)]
struct Line {
    #[command(flatten)]
    mail: MailConfig,
}

fn mailer(port: u16) -> Mailer {
    let port = port.to_string();
    let arguments = ["x", "--smtp-host", "localhost", "--smtp-tls", "none", "--smtp-port", &port];
    let line = Line::try_parse_from(arguments.into_iter().chain(["--mail-from", "office@bellwether.test"]));
    Mailer::new(&line.unwrap().mail).unwrap().unwrap()
}

#[tokio::test(flavor = "multi_thread")]
async fn from_the_mail_to_the_booked_visit() {
    let house = House::open().await;
    let server = SmtpServer::start(&[]);
    let mailer = mailer(server.port);
    let doer = Doer::program(&house.pool, &Clock::fixed("2026-11-25T18:00:00Z".parse().unwrap()));
    while message::deliver_one(&doer, &mailer).await.unwrap() != Delivery::Nothing {}
    let taken = server.taken();
    let mail = taken.first().expect("the demo has a reminder of today");
    let read = MessageParser::default().parse(&mail.content).unwrap();
    let text = read.body_text(0).unwrap().into_owned();
    let link = text.split_whitespace().find(|word| word.contains("/c/")).expect("a link").to_owned();
    let path = &link[link.find("/c/").unwrap()..];

    let mut customer = Browser::start(&house, Screen::Phone, "customer").await;
    customer.open(path).await;
    customer.picture("the customer's page").await;
    customer.fits_its_width().await;
    customer.passes_axe("the customer's page").await;
    let spanish = customer.text().await.contains("Sus plantas");
    // An answer without a choice comes back with what is wrong, and nothing is lost.
    customer.press(if spanish { "Enviar la respuesta" } else { "Send the answer" }).await;
    customer.sees(if spanish { "Elija una de estas." } else { "Choose one of these." }).await;
    customer.passes_axe("an answer without a choice").await;
    customer.choose("choice", "yes").await;
    customer.press(if spanish { "Enviar la respuesta" } else { "Send the answer" }).await;
    customer.sees(if spanish { "Dijo que sí" } else { "You said yes" }).await;
    customer.passes_axe("answered").await;
    customer.fits_its_width().await;
    customer.close().await;

    let mut owner = Browser::start(&house, Screen::Desk, "answered").await;
    owner.sign_in(house.person("owner")).await;
    owner.sees("customers answered").await;
    let name: String = sqlx::query_scalar(
        "select c.name from customer_answer a join customer c on c.id = a.customer_id order by a.given_at desc limit 1",
    )
    .fetch_one(&house.pool)
    .await
    .unwrap();
    for at in ["/answers", "/reminders", "/messages"] {
        owner.open(at).await;
        owner.passes_axe(at).await;
        owner.fits_its_width().await;
    }
    owner.open("/answers").await;
    owner.sees(&name).await;
    owner.follow("Book the visit").await;
    owner.sees("Book a visit").await;
    owner.close().await;
    // The yes is answered by mail, with a calendar.
    while message::deliver_one(&doer, &mailer).await.unwrap() != Delivery::Nothing {}
    let taken = server.taken();
    let last = MessageParser::default().parse(&taken.last().unwrap().content).unwrap();
    assert_eq!(last.attachment_count(), 1, "a calendar file");
}
