drop trigger estimate_line_not_emptied on estimate_line;
drop trigger estimate_not_emptied on estimate;
drop trigger plant_look_not_emptied on plant_look;
drop trigger paper_person_not_emptied on paper_person;
drop trigger paper_not_emptied on paper;
drop trigger incident_entry_not_emptied on incident_entry;
drop trigger incident_not_emptied on incident;
