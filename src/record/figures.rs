//! What the checks derive for a sample: the derived columns of `samples`, in their order.

/// `None` wherever an input is missing: never an estimate.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Figures {
    /// meq/L; a censored ion counts as half its limit.
    pub cations_meq_l: Option<f64>,
    pub anions_meq_l: Option<f64>,
    pub charge_balance_percent: Option<f64>,
    pub charge_balance_spread: Option<f64>,
    pub charge_balance_verdict: Option<&'static str>,
    /// Codes, `;`-separated.
    pub missing_ions: Option<String>,
    pub hardness_calculated_mg_l: Option<f64>,
    pub hardness_calculated_dh: Option<f64>,
    pub hardness_carbonate_calculated_mg_l: Option<f64>,
    pub hardness_noncarbonate_calculated_mg_l: Option<f64>,
    pub alkalinity_used_mg_l: Option<f64>,
    pub bicarbonate_used_mg_l: Option<f64>,
    pub carbonate_used_mg_l: Option<f64>,
    pub dissolved_solids_calculated_mg_l: Option<f64>,
    pub conductivity_calculated_us_cm: Option<f64>,
    pub conductivity_ratio: Option<f64>,
    pub sodium_adsorption_ratio_calculated: Option<f64>,
    pub sodium_adsorption_ratio_adjusted: Option<f64>,
    pub residual_sodium_carbonate_meq_l: Option<f64>,
    pub magnesium_share_percent: Option<f64>,
    pub calcite_saturation_index: Option<f64>,
    pub ballast_share_percent: Option<f64>,
    pub bicarbonate_class: Option<&'static str>,
    /// Finding codes, `;`-separated.
    pub assumptions: Option<String>,
}
