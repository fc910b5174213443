//! The figures derived for one water: each formula in a file of its own, with units and source.
//! Takes a [`super::Water`], gives numbers; knows nothing of findings, files or limits' meaning.

pub(super) mod carbonate;
pub(super) mod charge;

use super::limits::Limits;
use super::samples::{Judged, Samples};
use super::substance::Substance;
use crate::record::Figures;
use charge::{BORNE, balance, charges};

/// The figures of one sample.
pub(super) fn figures(_samples: &Samples<'_>, sample: &Judged<'_>, _limits: &Limits) -> Figures {
    let water = &sample.water;
    let charges = charges(water, 0.5, 0.5);
    let balance = balance(water);
    let codes = |missing: &[Substance]| {
        let codes: Vec<_> = missing.iter().map(|s| s.code()).collect();
        (!codes.is_empty()).then(|| codes.join(";").into())
    };
    let complete = charges.missing.iter().all(|s| BORNE.contains(s));
    Figures {
        cations_meq_l: charges.cations,
        anions_meq_l: charges.anions,
        charge_balance_percent: balance.map(|b| b.0),
        charge_balance_spread: balance.map(|b| b.1),
        charge_balance_verdict: (!complete).then_some("incomplete".into()),
        missing_ions: codes(&charges.missing),
        alkalinity_used_mg_l: charges.carbonates.alkalinity,
        bicarbonate_used_mg_l: charges.carbonates.bicarbonate,
        carbonate_used_mg_l: charges.carbonates.carbonate,
        ..Figures::default()
    }
}
