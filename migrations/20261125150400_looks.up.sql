-- A look at a plant for its pest, on a visit or between visits. Nothing is changed: a wrong one is struck out.
create table plant_look (
    id uuid primary key,
    plant_id uuid not null references plant,
    on_date date not null,
    pest text not null constraint plant_look_pest_filled check (pest <> ''),
    seen boolean not null,
    words text not null default '',
    inspected_by uuid not null references person,
    entered_at timestamptz not null,
    struck_by uuid references person,
    struck_at timestamptz,
    struck_reason text not null default '',
    constraint plant_look_struck_whole check (
        (struck_by is null) = (struck_at is null) and (struck_by is null) = (struck_reason = ''))
);
create index plant_look_plant on plant_look (plant_id, on_date);
create function refuse_change_of_plant_look() returns trigger language plpgsql as $$
begin
    if tg_op = 'UPDATE' and old.struck_at is null
        and (to_jsonb(old) - array['struck_by', 'struck_at', 'struck_reason'])
          = (to_jsonb(new) - array['struck_by', 'struck_at', 'struck_reason'])
    then
        return new;
    end if;
    raise exception 'looks are struck out, never changed'
        using errcode = 'restrict_violation', constraint = 'plant_look_stays';
end $$;
create trigger plant_look_stays before update or delete on plant_look
    for each row execute function refuse_change_of_plant_look();
