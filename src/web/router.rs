//! The whole HTTP table: method, address, who may, what answers. Nothing is reachable that is not a line here,
//! and a test opens every line as every kind of person.
use super::{
    AppState, Error, account, calendars, company, customers, day_holds, documents, due, error, field,
    guard::{self, Who},
    help, home, imports, kit, labels, people, plans, plants, products, records, session, sharing, sheets,
    sites, state_rules, statics,
    trail::{self, Shows},
    vehicles, visits, ways_out, what_if, working,
};
use axum::{
    Router,
    extract::DefaultBodyLimit,
    http::{Method, StatusCode},
    middleware::{from_fn, from_fn_with_state},
    response::{IntoResponse, Response},
    routing::MethodRouter,
};
use std::time::Duration;
use tower_http::{catch_panic::CatchPanicLayer, compression::CompressionLayer};

/// One line of the table.
#[derive(Clone)]
pub struct Line {
    pub method: Method,
    pub path: &'static str,
    pub who: Who,
    /// What its page shows of customers or records: each look is written into the audit. None: nothing, or its own
    /// handler writes it down.
    pub shows: Option<&'static str>,
    answers: MethodRouter<AppState>,
}

macro_rules! lines {
    ($( $method:ident $path:literal $who:ident $handler:path $(=> $noun:literal)?; )*) => {
        vec![$( Line {
            method: Method::$method,
            path: $path,
            who: Who::$who,
            shows: None$(.or(Some($noun)))?,
            answers: axum::routing::on(method_filter(&Method::$method), $handler),
        } ),*]
    };
}

mod business;

/// Every line there is, family by family.
#[must_use]
pub fn table() -> Vec<Line> {
    [
        house(),
        accounts(),
        of_people(),
        of_customers(),
        business::of_mail(),
        of_sites(),
        business::of_agreements(),
        business::of_renewals(),
        business::of_papers(),
        of_plants(),
        of_products(),
        of_state_rules(),
        of_kit(),
        business::of_imports(),
        of_due(),
        of_plans(),
        of_visits(),
        of_records(),
        business::of_filings(),
        business::of_evidence(),
    ]
    .concat()
}

fn house() -> Vec<Line> {
    lines! {
        GET "/healthz" Anyone home::health;
        GET "/readyz" Anyone home::ready;
        GET "/static/{hash}/{name}" Anyone statics::show;
        GET "/field" Anyone field::show;
        GET "/field-worker.js" Anyone field::worker;
        GET "/manifest.webmanifest" Anyone field::manifest;
        GET "/" SignedIn home::show;
    }
}

fn accounts() -> Vec<Line> {
    lines! {
        GET "/sign-in" Anyone account::sign_in_form;
        POST "/sign-in" Anyone account::sign_in;
        POST "/sign-out" SignedIn account::sign_out;
        GET "/invitation/{secret}" Anyone account::invitation_form;
        POST "/invitation/{secret}" Anyone account::accept;
        GET "/setup/{secret}" Anyone account::setup_form;
        POST "/setup/{secret}" Anyone account::set_up;
        GET "/account" SignedIn account::show;
        POST "/account/languages" SignedIn account::choose_language;
        POST "/account/sign-outs" SignedIn account::sign_out_everywhere;
        POST "/account/calendars" SignedIn calendars::make_own;
        POST "/account/calendars/revocations" SignedIn calendars::revoke_own;
        GET "/calendars/{secret}" Anyone calendars::show;
    }
}

fn of_people() -> Vec<Line> {
    lines! {
        GET "/company" Owner company::edit_form;
        POST "/company" Owner company::update;
        GET "/company/help" Office help::show;
        POST "/company/help" Office help::save;
        GET "/people" Office people::list;
        GET "/people/new" Owner people::new_form;
        POST "/people" Owner people::create;
        GET "/people/{id}" Office people::show;
        GET "/people/{id}/edit" Owner people::edit_form;
        POST "/people/{id}" Owner people::update;
        POST "/people/{id}/invitations" Owner people::invite_again;
        POST "/people/{id}/retirements" Owner people::retire;
        POST "/people/{id}/returns" Owner people::take_back;
        POST "/people/{id}/sign-outs" Owner people::sign_out_everywhere;
        POST "/people/{id}/certifications" Owner people::certify;
        POST "/people/{id}/courses" Owner people::took_course;
        POST "/people/{id}/calendars" Owner calendars::make;
        POST "/people/{id}/calendars/revocations" Owner calendars::revoke;
        GET "/people/{id}/working-week" Office working::week_form;
        POST "/people/{id}/working-week" Office working::change_week;
        GET "/company/terms" Owner working::terms_form;
        POST "/company/terms" Owner working::change_terms;
        GET "/vehicles" Office vehicles::list;
        GET "/vehicles/new" Office vehicles::new_form;
        POST "/vehicles" Office vehicles::create;
        GET "/vehicles/{id}/edit" Office vehicles::edit_form;
        POST "/vehicles/{id}" Office vehicles::update;
        POST "/vehicles/{id}/retirements" Office vehicles::retire;
        POST "/vehicles/{id}/returns" Office vehicles::take_back;
    }
}

