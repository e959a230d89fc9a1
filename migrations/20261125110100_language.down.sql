alter table person drop column language;
