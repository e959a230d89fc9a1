drop table plant, site_window, site, parcel, customer;
drop extension pg_trgm;
