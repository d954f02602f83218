//! starter
