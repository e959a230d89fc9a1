-- Work that a phone has not sent yet is sealed with a key of its person; the server keeps the secret, so that
-- the key is gone from the phone at sign-out and comes back with the same person.
alter table person add column phone_key bytea
    constraint person_phone_key_size check (octet_length(phone_key) = 32);
comment on column person.phone_key is 'Made at the first use of a phone; given to the person''s own sessions, and to the owner, who is written down.';
