drop table state_rule_answer, course, listed_pest, parcel_exemption;
alter table visit drop column supervisor_id;
alter table site drop column municipality;
alter table plant drop constraint plant_trunk_once, drop constraint plant_ground_whole, drop constraint plant_harvest_whole,
    drop column girth_in, drop column ground, drop column ground_unit,
    drop column harvest_from, drop column harvest_to, drop column harvest_on;
