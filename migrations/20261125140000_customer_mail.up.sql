-- How the company writes to its customers: one row. Nothing is sent before somebody has switched it on.
create table mail_terms (
    only_row boolean primary key default true constraint mail_terms_one_row check (only_row),
    running boolean not null default false,
    -- Days before a treatment is due, and days after protection has run out.
    days_before integer[] not null default '{45,21,7}',
    days_after integer[] not null default '{14}',
    -- 1 is Monday. On these days nothing of ours goes out.
    quiet_weekdays smallint[] not null default '{6,7}',
    quiet_dates date[] not null default '{}',
    -- How long a customer's link works.
    link_days integer not null default 90 constraint mail_terms_link_days_range check (link_days between 30 and 400),
    -- The key of signed links. It never leaves the database; a new one ends every link.
    link_key bytea not null constraint mail_terms_key_long check (octet_length(link_key) = 32),
    constraint mail_terms_days_range check (
        0 <= all (days_before) and 365 >= all (days_before) and 0 <= all (days_after) and 365 >= all (days_after)),
    constraint mail_terms_weekdays_known check (
        quiet_weekdays <@ '{1,2,3,4,5,6,7}' and cardinality(quiet_weekdays) < 7)
);

-- What a customer wants to hear and in which language; no row: English, everything.
create table customer_mail (
    customer_id uuid primary key constraint customer_mail_customer references customer,
    language text not null default 'en' constraint customer_mail_language_known check (language in ('en', 'es')),
    paused boolean not null default false,
    -- No offers any more. Notices that the law asks for are no offers.
    offers_stopped_at timestamptz,
    offers_stopped_how text not null default '',
    neighbours text not null default '',
    -- Counted up to end every link of this customer's page.
    link_generation integer not null default 0,
    constraint customer_mail_stop_says_how check ((offers_stopped_at is null) = (offers_stopped_how = ''))
);

-- What is written to customers, in the transaction of its cause. A message keeps its words and its
-- name (Message-ID) for ever, so that a second copy of it is known as one.
create table message (
    id uuid primary key,
    message_id text not null constraint message_named_once unique,
    -- Null: to somebody of ours, to look at.
    customer_id uuid constraint message_customer_exists references customer,
    site_id uuid constraint message_site_exists references site,
    kind text not null constraint message_kind_known check (kind in ('reminder', 'answer', 'notice', 'test')),
    cause text not null constraint message_cause_once unique,
    language text not null constraint message_language_known check (language in ('en', 'es')),
    -- Empty: there is no address, and it goes as a letter.
    recipient text not null default '',
    recipient_name text not null default '',
    subject text not null constraint message_subject_filled check (subject <> ''),
    body_text text not null,
    body_html text not null,
    -- The page that it leads to, and where one click ends such mail; only offers have the second.
    link text not null default '',
    unsubscribe text not null default '',
    calendar text not null default '',
    status text not null constraint message_status_known check (
        status in ('waiting', 'sent', 'failed', 'bounced', 'letter', 'posted', 'withdrawn')),
    tries integer not null default 0 constraint message_tries_range check (tries >= 0),
    next_try timestamptz not null,
    -- After this moment it says nothing true any more.
    expires_at timestamptz,
    last_answer text not null default '',
    created_at timestamptz not null,
    closed_at timestamptz,
    constraint message_closed_has_time check ((status in ('waiting', 'letter')) = (closed_at is null)),
    constraint message_letter_has_no_address check (status <> 'waiting' or recipient <> '')
);
create index message_waiting on message (next_try, id) where status = 'waiting';
create index message_open on message (created_at, id) where status in ('waiting', 'letter', 'failed', 'bounced');
create index message_customer on message (customer_id, created_at);

create function refuse_change_of_message() returns trigger language plpgsql as $$
begin
    raise exception 'a message keeps its words' using errcode = 'restrict_violation', constraint = 'message_stays';
end $$;
create trigger message_stays before update of id, message_id, cause, kind, subject, body_text, body_html, calendar
    on message for each row execute function refuse_change_of_message();

-- Which plant was reminded of, and in which step of the company's dates. season is the day of the treatment
-- whose protection ends, so that the next year begins anew. step counts days: before the due day below zero,
-- after the lapse above. Each step is said once.
create table reminder_said (
    plant_id uuid not null constraint reminder_said_plant references plant,
    season date not null,
    step integer not null,
    message_id uuid not null constraint reminder_said_message references message,
    primary key (plant_id, season, step)
);
create index reminder_said_message on reminder_said (message_id);
