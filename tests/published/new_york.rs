//! New York's text file from whole applications: the published line byte for byte, and whatever people type.

use plantward::domain::filing::draft::{Draft, Input, Maker, Work, weighed};
use plantward::domain::filing::{Period, rule};
use plantward::domain::record::Field;
use rust_decimal::Decimal;
use std::collections::BTreeSet;

/// The application of the published line.
fn work() -> Work {
    Work {
        record: "r1".into(),
        on: "2022-04-13".parse().unwrap(),
        customer: "Odile Farrant".into(),
        state: "NY".into(),
        county: "Westchester".into(),
        site_address: "123 Main Road, Scarsdale, NY 10583".into(),
        treated: "boxwood".into(),
        area_sqft: None,
        certification: "C1234567".into(),
        certified: "Maren Quist".into(),
        product: "EXAMPLE".into(),
        registration_number: "99999-365".into(),
        amount: weighed(9.into(), "lb", None),
        stated: "9 lb".into(),
        ingredients: String::new(),
        restricted_use: false,
        present: BTreeSet::from([
            Field::RegistrationNumber,
            Field::Product,
            Field::Amount,
            Field::Date,
            Field::SiteAddress,
            Field::SiteZip,
            Field::Rate,
            Field::Method,
            Field::TargetPest,
        ]),
    }
}

fn made(work: &[Work]) -> Draft {
    let maker = Maker { registration: Some("19999".into()), ..Maker::default() };
    let period = Period::parse("2022").unwrap();
    (rule("ny-yearly").unwrap().1.layout)(&Input { period, county: "", maker: &maker, work })
}

fn text(draft: &Draft) -> &str {
    draft.text.as_deref().unwrap()
}

/// The line of the text file specification of Form 26, with the product's name and number replaced.
#[test]
fn the_published_line_comes_out_byte_for_byte() {
    let draft = made(&[work()]);
    assert_eq!(
        text(&draft).as_bytes(),
        b"0|C1234567|19999|99999-365|EXAMPLE|9|LB|4/13/2022||55|123 Main Road|Scarsdale|10583\r\n"
    );
    assert_eq!(draft.gaps, []);
}

/// Units must be true weight or volume (text file specification). Sizes of units: NIST Handbook 44, Appendix C.
#[test]
fn quantities_are_weight_or_volume() {
    for (value, unit, piece, told) in [
        ("9", "lb", None, "|9|LB|"),
        ("0.5", "floz", None, "|0.5|FL OZ|"),
        ("24", "mL", None, "|24|ML|"),
        ("250", "mg", None, "|0.25|G|"),
        // A teaspoon is a sixth of a fluid ounce.
        ("1", "tsp", None, "|0.1667|FL OZ|"),
        ("2", "cup", None, "|16|FL OZ|"),
        ("3", "packet", Some(("1.6", "oz")), "|4.8|OZ|"),
        ("100", "gal", None, "|100|GAL|"),
    ] {
        let decimal = |text: &str| Decimal::from_str_exact(text).unwrap();
        let piece = piece.map(|(mass, unit)| (decimal(mass), unit));
        let draft = made(&[Work { amount: weighed(decimal(value), unit, piece), ..work() }]);
        assert!(text(&draft).contains(told), "{value} {unit}: {}", text(&draft));
    }
    for (amount, stated) in [
        (weighed(3.into(), "packet", None), "3 packet"),
        (None, "2 scoop"),
        (weighed(Decimal::new(1, 9), "lb", None), ""),
    ] {
        let draft = made(&[Work { amount, stated: stated.into(), ..work() }]);
        assert_eq!(text(&draft), "", "{stated} is no line");
        assert!(draft.gaps[0].words.starts_with("left out of the file"), "{:?}", draft.gaps);
    }
}

/// What would be rejected is left out and named, and nothing that anybody types breaks the file: every line has
/// twelve separators and ends with CR LF, and the whole file is ASCII.
#[test]
fn hostile_values_never_break_a_line() {
    let parts = [
        "|",
        "\r\n",
        "\n",
        "\r",
        "é",
        "東",
        "\u{0}",
        "\u{7f}",
        "\t",
        "P.O. Box 7",
        "EA",
        "x",
        "",
        " ",
        ",",
        ", ",
        "'",
        "\u{2028}",
    ];
    let mut number = 0x2545_F491_4F6C_DD1D_u64;
    let mut dice = |sides: usize| {
        number ^= number << 13;
        number ^= number >> 7;
        number ^= number << 17;
        usize::try_from(number % u64::try_from(sides).unwrap()).unwrap()
    };
    let (mut lines, mut left_out) = (0, 0);
    for _ in 0..20_000 {
        let mut item = work();
        for _ in 0..=dice(2) {
            let part = parts[dice(parts.len())];
            let field: &mut String = match dice(6) {
                0 => &mut item.product,
                1 => &mut item.site_address,
                2 => &mut item.certification,
                3 => &mut item.registration_number,
                4 => &mut item.county,
                _ => &mut item.customer,
            };
            let mut letters: Vec<char> = field.chars().collect();
            let at = dice(letters.len() + 1);
            letters.splice(at..at, part.chars());
            *field = letters.into_iter().collect();
        }
        let draft = made(&[item.clone(), work()]);
        let file = text(&draft);
        assert!(file.is_ascii() && file.ends_with("|10583\r\n"), "{item:?}");
        let own: Vec<&str> = file.split_terminator("\r\n").collect();
        for line in &own {
            assert_eq!(line.matches('|').count(), 12, "{line:?} of {item:?}");
            assert!(line.bytes().all(|byte| (b' '..=b'~').contains(&byte)), "{line:?}");
        }
        let named = draft.gaps.iter().filter(|gap| gap.words.starts_with("left out")).count();
        assert_eq!(own.len() + named, 2, "every application is a line or is named: {item:?}");
        (lines, left_out) = (lines + own.len(), left_out + named);
    }
    assert!(lines > 21_000 && left_out > 5_000, "{lines} lines, {left_out} left out: both ways are tried");
}
