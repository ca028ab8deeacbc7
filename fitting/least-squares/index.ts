/** Linear, separable and general least squares, and inference on their parameters. What other folders may use. */

export { fitLeastSquares } from './general/fit.ts';
export { coverageFactor } from './inference/coverageFactor.ts';
export { fiellerRegion, inversePrediction } from './inference/fieller.ts';
export { aicc } from './inference/modelChoice.ts';
export { profileIntervalBy } from './inference/profile.ts';
export { durbinWatson, runsTest } from './inference/residualTests.ts';
export { withPrior } from './inference/withPrior.ts';
export { fitLine } from './linear/line.ts';
export { fitLinear } from './linear/linear.ts';
export { fitYorkLine, type YorkProblem } from './linear/york.ts';
export { GramProjection } from './separable/gramProjection.ts';
export { createSeparableSolver, type SeparableSolver } from './separable/separable.ts';
export type { ColumnModel, GramModel } from './separable/separableProblem.ts';
export {
  estimateOf,
  type FitModel,
  type FitParameter,
  type FitResult,
  type Termination,
  type UncertaintyReason,
} from './types.ts';
