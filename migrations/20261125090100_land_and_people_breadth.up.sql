-- How else a plant is measured: the girth of its trunk, or the ground that is treated for it.
alter table plant
    add column girth_in numeric constraint plant_girth_positive check (girth_in > 0),
    add column ground numeric constraint plant_ground_positive check (ground > 0),
    add column ground_unit text constraint plant_ground_unit_known check (ground_unit in ('sqft', 'acre', 'm2')),
    -- Usual harvest as month-day pairs (MM-DD), and a day that is set for it.
    add column harvest_from text constraint plant_harvest_from_day check (harvest_from ~ '^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$'),
    add column harvest_to text constraint plant_harvest_to_day check (harvest_to ~ '^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$'),
    add column harvest_on date,
    add constraint plant_ground_whole check ((ground is null) = (ground_unit is null)),
    add constraint plant_harvest_whole check ((harvest_from is null) = (harvest_to is null)),
    -- Girth and diameter of one trunk could contradict each other.
    add constraint plant_trunk_once check (girth_in is null or cardinality(stems_in) = 0);

-- Some rules are narrower than the county. Empty: the city of the address is the municipality.
alter table site add column municipality text not null default '';

-- An exemption that a regulator has granted for this land. It is never removed: what was planned under it must
-- stay explainable.
create table parcel_exemption (
    id uuid primary key,
    parcel_id uuid not null references parcel,
    state char(2) not null constraint parcel_exemption_state_code check (state ~ '^[A-Z]{2}$'),
    -- Null: every ingredient.
    ingredient text constraint parcel_exemption_ingredient_lower check (ingredient <> '' and ingredient = lower(ingredient)),
    valid_from date not null,
    valid_until date not null,
    reason text not null constraint parcel_exemption_reason_filled check (reason <> ''),
    document text not null constraint parcel_exemption_document_filled check (document <> ''),
    entered_by uuid not null references person,
    entered_at timestamptz not null,
    ended_by uuid references person,
    ended_at timestamptz,
    ended_reason text not null default '',
    constraint parcel_exemption_span check (valid_until >= valid_from),
    constraint parcel_exemption_end_whole check (
        (ended_by is null) = (ended_at is null) and (ended_by is null) = (ended_reason = ''))
);
create index parcel_exemption_parcel on parcel_exemption (parcel_id);

-- Pests that a state lists for an exemption of its own. None ships with the program.
create table listed_pest (
    id uuid primary key,
    state char(2) not null constraint listed_pest_state_code check (state ~ '^[A-Z]{2}$'),
    pest text not null constraint listed_pest_lower check (pest <> '' and pest = lower(pest)),
    source text not null constraint listed_pest_source_filled check (source <> ''),
    -- How far the state's list was read; an unverified entry opens nothing.
    mark text not null constraint listed_pest_mark_known check (mark in ('checked', 'part-checked', 'unverified')),
    entered_by uuid not null references person,
    entered_at timestamptz not null,
    removed_by uuid references person,
    removed_at timestamptz,
    constraint listed_pest_removal_whole check ((removed_by is null) = (removed_at is null))
);
create unique index listed_pest_once on listed_pest (state, pest) where removed_at is null;

-- Courses that a state asks of whoever applies. Like certifications they are never removed.
create table course (
    id uuid primary key,
    person_id uuid not null references person,
    state char(2) not null constraint course_state_code check (state ~ '^[A-Z]{2}$'),
    name text not null constraint course_name_filled check (name <> ''),
    taken_on date not null,
    -- Null: it counts a year.
    valid_until date,
    proof text not null constraint course_proof_filled check (proof <> ''),
    constraint course_span check (valid_until >= taken_on)
);
create index course_person on course (person_id);

-- Who answers for a technician without a certification of the site's state.
alter table visit
    add column supervisor_id uuid constraint visit_supervisor_exists references person,
    add constraint visit_supervisor_is_another check (supervisor_id <> technician_id);

-- What a licensed person found out about a rule that ships unverified. Answers are only added; the newest counts.
create table state_rule_answer (
    id uuid primary key,
    rule text not null constraint state_rule_answer_rule_shape check (rule ~ '^[a-z-]+$'),
    answer text not null constraint state_rule_answer_known check (answer in ('holds', 'set-aside', 'open')),
    citation text not null default '',
    verified_on date,
    reason text not null default '',
    answered_by uuid not null references person,
    certification text not null,
    answered_at timestamptz not null,
    constraint state_rule_answer_holds_whole check (
        (answer = 'holds') = (verified_on is not null) and (answer = 'holds') = (citation <> '')),
    constraint state_rule_answer_says_why check (answer = 'holds' or reason <> '')
);
create index state_rule_answer_rule on state_rule_answer (rule, answered_at);
