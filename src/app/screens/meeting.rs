//! A form on a record meets what others made of the record meanwhile.

use super::form_page::{self, FormPage};
use super::forms::{self, FormKind, Submit, Wrong, record};
use crate::app::effect::{Effect, Failure, Query};
use crate::app::form::{Field, News, State, Values};
use crate::app::model::{Model, Screen};
use crate::domain::history::Record;
use crate::domain::id::EntryId;
use crate::domain::room::Units;

/// Where a form stands with the record it edits.
#[derive(Debug, Clone, Default)]
pub struct Meeting {
    /// Revision of what stands in the form; none when the record is gone, or the form edits none.
    rev: Option<i64>,
    /// Units that its fields are written in, where a text of them depends on it.
    units: Option<Units>,
    /// It changed in a way that no field shows, and nobody tried to save since.
    unread: bool,
    /// Saving was refused because it changed.
    stale: bool,
}

impl Meeting {
    /// The record as it was loaded last.
    pub fn at(model: &Model, kind: &FormKind) -> Self {
        let units = matches!(kind, FormKind::Crop(Some(_))).then(|| model.board.units());
        Self { rev: record::rev(model, kind), units, ..Self::default() }
    }

    /// The same record as another, in the same units.
    fn same(&self, other: &Self) -> bool {
        (self.rev, self.units) == (other.rev, other.units)
    }

    /// The book refused what the form wanted to save.
    pub fn refused(&mut self, failure: &Failure) {
        self.stale = matches!(failure, Failure::Rule(refusal) if refusal.rule == "stale");
    }
}

impl FormPage {
    /// Into an action, unless someone else changed the same and that was not shown yet.
    pub(super) fn submit(&mut self, model: &mut Model, values: &Values) -> Result<Submit, Wrong> {
        if self.kind.edits() {
            if self.meeting.rev.is_none() {
                return Err((None, record::gone(&self.kind)));
            }
            let both = self.form.show_both();
            if !both.is_empty() {
                return Err((None, choose(&both)));
            }
            if std::mem::take(&mut self.meeting.unread) {
                self.form.focus_on("shelf");
                return Err((None, LOOK_AGAIN.into()));
            }
        }
        forms::submit(model, &self.kind, self.meeting.rev.unwrap_or(0), values)
    }
}

const LOOK_AGAIN: &str = "Someone else changed places of this rack: look at its shelves again, then save.";

/// The record behind an open form was loaded anew: the form shows what changed, also below a short list.
pub fn book_came(model: &mut Model) -> Vec<Effect> {
    let edits = |screen: &Screen| matches!(screen, Screen::Form(page) if page.kind.edits());
    let Some(at) = model.screens.iter().rposition(edits) else { return vec![] };
    let Some(Screen::Form(page)) = model.screens.get(at) else { return vec![] };
    let (kind, now) = (page.kind.clone(), Meeting::at(model, &page.kind));
    if now.same(&page.meeting) {
        return vec![];
    }
    let book = forms::build(model, &kind);
    let Some(Screen::Form(page)) = model.screens.get_mut(at) else { return vec![] };
    (page.meeting.rev, page.meeting.units) = (now.rev, now.units);
    let news = if now.rev.is_some() { page.form.merge(&book) } else { News::default() };
    let sentence = told(page, &news);
    if std::mem::take(&mut page.meeting.stale) {
        // that save was the one in place of which both are shown
        page.form.show_both();
        page.meeting.unread = false;
        page.form.state = State::Refused(sentence);
    } else if !sentence.is_empty() {
        model.say(sentence);
    }
    let mut effects = form_page::preview(model);
    if !news.both.is_empty() {
        effects.extend(ask_hands(&kind));
    }
    effects
}

/// The past entry that an open form puts right, where others may put the same right meanwhile.
pub fn entry(model: &Model) -> Option<EntryId> {
    model.screens.iter().find_map(|screen| match screen {
        Screen::Form(page) if page.kind.edits() => match page.kind {
            FormKind::Correct(entry, _) => Some(entry),
            _ => None,
        },
        _ => None,
    })
}

/// What changed, in one sentence; after a refused save with a way on.
fn told(page: &mut FormPage, news: &News) -> String {
    let refused = page.meeting.stale;
    let again = if refused { ": save again" } else { "" };
    if page.meeting.rev.is_none() {
        return record::gone(&page.kind);
    }
    if matches!(page.kind, FormKind::Shelves(_)) {
        page.meeting.unread = true;
        return LOOK_AGAIN.into();
    }
    if !news.both.is_empty() {
        return if refused { choose(&news.both) } else { came(&news.both) };
    }
    if let Some(left) = record::left(&page.kind, &page.form, &news.taken) {
        return left.into();
    }
    match news.taken.as_slice() {
        [] if refused && matches!(page.kind, FormKind::Correct(..)) => {
            "Someone else put something else about this entry right: save again.".into()
        }
        [] if refused => "Someone else changed this and changed it back: save again.".into(),
        [] => String::new(),
        taken => format!("Someone else changed {}, which stands here now{again}.", taken.join(", ")),
    }
}

fn came(both: &[String]) -> String {
    format!("Someone else changed {} too: both stand there, and Ctrl-T takes the book's.", both.join(", "))
}

fn choose(both: &[String]) -> String {
    format!(
        "Someone else changed {} too: Ctrl-T takes the book's, saving again keeps what stands here.",
        both.join(", ")
    )
}

/// Asks whose the versions in the form on top are, where that is not known.
pub fn whose(model: &Model) -> Vec<Effect> {
    let Some(Screen::Form(page)) = model.top() else { return vec![] };
    let unknown = page.form.shown().filter_map(Field::versions).any(|both| both.by.is_empty());
    if unknown { ask_hands(&page.kind) } else { vec![] }
}

fn ask_hands(kind: &FormKind) -> Vec<Effect> {
    record::record(kind).map(|(kind, id)| Effect::Load(Query::LastHands(kind, id))).into_iter().collect()
}

/// Whose hands changed a record last: they stand beside the book's versions.
pub fn hands_came(model: &mut Model, of: (Record, i64), who: Option<&str>) {
    for screen in &mut model.screens {
        if let Screen::Form(page) = screen
            && record::record(&page.kind) == Some(of)
        {
            page.form.versions_by(who.unwrap_or_default());
        }
    }
}
