//! The checks, one a file, each with what it finds, why it matters, when it is wrong and its source at
//! its head. `wellread checks CODE` shows that head.

mod prelude;

mod alkalinity_at_acid_ph;
mod alkalinity_disagrees;
mod balance_not_checkable;
mod balance_undecided;
mod basis_doubtful;
mod carbon_dioxide_disagrees;
mod carbonate_at_low_ph;
mod carbonate_hardness_above_total;
mod charge_imbalance;
mod columns_repeat;
mod conductivity_disagrees;
mod constant_column;
mod date_origin_doubtful;
mod dates_out_of_order;
mod decimal_slip;
mod digits_beyond_measure;
mod dilution_doubtful;
mod dissolved_above_total;
mod feed_in_source;
mod hardness_disagrees;
mod hardness_unit_doubtful;
mod held_too_long;
mod ion_missing;
mod iron_lost;
mod jump_in_history;
mod laboratories_differ;
mod limit_too_high;
mod manganese_for_magnesium;
mod metal_in_soft_water;
mod metal_unit_doubtful;
mod nitrogen_above_total;
mod oversaturated;
mod part_above_whole;
mod phenolphthalein_at_low_ph;
mod potassium_above_sodium;
mod printed_index_disagrees;
mod redox_contradiction;
mod results_disagree;
mod round_numbers;
mod rows_slipped;
mod sample_mixed;
mod sample_of_folders;
mod samples_repeat;
mod season_in_history;
mod softened_water;
mod solids_disagree;
mod solids_from_conductivity;
mod step_at_laboratory;
mod sulfur_taken_as_sulfate;
mod trend_in_history;
mod unit_doubtful;
mod units_contradict;
mod value_below_limit;
mod value_equals_limit;
mod value_impossible;
mod value_unusual;
mod values_exchanged;

use super::table::Check;

/// Sorted by code.
pub(super) const ALL: &[Check] = &[
    alkalinity_at_acid_ph::CHECK,
    alkalinity_disagrees::CHECK,
    balance_not_checkable::CHECK,
    balance_undecided::CHECK,
    basis_doubtful::CHECK,
    carbon_dioxide_disagrees::CHECK,
    carbonate_at_low_ph::CHECK,
    carbonate_hardness_above_total::CHECK,
    charge_imbalance::CHECK,
    columns_repeat::CHECK,
    conductivity_disagrees::CHECK,
    constant_column::CHECK,
    date_origin_doubtful::CHECK,
    dates_out_of_order::CHECK,
    decimal_slip::CHECK,
    digits_beyond_measure::CHECK,
    dilution_doubtful::CHECK,
    dissolved_above_total::CHECK,
    feed_in_source::CHECK,
    hardness_disagrees::CHECK,
    hardness_unit_doubtful::CHECK,
    held_too_long::CHECK,
    ion_missing::CHECK,
    iron_lost::CHECK,
    jump_in_history::CHECK,
    laboratories_differ::CHECK,
    limit_too_high::CHECK,
    manganese_for_magnesium::CHECK,
    metal_in_soft_water::CHECK,
    metal_unit_doubtful::CHECK,
    nitrogen_above_total::CHECK,
    oversaturated::CHECK,
    part_above_whole::CHECK,
    phenolphthalein_at_low_ph::CHECK,
    potassium_above_sodium::CHECK,
    printed_index_disagrees::CHECK,
    redox_contradiction::CHECK,
    results_disagree::CHECK,
    round_numbers::CHECK,
    rows_slipped::CHECK,
    sample_mixed::CHECK,
    sample_of_folders::CHECK,
    samples_repeat::CHECK,
    season_in_history::CHECK,
    softened_water::CHECK,
    solids_disagree::CHECK,
    solids_from_conductivity::CHECK,
    step_at_laboratory::CHECK,
    sulfur_taken_as_sulfate::CHECK,
    trend_in_history::CHECK,
    unit_doubtful::CHECK,
    units_contradict::CHECK,
    value_below_limit::CHECK,
    value_equals_limit::CHECK,
    value_impossible::CHECK,
    value_unusual::CHECK,
    values_exchanged::CHECK,
];
