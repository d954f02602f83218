//! A keyboard-driven logbook for a small commercial microgreens room.
//!
//! The layers and the direction of every arrow between them are drawn in `DEVELOPERS.md`.

pub mod app;
pub mod cli;
pub mod demo;
pub mod domain;
pub mod report;
pub mod runtime;
pub mod store;
pub mod ui;
