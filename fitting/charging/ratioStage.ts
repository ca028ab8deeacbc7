import { checkEfficiency, type Efficiency, efficiencyAt } from './efficiency.ts';

/** One of the paths side by side in a fixed-ratio converter. */
export interface ConverterPath {
  /** Limit of the output current of this path, A. */
  readonly maxCurrentA: number;
  /** Resistance seen at the output, ohms. */
  readonly outputResistanceOhm: number;
  /** Input current that flows at no load, A. */
  readonly fixedLossCurrentA: number;
}

/** Losses given as an efficiency instead of resistances; a table is read at the current of one path or of all together. */
export interface StageEfficiency {
  readonly efficiency: Efficiency;
  readonly of: 'one-path' | 'all-paths';
}

/**
 * A converter of fixed ratio N with paths side by side. Each path p of output resistance R_p, at a common input voltage V_in
 * and output voltage V, obeys
 *
 *   V_in = N (V + R_p I_p)      I_in,p = I_p / N + I_fixed,p
 *
 * which is the model of a switched-capacitor converter by its output resistance (M. D. Seeman and S. R. Sanders, IEEE Trans.
 * Power Electron. 23 (2008) 841–851), with the loss that does not depend on the load as an input current. Paths of unlike
 * resistance share the current in proportion to 1 / R_p; paths without any share it equally.
 */
export interface RatioStage {
  readonly ratio: 1 | 2 | 4;
  readonly paths: readonly ConverterPath[];
  /** Null: the losses are those of the paths. */
  readonly efficiency: StageEfficiency | null;
  readonly minStackVoltageV: number;
  readonly minOutputCurrentA: number;
}

/** `count` equal paths. */
export function equalPaths(
  count: number,
  maxCurrentA: number,
  outputResistanceOhm = 0,
  fixedLossCurrentA = 0,
): ConverterPath[] {
  return Array.from({ length: count }, () => ({ maxCurrentA, outputResistanceOhm, fixedLossCurrentA }));
}

/** @throws RangeError naming the part and value that cannot be. */
export function checkRatioStage({ paths, efficiency }: RatioStage): void {
  if (paths.length === 0)
    throw new RangeError('converter.ratioStage.paths is 0; at least one path is needed');
  const none = paths.findIndex((path) => path.outputResistanceOhm === 0);
  if (none >= 0 && paths.some((path) => path.outputResistanceOhm > 0))
    throw new RangeError(
      `converter.ratioStage.paths.${none}.outputResistanceOhm is 0 beside paths with a resistance; this path would take ` +
        'the whole current: give every path its resistance, or none',
    );
  if (efficiency === null) return;
  checkEfficiency('converter.ratioStage.efficiency', efficiency.efficiency);
  if (paths.some((path) => path.outputResistanceOhm > 0 || path.fixedLossCurrentA > 0))
    throw new RangeError(
      'converter.ratioStage.efficiency is given beside output resistance or fixed loss; it holds all losses: leave one of them out',
    );
}

/** Part of the output current that each path carries; they sum to 1. */
export function pathShares(paths: readonly ConverterPath[]): number[] {
  const weights = paths.map(({ outputResistanceOhm: r }) => (r > 0 ? 1 / r : 1));
  const sum = weights.reduce((total, weight) => total + weight, 0);
  return weights.map((weight) => weight / sum);
}

/** The input of a fixed-ratio converter for its output, and the other way round. */
export class RatioModel {
  readonly ratio: number;
  /** Part of the current in each path. */
  readonly shares: readonly number[];
  /** Of all paths together, seen at the output, ohms. */
  readonly outputOhm: number;
  /** Of all paths together, at the input, A. */
  readonly fixedLossA: number;
  private readonly stage: RatioStage | null;
  private readonly voltageRisePerA: number | null;

