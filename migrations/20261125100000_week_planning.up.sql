-- Where the working day begins and ends, unless a person starts elsewhere.
alter table company
    add column latitude double precision constraint company_latitude_range check (latitude between -90 and 90),
    add column longitude double precision constraint company_longitude_range check (longitude between -180 and 180),
    add constraint company_position_whole check ((latitude is null) = (longitude is null)),
    -- How long a stop takes: so much for coming and going, and so much for each plant of a record's count.
    add column stop_minutes integer not null default 10 constraint company_stop_minutes_range check (stop_minutes between 0 and 240),
    add column plant_minutes numeric not null default 2 constraint company_plant_minutes_range check (plant_minutes between 0 and 120),
    -- What is carried beyond the sum of the doses.
    add column load_reserve_percent integer not null default 10
        constraint company_load_reserve_range check (load_reserve_percent between 0 and 100);

create table vehicle (
    id uuid primary key,
    name text not null constraint vehicle_name_filled check (name <> ''),
    -- Water or mix that it carries on one day.
    tank_gal numeric not null constraint vehicle_tank_positive check (tank_gal > 0),
    retired_at timestamptz,
    constraint vehicle_name_once unique (name)
);

alter table person
    add column vehicle_id uuid constraint person_vehicle_exists references vehicle,
    -- Null: the company's place.
    add column start_latitude double precision constraint person_latitude_range check (start_latitude between -90 and 90),
    add column start_longitude double precision constraint person_longitude_range check (start_longitude between -180 and 180),
    add constraint person_position_whole check ((start_latitude is null) = (start_longitude is null));

-- The hours a person usually works; no row: not on that weekday (1 is Monday).
create table working_day (
    person_id uuid not null references person,
    weekday smallint not null constraint working_day_weekday check (weekday between 1 and 7),
    starts time not null,
    ends time not null,
    break_minutes integer not null default 0 constraint working_day_break_range check (break_minutes between 0 and 240),
    -- The break lies somewhere in here.
    break_from time,
    break_until time,
    primary key (person_id, weekday),
    constraint working_day_span check (ends > starts),
    constraint working_day_break_whole check (
        (break_minutes = 0) = (break_from is null) and (break_from is null) = (break_until is null)
        and (break_from is null or break_until - break_from >= break_minutes * interval '1 minute'))
);

alter table site
    -- Null: worked out from its plants.
    add column service_minutes integer constraint site_service_minutes_range check (service_minutes between 1 and 1440),
    -- How long before the work neighbours or the state must hear of it, and by which rule.
    add column notice_hours integer constraint site_notice_hours_range check (notice_hours between 1 and 720),
    add column notice_reason text not null default '',
    -- 1 usual, 2 before usual ones, 3 first of all.
    add column priority smallint not null default 1 constraint site_priority_range check (priority between 1 and 3),
    add constraint site_notice_says_why check (notice_hours is null or notice_reason <> '');

alter table visit
    -- Its place in the technician's day, set when a plan is released.
    add column stop_number integer constraint visit_stop_number_positive check (stop_number > 0),
    add column arrives_at time,
    add column leaves_at time,
    -- The customer was told this day: no plan moves it to another.
    add column promised boolean not null default false,
    -- Sent back to be planned anew, and why.
    add column waiting_since timestamptz,
    add column waiting_reason text not null default '',
    add constraint visit_times_whole check (
        (stop_number is null) = (arrives_at is null) and (arrives_at is null) = (leaves_at is null)
        and (leaves_at is null or leaves_at >= arrives_at)),
    add constraint visit_waiting_says_why check ((waiting_since is null) = (waiting_reason = ''));
create index visit_waiting on visit (waiting_since) where waiting_since is not null;

-- One plan a week. Every change counts the version up; who changes an older one is told.
create table week_plan (
    id uuid primary key,
    week_start date not null constraint week_plan_monday check (extract(isodow from week_start) = 1),
    version integer not null default 1,
    released_version integer,
    made_by uuid not null references person,
    made_at timestamptz not null,
    changed_by uuid not null references person,
    changed_at timestamptz not null,
    constraint week_plan_once unique (week_start)
);

-- Who works on which day of the plan, as the hours were when it was made.
create table plan_day (
    plan_id uuid not null references week_plan,
    technician_id uuid not null references person,
    on_date date not null,
    starts time not null,
    ends time not null,
    break_minutes integer not null default 0,
    break_from time,
    break_until time,
    start_latitude double precision not null,
    start_longitude double precision not null,
    tank_gal numeric,
    primary key (plan_id, technician_id, on_date),
    constraint plan_day_span check (ends > starts)
);

