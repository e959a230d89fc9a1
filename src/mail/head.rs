//! The words of a mailed head: whoever keeps it may be an accountant or a county, hence in English.
use super::{
    Block, Written,
    words::{House, below},
};
use crate::{domain::head::Head, texts::Language};

/// The mail of a head. Its body holds the head without the marks between, which stand in the file that comes with it.
#[must_use]
pub fn head(house: &House, head: &Head) -> Written {
    let on = head.taken_at.format("%b %-d, %Y, %H:%M UTC");
    let mut short = head.clone();
    short.records.marks.clear();
    short.audit.marks.clear();
    let mut blocks = vec![
        Block::Words(format!(
            "This is how the records of {} stood on {on}: {} versions of application records and {} lines of who \
             did and saw what.",
            head.company, head.records.size, head.audit.size
        )),
        Block::Words(
            "Please keep this mail and the file that comes with it, and change nothing in them. Later they show \
             whether a record was changed, removed or put in before that moment, whoever did it."
                .to_owned(),
        ),
        Block::Exact(short.text()),
        Block::Words(
            "To check, the company's program compares its records with the file, on its page Proof of the records \
             or by plantward verify --against FILE. The file also marks places between, so that the first wrong \
             row is named. Nothing in this mail tells of customers or of what was applied."
                .to_owned(),
        ),
    ];
    blocks.extend(below(Language::English, house, "mail-from"));
    Written::of("en", &format!("Head of the records of {}, {on}", head.company), &blocks)
}

/// The name of a head's file.
#[must_use]
pub fn file_name(head: &Head) -> String {
    format!("head_{}.txt", head.taken_at.format("%Y-%m-%d"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::head::Part;

    #[test]
    fn the_body_is_a_head_that_can_be_read_again() {
        let part = |size: u64| Part { size, root: [7; 32], last: [9; 32], marks: vec![(1, [9; 32])] };
        let own = Head {
            company: "Bellwether Plant Care".into(),
            taken_at: "2026-11-25T18:00:00Z".parse().unwrap(),
            records: part(3),
            audit: part(11),
        };
        let said = head(&House { name: "Bellwether Plant Care".into(), ..House::default() }, &own);
        assert_eq!(said.subject, "Head of the records of Bellwether Plant Care, Nov 25, 2026, 18:00 UTC");
        let start = said.text.find("plantward-head-1").unwrap();
        let end = start + said.text[start..].find("\n\n").unwrap();
        let read = Head::parse(&said.text[start..end]).unwrap();
        assert_eq!((read.records.root, read.audit.size), (own.records.root, 11));
        assert!(said.html.contains("<pre>plantward-head-1\n"), "{}", said.html);
        assert_eq!(file_name(&own), "head_2026-11-25.txt");
    }
}
