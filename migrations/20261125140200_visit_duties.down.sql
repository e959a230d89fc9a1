drop table visit_duty;
