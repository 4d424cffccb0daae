//! What hangs where no bar is, and how long the tubes look.
use super::bank::{Bank, PlannedTube};

/// How the lower ends of a bank run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Outline {
    /// Each tube ends below its stopper.
    AsCut,
    /// An arch: so long at the bank's ends, so long in its middle; a tube is never cut shorter than it needs.
    Arch {
        /// At both ends of the bank.
        ends_m: f64,
        /// In the middle.
        middle_m: f64,
    },
}

/// A tube as it hangs.
#[derive(Debug, Clone, PartialEq)]
pub struct Hanging {
    /// The note, or nothing for a dummy.
    pub name: Option<String>,
    /// Whether it belongs to the accidentals' bank.
    pub upper: bool,
    /// Its middle along the frame.
    pub centre_x_m: f64,
    /// Inner diameter.
    pub diameter_m: f64,
    /// How long it looks.
    pub length_m: f64,
    /// From the mouth to the stopper's face; none in a dummy.
    pub stopper_m: Option<f64>,
}

/// All tubes of both banks as they hang, dummies where a bank would show a hole, bass to treble.
pub fn hanging(tubes: &[PlannedTube], bank: &Bank, outline: Outline) -> Vec<Hanging> {
    let mut all = Vec::new();
    for upper in [false, true] {
        let mut row: Vec<&PlannedTube> = tubes.iter().filter(|tube| tube.upper == upper).collect();
        row.sort_by(|a, b| a.centre_x_m.total_cmp(&b.centre_x_m));
        let mut hang: Vec<Hanging> = row.iter().map(|tube| real(tube, bank)).collect();
        let dummies: Vec<Hanging> = row.windows(2).filter_map(|pair| dummy(pair[0], pair[1], bank)).collect();
        hang.extend(dummies);
        hang.sort_by(|a, b| a.centre_x_m.total_cmp(&b.centre_x_m));
        arch(&mut hang, outline);
        all.extend(hang);
    }
    all
}

fn real(tube: &PlannedTube, bank: &Bank) -> Hanging {
    Hanging {
        name: Some(tube.name.clone()),
        upper: tube.upper,
        centre_x_m: tube.centre_x_m,
        diameter_m: tube.diameter_m,
        // A folded tube hangs as low as the room allows.
        length_m: tube.fold.map_or(tube.cut_m, |_| bank.room_m),
        stopper_m: tube.fold.is_none().then_some(tube.stopper_m),
    }
}

/// A dummy half-way between two tubes with room for it.
fn dummy(a: &PlannedTube, b: &PlannedTube, bank: &Bank) -> Option<Hanging> {
    let diameter_m = 0.5 * (a.diameter_m + b.diameter_m);
    let outer_m = bank.outer_m(diameter_m);
    let room_m = b.centre_x_m - a.centre_x_m - 0.5 * (bank.outer_m(a.diameter_m) + bank.outer_m(b.diameter_m));
    (room_m > outer_m).then(|| Hanging {
        name: None,
        upper: a.upper,
        centre_x_m: 0.5 * (a.centre_x_m + b.centre_x_m),
        diameter_m,
        length_m: 0.5 * (a.cut_m + b.cut_m).min(2.0 * bank.room_m),
        stopper_m: None,
    })
}

fn arch(row: &mut [Hanging], outline: Outline) {
    let Outline::Arch { ends_m, middle_m } = outline else { return };
    let (Some(first), Some(last)) = (row.first().map(|h| h.centre_x_m), row.last().map(|h| h.centre_x_m)) else {
        return;
    };
    for tube in row {
        let from_middle = if last > first { (2.0 * tube.centre_x_m - first - last) / (last - first) } else { 0.0 };
        let looks_m = middle_m + (ends_m - middle_m) * from_middle * from_middle;
        tube.length_m = tube.length_m.max(looks_m);
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Note, tubes, usual_diameter_m};
    use super::*;

    #[test]
    fn holes_between_tubes_are_filled_and_an_arch_never_shortens() {
        let note = |name: &str, hz: f64, x: f64| Note { name: name.to_owned(), hz, centre_x_m: x, upper: true };
        // C♯, D♯, then nothing over E–F, F♯, G♯ at the naturals' spacing of 65 mm.
        let notes = [note("C♯4", 277.2, 0.065), note("D♯4", 311.1, 0.130), note("F♯4", 370.0, 0.260)];
        let bank = Bank::default();
        let found = tubes(&notes, &bank, usual_diameter_m).unwrap();
        let plain = hanging(&found.tubes, &bank, Outline::AsCut);
        assert_eq!(plain.iter().filter(|tube| tube.name.is_none()).count(), 1);
        assert!((plain[2].centre_x_m - 0.195).abs() < 1e-12 && plain[2].name.is_none());
        let arched = hanging(&found.tubes, &bank, Outline::Arch { ends_m: 0.5, middle_m: 0.2 });
        for (arched, plain) in arched.iter().zip(&plain) {
            assert!(arched.length_m >= plain.length_m);
            assert_eq!(arched.stopper_m, plain.stopper_m);
        }
        assert!((arched[0].length_m - 0.5).abs() < 1e-12 && (arched[3].length_m - 0.5).abs() < 1e-12);
    }
}
