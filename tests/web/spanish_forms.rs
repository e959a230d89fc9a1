//! What is refused on the pages of land, plants and incidents, and what strangers meet, in Spanish: each answer says
//! why in the reader's language and has no word that only the English texts have.
use crate::{
    places,
    spanish::{visible, vocabulary, words},
    support::{Answer, Visitor, World},
    yard::Yard,
};
use axum::http::{Method, StatusCode, header};
use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use plantward::{actions::account, texts::Language};
use std::collections::BTreeSet;
use uuid::Uuid;

/// Typed by people or given by a label in these stories.
const TYPED: &str = "Podocarpus front hedge aphids Rootward Shrubs basal drench Shrubs Gate on the left, dog indoors \
                     Loading bay landscape maintenance tipped over Quillan Springs San Luis Obispo Tamber Lane nobody \
                     Bellwether Plant Care Maren Quist Ines Okoro";

/// A company with a yard, its owner Maren, and Ines, a technician who reads Spanish.
pub struct Reader {
    english: BTreeSet<String>,
    pub maren: Visitor,
    pub ines: Visitor,
    pub world: World,
    pub yard: Yard,
    pub plant: Uuid,
}

impl Reader {
    /// A technician who reads Spanish and has a visit at the yard.
    pub async fn begin() -> Self {
        let world = World::new().await;
        let (maren, ines) = (world.owner().await, world.technician().await);
        let yard = Yard::new(&world, &maren).await;
        let plant = yard.hedge(&world, "front hedge", 2).await;
        places::visit(&world, &yard.site.to_string(), ines.id, maren.id, "booked").await;
        ines.post("/account/languages", &[("language", "es")]).await;
        Self { english: only_english(), maren, ines, world, yard, plant }
    }

    /// The words of a page that only English texts have.
    pub fn left(&self, page: &str) -> Vec<String> {
        words(&visible(page)).filter(|word| self.english.contains(word)).collect()
    }

    /// Sends a form that must come back with these words, as typed, and no English.
    pub async fn refused(&self, path: &str, fields: &[(&str, &str)], told: &str) {
        let answer = self.ines.post(path, fields).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{path} {fields:?}");
        assert!(answer.body.contains(told), "{path} {fields:?}: {told}\n{}", visible(&answer.body));
        assert!(answer.body.contains("Todavía sin guardar"), "{path}");
        assert_eq!(self.left(&answer.body), Vec::<String>::new(), "{path} {fields:?}");
    }

    /// Sends a form that must be taken; the next page says these words once.
    async fn taken(&self, path: &str, fields: &[(&str, &str)], to: &str, told: &str) {
        let answer = self.ines.post(path, fields).await;
        answer.went_to(to);
        // The notice travels in a cookie, as the program worded it.
        let cookies = answer.headers.get_all(header::SET_COOKIE).iter().filter_map(|v| v.to_str().ok());
        let notice = cookies.filter_map(|one| one.strip_prefix("plantward-notice=")).next().unwrap();
        let words = URL_SAFE_NO_PAD.decode(notice.split(';').next().unwrap()).unwrap();
        assert_eq!(Language::Spanish.said(&String::from_utf8(words).unwrap()), told, "{path}");
    }

    /// A page that says these words.
    pub async fn says(&self, path: &str, words: &[&str]) -> Answer {
        let answer = self.ines.get(path).await;
        for one in words {
            assert!(answer.page().contains(one), "{path}: {one}\n{}", visible(&answer.body));
        }
        answer
    }

    /// A page that says these words and no English.
    pub async fn told(&self, path: &str, words: &[&str]) {
        let answer = self.says(path, words).await;
        assert_eq!(self.left(&answer.body), Vec::<String>::new(), "{path}");
    }
}

fn only_english() -> BTreeSet<String> {
    let spanish = vocabulary("es");
    let typed: BTreeSet<String> = words(TYPED).collect();
    vocabulary("en").into_iter().filter(|word| !spanish.contains(word) && !typed.contains(word)).collect()
}

