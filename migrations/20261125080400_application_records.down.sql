drop table record_flag;
drop view application_now;
drop table application_item, application_record;
drop function refuse_change_of_record();
