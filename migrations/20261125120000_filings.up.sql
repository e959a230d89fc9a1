-- A registration may hold for a whole state: its county is then empty.
alter table county_registration drop constraint county_registration_county_filled;

-- A report as it was sent. A later one for the same place and time has the next number; none is ever changed.
create table filing (
    id uuid primary key,
    -- Code of the rule by which it was owed, such as ca-monthly.
    rule text not null constraint filing_rule_filled check (rule <> ''),
    state char(2) not null constraint filing_state_code check (state ~ '^[A-Z]{2}$'),
    -- Empty: the whole state.
    county text not null default '',
    -- 2026-10 or 2026, and its days.
    period text not null,
    first_day date not null,
    last_day date not null,
    number integer not null constraint filing_number_positive check (number > 0),
    filed_on date not null,
    -- The receipt's number, or how it was sent.
    receipt text not null constraint filing_receipt_filled check (receipt <> ''),
    file_name text not null,
    media_type text not null,
    -- Byte for byte as it was sent.
    content bytea not null,
    sha256 bytea not null constraint filing_content_fits check (sha256 = sha256(content)),
    -- A report of no work.
    nil boolean not null,
    -- Records that lacked something when it was sent.
    lacking integer not null constraint filing_lacking_range check (lacking >= 0),
    -- Place of the newest record in the chain when it was made: records after that are not in it.
    chain_seq bigint not null,
    filed_by uuid not null references person,
    filed_at timestamptz not null,
    constraint filing_days check (last_day >= first_day),
    -- What is sent before a period is over cannot hold all of it.
    constraint filing_after_its_period check (filed_on > last_day)
);
create unique index filing_once on filing (rule, lower(county), period, number);
create index filing_place on filing (state, last_day, first_day);

-- A record in a filed period was written or amended after the filing: perhaps the filing must be amended.
create table filing_change (
    filing_id uuid not null references filing,
    record_id uuid not null,
    version integer not null,
    primary key (filing_id, record_id, version),
    foreign key (record_id, version) references application_record (id, version)
);

-- Where the version now stands and where the one before it stood: an amendment may move a record out of a period.
create function note_change_of_filed() returns trigger language plpgsql as $$
begin
    insert into filing_change (filing_id, record_id, version)
    select distinct f.id, new.id, new.version
    from (select new.site_state as state, new.site_county as county, new.applied_on as day, new.origin as origin
          union all
          select b.site_state, b.site_county, b.applied_on, b.origin from application_record b
          where b.id = new.id and b.version = new.version - 1) as stood
    join filing f on f.state = stood.state and stood.day between f.first_day and f.last_day
        and (f.county = '' or lower(f.county) = lower(stood.county))
    where stood.origin = 'own';
    return null;
end $$;
create trigger application_record_filed after insert on application_record
    for each row execute function note_change_of_filed();

create function refuse_change_of_filing() returns trigger language plpgsql as $$
begin
    raise exception 'filings stay as they were sent' using errcode = 'restrict_violation', constraint = 'filing_stays';
end $$;
create trigger filing_stays before update or delete on filing
    for each row execute function refuse_change_of_filing();
create trigger filing_not_emptied before truncate on filing
    for each statement execute function refuse_change_of_filing();
create trigger filing_change_stays before update or delete on filing_change
    for each row execute function refuse_change_of_filing();
create trigger filing_change_not_emptied before truncate on filing_change
    for each statement execute function refuse_change_of_filing();
