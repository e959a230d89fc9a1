alter table customer_mail add column neighbours text not null default '';
insert into customer_mail as m (customer_id, neighbours)
    select customer_id, string_agg(distinct trim(concat_ws(' ', nullif(name, 'As the customer wrote it'), address, phone,
        email, note)), E'\n') from neighbour_proposal where settled_at is null group by customer_id
    on conflict (customer_id) do update set neighbours = excluded.neighbours;
drop table neighbour_proposal;
