drop table estimate_line;
drop table estimate;
drop function refuse_change_of_estimate();
drop table price_list;
