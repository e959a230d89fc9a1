//! A report's rows and a state's log as files: four other libraries read the same cells out of each kind.
use super::story::october;
use crate::{
    exports::{book_cells, bytes, csv_cells},
    reports::ground::{Ground, write},
    support::{Visitor, World},
};
use std::process::Command;

/// The cells as openpyxl reads them (Debian's python3-openpyxl), a day as ISO 8601 writes it.
fn by_openpyxl(book: &[u8]) -> Vec<Vec<String>> {
    let mut file = tempfile::Builder::new().suffix(".xlsx").tempfile().unwrap();
    std::io::Write::write_all(&mut file, book).unwrap();
    let script = "import openpyxl, json, sys, datetime\n\
        def told(v):\n\
        \x20   if v is None: return ''\n\
        \x20   if isinstance(v, datetime.datetime): return v.date().isoformat()\n\
        \x20   if isinstance(v, float) and v == int(v): return str(int(v))\n\
        \x20   return str(v)\n\
        s = openpyxl.load_workbook(sys.argv[1]).active\n\
        print(json.dumps([[told(v) for v in row] for row in s.iter_rows(values_only=True)]))";
    let run = Command::new("/usr/bin/python3").args(["-c", script]).arg(file.path()).output().unwrap();
    assert!(
        run.status.success(),
        "apt-get install python3-openpyxl\n{}",
        String::from_utf8_lossy(&run.stderr)
    );
    serde_json::from_slice(&run.stdout).unwrap()
}

/// A figure without the zeros at its end, which a workbook keeps in the cell's look.
fn figures(cells: &[Vec<String>]) -> Vec<Vec<String>> {
    let figure = |cell: &String| match cell.parse::<rust_decimal::Decimal>() {
        Ok(number) => number.normalize().to_string(),
        Err(_) => cell.clone(),
    };
    cells.iter().map(|row| row.iter().map(figure).collect()).collect()
}

/// Reads a list in its three kinds by csv, calamine, openpyxl and pdftotext; its cells.
async fn same_cells(world: &World, office: &Visitor, [csv, xlsx, pdf]: [&str; 3]) -> Vec<Vec<String>> {
    let cells = csv_cells(&bytes(world, office, csv).await.0);
    let book = bytes(world, office, xlsx).await.0;
    assert_eq!(figures(&cells), figures(&book_cells(&book)), "{xlsx} by calamine");
    assert_eq!(figures(&cells), figures(&by_openpyxl(&book)), "{xlsx} by openpyxl");
    let paper: String = office.paper(pdf).await.split_whitespace().collect();
    for cell in cells.iter().skip(1).flatten() {
        // On paper a long cell is broken where it must be, between other columns.
        for word in cell.split_whitespace() {
            assert!(paper.contains(word) || word.len() > 12, "{pdf}: {word} of {cell} is not on paper");
        }
    }
    cells
}

#[tokio::test]
async fn a_reports_rows_are_the_same_in_every_file() {
    let (world, office, _, _) = october().await;
    let at = |file: &str| format!("/filings/ca-monthly/2026-10/{file}?county=San+Luis+Obispo");
    let cells = same_cells(&world, &office, [&at("file"), &at("rows.xlsx"), &at("rows.pdf")]).await;
    assert!(cells.len() > 1, "{cells:?}");
    let detail: Vec<String> = sqlx::query_scalar(
        "select coalesce(detail ->> 'format', 'own') from audit where deed = 'exported' and noun = 'filing' order by id",
    )
    .fetch_all(&world.pool)
    .await
    .unwrap();
    assert_eq!(detail, ["own", "xlsx", "pdf"], "each is written down");
}

#[tokio::test]
async fn a_states_log_is_the_same_in_every_file() {
    let world = World::new().await;
    let office = world.office().await;
    let ground = Ground::lay(&world, office.id).await;
    for (on, name) in [("2026-10-05", "=cmd|' /C calc'!A0"), ("2026-10-06", "Per Aldous; \"Dee\", Ödland")] {
        let mut record =
            ground.record(on, vec![ground.item(1, 0, "24", "mL"), ground.item(2, 1, "1.50", "floz")]);
        record.head.customer_name = name.into();
        record.head.site_state = "TX".into();
        write(&world, &record).await;
    }
    for code in ["TX", "PA", "WI", "MN"] {
        if code != "TX" {
            sqlx::raw_sql(sqlx::AssertSqlSafe(format!(
                "set session_replication_role = replica; update application_record set site_state = '{code}';
                 reset session_replication_role"
            )))
            .execute(&world.pool)
            .await
            .unwrap();
        }
        let at = ["csv", "xlsx", "pdf"]
            .map(|kind| format!("/exports/state-log.{kind}?state={code}&from=2026-10-01&until=2026-10-31"));
        let cells = same_cells(&world, &office, [&at[0], &at[1], &at[2]]).await;
        assert_eq!(cells.len(), 5, "{code}: both products of both records");
        assert!(cells[0].contains(&"Missing".to_owned()));
    }
    let files: Vec<String> = sqlx::query_scalar(
        "select detail ->> 'file' from audit where deed = 'exported' and noun = 'state log' order by id limit 3",
    )
    .fetch_all(&world.pool)
    .await
    .unwrap();
    assert_eq!(files, ["log_TX_2026-10-01_2026-10-31"; 3]);
    let page = office.get("/filings/states/TX").await;
    assert!(page.page().contains("/exports/state-log.pdf") && page.body.contains("in the background"));
    for wrong in
        ["/exports/state-log.csv", "/exports/state-log.csv?state=ZZ", "/exports/state-log.csv?state=tx"]
    {
        assert_eq!(office.get(wrong).await.status, axum::http::StatusCode::NOT_FOUND, "{wrong}");
    }
}
