-- Whom a customer names to be told before work at a site. The office puts them on the site's list, which is the only
-- list, or sets them aside; the customer's words stay either way.
create table neighbour_proposal (
    id uuid primary key,
    site_id uuid not null constraint neighbour_proposal_site references site,
    customer_id uuid not null constraint neighbour_proposal_customer references customer,
    name text not null constraint neighbour_proposal_name_filled check (name <> ''),
    address text not null default '',
    phone text not null default '',
    email text not null default '',
    note text not null default '',
    given_at timestamptz not null,
    settled_at timestamptz,
    settled_by uuid constraint neighbour_proposal_settler references person,
    -- Who came onto the list by it; none: it was set aside.
    neighbour_id uuid constraint neighbour_proposal_neighbour references site_neighbour,
    constraint neighbour_proposal_settled_whole check ((settled_at is null) = (settled_by is null)),
    constraint neighbour_proposal_taken_is_settled check (neighbour_id is null or settled_at is not null)
);
create index neighbour_proposal_open on neighbour_proposal (site_id, given_at) where settled_at is null;

-- What customers wrote before waits at each of their sites.
insert into neighbour_proposal (id, site_id, customer_id, name, note, given_at)
    select gen_random_uuid(), s.id, m.customer_id, 'As the customer wrote it', m.neighbours, now()
    from customer_mail m join site s on s.customer_id = m.customer_id and s.retired_at is null
    where m.neighbours <> '';
alter table customer_mail drop column neighbours;
