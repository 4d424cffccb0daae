//! `manual`: the manual in the terminal; `man` and `completions`: what an installer puts beside the program.
use super::answer::Form;
use super::args::Cli;
use super::new_file::write_new;
use crate::error::Refused;
use crate::manual::{self, PAGES, Part};
use clap::CommandFactory;
use serde_json::json;
use std::path::Path;

/// The name it is installed under.
const NAME: &str = "barwright";

/// A page for the program and one for each command (`barwright-plan.1`), new files in a folder.
pub(super) fn pages(to: &Path, form: Form) -> Result<String, Refused> {
    let failed = |error: std::io::Error| {
        let message = format!("{} cannot be written: {error}", to.display());
        Refused::new("cannot_write", message, "name a folder that can be written")
    };
    std::fs::create_dir_all(to).map_err(failed)?;
    let mut names = Vec::new();
    let mut command = Cli::command();
    command.build();
    let mut waiting = vec![(NAME.to_owned(), command)];
    while let Some((name, command)) = waiting.pop() {
        let below = command.get_subcommands().filter(|below| !below.is_hide_set() && below.get_name() != "help");
        waiting.extend(below.map(|below| (format!("{name}-{}", below.get_name()), below.clone())));
        let mut page = Vec::new();
        clap_mangen::Man::new(command).title(name.to_uppercase()).render(&mut page).map_err(failed)?;
        let file = format!("{name}.1");
        write_new(&to.join(&file), &page)?;
        names.push(file);
    }
    names.sort();
    Ok(form.put(|| json!({ "pages": names }), || format!("{} manual pages in {}\n", names.len(), to.display())))
}

/// What a shell sources to complete commands and options.
pub(super) fn completions(shell: clap_complete::Shell) -> String {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), NAME, &mut script);
    String::from_utf8_lossy(&script).into_owned()
}

/// Contents, a page as it is written, or what was found.
pub(super) fn read(page: Option<&str>, asked: Option<&str>, form: Form) -> Result<String, Refused> {
    if let Some(asked) = asked {
        let found = manual::find(asked);
        let line = |found: &manual::Found| format!("{}, {}\n    {}\n", found.page.name, found.heading, found.line);
        let told =
            |found: &manual::Found| json!({ "page": found.page.name, "heading": found.heading, "line": found.line });
        return Ok(form.put(
            || json!({ "found": found.iter().map(told).collect::<Vec<_>>() }),
            || match found.as_slice() {
                [] => format!("No section of the manual holds every word of \"{asked}\". Try fewer words.\n"),
                found => found.iter().map(line).collect(),
            },
        ));
    }
    let Some(name) = page else {
        let part = |part: Part| {
            let pages = PAGES.iter().filter(|page| page.part == part);
            let lines: String = pages.map(|page| format!("  {:<18}{}\n", page.name, page.title())).collect();
            format!("{}\n{lines}", part.title())
        };
        let told = |page: &manual::Page| json!({ "page": page.name, "title": page.title() });
        return Ok(form.put(
            || json!({ "pages": PAGES.iter().map(told).collect::<Vec<_>>() }),
            || {
                format!(
                    "{}\nRead one: barwright manual PAGE. Look for words: barwright manual --find WORDS.\n",
                    Part::ALL.map(part).join("\n")
                )
            },
        ));
    };
    let page = manual::page(name).ok_or_else(|| {
        let names: Vec<&str> = PAGES.iter().map(|page| page.name).collect();
        Refused::new(
            "not_found",
            format!("the manual has no page \"{name}\""),
            format!("its pages: {}", names.join(", ")),
        )
    })?;
    Ok(form.put(|| json!({ "page": page.name, "text": page.text }), || page.text.to_owned()))
}
