//! The file as text: strict reading, places in it, and changing the log without touching another byte.
use crate::error::BarFileError;
use serde::de::{Deserialize, Deserializer, Error as _, MapAccess, SeqAccess, Visitor};
use serde_json::value::RawValue;
use serde_json::{Map, Number, Value};
use std::collections::BTreeMap;
use std::fmt;

/// Larger files than this are not bar files.
const MAX_BYTES: usize = 10 * 1024 * 1024;

/// Decodes and parses the bytes of a file; refuses keys given twice and numbers too large for a double.
pub(crate) fn parse(bytes: &[u8]) -> Result<(String, Value), BarFileError> {
    if bytes.len() > MAX_BYTES {
        let message = format!("The file has {} bytes; the limit is {MAX_BYTES}.", bytes.len());
        return Err(BarFileError::new("too_large", "", message, "Check that this is a bar file."));
    }
    let text = std::str::from_utf8(bytes).map_err(|error| {
        let message = format!("The file is not UTF-8 text: byte {} does not fit.", error.valid_up_to());
        BarFileError::new("not_text", "", message, "Check that this is a bar file, and save it as UTF-8.")
    })?;
    let value = serde_json::from_str::<Strict>(body(text)).map_err(|error| not_json(text, &error))?;
    Ok((text.to_owned(), value.0))
}

/// The text without a byte-order mark.
fn body(text: &str) -> &str {
    text.strip_prefix('\u{feff}').unwrap_or(text)
}

fn not_json(text: &str, error: &serde_json::Error) -> BarFileError {
    let (line, column) = (error.line(), error.column());
    let full = error.to_string();
    let cause = full.split(" at line ").next().unwrap_or(&full);
    let place = format!("line {line}, column {column}");
    if let Some(key) = cause.strip_prefix(TWICE) {
        let message = format!("The key {key} is given twice in the same group ({place}).");
        return BarFileError::new("duplicate_key", key.trim_matches('"'), message, "Keep one of the two.");
    }
    if cause.contains("number out of range") {
        let path = path_at(body(text), line, column);
        let message = format!("{path} is too large to be a number ({place}); it must be finite.");
        return BarFileError::new("not_finite", path, message, "Write the value in the unit that the key names.");
    }
    let message = format!("The file is not JSON: {cause} at {place}.");
    BarFileError::new("not_json", "", message, format!("Open it in a text editor and look at line {line}."))
}

const TWICE: &str = "key given twice: ";

/// A JSON value whose objects hold every key once.
struct Strict(Value);

impl<'de> Deserialize<'de> for Strict {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(StrictVisitor).map(Strict)
    }
}

struct StrictVisitor;

