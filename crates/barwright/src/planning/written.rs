//! Specifications as text: a first one from five answers, every other key with its value and where it comes from; and one with
//! better sizes, the rest as the maker wrote it.
use crate::convert::rounded;
use crate::error::Refused;
use making::schedule::{Law, SOURCES, Specification, note_name};

/// The text, from five answers; it is checked by being read again.
pub(crate) fn first(kind: &str, lowest: &str, highest: &str, a4_hz: f64, wood: &str) -> Result<String, Refused> {
    if !a4_hz.is_finite() {
        let message = format!("the pitch of A4 is {a4_hz} Hz; it must lie between 400 and 480 Hz");
        return Err(Refused::new("out_of_range", message, "440 is ISO 16; many are ordered at 442"));
    }
    let quoted = |what: &str, text: &str| {
        // Whatever would end the string early is in no note's, no kind's and no wood's name.
        if text.contains(['"', '\\', '\n', '\r']) {
            let message = format!("{what} is {text:?}, which is no name");
            return Err(Refused::new("wrong_name", message, "give it without quotation marks"));
        }
        Ok(format!("\"{text}\""))
    };
    let source = |key: &str| SOURCES.iter().find(|(of, _)| *of == key).map_or("", |(_, words)| *words);
    let mut text = format!(
        "# What the instrument shall be. These five lines are enough; the rest are the figures taken without them.\n\
         kind = {}          # marimba or xylophone\nlowest = {}\nhighest = {}\na4_hz = {a4_hz}\nwood = {}\n",
        quoted("the kind", kind)?,
        quoted("the lowest note", lowest)?,
        quoted("the highest note", highest)?,
        quoted("the wood", wood)?,
    );
    let lines = [
        ("", "density_kg_m3 = 950   # with wood = \"generic hardwood\" only, and both\n# e_l_gpa = 18"),
        ("", "one_row = false"),
        ("reference", "temperature_c = 22\n# humidity_percent = 45"),
        ("temperament", "temperament_cents = [0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]   # C to B, over equal"),
        ("stretch", "stretch = [{ note = \"C6\", cents = 0 }, { note = \"C7\", cents = 12 }]"),
        (
            "modes",
            "modes = [{ up_to = \"C4\", ratios = [1, 4, 10] }, { up_to = \"C6\", ratios = [1, 4] }, { up_to = \"C8\", ratios = [1] }]",
        ),
        ("length", "length = { law = \"usual\", factor = 1 }   # or straight: lowest_mm, highest_mm; or constant: mm"),
        ("width", "width = { law = \"stepped\", every = 5 }"),
        ("thickness", "thickness = { law = \"constant\", mm = 23 }"),
        ("gap", "gap_mm = 12.7"),
        ("min_thickness", "min_thickness_mm = 5"),
        ("", "longest_blank_mm = 600   # the longest blank at hand"),
        ("", "most_overall_mm = 2400   # the longest row that still fits (van, stage)"),
    ];
    for (key, line) in lines {
        text.push('\n');
        if !source(key).is_empty() {
            text.push_str(&format!("# {}\n", source(key)));
        }
        text.push_str(&format!("# {line}\n"));
    }
    Ok(text)
}

/// The maker's text with the sizes of `specification` that are listed, the rest as it was.
///
/// # Errors
/// [`Refused`] `not_a_specification` if the text is none.
pub(crate) fn with_sizes(text: &str, specification: &Specification) -> Result<String, Refused> {
    let mut document: toml_edit::DocumentMut = text.parse().map_err(|error: toml_edit::TomlError| {
        Refused::new("not_a_specification", error.message(), "plan it as it is first: barwright plan FILE")
    })?;
    let laws =
        [("length", &specification.length), ("width", &specification.width), ("thickness", &specification.thickness)];
    for (key, law) in laws {
        let Law::Listed(sizes) = law else { continue };
        let mut table = toml_edit::InlineTable::new();
        table.insert("law", "listed".into());
        let mut list = toml_edit::Array::new();
        for (midi, size_m) in sizes {
            let mut line = toml_edit::InlineTable::new();
            line.insert("note", note_name(*midi).into());
            line.insert("mm", rounded(size_m * 1e3, 3).into());
            let mut line = toml_edit::Value::from(line);
            line.decor_mut().set_prefix("\n    ");
            list.push_formatted(line);
        }
        list.set_trailing("\n");
        list.set_trailing_comma(true);
        table.insert("sizes", list.into());
        document.remove(key);
        document.insert(key, toml_edit::value(table));
    }
    Ok(document.to_string())
}
