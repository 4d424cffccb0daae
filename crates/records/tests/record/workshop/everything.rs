//! A workshop in which every kind of event happened, and steps at random.
use crate::workshop::common::*;
use records::workshop::*;
use records::{CaliperRecord, LimitsRecord, ShapedRecord, TargetsRecord, TrimRecord, WeighedRecord};
use std::collections::BTreeMap;
use std::path::Path;

/// Stands for the sound of a take; what it holds does not matter to the record.
pub const SOUND: &[u8] = b"sound of an invented blow";
/// How many kinds of step [`Things::step`] knows.
pub const KINDS: u8 = 32;

/// One thing of each kind.
pub struct Things {
    pub workshop: Uid,
    pub home: Uid,
    pub board: Uid,
    pub person: Uid,
    pub tool: Uid,
    pub bar: Uid,
    take: String,
}

impl Things {
    /// Enters one of each.
    pub fn new(shop: &mut Workshop) -> Self {
        let workshop = shop.list(Kind::Workshop).unwrap()[0].uid;
        let begin = |shop: &mut Workshop, kind, what: Body| shop.write(|s| s.begin(kind, what.into(), at(1))).unwrap();
        let home = order(shop, "Order, \"quoted\"\nover two lines");
        let board = begin(shop, Kind::Board, board(2400.0));
        let person = begin(shop, Kind::Person, Body::Person(PersonRecord { name: "Invented maker".to_owned() }));
        let tool = begin(shop, Kind::Tool, tool(80));
        let Body::Entered(mut entered) = blank("=117") else { unreachable!() };
        entered.board = Some(board);
        let bar = begin(shop, Kind::Bar, Body::Entered(entered));
        let take = shop.takes().keep(SOUND).unwrap();
        shop.write(|step| step.take_kept(&take, SOUND.len(), 44_100, 1.0)).unwrap();
        let (sha256, format) = (shop.photos().keep(PICTURE, PhotoFormat::Jpeg).unwrap(), PhotoFormat::Jpeg);
        shop.write(|step| step.photo_kept(&PhotoName { sha256, format, bytes: PICTURE.len() as u64 })).unwrap();
        Self { workshop, home, board, person, tool, bar, take }
    }

    /// Does the step of that kind; a step that cannot be is refused and leaves no trace.
    pub fn step(&self, shop: &mut Workshop, kind: u8, value: f64, minute: i64) -> Result<(), RecordError> {
        if let Some((thing, what)) = self.body(kind, value) {
            let climate = Some(Climate { temperature_c: Some(20.0 + value), humidity_pct: Some(45.0) });
            let entered = BTreeMap::from([("depth_mm".to_owned(), "1/64 in".to_owned())]);
            let entry = Entry { what, by: Some(self.person), with: Some(self.tool), climate, entered };
            return shop.write(|step| step.add(thing, entry, at(minute))).map(drop);
        }
        match kind {
            28 => shop.write(|step| step.undo(self.bar, None, at(minute))).map(drop),
            29 => shop.write(|step| step.redo(self.bar, at(minute))).map(drop),
            _ => self.correct_a_remark(shop, value, minute),
        }
    }

    fn correct_a_remark(&self, shop: &mut Workshop, value: f64, minute: i64) -> Result<(), RecordError> {
        let history = shop.history(self.bar)?;
        let standing = history.standing();
        let last = standing.iter().rev().find(|standing| matches!(standing.body, Body::Remark(_)));
        let Some(event) = last.map(|standing| standing.event.uid) else { return Ok(()) };
        let to = (value < 0.3).then(|| remark(&format!("rather {value}")));
        shop.write(|step| step.correct(self.bar, event, to, Some("misread".to_owned()), at(minute))).map(drop)
    }

