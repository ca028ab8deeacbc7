/** Plain numerical tools that every other folder may use. What other folders may use. */

export { GAS_CONSTANT, MAD_TO_STANDARD_DEVIATION, ZERO_CELSIUS_K } from './constants.ts';
export { dotProduct } from './dotProduct.ts';
export { ExactSum } from './exactSums.ts';
export { integrate, rootIn } from './integrate.ts';
export { medianOf, scaledMad } from './median.ts';
export { type MonotoneCurve, monotoneCurve, monotoneSlopes } from './monotoneCurve.ts';
export { secondDifferenceNoise } from './noise.ts';
export {
  applyQ,
  applyQTransposed,
  type Curvature,
  curvatureFromQr,
  factorQr,
  type QrFactor,
  solveR,
  solveRTransposed,
} from './qr.ts';
export { solve3 } from './solve3.ts';
