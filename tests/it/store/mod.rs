//! The book through its one door.

mod first;
