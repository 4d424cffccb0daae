//! A specification as text, in and out, and the plan it makes on all cores: for the command line and the page alike.
mod sizes;
mod spec;
mod written;

pub(crate) use sizes::sizes_of_table;
pub(crate) use spec::SpecFile;
pub(crate) use written::{first, with_sizes};

use crate::cli::on_all_cores;
use crate::error::Refused;
use making::schedule::{Bettered, Hands, InstrumentPlan, Specification, assemble, better, replan};

/// The whole plan; bars that a plan before has already, of the same wood and limits, are taken from it.
pub(crate) fn planned(
    specification: &Specification,
    before: Option<(&Specification, &InstrumentPlan)>,
) -> Result<InstrumentPlan, Refused> {
    let bars = replan(specification, before, &|bars, job| on_all_cores(bars, job))?;
    Ok(assemble(specification, bars)?)
}

/// Better sizes; `told` hears what is being done.
pub(crate) fn better_sizes(specification: &Specification, told: &dyn Fn(&str)) -> Result<Bettered, Refused> {
    Ok(better(specification, Hands { plan: &|bars, job| on_all_cores(bars, job), told })?)
}