#[tokio::test]
async fn mistakes_at_a_plant_are_told_in_spanish() {
    let r = Reader::begin().await;
    let measures = format!("/plants/{}/measures", r.plant);
    for (fields, told) in [
        (vec![("height_ft", "500")], "Ninguna planta es tan alta."),
        (vec![("stems", "5, six")], "no es un número; escriba los diámetros en pulgadas"),
        (vec![("stems", "5, 700")], "No puede haber un tronco de 700 pulgadas."),
        (vec![("stems", "5, 6")], "Diga cómo cuentan varios"),
        (
            vec![("girth_in", "30"), ("stems", "5")],
            "Escriba el contorno del tronco o su diámetro, no los dos.",
        ),
        (vec![], "Escriba una altura"),
    ] {
        r.refused(&measures, &fields, told).await;
    }
    let looks = format!("/plants/{}/looks", r.plant);
    let own: places::Fields<'_> = vec![
        ("on", "2026-11-20"),
        ("pest", "Aphids"),
        ("seen", "no"),
        ("id", "01890a5d-ac96-774b-bcce-b302099a8057"),
    ];
    let look = |field, value| places::with(&own, field, value);
    r.refused(&looks, &look("seen", ""), "Elija una de estas opciones, por favor.").await;
    r.refused(&looks, &look("on", "2026-11-26"), "Este día todavía no ha llegado.").await;
    r.refused(&looks, &look("pest", ""), "Rellene esto, por favor.").await;
    r.taken(&looks, &look("", ""), &looks, "La revisión está anotada.").await;
    let plant = format!("/plants/{}", r.plant);
    r.taken(&measures, &[("height_ft", "8")], &plant, "La medida está guardada.").await;
    r.refused(&looks, &look("seen", "yes"), "Esto ya está anotado y dice otra cosa que este formulario.")
        .await;
    r.told(&looks, &["No se vio ninguna", "20 nov 2026"]).await;
    r.says(&format!("/plants/{}", r.plant), &["seto de 2", "3 a 6 mL por ft de altura", "Por qué este día"])
        .await;
}

#[tokio::test]
async fn only_certified_people_answer_for_land_and_that_is_said_in_spanish() {
    let r = Reader::begin().await;
    let site = format!("/sites/{}", r.yard.site);
    r.says(&site, &["Límite anual, imidacloprid, un año natural", "Lote", "10,890 sq ft", "Próxima dosis:"])
        .await;
    let (areas, earlier) = (format!("{site}/cap-areas"), format!("{site}/earlier-uses"));
    r.told(&areas, &["lote: 10,890 sq ft de superficie; es la que vale ahora"]).await;
    r.told(&earlier, &["todo se conoce desde el"]).await;
    r.refused(&areas, &[], "Elija una de estas opciones, por favor.").await;
    let area = [("cap_area", "lot"), ("reason", "nobody")];
    r.refused(&areas, &area, "y usted no tiene ninguna certificación anotada.").await;
    places::certify(&r.world, r.ines.id, "2025-12-31").await;
    r.refused(&areas, &area, "y su última certificación venció el 31 dic 2025.").await;
    r.refused(
        &earlier,
        &[("known_from", "2026-11-26"), ("reason", "nobody")],
        "Este día todavía no ha llegado.",
    )
    .await;
    r.refused(&earlier, &[("known_from", "2026-02-30")], "Esto no es una fecha").await;
    r.refused(&format!("{site}/sharings"), &[], "Elija una de estas opciones, por favor.").await;
    r.told(&format!("{site}/sharings"), &["En el orden del día previsto", "0 días sin protección"]).await;
    let id = Uuid::now_v7().to_string();
    let exemption = |until: &'static str| {
        [
            ("ingredient", "imidacloprid"),
            ("from", "2026-11-01"),
            ("until", until),
            ("document", "2026-114"),
            ("exemption_reason", "nobody"),
        ]
    };
    let exemptions = format!("{site}/exemptions");
    let entered = |until| [exemption(until).as_slice(), &[("id", id.as_str())]].concat();
    r.refused(&exemptions, &entered("2026-10-31"), "El último día está antes del primero.").await;
    r.refused(&exemptions, &[("id", id.as_str())], "Rellene esto, por favor.").await;
    sqlx::query("update certification set expires_on = '2027-12-31'").execute(&r.world.pool).await.unwrap();
    r.refused(
        &areas,
        &[("cap_area", "treated-bed"), ("reason", "nobody")],
        "Esta superficie aún no se conoce.",
    )
    .await;
    let anew = "La exención está anotada; las fechas del terreno se calculan de nuevo.";
    r.taken(&exemptions, &entered("2026-12-31"), &exemptions, anew).await;
    r.told(&exemptions, &["En vigor", "31 dic 2026"]).await;
    let ends = format!("{exemptions}/{id}/ends");
    r.refused(&ends, &[], "Rellene esto, por favor.").await;
    r.taken(&ends, &[("reason", "nobody")], &exemptions, "La exención está terminada.").await;
    r.taken(&areas, &area, &site, "La superficie está elegida.").await;
    let known = [("known_from", "2026-01-01"), ("reason", "nobody")];
    r.taken(&earlier, &known, &site, "El uso anterior está respondido.").await;
    r.taken(&format!("{site}/sharings"), &[("sharing", "in-order")], &site, "El reparto está elegido.").await;
}

