//! Types, rules and arithmetic of the grow room. No SQL, no keys, no clock.

pub mod code;
pub mod seeding;
pub mod starter;
pub mod text;
