drop table incident_entry;
drop table incident;
alter table company drop column paper_warning_days;
alter table certification drop column units_needed;
drop table paper_person;
drop table paper;
drop function refuse_change_of_paper();
