-- A link under which somebody from outside reads the records of one state, county and period, until its last day
-- or until it is revoked. Only the hash of its secret is kept. Each use is a row of the audit.
create table inspection_link (
    id uuid primary key,
    secret_hash bytea not null constraint inspection_link_secret_once unique,
    reader text not null constraint inspection_link_reader_filled check (reader <> ''),
    state char(2) not null constraint inspection_link_state_code check (state ~ '^[A-Z]{2}$'),
    -- Empty: every county of the state.
    county text not null default '',
    from_day date not null,
    until_day date not null,
    -- The last day on which it opens, where the company works.
    last_day date not null,
    made_by uuid not null references person,
    made_at timestamptz not null,
    revoked_by uuid references person,
    revoked_at timestamptz,
    constraint inspection_link_period check (until_day >= from_day),
    constraint inspection_link_revoked_whole check ((revoked_by is null) = (revoked_at is null))
);
create index inspection_link_made on inspection_link (made_at);
