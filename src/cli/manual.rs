//! `completions` and `man`: what a shell and `man` want to know about the program, from its own arguments.

use clap::{Command, CommandFactory, ValueEnum};
use clap_complete::generate;

use super::Cli;
use super::exit::{Exit, usage};
use super::show::Show;

/// Shells that complete the program's arguments.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Shell {
    Bash,
    Zsh,
    Fish,
}

impl Shell {
    fn generator(self) -> clap_complete::Shell {
        match self {
            Self::Bash => clap_complete::Shell::Bash,
            Self::Zsh => clap_complete::Shell::Zsh,
            Self::Fish => clap_complete::Shell::Fish,
        }
    }
}

pub fn completions(shell: Shell, show: &mut Show) -> Result<u8, Exit> {
    let mut script = Vec::new();
    generate(shell.generator(), &mut Cli::command(), "rackwalk", &mut script);
    show.file(&script)?;
    Ok(0)
}

/// The page of the program, or of the verb named.
pub fn man(verb: &[String], show: &mut Show) -> Result<u8, Exit> {
    let mut program = Cli::command().disable_help_subcommand(true);
    program.build();
    let mut page = &program;
    for word in verb {
        page = page.find_subcommand(word).ok_or_else(|| {
            let verbs: Vec<&str> = page.get_subcommands().map(Command::get_name).collect();
            match verbs.as_slice() {
                [] => usage(format!("{} has no verbs of its own: leave {word} out.", page.get_name())),
                verbs => usage(format!("There is no verb {word}: take one of {}.", verbs.join(", "))),
            }
        })?;
    }
    let mut roff = Vec::new();
    let source = concat!("rackwalk ", env!("CARGO_PKG_VERSION"));
    clap_mangen::Man::new(page.clone()).source(source).render(&mut roff)?;
    show.file(&roff)?;
    Ok(0)
}
