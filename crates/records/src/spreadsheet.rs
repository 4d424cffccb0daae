//! What every table written for a spreadsheet needs.

/// Text that no spreadsheet takes for a formula: an apostrophe before what begins with =, +, -, @ or a control character.
pub fn plain_text(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']) { format!("'{text}") } else { text.to_owned() }
}
