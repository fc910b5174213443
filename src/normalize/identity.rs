//! What a report says of who and where a sample is, line by line, and the key made from it.

use super::findings::Problem;
use super::tally::{Spot, Tally};
use crate::place::Address;
use crate::read::CellView;
use crate::reading::{
    DateFault, DateOrder, Decimal, date_from_serial, fold, read_date, read_number, squash,
};
use crate::record::Sample;
use crate::vocabulary::Field;
use hashbrown::hash_table::Entry;
use hashbrown::{DefaultHashBuilder, HashMap, HashTable};
use jiff::civil::Date;
use sha2::{Digest, Sha256};
use std::fmt::Write;
use std::hash::BuildHasher;
use std::sync::Arc;

/// The fields kept as text, in the order of [`Identity::texts`].
const TEXTS: [Field; 8] = [
    Field::Client,
    Field::Site,
    Field::Source,
    Field::SourceKind,
    Field::Region,
    Field::SampleRef,
    Field::Lab,
    Field::LabRef,
];

/// The date fields, in the order of [`Identity::days`].
const DAYS: [Field; 3] = [Field::SampledOn, Field::ReceivedOn, Field::ReportedOn];

/// What a line says of its sample. Equal identities are one sample.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub(super) struct Identity {
    texts: [Option<Arc<str>>; 8],
    days: [Option<Date>; 3],
    /// The sampling date as written, where it is no day: it still tells samples apart.
    sampled_text: Option<Arc<str>>,
    /// What tells samples of one source apart where no day does.
    occasion: Option<Arc<str>>,
    /// Degrees as bits, so that identities can be compared exactly.
    latitude: Option<u64>,
    longitude: Option<u64>,
    /// Where the line stands, if nothing else tells it apart.
    pub(super) line: Option<(u32, u32)>,
}

impl Identity {
    pub(super) fn text(&self, field: Field) -> Option<&Arc<str>> {
        let at = TEXTS.iter().position(|f| *f == field)?;
        self.texts[at].as_ref()
    }

    /// Whether anything tells this sample apart from others of the same laboratory and client.
    pub(super) fn is_named(&self) -> bool {
        self.has_name() || self.says_when() || self.occasion.is_some()
    }

    /// Whether it says which water was sampled, or which sample it is.
    fn has_name(&self) -> bool {
        [Field::SampleRef, Field::LabRef, Field::Source, Field::Site]
            .iter()
            .any(|field| self.text(*field).is_some())
    }

    /// Whether two lines can speak of one sample: nothing that both say differs, spelling aside.
    pub(super) fn agrees_with(&self, other: &Self) -> bool {
        let texts_agree = self.texts.iter().zip(&other.texts).all(|pair| match pair {
            (Some(a), Some(b)) => a == b || fold(a) == fold(b),
            _ => true,
        });
        let days_agree = self
            .days
            .iter()
            .zip(&other.days)
            .all(|pair| !matches!(pair, (Some(a), Some(b)) if a != b));
        // What is written for a day and is none may be any other than the day of the other line.
        let sampled_agree = match (&self.sampled_text, &other.sampled_text) {
            (Some(a), Some(b)) => a == b || fold(a) == fold(b),
            (Some(_), None) => other.days[0].is_none(),
            (None, Some(_)) => self.days[0].is_none(),
            (None, None) => true,
        };
        let occasions = [self, other].map(Self::occasion);
        let occasions_agree = !matches!(occasions, [Some(a), Some(b)] if fold(a) != fold(b));
        let same = |a: Option<u64>, b: Option<u64>| a.is_none() || b.is_none() || a == b;
        texts_agree
            && days_agree
            && sampled_agree
            && occasions_agree
            && same(self.latitude, other.latitude)
            && same(self.longitude, other.longitude)
            && self.line.is_none()
            && other.line.is_none()
    }

    /// Takes over what the other says and this does not.
    pub(super) fn complete_from(&mut self, other: &Self) {
        for (mine, theirs) in self.texts.iter_mut().zip(&other.texts) {
            if mine.is_none() {
                mine.clone_from(theirs);
            }
        }
        for (mine, theirs) in self.days.iter_mut().zip(&other.days) {
            *mine = mine.or(*theirs);
        }
        if self.days[0].is_none() && self.sampled_text.is_none() {
            self.sampled_text.clone_from(&other.sampled_text);
        }
        if self.occasion.is_none() {
            self.occasion.clone_from(&other.occasion);
        }
        self.latitude = self.latitude.or(other.latitude);
        self.longitude = self.longitude.or(other.longitude);
    }

