-- What the company must be able to show is only added to. Triggers refuse change of it already; that these tables are
-- never emptied is the sign by which the service's role gets no right to change or delete their rows either.
create trigger incident_not_emptied before truncate on incident
    for each statement execute function refuse_change_of_paper();
create trigger incident_entry_not_emptied before truncate on incident_entry
    for each statement execute function refuse_change_of_paper();
create trigger paper_not_emptied before truncate on paper
    for each statement execute function refuse_change_of_paper();
create trigger paper_person_not_emptied before truncate on paper_person
    for each statement execute function refuse_change_of_paper();
create trigger plant_look_not_emptied before truncate on plant_look
    for each statement execute function refuse_change_of_plant_look();
create trigger estimate_not_emptied before truncate on estimate
    for each statement execute function refuse_change_of_estimate();
create trigger estimate_line_not_emptied before truncate on estimate_line
    for each statement execute function refuse_change_of_estimate();
