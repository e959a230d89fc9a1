//! Records, labels, rules of states and the sheet of a sign in Spanish: what is refused and what is shown.
use crate::{
    places::{self, with},
    records::record,
    sheets::Day,
    spanish::visible,
    spanish_forms::Reader,
};
use axum::http::StatusCode;
use plantward::{
    domain::{filing, hold::Rule, permission},
    texts::Language,
    web::words,
};
use uuid::Uuid;

/// A record of so much by Ines, who is not certified, on a hedge of two; its address.
async fn applied(r: &Reader, amount: &str) -> String {
    let ines = r.ines.id.to_string();
    let more = [("applicator", ines.as_str()), ("measure-0", "8"), ("count-0", "2"), ("water-0", "12")];
    let more = [more.as_slice(), &[("water_unit-0", "cup"), ("wind_direction", "N")]].concat();
    let (path, answer) = record(&r.maren, &r.yard, Some(r.plant), amount, &more).await;
    answer.went_to(&path);
    path
}

#[tokio::test]
async fn a_record_its_flags_and_its_versions_are_read_in_spanish() {
    let r = Reader::begin().await;
    // Maine asks for parts that are kept outside a record.
    sqlx::query("update site set state = 'ME', county = 'Waldo'").execute(&r.world.pool).await.unwrap();
    let path = applied(&r, "300").await;
    r.told(
        &path,
        &[
            "Registro de aplicación",
            "Necesita respuesta de una persona con licencia",
            "Por encima del límite anual",
            "Fuera del margen de la etiqueta",
            "Ese día no había certificación vigente",
            "riego en la base",
            "12 tazas",
            "norte",
            "hora de inicio: lo pide Maine 01-026 ch. 50 (leída en su fuente)",
            "número de certificación: lo pide",
            "Plazo para volver a entrar: el texto de la propia etiqueta",
            "Escrito por Maren Quist, 25 nov 2026, 10:00",
        ],
    )
    .await;
    let sign = format!("{path}/signatures");
    r.refused(&sign, &[("version", "1")], "Rellene esto, por favor.").await;
    let old = [("version", "7"), ("name", "Ines Okoro")];
    r.refused(&sign, &old, "El registro se enmendó entretanto. Léalo otra vez antes de firmar.").await;
    r.ines.post(&sign, &[("version", "1"), ("name", "Ines Okoro")]).await.went_to(&path);
    r.told(&path, &["Ines Okoro, como aplicador, 25 nov 2026 a las 10:00"]).await;
    let flag: Uuid =
        sqlx::query_scalar("select id from record_flag limit 1").fetch_one(&r.world.pool).await.unwrap();
    let (answers, field) = (format!("/flags/{flag}/answers"), format!("answer-{flag}"));
    r.refused(&answers, &[], "Rellene esto, por favor.").await;
    let told = "Responde a un aviso alguien con una certificación vigente hoy.";
    r.refused(&answers, &[(&field, "nobody")], told).await;
    places::certify(&r.world, r.ines.id, "2027-12-31").await;
    r.ines.post(&answers, &[(&field, "nobody")]).await.went_to(&path);
    r.told(&path, &["Respondido", "Ines Okoro, certificación"]).await;
}

