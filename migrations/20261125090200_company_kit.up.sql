-- How the plants of a parcel share what a cap leaves: in the order of the day wanted, or so that all of them
-- together have the fewest days without protection. It is somebody's choice, with name and day.
alter table parcel
    add column sharing text not null default 'in-order' constraint parcel_sharing_known check (
        sharing in ('in-order', 'least-gap')),
    add column sharing_chosen_by uuid references person,
    add column sharing_chosen_at timestamptz,
    add constraint parcel_sharing_has_name check ((sharing_chosen_by is null) = (sharing_chosen_at is null)),
    add constraint parcel_sharing_chosen check (sharing = 'in-order' or sharing_chosen_by is not null);

-- What the company measures with and mixes in. A dose is told in marks that the cup has.
create table kit (
    id uuid primary key,
    kind text not null constraint kit_kind_known check (kind in ('vessel', 'tank')),
    name text not null constraint kit_name_filled check (name <> ''),
    -- From mark to mark; a tank has none.
    mark numeric constraint kit_mark_positive check (mark > 0),
    holds numeric constraint kit_holds_positive check (holds > 0),
    unit text not null constraint kit_unit_known check (
        unit in ('mL', 'L', 'floz', 'tsp', 'tbsp', 'cup', 'pt', 'qt', 'gal', 'g', 'mg', 'kg', 'oz', 'lb')),
    retired_at timestamptz,
    created_at timestamptz not null,
    constraint kit_vessel_has_marks check ((kind = 'vessel') = (mark is not null)),
    constraint kit_tank_holds check (kind <> 'tank' or holds is not null),
    constraint kit_mark_fits check (holds is null or mark is null or mark <= holds)
);

-- A record of several alike plants that was split in two: what was applied to the whole before that day was
-- applied to the part as well, and protects it and spaces its next treatment.
create table plant_split (
    plant_id uuid primary key references plant,
    from_plant uuid not null references plant,
    split_on date not null,
    constraint plant_split_of_another check (plant_id <> from_plant)
);
create index plant_split_from on plant_split (from_plant);

-- A way out that somebody chose for a plant, with what the plant was meant to get before, so that it can be
-- taken back.
create table way_out_choice (
    id uuid primary key,
    plant_id uuid not null references plant,
    kind text not null constraint way_out_choice_kind_known check (
        kind in ('lower-rate', 'other-method', 'other-product', 'split', 'tried')),
    chosen_by uuid not null references person,
    chosen_on date not null,
    chosen_at timestamptz not null,
    was_product uuid references product,
    was_use text,
    was_rate numeric,
    was_count integer not null,
    now_product uuid references product,
    now_use text,
    now_rate numeric,
    now_count integer not null,
    -- The record that took the other part.
    part_plant uuid references plant,
    taken_back_at timestamptz
);
create index way_out_choice_plant on way_out_choice (plant_id, chosen_at);
