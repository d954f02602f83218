//! backup
