-- What happened to the renewal of a site: it was reminded of, accepted, put off to another day, declined, or an
-- answer was taken back. Events are only added; the newest answer since the last treatment counts.
create table renewal_event (
    id uuid primary key,
    site_id uuid not null references site,
    -- Whose renewal it was: the site may have another customer later.
    customer_id uuid not null references customer,
    kind text not null constraint renewal_event_kind_known check (
        kind in ('reminded', 'accepted', 'other-day', 'declined', 'taken-back')),
    -- The day on which the site was due when this happened; null: it had none.
    due_on date,
    wished_on date,
    reason text constraint renewal_event_reason_known check (
        reason in ('price', 'moving', 'by-themselves', 'other-company', 'plants-gone', 'not-content', 'no-chemicals',
            'other', 'not-said')),
    words text not null default '',
    came_by text not null constraint renewal_event_way_known check (
        came_by in ('link', 'telephone', 'mail', 'in-person', 'program')),
    -- The price that was named, in US dollars; null: none was known.
    price numeric constraint renewal_event_price_range check (price >= 0),
    -- Null: the customer's own hand, or the program.
    entered_by uuid references person,
    happened_at timestamptz not null,
    constraint renewal_event_declined_says_why check ((kind = 'declined') = (reason is not null)),
    constraint renewal_event_wish_has_day check (kind <> 'other-day' or wished_on is not null)
);
create index renewal_event_site on renewal_event (site_id, happened_at);
create function refuse_change_of_renewal() returns trigger language plpgsql as $$
begin
    raise exception 'what was answered stays written' using errcode = 'restrict_violation', constraint = 'renewal_event_stays';
end $$;
create trigger renewal_event_stays before update or delete on renewal_event
    for each row execute function refuse_change_of_renewal();
create trigger renewal_event_not_emptied before truncate on renewal_event
    for each statement execute function refuse_change_of_renewal();