#[tokio::test]
async fn incidents_are_written_down_in_spanish() {
    let r = Reader::begin().await;
    let id = Uuid::now_v7().to_string();
    let own: places::Fields<'_> = vec![
        ("kind", "spill"),
        ("on", "2026-11-24"),
        ("hour", "14:30"),
        ("place", "Loading bay"),
        ("state", "MA"),
        ("what", "tipped over"),
        ("id", &id),
    ];
    let sent = |field, value| places::with(&own, field, value);
    for (field, value, told) in [
        ("kind", "", "Elija una de estas opciones, por favor."),
        ("on", "2026-11-26", "Esto todavía no ha ocurrido."),
        ("hour", "half", "Esto no es una hora; escríbala como 14:30."),
        ("hour", "", "Rellene esto, por favor."),
        ("state", "QQ", "Escriba las dos letras de un estado o territorio"),
        ("what", "", "Rellene esto, por favor."),
    ] {
        r.refused("/incidents", &sent(field, value), told).await;
    }
    let gone = [("on", "2026-03-08"), ("hour", "02:30"), ("state", "MA"), ("id", id.as_str())];
    r.refused("/incidents", &gone, "Ese día el reloj se adelantó").await;
    let path = format!("/incidents/{id}");
    r.taken("/incidents", &sent("", ""), &path, "Está anotado.").await;
    r.told(
        &path,
        &["Derrame, 24 nov 2026, 2:30 PM", "quedan 28 h 30 min para informarlo", "dentro de 48 horas"],
    )
    .await;
    r.told("/incidents", &["Derrame"]).await;
    r.told("/incidents/new", &["Una persona o un animal estuvo expuesto"]).await;
    let entry = Uuid::now_v7().to_string();
    let report = [
        ("id", entry.as_str()),
        ("kind", "reported"),
        ("on", "2026-11-25"),
        ("hour", "09:00"),
        ("words", "nobody"),
    ];
    let entries = format!("{path}/entries");
    r.refused(&entries, &report, "Diga a quién se informó y cómo.").await;
    let early = [
        ("id", entry.as_str()),
        ("kind", "reported"),
        ("on", "2026-11-23"),
        ("hour", "09:00"),
        ("words", "nobody"),
        ("reported_to", "nobody"),
    ];
    r.refused(&entries, &early, "Esto es anterior al incidente.").await;
    let named = [report.as_slice(), &[("reported_to", "nobody")]].concat();
    r.taken(&entries, &named, &path, "Está añadido; lo escrito se conserva.").await;
    r.told(&path, &["Se informó a nobody"]).await;
}

#[tokio::test]
async fn what_cannot_be_shown_is_told_in_the_readers_language() {
    let r = Reader::begin().await;
    let answer = |answer: Answer, status: StatusCode, told: &str| {
        assert_eq!(answer.status, status, "{}", answer.body);
        assert!(
            answer.body.contains(told) && answer.body.contains("Volver a la primera página"),
            "{told}: {}",
            answer.body
        );
        assert_eq!(r.left(&answer.body), Vec::<String>::new(), "{told}");
    };
    answer(r.ines.get("/nowhere").await, StatusCode::NOT_FOUND, "No existe esa página");
    answer(r.ines.get("/plants/x").await, StatusCode::BAD_REQUEST, "No se puede leer la dirección");
    answer(r.ines.post("/visits", &[]).await, StatusCode::NOT_FOUND, "No existe esa página");
    let measures = format!("/plants/{}/measures", r.plant);
    answer(
        r.ines.post_bare(&measures, &[]).await,
        StatusCode::FORBIDDEN,
        "Este formulario es de una sesión anterior",
    );
    answer(r.ines.post("/account", &[]).await, StatusCode::METHOD_NOT_ALLOWED, "Esta dirección no acepta");
    answer(
        r.ines.post("/incidents", &[]).await,
        StatusCode::BAD_REQUEST,
        "El formulario no nombra ningún registro.",
    );
    let json = Some((b"application/json".as_slice(), b"{}".to_vec()));
    let unread = r.ines.request(Method::POST, "/incidents", &[], json).await;
    answer(unread, StatusCode::BAD_REQUEST, "No es un formulario.");
    let stranger = r.world.stranger();
    let spanish = [("accept-language", "es-US,es;q=0.9,en;q=0.5")];
    let asks = |path| stranger.request(Method::GET, path, &spanish, None);
    answer(asks("/nowhere").await, StatusCode::NOT_FOUND, "No existe esa página");
    answer(asks("/invitation/spent").await, StatusCode::GONE, "Este enlace ya se usó o es demasiado viejo.");
    let signed_out = stranger.request(Method::POST, "/incidents", &spanish, None).await;
    answer(signed_out, StatusCode::UNAUTHORIZED, "Inicie sesión y pruebe otra vez.");
    let english = stranger.get("/nowhere").await;
    assert!(english.body.contains("Nothing here") && english.body.contains("Back to the first page"));
}

