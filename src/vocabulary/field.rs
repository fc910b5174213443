//! Fields: what a column or a label can mean that is not an analyte.

/// Identity of a sample, parts of a results-down row, and things that are known but not kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Field {
    Client,
    Site,
    Source,
    SourceKind,
    Region,
    SampleRef,
    /// The part a sample plays: routine, blank, duplicate. Tells controls, is not kept.
    SampleRole,
    Lab,
    LabRef,
    SampledOn,
    /// Parts of the day of sampling, in columns of their own.
    SampledYear,
    SampledMonth,
    SampledDay,
    /// What tells samples of one source apart where no day does: a round, a season, a day that may be another's.
    Occasion,
    ReceivedOn,
    ReportedOn,
    Latitude,
    Longitude,
    /// Report number, issue, order number.
    ReportRef,
    /// `results-down` and side columns: what the row's number is of.
    Label,
    Value,
    Unit,
    Basis,
    Fraction,
    /// Holds '<', 'ND', 'U' for a value beside it.
    Qualifier,
    DetectionLimit,
    QuantificationLimit,
    /// The unit of the limits of a row, where they have one of their own.
    LimitUnit,
    Uncertainty,
    Method,
    /// Guideline, limit value of a law, traffic light: never a result.
    Guideline,
    Remark,
    /// Known to be neither identity nor chemistry (sampler, codes, coordinates of a grid, elevation).
    Other,
}

impl Field {
    /// The word used in mapping files and messages.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Client => "client",
            Self::Site => "site",
            Self::Source => "source",
            Self::SourceKind => "source_kind",
            Self::Region => "region",
            Self::SampleRef => "sample_ref",
            Self::SampleRole => "sample_role",
            Self::Lab => "lab",
            Self::LabRef => "lab_ref",
            Self::SampledOn => "sampled_on",
            Self::SampledYear => "sampled_year",
            Self::SampledMonth => "sampled_month",
            Self::SampledDay => "sampled_day",
            Self::Occasion => "occasion",
            Self::ReceivedOn => "received_on",
            Self::ReportedOn => "reported_on",
            Self::Latitude => "latitude",
            Self::Longitude => "longitude",
            Self::ReportRef => "report_ref",
            Self::Label => "label",
            Self::Value => "value",
            Self::Unit => "unit",
            Self::Basis => "basis",
            Self::Fraction => "fraction",
            Self::Qualifier => "qualifier",
            Self::DetectionLimit => "detection_limit",
            Self::QuantificationLimit => "quantification_limit",
            Self::LimitUnit => "limit_unit",
            Self::Uncertainty => "uncertainty",
            Self::Method => "method",
            Self::Guideline => "guideline",
            Self::Remark => "remark",
            Self::Other => "other",
        }
    }

    pub const ALL: [Self; 33] = [
        Self::Client,
        Self::Site,
        Self::Source,
        Self::SourceKind,
        Self::Region,
        Self::SampleRef,
        Self::SampleRole,
        Self::Lab,
        Self::LabRef,
        Self::SampledOn,
        Self::SampledYear,
        Self::SampledMonth,
        Self::SampledDay,
        Self::Occasion,
        Self::ReceivedOn,
        Self::ReportedOn,
        Self::Latitude,
        Self::Longitude,
        Self::ReportRef,
        Self::Label,
        Self::Value,
        Self::Unit,
        Self::Basis,
        Self::Fraction,
        Self::Qualifier,
        Self::DetectionLimit,
        Self::QuantificationLimit,
        Self::LimitUnit,
        Self::Uncertainty,
        Self::Method,
        Self::Guideline,
        Self::Remark,
        Self::Other,
    ];

    /// Whether it says who, where and when of a sample.
    pub const fn is_identity(self) -> bool {
        matches!(
            self,
            Self::Client
                | Self::Site
                | Self::Source
                | Self::SourceKind
                | Self::Region
                | Self::SampleRef
                | Self::Lab
                | Self::LabRef
                | Self::SampledOn
                | Self::SampledYear
                | Self::SampledMonth
                | Self::SampledDay
                | Self::Occasion
                | Self::ReceivedOn
                | Self::ReportedOn
                | Self::Latitude
                | Self::Longitude
        )
    }

    pub fn parse(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|f| f.name() == text)
    }
}
