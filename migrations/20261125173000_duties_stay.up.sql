-- That a sign stood or somebody was told is proof of it.
create function refuse_change_of_duty() returns trigger language plpgsql as $$
begin
    raise exception 'what was done is not undone' using errcode = 'restrict_violation', constraint = 'visit_duty_stays';
end $$;
create trigger visit_duty_stays before update or delete on visit_duty
    for each row execute function refuse_change_of_duty();
create trigger visit_duty_not_emptied before truncate on visit_duty
    for each statement execute function refuse_change_of_duty();
