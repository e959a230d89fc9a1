-- The label itself and the product's safety data sheet, as files. What is brought stays: a newer file of the same
-- kind stands in its place from then on, and the older one can still be read.
create table document (
    id uuid primary key,
    kind text not null constraint document_kind_known check (kind in ('label', 'safety-data-sheet')),
    product_id uuid not null references product,
    -- A label file belongs to one version of the label, a safety data sheet to the product.
    label_version_id uuid references label_version,
    file_name text not null,
    -- SHA-256 of the bytes: a phone knows by it that a file has arrived whole.
    hash bytea not null constraint document_hash_whole check (length(hash) = 32),
    content bytea not null constraint document_content_filled check (length(content) > 0),
    brought_by uuid not null references person,
    brought_at timestamptz not null,
    constraint document_label_names_version check ((kind = 'label') = (label_version_id is not null))
);
-- They are packed already.
alter table document alter column content set storage external;
create index document_of_product on document (product_id, kind, brought_at desc, id desc);

create function refuse_change_of_document() returns trigger language plpgsql as $$
begin
    raise exception 'a document that was brought stays' using errcode = 'restrict_violation', constraint = 'document_stays';
end $$;
create trigger document_stays before update or delete on document for each row execute function refuse_change_of_document();
create trigger document_not_emptied before truncate on document
    for each statement execute function refuse_change_of_document();
