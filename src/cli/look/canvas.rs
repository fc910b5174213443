//! A grid of short texts drawn into the width of a terminal: columns that do not fit stand in a strip
//! of their own below. Knows nothing of reports.

use super::meaning::Kind;
use anstyle::{AnsiColor, Style};
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// A cell wider than this is cut: the picture shows where things stand, not all that they say.
const WIDEST: usize = 18;
/// A gutter wider than this is cut.
const WIDEST_GUTTER: usize = 34;
const GAP: usize = 2;

#[derive(Clone, Debug)]
pub(super) struct Piece {
    pub(super) text: String,
    pub(super) kind: Kind,
}

impl Piece {
    pub(super) fn new(text: impl Into<String>, kind: Kind) -> Self {
        Self {
            text: text.into(),
            kind,
        }
    }
}

#[derive(Clone, Debug)]
pub(super) struct Row {
    pub(super) gutter: Piece,
    /// One for each column; a row without cells shows its gutter alone.
    pub(super) cells: Vec<Piece>,
}

#[derive(Clone, Debug, Default)]
pub(super) struct Canvas {
    /// Names of the columns.
    pub(super) columns: Vec<String>,
    pub(super) rows: Vec<Row>,
}

impl Canvas {
    /// Draws as many strips as fit into `lines` lines, the first one always. Returns the text and how
    /// many of the columns it shows.
    pub(super) fn draw(&self, width: usize, lines: usize) -> (String, usize) {
        let gutter = self
            .rows
            .iter()
            .filter(|row| !row.cells.is_empty())
            .map(|row| row.gutter.text.width())
            .max()
            .map_or(0, |widest| widest.min(WIDEST_GUTTER));
        let widths: Vec<usize> = (0..self.columns.len()).map(|c| self.width(c)).collect();
        let mut text = String::new();
        let mut shown = 0;
        let strip_lines = self.rows.len() + 2;
        let mut used = 0;
        while shown < widths.len() && (used == 0 || used + strip_lines <= lines) {
            let mut room = width.saturating_sub(gutter);
            let mut until = shown;
            while until < widths.len() && (until == shown || room >= widths[until] + GAP) {
                room = room.saturating_sub(widths[until] + GAP);
                until += 1;
            }
            if used > 0 {
                text.push('\n');
            }
            self.strip(&mut text, gutter, &widths, shown..until);
            used += strip_lines;
            shown = until;
        }
        (text, shown)
    }

    fn width(&self, column: usize) -> usize {
        let cells = self.rows.iter().filter_map(|row| row.cells.get(column));
        cells
            .map(|piece| piece.text.width())
            .chain([self.columns[column].width()])
            .max()
            .map_or(1, |widest| widest.min(WIDEST))
    }

    fn strip(
        &self,
        text: &mut String,
        gutter: usize,
        widths: &[usize],
        columns: std::ops::Range<usize>,
    ) {
        let mut line = " ".repeat(gutter);
        for column in columns.clone() {
            put(
                &mut line,
                &Piece::new(&self.columns[column], Kind::SetAside),
                widths[column],
            );
        }
        finish(text, &line);
        for row in &self.rows {
            if row.cells.is_empty() {
                let start = " ".repeat(gutter.saturating_sub(1));
                let words = styled(&row.gutter.text, row.gutter.kind);
                finish(text, &format!("{start}{words}"));
                continue;
            }
            let mut line = String::new();
            let cut = cut(&row.gutter.text, gutter.max(1));
            let before = " ".repeat(gutter.saturating_sub(cut.width()));
            line.push_str(&before);
            line.push_str(&styled(&cut, row.gutter.kind));
            for column in columns.clone() {
                if let Some(piece) = row.cells.get(column) {
                    put(&mut line, piece, widths[column]);
                }
            }
            finish(text, &line);
        }
    }
}

fn put(line: &mut String, piece: &Piece, width: usize) {
    let cut = cut(&piece.text, width);
    line.push_str(&" ".repeat(GAP));
    line.push_str(&styled(&cut, piece.kind));
    line.push_str(&" ".repeat(width.saturating_sub(cut.width())));
}

fn finish(text: &mut String, line: &str) {
    text.push_str(line.trim_end());
    text.push('\n');
}

/// The text in at most `width` columns of the terminal, with `…` where it was cut.
pub(super) fn cut(text: &str, width: usize) -> String {
    if text.width() <= width {
        return text.to_string();
    }
    let mut kept = String::new();
    let mut used = 0;
    for c in text.chars() {
        let wide = c.width().map_or(0, |w| w);
        if used + wide + 1 > width {
            break;
        }
        kept.push(c);
        used += wide;
    }
    kept.push('…');
    kept
}

/// Colour helps; the words say the same without it.
pub(super) fn styled(text: &str, kind: Kind) -> String {
    let style = match kind {
        Kind::Plain => return text.to_string(),
        Kind::Heading => Style::new().bold(),
        Kind::Analyte => AnsiColor::Green.on_default(),
        Kind::Assumed => AnsiColor::Yellow.on_default(),
        Kind::Identity => AnsiColor::Cyan.on_default(),
        Kind::Companion => AnsiColor::Blue.on_default(),
        Kind::SetAside => Style::new().dimmed(),
        Kind::Unplaced => AnsiColor::Red.on_default(),
    };
    if text.is_empty() {
        return String::new();
    }
    format!("{style}{text}{style:#}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn canvas() -> Canvas {
        let row = |gutter: &str, cells: &[&str]| Row {
            gutter: Piece::new(gutter, Kind::Plain),
            cells: cells.iter().map(|c| Piece::new(*c, Kind::Plain)).collect(),
        };
        Canvas {
            columns: ["A", "B", "C"].map(String::from).into(),
            rows: vec![
                row("1", &["Sample", "pH", "Ca"]),
                row("10", &["Bore North", "7.2", "118"]),
            ],
        }
    }

    fn plain(text: &str) -> String {
        anstream::adapter::strip_str(text).to_string()
    }

    #[test]
    fn columns_stand_below_one_another() {
        let (text, shown) = canvas().draw(80, 20);
        assert_eq!(shown, 3);
        assert_eq!(
            plain(&text),
            "    A           B    C\n 1  Sample      pH   Ca\n10  Bore North  7.2  118\n"
        );
    }

    #[test]
    fn what_does_not_fit_stands_in_a_strip_of_its_own() {
        let (text, shown) = canvas().draw(15, 20);
        assert_eq!(shown, 3);
        assert_eq!(
            plain(&text),
            "    A\n 1  Sample\n10  Bore North\n\n    B    C\n 1  pH   Ca\n10  7.2  118\n"
        );
        assert_eq!(canvas().draw(15, 5).1, 1);
    }

    #[test]
    fn no_line_is_wider_than_the_terminal() {
        for width in 24..60 {
            // Rows without cells are our own words, and short.
            let (text, _) = canvas().draw(width, 100);
            assert!(plain(&text).lines().all(|l| l.width() <= width), "{width}");
        }
    }

    #[test]
    fn long_texts_are_cut_to_columns_of_the_terminal() {
        assert_eq!(cut("Bicarbonate", 6), "Bicar…");
        // A Chinese character takes two columns.
        assert_eq!(cut("水水水", 4), "水…");
        assert_eq!(cut("pH", 6), "pH");
    }
}