fn of_customers() -> Vec<Line> {
    lines! {
        GET "/customers" Office customers::list => "customers";
        GET "/customers/new" Office customers::new_form;
        POST "/customers" Office customers::create;
        GET "/customers/{id}" Office customers::show => "customer";
        GET "/customers/{id}/edit" Office customers::edit_form => "customer";
        POST "/customers/{id}" Office customers::update;
        POST "/customers/{id}/retirements" Office customers::retire;
        POST "/customers/{id}/returns" Office customers::take_back;
        GET "/customers/{id}/sites/new" Office sites::new_form => "customer";
        POST "/customers/{id}/sites" Office sites::create;
        POST "/customers/{id}/wishes" Office customers::change_wishes;
        POST "/customers/{id}/links" Office customers::make_link;
        POST "/customers/{id}/links/ends" Office customers::end_links;
    }
}

fn of_sites() -> Vec<Line> {
    lines! {
        GET "/sites" Office sites::list => "sites";
        GET "/sites/{id}" SignedIn sites::show => "site";
        GET "/sites/{id}/edit" Office sites::edit_form => "site";
        POST "/sites/{id}" Office sites::update;
        GET "/sites/{id}/customers" Office sites::hand_over_form => "site";
        POST "/sites/{id}/customers" Office sites::hand_over;
        GET "/sites/{id}/emergency-place" Office help::show_of_site => "site";
        POST "/sites/{id}/emergency-place" Office help::save_of_site;
        GET "/sites/{id}/cap-areas" SignedIn sites::cap_area_form => "site";
        POST "/sites/{id}/cap-areas" SignedIn sites::choose_cap_area;
        GET "/sites/{id}/earlier-uses" SignedIn sites::earlier_use_form => "site";
        POST "/sites/{id}/earlier-uses" SignedIn sites::answer_earlier_use;
        GET "/sites/{id}/exemptions" SignedIn sites::exemptions => "site";
        POST "/sites/{id}/exemptions" SignedIn sites::enter_exemption;
        POST "/sites/{id}/exemptions/{exemption}/ends" SignedIn sites::end_exemption;
        GET "/sites/{id}/neighbours" Office sites::neighbours => "site";
        POST "/sites/{id}/neighbours" Office sites::add_neighbour;
        GET "/sites/{id}/neighbours/{neighbour}" Office sites::neighbour_form => "site";
        POST "/sites/{id}/neighbours/{neighbour}" Office sites::change_neighbour;
        POST "/sites/{id}/neighbours/{neighbour}/removals" Office sites::remove_neighbour;
        POST "/sites/{id}/neighbours/proposals/{proposal}" Office sites::decide_proposal;
        POST "/sites/{id}/retirements" Office sites::retire;
        POST "/sites/{id}/returns" Office sites::take_back;
        GET "/sites/{id}/sharings" SignedIn sharing::show => "site";
        POST "/sites/{id}/sharings" SignedIn sharing::choose;
        GET "/sites/{id}/what-if" Office what_if::show => "site";
        GET "/sites/{id}/plants/new" Office plants::new_form => "site";
        POST "/sites/{id}/plants" Office plants::create;
    }
}

fn of_plants() -> Vec<Line> {
    lines! {
        GET "/plants" Office plants::list => "plants";
        GET "/plants/{id}" SignedIn plants::show => "plant";
        GET "/plants/{id}/edit" Office plants::edit_form => "plant";
        POST "/plants/{id}" Office plants::update;
        GET "/plants/{id}/measures" SignedIn plants::measure_form => "plant";
        POST "/plants/{id}/measures" SignedIn plants::measure;
        POST "/plants/{id}/ways-out" Office ways_out::choose;
        POST "/plants/{id}/ways-out/{choice}/returns" Office ways_out::take_back;
        POST "/plants/{id}/tries" Office what_if::save;
        POST "/plants/{id}/retirements" Office plants::retire;
        POST "/plants/{id}/returns" Office plants::take_back;
    }
}

