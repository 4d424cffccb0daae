//! What is known and what was done: nodes, bouts, belief.
use super::advice::depth;
use super::help;
use crate::bench::BoutMode;
use crate::page::drawings;
use crate::page::view::BenchView;
use crate::report::units::{self, Units};
use maud::{Markup, html};

/// Node lines, drawn in plan and in figures.
pub fn nodes(view: &BenchView) -> Markup {
    let nodes = drawings::nodes(view);
    if nodes.is_empty() {
        return html! {};
    }
    html! {
        section {
            h2 { "Node lines of mode 1" }
            div .drawing-card { (drawings::plan(view)) }
            div .scroll { table .stack {
                thead { tr {
                    th scope="col" { "from the left end" }
                    th scope="col" .figure { "near edge" }
                    th scope="col" .figure { "middle" }
                    th scope="col" .figure { "far edge" }
                    th scope="col" .figure { "tilt" }
                } }
                tbody { @for (node, name) in nodes.iter().zip(["left node", "right node"]) { tr {
                    th scope="row" { (name) }
                    @for (place, at) in [(node.near_mm, "near edge"), (node.centre_mm, "middle"), (node.far_mm, "far edge")] {
                        td .figure data-label=(at) { (place_cell(place)) }
                    }
                    td .figure data-label="tilt" { (tilt(node.far_mm - node.near_mm)) }
                } } }
            } }
            (help::fold("help-nodes", &help::NODES))
        }
    }
}

/// Millimetres, and inches under them where the column is narrow.
fn place_cell(place_mm: f64) -> Markup {
    html! { span { (Units::Mm.place(place_mm)) } " " span { "(" (Units::Inch.place(place_mm)) ")" } }
}

/// A tilt with its lean: "+1.5 mm /".
fn tilt(tilt_mm: f64) -> String {
    match tilt_mm {
        t if t > 0.25 => format!("+{} mm, leans /", units::plain(t, 1)),
        t if t < -0.25 => format!("{} mm, leans \\", units::plain(t, 1)),
        _ => "square".to_owned(),
    }
}

/// The readings so far and what was done after each.
pub fn bouts(view: &BenchView) -> Markup {
    if view.bouts.is_empty() {
        return html! { section #bouts { h2 { "Bouts so far" } p { "None yet: strike the bar and listen." } } };
    }
    let columns = view.bouts.iter().map(|b| b.modes.len()).max().unwrap_or(0);
    html! {
        section #bouts {
            h2 { "Bouts so far" }
            div .scroll { table .stack {
                thead { tr {
                    th scope="col" { "reading" }
                    @for mode in 1..=columns { th scope="col" .figure { "mode " (mode) } }
                    th scope="col" .figure { "thinnest" }
                    th scope="col" { "then" }
                } }
                tbody { @for bout in view.bouts.iter().rev() { tr {
                    th scope="row" data-label="reading" { (bout.bout) }
                    @for index in 0..columns { td .figure data-label={ "mode " (index + 1) } { (bout.modes.get(index).map_or_else(String::new, heard_cents)) } }
                    td .figure data-label="thinnest" { (depth(bout.thinnest_mm)) }
                    td data-label="then" { (bout.done) }
                } } }
            } }
            p .small { "Cents from each mode's target." }
        }
    }
}

fn heard_cents(mode: &BoutMode) -> String {
    mode.cents.map_or_else(|| "not heard".to_owned(), |c| units::cents_with_sigma(c, mode.sigma_cents))
}

/// What changed from the reading before to the last one.
pub fn changed(view: &BenchView) -> Markup {
    let [.., before, last] = view.bouts.as_slice() else { return html! {} };
    let by = |(was, is): (&BoutMode, &BoutMode)| Some((is.mode, is.cents? - was.cents?));
    let changes: Vec<(usize, f64)> = before.modes.iter().zip(&last.modes).filter_map(by).collect();
    if changes.is_empty() {
        return html! {};
    }
    html! {
        p .changed {
            "Since the reading before: "
            @for (index, (mode, cents)) in changes.iter().enumerate() {
                @if index > 0 { ", " }
                "mode " (mode) " " strong { (units::cents(*cents)) }
            }
            " cents."
        }
    }
}

/// What is believed of the bar, folded.
pub fn belief(view: &BenchView) -> Markup {
    let Ok(advice) = &view.advice else { return html! {} };
    let (thinnest_x, thinnest) = view.outline.thinnest_mm();
    html! {
        details #belief {
            summary { "What is believed of this bar" }
            div .scroll { table {
                tbody {
                    @for estimate in &advice.belief.estimates { tr {
                        th scope="row" { (estimate_name(estimate.name)) }
                        td .figure { (figure(estimate.value)) " ± " (figure(estimate.sigma)) }
                        td { (estimate.unit) }
                    } }
                    tr {
                        th scope="row" { "thinnest place" }
                        td .figure { (depth(thinnest)) }
                        td { (Units::Both.place(thinnest_x)) " from the left end" }
                    }
                    tr {
                        th scope="row" { "length" }
                        td .figure { (Units::Both.place(view.outline.length_mm())) }
                        td {}
                    }
                }
            } }
            p .small { "± is one standard uncertainty." }
        }
    }
}

/// The trade's word for a quantity; its symbol where the trade has none.
fn estimate_name(name: &str) -> &str {
    match name {
        "E_L" => "stiffness along the grain, E",
        "G_LH" => "shear stiffness, length–thickness, G",
        "G_LW" => "shear stiffness, length–width, G",
        "density" => "density",
        "hand" => "your hand",
        "pass" | "depth_per_pass" => "depth of a pass",
        other => other,
    }
}

/// Three or four significant figures.
fn figure(value: f64) -> String {
    let decimals = match value.abs() {
        v if v >= 100.0 => 0,
        v if v >= 10.0 => 1,
        v if v >= 1.0 => 2,
        _ => 3,
    };
    units::plain(value, decimals)
}
