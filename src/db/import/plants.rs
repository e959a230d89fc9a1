//! Plants out of a table.
use super::stage::TWICE;

pub(super) const CHECKS: [&str; 9] = [
    TWICE,
    // Where each stands: by the site's number where one is given, else by its street.
    "create temp table import_ref on commit drop as
        with placed as (select t.line, min(s.id::text)::uuid as id, count(*) as many from import_row t
            join site s on lower(s.street) = lower(t.street) and s.retired_at is null
                and (t.city is null or lower(s.city) = lower(t.city))
            where t.site_number is null group by t.line)
        select t.line, coalesce(k.noun_id, p.id) as ref, p.many from import_row t
        left join import_key k on k.kind = 'sites' and k.key = t.site_number
        left join placed p on p.line = t.line",
    "create unique index on import_ref (line)",
    "insert into import_wrong select t.line, 'site_number', t.site_number,
        'No site has this number of the old books. Bring the sites in first, with their numbers.'
     from import_row t join import_ref r using (line) where t.site_number is not null and r.ref is null",
    "insert into import_wrong select t.line, 'street', t.street, case when r.many is null
        then 'There is no site of this street. Bring the sites in first.'
        else r.many || ' sites have this street. Give the city, or the site''s number of the old books.' end
     from import_row t join import_ref r using (line) where t.site_number is null and coalesce(r.many, 0) <> 1",
    // What each gets: a use of the newest label, the only one where none is named.
    "create temp table import_treat on commit drop as
        select t.line, count(distinct p.id) as products, min(p.id::text)::uuid as product,
            count(distinct u.code) as uses, min(u.code) as use_code
        from import_row t
        left join product p on p.retired_at is null
            and (lower(p.name) = lower(t.product) or p.registration_number = upper(t.product))
        left join label_use u on (t.use is null or u.code = t.use or lower(u.name) = lower(t.use))
            and u.label_version_id = (select l.id from label_version l where l.product_id = p.id
                order by l.signed_at is not null desc, l.number desc limit 1)
        where t.product is not null group by t.line",
    "insert into import_wrong select t.line, 'product', t.product, case when r.products = 0
        then 'There is no product of this name or registration number. Enter it first.'
        else 'Several products have this name. Give the registration number.' end
     from import_row t join import_treat r using (line) where r.products <> 1",
    "insert into import_wrong select t.line, 'use', coalesce(t.use, ''), case when r.uses = 0
        then 'The product''s label has no such use. Enter its label first.'
        else 'The product''s label has ' || r.uses || ' uses. Say which.' end
     from import_row t join import_treat r using (line) where r.products = 1 and r.uses <> 1",
    "update import_row t set present = true from import_ref r join plant p on p.site_id = r.ref
     where r.line = t.line and p.retired_at is null and lower(p.place) = lower(t.place)
       and lower(p.host_plant) = lower(t.host_plant)",
];

pub(super) const WRITES: [&str; 1] = [
    "insert into plant (id, site_id, place, host_plant, kind, count, height_ft, stems_in, stem_rule, girth_in, ground,
        ground_unit, target_pest, eaten, food_in_root_zone, product_id, use_code, planned_rate, first_wanted, created_at)
     select t.id, r.ref, t.place, t.host_plant, t.kind, coalesce(t.count, '1')::integer, t.height_ft::numeric,
        case when t.stems_in is null then '{}' else string_to_array(t.stems_in, ', ')::numeric[] end, t.stem_rule,
        t.girth_in::numeric, t.ground_sqft::numeric, case when t.ground_sqft is not null then 'sqft' end,
        coalesce(t.target_pest, ''), coalesce(t.eaten, 'unknown'), coalesce(t.food_in_root_zone, 'unknown'), w.product,
        w.use_code, t.planned_rate::numeric, t.first_wanted::date, $1
     from import_row t join import_ref r using (line) left join import_treat w using (line)
     where not t.present and $2::uuid is not null",
];
