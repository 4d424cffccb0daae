//! How much the top face moves at places the maker asks about: a hole off the node, a rail, a mallet.
use super::units::{Units, plain};
use crate::cli::Place;
use crate::convert::rounded;
use crate::error::Refused;
use bar_physics::{Bar, Modes};
use serde_json::{Value, json};

/// # Errors
/// [`Refused`] if a place is not on the bar.
pub fn check(bar: &Bar, places: &[Place]) -> Result<(), Refused> {
    let (length_mm, half_width_mm) = (bar.length_m() * 1e3, 0.5e3 * bar.width_m);
    match places.iter().find(|p| !(0.0..=length_mm).contains(&p.x_mm) || p.y_mm.abs() > half_width_mm) {
        Some(place) => Err(Refused::new(
            "place_off_the_bar",
            format!("{},{} is not on the bar", plain(place.x_mm, 3), plain(place.y_mm, 3)),
            format!(
                "give 0 to {} mm from the left end and at most {} mm from the middle of the width",
                plain(length_mm, 1),
                plain(half_width_mm, 1)
            ),
        )),
        None => Ok(()),
    }
}

/// Motion of each bending mode at each place, as a fraction of its motion at the middle of the bar.
pub fn to_json(modes: &Modes, places: &[Place]) -> Value {
    let one = |place: &Place| {
        let relative: Vec<f64> = relative(modes, *place).map(|r| rounded(r, 5)).collect();
        json!({ "x_mm": place.x_mm, "y_mm": place.y_mm, "bending": relative })
    };
    places.iter().map(one).collect()
}

/// The same as a table.
pub fn to_text(modes: &Modes, places: &[Place], units: Units) -> String {
    let mut table = super::table();
    let heads = modes.bending.iter().map(|mode| format!("bending {}", mode.number));
    table.set_header(["from the left end".to_owned(), "from the middle".to_owned()].into_iter().chain(heads));
    for place in places {
        let across = match place.y_mm {
            y if y > 0.0 => format!("{} far", units.place(y)),
            y if y < 0.0 => format!("{} near", units.place(-y)),
            _ => "on it".to_owned(),
        };
        let motions = relative(modes, *place).map(|r| format!("{} %", plain(100.0 * r, 1)));
        table.add_row([units.place(place.x_mm), across].into_iter().chain(motions));
    }
    format!(
        "Motion of the top face, in per cent of the motion at the middle of the bar (even modes: of their largest):\n{}\n",
        table.trim_fmt()
    )
}

fn relative(modes: &Modes, place: Place) -> impl Iterator<Item = f64> {
    modes.bending.iter().map(move |mode| mode.relative_motion(place.x_mm * 1e-3, place.y_mm * 1e-3))
}
