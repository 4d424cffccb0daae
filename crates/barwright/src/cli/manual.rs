//! `man` and `completions`: what an installer puts beside the program.
use super::answer::Form;
use super::args::Cli;
use super::new_file::write_new;
use crate::error::Refused;
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
