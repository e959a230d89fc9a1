-- What customers answer on their own page: yes, another day, or no. An answer stands; a later one is another row.
create table customer_answer (
    id uuid primary key,
    customer_id uuid not null constraint customer_answer_customer references customer,
    site_id uuid not null constraint customer_answer_site references site,
    kind text not null constraint customer_answer_kind_known check (kind in ('yes', 'other', 'no')),
    -- About when we are to come; none with a no.
    wanted_on date,
    reason text not null default '' constraint customer_answer_reason_known check (
        reason in ('', 'price', 'moving', 'by-themselves', 'other-company', 'plants-gone', 'not-content', 'no-chemicals',
            'other')),
    note text not null default '',
    given_at timestamptz not null,
    -- The owner has seen it and done what follows.
    settled_at timestamptz,
    settled_by uuid constraint customer_answer_settler references person,
    constraint customer_answer_day_unless_no check ((kind = 'no') = (wanted_on is null)),
    constraint customer_answer_no_says_why check ((kind = 'no') = (reason <> '')),
    constraint customer_answer_settled_whole check ((settled_at is null) = (settled_by is null))
);
create index customer_answer_open on customer_answer (given_at) where settled_at is null;
create index customer_answer_customer on customer_answer (customer_id, given_at);

-- The plants that an answer is about, each in the season whose protection ends: next year is asked anew.
create table customer_answer_plant (
    answer_id uuid not null constraint customer_answer_plant_answer references customer_answer,
    plant_id uuid not null constraint customer_answer_plant_plant references plant,
    season date not null,
    primary key (answer_id, plant_id)
);
create index customer_answer_plant_season on customer_answer_plant (plant_id, season);

-- The answer that holds for each plant: the newest one about the season whose protection ends now.
create view standing_answer as
    select distinct on (p.plant_id) p.plant_id, a.id as answer_id, a.kind, a.wanted_on, a.reason, p.season
    from customer_answer_plant p join customer_answer a on a.id = p.answer_id
    where p.season = (
        select max(r.applied_on) from application_item i
            join application_now r on r.id = i.record_id and r.version = i.version
        where i.plant_id = p.plant_id)
    order by p.plant_id, a.given_at desc, a.id desc;
