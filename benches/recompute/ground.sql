-- A company whose records hold @N@ applications on the day @TODAY@, of the shape that work has:
-- 25 plants on a parcel, five plants to a record, ten applications to a plant in five years.
-- Five products, each with two signed label versions of two uses; every fiftieth parcel has two
-- sites, every thirtieth plant is retired, every fortieth has a booking, every hundredth record
-- was amended once and every five hundredth of those was withdrawn.
--
-- The rows obey every foreign key by the way they are made; checking that row by row would only
-- make the waiting longer. Bodies and hashes of records are placeholders: nothing here reads them.
set session_replication_role = replica;

create function made(kind int, n bigint) returns uuid language sql immutable parallel safe as
$$ select (lpad(to_hex(kind), 8, '0') || '-0000-7000-8000-' || lpad(to_hex(n), 12, '0'))::uuid $$;
-- A number below `below` that hangs on n alone.
create function drawn(n bigint, salt int, below int) returns int language sql immutable parallel safe as
$$ select (hashint8extended(n, salt) & 2147483647)::int % below $$;

insert into company (name, street, city, state, zip, phone)
    values ('Bellwether Plant Care', '3 Orchard Row', 'Quillan Springs', 'CA', '99999', '805-555-0100');
insert into person (id, name, email, role, created_at)
    values (made(1, 1), 'Maren', 'maren@bellwether.test', 'owner', '2020-01-01');
insert into certification (id, person_id, state, category, number, valid_from, expires_on)
    values (made(2, 1), made(1, 1), 'CA', 'landscape maintenance', '1', '2020-01-01', '2039-12-31');

insert into product (id, name, registration_number, form, created_at)
    select made(3, n), 'Product ' || n, '99999-' || n, case n when 5 then 'dry' else 'liquid' end, '2020-01-01'
    from generate_series(1, 5) n;
insert into product_registration select made(3, n), 'CA', '2039-12-31' from generate_series(1, 5) n;
insert into label_version (id, product_id, number, label_date, category, entered_by, entered_at,
        signed_by, signed_certification_id, signed_at)
    select made(4, n * 10 + v), made(3, n), v, '2020-01-01', 'landscape maintenance', made(1, 1), '2020-01-01',
        made(1, 1), made(2, 1), '2020-01-02'
    from generate_series(1, 5) n, generate_series(1, 2) v;
-- Three hold imidacloprid in three strengths, two another ingredient each.
insert into label_ingredient (label_version_id, position, name, irac_group, strength, strength_unit)
    select made(4, n * 10 + v), 1,
        case n when 4 then 'dinotefuran' when 5 then 'acephate' else 'imidacloprid' end, '4A',
        case n when 1 then 2 when 2 then 1.6 when 3 then 4 when 4 then 240 else 75 end,
        case n when 4 then 'g/L' when 5 then 'percent' else 'lb/gal' end
    from generate_series(1, 5) n, generate_series(1, 2) v;
insert into label_cap (label_version_id, position, ingredient, amount, unit, year)
    select made(4, n * 10 + v), 1,
        case n when 4 then 'dinotefuran' when 5 then 'acephate' else 'imidacloprid' end,
        case n when 4 then 0.54 when 5 then 1.5 else 0.4 end, 'lb/acre', case n when 4 then 'calendar' else 'unstated' end
    from generate_series(1, 5) n, generate_series(1, 2) v;
insert into label_use (id, label_version_id, code, name, method, measure, rate_low, rate_high, rate_unit,
        protection_value, protection_unit, uptake_days, min_interval_days, max_per_year, season_from, season_to,
        barred_in_bloom)
    select made(5, n * 100 + v * 10 + u), made(4, n * 10 + v), 'use-' || u, 'Use ' || u,
        case u when 1 then 'basal-drench' else 'soil-injection' end,
        case u when 1 then 'height-ft' else 'diameter-in' end,
        0.5 * n, n, case n when 5 then 'g' else 'mL' end,
        case u when 1 then 12 else 26 end, case u when 1 then 'month' else 'week' end, 14, 30 * u,
        case when n = 3 then 2 end, case when n = 2 then '03-01' end, case when n = 2 then '10-31' end, n = 1
    from generate_series(1, 5) n, generate_series(1, 2) v, generate_series(1, 2) u;

insert into customer (id, name, created_at)
    select made(6, n), 'Customer ' || n, '2020-01-01' from generate_series(1, @PARCELS@) n;
insert into parcel (id, lot_sqft, history_known_from, history_answered_by)
    select made(7, n), case when n % 40 <> 0 then 4000 + drawn(n, 1, 180) * 250 end, '2015-01-01', made(1, 1)
    from generate_series(1, @PARCELS@) n;