#[tokio::test]
async fn an_invited_person_chooses_a_password_in_the_browsers_language() {
    let r = Reader::begin().await;
    let dario = r.world.person("Dario Velm", plantward::domain::user::Role::Technician).await;
    let page = r.maren.post(&format!("/people/{dario}/invitations"), &[]).await;
    let link = page.page().split("/invitation/").nth(1).unwrap().split('<').next().unwrap().to_owned();
    let (path, spanish) = (format!("/invitation/{link}"), [("accept-language", "es")]);
    let stranger = r.world.stranger();
    let page = stranger.request(Method::GET, &path, &spanish, None).await;
    assert!(
        page.page().contains("<html lang=\"es\">") && page.body.contains("Hola, Dario Velm."),
        "{}",
        page.body
    );
    assert_eq!(r.left(&page.body), Vec::<String>::new());
    for (password, again, told) in [
        ("short", "short", "Use al menos 15 caracteres"),
        ("five green hedges in a row", "another", "Las dos contraseñas no son iguales."),
        ("abababababababab", "abababababababab", "Es demasiado fácil de adivinar"),
    ] {
        let fields = serde_urlencoded::to_string([("password", password), ("again", again)]).unwrap();
        let form = Some((b"application/x-www-form-urlencoded".as_slice(), fields.into_bytes()));
        let refused = stranger.request(Method::POST, &path, &spanish, form).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{password}");
        assert!(refused.body.contains(told), "{told}: {}", refused.body);
        assert_eq!(r.left(&refused.body), Vec::<String>::new(), "{password}");
    }
    r.told("/account", &["Calendario", "Crear una dirección de calendario"]).await;
    let made = r.ines.post("/account/calendars", &[]).await;
    assert!(made.page().contains("Solo se muestra ahora."), "{}", made.body);
    r.told("/account", &["Se creó una dirección el", "25 nov 2026"]).await;
    let revoked = "La dirección del calendario está anulada; quien la tenga ya no ve nada.";
    r.taken("/account/calendars/revocations", &[], "/account", revoked).await;
}

#[tokio::test]
async fn the_first_page_of_a_company_speaks_the_browsers_language() {
    let world = World::empty().await;
    let link = account::setup_link(&world.doer()).await.unwrap().unwrap();
    let (path, spanish, stranger) = (format!("/setup/{link}"), [("accept-language", "es")], world.stranger());
    let english = only_english();
    let left = |page: &str| words(&visible(page)).filter(|word| english.contains(word)).collect::<Vec<_>>();
    let page = stranger.request(Method::GET, &path, &spanish, None).await;
    assert!(page.page().contains("Crear su empresa") && page.body.contains("Zona horaria"), "{}", page.body);
    assert_eq!(left(&page.body), Vec::<String>::new());
    let form = Some((b"application/x-www-form-urlencoded".as_slice(), b"email=x&zip=1".to_vec()));
    let refused = stranger.request(Method::POST, &path, &spanish, form).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    for told in [
        "Un código postal tiene cinco cifras",
        "Esto no es una dirección de correo.",
        "Escriba el nombre de la zona",
    ] {
        assert!(refused.body.contains(told), "{told}: {}", refused.body);
    }
    assert_eq!(left(&refused.body), Vec::<String>::new());
}
