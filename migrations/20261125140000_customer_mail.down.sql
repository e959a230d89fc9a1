drop table reminder_said;
drop table message;
drop function refuse_change_of_message();
drop table customer_mail;
drop table mail_terms;
