-- The language in which a technician reads the field pages.
alter table person add column language text not null default 'en'
    constraint person_language_known check (language in ('en', 'es'));