fn of_products() -> Vec<Line> {
    lines! {
        GET "/products" SignedIn products::list;
        GET "/products/new" Office products::new_form;
        POST "/products" Office products::create;
        GET "/products/{id}" SignedIn products::show;
        GET "/products/{id}/edit" Office products::edit_form;
        POST "/products/{id}" Office products::update;
        POST "/products/{id}/retirements" Office products::retire;
        POST "/products/{id}/returns" Office products::take_back;
        POST "/products/{id}/registrations" Office products::register;
        GET "/products/{id}/label-versions/new" Office labels::new_form;
        POST "/products/{id}/label-versions" Office labels::create;
        GET "/label-versions/{id}" SignedIn labels::show;
        GET "/label-versions/{id}/edit" Office labels::edit_form;
        POST "/label-versions/{id}" Office labels::update;
        GET "/label-versions/{id}/uses/new" Office labels::new_use_form;
        POST "/label-versions/{id}/uses" Office labels::add_use;
        GET "/label-uses/{id}/edit" Office labels::edit_use_form;
        POST "/label-uses/{id}" Office labels::change_use;
        POST "/label-versions/{id}/uses/{use_id}/removals" Office labels::remove_use;
        POST "/label-versions/{id}/signatures" SignedIn labels::sign;
        POST "/label-versions/{id}/documents" Office documents::bring;
        GET "/documents/{id}" SignedIn documents::show;
        GET "/field/documents/{id}" SignedIn documents::show;
    }
}

fn of_state_rules() -> Vec<Line> {
    lines! {
        GET "/state-rules" SignedIn state_rules::list;
        GET "/state-rules/{code}" SignedIn state_rules::show;
        POST "/state-rules/{code}/answers" SignedIn state_rules::answer;
        GET "/listed-pests" SignedIn state_rules::pests;
        POST "/listed-pests" SignedIn state_rules::list_pest;
        POST "/listed-pests/{id}/removals" SignedIn state_rules::unlist_pest;
    }
}

fn of_kit() -> Vec<Line> {
    lines! {
        GET "/kit" Office kit::list;
        POST "/kit" Office kit::create;
        GET "/kit/{id}/edit" Office kit::edit_form;
        POST "/kit/{id}" Office kit::update;
        POST "/kit/{id}/retirements" Office kit::retire;
    }
}

fn of_due() -> Vec<Line> {
    lines! {
        GET "/due" Office due::list => "due list";
    }
}

fn of_plans() -> Vec<Line> {
    lines! {
        GET "/plans" Office plans::list => "week plan";
        GET "/plans/{monday}" Office plans::show => "week plan";
        POST "/plans/{monday}/runs" Office plans::start;
        POST "/plans/{monday}/runs/{id}/ends" Office plans::stop;
        GET "/plans/{monday}/stops/new" Office plans::add_form => "week plan";
        POST "/plans/{monday}/stops" Office plans::add;
        GET "/plans/{monday}/stops/{id}" Office plans::move_form => "week plan";
        POST "/plans/{monday}/stops/{id}" Office plans::change;
        POST "/plans/{monday}/releases" Office plans::release;
    }
}

fn of_visits() -> Vec<Line> {
    lines! {
        GET "/visits" SignedIn visits::list => "visits";
        GET "/visits/new" Office visits::new_form => "visits";
        POST "/visits" Office visits::create;
        GET "/visits/{id}" SignedIn visits::show => "visit";
        POST "/visits/{id}/moves" Office visits::move_to;
        POST "/visits/{id}/cancellations" Office visits::cancel;
        POST "/visits/{id}/promises" Office visits::promise;
        GET "/visits/{id}/signs" SignedIn visits::signs::show => "visit";
        POST "/visits/{id}/duties/{code}" SignedIn visits::duties::mark;
        POST "/visits/{id}/duties/{code}/notices" Office visits::duties::tell;
        POST "/visits/{id}/duties/{code}/exceptions" Owner visits::duties::excuse;
        GET "/day-holds" Office day_holds::list => "day holds";
        POST "/day-holds" Office day_holds::place;
        POST "/day-holds/{id}/lifts" Office day_holds::lift;
        GET "/route-sheets" SignedIn sheets::list => "route sheets";
        GET "/route-sheets/{technician}/{day}" SignedIn sheets::show => "route sheet";
        GET "/visits/{id}/records" SignedIn visits::record_form => "visit";
        POST "/visits/{id}/records" SignedIn visits::record;
    }
}

