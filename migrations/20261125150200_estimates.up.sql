-- What the company asks where nothing is agreed yet, and what an hour costs it. Only the owner sees the latter.
create table price_list (
    only_row boolean primary key default true constraint price_list_one_row check (only_row),
    foot numeric constraint price_list_foot_range check (foot between 0 and 1000000),
    inch numeric constraint price_list_inch_range check (inch between 0 and 1000000),
    plant numeric constraint price_list_plant_range check (plant between 0 and 1000000),
    visit numeric constraint price_list_visit_range check (visit between 0 and 1000000),
    year numeric constraint price_list_year_range check (year between 0 and 1000000),
    hour_cost numeric constraint price_list_hour_range check (hour_cost between 0 and 1000000)
);

-- An estimate as it was given to a customer. What stands in it stays; it is accepted or withdrawn.
create table estimate (
    id uuid primary key,
    number bigint generated always as identity constraint estimate_number_once unique,
    site_id uuid not null references site,
    customer_id uuid not null references customer,
    customer_name text not null,
    customer_address text not null,
    site_address text not null,
    made_by uuid not null references person,
    made_by_name text not null,
    made_on date not null,
    valid_until date not null,
    pricing text not null constraint estimate_pricing_known check (pricing in ('by-size', 'plant', 'visit', 'year')),
    -- The one sum of a visit or a year; null: each plant has its own.
    whole numeric,
    total numeric not null constraint estimate_total_range check (total >= 0),
    note text not null default '',
    -- What it costs the company: for its owner. Null: not known, and why.
    product_cost numeric,
    time_cost numeric,
    minutes integer not null,
    cost_lacks text not null default '',
    accepted_by uuid references person,
    accepted_at timestamptz,
    withdrawn_by uuid references person,
    withdrawn_at timestamptz,
    withdrawn_reason text not null default '',
    constraint estimate_span check (valid_until >= made_on),
    constraint estimate_accepted_whole check ((accepted_by is null) = (accepted_at is null)),
    constraint estimate_withdrawn_whole check (
        (withdrawn_by is null) = (withdrawn_at is null) and (withdrawn_by is null) = (withdrawn_reason = '')),
    constraint estimate_one_end check (accepted_at is null or withdrawn_at is null)
);
create index estimate_site on estimate (site_id, number desc);

create table estimate_line (
    estimate_id uuid not null references estimate,
    position integer not null,
    plant_id uuid not null references plant,
    plant text not null,
    planned text not null,
    label_version_id uuid references label_version,
    basis text not null constraint estimate_line_basis_known check (basis in ('foot', 'inch', 'plant', 'visit', 'year')),
    price numeric not null constraint estimate_line_price_range check (price >= 0),
    counted text not null,
    -- Null: within the one sum.
    amount numeric,
    primary key (estimate_id, position)
);

create function refuse_change_of_estimate() returns trigger language plpgsql as $$
begin
    if tg_op = 'UPDATE' and tg_table_name = 'estimate' then
        if (to_jsonb(old) - array['accepted_by', 'accepted_at', 'withdrawn_by', 'withdrawn_at', 'withdrawn_reason'])
            = (to_jsonb(new) - array['accepted_by', 'accepted_at', 'withdrawn_by', 'withdrawn_at', 'withdrawn_reason'])
        then
            return new;
        end if;
    end if;
    raise exception 'an estimate stays as it was given' using errcode = 'restrict_violation', constraint = 'estimate_stays';
end $$;
create trigger estimate_stays before update or delete on estimate
    for each row execute function refuse_change_of_estimate();
create trigger estimate_line_stays before update or delete on estimate_line
    for each row execute function refuse_change_of_estimate();
