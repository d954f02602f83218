//! Whether a shell with job control would bring this program back after a stop.

use std::fs;

/// Whose child a process is, and the job (process group) and session it belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Stat {
    parent: u32,
    group: u32,
    session: u32,
}

impl Stat {
    fn of(process: &str) -> Option<Self> {
        Self::parse(&fs::read_to_string(format!("/proc/{process}/stat")).ok()?)
    }

    /// `pid (name) state ppid pgrp session …`, as in proc(5). The name may hold spaces and brackets.
    fn parse(text: &str) -> Option<Self> {
        let (_, after_name) = text.rsplit_once(") ")?;
        let mut fields = after_name.split(' ').skip(1).map(str::parse);
        let mut next = || fields.next()?.ok();
        Some(Self { parent: next()?, group: next()?, session: next()? })
    }
}

/// Whether whoever started this program watches it as a job of its own. Started straight into a window
/// or by a script nobody would, and a stopped program would look like a hung one.
pub fn shell_waits() -> bool {
    let Some(me) = Stat::of("self") else {
        // No /proc on this system: the one who asked for the stop is believed.
        return true;
    };
    Stat::of(&me.parent.to_string()).is_some_and(|parent| watches(parent, me))
}

/// A shell gives each job a process group of its own within its session.
fn watches(parent: Stat, child: Stat) -> bool {
    parent.session == child.session && parent.group != child.group
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_are_found_behind_any_name() {
        let expected = Some(Stat { parent: 4100, group: 4242, session: 4000 });
        assert_eq!(Stat::parse("4242 (rackwalk) S 4100 4242 4000 34816 4242"), expected);
        assert_eq!(Stat::parse("4242 (a ) b (c) S 4100 4242 4000 34816 4242"), expected);
        assert_eq!(Stat::parse("4242 (rackwalk) S 4100"), None);
        assert_eq!(Stat::parse(""), None);
    }

    #[test]
    fn only_a_shell_that_made_a_job_of_it_watches() {
        let child = Stat { parent: 4100, group: 4242, session: 4000 };
        let shell = Stat { parent: 1, group: 4100, session: 4000 };
        assert!(watches(shell, child));
        let script = Stat { group: 4242, ..shell };
        assert!(!watches(script, child), "the shell behind the script would not notice");
        let window = Stat { session: 1, ..shell };
        assert!(!watches(window, child));
    }

    #[test]
    fn the_systems_own_table_agrees_about_the_parent() {
        if let Some(me) = Stat::of("self") {
            assert_eq!(me.parent, std::os::unix::process::parent_id());
        }
    }
}
