-- What a product comes in: packets and tablets are poured whole.
alter table product drop constraint product_form_known;
alter table product add constraint product_form_known check (form in ('liquid', 'dry', 'packet', 'tablet'));

-- What the company pays for one unit of product, in its own currency; no matter of the label.
alter table product
    add column price numeric constraint product_price_positive check (price > 0),
    add column price_unit text constraint product_price_unit_known check (
        price_unit in ('mL', 'L', 'floz', 'tsp', 'tbsp', 'cup', 'pt', 'qt', 'gal', 'g', 'mg', 'kg', 'oz', 'lb',
            'packet', 'tablet')),
    add constraint product_price_whole check ((price is null) = (price_unit is null));

-- A registration may begin on a day; without one it holds for as long as anybody knows.
alter table product_registration
    add column valid_from date,
    add constraint product_registration_days check (valid_from <= expires_on);

-- What a gallon or a packet weighs stands on the label and is signed with it: doses and caps hang on it.
-- The figure stays in the unit in which the label states it.
alter table label_version
    add column density numeric constraint label_version_density_positive check (density > 0),
    add column density_unit text constraint label_version_density_unit_known check (
        density_unit in ('g/mL', 'kg/L', 'lb/gal')),
    add column piece_mass numeric constraint label_version_piece_positive check (piece_mass > 0),
    add column piece_unit text constraint label_version_piece_unit_known check (piece_unit in ('g', 'mg', 'oz', 'lb')),
    add constraint label_version_density_whole check ((density is null) = (density_unit is null)),
    add constraint label_version_piece_whole check ((piece_mass is null) = (piece_unit is null));

alter table label_ingredient drop constraint label_ingredient_unit_known;
alter table label_ingredient add constraint label_ingredient_unit_known check (
    strength_unit = 'percent' or strength_unit ~ '^(g|mg|kg|oz|lb)/(mL|L|floz|pt|qt|gal|packet|tablet)$');

alter table label_use drop constraint label_use_measure_known;
alter table label_use add constraint label_use_measure_known check (
    measure in ('height-ft', 'diameter-in', 'circumference-in', 'plant', 'container', 'area-1000sqft', 'area-acre'));
alter table label_use drop constraint label_use_rate_unit_known;
alter table label_use add constraint label_use_rate_unit_known check (
    rate_unit in ('mL', 'L', 'floz', 'tsp', 'tbsp', 'cup', 'pt', 'qt', 'gal', 'g', 'mg', 'kg', 'oz', 'lb', 'packet',
        'tablet'));
alter table label_use
    -- For how many feet, inches and so on rate and water are stated: 1 to 2 oz for 30 in.
    add column rate_per numeric not null default 1 constraint label_use_per_positive check (rate_per > 0),
    add column season2_from text constraint label_use_season2_from_day check (
        season2_from ~ '^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$'),
    add column season2_to text constraint label_use_season2_to_day check (
        season2_to ~ '^(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$'),
    add column bloom_lead_days integer constraint label_use_bloom_lead_range check (bloom_lead_days between 0 and 366),
    add column foliar_rest_days integer constraint label_use_foliar_rest_range check (foliar_rest_days >= 0),
    add column no_group_repeat boolean not null default false,
    -- A packet for so many plants would be divided.
    add constraint label_use_per_measured check (rate_per = 1 or measure not in ('plant', 'container')),
    add constraint label_use_season2_whole check (
        (season2_from is null) = (season2_to is null) and (season2_from is null or season_from is not null)),
    add constraint label_use_lead_with_bloom check (bloom_lead_days is null or barred_in_bloom);

-- A cap counts an ingredient over all products, or the product itself, whatever it holds.
alter table label_cap
    alter column ingredient drop not null,
    add column counts text not null default 'ingredient' constraint label_cap_counts_known check (
        counts in ('ingredient', 'product')),
    add constraint label_cap_ingredient_named check ((counts = 'ingredient') = (ingredient is not null));
alter table label_cap drop constraint label_cap_unit_known;
alter table label_cap add constraint label_cap_unit_known check (
    case counts
        when 'ingredient' then unit ~ '^(g|mg|kg|oz|lb)/(sqft|1000sqft|sqyd|acre|m2|ha)$'
        else unit ~ '^(mL|L|floz|tsp|tbsp|cup|pt|qt|gal|g|mg|kg|oz|lb|packet|tablet)/(sqft|1000sqft|sqyd|acre|m2|ha)$'
    end);
