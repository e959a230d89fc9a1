drop table way_out_choice;
drop table plant_split;
drop table kit;
alter table parcel
    drop column sharing,
    drop column sharing_chosen_by,
    drop column sharing_chosen_at;
