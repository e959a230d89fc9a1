//! Whether two versions say the same: a form that is sent again, an amendment that amends nothing.
use crate::db::record::{Head, Item, Version};
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// Whether both say the same of the work, whoever wrote it and when.
pub fn says_the_same(one: &Version, other: &Version) -> bool {
    undated(one) == undated(other)
}

/// Whether the same form led to both. Words that the record copied from elsewhere (names, addresses,
/// certifications) may have changed since; what was typed did not.
pub fn same_form(one: &Version, other: &Version) -> bool {
    typed(one) == typed(other)
}

fn undated(version: &Version) -> Version {
    let mut bare = version.clone();
    let head = &mut bare.head;
    (head.version, head.recorded_by, head.recorded_at) = (0, Uuid::nil(), DateTime::<Utc>::MIN_UTC);
    head.amend_reason.clear();
    // Browsers end lines in their own way.
    head.note = head.note.replace('\r', "");
    bare
}

fn typed(version: &Version) -> Version {
    let mut bare = undated(version);
    copied(&mut bare.head);
    bare.items.iter_mut().for_each(copied_item);
    bare
}

fn copied(head: &mut Head) {
    let words = [
        &mut head.customer_name,
        &mut head.customer_address,
        &mut head.site_address,
        &mut head.site_state,
        &mut head.site_county,
        &mut head.supervisor_name,
        &mut head.supervisor_certification,
    ];
    words.into_iter().for_each(String::clear);
    if head.applicator_id.is_some() {
        head.applicator_name.clear();
        head.applicator_certification.clear();
    }
}

fn copied_item(item: &mut Item) {
    if item.plant_id.is_some() {
        item.plant_words.clear();
    }
    let words = [
        &mut item.host_plant,
        &mut item.target_pest,
        &mut item.product_name,
        &mut item.registration_number,
        &mut item.method,
    ];
    words.into_iter().for_each(String::clear);
}
