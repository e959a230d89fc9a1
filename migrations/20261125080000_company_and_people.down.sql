drop table sign_in_failure, session, setup_link, invitation, certification, person, county_registration, company;
