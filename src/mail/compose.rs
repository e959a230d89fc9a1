//! A message on the wire (RFC 5322, MIME). The same message gives the same bytes, however often it is sent.
use anyhow::Context;
use chrono::{DateTime, Utc};
use lettre::{
    Message,
    address::Envelope,
    message::{
        Attachment, Body, Mailbox, MultiPart, MultiPartBuilder, MultiPartKind, SinglePart,
        header::{ContentTransferEncoding, ContentType, HeaderName, HeaderValue},
    },
};

/// What is to be sent.
#[derive(Debug, Clone)]
pub struct Outgoing<'a> {
    /// With its angle brackets.
    pub message_id: &'a str,
    /// When it was written.
    pub written_at: DateTime<Utc>,
    pub from_name: &'a str,
    pub to: &'a str,
    pub to_name: &'a str,
    pub subject: &'a str,
    pub text: &'a str,
    pub html: &'a str,
    pub language: &'a str,
    /// Where one click ends such mail; empty: it is no offer.
    pub unsubscribe: &'a str,
    /// An iCalendar; empty: none.
    pub calendar: &'a str,
    /// A text file: its name and what it holds; an empty name: none.
    pub file: (&'a str, &'a str),
}

/// Envelope and bytes.
///
/// # Errors
/// When an address is none.
pub fn compose(from: &Mailbox, out: &Outgoing<'_>) -> anyhow::Result<(Envelope, Vec<u8>)> {
    let to = out.to.parse().with_context(|| format!("{} is no address", out.to))?;
    let from = Mailbox::new(named(out.from_name), from.email.clone());
    let to = Mailbox::new(named(out.to_name), to);
    let mut builder = Message::builder()
        .message_id(Some(out.message_id.to_owned()))
        .date(out.written_at.into())
        .from(from)
        .to(to)
        .subject(out.subject)
        // RFC 3834: no person wrote it, so that no machine answers it.
        .raw_header(header("Auto-Submitted", "auto-generated")?)
        .raw_header(header("Content-Language", out.language)?);
    if !out.unsubscribe.is_empty() {
        // RFC 8058: an address over HTTPS, and the sign that one POST to it is enough.
        builder = builder
            .raw_header(header("List-Unsubscribe", &format!("<{}>", out.unsubscribe))?)
            .raw_header(header("List-Unsubscribe-Post", "List-Unsubscribe=One-Click")?);
    }
    let words = part(MultiPartKind::Alternative, out.message_id, "a")
        .singlepart(SinglePart::plain(out.text.to_owned()))
        .singlepart(SinglePart::html(out.html.to_owned()));
    let mut files = vec![];
    if !out.calendar.is_empty() {
        // RFC 6047, 2.4: the part names the same method as the calendar in it.
        let method = if out.calendar.contains("\r\nMETHOD:CANCEL\r\n") { "CANCEL" } else { "PUBLISH" };
        let kind = ContentType::parse(&format!("text/calendar; charset=utf-8; method={method}"))?;
        files.push(Attachment::new("visit.ics".to_owned()).body(out.calendar.to_owned(), kind));
    }
    let (name, text) = out.file;
    if !name.is_empty() {
        // As bytes: it arrives with the line ends that it has.
        let bytes = Body::new_with_encoding(text.as_bytes().to_vec(), ContentTransferEncoding::Base64);
        let bytes = bytes.map_err(|_| anyhow::anyhow!("{name} cannot be attached"))?;
        let kind = ContentType::parse("text/plain; charset=utf-8")?;
        files.push(Attachment::new(name.to_owned()).body(bytes, kind));
    }
    let whole = if files.is_empty() {
        words
    } else {
        let mixed = part(MultiPartKind::Mixed, out.message_id, "m").multipart(words);
        files.into_iter().fold(mixed, MultiPart::singlepart)
    };
    let message = builder.multipart(whole)?;
    Ok((message.envelope().clone(), message.formatted()))
}

fn named(name: &str) -> Option<String> {
    let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
    (!name.is_empty()).then_some(name)
}

/// The line between parts hangs on the message's name alone: by chance it would make each copy another one.
fn part(kind: MultiPartKind, id: &str, which: &str) -> MultiPartBuilder {
    let own: String = id.chars().filter(char::is_ascii_alphanumeric).take(32).collect();
    MultiPart::builder().kind(kind).boundary(format!("=_{which}_{own}"))
}

