//! One module per screen: its state, what its commands do, and what it makes of what was loaded.

pub mod beside;
pub mod breach;
pub mod check;
pub mod chosen;
pub mod find;
pub mod form_page;
pub mod forms;
pub mod hands;
pub mod help;
pub mod lock;
pub mod meeting;
pub mod pick;
pub mod records;
pub mod room;
pub mod seed_shelf;
pub mod settings;
pub mod setup;
pub mod share;
pub mod standing;
pub mod story;
pub mod tray_menus;
pub mod walk;
pub mod walk_end;
pub mod whereabouts;
pub mod why;