  /** Null: no converter, the source drives the stack itself. */
  constructor(stage: RatioStage | null) {
    this.stage = stage;
    this.ratio = stage?.ratio ?? 1;
    this.shares = stage === null ? [1] : pathShares(stage.paths);
    const first = stage?.paths[0].outputResistanceOhm ?? 0;
    this.outputOhm = this.shares[0] * first;
    this.fixedLossA = stage?.paths.reduce((sum, path) => sum + path.fixedLossCurrentA, 0) ?? 0;
    const table = stage?.efficiency?.efficiency ?? null;
    this.voltageRisePerA = table === null || typeof table === 'number' ? null : voltageRisePerA(table);
  }

  /** Input voltage for an output current and voltage. */
  inputVoltage(outputA: number, outputV: number): number {
    return this.ratio * (outputV * this.voltageFactor(outputA) + this.outputOhm * outputA);
  }

  /** Input current for an output current; it does not depend on the voltage. */
  inputCurrent(outputA: number): number {
    const plain = outputA / this.ratio;
    const { stage } = this;
    if (stage === null || stage.efficiency === null) return plain + this.fixedLossA;
    const { efficiency } = stage.efficiency;
    return plain / (efficiencyAt(efficiency, this.readAt(outputA)) * this.voltageFactor(outputA));
  }

  /** Output current for an input current, 0 where the fixed loss takes all of it. */
  outputCurrent(inputA: number): number {
    if (this.stage?.efficiency == null) return Math.max(this.ratio * (inputA - this.fixedLossA), 0);
    let low = 0;
    let high = this.ratio * inputA;
    if (this.inputCurrent(high) <= inputA * (1 + 1e-12)) return high;
    for (let pass = 0; pass < 200 && high - low > 1e-14 * high; pass++) {
      const middle = (low + high) / 2;
      if (this.inputCurrent(middle) <= inputA) low = middle;
      else high = middle;
    }
    return low;
  }

  /** Path whose limit binds first, with the output current of the whole at which it does. */
  firstPathLimit(): { path: number; currentA: number } | null {
    if (this.stage === null) return null;
    let least = { path: 0, currentA: Number.POSITIVE_INFINITY };
    this.stage.paths.forEach(({ maxCurrentA }, path) => {
      const currentA = maxCurrentA / this.shares[path];
      if (currentA < least.currentA * (1 - 1e-12)) least = { path, currentA };
    });
    return least;
  }

  private readAt(outputA: number): number {
    return this.stage?.efficiency?.of === 'one-path' ? outputA / this.stage.paths.length : outputA;
  }

  /**
   * Input voltage over ratio × output voltage for losses given as an efficiency. One number says nothing of how the loss
   * depends on the load: all of it is taken as voltage. A table does: what grows with the square of the current is taken as
   * voltage (it is a resistance), the rest as input current.
   */
  private voltageFactor(outputA: number): number {
    const efficiency = this.stage?.efficiency?.efficiency ?? null;
    if (efficiency === null) return 1;
    if (this.voltageRisePerA === null) return 1 / efficiencyAt(efficiency, 0);
    const at = Math.max(this.readAt(outputA), 0);
    return Math.min(1 + this.voltageRisePerA * at, 1 / efficiencyAt(efficiency, at));
  }
}

/**
 * Least-squares split of the loss of an efficiency table over the output voltage, I (1/η − 1) = a + b I², with a, b ≥ 0.
 * @returns b, in 1/A
 */
function voltageRisePerA(table: Exclude<Efficiency, number>): number {
  const points = [...table.outputCurrentA]
    .map((currentA, k) => ({ x: currentA * currentA, y: currentA * (1 / table.efficiency[k] - 1) }))
    .filter(({ x }) => x > 0);
  if (points.length === 0) return 0;
  const mean = (of: (p: { x: number; y: number }) => number) =>
    points.reduce((sum, point) => sum + of(point), 0) / points.length;
  const [x, y] = [mean((p) => p.x), mean((p) => p.y)];
  const spread = mean((p) => (p.x - x) ** 2);
  const slope = spread > 0 ? mean((p) => (p.x - x) * (p.y - y)) / spread : y / x;
  // With a held at 0 the slope is that through the origin.
  if (y - slope * x < 0) return mean((p) => p.x * p.y) / mean((p) => p.x * p.x);
  return Math.max(slope, 0);
}
