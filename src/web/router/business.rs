//! The lines of what surrounds the work: letters, prices, papers, tables that come in, reports and evidence.
use super::{Line, method_filter};
use crate::web::{
    agreements, answers, audit, customer_page, estimates, evidence, export, filings, guard::Who, imports,
    incidents, inspections, looks, messages, papers, price_list, reminders, renewals, reports, survival,
};
use axum::http::Method;

pub(super) fn of_mail() -> Vec<Line> {
    lines! {
        GET "/c/{link}" Anyone customer_page::show;
        POST "/c/{link}/answers" Anyone customer_page::answer;
        POST "/c/{link}/details" Anyone customer_page::details;
        POST "/c/{link}/neighbours" Anyone customer_page::neighbour;
        GET "/u/{link}" Anyone customer_page::out;
        POST "/u/{link}" Anyone customer_page::end_offers;
        GET "/answers" Office answers::list => "answers";
        POST "/answers/{id}/settlements" Office answers::settle;
        GET "/reminders" Office reminders::list => "reminders";
        GET "/reminders/terms" Owner reminders::terms_form;
        POST "/reminders/terms" Owner reminders::change_terms;
        GET "/sites/{id}/reminders" Office reminders::preview => "site";
        POST "/sites/{id}/reminders/tests" Office reminders::test;
        GET "/messages" Office messages::list => "messages";
        GET "/messages/letters.pdf" Office messages::letters => "letters";
        POST "/messages/postings" Office messages::posted;
        GET "/messages/{id}" Office messages::show => "message";
        POST "/messages/{id}/retries" Office messages::retry;
        POST "/messages/{id}/letters" Office messages::as_letter;
        POST "/messages/{id}/withdrawals" Office messages::withdraw;
        POST "/messages/{id}/bounces" Office messages::bounce;
    }
}

pub(super) fn of_agreements() -> Vec<Line> {
    lines! {
        GET "/sites/{id}/agreements" Office agreements::list => "site";
        POST "/sites/{id}/agreements" Office agreements::create;
        GET "/agreements/{id}/edit" Office agreements::edit_form => "agreement";
        POST "/agreements/{id}" Office agreements::update;
        POST "/agreements/{id}/ends" Office agreements::end;
        GET "/company/prices" Owner price_list::edit_form;
        POST "/company/prices" Owner price_list::update;
        GET "/sites/{id}/estimates" Office estimates::list => "site";
        POST "/sites/{id}/estimates" Office estimates::create;
        GET "/estimates/{id}" Office estimates::show => "estimate";
        GET "/estimates/{id}/paper" Office estimates::paper;
        POST "/estimates/{id}/acceptances" Office estimates::accept;
        POST "/estimates/{id}/withdrawals" Office estimates::withdraw;
        GET "/reports/charges" Office reports::charges::show => "charges";
        GET "/reports/charges.csv" Office reports::charges::file;
        GET "/records/{id}/statement" Office reports::charges::statement;
    }
}

pub(super) fn of_renewals() -> Vec<Line> {
    lines! {
        GET "/renewals" Office renewals::list => "renewals";
        GET "/survival" Office survival::show => "survival";
        GET "/plants/{id}/looks" SignedIn looks::list => "plant";
        POST "/plants/{id}/looks" SignedIn looks::create;
        POST "/looks/{id}/strikes" Office looks::strike;
        GET "/sites/{id}/renewals" Office renewals::show => "site";
        POST "/sites/{id}/renewals" Office renewals::create;
    }
}

