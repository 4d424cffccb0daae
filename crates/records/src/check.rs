//! Checks a JSON value against our own schema and says in words what is wrong.
//!
//! Understands just the words of JSON Schema that [`crate::record`] produces: `$ref`, `type`, `properties`,
//! `required`, `additionalProperties: false`, `minimum`/`maximum`, `items`, `minItems`/`maxItems`, `const`,
//! `anyOf` (a thing or null) and `oneOf` (a word of a list, or one log entry). A test holds it against a
//! general validator.
use crate::error::BarFileError;
use crate::schema::schema;
use serde_json::{Map, Value};

/// Checks a whole file.
pub(crate) fn check_file(value: &Value) -> Result<(), BarFileError> {
    if !value.is_object() {
        return Err(wrong_type("", value, "object", schema()));
    }
    check(value, schema(), "")
}

fn check(value: &Value, schema_here: &Value, path: &str) -> Result<(), BarFileError> {
    let resolved = resolve(schema_here);
    if let Some(choices) = resolved.get("anyOf").and_then(Value::as_array) {
        let of_null = |s: &&Value| s.get("type").and_then(Value::as_str) == Some("null");
        return match choices.iter().find(|s| !of_null(s)) {
            Some(choice) if !value.is_null() => check(value, choice, path),
            _ => Ok(()),
        };
    }
    if let Some(choices) = resolved.get("oneOf").and_then(Value::as_array) {
        return check_choice(value, choices, resolved, path);
    }
    check_type(value, resolved, path)?;
    match value {
        Value::Object(object) => check_object(object, resolved, path),
        Value::Array(items) => check_array(items, resolved, path),
        Value::Number(_) => check_range(value, resolved, path),
        _ => Ok(()),
    }
}

/// Follows a `$ref` into `$defs`.
fn resolve(schema_here: &Value) -> &Value {
    schema_here
        .get("$ref")
        .and_then(Value::as_str)
        .and_then(|pointer| schema().pointer(pointer.trim_start_matches('#')))
        .unwrap_or(schema_here)
}

fn check_type(value: &Value, resolved: &Value, path: &str) -> Result<(), BarFileError> {
    let fits = |name: &str| match name {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "number" => value.is_number(),
        "integer" => value.as_f64().is_some_and(|v| v.fract() == 0.0),
        "null" => value.is_null(),
        _ => false,
    };
    let names: Vec<&str> = match resolved.get("type") {
        Some(Value::String(name)) => vec![name],
        Some(Value::Array(names)) => names.iter().filter_map(Value::as_str).collect(),
        _ => return Ok(()),
    };
    if names.iter().any(|name| fits(name)) {
        return Ok(());
    }
    Err(wrong_type(path, value, names[0], resolved))
}

fn wrong_type(path: &str, value: &Value, wanted: &str, resolved: &Value) -> BarFileError {
    let wanted_words = match wanted {
        "object" => "a group in braces { }",
        "array" => "a list in brackets [ ]",
        "string" => "a text in quotes",
        "integer" => "a whole number",
        _ => "a number without quotes",
    };
    let found = match value {
        Value::Null => "null".to_owned(),
        Value::Object(_) => "a group in braces".to_owned(),
        Value::Array(_) => "a list in brackets".to_owned(),
        other => short(&other.to_string()),
    };
    let place = if path.is_empty() { "The file" } else { path };
    BarFileError::new("wrong_type", path, format!("{place} is {found}; it must be {wanted_words}."), meaning(resolved))
}

fn check_object(object: &Map<String, Value>, resolved: &Value, path: &str) -> Result<(), BarFileError> {
    let empty = Map::new();
    let properties = resolved.get("properties").and_then(Value::as_object).unwrap_or(&empty);
    for (key, value) in object {
        match properties.get(key) {
            Some(property) => check(value, property, &joined(path, key))?,
            None => return Err(unknown_key(path, key, properties.keys().map(String::as_str))),
        }
    }
    let required = resolved.get("required").and_then(Value::as_array).map_or(&[][..], Vec::as_slice);
    for key in required.iter().filter_map(Value::as_str) {
        if !object.contains_key(key) {
            let place = if path.is_empty() { "The file".to_owned() } else { path.to_owned() };
            let hint = properties.get(key).map_or_else(String::new, |p| format!("Add it: {}", meaning(p)));
            let code = if key == "format" { "wrong_format" } else { "missing_key" };
            let hint = if key == "format" { format!("Add \"format\": \"{}\".", crate::record::FORMAT) } else { hint };
            return Err(BarFileError::new(code, joined(path, key), format!("{place} has no key \"{key}\"."), hint));
        }
    }
    Ok(())
}

fn unknown_key<'a>(path: &str, key: &str, known: impl Iterator<Item = &'a str>) -> BarFileError {
    let known: Vec<&str> = known.collect();
    let nearest = known
        .iter()
        .map(|name| (strsim::jaro_winkler(&key.to_lowercase(), &name.to_lowercase()), *name))
        .max_by(|a, b| a.0.total_cmp(&b.0));
    let hint = match nearest {
        // Below about 0.75 the Jaro–Winkler likeness of short keys is chance.
        Some((likeness, name)) if likeness > 0.75 => format!("Did you mean \"{name}\"?"),
        _ => format!("Known keys here: {}.", known.join(", ")),
    };
    let place = if path.is_empty() { String::new() } else { format!(" in {path}") };
    BarFileError::new(
        "unknown_key",
        joined(path, &short(key)),
        format!("The key \"{}\"{place} is not known.", short(key)),
        hint,
    )
}

