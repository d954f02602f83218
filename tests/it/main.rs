//! One binary for all integration tests, so that the crate is linked once.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    reason = "a test fails by panicking"
)]

mod book;
mod calc_keeping;
mod calc_mix;
mod calc_room;
mod calc_statistics;
mod cause;
mod cli;
mod copies;
mod demo;
mod import;
mod labels;
mod layers;
mod outside;
mod readme;
mod records_cli;
mod screens;
mod store;
mod terminal;
mod trace_cli;
mod week_cli;
