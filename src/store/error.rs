//! error
