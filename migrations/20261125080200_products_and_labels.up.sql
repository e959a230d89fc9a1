create table product (
    id uuid primary key,
    name text not null constraint product_name_filled check (name <> ''),
    registration_number text not null
        constraint product_registration_shape check (registration_number ~ '^[0-9]+-[0-9A-Z-]+$'),
    form text not null constraint product_form_known check (form in ('liquid', 'dry')),
    retired_at timestamptz,
    created_at timestamptz not null,
    constraint product_registration_once unique (registration_number)
);
create index product_by_name on product (lower(name), id);
create index product_search on product using gin ((lower(name || ' ' || registration_number)) gin_trgm_ops);

alter table plant add constraint plant_product_exists foreign key (product_id) references product;

create table product_registration (
    product_id uuid not null references product,
    state char(2) not null constraint product_registration_state_code check (state ~ '^[A-Z]{2}$'),
    expires_on date not null,
    primary key (product_id, state)
);

-- The entry that somebody typed from the label in hand. It binds nothing until a
-- licensed person has compared it with that label and signed.
create table label_version (
    id uuid primary key,
    product_id uuid not null references product,
    number integer not null constraint label_version_number_positive check (number > 0),
    label_date date not null,
    category text not null constraint label_version_category_filled check (category <> ''),
    restricted_use boolean not null default false,
    signal_word text not null default ''
        constraint label_version_signal_known check (signal_word in ('', 'CAUTION', 'WARNING', 'DANGER', 'DANGER-POISON')),
    clothing text not null default '',
    precautions text not null default '',
    first_aid text not null default '',
    excluded_hosts text[] not null default '{}',
    entered_by uuid not null references person,
    entered_at timestamptz not null,
    signed_by uuid references person,
    signed_certification_id uuid references certification,
    signed_at timestamptz,
    constraint label_version_number_once unique (product_id, number),
    constraint label_version_signature_whole check (
        (signed_by is null) = (signed_at is null) and (signed_by is null) = (signed_certification_id is null))
);

create table label_ingredient (
    label_version_id uuid not null references label_version,
    position integer not null,
    name text not null constraint label_ingredient_name_lower check (name <> '' and name = lower(name)),
    irac_group text not null default '',
    strength numeric not null constraint label_ingredient_strength_positive check (strength > 0),
    strength_unit text not null constraint label_ingredient_unit_known check (strength_unit in ('lb/gal', 'g/L', 'percent')),
    primary key (label_version_id, position),
    constraint label_ingredient_once unique (label_version_id, name)
);

create table label_use (
    id uuid primary key,
    label_version_id uuid not null references label_version,
    code text not null constraint label_use_code_shape check (code ~ '^[a-z0-9-]+$'),
    name text not null constraint label_use_name_filled check (name <> ''),
    hosts text not null default '',
    pests text not null default '',
    method text not null constraint label_use_method_known check (
        method in ('basal-drench', 'soil-drench', 'soil-injection', 'trunk-injection', 'trunk-spray', 'foliar-spray',
            'broadcast')),
    measure text not null constraint label_use_measure_known check (measure in ('height-ft', 'diameter-in')),
    rate_low numeric not null constraint label_use_rate_positive check (rate_low > 0),
    rate_high numeric not null,
    rate_unit text not null constraint label_use_rate_unit_known check (
        rate_unit in ('mL', 'L', 'floz', 'pt', 'qt', 'gal', 'g', 'kg', 'oz', 'lb')),
    water_low numeric constraint label_use_water_positive check (water_low >= 0),
    water_high numeric,
    water_unit text constraint label_use_water_unit_known check (water_unit in ('mL', 'L', 'floz', 'pt', 'qt', 'gal')),
    protection_value integer not null constraint label_use_protection_positive check (protection_value > 0),
    protection_unit text not null constraint label_use_protection_unit_known check (
        protection_unit in ('day', 'week', 'month', 'year')),
    uptake_days integer not null default 0 constraint label_use_uptake_range check (uptake_days >= 0),
    min_interval_days integer not null default 0 constraint label_use_interval_range check (min_interval_days >= 0),
    max_per_year integer constraint label_use_times_positive check (max_per_year > 0),
    season_from text constraint label_use_season_from_day check (season_from ~ '^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$'),
    season_to text constraint label_use_season_to_day check (season_to ~ '^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$'),
    barred_in_bloom boolean not null default false,
    covers_food boolean not null default false,
    preharvest_days integer constraint label_use_preharvest_range check (preharvest_days >= 0),
    constraint label_use_code_once unique (label_version_id, code),
    constraint label_use_band check (rate_high >= rate_low),
    constraint label_use_water_whole check (
        (water_low is null) = (water_high is null) and (water_low is null) = (water_unit is null)
        and (water_high is null or water_high >= water_low)),
    constraint label_use_season_whole check ((season_from is null) = (season_to is null))
);

create table label_cap (
    label_version_id uuid not null references label_version,
    position integer not null,
    ingredient text not null,
    amount numeric not null constraint label_cap_amount_positive check (amount > 0),
    unit text not null constraint label_cap_unit_known check (unit in ('lb/acre', 'oz/acre', 'g/acre', 'g/ha', 'kg/ha')),
    year text not null constraint label_cap_year_known check (year in ('calendar', 'rolling-12-months', 'unstated')),
    primary key (label_version_id, position),
    foreign key (label_version_id, ingredient) references label_ingredient (label_version_id, name)
);

-- A signed entry is what somebody answers for: from then on neither it nor its parts change.
create function refuse_change_of_signed_label() returns trigger language plpgsql as $$
begin
    if tg_table_name = 'label_version' then
        if old.signed_at is not null then
            raise exception 'a signed label version does not change' using errcode = 'restrict_violation',
                constraint = 'label_version_signed_stays';
        end if;
        return coalesce(new, old);
    end if;
    if exists (select 1 from label_version v
        where v.id = coalesce(old.label_version_id, new.label_version_id) and v.signed_at is not null) then
        raise exception 'a part of a signed label version does not change' using errcode = 'restrict_violation',
            constraint = 'label_version_signed_stays';
    end if;
    return coalesce(new, old);
end $$;
create trigger label_version_signed_stays before update or delete on label_version
    for each row execute function refuse_change_of_signed_label();
create trigger label_ingredient_signed_stays before insert or update or delete on label_ingredient
    for each row execute function refuse_change_of_signed_label();
create trigger label_use_signed_stays before insert or update or delete on label_use
    for each row execute function refuse_change_of_signed_label();
create trigger label_cap_signed_stays before insert or update or delete on label_cap
    for each row execute function refuse_change_of_signed_label();

-- The version that counts today: the newest signed one.
create view label_in_force as
    select distinct on (product_id) * from label_version
    where signed_at is not null order by product_id, number desc;