impl<'de> Visitor<'de> for StrictVisitor {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E>(self, value: bool) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_i64<E>(self, value: i64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_u64<E>(self, value: u64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_f64<E: serde::de::Error>(self, value: f64) -> Result<Value, E> {
        Number::from_f64(value).map(Value::Number).ok_or_else(|| E::custom("number out of range"))
    }

    fn visit_str<E>(self, value: &str) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Value, A::Error> {
        let mut list = Vec::new();
        while let Some(Strict(item)) = items.next_element()? {
            list.push(item);
        }
        Ok(Value::Array(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Value, A::Error> {
        let mut object = Map::new();
        while let Some(key) = entries.next_key::<String>()? {
            if object.contains_key(&key) {
                return Err(A::Error::custom(format!("{TWICE}{:?}", key.chars().take(40).collect::<String>())));
            }
            let Strict(value) = entries.next_value()?;
            object.insert(key, value);
        }
        Ok(Value::Object(object))
    }
}

/// An open group or list on the way to a place in the text.
enum Level {
    Object(String),
    Array(usize),
}

/// The path of the value at `line` and `column` (from 1), in text that is JSON up to there.
fn path_at(text: &str, line: usize, column: usize) -> String {
    let line_start: usize = text.split_inclusive('\n').take(line.saturating_sub(1)).map(str::len).sum();
    let end = (line_start + column.saturating_sub(1)).min(text.len());
    let bytes = &text.as_bytes()[..end];
    let mut levels: Vec<Level> = Vec::new();
    let mut at = 0;
    while at < bytes.len() {
        match bytes[at] {
            b'{' => levels.push(Level::Object(String::new())),
            b'[' => levels.push(Level::Array(0)),
            b'}' | b']' => drop(levels.pop()),
            b',' => {
                if let Some(Level::Array(index)) = levels.last_mut() {
                    *index += 1;
                }
            }
            b'"' => {
                let start = at + 1;
                at = start;
                while at < bytes.len() && bytes[at] != b'"' {
                    at += if bytes[at] == b'\\' { 2 } else { 1 };
                }
                let is_key = bytes.iter().skip(at + 1).find(|b| !b.is_ascii_whitespace()) == Some(&b':');
                if let (true, Some(Level::Object(key))) = (is_key, levels.last_mut()) {
                    *key = String::from_utf8_lossy(&bytes[start..at.min(bytes.len())]).into_owned();
                }
            }
            _ => {}
        }
        at += 1;
    }
    levels.iter().fold(String::new(), |path, level| match level {
        Level::Object(key) if path.is_empty() => key.clone(),
        Level::Object(key) => format!("{path}.{key}"),
        Level::Array(index) => format!("{path}[{index}]"),
    })
}

/// Byte range of `part`, a slice of `text`.
fn range_in(text: &str, part: &str) -> std::ops::Range<usize> {
    let start = part.as_ptr() as usize - text.as_ptr() as usize;
    start..start + part.len()
}

/// Byte ranges of the log and of each of its entries; `None` if there is no log.
fn log_site(text: &str) -> Option<(std::ops::Range<usize>, Vec<std::ops::Range<usize>>)> {
    let top: BTreeMap<String, &RawValue> = serde_json::from_str(body(text)).ok()?;
    let log = top.get("log")?.get();
    let entries: Option<Vec<&RawValue>> = serde_json::from_str(log).ok()?;
    let ranges = entries.unwrap_or_default().iter().map(|entry| range_in(text, entry.get())).collect();
    Some((range_in(text, log), ranges))
}

/// `text` with `entry` as the last one of its log; nothing else is changed.
pub(crate) fn with_entry(text: &str, entry: &str) -> String {
    match log_site(text) {
        Some((log, entries)) => match entries.last() {
            Some(last) => {
                let between = match &entries[..] {
                    [.., before, last] => text[before.end..last.start].to_owned(),
                    _ => format!(",{}", &text[log.start + 1..last.start]),
                };
                format!("{}{between}{entry}{}", &text[..last.end], &text[last.end..])
            }
            None => format!("{}[\n    {entry}\n  ]{}", &text[..log.start], &text[log.end..]),
        },
        None => {
            let close = text.rfind('}').unwrap_or(text.len());
            let last_value_end = text[..close].trim_end().len();
            let (head, tail) = text.split_at(last_value_end);
            format!("{head},\n  \"log\": [\n    {entry}\n  ]{tail}")
        }
    }
}

/// `text` without the last entry of its log; `None` if the log is empty.
pub(crate) fn without_last_entry(text: &str) -> Option<String> {
    let (log, entries) = log_site(text)?;
    let last = entries.last()?;
    let start = if entries.len() > 1 { entries[entries.len() - 2].end } else { log.start + 1 };
    Some(format!("{}{}", &text[..start], &text[last.end..]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_infinite_number_is_named_by_its_path() {
        let text = "{\"a\": {\"b\\\"c\": [1, 2]},\n \"log\": [ {}, {\"cut\": {\"x\": [0, 1e999]}}]}";
        let error = parse(text.as_bytes()).unwrap_err();
        assert_eq!((error.code, error.path.as_str()), ("not_finite", "log[1].cut.x[1]"));
    }

    #[test]
    fn an_entry_goes_in_and_out_of_any_layout_without_a_trace() {
        for text in [
            "{\"a\": 1.50, \"log\": [ {\"w\": 1},\n            {\"w\": 2.0} ] }\n",
            "{\"a\": 1.50, \"log\": [\n    {\"w\": 1}\n  ]\r\n}",
            "\u{feff}{\"log\":[{}],\"a\":1e2}",
            "{\"log\":[{\"w\":\"}]\"}]}",
        ] {
            let longer = with_entry(text, "{\"new\":1}");
            assert!(parse(longer.as_bytes()).is_ok(), "{longer}");
            assert_eq!(without_last_entry(&longer).as_deref(), Some(text));
        }
        for text in ["{\"a\":1}", "{\"a\":1,\"log\":[]}", "{\"a\":1,\"log\":null}\n", "{\n  \"a\": 1\n}\n"] {
            let longer = with_entry(text, "{\"new\":1}");
            let (_, value) = parse(longer.as_bytes()).unwrap();
            assert_eq!(value["log"][0]["new"], 1, "{longer}");
            let (_, emptied) = parse(without_last_entry(&longer).unwrap().as_bytes()).unwrap();
            assert_eq!(emptied["log"], serde_json::json!([]));
        }
        assert_eq!(without_last_entry("{\"a\":1}"), None);
    }
}
