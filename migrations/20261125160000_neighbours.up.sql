-- Who lives or works beside a site and is told before something is applied there. A line that is taken off the
-- list stays in the table: what was ticked on the spot names it.
create table site_neighbour (
    id uuid primary key,
    site_id uuid not null references site,
    name text not null constraint site_neighbour_name_filled check (name <> ''),
    address text not null default '',
    phone text not null default '',
    email text not null default '',
    -- How or why: a school's office, bees, somebody who is ill.
    note text not null default '',
    entered_by uuid references person,
    entered_at timestamptz not null,
    removed_at timestamptz
);
create index site_neighbour_site on site_neighbour (site_id);

-- The phones that hold a booked visit of the site hold its list.
create function note_neighbour_change() returns trigger language plpgsql as $$
begin
    insert into visit_change (visit_id, technician_id)
    select v.id, v.technician_id from visit v where v.status = 'booked' and v.site_id = new.site_id;
    return null;
end $$;
create trigger site_neighbour_noted after insert or update on site_neighbour
    for each row execute function note_neighbour_change();
