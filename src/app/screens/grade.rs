//! What the columns of the grade keys stand for at a tray.

use crate::domain::look::{Roots, Stand};
use crate::domain::tray::TrayCard;
use crate::domain::walk::{Mode, ROOT_GRADES, STAND_GRADES};

/// What a grade key's column stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grade {
    Roots(Roots),
    Stand(Stand),
    Watered,
}

impl Grade {
    pub fn word(self) -> &'static str {
        match self {
            Self::Roots(roots) => roots.shown(),
            Self::Stand(stand) => stand.shown(),
            Self::Watered => "watered",
        }
    }
}

/// The meaning of a column at this tray on this walk; the best is always the fourth.
pub fn grade(tray: &TrayCard, mode: Mode, column: usize) -> Option<Grade> {
    if !mode.looks() {
        return (column == 3).then_some(Grade::Watered);
    }
    if tray.grades_roots() {
        ROOT_GRADES.get(column).map(|r| Grade::Roots(*r))
    } else {
        STAND_GRADES.get(column).map(|s| Grade::Stand(*s))
    }
}
