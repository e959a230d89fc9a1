-- What was done of a duty names a day: a visit that is moved asks anew, and what was done for the other day stays
-- to be read. So every deed is a row, and which of them counts follows from the visit.
alter table visit_duty
    add column for_day date,
    -- When it was written down; done_at is when it was done.
    add column noted_at timestamptz,
    -- Not done, and not asked for: the owner says why the law leaves it open.
    add column excused boolean not null default false;
update visit_duty d set for_day = v.on_date, noted_at = d.done_at from visit v where v.id = d.visit_id;
alter table visit_duty
    alter column for_day set not null,
    alter column noted_at set not null,
    drop constraint visit_duty_pkey,
    add primary key (visit_id, code, noted_at),
    add constraint visit_duty_done_before_noted check (done_at <= noted_at);
