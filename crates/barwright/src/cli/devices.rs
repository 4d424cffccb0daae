//! `devices`: the phones and tablets paired with the workshop.
use super::answer::Form;
use super::args::DevicesCommand;
use super::workshop;
use crate::error::Refused;
use crate::lan::devices::{Device, DeviceFile, remove};
use crate::report;
use crate::report::record::when;
use records::workshop::RECORD_FILE;
use serde_json::{Value, json};
use std::path::Path;

pub(super) fn run(at: Option<&Path>, what: Option<&DevicesCommand>, form: Form) -> Result<String, Refused> {
    let file = file(at)?;
    match what {
        None | Some(DevicesCommand::List) => {
            let devices = file.read()?;
            Ok(form.put(|| to_json(&devices), || to_text(&devices)))
        }
        Some(DevicesCommand::Revoke { device }) => {
            let (revoked, _) = file.change(|devices| remove(devices, device))?;
            Ok(form.told(format!(
                "{} is revoked. A page that is served closes what it has open within a second.\n",
                revoked.name
            )))
        }
    }
}

/// The list of a workshop, found without opening its record: revoking must also work where that is damaged.
fn file(at: Option<&Path>) -> Result<DeviceFile, Refused> {
    let folder = workshop::folder(at)?;
    if folder.join(RECORD_FILE).exists() {
        return Ok(DeviceFile::in_workshop(&folder));
    }
    Err(Refused::new(
        "no_workshop",
        format!("there is no workshop in {}", folder.display()),
        "give its folder with --workshop, or set one up with barwright workshop new",
    ))
}

fn to_json(devices: &[Device]) -> Value {
    let of = |device: &Device| json!({ "id": device.id, "name": device.name, "paired_at": device.paired_at, "seen_at": device.seen_at });
    json!({ "devices": devices.iter().map(of).collect::<Vec<_>>() })
}

fn to_text(devices: &[Device]) -> String {
    if devices.is_empty() {
        return "No device is paired. Start the page with barwright serve --lan to pair one.\n".to_owned();
    }
    let mut table = report::table();
    table.set_header(["device", "last seen", "paired", "id"]);
    for device in devices {
        // A name is anybody's words: nothing in it may steer the terminal.
        table.add_row([
            device.name.escape_debug().to_string(),
            when(device.seen_at),
            when(device.paired_at),
            device.id.clone(),
        ]);
    }
    format!("{}\n", table.trim_fmt())
}
