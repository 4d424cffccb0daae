//! Small marks that go with words, so that colour is never the only sign.
use maud::{Markup, PreEscaped, html};

/// Double tick: in tolerance, entered.
pub fn double_tick() -> Markup {
    mark("done", "M2 13l5 6L17 5M11 17l2 2L23 7")
}

/// Triangle: caution, doubt, refusal.
pub fn triangle() -> Markup {
    mark("caution", "M12 3L22 21H2ZM12 10v5M12 18v.5")
}

/// Circle arrow: wait, again.
pub fn again() -> Markup {
    mark("node", "M20 12a8 8 0 1 1-3-6.2M17 2v4.4h-4.4")
}

/// Hatched square: cut.
pub fn hatch() -> Markup {
    mark("cut", "M3 3h18v18H3ZM3 9L9 3M3 15L15 3M3 21L21 3M9 21L21 9M15 21L21 15")
}

/// Arrow back: take back.
pub fn back() -> Markup {
    mark("text", "M4 9h10a6 6 0 0 1 0 12H8M9 4L4 9l5 5")
}

/// Arrow forth: bring back.
pub fn forth() -> Markup {
    mark("text", "M20 9H10a6 6 0 0 0 0 12h6M15 4l5 5-5 5")
}

/// Arrow to a place on a bar: strike there.
pub fn to_place() -> Markup {
    mark("text", "M2 17h20v4H2ZM7 3v10M3 9l4 4 4-4")
}

/// Waves: too noisy.
pub fn waves() -> Markup {
    mark("text", "M2 8q2.500-5 5 0t5 0t5 0t5 0M2 17q2.500-5 5 0t5 0t5 0t5 0")
}

/// Rising bars: too loud.
pub fn bars() -> Markup {
    mark("text", "M3 21v-5h4v5ZM10 21V10h4v11ZM17 21V2h4v19Z")
}

/// Mallet: to be struck.
pub fn mallet() -> Markup {
    mark("text", "M3 21L13 11M13 5a5 5 0 1 1 0 9a5 5 0 0 1 0 -9")
}

/// Hourglass: resting.
pub fn hourglass() -> Markup {
    mark("node", "M5 3h14M5 21h14M7 3c0 7 10 11 10 18M17 3c0 7-10 11-10 18")
}

/// Arrow out of a frame: to be done elsewhere.
pub fn away() -> Markup {
    mark("text", "M3 5v16h16M9 15L20 4M12 4h8v8")
}

fn mark(pen: &str, path: &str) -> Markup {
    let svg = format!(
        r#"<svg class="mark" viewBox="0 0 24 24" width="24" height="24" aria-hidden="true"><path class="pen-{pen}" stroke-width="2.2" stroke-linecap="round" stroke-linejoin="round" d="{path}"/></svg>"#
    );
    html! { (PreEscaped(svg)) }
}
