//! Pictures as lines of text: no colour, each sign explained, and nothing wider than what there is.

use super::{NOTHING, Picture};
use crate::domain::text::{clean_line, fit, plain, wrapped};

mod bars;
mod dots;
mod heat;
mod runs;

/// Narrower than this nothing is drawn; lines are then cut off.
pub const LEAST: usize = 40;
/// Rows of all but the largest picture, the words below it included.
const ROWS: usize = 18;
/// Rows of words below a picture, at most.
const WORDS: usize = 5;

/// What a picture is drawn with.
#[derive(Clone, Copy)]
struct Pen {
    width: usize,
    ascii: bool,
}

/// The signs of all pictures, for a terminal that shows them and for one that has ASCII only.
#[derive(Clone, Copy)]
enum Sign {
    Dot,
    Check,
    Mean,
    Line,
    Begin,
    End,
    Look,
    Limit,
    Smooth,
    Side,
    Corner,
    Tick,
    Block,
    Nothing,
}

impl Pen {
    fn sign(self, sign: Sign) -> char {
        let (wide, plain) = match sign {
            Sign::Dot => ('•', 'o'),
            Sign::Check => ('×', 'x'),
            Sign::Mean => ('┃', '|'),
            Sign::Line => ('─', '-'),
            Sign::Begin => ('├', '['),
            Sign::End => ('┤', ']'),
            Sign::Look => ('◆', '!'),
            Sign::Limit => ('┄', '.'),
            Sign::Smooth => ('~', '~'),
            Sign::Side => ('│', '|'),
            Sign::Corner => ('└', '+'),
            Sign::Tick => ('┬', '+'),
            Sign::Block => ('■', '#'),
            Sign::Nothing => ('·', '.'),
        };
        if self.ascii { plain } else { wide }
    }

    /// Two signs for how dark a place is.
    fn shade(self, shade: usize) -> &'static str {
        let signs =
            if self.ascii { ["  ", "..", "::", "++", "##"] } else { ["  ", "░░", "▒▒", "▓▓", "██"] };
        signs.get(shade).copied().unwrap_or("  ")
    }

    /// What a label is on the screen, in so many columns at most.
    fn label(self, label: &str, most: usize) -> String {
        fit(&line(label), most, self.ascii)
    }

    /// Words below a picture, in as few rows as they take; what does not fit is cut off visibly.
    fn notes(self, notes: &[String]) -> Vec<String> {
        let mut rows: Vec<String> = notes.iter().flat_map(|note| wrapped(&line(note), self.width)).collect();
        if rows.len() > WORDS {
            rows.truncate(WORDS);
            if let Some(last) = rows.last_mut() {
                *last = fit(&format!("{last} and more"), self.width, self.ascii);
            }
        }
        rows
    }
}

/// One line, safe to print: texts of old or foreign books are cleaned on the way out as well.
fn line(text: &str) -> String {
    clean_line(text.trim(), 2000).text
}

/// A row of single signs; what is set beyond it is not there.
#[derive(Clone)]
struct Strip(Vec<char>);

impl Strip {
    fn new(width: usize) -> Self {
        Self(vec![' '; width])
    }

    fn set(&mut self, at: usize, sign: char) {
        if let Some(cell) = self.0.get_mut(at) {
            *cell = sign;
        }
    }

    fn fill(&mut self, from: usize, to: usize, sign: char) {
        (from..=to).for_each(|at| self.set(at, sign));
    }

    /// Writes ASCII where nothing stands yet, one free column before and behind it; whether there was room.
    fn write(&mut self, at: usize, text: &str) -> bool {
        let end = at + text.len();
        let free = self.0.get(at.saturating_sub(1)..(end + 1).min(self.0.len()));
        let room = end <= self.0.len() && free.is_some_and(|cells| cells.iter().all(|cell| *cell == ' '));
        if room {
            text.chars().enumerate().for_each(|(n, sign)| self.set(at + n, sign));
        }
        room
    }

    fn text(&self) -> String {
        self.0.iter().collect()
    }
}

/// The column or row that a part of a scale from 0 to 1 falls on, of `of`.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "a screen is small"
)]
fn cell(part: f64, of: usize) -> usize {
    let last = of.saturating_sub(1);
    ((part.clamp(0.0, 1.0) * last as f64).round() as usize).min(last)
}

impl Picture {
    /// The picture in at most `width` columns and about 18 rows. `ascii` where the terminal has nothing else.
    pub fn lines(&self, width: usize, ascii: bool) -> Vec<String> {
        let pen = Pen { width: width.max(LEAST), ascii };
        let drawn = match self {
            Self::Dots(dots) => dots::drawn(dots, pen),
            Self::Runs(runs) => runs::drawn(runs, pen),
            Self::Bars(bars) => bars::drawn(bars, pen),
            Self::Heat(heat) => heat::drawn(heat, pen),
        };
        let title = pen.label(self.title(), pen.width);
        let rows = drawn.unwrap_or_else(|| vec![NOTHING.into()]);
        let rows = std::iter::once(title).chain(rows).map(|row| fit(row.trim_end(), width, ascii));
        rows.map(|row| if ascii { plain(&row) } else { row }).collect()
    }
}
