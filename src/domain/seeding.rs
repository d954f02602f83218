//! seeding
