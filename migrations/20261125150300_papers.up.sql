-- Papers that the company keeps beside certifications and courses: insurance, purchases of restricted-use products,
-- training of handlers, reviews of labels with the staff, training units. A paper is never changed: what is wrong
-- is struck out with the reason, stays readable, and is entered anew.
create table paper (
    id uuid primary key,
    kind text not null constraint paper_kind_known check (
        kind in ('insurance', 'restricted-purchase', 'handler-training', 'label-review', 'training-units')),
    -- Insurer, dealer, topic or course.
    title text not null constraint paper_title_filled check (title <> ''),
    -- Policy, dealer's licence, proof.
    number text not null default '',
    -- First day of insurance, day of a purchase, a training, a course.
    on_day date not null,
    last_day date,
    -- US dollars insured, amount bought, units earned.
    amount numeric constraint paper_amount_positive check (amount > 0),
    unit text,
    words text not null default '',
    product_id uuid references product,
    certification_id uuid references certification,
    -- Who held the training.
    trainer_id uuid references person,
    entered_by uuid not null references person,
    entered_at timestamptz not null,
    struck_by uuid references person,
    struck_at timestamptz,
    struck_reason text not null default '',
    constraint paper_span check (last_day >= on_day),
    constraint paper_insurance_whole check (kind <> 'insurance' or (amount is not null and last_day is not null)),
    constraint paper_purchase_whole check (kind <> 'restricted-purchase'
        or (amount is not null and unit is not null and product_id is not null and number <> '')),
    constraint paper_units_whole check (kind <> 'training-units' or (amount is not null and certification_id is not null)),
    constraint paper_training_has_trainer check (kind not in ('handler-training', 'label-review') or trainer_id is not null),
    constraint paper_struck_whole check (
        (struck_by is null) = (struck_at is null) and (struck_by is null) = (struck_reason = ''))
);
create index paper_by_kind on paper (kind, on_day desc);

-- Who took part in a training.
create table paper_person (
    paper_id uuid not null references paper,
    person_id uuid not null references person,
    primary key (paper_id, person_id)
);

create function refuse_change_of_paper() returns trigger language plpgsql as $$
begin
    if tg_op = 'UPDATE' and tg_table_name = 'paper' then
        if old.struck_at is null
            and (to_jsonb(old) - array['struck_by', 'struck_at', 'struck_reason'])
              = (to_jsonb(new) - array['struck_by', 'struck_at', 'struck_reason'])
        then
            return new;
        end if;
    end if;
    raise exception 'papers are struck out, never changed' using errcode = 'restrict_violation', constraint = 'paper_stays';
end $$;
create trigger paper_stays before update or delete on paper for each row execute function refuse_change_of_paper();
create trigger paper_person_stays before update or delete on paper_person
    for each row execute function refuse_change_of_paper();

alter table certification
    -- Training units that its renewal asks for; null: nobody has said.
    add column units_needed numeric constraint certification_units_range check (units_needed >= 0);

alter table company
    -- So many days before its last day a paper is warned about.
    add column paper_warning_days integer not null default 60
        constraint company_paper_warning_range check (paper_warning_days between 1 and 730);

-- A spill or another incident: what happened, and what was added since. Nothing is changed.
create table incident (
    id uuid primary key,
    kind text not null constraint incident_kind_known check (kind in ('spill', 'exposure', 'drift', 'other')),
    happened_at timestamptz not null,
    state char(2) not null constraint incident_state_code check (state ~ '^[A-Z]{2}$'),
    place text not null constraint incident_place_filled check (place <> ''),
    what text not null constraint incident_what_filled check (what <> ''),
    product_id uuid references product,
    amount text not null default '',
    people text not null default '',
    done text not null default '',
    entered_by uuid not null references person,
    entered_at timestamptz not null
);
create index incident_newest on incident (happened_at desc);

create table incident_entry (
    id uuid primary key,
    incident_id uuid not null references incident,
    -- A report to the state or somebody else, a correction of what was written, or what happened since.
    kind text not null constraint incident_entry_kind_known check (kind in ('reported', 'correction', 'addition')),
    at timestamptz not null,
    reported_to text not null default '',
    words text not null constraint incident_entry_filled check (words <> ''),
    entered_by uuid not null references person,
    entered_at timestamptz not null,
    constraint incident_entry_report_names check ((kind = 'reported') = (reported_to <> ''))
);
create index incident_entry_incident on incident_entry (incident_id, entered_at);
create trigger incident_stays before update or delete on incident for each row execute function refuse_change_of_paper();
create trigger incident_entry_stays before update or delete on incident_entry
    for each row execute function refuse_change_of_paper();
