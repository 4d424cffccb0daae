//! The sheets of an instrument in the record, by their words: for the command line and the page alike.
use super::{forms, frame, not_drawable, of_set};
use crate::climate::air_of;
use crate::error::Refused;
use crate::framing::Framed;
use crate::report;
use crate::report::units::{Units, plain};
use crate::retuning::{Back, last_certificate};
use crate::tubing::{TubeNotes, TubeWishes};
use crate::whole_set::{SetBar, WholeSet};
use jiff::{Timestamp, tz::TimeZone};
use making::fine::Class;
use making::frame::Members;
use making::retune::Minutes;
use paper::document::{Document, PaperSize};
use paper::listing::{Letterhead, Listing, pages};
use records::workshop::{Kind, Named, Workshop};
use words::tell;

/// A sheet of an instrument.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SheetKind {
    /// Targets and room for readings.
    Tuning,
    /// Node lines.
    Nodes,
    /// Rails, posts, the frame's wood, end boards in true size.
    Frame,
    /// Where bars are drilled.
    Drill,
    /// Tubes.
    Tubes,
    /// What to look at at the end.
    Assembly,
    /// The last certificate.
    Certificate,
    /// What each bar needs.
    Retuning,
}

impl SheetKind {
    /// All of them, in the order of the work.
    pub const ALL: [Self; 8] = [
        Self::Tuning,
        Self::Nodes,
        Self::Frame,
        Self::Drill,
        Self::Tubes,
        Self::Assembly,
        Self::Certificate,
        Self::Retuning,
    ];

    /// Its word on the command line and in addresses.
    pub fn word(self) -> &'static str {
        match self {
            Self::Tuning => "tuning",
            Self::Nodes => "nodes",
            Self::Frame => "frame",
            Self::Drill => "drill",
            Self::Tubes => "tubes",
            Self::Assembly => "assembly",
            Self::Certificate => "certificate",
            Self::Retuning => "retuning",
        }
    }

    /// What it is called on the page.
    pub fn words(self) -> String {
        match self {
            Self::Tuning => tell!("title-tuning"),
            Self::Nodes => tell!("title-nodes"),
            Self::Frame => tell!("title-frame"),
            Self::Drill => tell!("title-drill"),
            Self::Tubes => tell!("title-tubes"),
            Self::Assembly => tell!("title-assembly"),
            Self::Certificate => tell!("title-certificate"),
            Self::Retuning => tell!("title-retuning"),
        }
    }

    /// The kind of that word.
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.word() == word)
    }
}

/// Today, as sheets date themselves.
pub fn today() -> String {
    Timestamp::now().to_zoned_datetime(TimeZone::system()).date().to_string()
}

/// An instrument whose sheets are asked for.
#[derive(Debug)]
pub struct Job<'a> {
    /// The record.
    pub workshop: &'a Workshop,
    /// The instrument.
    pub named: &'a Named,
    /// Units of lengths in words.
    pub units: Units,
}

