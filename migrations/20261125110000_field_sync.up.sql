-- Where help is: read on a phone without signal.
alter table company
    add column poison_center_phone text not null default '',
    add column emergency_place text not null default '';
alter table site
    -- Nearest place for a medical emergency; empty: the company's own.
    add column emergency_place text not null default '';

-- What was confirmed on the spot. Null: the version was written without it, and its text has no such part, so
-- that what was hashed before this column came still fits.
alter table application_record add column conditions jsonb;
-- Lot of the container; empty: not written down, and then not part of the hashed text.
alter table application_item add column lot text not null default '';

create or replace view application_now as
    select r.* from application_record r
    where not r.withdrawn
      and not exists (select 1 from application_record n where n.id = r.id and n.version > r.version);

-- A completion as a phone sent it, whatever became of it. Its id names the record, where there is one.
create table completion (
    id uuid primary key,
    person_id uuid not null references person,
    -- As it was sent: it may name a visit that is not there.
    visit_id uuid,
    -- Plain json: it holds whatever was sent, letters that jsonb refuses included.
    sent json not null,
    state text not null constraint completion_state_known check (state in ('recorded', 'flagged', 'kept', 'closed')),
    words text not null,
    record_id uuid,
    -- Both clocks: the phone's when it was finished and when it was sent, ours when we had it.
    phone_completed_at timestamptz,
    phone_sent_at timestamptz not null,
    received_at timestamptz not null,
    -- Somebody read what was kept, and what came of it.
    settled_by uuid references person,
    settled_at timestamptz,
    settled_words text not null default '',
    constraint completion_settled_whole check (
        (settled_by is null) = (settled_at is null) and (settled_by is null) = (settled_words = ''))
);
create index completion_waiting on completion (received_at) where state = 'kept' and settled_at is null;
create index completion_visit on completion (visit_id);

-- The answer under a key, written in the transaction of the deed: who sends again is answered the same.
create table idempotency_key (
    person_id uuid not null references person,
    key text not null constraint idempotency_key_filled check (key <> ''),
    -- SHA-256 of the content that came first.
    fingerprint bytea not null,
    answer jsonb not null,
    answered_at timestamptz not null,
    constraint idempotency_key_once primary key (person_id, key)
);
create index idempotency_key_age on idempotency_key (answered_at);

-- A photo from the field, without the data of where it was taken. It is never changed.
create table photo (
    id uuid primary key,
    person_id uuid not null references person,
    kind text not null constraint photo_kind_known check (kind in ('image/jpeg', 'image/png')),
    -- Of the bytes as they were sent: the same photo again is known by it.
    sent_hash bytea not null,
    stripped boolean not null,
    content bytea not null,
    received_at timestamptz not null
);
create function refuse_change_of_photo() returns trigger language plpgsql as $$
begin
    raise exception 'photos stay as they are' using errcode = 'restrict_violation', constraint = 'photo_stays';
end $$;
create trigger photo_stays before update on photo for each row execute function refuse_change_of_photo();

-- Who answers for a version of a record: whoever did it, and whoever supervised it. The hash is that of the
-- version, so that nobody's name stands under another text.
create table record_signature (
    id uuid primary key,
    record_id uuid not null,
    version integer not null,
    person_id uuid not null references person,
    capacity text not null constraint record_signature_capacity_known check (capacity in ('applicator', 'supervisor')),
    name text not null constraint record_signature_name_filled check (name <> ''),
    certification text not null default '',
    record_hash bytea not null,
    signed_at timestamptz not null,
    foreign key (record_id, version) references application_record (id, version),
    constraint record_signature_once unique (record_id, version, capacity)
);
create function refuse_change_of_signature() returns trigger language plpgsql as $$
begin
    raise exception 'signatures stay as they are'
        using errcode = 'restrict_violation', constraint = 'record_signature_stays';
end $$;
create trigger record_signature_stays before update or delete on record_signature
    for each row execute function refuse_change_of_signature();
create trigger record_signature_not_emptied before truncate on record_signature
    for each statement execute function refuse_change_of_signature();

-- Whose phone a visit concerns, and which transaction changed what the phone holds of it. A reader asks for all
-- from the oldest transaction that was still at work when it asked the last time: one that commits late is
-- not missed, whatever order they end in.
create table visit_change (
    id bigint generated always as identity primary key,
    visit_id uuid not null references visit,
    technician_id uuid not null references person,
    changed_by xid8 not null default pg_current_xact_id()
);
create index visit_change_since on visit_change (technician_id, changed_by);
create index visit_change_visit on visit_change (visit_id, technician_id);
insert into visit_change (visit_id, technician_id) select id, technician_id from visit;

create function note_visit_change() returns trigger language plpgsql as $$
declare
    site_changed uuid;
    parcel_changed uuid;
begin
    case tg_table_name
    when 'visit' then
        insert into visit_change (visit_id, technician_id) values (new.id, new.technician_id);
        if tg_op = 'UPDATE' and old.technician_id <> new.technician_id then
            insert into visit_change (visit_id, technician_id) values (new.id, old.technician_id);
        end if;
        return null;
    when 'site' then site_changed := new.id;
    when 'site_window' then site_changed := coalesce(new.site_id, old.site_id);
    when 'plant' then site_changed := new.site_id;
    when 'parcel' then parcel_changed := new.id;
    when 'application_record' then parcel_changed := new.parcel_id;
    when 'planned_dose' then
        select s.parcel_id into parcel_changed from visit v join site s on s.id = v.site_id
        where v.id = coalesce(new.visit_id, old.visit_id);
    when 'customer' then
        insert into visit_change (visit_id, technician_id)
        select v.id, v.technician_id from visit v join site s on s.id = v.site_id
        where s.customer_id = new.id and v.status = 'booked';
        return null;
    end case;
    insert into visit_change (visit_id, technician_id)
    select v.id, v.technician_id from visit v join site s on s.id = v.site_id
    where v.status = 'booked' and (s.id = site_changed or s.parcel_id = parcel_changed);
    return null;
end $$;
create trigger visit_noted after insert or update on visit for each row execute function note_visit_change();
-- What is left of a cap concerns every visit on the land.
create trigger planned_dose_noted after insert or update or delete on planned_dose
    for each row execute function note_visit_change();
create trigger application_record_noted after insert on application_record
    for each row execute function note_visit_change();
create trigger site_noted after update on site for each row execute function note_visit_change();
create trigger site_window_noted after insert or update or delete on site_window
    for each row execute function note_visit_change();
create trigger plant_noted after update on plant for each row execute function note_visit_change();
create trigger parcel_noted after update on parcel for each row execute function note_visit_change();
create trigger customer_noted after update on customer for each row execute function note_visit_change();
