//! Headings that name a place beside their analyte: "Bore 1 EC (mS/cm)", "pH - Well A". Read only where nothing else
//! can be meant: all analytes of the row are named so, of several places of a kind or the sides of a plant ("Inlet pH",
//! "Outlet pH"), and none twice.

use super::cross::are_names_of_places;
use super::look::{Look, Placed, PlacedHead, Reader};
use crate::read::{CellView, Grid};
use crate::text::fold;
use crate::vocabulary::Meaning;
use std::collections::BTreeSet;

/// Rows in which such headings are looked for.
const LAST_HEAD: u32 = 60;
/// Fewer are no pattern.
const FEWEST: usize = 4;

/// First words of what is no place, though it is numbered. Common practice, no source.
const NO_PLACES: &[&str] = &[
    "campaign",
    "dag",
    "day",
    "depth",
    "dia",
    "dose",
    "event",
    "giorno",
    "jour",
    "lab",
    "labor",
    "laboratory",
    "layer",
    "level",
    "mes",
    "method",
    "month",
    "phase",
    "probe",
    "quarter",
    "rep",
    "replicate",
    "round",
    "run",
    "season",
    "semaine",
    "semana",
    "sensor",
    "settimana",
    "stage",
    "storm",
    "tag",
    "test",
    "time",
    "treatment",
    "trial",
    "vecka",
    "visit",
    "week",
    "woche",
    "year",
];

/// Words for waters on both sides of something, folded: no quantity is called so. Common practice, no source.
const SIDES: &[&str] = &[
    "ablauf",
    "after",
    "antes",
    "apres",
    "avant",
    "before",
    "concentrate",
    "despues",
    "dopo",
    "drain",
    "drainage",
    "drip",
    "dripper",
    "druppel",
    "effluent",
    "entrada",
    "entree",
    "feed",
    "influent",
    "ingaand",
    "ingresso",
    "inlet",
    "nachher",
    "outlet",
    "permeate",
    "prima",
    "raw",
    "raw water",
    "reinwasser",
    "rohwasser",
    "salida",
    "sortie",
    "treated",
    "treated water",
    "tropfer",
    "uitgaand",
    "uscita",
    "vorher",
    "zulauf",
];

/// The headings of the first row of this kind; empty where there is none.
pub(super) fn placed_heads(grid: &Grid, reader: &Reader<'_>) -> Placed {
    (grid.rows())
        .take_while(|(row, _)| *row <= LAST_HEAD)
        .filter(|(_, cells)| cells.len() >= FEWEST)
        .find_map(|(_, cells)| {
            let has_plain = (cells.iter()).any(|(_, cell)| {
                matches!(
                    reader.look(cell.view()),
                    Look::Analyte | Look::Number | Look::Date
                )
            });
            if has_plain {
                return None;
            }
            let texts: Vec<&str> = (cells.iter())
                .filter_map(|(_, cell)| match cell.view() {
                    CellView::Text(text) => Some(text.trim()),
                    _ => None,
                })
                .filter(|text| reader.look(CellView::Text(text)) == Look::Words)
                .collect();
            if texts.len() < FEWEST {
                return None;
            }
            [true, false]
                .into_iter()
                .find_map(|place_first| heads(reader, &texts, place_first))
        })
        .unwrap_or_default()
}

fn heads(reader: &Reader<'_>, texts: &[&str], place_first: bool) -> Option<Placed> {
    let mut placed = Placed::default();
    let mut results = BTreeSet::new();
    for text in texts {
        let Some((head, meaning)) = split(reader, text, place_first) else {
            // "Remarks of the week" says nothing against the others; what holds a unit does.
            if reader.heading(text).unit.is_some() {
                return None;
            }
            continue;
        };
        if !results.insert((head.place.clone(), meaning)) {
            return None;
        }
        placed.insert((*text).into(), head);
    }
    let places: BTreeSet<&str> = placed.values().map(|head| &*head.place).collect();
    let analytes: BTreeSet<&String> = results.iter().map(|(_, analyte)| analyte).collect();
    let is_full = results.len() == places.len() * analytes.len();
    let is_no_place = |place: &&str| {
        let folded = fold(place);
        let word = folded.split(|c: char| !c.is_alphabetic()).next();
        word.is_some_and(|word| NO_PLACES.contains(&word))
    };
    let is_one = placed.len() >= FEWEST
        && is_full
        && !places.iter().any(is_no_place)
        && (are_names_of_places(reader, &places)
            || places.len() > 1 && places.iter().all(|place| SIDES.contains(&&*fold(place))));
    is_one.then_some(placed)
}

/// The shortest place that leaves the heading of an analyte.
fn split(reader: &Reader<'_>, text: &str, place_first: bool) -> Option<(PlacedHead, String)> {
    let mut cuts: Vec<usize> = text.match_indices(' ').map(|(at, _)| at).collect();
    if !place_first {
        cuts.reverse();
    }
    let bare = |part: &str| -> Box<str> {
        part.trim_matches(|c: char| {
            c.is_whitespace() || matches!(c, '-' | '–' | ':' | ',' | '/' | '|')
        })
        .into()
    };
    cuts.into_iter().find_map(|at| {
        let (first, second) = (bare(&text[..at]), bare(&text[at..]));
        let (place, rest) = if place_first {
            (first, second)
        } else {
            // "EC Bore 1 (mS/cm)": the unit stands behind the place.
            let (place, unit) = match second.find(['(', '[']) {
                Some(open) => (bare(&second[..open]), &second[open..]),
                None => (second.clone(), ""),
            };
            (place, format!("{first} {unit}").trim().into())
        };
        let Meaning::Analyte(id) = reader.heading(&rest).meaning else {
            return None;
        };
        let analyte = reader.vocabulary().analyte(id).code.clone();
        (!place.is_empty()).then_some((PlacedHead { place, rest }, analyte))
    })
}
