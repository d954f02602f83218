//! The edge to the machine: terminal, keys and signals, clock, folders, drafts. The only layer that
//! knows crossterm or reads the clock.

pub mod clock;
pub mod drafts;
pub mod events;
pub mod hand_over;
mod job;
mod keys;
pub mod new_file;
pub mod paths;
pub mod screen;
pub mod session;
pub mod terminal;
pub mod wait;
