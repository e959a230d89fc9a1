drop table plant_look;
drop function refuse_change_of_plant_look();
