//! Published waters, for tests. Inputs read in the sources named; expected figures computed by another
//! hand in double precision with the same atomic weights, H+ included where pH is given. mg/L.
//!
//! 'Not given' in a source is written as 0 here, since the published sums leave it out.

use super::substance::Substance::{self, *};
use super::water::Water;

/// What a published water should give. Sums meq/L, hardness and alkalinity mg/L CaCO3.
pub(super) struct Published {
    pub name: &'static str,
    /// Ca, Mg, Na, K, HCO3, CO3, SO4, Cl, NO3.
    pub ions: [f64; 9],
    pub others: &'static [(Substance, f64)],
    /// ΣC, ΣA, balance %.
    pub charge: [f64; 3],
    /// Total, alkalinity, noncarbonate.
    pub hardness: [f64; 3],
    /// Dissolved solids (1030E), SAR, RSC, magnesium share; `None` where the source lacks an input.
    pub indices: Option<[f64; 4]>,
}

impl Published {
    pub(super) fn water(&self) -> Water {
        let names = [
            Calcium,
            Magnesium,
            Sodium,
            Potassium,
            Bicarbonate,
            Carbonate,
            Sulfate,
            Chloride,
            Nitrate,
        ];
        let ions: Vec<_> = names.into_iter().zip(self.ions).collect();
        Water::of(&[&ions, self.others].concat())
    }
}

/// meq/L of alkalinity as mg/L of bicarbonate.
const MEQ: f64 = 61.016;

