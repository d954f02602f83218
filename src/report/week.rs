//! stub
use crate::domain::week_page::WeekPage;
pub fn html(_: &WeekPage) -> String { String::new() }
pub fn csv(_: &WeekPage) -> Result<Vec<u8>, csv::Error> { Ok(vec![]) }
pub fn text(_: &WeekPage) -> Vec<String> { vec![] }
