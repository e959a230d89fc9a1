//! A JSON tree that keeps the order of members and sees the ones named twice,
//! which a map would silently drop.

use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use std::fmt;

/// A JSON value.
#[derive(Debug, Clone, PartialEq)]
pub enum Json {
    /// `null`.
    Null,
    /// `true` or `false`.
    Bool(bool),
    /// A whole number.
    Integer(i128),
    /// Any other number.
    Fraction(f64),
    /// A string.
    Text(String),
    /// An array.
    List(Vec<Json>),
    /// An object, members in the order written.
    Object(Vec<(String, Json)>),
}

impl Json {
    /// What it is, for error messages.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Null => "null",
            Self::Bool(_) => "true or false",
            Self::Integer(_) | Self::Fraction(_) => "a number",
            Self::Text(_) => "a string",
            Self::List(_) => "a list",
            Self::Object(_) => "an object",
        }
    }
}

/// Parses one JSON text.
///
/// # Errors
/// Malformed JSON, with line and column.
pub fn parse(input: &str) -> Result<Json, serde_json::Error> {
    serde_json::from_str(input)
}

impl<'de> Deserialize<'de> for Json {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(Tree)
    }
}

struct Tree;

impl<'de> Visitor<'de> for Tree {
    type Value = Json;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E>(self) -> Result<Json, E> {
        Ok(Json::Null)
    }

    fn visit_bool<E>(self, value: bool) -> Result<Json, E> {
        Ok(Json::Bool(value))
    }

    fn visit_i64<E>(self, value: i64) -> Result<Json, E> {
        Ok(Json::Integer(value.into()))
    }

    fn visit_u64<E>(self, value: u64) -> Result<Json, E> {
        Ok(Json::Integer(value.into()))
    }

    fn visit_f64<E>(self, value: f64) -> Result<Json, E> {
        Ok(Json::Fraction(value))
    }

    fn visit_str<E>(self, value: &str) -> Result<Json, E> {
        Ok(Json::Text(value.to_owned()))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Json, A::Error> {
        let mut list = Vec::new();
        while let Some(item) = items.next_element()? {
            list.push(item);
        }
        Ok(Json::List(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut members: A) -> Result<Json, A::Error> {
        let mut object = Vec::new();
        while let Some(member) = members.next_entry()? {
            object.push(member);
        }
        Ok(Json::Object(object))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn order_and_repeated_members_are_kept() {
        let tree = parse(r#"{"b": 1, "a": [null, 1.5, "x", true], "b": -2}"#).unwrap();
        let list = vec![Json::Null, Json::Fraction(1.5), Json::Text("x".into()), Json::Bool(true)];
        let expected = [("b", Json::Integer(1)), ("a", Json::List(list)), ("b", Json::Integer(-2))];
        assert_eq!(tree, Json::Object(expected.map(|(key, value)| (key.to_owned(), value)).to_vec()));
    }

    #[test]
    fn malformed_text_and_bottomless_nesting_are_errors() {
        for wrong in ["", "{", "{} {}", "[1,]", "NaN", &"[".repeat(100_000)] {
            assert!(parse(wrong).is_err());
        }
    }
}
