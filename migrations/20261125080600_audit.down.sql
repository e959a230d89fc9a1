drop table audit;
drop function refuse_change_of_audit();
