-- Which day a customer who said yes was told of a visit, so that the next word about it is one of the same event of
-- their calendar: same uid, one number higher. Rows are added and stay.
create table visit_told (
    uid uuid not null,
    -- The mail that answered them had none, which counts as zero.
    sequence integer not null constraint visit_told_sequence_range check (sequence > 0),
    visit_id uuid not null constraint visit_told_visit references visit,
    answer_id uuid not null constraint visit_told_answer references customer_answer,
    -- Null: that the visit is cancelled.
    on_date date,
    message_id uuid not null constraint visit_told_message references message,
    primary key (uid, sequence)
);
create index visit_told_visit on visit_told (visit_id);
create index visit_told_answer on visit_told (answer_id);
