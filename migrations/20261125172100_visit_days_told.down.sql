drop table visit_told;
