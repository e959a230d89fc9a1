drop table document;
drop function refuse_change_of_document();