    /// Takes over all that the other says, for comparing: a text that is no day stands beside the day.
    pub(super) fn gather(&mut self, other: &Self) {
        self.complete_from(other);
        if self.sampled_text.is_none() {
            self.sampled_text.clone_from(&other.sampled_text);
        }
    }

    /// Takes over what holds for the whole block and this does not say. What is written here for a day, though
    /// it is none, is not the block's day.
    pub(super) fn complete_from_block(&mut self, block: &Self) {
        let written = self.sampled_text.is_some();
        self.complete_from(block);
        if written {
            self.days[0] = None;
        }
    }

    /// What stands for the day of sampling where there is none.
    fn occasion(&self) -> Option<&Arc<str>> {
        self.occasion.as_ref().filter(|_| self.days[0].is_none())
    }

    /// Whether anything is written for its day of sampling.
    pub(super) const fn says_when(&self) -> bool {
        self.days[0].is_some() || self.sampled_text.is_some()
    }

    pub(super) fn folded(&self, field: Field) -> Option<String> {
        self.text(field).map(|text| fold(text))
    }

    /// Sampled, received, reported.
    pub(super) const fn days(&self) -> [Option<Date>; 3] {
        self.days
    }

    pub(super) const fn sampled_on(&self) -> Option<Date> {
        self.days[0]
    }

    /// The stable key: the laboratory's number where laboratory and number are known and
    /// `is_unique` says of the folded number that it is one sample's only, else everything that tells
    /// samples apart. Without a day of sampling the report is part of it, since the name of a village
    /// recurs in every year's report, and without a name, since many waters are sampled on one day; the
    /// place of the line is only where it has neither. `origin` is the file's digest and the sheet's name.
    pub(super) fn key(&self, is_unique: impl Fn(&str) -> bool, origin: (&str, &str)) -> Arc<str> {
        let mut hash = Sha256::new();
        let mut add = |name: &str, value: &str| {
            hash.update(name.as_bytes());
            hash.update(b"=");
            hash.update(value.as_bytes());
            hash.update(b"\x1f");
        };
        if let Some((line, block)) = self.line {
            add("file", origin.0);
            add("sheet", origin.1);
            add("line", &line.to_string());
            add("block", &block.to_string());
            return short(&hash.finalize());
        }
        match (self.text(Field::Lab), self.folded(Field::LabRef)) {
            (Some(lab), Some(number)) if is_unique(&number) => {
                add("lab", &fold(lab));
                add("lab_ref", &number);
            }
            _ => {
                for field in [
                    Field::Client,
                    Field::Site,
                    Field::Source,
                    Field::SampleRef,
                    Field::LabRef,
                    Field::Lab,
                ] {
                    if let Some(text) = self.text(field) {
                        add(field.name(), &fold(text));
                    }
                }
                if let Some(day) = self.days[0] {
                    add("sampled_on", &day.to_string());
                    // Other waters are sampled on that day.
                    if !self.has_name() {
                        add("file", origin.0);
                    }
                } else if let Some(text) = &self.sampled_text {
                    add("sampled_on", &fold(text));
                    // "Jan" recurs in every year's report.
                    if !holds_a_year(text) || !self.has_name() {
                        add("file", origin.0);
                    }
                } else {
                    add("file", origin.0);
                }
                if let Some(text) = self.occasion() {
                    add("occasion", &fold(text));
                }
            }
        }
        short(&hash.finalize())
    }

    /// The key of one of several samples that share the key `shared`: with what they differ by.
    pub(super) fn key_of_all(&self, shared: &str) -> Arc<str> {
        let texts = [Field::Region, Field::SourceKind].map(|field| self.folded(field));
        let places = [self.latitude, self.longitude].map(|bits| bits.map(f64::from_bits));
        let said = format!(
            "{shared}\x1f{texts:?}\x1f{places:?}\x1f{:?}",
            &self.days[1..]
        );
        short(&Sha256::digest(said.as_bytes()))
    }

    pub(super) fn into_sample(self, key: Arc<str>) -> Sample {
        let [
            client,
            site,
            source,
            source_kind,
            region,
            sample_ref,
            lab,
            lab_ref,
        ] = self.texts;
        let [sampled_on, received_on, reported_on] = self.days;
        Sample {
            key,
            client,
            site,
            source,
            source_kind,
            region,
            sample_ref,
            lab,
            lab_ref,
            sampled_on,
            reported_on,
            received_on,
            latitude: self.latitude.map(f64::from_bits),
            longitude: self.longitude.map(f64::from_bits),
        }
    }

