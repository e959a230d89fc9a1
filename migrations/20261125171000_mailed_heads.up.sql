-- Where heads of the chains are mailed to, so that one is kept outside without anybody's thinking of it: one row.
create table head_mail (
    only_row boolean primary key default true constraint head_mail_one_row check (only_row),
    -- Empty: nothing is mailed.
    recipient text not null default '',
    every text not null constraint head_mail_every_known check (every in ('day', 'week', 'month'))
);

-- A head is a message like others, and carries a file. It is no longer or shorter than what it proves: it never changes.
alter table message drop constraint message_kind_known;
alter table message add constraint message_kind_known
    check (kind in ('reminder', 'answer', 'notice', 'test', 'head'));
alter table message add column file_name text not null default '';
alter table message add column file_text text not null default '';
alter table message add constraint message_file_named check ((file_name = '') = (file_text = ''));
drop trigger message_stays on message;
create trigger message_stays before update of id, message_id, cause, kind, subject, body_text, body_html, calendar,
    file_name, file_text on message for each row execute function refuse_change_of_message();