fn header(name: &'static str, value: &str) -> anyhow::Result<HeaderValue> {
    anyhow::ensure!(!value.contains(['\r', '\n']), "a header is one line");
    Ok(HeaderValue::new(HeaderName::new_from_ascii_str(name), value.to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use mail_parser::{MessageParser, MimeHeaders};

    fn out<'a>() -> Outgoing<'a> {
        Outgoing {
            message_id: "<0193-a@bellwether.test>",
            written_at: "2026-11-25T18:00:00Z".parse().unwrap(),
            from_name: "Bellwether Plant Care",
            to: "odile@farrant.test",
            to_name: "Odile \"Dee\" Farrant, Señora",
            subject: "Sus plantas en 14 Tamber Lane: próxima aplicación",
            text: "Hola Odile,\n\nProtección hasta el 15 mar 2027.\n",
            html: "<p>Hola &lt;Odile&gt;</p>",
            language: "es",
            unsubscribe: "https://plants.example.test/u/abc",
            calendar: "BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n",
            file: ("head_2026-11-25.txt", "one: é\ntwo: 2\n"),
        }
    }

    fn bytes(out: &Outgoing<'_>) -> Vec<u8> {
        compose(&"office@bellwether.test".parse().unwrap(), out).unwrap().1
    }

    #[test]
    fn another_reader_finds_what_was_said() {
        let bytes = bytes(&out());
        let read = MessageParser::default().parse(&bytes).unwrap();
        assert_eq!(read.message_id(), Some("0193-a@bellwether.test"));
        assert_eq!(read.subject(), Some(out().subject));
        let to = read.to().unwrap().first().unwrap();
        assert_eq!((to.address(), to.name()), (Some("odile@farrant.test"), Some(out().to_name)));
        assert_eq!(read.body_text(0).unwrap().replace('\r', ""), out().text);
        assert_eq!(read.body_html(0).unwrap().trim(), out().html);
        assert_eq!(read.date().unwrap().to_timestamp(), out().written_at.timestamp());
        let file = read.attachment(0).unwrap();
        assert_eq!(file.content_type().unwrap().subtype(), Some("calendar"));
        assert_eq!(file.text_contents().unwrap(), out().calendar);
        let file = read.attachment(1).unwrap();
        assert_eq!(file.attachment_name(), Some("head_2026-11-25.txt"));
        assert_eq!(file.contents(), out().file.1.as_bytes(), "byte for byte");
        let raw = String::from_utf8(bytes.clone()).unwrap();
        assert!(raw.contains("List-Unsubscribe: <https://plants.example.test/u/abc>\r\n"), "{raw}");
        assert!(raw.contains("List-Unsubscribe-Post: List-Unsubscribe=One-Click\r\n"), "{raw}");
        // RFC 5322, 2.1.1: no line above 998 characters, and only ASCII in the headers.
        assert!(raw.lines().all(|line| line.len() <= 998) && raw.is_ascii());
    }

    #[test]
    fn the_same_message_is_the_same_bytes() {
        assert_eq!(bytes(&out()), bytes(&out()));
    }

    #[test]
    fn what_is_no_offer_offers_no_way_out_of_it() {
        let raw =
            String::from_utf8(bytes(&Outgoing { unsubscribe: "", calendar: "", file: ("", ""), ..out() }))
                .unwrap();
        assert!(!raw.contains("List-Unsubscribe") && !raw.contains("multipart/mixed"), "{raw}");
    }

    #[test]
    fn nothing_that_is_filled_in_begins_a_header() {
        let sly = Outgoing { subject: "a\r\nBcc: b@c.test", to_name: "x\r\nBcc: b@c.test", ..out() };
        let bytes = bytes(&sly);
        let read = MessageParser::default().parse(&bytes).unwrap();
        assert!(read.bcc().is_none(), "{}", String::from_utf8_lossy(&bytes));
        let no_address = Outgoing { to: "odile@farrant.test\r\nRCPT TO:<x@y.test>", ..out() };
        assert!(compose(&"office@bellwether.test".parse().unwrap(), &no_address).is_err());
    }
}