fn check_array(items: &[Value], resolved: &Value, path: &str) -> Result<(), BarFileError> {
    let limit = |name: &str| resolved.get(name).and_then(Value::as_u64);
    let count = items.len() as u64;
    if limit("minItems").is_some_and(|low| count < low) || limit("maxItems").is_some_and(|high| count > high) {
        let allowed = match (limit("minItems"), limit("maxItems")) {
            (Some(low), Some(high)) => format!("{low} to {high}"),
            (Some(low), None) => format!("at least {low}"),
            (_, high) => format!("at most {}", high.unwrap_or(0)),
        };
        let message = format!("{path} holds {count} entries; it must hold {allowed}.");
        return Err(BarFileError::new("out_of_range", path, message, meaning(resolved)));
    }
    if let Some(schema_of_items) = resolved.get("items") {
        for (index, item) in items.iter().enumerate() {
            // The list's own description says more than the item's, which has none.
            check(item, schema_of_items, &format!("{path}[{index}]")).map_err(|mut error| {
                if error.hint.is_empty() {
                    error.hint = meaning(resolved);
                }
                error
            })?;
        }
    }
    Ok(())
}

fn check_range(value: &Value, resolved: &Value, path: &str) -> Result<(), BarFileError> {
    let limit = |name: &str| resolved.get(name).and_then(Value::as_f64);
    let number = value.as_f64().unwrap_or(f64::NAN);
    let (low, high) = (limit("minimum"), limit("maximum"));
    let inside = number.is_finite() && low.is_none_or(|low| number >= low) && high.is_none_or(|high| number <= high);
    if inside {
        return Ok(());
    }
    let unit = unit_of(path);
    let allowed = match (low, high) {
        (Some(low), Some(high)) => format!("lie between {low} and {high}{unit}"),
        (Some(low), None) => format!("be at least {low}{unit}"),
        (None, Some(high)) => format!("be at most {high}{unit}"),
        (None, None) => "be a finite number".to_owned(),
    };
    let message = format!("{path} is {}{unit}; it must {allowed}.", short(&value.to_string()));
    Err(BarFileError::new("out_of_range", path, message, meaning(resolved)))
}

fn check_choice(value: &Value, choices: &[Value], resolved: &Value, path: &str) -> Result<(), BarFileError> {
    let words: Vec<&str> = choices.iter().filter_map(|c| c.get("const").and_then(Value::as_str)).collect();
    if words.len() == choices.len() {
        return check_word(value, &words, path);
    }
    let named =
        |choice: &Value| choice.get("properties").and_then(Value::as_object).and_then(|p| p.keys().next()).cloned();
    let names: Vec<String> = choices.iter().filter_map(named).collect();
    let Value::Object(entry) = value else {
        return Err(wrong_type(path, value, "object", resolved));
    };
    if let Some(key) = entry.keys().find(|key| !names.contains(key)) {
        return Err(unknown_key(path, key, names.iter().map(String::as_str)));
    }
    if entry.len() != 1 {
        let message = format!("{path} holds {} happenings; a log entry holds exactly one.", entry.len());
        let hint = format!("Write one entry each, in order of time, with one of: {}.", names.join(", "));
        return Err(BarFileError::new("wrong_type", path, message, hint));
    }
    let choice = choices.iter().find(|choice| named(choice).is_some_and(|name| entry.contains_key(&name)));
    choice.map_or(Ok(()), |choice| check(value, choice, path))
}

fn check_word(value: &Value, words: &[&str], path: &str) -> Result<(), BarFileError> {
    if value.as_str().is_some_and(|text| words.contains(&text)) {
        return Ok(());
    }
    let listed: Vec<String> = words.iter().map(|word| format!("\"{word}\"")).collect();
    let message = format!("{path} is {}; it must be {}.", short(&value.to_string()), listed.join(" or "));
    let (code, hint) = if path == "format" {
        let hint = "Open this file with the version of barwright that wrote it, or check that it is a bar file.";
        ("wrong_format", hint)
    } else {
        ("wrong_word", "Write one of these words in quotes.")
    };
    Err(BarFileError::new(code, path, message, hint))
}

/// The description of a place in the schema, as the next step.
fn meaning(schema_here: &Value) -> String {
    let own = schema_here.get("description").or_else(|| resolve(schema_here).get("description"));
    own.and_then(Value::as_str).map_or_else(String::new, |text| format!("What belongs here: {}", uncapitalised(text)))
}

fn uncapitalised(text: &str) -> String {
    let mut letters = text.chars();
    match (letters.next(), letters.clone().next()) {
        // "E_L …" and the like stay as they are.
        (Some(first), Some(second)) if second.is_lowercase() => first.to_lowercase().chain(letters).collect(),
        _ => text.to_owned(),
    }
}

fn joined(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }
}

/// The unit that a key carries in its name, with a space before it.
fn unit_of(path: &str) -> &'static str {
    const ENDINGS: [(&str, &str); 9] = [
        ("_kg_m3", " kg/m³"),
        ("_GPa", " GPa"),
        ("_cents", " cents"),
        ("_deg", "°"),
        ("_hz", " Hz"),
        ("_mm", " mm"),
        ("_c", " °C"),
        ("_g", " g"),
        ("", ""),
    ];
    if path.contains(".hz.") {
        return " Hz";
    }
    let name = path.split('[').next_back().filter(|tail| tail.contains('.')).unwrap_or(path);
    let name = if path.ends_with(']') { path.rsplit_once('[').map_or(path, |(head, _)| head) } else { name };
    ENDINGS.iter().find(|(ending, _)| name.ends_with(ending)).map_or("", |(_, unit)| unit)
}

/// Long values, cut to what fits in a message.
fn short(text: &str) -> String {
    const MOST: usize = 40;
    if text.chars().count() <= MOST { text.to_owned() } else { text.chars().take(MOST).chain(['…']).collect() }
}
