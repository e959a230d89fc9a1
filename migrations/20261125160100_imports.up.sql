-- A table that was brought to us, from the file to what became of it. The file lies in parts beside it until its rows
-- are written: any copy of the program may be the one that reads it.
create table import (
    id uuid primary key,
    kind text not null constraint import_kind_known
        check (kind in ('customers', 'sites', 'plants', 'products', 'applications')),
    file_name text not null,
    format text not null constraint import_format_known check (format in ('csv', 'xlsx')),
    encoding text not null default '',
    -- One character; empty for a workbook.
    delimiter text not null default '',
    -- The sheet that is read, and all there are.
    sheet text not null default '',
    sheets text[] not null default '{}',
    bytes bigint not null,
    fingerprint bytea not null,
    -- The first line that is not empty, its number, and some lines after it, for whoever says what is what.
    heads text[] not null default '{}',
    head_line integer not null default 0,
    samples jsonb not null default '[]',
    -- For each column of the kind the place of the file's column, counted from 0; -1: the file has none.
    mapping integer[] not null default '{}',
    state text not null constraint import_state_known check (state in
        ('columns', 'to-check', 'checking', 'checked', 'to-write', 'writing', 'done', 'undone', 'stopped', 'failed')),
    -- Lines that hold something, those that may be brought in, those with a fault, those that are here already.
    lines integer not null default 0,
    good integer not null default 0,
    bad integer not null default 0,
    present integer not null default 0,
    percent integer not null default 0 constraint import_percent_range check (percent between 0 and 100),
    stop_asked boolean not null default false,
    words text not null default '',
    -- Every row that comes of it has an id from this one on, its last 32 bits counting: by that they are found again.
    batch uuid not null,
    asked_by uuid not null references person,
    asked_at timestamptz not null,
    started_at timestamptz,
    beat_at timestamptz,
    ended_at timestamptz,
    undone_by uuid references person,
    undone_at timestamptz,
    constraint import_batch_once unique (batch),
    constraint import_undone_whole check ((state = 'undone') = (undone_at is not null))
);
create index import_waiting on import (asked_at) where state in ('to-check', 'checking', 'to-write', 'writing');
-- The same table again is known by its bytes, for as long as its rows are here.
create unique index import_once on import (kind, fingerprint) where state = 'done';
create index import_newest on import (asked_at desc, id);

create table import_part (
    import_id uuid not null references import,
    position integer not null,
    content bytea not null,
    primary key (import_id, position)
);

-- What is wrong with a line, cell by cell.
create table import_fault (
    import_id uuid not null references import,
    line integer not null,
    column_code text not null,
    value text not null,
    words text not null
);
create index import_fault_line on import_fault (import_id, line);

-- Numbers that things had in the books of before, so that one table may name what another has brought.
create table import_key (
    kind text not null,
    key text not null,
    noun_id uuid not null,
    import_id uuid not null references import,
    primary key (kind, key)
);
create index import_key_import on import_key (import_id);
