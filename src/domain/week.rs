//! The week reviewed: what each crop gave, what was lost and why, what is unusual, and what differs; with how sure it is.

mod crop;
mod differ;
mod drift;
mod facts;
mod page;
mod pages;
mod past;
mod review;
mod roll;
mod span;
#[cfg(test)]
mod tests;
mod words;

pub use crop::{CropReview, Days, Income, Money};
pub use differ::{Between, Comparison, Differences, DrawnLoss, Found, WORTH};
pub use drift::{Against, Drift, Said, WEEKS_LEAST};
pub use facts::{
    Batch, CropFigures, Due, DueLine, End, Ended, Facts, OnScale, Outcome, PartLost, Sold, Sown, Wasted, Weighing,
};
pub use page::{page, pictures};
pub use pages::{Line, Open, Part, about_tray, lines};
pub use past::{BASELINE_ENOUGH, BASELINE_LEAST, Baseline, By, Past, WINDOW_WEEKS};
pub use review::{ByCost, Currency, Margin, Review, Told};
pub use roll::{Rolled, Weekly, roll};
pub use span::{label, last, monday, mondays, of, parse, step, whole, words as span_words};
pub use words::sentences;
