//! Workbooks written by two other libraries give the same rows as the list of commas.
use super::{bring, bring_in, check, count};
use crate::support::World;
use rust_xlsxwriter::{ExcelDateTime, Format, Workbook};

fn customers() -> Vec<u8> {
    let mut book = Workbook::new();
    book.add_worksheet().set_name("Notes").unwrap().write(0, 0, "nothing here").unwrap();
    let sheet = book.add_worksheet().set_name("List").unwrap();
    for (column, head) in ["Name", "Zip", "Telephone", "Note"].into_iter().enumerate() {
        sheet.write(3, u16::try_from(column).unwrap(), head).unwrap();
    }
    sheet.write(4, 0, "Zoë Muñoz").unwrap().write(4, 1, 93_499).unwrap().write(4, 3, "=SUM(1)").unwrap();
    sheet
        .write(6, 0, "Perrin Dale")
        .unwrap()
        .write(6, 1, 2_139)
        .unwrap()
        .write(6, 2, 8_055_550_123_i64)
        .unwrap();
    book.save_to_buffer().unwrap()
}

#[tokio::test]
async fn a_sheet_is_chosen_and_its_numbers_are_read_as_people_mean_them() {
    let world = World::new().await;
    let office = world.office().await;
    let (at, brought) = bring(&office, "customers", "book.xlsx", &customers()).await;
    // The first sheet holds one line and no list.
    assert!(
        brought.body.contains("There is a first line with heads and nothing below it."),
        "{}",
        brought.body
    );
    assert_eq!(office.get(&at).await.status, 404);
    let mut book = Workbook::new();
    book.add_worksheet().set_name("Other").unwrap().write(0, 0, "a").unwrap().write(1, 0, "b").unwrap();
    let sheet = book.add_worksheet().set_name("List").unwrap();
    for (column, head) in ["Name", "Zip", "Telephone"].into_iter().enumerate() {
        sheet.write(3, u16::try_from(column).unwrap(), head).unwrap();
    }
    sheet.write(4, 0, "Zoë Muñoz").unwrap().write(4, 1, 93_499).unwrap();
    sheet
        .write(6, 0, "Perrin Dale")
        .unwrap()
        .write(6, 1, 2_139)
        .unwrap()
        .write(6, 2, 8_055_550_123_i64)
        .unwrap();
    let (at, brought) = bring(&office, "customers", "book.xlsx", &book.save_to_buffer().unwrap()).await;
    brought.went_to(&at);
    assert!(office.get(&at).await.page().contains("Sheet that is read"));
    office.post(&format!("{at}/sheets"), &[("sheet", "List")]).await.went_to(&at);
    let checked = check(&world, &office, &at).await;
    assert!(checked.page().contains("Bring in 2 lines"), "{}", checked.body);
    bring_in(&world, &office, &at).await.page();
    assert_eq!(
        count(&world, "select count(*) from customer where zip = '02139' and phone = '8055550123'").await,
        1
    );
}

#[tokio::test]
async fn days_and_times_of_a_workbook_are_days_and_times() {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    let (day, time) = (Format::new().set_num_format("m/d/yyyy"), Format::new().set_num_format("h:mm"));
    sheet.write(0, 0, "Date").unwrap().write(0, 1, "Start").unwrap().write(0, 2, "yes").unwrap();
    let on = ExcelDateTime::from_ymd(2024, 2, 29).unwrap();
    sheet.write_with_format(1, 0, &on, &day).unwrap();
    sheet.write_with_format(1, 1, ExcelDateTime::from_hms(14, 5, 0).unwrap(), &time).unwrap();
    sheet.write(1, 2, true).unwrap().write(1, 3, 0.1).unwrap();
    let bytes = book.save_to_buffer().unwrap();
    plantward::input::xlsx::guard(&bytes).unwrap();
    let mut rows = vec![];
    let stop = plantward::input::Stop::default();
    plantward::input::xlsx::rows(&bytes, "Sheet1", &stop, &mut |line, cells| {
        rows.push((line, cells));
        true
    })
    .unwrap();
    assert_eq!(rows[1], (2, vec!["2024-02-29".into(), "14:05".into(), "yes".into(), "0.1".into()]));
}

/// Written by openpyxl (Debian's python3-openpyxl): shared texts, styles and dates in its own way.
#[test]
fn a_workbook_of_another_library_reads_the_same() {
    let script = "import openpyxl, datetime, sys\n\
        b = openpyxl.Workbook(); s = b.active; s.title = 'List'\n\
        s.append(['Name', 'Day', 'Amount']); s.append(['Zoë Muñoz', datetime.date(2024, 2, 29), 2.5])\n\
        s.append(['two\\nlines', None, 40]); b.save(sys.argv[1])";
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book.xlsx");
    // Debian's own interpreter: that is where the package is.
    let ran =
        std::process::Command::new("/usr/bin/python3").args(["-c", script]).arg(&path).output().unwrap();
    assert!(
        ran.status.success(),
        "apt-get install python3-openpyxl\n{}",
        String::from_utf8_lossy(&ran.stderr)
    );
    let bytes = std::fs::read(&path).unwrap();
    plantward::input::xlsx::guard(&bytes).unwrap();
    assert_eq!(plantward::input::xlsx::sheets(&bytes).unwrap(), ["List"]);
    let mut rows = vec![];
    plantward::input::xlsx::rows(&bytes, "List", &plantward::input::Stop::default(), &mut |_, cells| {
        rows.push(cells);
        true
    })
    .unwrap();
    assert_eq!(rows[1], ["Zoë Muñoz", "2024-02-29", "2.5"]);
    assert_eq!(rows[2], ["two\nlines", "", "40"]);
}