impl Job<'_> {
    /// That sheet.
    ///
    /// # Errors
    /// [`Refused`] if what it shows is not known yet, or the record cannot be read.
    pub fn listing(&self, kind: SheetKind) -> Result<Listing, Refused> {
        match kind {
            SheetKind::Tuning => Ok(forms::tuning(&self.targets()?)),
            SheetKind::Nodes => self.nodes(),
            SheetKind::Frame => self.frame().map(|(listing, _)| listing),
            SheetKind::Drill => self.drill(),
            SheetKind::Tubes => self.tubes(),
            SheetKind::Assembly => Ok(forms::assembly()),
            SheetKind::Certificate => self.certificate(),
            SheetKind::Retuning => self.retuning(),
        }
    }

    /// That sheet on paper.
    ///
    /// # Errors
    /// As [`Job::listing`].
    pub fn document(&self, kind: SheetKind, paper: PaperSize) -> Result<Document, Refused> {
        let (listing, members) = match kind {
            SheetKind::Frame => self.frame().map(|(listing, members)| (listing, Some(members)))?,
            _ => (self.listing(kind)?, None),
        };
        let mut document = pages(&listing, &self.letterhead()?, paper).map_err(|error| not_drawable(&error))?;
        if let Some(members) = members {
            let boards = frame::full_size(&members, paper)?;
            let first = document.pages.len();
            document.bookmarks.push((kind.words(), 0));
            document.bookmarks.extend(boards.bookmarks.into_iter().map(|(name, page)| (name, first + page)));
            document.pages.extend(boards.pages);
        }
        Ok(document)
    }

    /// What stands at the head and foot of its sheets.
    ///
    /// # Errors
    /// [`Refused`] if the record cannot be read.
    pub fn letterhead(&self) -> Result<Letterhead, Refused> {
        let order = self.workshop.order(self.named.uid)?;
        let air = air_of(order.reference).map_or_else(|| tell!("no-temperature"), report::climate::air_words);
        Ok(Letterhead {
            workshop: self.workshop.list(Kind::Workshop)?.first().map_or_else(String::new, |named| named.name.clone()),
            job: self.named.name.clone(),
            date: today(),
            reference: tell!("pitch-at-air", hz = plain(order.a4_hz, 2), air = air),
        })
    }

    fn framed(&self) -> Result<Framed, Refused> {
        Framed::of_record(self.workshop, self.named.uid, &self.named.name)
    }

    fn targets(&self) -> Result<Vec<forms::Target>, Refused> {
        let set = WholeSet::of(self.workshop, self.named.uid, &self.named.name)?;
        let target =
            |bar: &SetBar| (bar.note.to_string(), bar.ratios.iter().map(|ratio| bar.note_hz * ratio).collect());
        Ok(set.bars.iter().map(target).collect())
    }

    fn nodes(&self) -> Result<Listing, Refused> {
        let framed = self.framed()?;
        let plan = framed.laid().ok();
        of_set::nodes(&framed, plan.as_ref(), self.units)
    }

    /// The chart, and the members whose end boards go with it in true size.
    fn frame(&self) -> Result<(Listing, Members), Refused> {
        let framed = self.framed()?;
        let plan = framed.laid()?;
        let members = framed.members(&plan)?;
        Ok((frame::chart(&plan, &members, &framed.plan, self.units)?, members))
    }

    fn drill(&self) -> Result<Listing, Refused> {
        let framed = self.framed()?;
        let (plan, built) = match framed.standing()? {
            Some(plan) => (plan, true),
            None => (framed.laid()?, false),
        };
        Ok(of_set::drill(&framed.holes(&plan)?, framed.plan.diameter_mm, framed.plan.below_top_mm, built, self.units))
    }

    fn tubes(&self) -> Result<Listing, Refused> {
        let notes = TubeNotes::of_record(self.workshop, self.named.uid, &self.named.name)?;
        let mut wishes = TubeWishes::default();
        let known = crate::climate::KnownClimate::of(self.workshop)?;
        wishes.bank.bar_cents_per_c = known.coefficients.per_c.value;
        wishes.bank.temperature_c = notes.reference.0.unwrap_or(wishes.bank.temperature_c);
        wishes.bank.humidity_percent = notes.reference.1.unwrap_or(wishes.bank.humidity_percent);
        of_set::tubes(&wishes.answer(&notes.notes)?, self.units)
    }

    fn certificate(&self) -> Result<Listing, Refused> {
        let last = last_certificate(self.workshop, self.named.uid, None)?;
        let (_, sealed) = last.ok_or_else(|| {
            Refused::new(
                "no_certificate",
                format!("{} has no certificate", self.named.name),
                "give one: barwright certificate give NAME",
            )
        })?;
        of_set::certificate(&sealed)
    }

    fn retuning(&self) -> Result<Listing, Refused> {
        let back = Back::of(self.workshop, self.named.uid, &self.named.name, None)?;
        let class = back.certificate.as_ref().map_or(Class::Working, |c| c.class());
        let triage = back.triage(back.set.order.a4_hz, class, &Minutes::default());
        Ok(of_set::retuning(&back, &triage, self.units))
    }
}
