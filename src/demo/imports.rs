//! Tables that the demo company was brought: one that was taken back long ago, one that waits to be mended.
use super::{
    chance::Chance,
    days::{ago, at},
    people::People,
    world::World,
};
use crate::{
    db::{
        Conn,
        demo::{Table, fill},
    },
    domain::import::{Kind, guess},
};
use serde_json::{Value, json};
use sha2::{Digest, Sha256};
use uuid::Uuid;

/// Where their ids start, so that everything else falls as it fell without them.
const OWN: u64 = 0x7461_626c_6573;

const FILE: &str = "Name,Street,City,State,ZIP code,Telephone\r\n\
    Talia Brandt,7 Heron Court,Quillan Springs,CA,93499,805-555-0164\r\n\
    Ruben Oakes,19 Mill Road,Oak Lantern,Calif.,93498,805-555-0171\r\n\
    Ione Mercer,3 Quarry Lane,Tamsin Wells,CA,931999,\r\n\
    Talia Brandt,7 Heron Court,Quillan Springs,CA,93499,805-555-0164\r\n";

/// Line, column, value, words: what a check of the file finds.
const FAULTS: [(i32, &str, &str, &str); 3] = [
    (3, "state", "Calif.", "Write the two letters of a state or territory, for example CA."),
    (4, "zip", "931999", "A ZIP code has five digits, or nine as in 93499-1234."),
    (5, "", "", "The same stands on line 2."),
];

fn hex(bytes: &[u8]) -> String {
    format!("\\x{}", crate::domain::chain::hex(bytes))
}

/// What both have in common.
fn table(chance: &mut Chance, people: &People) -> (Uuid, Value) {
    let lines: Vec<Vec<&str>> = FILE.lines().map(|line| line.split(',').collect()).collect();
    let heads: Vec<String> = lines[0].iter().map(|head| (*head).to_owned()).collect();
    let mapping: Vec<i32> = guess(Kind::Customers, &heads)
        .into_iter()
        .map(|at| at.map_or(-1, |at| i32::try_from(at).unwrap_or(-1)))
        .collect();
    let id = chance.id();
    let row = json!({ "id": id, "kind": "customers", "format": "csv", "encoding": "utf-8", "delimiter": ",",
        "sheet": "", "sheets": [], "bytes": FILE.len(), "fingerprint": hex(&Sha256::digest(FILE)), "heads": heads,
        "head_line": 1, "samples": &lines[1..], "mapping": mapping, "percent": 100, "stop_asked": false, "words": "",
        "batch": chance.id(), "asked_by": people.office });
    (id, row)
}

/// Enters both.
pub async fn enter(conn: &mut Conn, w: &World, people: &People) -> sqlx::Result<()> {
    let mut chance = Chance::new(OWN);
    let (_, mut old) = table(&mut chance, people);
    let (id, mut waits) = table(&mut chance, people);
    let then = ago(w.today, 900);
    let set = |row: &mut Value, pairs: Value| {
        if let (Some(row), Value::Object(pairs)) = (row.as_object_mut(), pairs) {
            row.extend(pairs);
        }
    };
    set(
        &mut old,
        json!({ "file_name": "customers-of-before.csv", "state": "undone", "lines": 38, "good": 38, "bad": 0,
            "present": 0, "asked_at": at(then, 9, 12), "started_at": at(then, 9, 14), "ended_at": at(then, 9, 14),
            "undone_by": people.owner.id, "undone_at": at(then, 11, 3) }),
    );
    let day = ago(w.today, 2);
    set(
        &mut waits,
        json!({ "file_name": "new-customers.csv", "state": "checked", "lines": 4, "good": 1, "bad": 3, "present": 0,
            "asked_at": at(day, 15, 40), "started_at": at(day, 15, 41), "ended_at": at(day, 15, 41),
            "undone_by": null, "undone_at": null }),
    );
    fill(conn, Table::Import, &[old, waits]).await?;
    fill(
        conn,
        Table::ImportPart,
        &[json!({ "import_id": id, "position": 0, "content": hex(FILE.as_bytes()) })],
    )
    .await?;
    let fault = |(line, column, value, words): &(i32, &str, &str, &str)| json!({ "import_id": id, "line": line, "column_code": column, "value": value, "words": words });
    fill(conn, Table::ImportFault, &FAULTS.iter().map(fault).collect::<Vec<_>>()).await
}
