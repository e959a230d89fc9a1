-- Search by any part of a name or street; the extension is trusted, so the database's owner may create it.
create extension if not exists pg_trgm;

create table customer (
    id uuid primary key,
    name text not null constraint customer_name_filled check (name <> ''),
    email text not null default '',
    phone text not null default '',
    street text not null default '',
    city text not null default '',
    state text not null default '',
    zip text not null default '',
    note text not null default '',
    retired_at timestamptz,
    created_at timestamptz not null
);
create index customer_by_name on customer (lower(name), id);
create index customer_search on customer using gin ((lower(name || ' ' || street || ' ' || city || ' ' || email)) gin_trgm_ops);

-- The land itself. What was applied stays with it when the customer changes, and
-- sites on one parcel share its ledger.
create table parcel (
    id uuid primary key,
    lot_sqft numeric constraint parcel_lot_positive check (lot_sqft > 0),
    landscaped_sqft numeric constraint parcel_landscaped_positive check (landscaped_sqft > 0),
    treated_bed_sqft numeric constraint parcel_bed_positive check (treated_bed_sqft > 0),
    -- Which of the three the annual cap is counted on is a licensed person's choice, with name and reason.
    cap_area text constraint parcel_cap_area_known check (cap_area in ('lot', 'landscaped', 'treated-bed')),
    cap_area_chosen_by uuid references person,
    cap_area_chosen_at timestamptz,
    cap_area_reason text not null default '',
    -- From this day on everything that was applied here is in the ledger; null: nobody has answered yet.
    history_known_from date,
    history_answered_by uuid references person,
    constraint parcel_choice_has_name check ((cap_area is null) = (cap_area_chosen_by is null)),
    constraint parcel_answer_has_name check ((history_known_from is null) = (history_answered_by is null)),
    constraint parcel_choice_has_area check (
        cap_area is null
        or (cap_area = 'lot' and lot_sqft is not null)
        or (cap_area = 'landscaped' and landscaped_sqft is not null)
        or (cap_area = 'treated-bed' and treated_bed_sqft is not null))
);

create table site (
    id uuid primary key,
    customer_id uuid not null references customer,
    parcel_id uuid not null references parcel,
    name text not null default '',
    street text not null constraint site_street_filled check (street <> ''),
    city text not null,
    state char(2) not null constraint site_state_code check (state ~ '^[A-Z]{2}$'),
    zip text not null,
    county text not null constraint site_county_filled check (county <> ''),
    latitude double precision constraint site_latitude_range check (latitude between -90 and 90),
    longitude double precision constraint site_longitude_range check (longitude between -180 and 180),
    agricultural boolean not null default false,
    -- Null: nobody has looked yet. Zero: water on the site.
    water_distance_ft numeric constraint site_water_distance_range check (water_distance_ft >= 0),
    access_note text not null default '',
    service_area text not null default '',
    retired_at timestamptz,
    created_at timestamptz not null,
    constraint site_position_whole check ((latitude is null) = (longitude is null))
);
create index site_customer on site (customer_id);
create index site_parcel on site (parcel_id);
create index site_by_street on site (lower(street), id);
create index site_search on site using gin ((lower(name || ' ' || street || ' ' || city || ' ' || county)) gin_trgm_ops);

-- Hours in which the site may be entered; none: any working hour.
create table site_window (
    site_id uuid not null references site,
    weekday smallint not null constraint site_window_weekday check (weekday between 1 and 7),
    opens time not null,
    closes time not null,
    primary key (site_id, weekday, opens),
    constraint site_window_span check (closes > opens)
);

-- One row may be a hedge of forty: count multiplies.
create table plant (
    id uuid primary key,
    site_id uuid not null references site,
    place text not null constraint plant_place_filled check (place <> ''),
    host_plant text not null constraint plant_host_filled check (host_plant <> ''),
    kind text not null constraint plant_kind_known check (kind in ('shrub', 'hedge', 'tree', 'palm')),
    count integer not null constraint plant_count_positive check (count > 0),
    height_ft numeric constraint plant_height_positive check (height_ft > 0),
    stems_in numeric[] not null default '{}',
    stem_rule text constraint plant_stem_rule_known check (stem_rule in ('sum', 'quadratic', 'largest-plus-half')),
    target_pest text not null default '',
    eaten text not null default 'unknown' constraint plant_eaten_known check (eaten in ('yes', 'no', 'unknown')),
    food_in_root_zone text not null default 'unknown'
        constraint plant_food_known check (food_in_root_zone in ('yes', 'no', 'unknown')),
    -- Usual bloom as month-day pairs (MM-DD), and what was seen on the last visit.
    bloom_from text constraint plant_bloom_from_day check (bloom_from ~ '^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$'),
    bloom_to text constraint plant_bloom_to_day check (bloom_to ~ '^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$'),
    in_bloom boolean not null default false,
    -- What it is treated with: the product and the use's code, which stays the same from label to label.
    product_id uuid,
    use_code text,
    planned_rate numeric constraint plant_rate_positive check (planned_rate > 0),
    first_wanted date,
    retired_at timestamptz,
    retired_reason text not null default '',
    created_at timestamptz not null,
    constraint plant_bloom_whole check ((bloom_from is null) = (bloom_to is null)),
    constraint plant_treatment_whole check ((product_id is null) = (use_code is null)),
    constraint plant_stems_ruled check (cardinality(stems_in) < 2 or stem_rule is not null)
);
create index plant_site on plant (site_id);
create index plant_by_host on plant (lower(host_plant), id);
create index plant_product on plant (product_id);
create index plant_search on plant using gin ((lower(host_plant || ' ' || place || ' ' || target_pest)) gin_trgm_ops);
