//! Types, rules and arithmetic of the grow room. No SQL, no keys, no clock.

pub mod action;
pub mod board;
pub mod code;
pub mod correction;
pub mod crop;
pub mod hands;
pub mod history;
pub mod id;
pub mod look;
pub mod person;
pub mod power_cut;
pub mod refusal;
pub mod room;
pub mod second_copy;
pub mod seed_lot;
pub mod seeding;
pub mod setup;
pub mod shelf_life;
pub mod sowing;
pub mod standing;
pub mod starter;
pub mod text;
pub mod time;
pub mod timeline;
pub mod tray;
pub mod walk;
mod words;
