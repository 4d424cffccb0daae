//! `sheet template`: arches in true size, for paper and for machines.
use super::args::TemplateArgs;
use super::planned;
use crate::cli::answer::{Form, read_bar};
use crate::cli::new_file::{write_new, write_table};
use crate::error::Refused;
use crate::report::units::plain;
use crate::sheets::job::today;
use crate::sheets::nest::{SheetStock, nest};
use crate::sheets::not_drawable;
use crate::sheets::templates::{Template, for_machines, machine_files, of_bar, of_plan, on_paper, stations};
use paper::pdf;
use paper::tile::Tiling;
use serde_json::json;
use std::path::PathBuf;

pub(super) fn templates(args: &TemplateArgs, form: Form) -> Result<String, Refused> {
    if args.out.is_none() && args.machines.is_none() && args.csv.is_none() {
        return Err(Refused::new(
            "usage",
            "nothing is to be written",
            "give --out FILE, --machines FOLDER or --csv FILE",
        ));
    }
    let (templates, unmade) = gathered(args)?;
    let mut told = Vec::new();
    if let Some(folder) = &args.machines {
        let files = match args.nest {
            Some(size_mm) => {
                let nest = nest(&templates, &SheetStock { size_mm, gap_mm: args.gap, edge_mm: args.edge })?;
                told.push(format!(
                    "{} sheets, {} % no template (no laying needs fewer than {})",
                    nest.drawings.len(),
                    plain(100.0 * nest.waste, 0),
                    nest.at_least
                ));
                machine_files(
                    nest.drawings.iter().enumerate().map(|(i, drawing)| (format!("sheet-{}", i + 1), drawing)),
                )
            }
            None => for_machines(&templates)?,
        };
        std::fs::create_dir_all(folder).map_err(|error| {
            Refused::new(
                "cannot_write",
                format!("{} cannot be made: {error}", folder.display()),
                "name a folder that can be written",
            )
        })?;
        for (name, contents) in &files {
            write_new(&folder.join(name), contents.as_bytes())?;
        }
        told.push(format!("{} files in {}", files.len(), folder.display()));
    }
    if let Some(csv) = &args.csv {
        write_table(csv, &stations(&templates))?;
        told.push(csv.display().to_string());
    }
    let mut count = 0;
    if let Some(out) = &args.out {
        let document = on_paper(&templates, &tiling(args)?)?;
        count = document.pages.len();
        write_new(out, &pdf::render(&document).map_err(|error| not_drawable(&error))?)?;
        told.push(format!("{}, {count} pages", out.display()));
    }
    let left = if unmade.is_empty() {
        String::new()
    } else {
        format!("Without {}, which cannot be made.\n", unmade.join(", "))
    };
    Ok(form.put(
        || json!({ "templates": templates.iter().map(|t| &t.name).collect::<Vec<_>>(), "pages": count, "left_out": unmade }),
        || format!("Written: {}.\n{left}Print at 100 %, then measure the check bars: {}\n", told.join("; "), "100 mm and 4 in, lying and upright."),
    ))
}

fn gathered(args: &TemplateArgs) -> Result<(Vec<Template>, Vec<String>), Refused> {
    let is_bar = |path: &PathBuf| path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("json"));
    if args.from.iter().all(is_bar) {
        let read = |path: &PathBuf| {
            let file = read_bar(path)?;
            let stem =
                path.file_stem().map_or_else(|| "bar".to_owned(), |stem| stem.to_string_lossy().replace(".bar", ""));
            let name = file.note().map_or(stem, |note| note.to_string());
            of_bar(&file, &name, args.station).map_err(|refused| refused.about_file(path))
        };
        return Ok((args.from.iter().map(read).collect::<Result<_, _>>()?, Vec::new()));
    }
    let [spec] = args.from.as_slice() else {
        return Err(Refused::new(
            "usage",
            "several files, not all of them bar files",
            "give one specification, or bar files (*.json)",
        ));
    };
    let (specification, plan) = planned(spec)?;
    let words = format!("{}, {}", specification.wood.name, today());
    let (mut all, unmade) = of_plan(&plan, &words, args.station);
    if !args.notes.is_empty() {
        let wanted = args
            .notes
            .iter()
            .map(|note| Ok(note.parse::<records::Note>()?.to_string()))
            .collect::<Result<Vec<_>, Refused>>()?;
        all.retain(|template| wanted.contains(&template.name));
        if all.len() < wanted.len() {
            return Err(Refused::new(
                "no_such_note",
                "not all of these notes are among the bars that can be made",
                "name notes of the plan, e.g. --notes C3,D3",
            ));
        }
    }
    Ok((all, unmade))
}

fn tiling(args: &TemplateArgs) -> Result<Tiling, Refused> {
    let stretch = match args.measured.as_slice() {
        [] => [1.0, 1.0],
        [width, height] if (95.0..=105.0).contains(width) && (95.0..=105.0).contains(height) => {
            [100.0 / width, 100.0 / height]
        }
        given => {
            let given: Vec<String> = given.iter().map(|mm| plain(*mm, 2)).collect();
            let message = format!("what was measured ({} mm) cannot be a square of 100 mm", given.join(", "));
            let hint =
                "print the check page at 100 %, measure its square: two numbers from 95 to 105 mm, e.g. 99.6,99.9";
            return Err(Refused::new("out_of_range", message, hint));
        }
    };
    Ok(Tiling { paper: args.paper, stretch, ..Tiling::default() })
}