#[tokio::test]
async fn an_amendment_is_refused_and_written_in_spanish() {
    let r = Reader::begin().await;
    // 3 to 6 mL a foot over 16 ft: 48 to 96 mL.
    let path = applied(&r, "60").await;
    let at = format!("{path}/amendments");
    r.told(&at, &["Enmendar un registro", "Partida 1", "Motivo de la enmienda", "taza", "norte"]).await;
    let (id, own, label_use, plant) =
        (&path[9..], r.ines.id.to_string(), r.yard.label_use.to_string(), r.plant.to_string());
    let form: places::Fields<'_> = vec![
        ("id", id),
        ("version", "1"),
        ("origin", "own"),
        ("on", "2026-11-25"),
        ("applicator", &own),
        ("rows", "1"),
        ("plant-0", &plant),
        ("use-0", &label_use),
        ("measure-0", "8"),
        ("count-0", "2"),
        ("amount-0", "60"),
        ("unit-0", "mL"),
        ("water-0", "12"),
        ("water_unit-0", "cup"),
        ("wind_direction", "N"),
        ("reason", "nobody"),
        ("step", "save"),
    ];
    for (field, value, told) in [
        ("reason", "", "Rellene esto, por favor."),
        ("origin", "", "Elija una de estas opciones, por favor."),
        ("amount-0", "a cup", "Esto no es un número; escriba por ejemplo 8 o 2.5."),
        ("amount-0", "", "Escriba cuánto producto se aplicó."),
        ("plant-0", "", "Elija una planta o nombre el otro terreno."),
        ("plant-0", "x", "Elija una de estas plantas."),
        ("count-0", "0", "Tiene que ser al menos 1."),
        ("count-0", "two", "Esto no es un número de plantas; escriba por ejemplo 3."),
        ("water_unit-0", "bucket", "Elija una de estas opciones."),
        ("supervisor", "x", "Elija a una de estas personas."),
        ("on", "2026-11-26", "Ese día aún no llega; un registro dice lo que se hizo."),
        ("finished_at", "half", "Esto no es una hora; escríbala como 14:30."),
        ("finished_at", "08:00", "El trabajo termina antes de empezar."),
        ("version", "7", "El registro se enmendó entretanto y va por la versión 1."),
    ] {
        let form = with(&with(&form, "started_at", "09:10"), field, value);
        r.refused(&at, &form, told).await;
    }
    r.refused(&at, &form, "No cambia nada: una enmienda dice otra cosa que el registro.").await;
    let dropped = with(&form, "drop-0", "yes");
    r.refused(&at, &dropped, "Anote al menos una planta o un lugar con su producto y su cantidad.").await;
    let weighed = with(&form, "unit-0", "g");
    r.refused(&at, &weighed, "Rootward 2F se vierte: escriba su cantidad como volumen").await;
    let more = with(&form, "amount-0", "300");
    let told = "300 mL está fuera del margen de la etiqueta, de 48 mL a 96 mL";
    r.refused(&at, &more, told).await;
    let asked = r.ines.post(&at, &more).await;
    let asked =
        asked.body.split("name=\"band-0\" value=\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    r.ines.post(&at, &with(&more, "band-0", &asked)).await.went_to(&path);
    let page = [
        "Enmendado por Ines Okoro, 25 nov 2026, 10:00. Motivo: nobody",
        "Cambios de la versión 2",
        "Partida 1, cantidad",
        "Superado por una enmienda",
        "versión 1",
    ];
    r.told(&path, &page).await;
    let gone = with(&with(&form, "step", "withdraw"), "version", "2");
    r.ines.post(&at, &gone).await.went_to(&path);
    r.told(&path, &["Retirado", "no, se retiró", "¿Cuenta?"]).await;
}

#[tokio::test]
async fn a_label_is_compared_and_signed_in_spanish() {
    let r = Reader::begin().await;
    sqlx::query("update product set registration_number = '99999-13'").execute(&r.world.pool).await.unwrap();
    let (_, version) = r.world.drafted(&r.maren).await;
    let path = format!("/label-versions/{version}");
    let uncertified = r.ines.sign_as_seen(version, "stale").await;
    assert_eq!(uncertified.status, StatusCode::CONFLICT);
    let told = "hace falta una certificación en “landscape maintenance” vigente hoy. Usted no tiene ninguna anotada.";
    assert!(visible(&uncertified.body).contains(told), "{}", uncertified.body);
    assert_eq!(r.left(&uncertified.body), Vec::<String>::new());
    places::certify(&r.world, r.ines.id, "2027-12-31").await;
    let shown = [
        "Borrador, sin firmar",
        "3 a 6 mL por pie de altura",
        "0.5 a 1 gal por pie de altura",
        "12 meses",
        "Solo del 1 mar al 30 nov",
        "No abarca plantas comestibles con fruto",
        "un año, la etiqueta no dice cuál",
        "He cotejado esta ficha con la etiqueta en mano",
        "La propia etiqueta es la ley",
    ];
    let page = r.says(&path, &shown).await;
    let stale = [("compared", "yes"), ("seen", "stale")];
    for (fields, status, told) in [
        (vec![], 422, "Márquelo cuando haya cotejado cada línea con la etiqueta en mano."),
        (stale.to_vec(), 409, "La ficha se cambió entretanto y no es la que usted cotejó."),
    ] {
        let refused = r.ines.post(&format!("{path}/signatures"), &fields).await;
        assert_eq!(refused.status.as_u16(), status);
        assert!(refused.body.contains(told), "{told}: {}", visible(&refused.body));
    }
    r.ines.sign_as_seen(version, &crate::support::seen(&page.body)).await.went_to(&path);
    r.says(&path, &["Firmada, vigente", "firmó el 25 nov 2026"]).await;
}

