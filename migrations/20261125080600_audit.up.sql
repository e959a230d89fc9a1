-- Who did what, when. Written in the transaction of the deed; never changed.
create table audit (
    id bigint generated always as identity primary key,
    at timestamptz not null,
    person_id uuid references person,
    deed text not null,
    noun text not null,
    noun_id uuid,
    detail jsonb not null default '{}'
);
create index audit_noun on audit (noun, noun_id);

create function refuse_change_of_audit() returns trigger language plpgsql as $$
begin
    raise exception 'audit rows stay as they are' using errcode = 'restrict_violation', constraint = 'audit_stays';
end $$;
create trigger audit_stays before update or delete on audit
    for each row execute function refuse_change_of_audit();
create trigger audit_not_emptied before truncate on audit
    for each statement execute function refuse_change_of_audit();
