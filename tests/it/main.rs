//! One binary for all integration tests, so that the crate is linked once.

mod book;
mod cli;
mod demo;
mod outside;
mod screens;
mod store;
