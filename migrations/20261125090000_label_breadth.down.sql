-- What is signed is out of reach, so rows in newer words stay, and only new ones are held to the older ones;
-- caps that count a product have no place there.
alter table label_cap drop constraint label_cap_unit_known;
alter table label_cap disable trigger label_cap_signed_stays;
delete from label_cap where counts = 'product';
alter table label_cap enable trigger label_cap_signed_stays;
alter table label_cap drop column counts;
alter table label_cap alter column ingredient set not null;
alter table label_cap add constraint label_cap_unit_known check (
    unit in ('lb/acre', 'oz/acre', 'g/acre', 'g/ha', 'kg/ha')) not valid;
alter table label_use
    drop constraint label_use_per_measured,
    drop constraint label_use_season2_whole,
    drop constraint label_use_lead_with_bloom,
    drop constraint label_use_measure_known,
    drop constraint label_use_rate_unit_known,
    drop column rate_per,
    drop column season2_from,
    drop column season2_to,
    drop column bloom_lead_days,
    drop column foliar_rest_days,
    drop column no_group_repeat;
alter table label_use
    add constraint label_use_measure_known check (measure in ('height-ft', 'diameter-in')) not valid,
    add constraint label_use_rate_unit_known check (
        rate_unit in ('mL', 'L', 'floz', 'pt', 'qt', 'gal', 'g', 'kg', 'oz', 'lb')) not valid;
alter table label_ingredient drop constraint label_ingredient_unit_known;
alter table label_ingredient add constraint label_ingredient_unit_known check (
    strength_unit in ('lb/gal', 'g/L', 'percent')) not valid;
alter table label_version
    drop constraint label_version_density_whole,
    drop constraint label_version_piece_whole,
    drop column density,
    drop column density_unit,
    drop column piece_mass,
    drop column piece_unit;
alter table product_registration drop column valid_from;
alter table product drop column price, drop column price_unit;
alter table product drop constraint product_form_known;
alter table product add constraint product_form_known check (form in ('liquid', 'dry')) not valid;
