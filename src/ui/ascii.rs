//! Text for a terminal that is not UTF-8: units and dashes as near as ASCII comes, anything else as `?`.

use ratatui::buffer::Buffer;

use crate::domain::text::nearest;

/// Replaces what such a terminal would garble, cell by cell, so that nothing moves.
pub(super) fn only(buffer: &mut Buffer) {
    for cell in &mut buffer.content {
        if !cell.symbol().is_ascii() {
            let plain = nearest(cell.symbol());
            cell.set_char(plain);
        }
    }
}

#[cfg(test)]
mod tests {
    use ratatui::layout::Rect;
    use ratatui::style::Style;

    use super::*;

    #[test]
    fn nothing_beyond_ascii_stays_and_nothing_moves() {
        let mut buffer = Buffer::empty(Rect::new(0, 0, 24, 1));
        buffer.set_string(0, 0, "19.5 °C, 30 cm² × 豆 é.", Style::default());
        only(&mut buffer);
        let row: String = buffer.content.iter().map(ratatui::buffer::Cell::symbol).collect();
        assert_eq!(row, "19.5  C, 30 cm2 x ?  ?. ");
    }
}
