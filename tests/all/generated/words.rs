//! The words that random reports are written with, and what each unit is worth.

/// IUPAC 2021 abridged standard atomic weights.
const CA: f64 = 40.078;
const MG: f64 = 24.305;
const NA: f64 = 22.990;
const CL: f64 = 35.45;
const FE: f64 = 55.845;
const N: f64 = 14.007;
const S: f64 = 32.06;
const O: f64 = 15.999;
const H: f64 = 1.008;
const C: f64 = 12.011;
const NO3: f64 = N + 3.0 * O;
const SO4: f64 = S + 4.0 * O;
const HCO3: f64 = H + C + 3.0 * O;
const CACO3: f64 = CA + C + 3.0 * O;

pub(super) struct Analyte {
    pub(super) code: &'static str,
    /// In the order of [`LANGUAGES`].
    pub(super) names: [&'static str; 6],
    /// Unit, with its basis where it needs one, and the canonical value of one of it.
    pub(super) units: &'static [(&'static str, f64)],
    /// Typical canonical size.
    pub(super) size: f64,
}

pub(super) const LANGUAGES: [&str; 6] = ["en", "de", "nl", "fr", "es", "it"];

pub(super) const ANALYTES: &[Analyte] = &[
    Analyte {
        code: "ph",
        names: ["pH", "pH-Wert", "pH", "pH", "pH", "pH"],
        units: &[("", 1.0)],
        size: 7.0,
    },
    Analyte {
        code: "conductivity",
        names: [
            "Conductivity",
            "Leitfähigkeit",
            "Geleidbaarheid",
            "Conductivité",
            "Conductividad",
            "Conducibilità",
        ],
        units: &[
            ("µS/cm", 1.0),
            ("mS/cm", 1000.0),
            ("mS/m", 10.0),
            ("dS/m", 1000.0),
            ("uS/cm", 1.0),
        ],
        size: 600.0,
    },
    Analyte {
        code: "calcium",
        names: [
            "Calcium", "Calcium", "Calcium", "Calcium", "Calcio", "Calcio",
        ],
        units: &[
            ("mg/l", 1.0),
            ("mmol/l", CA),
            ("mg/L", 1.0),
            ("meq/l", CA / 2.0),
            ("ppm", 1.0),
        ],
        size: 90.0,
    },
    Analyte {
        code: "magnesium",
        names: [
            "Magnesium",
            "Magnesium",
            "Magnesium",
            "Magnésium",
            "Magnesio",
            "Magnesio",
        ],
        units: &[
            ("mg/l", 1.0),
            ("mmol/l", MG),
            ("meq/l", MG / 2.0),
            ("mg/L", 1.0),
        ],
        size: 14.0,
    },
    Analyte {
        code: "sodium",
        names: ["Sodium", "Natrium", "Natrium", "Sodium", "Sodio", "Sodio"],
        units: &[("mg/l", 1.0), ("mmol/l", NA), ("mg/L", 1.0)],
        size: 30.0,
    },
    Analyte {
        code: "chloride",
        names: [
            "Chloride",
            "Chlorid",
            "Chloride",
            "Chlorures",
            "Cloruros",
            "Cloruri",
        ],
        units: &[("mg/l", 1.0), ("mmol/l", CL), ("mg/L", 1.0)],
        size: 40.0,
    },
    Analyte {
        code: "sulfate",
        names: [
            "Sulfate", "Sulfat", "Sulfaat", "Sulfates", "Sulfatos", "Solfati",
        ],
        units: &[("mg/l SO4", 1.0), ("mmol/l", SO4), ("mg/l S", SO4 / S)],
        size: 50.0,
    },
    Analyte {
        code: "nitrate",
        names: [
            "Nitrate", "Nitrat", "Nitraat", "Nitrates", "Nitratos", "Nitrati",
        ],
        units: &[("mg/l NO3", 1.0), ("mg/l N", NO3 / N), ("mmol/l", NO3)],
        size: 20.0,
    },
    Analyte {
        code: "bicarbonate",
        names: [
            "Bicarbonate",
            "Hydrogencarbonat",
            "Bicarbonaat",
            "Bicarbonates",
            "Bicarbonatos",
            "Bicarbonati",
        ],
        units: &[("mg/l HCO3", 1.0), ("mmol/l", HCO3)],
        size: 250.0,
    },
    Analyte {
        code: "hardness",
        names: [
            "Total hardness",
            "Gesamthärte",
            "Totale hardheid",
            "Dureté totale",
            "Dureza total",
            "Durezza totale",
        ],
        units: &[("mg/l CaCO3", 1.0), ("mmol/l", CACO3), ("°fH", 10.0)],
        size: 250.0,
    },
    Analyte {
        code: "iron",
        names: ["Iron", "Eisen", "IJzer", "Fer", "Hierro", "Ferro"],
        units: &[("mg/l", 1.0), ("µg/l", 0.001), ("µmol/l", FE / 1000.0)],
        size: 0.3,
    },
    Analyte {
        code: "manganese",
        names: [
            "Manganese",
            "Mangan",
            "Mangaan",
            "Manganèse",
            "Manganeso",
            "Manganese",
        ],
        units: &[("mg/l", 1.0), ("µg/l", 0.001)],
        size: 0.1,
    },
    Analyte {
        code: "boron",
        names: ["Boron", "Bor", "Boor", "Bore", "Boro", "Boro"],
        units: &[("mg/l", 1.0), ("µg/l", 0.001)],
        size: 0.1,
    },
    Analyte {
        code: "zinc",
        names: ["Zinc", "Zink", "Zink", "Zinc", "Zinc", "Zinco"],
        units: &[("mg/l", 1.0), ("µg/l", 0.001)],
        size: 0.05,
    },
];

