-- What was done of a notice or a sign is shown on the phone of whoever does the visit.
create function note_duty_change() returns trigger language plpgsql as $$
begin
    insert into visit_change (visit_id, technician_id)
    select v.id, v.technician_id from visit v where v.id = new.visit_id;
    return null;
end $$;
create trigger visit_duty_noted after insert on visit_duty for each row execute function note_duty_change();
