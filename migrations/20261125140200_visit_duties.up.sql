-- What the law asks to be told or posted for a visit follows from its state, county and methods; here stands only
-- what was done of it. code names a rule of the program and stays.
create table visit_duty (
    visit_id uuid not null constraint visit_duty_visit references visit,
    code text not null constraint visit_duty_code_filled check (code <> ''),
    done_at timestamptz not null,
    done_by uuid not null constraint visit_duty_person references person,
    how text not null constraint visit_duty_says_how check (how <> ''),
    primary key (visit_id, code)
);