fn of_records() -> Vec<Line> {
    lines! {
        GET "/records" Office records::list => "records";
        GET "/records/new" Office records::new_form => "records";
        POST "/records" Office records::create;
        GET "/records/unsigned" Office records::unsigned => "records";
        GET "/records/kept" Office records::kept => "records";
        POST "/records/kept/{id}" Office records::settle;
        GET "/records/{id}" SignedIn records::show => "record";
        POST "/records/{id}/signatures" SignedIn records::sign;
        GET "/records/{id}/photos/{photo}" SignedIn records::photo => "record";
        GET "/records/{id}/amendments" SignedIn records::amend_form => "record";
        POST "/records/{id}/amendments" SignedIn records::amend;
        POST "/flags/{id}/answers" SignedIn records::answer;
    }
}

fn method_filter(method: &Method) -> axum::routing::MethodFilter {
    if *method == Method::POST { axum::routing::MethodFilter::POST } else { axum::routing::MethodFilter::GET }
}

/// The service: the table behind its guards.
pub fn app(state: AppState) -> Router {
    let mut router = Router::new();
    for line in table() {
        let takes = match line.path {
            // How large a table may be, its reader says, piece by piece.
            imports::UPLOAD if line.method == Method::POST => Some(DefaultBodyLimit::disable()),
            path if documents::is_brought_to(path) => Some(DefaultBodyLimit::max(documents::FORM_BYTES)),
            // Two heads, each with a thousand marks of both lists.
            "/evidence/checks" => Some(DefaultBodyLimit::max(1024 * 1024)),
            _ => None,
        };
        let answers = match takes {
            Some(limit) => line.answers.layer(limit),
            None => line.answers,
        };
        let answers = match line.shows {
            Some(noun) => {
                let shows = Shows { state: state.clone(), noun };
                answers.layer(from_fn_with_state(shows, trail::note))
            }
            None => answers,
        };
        router = router.route(line.path, answers.layer(from_fn_with_state(line.who, guard::admit)));
    }
    router
        .merge(crate::api::routes())
        .fallback(nothing_here)
        .method_not_allowed_fallback(wrong_method)
        .layer(DefaultBodyLimit::max(256 * 1024))
        .layer(from_fn(guard::readable))
        .layer(from_fn(error::dress))
        .layer(from_fn_with_state(state.clone(), session::load))
        .layer(from_fn_with_state(state.clone(), guard::same_origin))
        .layer(from_fn(in_time))
        .layer(CatchPanicLayer::custom(|_: Box<dyn std::any::Any + Send>| {
            Error::Internal(anyhow::anyhow!("a handler panicked")).into_response()
        }))
        .layer(from_fn(crate::api::dress))
        .layer(from_fn_with_state(state.clone(), guard::headers))
        .layer(CompressionLayer::new())
        .layer(from_fn(log))
        .with_state(state)
}

/// A request is answered in half a minute, or not at all; a large file may take longer on its way.
async fn in_time(request: axum::extract::Request, next: axum::middleware::Next) -> Response {
    let path = request.uri().path();
    let brings_file =
        request.method() == Method::POST && (path == imports::UPLOAD || documents::is_brought_to(path));
    let limit = Duration::from_secs(if brings_file { 15 * 60 } else { 30 });
    let answer = tokio::time::timeout(limit, next.run(request)).await;
    answer.unwrap_or_else(|_| StatusCode::SERVICE_UNAVAILABLE.into_response())
}

async fn nothing_here() -> Error {
    Error::NotFound
}

async fn wrong_method() -> Response {
    error::render(
        StatusCode::METHOD_NOT_ALLOWED,
        "Not in this way",
        "This address does not take that kind of request.".into(),
    )
}

/// One line a request: what was asked, how it went, how long it took. No query, no names.
async fn log(request: axum::extract::Request, next: axum::middleware::Next) -> Response {
    let id = uuid::Uuid::now_v7();
    let (method, path) = (request.method().clone(), request.uri().path().to_owned());
    let secret = ["/invitation/", "/setup/", "/calendars/", "/inspection/", "/c/", "/u/"]
        .iter()
        .find(|p| path.starts_with(**p));
    let path = secret.map_or(path.clone(), |p| format!("{p}…"));
    let begun = std::time::Instant::now();
    let span = tracing::info_span!("request", %id);
    let response = tracing::Instrument::instrument(next.run(request), span).await;
    let ms = u64::try_from(begun.elapsed().as_micros()).unwrap_or(u64::MAX) as f64 / 1000.0;
    tracing::info!(%id, %method, path, status = response.status().as_u16(), ms, "answered");
    response
}
