//! When the second copy is asked for, and what came of it.

use chrono::Duration;

use super::effect::{Effect, Failure};
use super::model::{Model, Screen};
use crate::domain::second_copy::overdue;
use crate::domain::time::{Day, Now};

/// After this time a copy that failed is tried again: someone may have plugged the stick in.
const AGAIN: Duration = Duration::minutes(10);

/// The last time a copy was asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    folder: String,
    at: Now,
    /// Why it failed, if it did.
    pub failed: Option<String>,
}

/// What is known of the second copy.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct State {
    asked: Option<Asked>,
    newest: Option<Day>,
}

/// Time passed and nothing else: the moment for a copy, once a day, while the room is on top and nobody is in a walk.
pub fn quiet(model: &mut Model) -> Vec<Effect> {
    let Some(folder) = model.board.second_copy.clone() else { return vec![] };
    if model.scan.active() || !matches!(model.top(), Some(Screen::Room(_))) {
        return vec![];
    }
    let due = model.second_copy.asked.as_ref().is_none_or(|asked| {
        asked.folder != folder
            || asked.at.day() < model.today()
            || (asked.failed.is_some() && model.now.0 - asked.at.0 >= AGAIN)
    });
    if !due {
        return vec![];
    }
    // an earlier failure stands until the new try is over
    let failed = model.second_copy.failure().map(str::to_owned);
    model.second_copy.asked = Some(Asked { folder: folder.clone(), at: model.now, failed });
    vec![Effect::CopyBook(folder)]
}

/// The copy was made, or was there already, or failed. A failure is said once; the line of facts goes on saying it.
pub fn came(model: &mut Model, newest: Option<Day>, result: Result<(), Failure>) {
    model.second_copy.newest = newest;
    let failed = result.err().map(|failure| failure.sentence());
    let known = model.second_copy.failure().map(str::to_owned);
    if let Some(why) = failed.as_ref().filter(|why| known.as_ref() != Some(*why) && model.notice.is_none()) {
        model.refuse(format!("the second copy of the book. {why}"));
    }
    if let Some(asked) = &mut model.second_copy.asked {
        asked.failed = failed;
    }
}

impl State {
    /// Why the last try failed, if it did.
    pub fn failure(&self) -> Option<&str> {
        self.asked.as_ref()?.failed.as_deref()
    }
}

impl Model {
    /// What the line of facts says of the second copy: nothing while none was chosen, or none was tried yet.
    pub fn copy_overdue(&self) -> Option<String> {
        let folder = self.board.second_copy.as_ref()?;
        let asked = self.second_copy.asked.as_ref()?;
        let newest = self.second_copy.newest.filter(|_| asked.folder == *folder);
        overdue(newest, self.today()).filter(|_| asked.folder == *folder)
    }

    /// What the settings say of it.
    pub fn copy_hint(&self) -> String {
        match (&self.board.second_copy, self.second_copy.failure()) {
            (None, _) => "no second copy: choose a folder".into(),
            (Some(folder), None) => folder.clone(),
            (Some(folder), Some(_)) => self.copy_overdue().unwrap_or_else(|| folder.clone()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::effect::Msg;
    use crate::app::update::update;

    const FOLDER: &str = "/media/stick";

    fn model() -> Model {
        let now = Now(chrono::DateTime::parse_from_rfc3339("2026-07-15T06:00:00+02:00").unwrap());
        let (mut model, _) = Model::new(now, None, false, std::collections::BTreeMap::new());
        model.board.second_copy = Some(FOLDER.into());
        model
    }

    /// Whether a quiet moment so many minutes later asks for a copy.
    fn asks(model: &mut Model, minutes: i64) -> bool {
        let now = model.now.plus(Duration::minutes(minutes));
        update(model, Msg::Quiet, now).iter().any(|effect| matches!(effect, Effect::CopyBook(to) if to == FOLDER))
    }

    fn answer(model: &mut Model, newest: Option<&str>, failed: Option<&str>) {
        let result = failed.map_or(Ok(()), |why| Err(Failure::Book(why.into())));
        came(model, newest.map(|day| day.parse().unwrap()), result);
    }

    #[test]
    fn a_copy_is_asked_for_once_a_day() {
        let mut model = model();
        assert!(asks(&mut model, 0));
        answer(&mut model, Some("2026-07-15"), None);
        assert!(!asks(&mut model, 17 * 60 + 59), "one minute before midnight");
        assert!(asks(&mut model, 1));
        assert_eq!(model.copy_overdue(), None);
    }

    #[test]
    fn a_copy_that_failed_is_asked_for_again_after_ten_minutes_and_told_once() {
        let mut model = model();
        assert!(asks(&mut model, 0));
        answer(&mut model, None, Some("It is not there."));
        assert!(model.notice.take().is_some());
        assert_eq!(model.copy_overdue().as_deref(), Some("no second copy yet"));
        assert!(!asks(&mut model, 9));
        assert!(asks(&mut model, 1));
        answer(&mut model, None, Some("It is not there."));
        assert_eq!(model.notice, None);
        assert!(asks(&mut model, 10));
        answer(&mut model, None, Some("The disk is full."));
        assert!(model.notice.is_some(), "another reason is worth another word");
    }

    #[test]
    fn another_folder_is_asked_for_at_once_and_none_never() {
        let mut model = model();
        model.board.second_copy = Some("/media/other".into());
        assert!(!asks(&mut model, 0));
        answer(&mut model, None, Some("It is not there."));
        model.board.second_copy = Some(FOLDER.into());
        assert_eq!(model.copy_overdue(), None, "not tried yet");
        assert!(asks(&mut model, 0));
        model.board.second_copy = None;
        assert!(!asks(&mut model, 24 * 60));
        assert_eq!((model.copy_overdue(), model.copy_hint().as_str()), (None, "no second copy: choose a folder"));
    }
}
