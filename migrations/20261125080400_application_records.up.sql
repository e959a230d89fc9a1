-- What was physically applied. A record is a row per version: version 1 is what was
-- first written, each amendment adds a version with its reason, and no row is ever
-- changed or removed. seq, previous_hash and hash link every version into one chain.
create table application_record (
    id uuid not null,
    version integer not null constraint application_record_version_positive check (version > 0),
    seq bigint not null constraint application_record_seq_once unique,
    visit_id uuid references visit,
    site_id uuid not null references site,
    parcel_id uuid not null references parcel,
    origin text not null constraint application_record_origin_known check (origin in ('own', 'other-company')),
    withdrawn boolean not null default false,
    applied_on date not null,
    started_at time,
    finished_at time,
    -- As they stood that day: a customer who moves away later does not change the record.
    customer_name text not null,
    customer_address text not null,
    site_address text not null,
    site_state char(2) not null,
    site_county text not null,
    applicator_id uuid references person,
    applicator_name text not null,
    applicator_certification text not null default '',
    supervisor_id uuid references person,
    supervisor_name text not null default '',
    supervisor_certification text not null default '',
    wind_direction text not null default '',
    wind_mph numeric constraint application_record_wind_range check (wind_mph >= 0),
    temperature_f numeric,
    area_treated_sqft numeric constraint application_record_area_positive check (area_treated_sqft > 0),
    note text not null default '',
    recorded_by uuid not null references person,
    recorded_at timestamptz not null,
    amend_reason text not null default '',
    -- The version as text, exactly as it was hashed.
    body text not null,
    previous_hash bytea not null,
    hash bytea not null,
    primary key (id, version),
    constraint application_record_amendment_says_why check ((version = 1) = (amend_reason = '')),
    constraint application_record_times check (finished_at is null or started_at is null or finished_at >= started_at)
);
create index application_record_by_day on application_record (applied_on, id);
create index application_record_parcel on application_record (parcel_id, applied_on);
create index application_record_place on application_record (site_state, site_county, applied_on);
create index application_record_visit on application_record (visit_id);
create index application_record_search on application_record
    using gin ((lower(customer_name || ' ' || site_address)) gin_trgm_ops);

create table application_item (
    record_id uuid not null,
    version integer not null,
    position integer not null,
    plant_id uuid references plant,
    plant_words text not null default '',
    host_plant text not null default '',
    target_pest text not null default '',
    product_id uuid not null references product,
    label_version_id uuid not null references label_version,
    label_use_id uuid references label_use,
    product_name text not null,
    registration_number text not null,
    method text not null,
    measure numeric constraint application_item_measure_positive check (measure > 0),
    measure_basis text not null default '',
    count integer not null default 1 constraint application_item_count_positive check (count > 0),
    rate numeric constraint application_item_rate_positive check (rate > 0),
    amount numeric not null constraint application_item_amount_positive check (amount > 0),
    unit text not null,
    water numeric constraint application_item_water_range check (water >= 0),
    water_unit text,
    primary key (record_id, version, position),
    foreign key (record_id, version) references application_record (id, version)
);
create index application_item_plant on application_item (plant_id);
create index application_item_product on application_item (product_id);

-- The version that counts: the newest of each record, unless it was withdrawn.
create view application_now as
    select r.* from application_record r
    where not r.withdrawn
      and not exists (select 1 from application_record n where n.id = r.id and n.version > r.version);

create function refuse_change_of_record() returns trigger language plpgsql as $$
begin
    raise exception 'application records are amended, never changed or removed'
        using errcode = 'restrict_violation', constraint = 'application_record_stays';
end $$;
create trigger application_record_stays before update or delete on application_record
    for each row execute function refuse_change_of_record();
create trigger application_item_stays before update or delete on application_item
    for each row execute function refuse_change_of_record();
create trigger application_record_not_emptied before truncate on application_record
    for each statement execute function refuse_change_of_record();
create trigger application_item_not_emptied before truncate on application_item
    for each statement execute function refuse_change_of_record();

-- A limit that a recorded fact broke. It stays in sight until a licensed person answers it.
create table record_flag (
    id uuid primary key,
    record_id uuid not null,
    version integer not null,
    rule text not null,
    words text not null,
    raised_at timestamptz not null,
    answered_by uuid references person,
    answered_certification_id uuid references certification,
    answered_at timestamptz,
    answer text not null default '',
    foreign key (record_id, version) references application_record (id, version),
    constraint record_flag_answer_whole check (
        (answered_by is null) = (answered_at is null) and (answered_by is null) = (answer = ''))
);
create index record_flag_open on record_flag (raised_at) where answered_at is null;
create index record_flag_record on record_flag (record_id);