    /// All that tells it apart from other samples of a report, as one text.
    pub(super) fn told(&self) -> String {
        let (client, when) = (self.folded(Field::Client), &self.sampled_text);
        let degrees = [self.latitude, self.longitude];
        fold(&format!("{} {client:?} {when:?} {degrees:?}", self.name()))
    }

    /// Takes over the name of its sheet: as the site, or as the client where the site has a name.
    pub(super) fn name_by_sheet(&mut self, sheet: &Arc<str>) {
        let slots =
            [Field::Site, Field::Client].map(|field| TEXTS.iter().position(|f| *f == field));
        let open = slots
            .into_iter()
            .flatten()
            .find(|slot| self.texts[*slot].is_none());
        if let Some(slot) = open {
            self.texts[slot] = Some(sheet.clone());
        }
    }

    /// For messages: what a person would call the sample.
    pub(super) fn name(&self) -> String {
        let parts: Vec<&str> = [Field::SampleRef, Field::LabRef, Field::Source, Field::Site]
            .iter()
            .filter_map(|field| self.text(*field).map(|text| &**text))
            .collect();
        let mut name = parts.join(", ");
        if let Some(day) = self.days[0] {
            if !name.is_empty() {
                name.push_str(", ");
            }
            // Writing to a String cannot fail.
            write!(name, "{day}").expect("a string takes any text");
        }
        if name.is_empty() {
            "without a name".into()
        } else {
            name
        }
    }
}

/// Four digits on end.
fn holds_a_year(text: &str) -> bool {
    text.split(|c: char| !c.is_ascii_digit())
        .any(|digits| digits.len() == 4)
}

/// The first 16 hexadecimal digits: 64 bits, of which a million samples share one with a chance of
/// about 1 in 37 million.
fn short(digest: &[u8]) -> Arc<str> {
    let bits = digest[..8]
        .iter()
        .fold(0u64, |bits, byte| bits << 8 | u64::from(*byte));
    format!("{bits:016x}").into()
}

/// Reads identity cells into identities. One for a sheet.
#[derive(Debug)]
pub(super) struct IdentityReader {
    pub dates: DateOrder,
    pub decimal: Decimal,
    pub spot: Spot,
}

impl IdentityReader {
    /// Puts what a cell says into the identity. A second cell for the same text field is added behind
    /// the first, since both tell samples apart. Groups that a finding went to are noted in `groups`.
    pub(super) fn put(
        &self,
        identity: &mut Identity,
        field: Field,
        cell: CellView<'_>,
        at: Address,
        tally: &mut Tally,
        groups: &mut Vec<usize>,
    ) {
        if cell.is_empty() || matches!(cell, CellView::Error(_) | CellView::Uncalculated) {
            return;
        }
        if let Some(slot) = TEXTS.iter().position(|f| *f == field) {
            let text = cell.as_text();
            let text = squash(&text);
            if text.is_empty() {
                return;
            }
            let slot = &mut identity.texts[slot];
            *slot = Some(match slot.take() {
                Some(before) if *before == *text => before,
                Some(before) => format!("{before}, {text}").into(),
                None => Arc::from(&*text),
            });
        } else if let Some(slot) = DAYS.iter().position(|f| *f == field) {
            self.put_day(identity, slot, field, cell, at, tally, groups);
        } else if field == Field::Occasion {
            let text = cell.as_text();
            identity.occasion =
                Some(Arc::from(&*squash(&text))).filter(|text: &Arc<str>| !text.is_empty());
        } else if matches!(field, Field::Latitude | Field::Longitude) {
            self.put_degrees(identity, field, cell, at, tally, groups);
        }
    }

