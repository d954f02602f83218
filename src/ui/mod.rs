//! Drawing: functions from the model to a frame. Cannot reach the store.

pub mod form;
pub mod theme;
