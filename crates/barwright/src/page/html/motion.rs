//! How the bar moves in each mode, folded away and still until it is opened.
use crate::page::view::BenchView;
use crate::report::{shapes, units};
use maud::{Markup, html};

/// Size of the picture in its own units; the line at rest lies in the middle.
const WIDTH: f64 = 240.0;
const HEIGHT: f64 = 30.0;
const SWING: f64 = 12.0;

/// One picture a bending mode. They swing only while the fold is open and the reader does not prefer stillness.
pub fn motion(view: &BenchView) -> Markup {
    let Some(modes) = &view.modes else { return html! {} };
    html! {
        details #motion {
            summary { "How this bar moves" }
            @for mode in &modes.bending {
                @let title = format!("mode {}, {} Hz", mode.number, units::hz(mode.hz));
                @let motion = shapes::motion(mode, &modes.grid_m, title);
                @let length_mm = motion.curve.last().map_or(1.0, |p| p.0);
                @let at = |x_mm: f64| format!("{:.2}", x_mm / length_mm * WIDTH);
                @let nodes: Vec<String> = motion.nodes_mm.iter().map(|x| format!("{x:.0}")).collect();
                figure .motion {
                    figcaption { (motion.title) }
                    svg viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) role="img"
                        aria-label=(format!("{}: still at {} mm from the left end", motion.title, nodes.join(", "))) {
                        line .pen-faint x1="0" x2=(WIDTH) y1=(HEIGHT / 2.0) y2=(HEIGHT / 2.0) {}
                        @for x_mm in &motion.nodes_mm {
                            line .pen-node stroke-dasharray="3 1 0.6 1" x1=(at(*x_mm)) x2=(at(*x_mm)) y1="2" y2=(HEIGHT - 2.0) {}
                        }
                        g .swing {
                            polyline .pen-outline points=(points(&motion.curve, length_mm)) {}
                        }
                    }
                }
            }
            p .small { "Motion greatly exaggerated, and many times slower than it is." }
        }
    }
}

fn points(curve: &[(f64, f64)], length_mm: f64) -> String {
    let point =
        |(x_mm, height): &(f64, f64)| format!("{:.2},{:.2}", x_mm / length_mm * WIDTH, HEIGHT / 2.0 - SWING * height);
    curve.iter().map(point).collect::<Vec<_>>().join(" ")
}
