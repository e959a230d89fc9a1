//! The chain over application records: one fixed text per version, and the bytes
//! that are hashed.
//!
//! The text is JSON without white space, its keys sorted by their bytes,
//! decimals and times as text, so that the same version always gives the same
//! bytes. What is hashed for the version at place `seq` is, each line ended by
//! a line feed: `plantward-chain-1`, the previous hash in lower-case
//! hexadecimal, `seq` in decimal; then the text. The first version follows 32
//! zero bytes. The digest is taken by the caller.

use std::collections::BTreeMap;
use std::fmt::Write;

/// Length of a hash in bytes (SHA-256).
pub const HASH_BYTES: usize = 32;

/// A part of a version. Numbers that are measured are texts: a decimal has one
/// spelling in a text, and none in JSON.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Value {
    /// Nothing was stated.
    Nothing,
    /// Yes or no.
    Flag(bool),
    /// A count.
    Whole(i64),
    /// Anything that is written.
    Text(String),
    /// Several, in their order.
    List(Vec<Value>),
    /// Named parts; kept sorted.
    Parts(BTreeMap<&'static str, Value>),
}

impl Value {
    /// A text.
    pub fn text(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }

    /// What `text` says, or nothing.
    pub fn maybe<T: ToString>(value: Option<&T>) -> Self {
        value.map_or(Self::Nothing, |value| Self::Text(value.to_string()))
    }

    /// The one text of this value.
    pub fn canonical(&self) -> String {
        let mut out = String::new();
        self.write(&mut out);
        out
    }

    fn write(&self, out: &mut String) {
        match self {
            Self::Nothing => out.push_str("null"),
            Self::Flag(flag) => out.push_str(if *flag { "true" } else { "false" }),
            Self::Whole(number) => out.push_str(&number.to_string()),
            Self::Text(text) => quote(out, text),
            Self::List(items) => {
                out.push('[');
                for (position, item) in items.iter().enumerate() {
                    if position > 0 {
                        out.push(',');
                    }
                    item.write(out);
                }
                out.push(']');
            }
            Self::Parts(parts) => {
                out.push('{');
                for (position, (name, part)) in parts.iter().enumerate() {
                    if position > 0 {
                        out.push(',');
                    }
                    quote(out, name);
                    out.push(':');
                    part.write(out);
                }
                out.push('}');
            }
        }
    }
}

/// As JSON writes a text, escaping no more than it must.
fn quote(out: &mut String, text: &str) {
    out.push('"');
    for letter in text.chars() {
        match letter {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            control if u32::from(control) < 0x20 => {
                // Writing into a String cannot fail.
                let _ = write!(out, "\\u{:04x}", u32::from(control));
            }
            other => out.push(other),
        }
    }
    out.push('"');
}

/// The bytes that are hashed for the version at place `seq`.
pub fn preimage(previous_hash: &[u8], seq: i64, body: &str) -> Vec<u8> {
    format!("plantward-chain-1\n{}\n{seq}\n{body}", hex(previous_hash)).into_bytes()
}

/// The bytes that are hashed for the row of the audit at place `seq`: as those of a version, under a name of
/// their own, so that the one can never stand for the other.
pub fn audit_preimage(previous_hash: &[u8], seq: i64, body: &str) -> Vec<u8> {
    format!("plantward-audit-1\n{}\n{seq}\n{body}", hex(previous_hash)).into_bytes()
}

/// Lower-case hexadecimal.
pub fn hex(bytes: &[u8]) -> String {
    const DIGITS: &[u8; 16] = b"0123456789abcdef";
    let digits = bytes.iter().flat_map(|byte| [byte >> 4, byte & 15]);
    digits.map(|digit| char::from(DIGITS[usize::from(digit)])).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_sorted_and_texts_escaped() {
        let parts = [
            ("water", Value::maybe::<String>(None)),
            ("amount", Value::text("24.5")),
            ("note", Value::text("a \"gate\"\n\\ é")),
            ("count", Value::Whole(3)),
            ("items", Value::List(vec![Value::Flag(true), Value::Flag(false)])),
        ];
        let text = Value::Parts(parts.into_iter().collect()).canonical();
        assert_eq!(
            text,
            r#"{"amount":"24.5","count":3,"items":[true,false],"note":"a \"gate\"\u000a\\ é","water":null}"#
        );
        let read: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(read["note"], "a \"gate\"\n\\ é", "any JSON reader reads it back");
    }

    #[test]
    fn the_hashed_bytes_are_fixed() {
        let bytes = preimage(&[0; 2], 7, "{}");
        assert_eq!(String::from_utf8(bytes).unwrap(), "plantward-chain-1\n0000\n7\n{}");
        assert_eq!(hex(&[0, 255, 16]), "00ff10");
    }
}
