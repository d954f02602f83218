//! One binary for all integration tests, so that the crate is linked once.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    reason = "all of this is tests, which the lints know only inside #[test]"
)]

mod book;
mod layers;
mod screens;
mod store;
