//! `plan`: from a specification of a few lines to every bar's size, arch, nodes and wood, before the first cut.
use super::answer::Form;
use super::new_file::{write_csv, write_new};
use crate::error::Refused;
use crate::planning::{self, SpecFile};
use crate::{progress, report};
use clap::Args;
use making::schedule::{InstrumentPlan, Specification};
use serde_json::json;
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
pub(crate) struct PlanArgs {
    /// The specification, a TOML file; docs/planning.md shows its keys
    #[arg(required_unless_present = "new", conflicts_with = "new")]
    spec: Option<PathBuf>,
    /// Write a first specification instead, with where its figures come from: e.g. --new marimba C3 C7
    #[arg(long, num_args = 3, value_names = ["KIND", "LOWEST", "HIGHEST"])]
    new: Vec<String>,
    /// Pitch of A4 in Hz, for --new
    #[arg(long, value_name = "HZ", default_value_t = 440.0, requires = "new")]
    a4: f64,
    /// The wood by its name, for --new
    #[arg(long, default_value = "Honduras rosewood", requires = "new")]
    wood: String,
    /// Look for lengths that put the nodes on straight rails, and widths that lead torsion away; says what that costs
    #[arg(long, conflicts_with = "new")]
    better: bool,
    /// Take lengths, widths and thicknesses from a table (CSV or workbook) that --csv wrote and you changed
    #[arg(long, value_name = "FILE", conflicts_with_all = ["new", "better"])]
    sizes: Option<PathBuf>,
    /// Where --new, --better or --sizes writes its specification (a new file); else --new prints it
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Draw the predicted rails under the bars to a new SVG file
    #[arg(long, value_name = "FILE", conflicts_with = "new")]
    picture: Option<PathBuf>,
    /// Write the bars as a table to a new CSV file, or a workbook (*.xlsx)
    #[arg(long, value_name = "FILE", conflicts_with = "new")]
    csv: Option<PathBuf>,
}

pub(super) fn plan(args: &PlanArgs, form: Form) -> Result<String, Refused> {
    let Some(path) = &args.spec else { return new(args, form) };
    let (text, specification) = specification_of(path)?;
    if args.better {
        return better(args, &text, &specification, form).map_err(|refused| refused.about_file(path));
    }
    if let Some(table) = &args.sizes {
        return resized(args, &text, &specification, table, form);
    }
    if args.out.is_some() {
        let hint = "for the plan itself: --csv, --picture, or --json";
        return Err(Refused::new("usage", "--out goes with --new, --better or --sizes", hint));
    }
    let plan = planning::planned(&specification, None).map_err(|refused| refused.about_file(path))?;
    write_files(args, &plan)?;
    Ok(form.put(
        || report::plan::to_json(&specification, &plan),
        || report::plan::to_text(&specification, &plan, form.units),
    ))
}

/// A specification's text and what it says.
pub(super) fn specification_of(path: &Path) -> Result<(String, Specification), Refused> {
    let text = std::fs::read_to_string(path).map_err(|error| {
        let message = format!("{} cannot be read: {error}", path.display());
        Refused::new("unreadable", message, "give a text file; barwright plan --new writes one")
    })?;
    let file = SpecFile::read(&text).map_err(|refused| refused.about_file(path))?;
    let specification = file.specification().map_err(|refused| refused.about_file(path))?;
    Ok((text, specification))
}

fn write_files(args: &PlanArgs, plan: &InstrumentPlan) -> Result<(), Refused> {
    if let Some(to) = &args.csv {
        write_csv(to, &report::plan::csv(plan)?)?;
    }
    if let Some(to) = &args.picture {
        let frame = plan.frame.as_ref().map_err(|error| Refused::from(error.clone()))?;
        write_new(to, report::frame::picture(frame, None, "Predicted rails under the planned bars")?.as_bytes())?;
    }
    Ok(())
}

/// The plan with sizes of a table, and the specification that says them.
fn resized(
    args: &PlanArgs,
    text: &str,
    specification: &Specification,
    table: &Path,
    form: Form,
) -> Result<String, Refused> {
    let with = planning::sizes_of_table(specification, table).map_err(|refused| refused.about_file(table))?;
    let toml = planning::with_sizes(text, &with)?;
    SpecFile::read(&toml)?.specification()?.bars()?;
    let plan = planning::planned(&with, None)?;
    write_files(args, &plan)?;
    if let Some(to) = &args.out {
        write_new(to, toml.as_bytes())?;
    }
    Ok(form.put(
        || json!({ "toml": toml, "plan": report::plan::to_json(&with, &plan) }),
        || {
            let written = match &args.out {
                Some(to) => format!("Written to {}. Plan with: barwright plan {0}\n\n", to.display()),
                None => "Nothing was written; --out FILE keeps these sizes as a specification.\n\n".to_owned(),
            };
            written + &report::plan::to_text(&with, &plan, form.units)
        },
    ))
}

/// Better sizes, as a specification that says the rest as the maker wrote it.
fn better(args: &PlanArgs, text: &str, specification: &Specification, form: Form) -> Result<String, Refused> {
    let bar = progress::spinner();
    let bettered = planning::better_sizes(specification, &|what| progress::say(&bar, what))?;
    bar.finish_and_clear();
    let toml = planning::with_sizes(text, &bettered.specification)?;
    // What it writes it can read, and it says the same bars.
    SpecFile::read(&toml)?.specification()?.bars()?;
    write_files(args, &bettered.after)?;
    if let Some(to) = &args.out {
        write_new(to, toml.as_bytes())?;
    }
    Ok(form.put(
        || json!({ "traded": bettered.traded, "toml": toml, "plan": report::plan::to_json(&bettered.specification, &bettered.after) }),
        || {
            let traded: String =
                bettered.traded.iter().map(|words| format!("- {}\n", crate::error::sentence(words))).collect();
            let written = match &args.out {
                Some(to) => format!("Written to {}. Plan with: barwright plan {0}\n", to.display()),
                None => "Nothing was written; --out FILE keeps these sizes as a specification.\n".to_owned(),
            };
            let plan = report::plan::to_text(&bettered.specification, &bettered.after, form.units);
            format!("Better sizes, and what they cost:\n{traded}{written}\n{plan}")
        },
    ))
}

fn new(args: &PlanArgs, form: Form) -> Result<String, Refused> {
    let [kind, lowest, highest] = args.new.as_slice() else {
        return Err(Refused::new(
            "usage",
            "nothing is asked for",
            "give a specification, or --new KIND LOWEST HIGHEST",
        ));
    };
    let text = planning::first(kind, lowest, highest, args.a4, &args.wood)?;
    // What it writes it can read, and the five answers are checked.
    SpecFile::read(&text)?.specification()?.bars()?;
    match &args.out {
        None => Ok(form.put(|| serde_json::json!({ "toml": text }), || text.clone())),
        Some(to) => {
            write_new(to, text.as_bytes())?;
            Ok(form.told(format!("Written to {}. Plan with: barwright plan {0}\n", to.display())))
        }
    }
}
