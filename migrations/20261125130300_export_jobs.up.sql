-- A big file that is made in the background: how far it is, and the file itself in pieces, which stays until
-- somebody removes it.
create table export_job (
    id uuid primary key,
    title text not null,
    file_name text not null,
    media_type text not null,
    state text not null default 'running' constraint export_job_state_known check (
        state in ('running', 'done', 'stopped', 'failed')),
    stop_asked boolean not null default false,
    rows_done bigint not null default 0,
    -- Null: not counted before.
    rows_total bigint,
    bytes bigint not null default 0,
    asked_by uuid not null references person,
    asked_at timestamptz not null,
    -- Renewed while it is made; an old one means that the program ended meanwhile.
    beat_at timestamptz not null,
    ended_at timestamptz,
    constraint export_job_ended_whole check ((state = 'running') = (ended_at is null))
);
create index export_job_asked on export_job (asked_at);

create table export_piece (
    job_id uuid not null references export_job on delete cascade,
    position integer not null,
    bytes bytea not null,
    primary key (job_id, position)
);
