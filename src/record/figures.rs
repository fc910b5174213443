//! What the checks derive for a sample: the derived columns of `samples`, in their order. One table
//! makes the struct, the description of its columns and the order of its values, so that they cannot
//! drift apart. How each figure is computed stands in `check::figure`; where a class has its limits,
//! in `mappings/limits.toml`.

use std::borrow::Cow;

/// What a figure's column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum FigureKind {
    Number,
    Text,
}

/// A derived column of `samples`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FigureColumn {
    pub name: &'static str,
    /// UCUM code, or ours in brackets where UCUM has none; `None` for text.
    pub unit: Option<&'static str>,
    /// What it is, its formula and the formula's source.
    pub description: &'static str,
    pub kind: FigureKind,
}

/// A figure's value; `None` wherever an input is missing: never an estimate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FigureValue<'a> {
    Number(Option<f64>),
    Text(Option<&'a str>),
}

macro_rules! figures {
    (@kind $unit:literal) => { FigureKind::Number };
    (@kind text) => { FigureKind::Text };
    (@unit $unit:literal) => { Some($unit) };
    (@unit text) => { None };
    (@type $unit:literal) => { Option<f64> };
    (@type text) => { Option<Cow<'static, str>> };
    (@text $self:ident $name:ident $unit:literal) => {{
        let _ = $self;
        None
    }};
    (@text $self:ident $name:ident text) => { Some(&mut $self.$name) };
    (@value $self:ident $name:ident $unit:literal) => { FigureValue::Number($self.$name) };
    (@value $self:ident $name:ident text) => { FigureValue::Text($self.$name.as_deref()) };
    ($($name:ident $unit:tt $description:literal;)*) => {
        /// The figures of one sample. `None` wherever an input is missing: never an estimate.
        #[derive(Clone, Debug, Default, PartialEq)]
        pub struct Figures {
            $(#[doc = $description] pub $name: figures!(@type $unit),)*
        }

        impl Figures {
            /// The derived columns of `samples`, in their order.
            pub const COLUMNS: &[FigureColumn] = &[
                $(FigureColumn {
                    name: stringify!($name),
                    unit: figures!(@unit $unit),
                    description: $description,
                    kind: figures!(@kind $unit),
                },)*
            ];

            /// One value for each of [`Figures::COLUMNS`], in the same order.
            pub fn values(&self) -> impl Iterator<Item = FigureValue<'_>> {
                [$(figures!(@value self $name $unit),)*].into_iter()
            }

            /// One value, by its position in [`Figures::COLUMNS`].
            pub fn value(&self, index: usize) -> Option<FigureValue<'_>> {
                type Get = for<'f> fn(&'f Figures) -> FigureValue<'f>;
                const GET: &[Get] = &[$(|figures| figures!(@value figures $name $unit),)*];
                GET.get(index).map(|get| get(self))
            }

            /// A text, by its position in [`Figures::COLUMNS`]; `None` when no text stands there.
            pub fn text_mut(&mut self, index: usize) -> Option<&mut Option<Cow<'static, str>>> {
                type Get = for<'f> fn(&'f mut Figures) -> Option<&'f mut Option<Cow<'static, str>>>;
                const GET: &[Get] = &[$(|figures| figures!(@text figures $name $unit),)*];
                GET.get(index).and_then(|get| get(self))
            }

            /// Makes a value null, by its position in [`Figures::COLUMNS`].
            pub fn clear(&mut self, index: usize) {
                const CLEAR: &[fn(&mut Figures)] = &[$(|figures| figures.$name = None,)*];
                if let Some(clear) = CLEAR.get(index) {
                    clear(self);
                }
            }
        }
    };
}

