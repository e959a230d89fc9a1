drop trigger customer_noted on customer;
drop trigger parcel_noted on parcel;
drop trigger plant_noted on plant;
drop trigger site_window_noted on site_window;
drop trigger site_noted on site;
drop trigger application_record_noted on application_record;
drop trigger planned_dose_noted on planned_dose;
drop trigger visit_noted on visit;
drop function note_visit_change;
drop table visit_change;
drop table record_signature;
drop function refuse_change_of_signature;
drop table photo;
drop function refuse_change_of_photo;
drop table idempotency_key, completion;
-- A view of all columns must go before a column can.
drop view application_now;
alter table application_item drop column lot;
alter table application_record drop column conditions;
create view application_now as
    select r.* from application_record r
    where not r.withdrawn
      and not exists (select 1 from application_record n where n.id = r.id and n.version > r.version);
alter table site drop column emergency_place;
alter table company drop column emergency_place, drop column poison_center_phone;
