//! Reading a logger's file in steps.

use std::cell::RefCell;
use std::path::{Path, PathBuf};

use super::work::Watch;
use super::{Session, failure};
use crate::app::effect::{Failure, Msg};
use crate::app::screens::air::went_on;
use crate::domain::action::Done;
use crate::domain::id::{PersonId, SensorId};
use crate::domain::logger::{LoggerFile, Map, Parsed, Sheet, read, text};
use crate::domain::reading::NewReadings;
use crate::domain::refusal::Refusal;
use crate::domain::text::{clean_line, counted};
use crate::store::Store;
use crate::store::air::digest;

/// No logger writes more.
const MOST_BYTES: u64 = 64 << 20;

/// Opens a logger's file, whole.
fn open_logger(path: &Path) -> Result<LoggerFile, String> {
    let shown = path.display();
    let cannot = |err: std::io::Error| format!("{shown} cannot be read ({err}): check the path.");
    let about = std::fs::metadata(path).map_err(cannot)?;
    if !about.is_file() {
        return Err(format!("{shown} is no file: give the path of the logger's CSV."));
    }
    if about.len() > MOST_BYTES {
        return Err(format!("{shown} is larger than 64 MiB: export fewer months at once."));
    }
    let bytes = std::fs::read(path).map_err(cannot)?;
    let sha256 = digest(&bytes);
    let text = text(bytes)?;
    let sheet = Sheet::of(&text)?;
    let name = path.file_name().map_or_else(|| shown.to_string(), |name| name.to_string_lossy().into_owned());
    Ok(LoggerFile { name: clean_line(&name, 200).text, sha256, text, sheet, read_for: None })
}

/// `~/` as a shell has it.
pub(super) fn whole_path(typed: &str) -> PathBuf {
    match (typed.strip_prefix("~/"), std::env::var_os("HOME")) {
        (Some(rest), Some(home)) => Path::new(&home).join(rest),
        _ => PathBuf::from(typed),
    }
}

fn stopped() -> Failure {
    Failure::Rule(Refusal::new("import_stopped", "Stopped: nothing of the file was written."))
}

/// The same, with another sensor it was read for.
pub fn open_logger_for(store: &Store, sensor: SensorId, path: &Path) -> Result<LoggerFile, String> {
    let file = open_logger(path)?;
    let read_for = store.file_read_for_another(sensor, &file.sha256).map_err(|why| why.to_string())?;
    Ok(LoggerFile { read_for, ..file })
}

impl Session {
    /// Reads the file that was opened last for a sensor, if one is open.
    pub(super) fn import(&mut self, sensor: SensorId, map: &Map, watch: Watch<'_>) -> Option<Msg> {
        let file = self.model.logger.take()?;
        let (parsed, result) = self.read_in(sensor, map, &file, watch);
        self.model.logger = Some(file);
        Some(Msg::Imported(parsed, result))
    }

    fn read_in(
        &mut self,
        sensor: SensorId,
        map: &Map,
        file: &LoggerFile,
        watch: Watch<'_>,
    ) -> (Parsed, Result<Done, Failure>) {
        let now = self.clock.now();
        let model = &mut self.model;
        let parsed = read(file, map, now, &mut |done| {
            went_on(model, "Read", done, &counted(file.sheet.rows, "line"));
            watch(model)
        });
        let mut parsed = match parsed {
            Ok(Some(parsed)) => parsed,
            Ok(None) => return (Parsed::default(), Err(stopped())),
            Err(why) => return (Parsed::default(), Err(Failure::Book(why))),
        };
        let new = NewReadings {
            sensor,
            file: file.name.clone(),
            sha256: file.sha256.clone(),
            part: None,
            readings: std::mem::take(&mut parsed.readings),
            map: Some(map.clone()),
        };
        let who = self.model.who.unwrap_or(PersonId(1));
        let shown = RefCell::new((&mut self.model, watch));
        let result = self.store.read_in(None, &new, (who, now), &|done, all| {
            let (model, watch) = &mut *shown.borrow_mut();
            went_on(model, "Laid ready", done, &counted(all, "reading"));
            watch(model)
        });
        parsed.readings = new.readings;
        (parsed, result.map_err(failure))
    }
}
