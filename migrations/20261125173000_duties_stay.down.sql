drop trigger visit_duty_not_emptied on visit_duty;
drop trigger visit_duty_stays on visit_duty;
drop function refuse_change_of_duty();
