//! code
