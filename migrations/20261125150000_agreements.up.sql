-- What a customer has agreed to pay for a site, or for one plant of it. An agreement holds until it is ended; a
-- new price is a new agreement, so that what was agreed before stays readable.
create table agreement (
    id uuid primary key,
    site_id uuid not null references site,
    -- Null: every plant of the site that has no agreement of its own.
    plant_id uuid references plant,
    basis text not null constraint agreement_basis_known check (basis in ('foot', 'inch', 'plant', 'visit', 'year')),
    -- US dollars for one of the basis; a price for a foot may have parts of a cent.
    price numeric not null constraint agreement_price_range check (price >= 0 and price <= 1000000),
    starts_on date not null,
    -- Last day; null: renewed from year to year.
    ends_on date,
    ended_reason text not null default '',
    note text not null default '',
    entered_by uuid not null references person,
    entered_at timestamptz not null,
    constraint agreement_span check (ends_on >= starts_on)
);
create index agreement_site on agreement (site_id, starts_on);
-- Two prices for the same thing on the same day would make the bill a matter of chance.
create unique index agreement_one_open on agreement
    (site_id, coalesce(plant_id, '00000000-0000-0000-0000-000000000000')) where ends_on is null;