#[tokio::test]
async fn rules_of_states_are_answered_in_spanish() {
    let r = Reader::begin().await;
    let id = Uuid::now_v7().to_string();
    let at = "/state-rules/ct-turf/answers";
    let holds =
        |day| [("id", id.as_str()), ("answer", "holds"), ("citation", "nobody"), ("verified_on", day)];
    r.refused(at, &[("id", &id)], "Elija una de estas opciones, por favor.").await;
    r.refused(at, &[("id", &id), ("answer", "set-aside")], "Rellene esto, por favor.").await;
    r.refused(at, &holds("2026-11-24"), "usted no tiene ninguna certificación anotada.").await;
    places::certify(&r.world, r.ines.id, "2027-12-31").await;
    r.refused(at, &holds("2026-11-26"), "todavía no ha llegado").await;
    r.refused(at, &holds("26 Nov"), "Esto no es una fecha").await;
    let read = "/state-rules/ca-certified-person/answers";
    r.refused(read, &holds("2026-11-24"), "Esta norma se leyó en su fuente y rige.").await;
    r.ines.post(at, &holds("2026-11-24")).await.went_to("/state-rules/ct-turf");
    r.told("/state-rules/ct-turf", &["Verificada aquí", "leída el", "24 nov 2026"]).await;
    let pest = |state| [("id", id.as_str()), ("pest", "aphids"), ("state", state), ("source", "nobody")];
    r.refused("/listed-pests", &pest("ME"), "Elija una de estas opciones, por favor.").await;
    let listed = [pest("ME").as_slice(), &[("mark", "checked")]].concat();
    let astray = [pest("QQ").as_slice(), &[("mark", "checked")]].concat();
    r.refused("/listed-pests", &astray, "Escriba las dos letras de un estado o territorio").await;
    r.ines.post("/listed-pests", &listed).await.went_to("/listed-pests");
    r.told("/listed-pests", &["Leída en su fuente", "Quitar aphids"]).await;
    let twice = Uuid::now_v7().to_string();
    let twice = with(&listed, "id", &twice);
    r.refused("/listed-pests", &twice, "La lista de este estado ya la tiene; quite primero esa anotación.")
        .await;
    r.ines.post(&format!("/listed-pests/{id}/removals"), &[]).await.went_to("/listed-pests");
    r.told("/listed-pests", &["Ninguna anotada."]).await;
}

/// What is made of tables of rules, and what is said after a write, is found among the sentences.
#[test]
fn what_rules_ask_and_writes_answer_has_a_spanish_form() {
    let mut all: Vec<String> = vec![];
    for one in filing::ALL {
        for (words, instead) in one.record.outside() {
            let (first, rest) = instead.split_at(1);
            all.push(format!("{words}: {}{rest}", first.to_lowercase()));
        }
        let asks = one.record.fields().map(|field| field.words().to_owned());
        all.extend(asks.chain([one.record.mark.words().to_owned()]));
    }
    all.extend(Rule::ALL.map(|rule| words::broke(rule.code()).to_owned()));
    all.extend(permission::RULES.iter().map(|rule| rule.words.to_owned()));
    let notices = [
        "The flag is answered.",
        "Signed. This version is in force and stays as it is.",
        "The answer is kept; the due days of the state's sites are worked out anew.",
        "The pest is listed.",
        "The pest is off the list.",
    ];
    all.extend(notices.map(str::to_owned));
    let unknown: Vec<&String> = all.iter().filter(|one| !Language::knows(one)).collect();
    assert!(all.len() > 100 && unknown.is_empty(), "{unknown:?}");
}

/// What the law wants on a sign stays in English; what is said about the sign does not.
#[tokio::test]
async fn a_sign_is_in_english_and_its_sheet_in_spanish() {
    let day = Day::new().await;
    let hedge = day.yard.hedge(&day.world, "front hedge", 1).await;
    let visit = day.book(hedge, "2026-11-30", "3").await;
    day.run("update site set state = 'CO', county = 'Boulder' where id = $1", &[day.yard.site]).await;
    day.ines.post("/account/languages", &[("language", "es")]).await;
    let page = day.ines.get(&format!("/visits/{visit}/signs")).await;
    assert!(
        page.page().contains("lang=\"en\">") && page.body.contains("PESTICIDES APPLIED</p>"),
        "{}",
        page.body
    );
    let about = page.body.split("<p class=\"soft\" lang=\"es\">").nth(1).expect("words about the sign");
    let about = about.split("</p>").next().unwrap();
    for words in
        ["Tamaño 5 x 4 in", "negro sobre amarillo vivo", "al terminar el trabajo", "leída en su fuente"]
    {
        assert!(about.contains(words), "{words}: {about}");
    }
}