insert into site (id, customer_id, parcel_id, street, city, state, zip, county, created_at)
    select made(8, n), made(6, n), made(7, n), n || ' Acorn Hill', 'Quillan Springs', 'CA', '99999',
        'San Luis Obispo', '2020-01-01'::timestamptz from generate_series(1, @PARCELS@) n
    union all
    select made(9, n), made(6, n), made(7, n), n || ' Acorn Hill, rear', 'Quillan Springs', 'CA', '99999',
        'San Luis Obispo', '2021-01-01'::timestamptz from generate_series(50, @PARCELS@, 50) n;
insert into plant (id, site_id, place, host_plant, kind, count, height_ft, stems_in, eaten, food_in_root_zone,
        bloom_from, bloom_to, product_id, use_code, planned_rate, retired_at, created_at)
    select made(10, n), made(case when (n / 25) % 50 = 49 and n % 25 > 19 then 9 else 8 end, n / 25 + 1),
        'Bed ' || n % 25, (array['rose', 'boxwood', 'oak', 'ash', 'camellia'])[1 + drawn(n, 2, 5)],
        case drawn(n, 3, 2) when 0 then 'shrub' else 'tree' end, 1 + drawn(n, 4, 3),
        3 + drawn(n, 5, 20) / 2.0, array[2 + drawn(n, 6, 40) / 2.0], 'no', 'no',
        case when n % 7 = 0 then '04-01' end, case when n % 7 = 0 then '05-10' end,
        made(3, 1 + drawn(n, 7, 5)), 'use-' || 1 + drawn(n, 3, 2),
        case when n % 3 = 0 then 0.75 * (1 + drawn(n, 7, 5)) end,
        case when n % 30 = 0 then '2026-01-01'::timestamptz end, '2020-01-01'
    from generate_series(0, @PARCELS@ * 25 - 1) n;

-- In the order in which the work was done, which is no order of places.
insert into application_record (id, version, seq, site_id, parcel_id, origin, withdrawn, applied_on, customer_name,
        customer_address, site_address, site_state, site_county, applicator_name, recorded_by, recorded_at,
        amend_reason, body, previous_hash, hash)
    select made(11, n), v, n * 2 + v, made(8, place), made(7, place), 'own', v = 2 and n % 500 = 0,
        '@TODAY@'::date - 1825 + (n::bigint * 1825 / (@N@ / 5))::int, 'Customer', 'Address', 'Site', 'CA', 'San Luis Obispo',
        'Maren', made(1, 1), '2026-01-01', case v when 2 then 'Miscounted.' else '' end, '', '', ''
    from generate_series(1, @N@ / 5) n, lateral (select 1 + drawn(n, 8, @PARCELS@) as place) p,
        generate_series(1, case when n % 100 = 0 then 2 else 1 end) v;
insert into application_item (record_id, version, position, plant_id, product_id, label_version_id, label_use_id,
        product_name, registration_number, method, amount, unit)
    select made(11, n), v, j, made(10, plant), made(3, p), made(4, p * 10 + l), made(5, p * 100 + l * 10 + u),
        'Product ' || p, '99999-' || p, 'basal-drench',
        round(((2 + drawn(n::bigint * 5 + j, 10, 400)) / 10.0) * v, 2), case p when 5 then 'g' else 'mL' end
    from generate_series(1, @N@ / 5) n,
        lateral (select 25 * drawn(n, 8, @PARCELS@) as first, drawn(n, 9, 25) as start) s,
        generate_series(1, case when n % 100 = 0 then 2 else 1 end) v, generate_series(1, 5) j,
        lateral (select first + (start + 5 * j) % 25 as plant) w,
        lateral (select 1 + drawn(case when n % 5 = 0 then n else plant end, 7, 5) as p, 1 + drawn(plant, 3, 2) as u,
            case when n < @N@ / 10 then 1 else 2 end as l) x;

insert into visit (id, site_id, technician_id, on_date, booked_by, booked_at)
    select made(12, n), made(8, n), made(1, 1), '@TODAY@'::date + 1 + drawn(n, 11, 60), made(1, 1), '2026-01-01'
    from generate_series(1, @PARCELS@, 2) n;
insert into planned_dose (visit_id, plant_id, label_use_id, measure, count, rate, amount, unit)
    select made(12, place), made(10, plant), made(5, p * 100 + 20 + u), 4, 1, 0.5 * p, 2.0 * p,
        case p when 5 then 'g' else 'mL' end
    from generate_series(1, @PARCELS@, 2) place, lateral (select (place - 1) * 25 + 1 + drawn(place, 12, 18) as plant) w,
        lateral (select 1 + drawn(plant, 7, 5) as p, 1 + drawn(plant, 3, 2) as u) x
    where plant % 30 <> 0;

drop function made, drawn;
set session_replication_role = origin;
