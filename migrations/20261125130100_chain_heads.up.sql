-- Heads of the chains that were given out, to be kept outside. What is kept here is only a reminder of them:
-- whoever can rewrite the chains can rewrite this too.
create table chain_head (
    id uuid primary key,
    taken_at timestamptz not null,
    taken_by uuid references person,
    records_size bigint not null constraint chain_head_records_range check (records_size >= 0),
    records_root bytea not null,
    records_last bytea not null,
    audit_size bigint not null constraint chain_head_audit_range check (audit_size >= 0),
    audit_root bytea not null,
    audit_last bytea not null
);
create index chain_head_time on chain_head (taken_at);
create function refuse_change_of_head() returns trigger language plpgsql as $$
begin
    raise exception 'heads stay as they were taken' using errcode = 'restrict_violation', constraint = 'chain_head_stays';
end $$;
create trigger chain_head_stays before update or delete on chain_head
    for each row execute function refuse_change_of_head();
create trigger chain_head_not_emptied before truncate on chain_head
    for each statement execute function refuse_change_of_head();
