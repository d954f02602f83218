//! migrate
