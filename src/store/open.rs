//! open
