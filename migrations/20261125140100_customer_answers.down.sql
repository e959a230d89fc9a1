drop view standing_answer;
drop table customer_answer_plant;
drop table customer_answer;
