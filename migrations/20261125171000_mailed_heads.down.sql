drop trigger message_stays on message;
-- What was mailed of heads goes: the older tables know no such message.
delete from message where kind = 'head';
alter table message drop constraint message_file_named;
alter table message drop column file_text;
alter table message drop column file_name;
alter table message drop constraint message_kind_known;
alter table message add constraint message_kind_known check (kind in ('reminder', 'answer', 'notice', 'test'));
create trigger message_stays before update of id, message_id, cause, kind, subject, body_text, body_html, calendar
    on message for each row execute function refuse_change_of_message();
drop table head_mail;