figures! {
    cations_meq_l "meq/L" "Sum of the cations' charge: calcium, magnesium, sodium, potassium, ammonium, hydrogen ion from pH, and minor cations (iron, manganese, zinc, copper, strontium, barium, lithium, acid aluminium) unless of unfiltered water. A censored ion counts as half its limit";
    anions_meq_l "meq/L" "Sum of the anions' charge: bicarbonate and carbonate (reported, or from alkalinity and pH), chloride, sulfate, nitrate, nitrite, fluoride, phosphate, bromide, hydroxide. A censored ion counts as half its limit";
    charge_balance_percent "%" "100 (cations - anions) / (cations + anions). A balance over the mean of both sums (DIN 38402-62) is exactly twice as large";
    charge_balance_spread "%" "Half the width of charge_balance_percent when every censored ion runs from 0 to its limit; 0 without any";
    charge_balance_verdict text "balanced, unbalanced (outside the acceptance band of Standard Methods 1030E, see limits.toml) or incomplete (a major ion is missing: no judgement)";
    missing_ions text "Codes of the major ions that are missing: calcium, magnesium, sodium, bicarbonate, chloride, sulfate; potassium and nitrate are named too, but do not hinder the balance";
    hardness_calculated_mg_l "mg/L" "Total hardness as CaCO3 from calcium and magnesium: 2.497 Ca + 4.118 Mg (Standard Methods 2340B)";
    hardness_calculated_dh "[dH]" "Total hardness in German degrees (10 mg/L CaO each), from calcium and magnesium";
    hardness_carbonate_calculated_mg_l "mg/L" "Carbonate hardness as CaCO3: the smaller of total hardness and alkalinity (Standard Methods 2340)";
    hardness_noncarbonate_calculated_mg_l "mg/L" "Noncarbonate hardness as CaCO3: total hardness above alkalinity, else 0 (Standard Methods 2340)";
    alkalinity_used_mg_l "mg/L" "The alkalinity as CaCO3 that the figures rest on: reported, or from bicarbonate and carbonate";
    bicarbonate_used_mg_l "mg/L" "The bicarbonate as HCO3 that the figures rest on: reported, or split from alkalinity by pH";
    carbonate_used_mg_l "mg/L" "The carbonate as CO3 that the figures rest on: reported, or split from alkalinity by pH";
    dissolved_solids_calculated_mg_l "mg/L" "0.6 alkalinity (as CaCO3) + Ca + Mg + Na + K + Cl + SO4 + SiO2 + NO3 + F (Standard Methods 1030E)";
    conductivity_calculated_us_cm "uS/cm" "Conductivity at 25 Cel from the ions, with ionic-strength correction (Standard Methods 2510B)";
    conductivity_ratio "1" "Calculated over measured conductivity; 0.9 to 1.1 is accepted (Standard Methods 1030E)";
    sodium_adsorption_ratio_calculated "1" "Na / sqrt((Ca + Mg) / 2), all in meq/L (USDA Handbook 60)";
    sodium_adsorption_ratio_adjusted "1" "Sodium adsorption ratio with the calcium that stays in solution (Suarez 1981; FAO 29 table 11)";
    residual_sodium_carbonate_meq_l "meq/L" "(HCO3 + CO3) - (Ca + Mg), all in meq/L (Eaton 1950)";
    magnesium_share_percent "%" "100 Mg / (Ca + Mg), in meq/L (Szabolcs and Darab 1964)";
    calcite_saturation_index "1" "Saturation with calcite, Langelier form: pH - pHs (Standard Methods 2330B), at saturation_temperature_cel";
    ballast_share_percent "%" "Share of sodium, chloride and sulfate in all charge (both sums, meq/L). Common practice, no source";
    bicarbonate_class text "hard, medium or soft by bicarbonate, as growers class water. Common practice, no source";
    assumptions text "Codes of the findings about assumed units or bases that the figures rest on";
    saturation_temperature_cel "Cel" "The temperature taken for calcite_saturation_index: the water's own, or the default of limits.toml";
    ballast_conductivity_percent "%" "Share of sodium, chloride and sulfate in the calculated conductivity. Common practice, no source";
    chloride_to_sulfate "1" "Cl / SO4, in meq/L";
    room_for_feed_us_cm "uS/cm" "Conductivity left for fertiliser up to the limit of limits.toml: limit - measured, 0 when none is left. Common practice, no source";
    calcium_supply_g_m3 "g/m3" "Calcium brought by each cubic metre of water";
    magnesium_supply_g_m3 "g/m3" "Magnesium brought by each cubic metre of water";
    sulfur_supply_g_m3 "g/m3" "Sulfur brought as sulfate by each cubic metre of water";
    nitrogen_supply_g_m3 "g/m3" "Nitrogen brought as nitrate, nitrite and ammonium by each cubic metre of water";
    hardness_class_usgs text "soft, moderately hard, hard, very hard (Durfor and Becker 1964, USGS WSP 1812)";
    hardness_class_german text "soft, medium, hard (German detergents act, WRMG 2007)";
    conductivity_class_general text "Conductivity for general use. Common practice, no source";
    conductivity_class_propagation text "Conductivity for young plants. Common practice, no source";
    restriction_salinity text "Restriction on use by conductivity (FAO 29 table 1)";
    restriction_dissolved_solids text "Restriction on use by dissolved solids (FAO 29 table 1)";
    restriction_infiltration text "Restriction on use by sodium adsorption ratio and conductivity together (FAO 29 table 1)";
    restriction_sodium_surface text "Restriction on use by sodium adsorption ratio, surface irrigation (FAO 29 table 1)";
    restriction_sodium_sprinkler text "Restriction on use by sodium, sprinkler irrigation (FAO 29 table 1)";
    restriction_chloride_surface text "Restriction on use by chloride, surface irrigation (FAO 29 table 1)";
    restriction_chloride_sprinkler text "Restriction on use by chloride, sprinkler irrigation (FAO 29 table 1)";
    restriction_boron text "Restriction on use by boron (FAO 29 table 1)";
    restriction_nitrate text "Restriction on use by nitrate nitrogen (FAO 29 table 1)";
    restriction_bicarbonate text "Restriction on use by bicarbonate, overhead sprinkling (FAO 29 table 1)";
    restriction_ph text "Whether pH is in the normal range (FAO 29 table 1)";
    clogging_suspended_solids text "Emitter clogging by suspended solids (Bucks and Nakayama; FAO 29)";
    clogging_ph text "Emitter clogging by pH (Bucks and Nakayama; FAO 29)";
    clogging_dissolved_solids text "Emitter clogging by dissolved solids (Bucks and Nakayama; FAO 29)";
    clogging_iron text "Emitter clogging by iron (Bucks and Nakayama; FAO 29)";
    clogging_manganese text "Emitter clogging by manganese (Bucks and Nakayama; FAO 29)";
    clogging_sulfide text "Emitter clogging by hydrogen sulfide (Bucks and Nakayama; FAO 29)";
    clogging_bacteria text "Emitter clogging by bacteria (Bucks and Nakayama; FAO 29)";
    salinity_class text "C1 to C4 by conductivity (USDA Handbook 60)";
    sodium_class text "S1 to S4 by sodium adsorption ratio, limits falling with conductivity (USDA Handbook 60, figure 25)";
    residual_sodium_carbonate_class text "safe, marginal, unsuitable (USDA Handbook 60)";
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn values_stand_in_the_order_of_the_columns() {
        let figures = Figures {
            cations_meq_l: Some(1.5),
            salinity_class: Some("C2".into()),
            ..Figures::default()
        };
        let pairs: Vec<_> = Figures::COLUMNS.iter().zip(figures.values()).collect();
        assert_eq!(pairs.len(), Figures::COLUMNS.len());
        assert_eq!(figures.values().count(), Figures::COLUMNS.len());
        for (index, value) in figures.values().enumerate() {
            assert_eq!(figures.value(index), Some(value));
        }
        for (column, value) in pairs {
            let expected = match (column.name, column.kind) {
                ("cations_meq_l", _) => FigureValue::Number(Some(1.5)),
                ("salinity_class", _) => FigureValue::Text(Some("C2")),
                (_, FigureKind::Number) => FigureValue::Number(None),
                (_, FigureKind::Text) => FigureValue::Text(None),
            };
            assert_eq!(value, expected, "{}", column.name);
        }
    }

    #[test]
    fn names_are_unique_and_numbers_have_units() {
        let names: BTreeSet<_> = Figures::COLUMNS.iter().map(|c| c.name).collect();
        assert_eq!(names.len(), Figures::COLUMNS.len());
        for column in Figures::COLUMNS {
            assert_eq!(column.unit.is_some(), column.kind == FigureKind::Number);
        }
    }
}
