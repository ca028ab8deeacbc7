/** Molar gas constant in J/(mol K): exact since the SI of 2019 (CODATA 2018). */
export const GAS_CONSTANT = 8.31446261815324;

/** 0 °C in K. */
export const ZERO_CELSIUS_K = 273.15;

/** 1/Φ⁻¹(3/4): scales the median absolute deviation to the standard deviation of normal data. */
export const MAD_TO_STANDARD_DEVIATION = 1.482602218505602;