    /// A long match: one arm a kind of event.
    fn body(&self, kind: u8, value: f64) -> Option<(Uid, Body)> {
        let words = |text: &str| RemarkRecord { text: text.to_owned() };
        let line = |mm: f64| NodeLine { near_mm: mm - value, centre_mm: Some(mm), far_mm: mm + value };
        let bar = self.bar;
        Some(match kind {
            0 => {
                let tool_step = Some("1/32 in".to_owned());
                (self.workshop, Body::Workshop(WorkshopRecord { name: "Renamed".to_owned(), tool_step }))
            }
            1 => {
                (self.workshop, Body::Climate(Climate { temperature_c: Some(20.0 + value), humidity_pct: Some(44.4) }))
            }
            2 => (self.home, self.order(value)),
            3 => (self.home, Body::Delivered(DeliveredRecord { to: Some("a customer".to_owned()) })),
            4 => (self.home, Body::Returned(words("retuning"))),
            5 => (self.board, board(2400.0 - value)),
            6 => (self.person, Body::Person(PersonRecord { name: "Invented maker, junior".to_owned() })),
            7 => (self.tool, tool(120)),
            8 => {
                let clock = ClockRecord { offset_ppm: -12.0 + value, sigma_ppm: 1.0, reference_hz: 1000.0 };
                (self.tool, Body::Calibrated(clock))
            }
            9 => (bar, give(self.home, "C3")),
            10 => (bar, Body::Withdrawn(words("it rings better as D3"))),
            11 => (bar, Body::Targets(TargetsRecord { ratios: Some(vec![1.0, 4.0]), headroom_cents: Some(100.0) })),
            12 => (bar, Body::Limits(LimitsRecord { min_thickness_mm: Some(6.0 + value) })),
            13 => (bar, self.heard(value)),
            14 => (bar, shaped(value)),
            15 => (bar, cut(0.01 + value)),
            16 => (bar, Body::Caliper(CaliperRecord { x_mm: vec![235.0], thickness_mm: vec![11.0 - value] })),
            17 => (bar, Body::Trim(TrimRecord { left_mm: Some(0.1 * value), right_mm: None })),
            18 => (bar, Body::Weighed(WeighedRecord { mass_g: 560.0 + value })),
            19 => (bar, Body::Salt(self.salt([line(105.0), line(365.0)], value))),
            20 => {
                (bar, Body::TopFace(TopFaceRecord { top: Face::A, why: Some("a check on the other face".to_owned()) }))
            }
            21 => {
                let hole = HoleRecord { near_mm: 87.0 - value, far_mm: 90.0, below_top_mm: 11.0 };
                (
                    bar,
                    Body::Drilled(DrilledRecord {
                        diameter_mm: 6.35,
                        holes: vec![hole],
                        why: Some("a trial".to_owned()),
                    }),
                )
            }
            22 => (bar, Body::Finish(FinishRecord { what: "oil".to_owned(), coats: Some(2) })),
            23 => {
                let done = if value < 0.2 { DoneStage::RoughTuned } else { DoneStage::FineTuned };
                (bar, Body::Stage(StageRecord { done }))
            }
            24 => (bar, Body::Discarded(words("split"))),
            26 => {
                let plan =
                    FramePlanRecord { gap_mm: 12.0 + value, bend_after: vec!["F4".to_owned()], ..Default::default() };
                (self.home, Body::FramePlanned(Box::new(plan)))
            }
            27 => (self.home, standing_frame(value)),
            31 => {
                let certificate =
                    CertificateRecord { text: format!("{{\"value\":{value}}}"), sha256: name_of(b"a certificate") };
                (self.home, Body::Certified(Box::new(certificate)))
            }
            25 => (bar, remark(&format!("ü {value} ♯ \u{1F332}"))),
            _ => return None,
        })
    }

    /// Now and then read from a photograph.
    fn salt(&self, [left, right]: [NodeLine; 2], value: f64) -> SaltRecord {
        let photo = (value < 0.2).then(|| Box::new(photo(name_of(PICTURE), 105.0)));
        SaltRecord { face_up: Face::B, left, right, photo }
    }

    fn order(&self, value: f64) -> Body {
        Body::Order(OrderRecord {
            name: "Order, changed".to_owned(),
            customer: Some("a customer".to_owned()),
            a4_hz: 440.0 + value,
            reference: Some(Climate { temperature_c: Some(22.0), humidity_pct: None }),
            lowest: Some("C3".to_owned()),
            highest: None,
        })
    }

    fn heard(&self, value: f64) -> Body {
        let Body::Heard(mut reading) = heard(&[400.0 + value, 1600.0]) else { unreachable!() };
        reading.heard.hz.torsion = Some(vec![None, Some(900.0 + value)]);
        reading.takes = vec![self.take.clone()];
        reading.listener = Some("0.0.0".to_owned());
        Body::Heard(reading)
    }
}

fn remark(text: &str) -> Body {
    Body::Remark(RemarkRecord { text: text.to_owned() })
}

fn tool(grit: u32) -> Body {
    Body::Tool(ToolRecord { name: "belt sander".to_owned(), grit: Some(grit) })
}

fn board(length_mm: f64) -> Body {
    Body::Board(BoardRecord {
        name: "7".to_owned(),
        wood: Some("invented wood".to_owned()),
        length_mm: Some(length_mm),
        width_mm: Some(180.0),
        thickness_mm: Some(26.0),
        mass_g: Some(9000.5),
        moisture_pct: Some(8.5),
        defects: vec![BoardDefectRecord {
            from_mm: 800.0,
            to_mm: 900.5,
            near_mm: 0.0,
            far_mm: 60.0,
            what: "knot".to_owned(),
        }],
        remark: Some("papers in the drawer".to_owned()),
    })
}

fn shaped(value: f64) -> Body {
    Body::Shaped(ShapedRecord {
        x_mm: vec![0.0, 150.0, 235.0, 320.0, 470.0],
        thickness_mm: vec![23.0, 23.0, 12.0 - value, 23.0, 23.0],
        kinks_mm: Some(vec![150.0, 320.0]),
        sigma_mm: Some(0.3),
    })
}

/// A workshop in which every kind of event happened.
pub fn everything(folder: &Path) -> (Workshop, Things) {
    let mut shop = new_workshop(folder);
    let things = Things::new(&mut shop);
    for kind in (0..KINDS).filter(|kind| *kind != 17) {
        things.step(&mut shop, kind, 0.125, 10 + i64::from(kind)).unwrap_or_else(|error| panic!("{kind}: {error}"));
    }
    // Trimmed last: places count from the new left end from then on.
    things.step(&mut shop, 17, 0.25, 60).unwrap();
    (shop, things)
}

/// A workshop with some of everything, following the steps where they are possible.
pub fn busy_workshop(folder: &Path, steps: &[(u8, f64)]) -> Workshop {
    let mut shop = new_workshop(folder);
    let things = Things::new(&mut shop);
    add(&mut shop, things.bar, give(things.home, "C3"), 3);
    for (minute, (kind, value)) in (10..).zip(steps) {
        // What cannot be is refused; whatever is kept must go out and come in again.
        let _ = things.step(&mut shop, *kind, *value, minute);
    }
    shop
}
