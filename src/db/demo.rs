//! Many rows at once, as only the demo company needs them: its past is made, not typed.
use super::Conn;
use serde_json::Value;

/// The tables that are filled by the heap. Records, labels and products go through their own files.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Table {
    CountyRegistration,
    Customer,
    Parcel,
    Site,
    SiteWindow,
    SiteNeighbour,
    Import,
    ImportPart,
    ImportFault,
    Plant,
    Visit,
    PlannedDose,
    RecordFlag,
    Audit,
}

impl Table {
    fn name(self) -> &'static str {
        match self {
            Self::CountyRegistration => "county_registration",
            Self::Customer => "customer",
            Self::Parcel => "parcel",
            Self::Site => "site",
            Self::SiteWindow => "site_window",
            Self::SiteNeighbour => "site_neighbour",
            Self::Import => "import",
            Self::ImportPart => "import_part",
            Self::ImportFault => "import_fault",
            Self::Plant => "plant",
            Self::Visit => "visit",
            Self::PlannedDose => "planned_dose",
            Self::RecordFlag => "record_flag",
            Self::Audit => "audit",
        }
    }
}

/// Puts the rows in, in their order. Each is an object of column names; all name the same columns,
/// and those that they leave out take their defaults.
///
/// # Errors
/// When a rule of the table breaks, or a row is no object.
pub async fn fill(conn: &mut Conn, table: Table, rows: &[Value]) -> sqlx::Result<()> {
    let Some(first) = rows.first() else { return Ok(()) };
    let no_object = || sqlx::Error::Encode("a row is an object of columns".into());
    let columns: Vec<String> =
        first.as_object().ok_or_else(no_object)?.keys().map(|key| format!("\"{key}\"")).collect();
    let (table, columns) = (table.name(), columns.join(", "));
    let text = format!(
        "insert into {table} ({columns}) select {columns} from jsonb_populate_recordset(null::{table}, $1)"
    );
    sqlx::query(sqlx::AssertSqlSafe(text)).bind(sqlx::types::Json(rows)).execute(conn).await?;
    Ok(())
}
