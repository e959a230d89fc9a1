drop table renewal_event;
drop function refuse_change_of_renewal();
