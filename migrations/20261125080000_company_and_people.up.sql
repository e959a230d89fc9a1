-- One database serves one company, so the company is a table of one row.
create table company (
    only_row boolean primary key default true constraint company_one_row check (only_row),
    name text not null constraint company_name_filled check (name <> ''),
    street text not null,
    city text not null,
    state char(2) not null constraint company_state_code check (state ~ '^[A-Z]{2}$'),
    zip text not null,
    phone text not null,
    license_number text not null default '',
    -- Dates of applications and due days are dates where the company works.
    time_zone text not null default 'America/Los_Angeles',
    emergency_phone text not null default ''
);

-- A county where the company is registered owes a monthly summary, nil months included.
create table county_registration (
    id uuid primary key,
    state char(2) not null constraint county_registration_state_code check (state ~ '^[A-Z]{2}$'),
    county text not null constraint county_registration_county_filled check (county <> ''),
    number text not null,
    valid_from date not null,
    expires_on date not null,
    constraint county_registration_span check (expires_on >= valid_from)
);

create table person (
    id uuid primary key,
    name text not null constraint person_name_filled check (name <> ''),
    email text not null constraint person_email_lower check (email = lower(email) and email like '%_@_%'),
    role text not null constraint person_role_known check (role in ('owner', 'office', 'technician')),
    -- Null until the invitation is taken up.
    password_hash text,
    service_area text not null default '',
    retired_at timestamptz,
    created_at timestamptz not null,
    constraint person_email_once unique (email)
);

-- Certifications are never removed: a record of three years ago points to the one in force then.
create table certification (
    id uuid primary key,
    person_id uuid not null references person,
    state char(2) not null constraint certification_state_code check (state ~ '^[A-Z]{2}$'),
    category text not null constraint certification_category_filled check (category <> ''),
    number text not null constraint certification_number_filled check (number <> ''),
    valid_from date not null,
    expires_on date not null,
    constraint certification_span check (expires_on >= valid_from)
);
create index certification_person on certification (person_id);

-- Only the hash of a link's secret is kept: who reads the database cannot use the link.
create table invitation (
    secret_hash bytea primary key,
    person_id uuid not null references person,
    invited_by uuid references person,
    created_at timestamptz not null,
    expires_at timestamptz not null,
    used_at timestamptz
);

-- The link that the first start prints; it makes the owner and works once.
create table setup_link (
    only_row boolean primary key default true constraint setup_link_one_row check (only_row),
    secret_hash bytea not null,
    created_at timestamptz not null
);

create table session (
    secret_hash bytea primary key,
    person_id uuid not null references person,
    csrf text not null,
    created_at timestamptz not null,
    last_seen_at timestamptz not null,
    user_agent text not null
);
create index session_person on session (person_id);

-- Failed sign-ins per key (an address of the net, or an e-mail), for throttling.
create table sign_in_failure (
    key text not null,
    at timestamptz not null
);
create index sign_in_failure_key on sign_in_failure (key, at);
