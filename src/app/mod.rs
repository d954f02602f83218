//! Model, messages and update: keys become commands, commands become actions.

pub mod command;
pub mod effect;
pub mod form;
pub mod hold;
pub mod key;
pub mod keys;
mod labels;
pub mod menu;
pub mod model;
pub mod scan;
pub mod screens;
pub mod second_copy;
pub mod update;
