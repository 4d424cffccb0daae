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

fn mark(pen: &str, path: &str) -> Markup {
    let svg = format!(
        r#"<svg class="mark" viewBox="0 0 24 24" width="24" height="24" aria-hidden="true" focusable="false"><path class="pen-{pen}" stroke-width="2.2" stroke-linecap="round" stroke-linejoin="round" d="{path}"/></svg>"#
    );
    html! { (PreEscaped(svg)) }
}
