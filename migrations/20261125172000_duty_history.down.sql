delete from visit_duty d where exists (
    select 1 from visit_duty o where o.visit_id = d.visit_id and o.code = d.code and o.noted_at > d.noted_at);
alter table visit_duty
    drop constraint visit_duty_done_before_noted,
    drop constraint visit_duty_pkey,
    add primary key (visit_id, code),
    drop column excused,
    drop column noted_at,
    drop column for_day;
