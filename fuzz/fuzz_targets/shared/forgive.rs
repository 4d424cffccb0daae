//! Panics inside a library that the program catches and turns into a refusal are no findings; all others are.
use std::sync::Once;

static ONCE: Once = Once::new();

/// From now on, only panics outside the library whose source path contains `library` end the process.
pub fn panics_in(library: &'static str) {
    // libFuzzer's own hook ends the process at every panic, also at one that is caught.
    ONCE.call_once(|| {
        let strict = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |info| {
            if !info.location().is_some_and(|at| at.file().contains(library)) {
                strict(info);
            }
        }));
    });
}
