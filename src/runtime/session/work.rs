//! Long work in steps, with a look at the keys between them.

use super::{Flow, Session};
use crate::app::effect::Msg;
use crate::app::model::Model;
use crate::app::screens::period::went_on;
use crate::app::update::update;
use crate::domain::chain::Proof;
use crate::domain::id::SensorId;
use crate::domain::logger::Map;
use crate::domain::period::Period;
use crate::domain::records::Records;
use crate::report::records;
use crate::runtime::new_file;

/// What is to be done in steps.
pub(super) enum Job {
    /// Read the opened file of a logger.
    Import(SensorId, Map),
    /// The page of a period's records.
    Records(Period),
    /// Whether the log is whole.
    Proof,
}

/// Asked after each step whether to go on; may draw.
pub(super) type Watch<'w> = &'w mut dyn FnMut(&mut Model) -> bool;

impl Session {
    /// Whether long work waits to be done.
    pub fn busy(&self) -> bool {
        self.job.is_some()
    }

    /// Does the long work. `watch` is asked after each step whether to go on, and may draw.
    pub fn work(&mut self, watch: &mut dyn FnMut(&mut Model) -> bool) -> Flow {
        let Some(job) = self.job.take() else { return Flow::GoOn };
        let msg = match job {
            Job::Import(sensor, map) => match self.import(sensor, &map, watch) {
                Some(msg) => msg,
                None => return Flow::GoOn,
            },
            Job::Records(period) => Msg::RecordsPrinted(self.print_records(period, watch)),
            Job::Proof => {
                let (store, model) = (&self.store, &mut self.model);
                let proof = store.proof(&mut |done, all| {
                    went_on(model, done, all);
                    watch(model)
                });
                Msg::Proved(proof.map_err(|why| why.to_string()))
            }
        };
        let effects = update(&mut self.model, msg, self.clock.now());
        self.run(effects.into())
    }

    /// Everything of some days as a page beside the book: its path, and what the proof of the log came to.
    fn print_records(&mut self, period: Period, watch: Watch<'_>) -> Result<(String, Proof), String> {
        let folder = self.store.folder().ok_or("The book has no folder: write them with the records verb.")?;
        let (store, model) = (&self.store, &mut self.model);
        let found = store.records(period, self.clock.now(), &mut |done, all| {
            went_on(model, done, all);
            watch(model)
        });
        let found = found.map_err(|why| why.to_string())?.ok_or("Stopped: nothing was written.")?;
        let made_by = self.model.person().map(|person| person.initials.clone()).unwrap_or_default();
        let found = Records { made_by, ..found };
        let name = format!("records-{}", period.words().replace(' ', "-"));
        let path = new_file::write_beside(&folder, &name, "html", records::page(&found).as_bytes())?;
        Ok((path.display().to_string(), found.proof))
    }
}
