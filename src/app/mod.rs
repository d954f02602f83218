//! Model, messages and update: keys become commands, commands become actions.

pub mod form;
pub mod key;