pub(super) fn of_papers() -> Vec<Line> {
    lines! {
        GET "/papers" Office papers::list => "papers";
        GET "/papers/new" Office papers::new_form => "papers";
        POST "/papers" Office papers::create;
        POST "/papers/warnings" Owner papers::warn_before;
        POST "/papers/{id}/strikes" Office papers::strike;
        POST "/certifications/{id}/units" Office papers::need_units;
        GET "/papers/notices" Office papers::notice_log => "posting and notices";
        GET "/papers/container-labels" Office papers::container_labels;
        GET "/papers/container-labels/paper" Office papers::container_sheet => "container labels";
        GET "/incidents" SignedIn incidents::list => "incidents";
        GET "/incidents/new" SignedIn incidents::new_form => "incidents";
        POST "/incidents" SignedIn incidents::create;
        GET "/incidents/{id}" SignedIn incidents::show => "incident";
        POST "/incidents/{id}/entries" SignedIn incidents::add;
    }
}

pub(super) fn of_imports() -> Vec<Line> {
    lines! {
        GET "/imports" Office imports::list => "imports";
        POST "/imports" Office imports::create;
        GET "/imports/templates/{kind}" Office imports::template;
        GET "/imports/{id}" Office imports::show => "import";
        GET "/imports/{id}/bad.csv" Office imports::bad => "import";
        POST "/imports/{id}/columns" Office imports::name;
        POST "/imports/{id}/sheets" Office imports::choose_sheet;
        POST "/imports/{id}/rows" Office imports::bring_in;
        POST "/imports/{id}/ends" Office imports::end;
        POST "/imports/{id}/returns" Office imports::undo;
    }
}

pub(super) fn of_filings() -> Vec<Line> {
    lines! {
        GET "/filings" Office filings::list => "filings";
        GET "/filings/states/{code}" Office filings::state;
        GET "/filings/sent/{id}" Office filings::sent;
        GET "/filings/{rule}/{period}" Office filings::show => "filing";
        POST "/filings/{rule}/{period}" Office filings::mark;
        GET "/filings/{rule}/{period}/file" Office filings::file;
        GET "/filings/{rule}/{period}/rows.xlsx" Office filings::workbook;
        GET "/filings/{rule}/{period}/rows.pdf" Office filings::paper;
        GET "/reports" Office reports::moved;
        GET "/reports/log" Office reports::log::show => "application log";
        GET "/reports/log.csv" Office reports::log::file;
        GET "/reports/log.xlsx" Office reports::log::workbook;
        GET "/reports/log.pdf" Office reports::log::paper;
        GET "/exports" Office export::job::list;
        GET "/exports/{name}" Office export::file;
        POST "/exports/{name}" Office export::job::begin;
        GET "/exports/jobs/{id}" Office export::job::show;
        POST "/exports/jobs/{id}/ends" Office export::job::stop;
        POST "/exports/jobs/{id}/removals" Office export::job::remove;
        GET "/exports/jobs/{id}/file" Office export::job::take;
        GET "/reports/registrations" Office reports::registrations::list;
        POST "/reports/registrations" Office reports::registrations::create;
    }
}

pub(super) fn of_evidence() -> Vec<Line> {
    lines! {
        GET "/evidence" Office evidence::list;
        POST "/evidence/heads" Office evidence::take;
        GET "/evidence/heads/{id}" Office evidence::show;
        POST "/evidence/heads/{id}/mails" Office evidence::mail_head;
        GET "/evidence/heads/{id}/growth/{older}" Office evidence::growth;
        POST "/evidence/mail" Owner evidence::change_mail;
        POST "/evidence/checks" Office evidence::check;
        GET "/records/{id}/proof" SignedIn evidence::proof;
        GET "/audit" Owner audit::list => "audit";
        GET "/inspections" Owner inspections::list;
        POST "/inspections" Owner inspections::create;
        POST "/inspections/{id}/revocations" Owner inspections::revoke;
        GET "/inspection/{secret}" Anyone inspections::read;
        GET "/inspection/{secret}/records/{id}" Anyone inspections::record;
        GET "/inspection/{secret}/records/{id}/proof" Anyone inspections::proof;
        GET "/inspection/{secret}/files/{name}" Anyone inspections::file;
    }
}
