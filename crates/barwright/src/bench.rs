//! One bar on the bench: its file, what is believed of it, and what is done to it.
use crate::convert;
use crate::error::Refused;
use crate::hearing::{Recording, hear_recordings};
use bar_physics::Modes;
use making::{Advice, Band, Belief};
use records::{BarFile, HeardRecord, LogEntry};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, OnceLock};
use strike::{Heard, StrikePlace};

/// A bench that the page's requests and the program share.
pub type SharedBench = Arc<Mutex<Bench>>;

/// One bar being made, with everything that follows from its file computed at most once per revision.
#[derive(Debug)]
pub struct Bench {
    file: BarFile,
    on_disk: Option<OnDisk>,
    invented: bool,
    revision: u64,
    undoable: usize,
    last_heard: Option<Heard>,
    derived: Derived,
}

/// The file on disk, as it was last read or written.
#[derive(Debug)]
struct OnDisk {
    path: PathBuf,
    saved: BarFile,
}

/// What follows from the file; thrown away with every change.
#[derive(Debug, Default)]
struct Derived {
    belief: OnceLock<Result<Arc<Belief>, Refused>>,
    advice: OnceLock<Result<Arc<Advice>, Refused>>,
    modes: OnceLock<Result<Arc<Modes>, Refused>>,
    bouts: OnceLock<Vec<BoutRow>>,
}

/// One row of the table of bouts: a reading and the cut that was made after it.
#[derive(Debug, Clone, PartialEq)]
pub struct BoutRow {
    /// Number of the reading, from 1.
    pub bout: usize,
    /// What was done after this reading, in workshop words; empty if nothing yet.
    pub done: String,
    /// Each tuned mode as it was heard.
    pub modes: Vec<BoutMode>,
    /// Thinnest place as intended at the time of the reading: millimetres from the left end.
    pub thinnest_x_mm: f64,
    /// Wood left there as intended.
    pub thinnest_mm: f64,
}

/// One tuned bending mode in a reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoutMode {
    /// Mode number, from 1.
    pub mode: usize,
    /// Cents above the target (note × ratio); `None` if it was not heard or the file names no note.
    pub cents: Option<f64>,
    /// Standard uncertainty of the reading.
    pub sigma_cents: f64,
}

impl Bench {
    /// Opens a bar file; every change is saved to it.
    ///
    /// # Errors
    /// [`Refused`] if the file cannot be read or is not a possible bar.
    pub fn from_file(path: &Path) -> Result<Self, Refused> {
        let file = BarFile::read(path).map_err(|error| Refused::from(error).about_file(path))?;
        let on_disk = OnDisk { path: path.to_owned(), saved: file.clone() };
        Ok(Self { on_disk: Some(on_disk), ..Self::in_memory(file, false) })
    }

    /// A bench without a file on disk; `invented` marks a simulated bar.
    pub fn in_memory(file: BarFile, invented: bool) -> Self {
        Self { file, on_disk: None, invented, revision: 0, undoable: 0, last_heard: None, derived: Derived::default() }
    }

    /// The bar file as it stands.
    pub fn file(&self) -> &BarFile {
        &self.file
    }

    /// Where changes are saved, if anywhere.
    pub fn path(&self) -> Option<&Path> {
        self.on_disk.as_ref().map(|on_disk| on_disk.path.as_path())
    }

    /// True for a simulated bar of an invented workshop; say so wherever it is shown.
    pub fn invented(&self) -> bool {
        self.invented
    }

    /// Rises by one with every change.
    pub fn revision(&self) -> u64 {
        self.revision
    }

    /// What the last recording held, if one was heard in this session.
    pub fn last_heard(&self) -> Option<&Heard> {
        self.last_heard.as_ref()
    }

    /// True if [`Bench::undo`] has something to take back.
    pub fn can_undo(&self) -> bool {
        self.undoable > 0
    }

    /// The advice for the bar as it stands.
    ///
    /// # Errors
    /// [`Refused`] if the file names no note or its log cannot be believed.
    pub fn advise(&self) -> Result<Arc<Advice>, Refused> {
        self.derived.advice.get_or_init(|| convert::advise(&self.file).map(Arc::new)).clone()
    }

    /// What the log lets us believe of the bar.
    ///
    /// # Errors
    /// [`Refused`] if the log cannot be believed.
    pub fn belief(&self) -> Result<Arc<Belief>, Refused> {
        self.derived.belief.get_or_init(|| convert::believe(&self.file).map(Arc::new)).clone()
    }