create table plan_stop (
    id uuid primary key,
    plan_id uuid not null references week_plan,
    site_id uuid not null references site,
    -- A visit that is booked already; null: it is booked when the plan is released.
    visit_id uuid references visit,
    service_minutes integer not null constraint plan_stop_service_positive check (service_minutes > 0),
    load_gal numeric not null default 0 constraint plan_stop_load_range check (load_gal >= 0),
    technician_id uuid references person,
    on_date date,
    position integer,
    arrives_at time,
    starts_at time,
    leaves_at time,
    locked boolean not null default false,
    -- Why nobody goes there.
    unserved_why text not null default '',
    constraint plan_stop_placed_whole check (
        (technician_id is null) = (on_date is null) and (on_date is null) = (position is null)
        and (position is null) = (arrives_at is null) and (arrives_at is null) = (starts_at is null)
        and (starts_at is null) = (leaves_at is null)),
    constraint plan_stop_locked_placed check (not locked or position is not null),
    constraint plan_stop_visit_once unique (plan_id, visit_id),
    constraint plan_stop_order_once unique (plan_id, technician_id, on_date, position) deferrable initially deferred,
    foreign key (plan_id, technician_id, on_date) references plan_day (plan_id, technician_id, on_date)
);
create index plan_stop_site on plan_stop (site_id);

-- What is to be treated at a stop that has no visit yet.
create table plan_stop_plant (
    stop_id uuid not null references plan_stop on delete cascade,
    plant_id uuid not null references plant,
    primary key (stop_id, plant_id)
);

-- A calculation of a plan in the background, its progress and its result.
create table plan_run (
    id uuid primary key,
    plan_id uuid not null references week_plan,
    -- The version that it began with; another one at its end means that its result is not written over.
    plan_version integer not null,
    random_start bigint not null,
    seconds numeric not null constraint plan_run_seconds_range check (seconds > 0 and seconds <= 600),
    state text not null default 'waiting' constraint plan_run_state_known check (
        state in ('waiting', 'running', 'done', 'stopped', 'failed')),
    stop_asked boolean not null default false,
    percent integer not null default 0 constraint plan_run_percent_range check (percent between 0 and 100),
    best_minutes integer,
    best_miles numeric,
    best_unserved integer,
    minutes_before integer,
    miles_before numeric,
    words text not null default '',
    asked_by uuid not null references person,
    asked_at timestamptz not null,
    started_at timestamptz,
    -- Renewed while somebody works on it; an old one is taken over.
    beat_at timestamptz,
    ended_at timestamptz
);
create unique index plan_run_one_at_a_time on plan_run (plan_id) where state in ('waiting', 'running');
create index plan_run_newest on plan_run (plan_id, asked_at desc);

-- A day on which nothing is applied, everywhere or in one county: soil saturated or frozen, heavy rain ahead.
create table day_hold (
    id uuid primary key,
    on_date date not null,
    state char(2),
    county text,
    reason text not null constraint day_hold_says_why check (reason <> ''),
    placed_by uuid not null references person,
    placed_at timestamptz not null,
    lifted_by uuid references person,
    lifted_at timestamptz,
    constraint day_hold_place_whole check ((state is null) = (county is null)),
    constraint day_hold_lifted_whole check ((lifted_by is null) = (lifted_at is null))
);
create index day_hold_day on day_hold (on_date) where lifted_at is null;

-- Travel that a matrix service answered, kept so that it is asked once. Positions are in millionths of a degree.
create table travel (
    from_latitude integer not null,
    from_longitude integer not null,
    to_latitude integer not null,
    to_longitude integer not null,
    minutes double precision not null,
    miles double precision not null,
    asked_at timestamptz not null,
    primary key (from_latitude, from_longitude, to_latitude, to_longitude)
);

-- A technician's calendar for other programs. Only the hash of the address's secret is kept.
create table calendar_feed (
    id uuid primary key,
    person_id uuid not null references person,
    secret_hash bytea not null constraint calendar_feed_secret_once unique,
    made_at timestamptz not null,
    revoked_at timestamptz
);
create unique index calendar_feed_one_at_a_time on calendar_feed (person_id) where revoked_at is null;
