drop view label_in_force;
drop table label_cap, label_use, label_ingredient, label_version, product_registration;
drop function refuse_change_of_signed_label();
alter table plant drop constraint plant_product_exists;
drop table product;