    /// Modes of the bar as it is believed to be: bending 1–3, torsion 1–2, sideways 1.
    ///
    /// # Errors
    /// [`Refused`] if the log cannot be believed or the bar cannot be computed.
    pub fn modes(&self) -> Result<Arc<Modes>, Refused> {
        let compute = || {
            let bar = self.belief()?.bar()?;
            Ok(Arc::new(bar_physics::modes_that_stand_out(&bar, bar_physics::Wanted::default())?))
        };
        self.derived.modes.get_or_init(compute).clone()
    }

    /// The readings so far with the cuts between them, oldest first.
    pub fn bouts(&self) -> &[BoutRow] {
        self.derived.bouts.get_or_init(|| crate::report::bouts::rows(&self.file))
    }

    /// Listens to a recording of this bar (see [`crate::audio::open_bytes`]), enters what was heard and saves.
    ///
    /// # Errors
    /// [`Refused`] if the recording cannot be trusted or the file cannot be saved; nothing changes then.
    pub fn hear(&mut self, wav: &[u8], struck: Option<StrikePlace>) -> Result<Heard, Refused> {
        self.hear_at(wav, struck, None)
    }

    /// As [`Bench::hear`], with the bar's temperature in degrees Celsius if it was measured.
    ///
    /// # Errors
    /// As [`Bench::hear`].
    pub fn hear_at(
        &mut self,
        wav: &[u8],
        struck: Option<StrikePlace>,
        temperature_c: Option<f64>,
    ) -> Result<Heard, Refused> {
        let context = self.context(struck)?;
        let recording = Recording::prepare(crate::audio::open_bytes(wav)?, &context, &mut |_| {})?;
        let heard = hear_recordings(&[recording], &context, self.tuned())?;
        let reading = convert::heard_record(&heard, self.tuned())?;
        self.enter(&LogEntry::Heard(HeardRecord { temperature_c, ..reading }))?;
        self.last_heard = Some(heard.clone());
        Ok(heard)
    }

    /// Enters bands just removed and saves.
    ///
    /// # Errors
    /// [`Refused`] if that cannot have been cut from this bar or the file cannot be saved; nothing changes then.
    pub fn cut(&mut self, bands: &[Band], passes: Option<u32>) -> Result<(), Refused> {
        self.enter(&LogEntry::Cut(convert::cut_record(bands, passes)))
    }

    /// Enters any entry and saves.
    ///
    /// # Errors
    /// [`Refused`] as [`Bench::cut`].
    pub fn enter(&mut self, entry: &LogEntry) -> Result<(), Refused> {
        let mut next = self.file.clone();
        next.append(entry)?;
        self.replace(next)?;
        self.undoable += 1;
        Ok(())
    }

    /// Takes back the last entry made in this session and saves; `None` if there is none.
    ///
    /// # Errors
    /// [`Refused`] if the file cannot be saved; nothing changes then.
    pub fn undo(&mut self) -> Result<Option<LogEntry>, Refused> {
        if self.undoable == 0 {
            return Ok(None);
        }
        let mut next = self.file.clone();
        let taken_back = next.remove_last()?;
        self.replace(next)?;
        self.undoable -= 1;
        if matches!(taken_back, Some(LogEntry::Heard(_))) {
            self.last_heard = None;
        }
        Ok(taken_back)
    }

    /// Number of tuned bending modes; 1 for a bar without a note.
    pub fn tuned(&self) -> usize {
        convert::targets(&self.file).map_or(1, |(_, targets)| targets.ratios.len())
    }

    /// What is known before listening.
    ///
    /// # Errors
    /// [`Refused`] as [`Bench::modes`].
    pub fn context(&self, struck: Option<StrikePlace>) -> Result<strike::Context, Refused> {
        let expected = convert::expected(&*self.belief()?)?;
        Ok(strike::Context { expected, note_hz: self.file.note_hz(), struck, ..strike::Context::default() })
    }

    /// Saves `next` and makes it the bench's file.
    fn replace(&mut self, next: BarFile) -> Result<(), Refused> {
        if let Some(on_disk) = &mut self.on_disk {
            next.save_over(&on_disk.path, &on_disk.saved)?;
            on_disk.saved = next.clone();
        }
        self.file = next;
        self.revision += 1;
        self.derived = Derived::default();
        Ok(())
    }
}
