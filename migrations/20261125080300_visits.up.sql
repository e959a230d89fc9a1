create table visit (
    id uuid primary key,
    site_id uuid not null references site,
    technician_id uuid not null references person,
    on_date date not null,
    status text not null default 'booked' constraint visit_status_known check (status in ('booked', 'done', 'cancelled')),
    note text not null default '',
    booked_by uuid not null references person,
    booked_at timestamptz not null,
    closed_at timestamptz,
    constraint visit_closed_has_time check ((status = 'booked') = (closed_at is null))
);
create index visit_technician_day on visit (technician_id, on_date);
create index visit_site on visit (site_id, on_date);
create index visit_open on visit (on_date) where status = 'booked';

-- A dose that a booked visit means to apply. While it is 'planned' it reserves its
-- share of the annual cap of the visit's parcel.
create table planned_dose (
    visit_id uuid not null references visit,
    plant_id uuid not null references plant,
    label_use_id uuid not null references label_use,
    measure numeric not null constraint planned_dose_measure_positive check (measure > 0),
    count integer not null constraint planned_dose_count_positive check (count > 0),
    rate numeric not null constraint planned_dose_rate_positive check (rate > 0),
    amount numeric not null constraint planned_dose_amount_positive check (amount > 0),
    unit text not null,
    status text not null default 'planned' constraint planned_dose_status_known check (
        status in ('planned', 'applied', 'skipped', 'released')),
    skip_reason text not null default '',
    primary key (visit_id, plant_id, label_use_id),
    constraint planned_dose_skip_says_why check (status <> 'skipped' or skip_reason <> '')
);
create index planned_dose_plant on planned_dose (plant_id);