/// Headings of columns that are no analytes.
pub(super) struct Columns {
    pub(super) sample: &'static str,
    pub(super) day: &'static str,
    pub(super) parameter: &'static str,
    pub(super) unit: &'static str,
    pub(super) value: &'static str,
    pub(super) limit: &'static str,
    pub(super) guideline: &'static str,
    pub(super) remark: &'static str,
    pub(super) mean: &'static str,
    /// Not detected, no limit given.
    pub(super) absent: &'static str,
    /// A column that nobody knows.
    pub(super) unknown: &'static str,
    pub(super) client: &'static str,
}

/// In the order of [`LANGUAGES`].
pub(super) const COLUMNS: [Columns; 6] = [
    Columns {
        sample: "Sample",
        day: "Date sampled",
        parameter: "Parameter",
        unit: "Unit",
        value: "Result",
        limit: "LOQ",
        guideline: "Guideline",
        remark: "Remarks",
        mean: "Mean",
        absent: "ND",
        unknown: "Sheen index",
        client: "Client",
    },
    Columns {
        sample: "Probe",
        day: "Entnahmedatum",
        parameter: "Parameter",
        unit: "Einheit",
        value: "Ergebnis",
        limit: "BG",
        guideline: "Grenzwert",
        remark: "Bemerkung",
        mean: "Mittelwert",
        absent: "n.n.",
        unknown: "Glanzzahl",
        client: "Auftraggeber",
    },
    Columns {
        sample: "Monster",
        day: "Datum monstername",
        parameter: "Parameter",
        unit: "Eenheid",
        value: "Resultaat",
        limit: "Rapportagegrens",
        guideline: "Streefwaarde",
        remark: "Opmerking",
        mean: "Gemiddelde",
        absent: "n.a.",
        unknown: "Glansgetal",
        client: "Opdrachtgever",
    },
    Columns {
        sample: "Échantillon",
        day: "Date de prélèvement",
        parameter: "Paramètre",
        unit: "Unité",
        value: "Résultat",
        limit: "LQ",
        guideline: "Valeur limite",
        remark: "Remarques",
        mean: "Moyenne",
        absent: "n.d.",
        unknown: "Indice de lustre",
        client: "Client",
    },
    Columns {
        sample: "Muestra",
        day: "Fecha de muestreo",
        parameter: "Parámetro",
        unit: "Unidad",
        value: "Resultado",
        limit: "LQ",
        guideline: "Valor límite",
        remark: "Observaciones",
        mean: "Media",
        absent: "n.d.",
        unknown: "Índice de brillo",
        client: "Cliente",
    },
    Columns {
        sample: "Campione",
        day: "Data di prelievo",
        parameter: "Parametro",
        unit: "Unità",
        value: "Risultato",
        limit: "LOQ",
        guideline: "Valore limite",
        remark: "Note",
        mean: "Media",
        absent: "n.d.",
        unknown: "Indice di lucentezza",
        client: "Cliente",
    },
];
