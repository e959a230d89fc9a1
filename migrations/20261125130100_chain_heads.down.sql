drop table chain_head;
drop function refuse_change_of_head();
