-- Every row of the audit becomes a link of a chain, as records are. The link is made after the row is committed,
-- so that no write waits for another one: new rows queue in audit_unlinked and are linked in the background and
-- whenever a head is taken.
create table audit_link (
    seq bigint primary key constraint audit_link_seq_positive check (seq > 0),
    audit_id bigint not null references audit constraint audit_link_once unique,
    previous_hash bytea not null,
    hash bytea not null
);
create trigger audit_link_stays before update or delete on audit_link
    for each row execute function refuse_change_of_audit();
create trigger audit_link_not_emptied before truncate on audit_link
    for each statement execute function refuse_change_of_audit();

create table audit_unlinked (
    audit_id bigint primary key references audit
);
insert into audit_unlinked select id from audit;
create function queue_audit_row() returns trigger language plpgsql as $$
begin
    insert into audit_unlinked values (new.id);
    return new;
end $$;
create trigger audit_queued after insert on audit for each row execute function queue_audit_row();

-- The page that shows the audit reads by time, and by who.
create index audit_time on audit (at, id);
create index audit_person on audit (person_id, at, id);
