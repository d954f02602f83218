//! One binary for all integration tests, so that the crate is linked once.

mod book;
mod demo;
mod store;
