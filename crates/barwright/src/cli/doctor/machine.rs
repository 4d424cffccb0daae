//! What the computer has: processors, a browser to open the page in, something that hears.
use super::{Finding, State};
use std::path::Path;

pub(super) fn processors() -> Finding {
    let count = std::thread::available_parallelism().map_or(1, usize::from);
    Finding::good("processors", count.to_string())
}

/// Whether the system has a way of opening a page; elsewhere than on Linux it always has.
pub(super) fn browser() -> Finding {
    // What the opening of pages asks for, in this order.
    const OPENERS: [&str; 4] = ["xdg-open", "gio", "gnome-open", "kde-open"];
    let folders = std::env::var_os("PATH").unwrap_or_default();
    let there = std::env::split_paths(&folders).any(|folder| OPENERS.iter().any(|name| folder.join(name).is_file()));
    if there || !cfg!(target_os = "linux") {
        return Finding::good("browser", "this computer can open pages".to_owned());
    }
    Finding::not_good(
        "browser",
        State::Look,
        "no program that opens pages was found".to_owned(),
        "type the address that barwright serve prints into a browser yourself",
    )
}

/// Inputs for sound, as the Linux kernel lists them. The page listens through the browser, which asks for leave by itself.
pub(super) fn sound() -> Option<Finding> {
    sound_of(Path::new("/proc/asound/pcm"))
}

fn sound_of(list: &Path) -> Option<Finding> {
    if !cfg!(target_os = "linux") {
        return None;
    }
    let text = std::fs::read_to_string(list).unwrap_or_default();
    let inputs = text.lines().filter(|line| line.contains("capture")).count();
    Some(match inputs {
        0 => Finding::not_good(
            "sound",
            State::Look,
            "this computer has no input for sound".to_owned(),
            "use a telephone as the microphone (barwright serve --lan), or bring in recordings",
        ),
        1 => Finding::good("sound", "1 input".to_owned()),
        many => Finding::good("sound", format!("{many} inputs")),
    })
}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::*;

    #[test]
    fn inputs_are_counted_and_none_is_told_with_a_way_out() {
        let folder = tempfile::tempdir().unwrap();
        let list = folder.path().join("pcm");
        // As the kernel writes it (Documentation/sound/designs/procfile.rst).
        std::fs::write(&list, "00-00: ALC : ALC : playback 1 : capture 1\n00-03: HDMI 0 : HDMI 0 : playback 1\n")
            .unwrap();
        assert_eq!(sound_of(&list).unwrap().words, "1 input");
        let none = sound_of(&folder.path().join("missing")).unwrap();
        assert!(none.state == State::Look && none.next.unwrap().contains("--lan"));
    }
}
