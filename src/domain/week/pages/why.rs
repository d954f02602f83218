//! How the review counts and compares, and the figures of every comparison.

use crate::domain::room::Units;
use crate::domain::week::differ::Found;
use crate::domain::week::past::BASELINE_ENOUGH;
use crate::domain::week::review::Told;
use crate::domain::week::words::apart;
use crate::domain::week::{WEEKS_LEAST, WORTH, span};

/// How it was counted and compared.
pub(super) fn why(told: &Told) -> Vec<String> {
    let days = span::words(told.review.period);
    let mut lines: Vec<String> = [
        format!("Counted are trays and weights of {days}; compared are those of {} up to its end.", told.past.of_when()),
        "Grams a tray: every weighing is one value. Several trays weighed together are one value too, their mean, since nobody knows how they differ. Parts of trays count by their mats; trays of different formats count alike.".into(),
        "Mean with the range that holds the true one 95 times of a hundred (t distribution); below 3 weights the values alone, up to 5 \"very wide\". The median stands beside it, and the middle of all pairs (Hodges-Lehmann).".into(),
        "Check: from 8 weights on what lies outside of 1.5 times the middle half (Tukey's fences, quartiles at (n+1)p), else half or double of the crop's own figure. Nothing is dropped; a weight that somebody marks is shown with and without.".into(),
        "Grams for a gram of seed: all grams by all seed, not a mean of ratios; the range by linearisation. Once of the trays that were cut, once with the seed of the lost ones.".into(),
        "Lost: of the trays that ended in these days, with Wilson's range. Trays that nobody needed ended and are no loss. Trays of one shelf fail together, so that the true range is wider.".into(),
        format!("Unusual: against a baseline that stands still, the crop's first weeks with {BASELINE_ENOUGH} weights together, or the days that somebody chose. Fewer than {BASELINE_ENOUGH}: the range beyond which one good new tray of 370 lies. From there on mean and moving range (limits mean +- 3 x MR / 1.128), and eight in a row on one side. No other run rules: they cry wolf."),
        format!("Weeks, from {WEEKS_LEAST} on: medians as a run chart (longest run, crossings of the median), the weighted mean of weekly means (0.2, against the first {WEEKS_LEAST} weeks of the book or the chosen days, limits as wide as so few weeks make them), and the course by Theil and Sen. Losses: called more than before where the weeks before would give as many once in 200 or more seldom."),
        "Seed lots, densities, plans: only in weeks that both have, what a week gave to all taken off first. Welch's range and chance, from 3 weights each; the rank test and its shift stand below.".into(),
        "Lost of lots and shelves: an exact test within each crop and week, so that a crop that is lost everywhere makes no shelf a bad one. A tray counts where it stood last; shelves with fewer than 4 trays are among the others.".into(),
        "Shelves: weights within a crop and week, the mean taken off; Kruskal and Wallis over shelves with 4 or more.".into(),
        "Second cuts of trays that grew again count in the grams, not in grams a tray nor in grams for a gram of seed.".into(),
        format!("Money: costs are of the trays that ended, what was sold was cut before. So a tray's margin is told of {} only, lost trays included.", told.past.of_when()),
        format!("All {} questions of this review are corrected together (Benjamini and Hochberg); q up to {WORTH:.2} is worth a planned trial, never a proof. Nothing was drawn by lot here, so that a better lot may have had the better week.", told.differences.asked),
        "Few trays see little: two groups of 10 show a difference of 16 % with 80 % power where trays vary by 12 %, two of 5 only 24 % (worked out, two-sided 5 %).".into(),
        "An uneven canopy is looks, not yield; sowing too densely leaves no room and does not pay (common practice, no source).".into(),
        "No figure here clears a tray or a pack; people do, by name.".into(),
    ]
    .into();
    lines.push(String::new());
    for one in &told.differences.comparisons {
        if let Found::Yield(two) = &one.found {
            let number = |value: Option<f64>| value.map_or_else(|| "-".to_string(), |value| format!("{value:.4}"));
            let shift = two.shift_interval.map_or_else(String::new, |(low, high)| format!(" ({low:.1} to {high:.1})"));
            lines.push(format!(
                "{} {} of {} {}; t {}, df {}, rank p {:.4}{}, shift {:.1}{shift}, q {}, {} of {} weeks",
                one.by.shown(),
                one.name,
                one.crop_name,
                apart(two, &one.other, Units::Metric, one.worth()),
                number(two.t),
                number(two.df),
                two.rank_p,
                if two.exact { " exact" } else { "" },
                two.shift,
                number(one.q),
                one.weeks.0,
                one.weeks.1,
            ));
        }
    }
    lines
}
