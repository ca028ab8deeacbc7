/** Spectra: their circuit fit and their consistency. What other folders may use. */

export { chooseImpedanceCircuit } from './chooseImpedanceCircuit.ts';
export type { FittedImpedance } from './fitImpedanceCircuit.ts';
export { highFrequencyIntercept } from './highFrequencyIntercept.ts';
export { impedanceAt } from './impedanceAt.ts';
export { circuitImpedance } from './impedanceCircuit.ts';
export { type Consistency, checkKramersKronig, scatterOf } from './kramersKronig.ts';
export { magnitudeUncertainty } from './magnitudeUncertainty.ts';
export { checkSpectrum, magnitudes, type Spectrum, type Sweep, sortSpectrum } from './spectrum.ts';
