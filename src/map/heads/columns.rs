//! The numbers under a track, as evidence: what repeats, what exceeds, what runs parallel.

use crate::map::plan::Decimal;
use crate::map::sight::Sight;
use crate::read::CellView;
use crate::reading::read_number;

/// The plain numbers of a track by line; texts with signs or words are left out.
pub(in crate::map) fn numbers(
    sight: &Sight<'_, '_>,
    lines: &[u32],
    track: u32,
    decimal: Decimal,
) -> Vec<(u32, f64)> {
    lines
        .iter()
        .filter_map(|line| number(sight.cell(*line, track), decimal).map(|n| (*line, n)))
        .collect()
}

/// The plain number of a cell, if it is one.
pub(in crate::map) fn number(cell: CellView<'_>, decimal: Decimal) -> Option<f64> {
    match cell {
        CellView::Number(number, _) => Some(number),
        // Not readable as a number: no evidence.
        CellView::Text(text) => read_number(text, decimal).ok(),
        _ => None,
    }
}

/// The number of a cell, whatever its form; used for ratios.
pub(in crate::map) fn value(
    sight: &Sight<'_, '_>,
    line: u32,
    track: u32,
    decimal: Decimal,
) -> Option<f64> {
    number(sight.cell(line, track), decimal)
}

/// The middle value; `None` of nothing.
pub(in crate::map) fn median(mut values: Vec<f64>) -> Option<f64> {
    values.retain(|v| v.is_finite());
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}

/// Numbers that mean 'missing': nines only (9999, -999, 9999999), far above everything else of their
/// track, and in at least two tracks or five times. A laboratory system that cannot write a blank
/// writes such numbers (common practice, no source); a real value repeated to the last digit in
/// several columns does not occur.
pub(in crate::map) fn missing_numbers(tracks: &[Vec<(u32, f64)>]) -> Vec<f64> {
    let mut candidates: Vec<(f64, usize, usize)> = Vec::new();
    for numbers in tracks {
        let mut own: Vec<(f64, usize)> = Vec::new();
        for (_, n) in numbers.iter().filter(|(_, n)| is_nines(*n)) {
            match own.iter_mut().find(|(v, _)| v == n) {
                Some((_, count)) => *count += 1,
                None => own.push((*n, 1)),
            }
        }
        let most = numbers
            .iter()
            .map(|(_, n)| *n)
            .filter(|n| !is_nines(*n))
            .fold(0.0_f64, |a, b| a.max(b.abs()));
        for (value, count) in own
            .into_iter()
            .filter(|(v, _)| *v < 0.0 || *v > 10.0 * most)
        {
            match candidates.iter_mut().find(|(v, ..)| *v == value) {
                Some((_, tracks, times)) => {
                    *tracks += 1;
                    *times += count;
                }
                None => candidates.push((value, 1, count)),
            }
        }
    }
    let mut found: Vec<f64> = candidates
        .into_iter()
        .filter(|(_, tracks, times)| *tracks >= 2 || *times >= 5)
        .map(|(value, ..)| value)
        .collect();
    found.sort_by(f64::total_cmp);
    found
}

/// -99, -999, 9999, 99999 and so on; sixteen nines come back from a spreadsheet as 9999999999999990.
pub fn is_nines(number: f64) -> bool {
    if !(99.0..=1e18).contains(&number.abs()) || number.fract() != 0.0 {
        return false;
    }
    let mut digits = number.abs() as u64;
    let (mut zeros, mut nines) = (0, 0);
    while digits.is_multiple_of(10) {
        (digits, zeros) = (digits / 10, zeros + 1);
    }
    while digits % 10 == 9 {
        (digits, nines) = (digits / 10, nines + 1);
    }
    let shortest = if number < 0.0 { 2 } else { 4 };
    digits == 0 && nines >= shortest && (zeros == 0 || nines >= 15)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nines_that_mean_missing() {
        for number in [
            -99.0,
            -999.0,
            9999.0,
            -9999.0,
            999_999.0,
            9_999_999_999_999_990.0,
        ] {
            assert!(is_nines(number), "{number}");
        }
        for number in [99.0, 999.0, 9990.0, 9989.0, 0.0, 99.9, -9.0] {
            assert!(!is_nines(number), "{number}");
        }
    }

    #[test]
    fn a_missing_number_recurs_and_exceeds() {
        let line = |values: &[f64]| {
            values
                .iter()
                .copied()
                .enumerate()
                .map(|(i, v)| (i as u32, v))
                .collect::<Vec<_>>()
        };
        let twice = [line(&[1.0, 9999.0]), line(&[2.0, 9999.0])];
        assert_eq!(missing_numbers(&twice), [9999.0]);
        // A conductivity of 9999 beside one of 9800 is a measurement.
        assert!(missing_numbers(&[line(&[9800.0, 9999.0]), line(&[2.0, 3.0])]).is_empty());
        assert!(missing_numbers(&[line(&[1.0, 9999.0]), line(&[2.0, 3.0])]).is_empty());
    }
}
