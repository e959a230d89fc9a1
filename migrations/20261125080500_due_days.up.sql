-- What the due engine said of each plant in use, kept so that lists are one read.
-- Every row can be computed again from the other tables; computed_for is the day it was computed for.
create table due (
    plant_id uuid primary key references plant,
    site_id uuid not null references site,
    computed_for date not null,
    protected_until date,
    wanted_on date not null,
    allowed_on date,
    due_on date,
    gap_days integer,
    held_by text[] not null default '{}',
    why text[] not null default '{}',
    -- Where the plant stands in the list: what can never be allowed stands where it was wanted.
    list_on date not null generated always as (coalesce(due_on, wanted_on)) stored
);
create index due_by_day on due (list_on, plant_id);
create index due_held on due (list_on, plant_id) where held_by <> '{}';
create index due_site on due (site_id);
create index due_stale on due (computed_for);
