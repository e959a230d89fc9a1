drop index audit_person;
drop index audit_time;
drop trigger audit_queued on audit;
drop function queue_audit_row();
drop table audit_unlinked;
drop table audit_link;
