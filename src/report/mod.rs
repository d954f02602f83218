//! What leaves the program for paper and other programs: pure functions from read models to text.
//!
//! Outermost beside the command line: this layer knows the domain and nothing else, and opens no file.

pub mod labels;
pub mod sheet;
