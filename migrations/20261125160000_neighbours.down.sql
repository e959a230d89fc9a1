drop table site_neighbour;
drop function note_neighbour_change;
