drop trigger application_record_filed on application_record;
drop function note_change_of_filed();
drop table filing_change;
drop table filing;
drop function refuse_change_of_filing();
update county_registration set county = 'whole state' where county = '';
alter table county_registration
    add constraint county_registration_county_filled check (county <> '');
