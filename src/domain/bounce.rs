//! What a returned mail says: a report of delivery (RFC 3464) that names the message it is about.

/// A report that a message could not be delivered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bounce {
    /// The message's name with its angle brackets.
    pub message_id: String,
    /// For whom it was; empty: the report does not say.
    pub recipient: String,
    /// The report's reason in its own words; empty: it gives none.
    pub reason: String,
}

/// The report in a mail as it lies in a folder; none: it is no report of a failure, or names no message.
///
/// Only `Action: failed` counts: a report that a message is merely late is no failure (RFC 3464, 2.3.3). The name
/// is that of the returned message, whose headers follow the report, and not that of the report itself.
#[must_use]
pub fn read(mail: &str) -> Option<Bounce> {
    let lines = unfolded(mail);
    let (head, body) = lines.split_at(lines.iter().position(String::is_empty)?);
    let value = |lines: &[String], name: &str| {
        lines.iter().find_map(|line| {
            let (before, after) = line.split_once(':')?;
            before.trim().eq_ignore_ascii_case(name).then(|| after.trim().to_owned())
        })
    };
    let is_report = value(head, "Content-Type")?.to_lowercase().starts_with("multipart/report");
    let failed = value(body, "Action").is_some_and(|action| action.eq_ignore_ascii_case("failed"));
    if !is_report || !failed {
        return None;
    }
    let id = value(body, "Original-Message-ID").or_else(|| value(body, "Message-ID"))?;
    let id = id.split_whitespace().next()?.to_owned();
    if !(id.starts_with('<') && id.ends_with('>')) {
        return None;
    }
    let typed = |value: String| value.split_once(';').map_or(value.clone(), |(_, v)| v.trim().to_owned());
    let recipient = value(body, "Final-Recipient").map(typed).unwrap_or_default();
    let status = value(body, "Status").unwrap_or_default();
    let said = value(body, "Diagnostic-Code").map(typed).unwrap_or_default();
    let reason: String = if said.is_empty() { status } else { said };
    let reason = reason.chars().filter(|c| !c.is_control()).take(300).collect();
    Some(Bounce { message_id: id, recipient, reason })
}

/// The lines without their ends, those that go on joined (RFC 5322, 2.2.3).
fn unfolded(mail: &str) -> Vec<String> {
    let mut all: Vec<String> = vec![];
    for line in mail.lines() {
        match all.last_mut() {
            Some(last) if line.starts_with([' ', '\t']) && !last.is_empty() => {
                last.push(' ');
                last.push_str(line.trim());
            }
            _ => all.push(line.trim_end().to_owned()),
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    /// In the shape of RFC 3464, appendix E.1 (a report of one failed recipient), with invented names.
    const REPORT: &str = "From: mailer@there.test\r\nMessage-ID: <own@there.test>\r\n\
        Content-Type: multipart/report; report-type=delivery-status;\r\n\tboundary=\"b\"\r\n\r\n\
        --b\r\n\r\nIt could not be delivered.\r\n--b\r\nContent-Type: message/delivery-status\r\n\r\n\
        Reporting-MTA: dns; there.test\r\n\r\nFinal-Recipient: rfc822;odile@farrant.test\r\nAction: failed\r\n\
        Status: 5.1.1\r\nDiagnostic-Code: smtp; 550 5.1.1 no\r\n such person\r\n\r\n--b\r\n\
        Content-Type: text/rfc822-headers\r\n\r\nFrom: a@b.test\r\nMessage-ID:\r\n <0193@bellwether.test>\r\n\r\n--b--\r\n";

    #[test]
    fn a_report_names_the_message_that_came_back() {
        let found = read(REPORT).unwrap();
        assert_eq!(found.message_id, "<0193@bellwether.test>", "and not the report's own name");
        assert_eq!(found.recipient, "odile@farrant.test");
        assert_eq!(found.reason, "550 5.1.1 no such person");
    }

    #[test]
    fn what_is_no_failure_is_none() {
        for (from, to) in [("Action: failed", "Action: delayed"), ("multipart/report", "multipart/mixed")] {
            assert_eq!(read(&REPORT.replace(from, to)), None, "{to}");
        }
        assert_eq!(read(&REPORT.replace("Message-ID:\r\n <0193", "Subject:\r\n <0193")), None);
        for odd in
            ["", "\r\n", "Content-Type: multipart/report\r\n\r\nAction: failed\r\nMessage-ID: none\r\n"]
        {
            assert_eq!(read(odd), None, "{odd:?}");
        }
    }
}
