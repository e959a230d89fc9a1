drop trigger visit_duty_noted on visit_duty;
drop function note_duty_change();
