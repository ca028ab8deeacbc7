import type { FitProblem, FitResult } from '../types.ts';
import { checkFitOptions, checkProblem, type FitOptions } from './checkProblem.ts';
import { robustFit } from './robustFit.ts';
import { bestRun, resultOf } from './runs.ts';
import { WeightedResiduals } from './weightedResiduals.ts';

/**
 * Nonlinear least squares of any model, with bounds, fixed parameters, weights (1/σ²) and an optional robust
 * loss.
 *
 * Which engine does what: ml-levenberg-marquardt goes first (scaled, see `libraryEngine.ts`), because it is
 * quick and well kept where a problem is tame. QR finishes its point on an accurate Jacobian and certifies it
 * by the relative offset (`finish.ts`). Where the certificate or full rank is missing, the own trust region
 * (`trustRegion.ts`) starts again from the original start. Measured on the 54 starts of NIST's nonlinear
 * reference problems, Jacobians by differences: the library alone reaches 4 digits in 39, and exactly these
 * 39 get the certificate, all with 6 digits or more; the other 15 (Bennett5, Lanczos1 to 3, MGH09, MGH10 and
 * others with curved valleys or flat starts) come from the trust region, which gets 54 of 54.
 *
 * Every start is run; the lowest S wins, of equal ones the first. A run that ends without certificate is
 * reported as `max-iterations`. Non-convergence is a result, not an exception.
 *
 * @throws RangeError for lengths, weights, bounds, starts or options that cannot be, naming them
 */
export function fitLeastSquares(problem: FitProblem, options: FitOptions = {}): FitResult {
  const checked = checkProblem(problem);
  const checkedOptions = checkFitOptions(options, checked);
  const residuals = new WeightedResiduals(checked);
  if (checkedOptions.loss) return robustFit(residuals, checkedOptions, checkedOptions.loss);
  return resultOf(residuals, bestRun(residuals, checkedOptions), checkedOptions);
}