#[rustfmt::skip]
pub(super) const WATERS: &[Published] = &[
    // Lecture 'how do we check correctness of analyses' (scribd.com/document/298166290).
    Published { name: "W1", ions: [92.0, 34.0, 8.2, 1.4, 325.0, 0.0, 84.0, 9.6, 13.0], others: &[], charge: [7.787, 7.556, 1.50], hardness: [369.8, 266.6, 103.2], indices: Some([402.0, 0.19, -2.06, 37.9]) },
    // Same lecture, Piper slide; bicarbonate 2.8 meq/L.
    Published { name: "W2", ions: [40.0, 15.0, 120.0, 20.0, 2.8 * MEQ, 0.0, 234.0, 45.0, 0.0], others: &[], charge: [8.962, 8.942, 0.11], hardness: [161.7, 140.1, 21.5], indices: Some([558.0, 4.11, -0.43, 38.2]) },
    // Davis, Water and Wastewater Engineering (2010), example 7-1.
    Published { name: "W3", ions: [103.0, 5.5, 16.0, 0.0, 255.0, 0.0, 49.0, 37.0, 0.0], others: &[], charge: [6.289, 6.243, 0.36], hardness: [279.9, 209.1, 70.7], indices: Some([336.0, 0.42, -1.41, 8.1]) },
    // Appelo & Postma problem 1.1 as modified in a homework sheet.
    Published { name: "W4", ions: [81.0, 9.0, 62.0, 0.1, 183.0, 0.0, 0.0, 168.0, 0.0], others: &[(Ph, 8.5)], charge: [7.482, 7.738, -1.68], hardness: [239.3, 150.1, 89.3], indices: Some([410.0, 1.74, -1.78, 15.5]) },
    // H1-H8: analyses of Hem via Kehew, chapter 1, problem 5.
    Published { name: "H1", ions: [48.0, 3.6, 2.1, 0.0, 152.0, 0.0, 3.2, 8.0, 0.0], others: &[(Ph, 7.5), (Iron, 0.05)], charge: [2.785, 2.783, 0.02], hardness: [134.7, 124.7, 10.0], indices: Some([140.0, 0.08, -0.20, 11.0]) },
    Published { name: "H2", ions: [144.0, 55.0, 29.0, 0.0, 622.0, 0.0, 60.0, 53.0, 0.3], others: &[], charge: [12.973, 12.943, 0.12], hardness: [586.1, 510.1, 76.0], indices: Some([647.0, 0.52, -1.52, 38.6]) },
    Published { name: "H3", ions: [394.0, 93.0, 333.0, 0.0, 157.0, 0.0, 1150.0, 538.0, 5.0], others: &[], charge: [41.799, 41.774, 0.03], hardness: [1366.9, 128.8, 1238.1], indices: Some([2590.0, 3.92, -24.74, 28.0]) },
    Published { name: "H4", ions: [40.0, 22.0, 0.4, 1.2, 213.0, 0.0, 4.9, 2.0, 4.8], others: &[(Ph, 7.4), (Iron, 0.24)], charge: [3.863, 3.727, 1.80], hardness: [190.5, 174.7, 15.8], indices: Some([180.0, 0.01, -0.32, 47.6]) },
    Published { name: "H5", ions: [140.0, 43.0, 21.0, 0.0, 241.0, 0.0, 303.0, 38.0, 4.1], others: &[(Ph, 7.4), (Iron, 0.01)], charge: [11.439, 11.397, 0.18], hardness: [526.7, 197.7, 329.0], indices: Some([668.0, 0.40, -6.57, 33.6]) },
    Published { name: "H6", ions: [3.0, 7.4, 857.0, 2.4, 2080.0, 57.0, 1.6, 71.0, 0.2], others: &[(Ph, 8.3), (Iron, 0.15)], charge: [38.102, 38.029, 0.10], hardness: [38.0, 1801.0, 0.0], indices: Some([2023.0, 60.53, 35.23, 80.3]) },
    Published { name: "H7", ions: [40.0, 50.0, 699.0, 16.0, 456.0, 26.0, 1320.0, 17.0, 1.9], others: &[(Ph, 8.2), (Iron, 0.4)], charge: [36.939, 36.334, 0.82], hardness: [305.8, 417.4, 0.0], indices: Some([2395.0, 17.39, 2.23, 67.3]) },
    Published { name: "H8", ions: [353.0, 149.0, 1220.0, 9.8, 355.0, 0.0, 1000.0, 1980.0, 24.0], others: &[(Iron, 0.01)], charge: [83.194, 82.880, 0.19], hardness: [1495.1, 291.2, 1204.0], indices: Some([4911.0, 13.73, -24.06, 41.0]) },
    // Danish waters of Appelo & Postma: waterworks St. Heddinge and Maarum, rain at Borris.
    Published { name: "D-A", ions: [121.0, 14.0, 18.0, 6.3, 297.0, 0.0, 61.0, 29.0, 35.0], others: &[(Ph, 7.37), (Ammonium, 0.012), (Fluoride, 0.32), (Conductivity, 750.0)], charge: [8.135, 7.537, 3.82], hardness: [359.8, 243.6, 116.2], indices: Some([431.0, 0.41, -2.32, 16.0]) },
    Published { name: "D-B", ions: [42.0, 29.0, 440.0, 14.0, 1083.0, 0.0, 0.0, 201.0, 2.0], others: &[(Ph, 7.8), (Ammonium, 3.5), (Fluoride, 1.70), (Conductivity, 1900.0)], charge: [24.173, 23.541, 1.32], hardness: [224.3, 888.2, 0.0], indices: Some([1266.0, 12.78, 13.27, 53.2]) },
    Published { name: "D-D", ions: [1.4, 0.78, 7.2, 0.63, 0.0, 0.0, 4.48, 12.0, 4.52], others: &[(Ph, 4.4), (Ammonium, 1.23), (Conductivity, 88.0)], charge: [0.571, 0.505, 6.19], hardness: [6.7, 0.0, 6.7], indices: Some([32.0, 1.21, -0.13, 47.9]) },
    // Ground-water problem of a trilinear-diagram exercise (wizedu.com/questions/734548).
    Published { name: "F", ions: [43.12, 15.22, 87.15, 3.22, 213.7, 0.0, 13.22, 123.89, 3.23], others: &[(Ph, 8.3), (Iron, 2.13)], charge: [7.354, 7.324, 0.20], hardness: [170.4, 175.3, 0.0], indices: Some([396.0, 2.91, 0.10, 36.8]) },
    // 'Which chloride balances?' (brainmass.com).
    Published { name: "C", ions: [90.0, 30.0, 72.0, 6.0, 165.0, 0.0, 225.0, 120.0, 0.0], others: &[(Ph, 7.5)], charge: [10.245, 10.774, -2.52], hardness: [348.3, 135.3, 213.0], indices: Some([624.0, 1.68, -4.26, 35.5]) },
    // Bar-graph exercise (indextestingapp.uonbi.ac.ke).
    Published { name: "M", ions: [95.0, 26.0, 15.0, 0.0, 160.0, 0.0, 135.0, 73.0, 0.0], others: &[(Ph, 7.0)], charge: [7.533, 7.492, 0.27], hardness: [344.3, 131.2, 213.1], indices: Some([423.0, 0.35, -4.26, 31.1]) },
    // Lake exercise, alkalinity 3.4 meq/L (wizedu.com/questions/70405).
    Published { name: "L", ions: [32.0, 32.0, 1.0, 3.2, 3.4 * MEQ, 0.0, 22.0, 27.0, 0.0], others: &[(Ph, 8.5)], charge: [4.355, 4.620, -2.94], hardness: [211.7, 170.1, 41.5], indices: Some([219.0, 0.03, -0.83, 62.2]) },
    // Perlenbach waterworks, annual means; acid capacity 0.58 mmol/L.
    Published { name: "P", ions: [20.0, 4.8, 4.6, 0.58, 0.58 * MEQ, 0.0, 6.2, 24.0, 3.3], others: &[(Ph, 8.5), (Conductivity, 172.0)], charge: [1.608, 1.439, 5.53], hardness: [69.7, 29.0, 40.7], indices: None },
];
