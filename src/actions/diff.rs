//! What a change changed, for the audit.
use super::Result;
use serde::Serialize;
use serde_json::{Map, Value, json};

/// Each field that differs, with what it was and what it is.
///
/// # Errors
/// When a value cannot be written as JSON.
pub fn changed<T: Serialize>(was: &T, now: &T) -> Result<Map<String, Value>> {
    let object = |value: &T| match serde_json::to_value(value).map_err(anyhow::Error::from) {
        Ok(Value::Object(fields)) => Ok(fields),
        Ok(other) => Ok(Map::from_iter([("value".to_owned(), other)])),
        Err(e) => Err(e),
    };
    let (was, now) = (object(was)?, object(now)?);
    let differing = now.into_iter().filter(|(name, value)| was.get(name) != Some(value));
    Ok(differing
        .map(|(name, value)| {
            let before = was.get(&name).cloned().unwrap_or_default();
            (name, json!([before, value]))
        })
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Serialize)]
    struct Hedge {
        count: i32,
        pest: Option<&'static str>,
        place: &'static str,
    }

    #[test]
    fn only_what_differs_is_kept_with_both_values() {
        let was = Hedge { count: 40, pest: None, place: "front" };
        let now = Hedge { count: 38, pest: Some("psyllid"), place: "front" };
        let detail = Value::Object(changed(&was, &now).unwrap());
        assert_eq!(detail, json!({ "count": [40, 38], "pest": [null, "psyllid"] }));
        assert!(changed(&now, &now).unwrap().is_empty());
    }
}
