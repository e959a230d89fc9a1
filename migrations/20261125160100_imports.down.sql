drop table import_key;
drop table import_fault;
drop table import_part;
drop table import;