    #[expect(
        clippy::too_many_arguments,
        reason = "one call, split from `put` for length"
    )]
    fn put_day(
        &self,
        identity: &mut Identity,
        slot: usize,
        field: Field,
        cell: CellView<'_>,
        at: Address,
        tally: &mut Tally,
        groups: &mut Vec<usize>,
    ) {
        let text = cell.as_text();
        let mut tell = |code: &'static str| {
            let subject = Arc::from(field.name());
            let problem = Problem::Date {
                code,
                text: &text,
                field: field.name(),
            };
            groups.push(tally.add(&self.spot, at, &subject, None, &problem));
        };
        let day = match cell {
            CellView::Date(_, Some(moment)) => {
                let day = moment.date();
                if (1950..=2100).contains(&day.year()) {
                    Some(day)
                } else {
                    tell("date-out-of-range");
                    None
                }
            }
            CellView::Number(number, _) => match date_from_serial(number) {
                Some(day) => {
                    tell("date-from-number");
                    Some(day)
                }
                None => self.day_of_text(&text, &mut tell),
            },
            _ => self.day_of_text(&text, &mut tell),
        };
        match day {
            Some(day) => {
                identity.days[slot] = identity.days[slot].or(Some(day));
                if slot == 0 {
                    identity.sampled_text = None;
                }
            }
            None if slot == 0 && identity.days[0].is_none() => {
                identity.sampled_text = Some(Arc::from(&*squash(&text)));
            }
            None => {}
        }
    }

    fn day_of_text(&self, text: &str, tell: &mut impl FnMut(&'static str)) -> Option<Date> {
        match read_date(text, self.dates) {
            Ok(reading) => {
                if reading.against_order {
                    tell("date-against-order");
                }
                Some(reading.date)
            }
            Err(fault) => {
                tell(match fault {
                    DateFault::NotADate => "date-unread",
                    DateFault::Ambiguous { .. } => "date-ambiguous",
                    DateFault::Partial => "date-partial",
                    DateFault::Several => "date-several",
                    DateFault::Impossible => "date-impossible",
                    DateFault::OutOfRange(_) => "date-out-of-range",
                });
                None
            }
        }
    }

    fn put_degrees(
        &self,
        identity: &mut Identity,
        field: Field,
        cell: CellView<'_>,
        at: Address,
        tally: &mut Tally,
        groups: &mut Vec<usize>,
    ) {
        let most = if field == Field::Latitude {
            90.0
        } else {
            180.0
        };
        let degrees = match cell {
            CellView::Number(number, _) => Some(number),
            _ => read_number(&cell.as_text(), self.decimal).ok(),
        }
        .filter(|degrees| degrees.abs() <= most);
        let Some(degrees) = degrees else {
            let text = cell.as_text();
            let subject = Arc::from(field.name());
            let problem = Problem::Beside {
                code: "coordinate-unread",
                text: &text,
                label: field.name(),
            };
            groups.push(tally.add(&self.spot, at, &subject, None, &problem));
            return;
        };
        let slot = if field == Field::Latitude {
            &mut identity.latitude
        } else {
            &mut identity.longitude
        };
        // Adding 0.0 makes -0 and 0 one place.
        *slot = slot.or(Some((degrees + 0.0).to_bits()));
    }
}

/// The distinct identities of a sheet, in the order in which they first appeared.
#[derive(Debug, Default)]
pub(super) struct Drafts {
    pub(super) identities: Vec<Identity>,
    /// Of `identities`, by what they say.
    index: HashTable<u32>,
    hasher: DefaultHashBuilder,
    /// By the raw text of the identity cells, so that a line costs no parsing when it was seen.
    seen: HashMap<Box<str>, (u32, Box<[usize]>)>,
}

impl Drafts {
    /// Makes room for so many, which spares moving them as they become more.
    pub(super) fn reserve(&mut self, identities: usize) {
        let Self {
            identities: held,
            hasher,
            ..
        } = self;
        held.reserve(identities);
        self.seen.reserve(identities);
        let hash = |id: &u32| hasher.hash_one(&held[*id as usize]);
        self.index.reserve(identities, hash);
    }

    pub(super) fn seen(&self, raw: &str) -> Option<(u32, &[usize])> {
        self.seen
            .get(raw)
            .map(|(draft, groups)| (*draft, &**groups))
    }

    pub(super) fn remember(&mut self, raw: &str, draft: u32, groups: Vec<usize>) {
        self.seen.insert(raw.into(), (draft, groups.into()));
    }

    pub(super) fn intern(&mut self, identity: Identity) -> u32 {
        let Self {
            identities, hasher, ..
        } = self;
        let entry = self.index.entry(
            hasher.hash_one(&identity),
            |id| identities[*id as usize] == identity,
            |id| hasher.hash_one(&identities[*id as usize]),
        );
        match entry {
            Entry::Occupied(known) => *known.get(),
            Entry::Vacant(free) => {
                let id = u32::try_from(identities.len())
                    .expect("a sheet has fewer than 2^32 lines, so fewer samples");
                free.insert(id);
                identities.push(identity);
                id
            }
        }
    }
}
