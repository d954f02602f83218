//! Drawing: functions from the model to a frame. Cannot reach the store.

mod ascii;
pub(crate) mod fit;
pub mod form;
mod page;
pub mod screens;
mod signs;
pub mod theme;

pub use screens::draw;
