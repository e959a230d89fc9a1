alter table person drop column phone_key;
