/** A measured operating point of a fixed-ratio converter: its output, and its input or its efficiency. */
export type ConverterPoint = {
  readonly outputVoltageV: number;
  readonly outputCurrentA: number;
} & ({ readonly inputVoltageV: number; readonly inputCurrentA: number } | { readonly efficiency: number });

export interface FittedConverter {
  readonly outputResistanceOhm: number;
  readonly fixedLossCurrentA: number;
}

type Output = Pick<ConverterPoint, 'outputVoltageV' | 'outputCurrentA'>;
type WithInput = Extract<ConverterPoint, { inputVoltageV: number }>;
type WithEfficiency = Extract<ConverterPoint, { efficiency: number }>;

/**
 * Output resistance R and fixed-loss current I_f from two or more measured operating points of V_in = N (V + R I) and
 * I_in = I / N + I_f, by least squares. With inputs measured the two equations are linear, each in one unknown; with
 * efficiencies the loss is I V (1/η − 1) = R I² + N I_f (V + R I), linear but for its last product, which is small and
 * put right by repetition.
 *
 * @throws RangeError for fewer than two points, points at one current, points of both kinds, and points that no converter
 * can have (a negative resistance or loss, more than a thousandth of the measured values).
 */
export function fitRatioStage(ratio: number, points: readonly ConverterPoint[]): FittedConverter {
  checkCurrents(points);
  const inputs = points.filter((point): point is WithInput => 'inputVoltageV' in point);
  const efficiencies = points.filter((point): point is WithEfficiency => 'efficiency' in point);
  if (inputs.length > 0 && efficiencies.length > 0)
    throw new RangeError(
      'points have input values here and an efficiency there; one of the two for all points',
    );
  const { ohm, fixedA } = inputs.length > 0 ? fitInputs(ratio, inputs) : fitEfficiencies(ratio, efficiencies);
  const mean = (of: (point: Output) => number) =>
    points.reduce((sum, point) => sum + of(point), 0) / points.length;
  const meanA = mean((p) => p.outputCurrentA);
  if (ohm * meanA < -1e-3 * mean((p) => p.outputVoltageV))
    throw new RangeError(
      `points give an output resistance of ${ohm.toPrecision(3)} Ω; it cannot be below 0 ` +
        `(the input voltage is at least ${ratio} times the output voltage)`,
    );
  if (fixedA < (-1e-3 * meanA) / ratio)
    throw new RangeError(
      `points give a fixed-loss current of ${fixedA.toPrecision(3)} A; it cannot be below 0 ` +
        `(the input current is at least the output current over ${ratio})`,
    );
  return { outputResistanceOhm: Math.max(ohm, 0), fixedLossCurrentA: Math.max(fixedA, 0) };
}

function checkCurrents(points: readonly Output[]): void {
  if (points.length < 2)
    throw new RangeError(`points has ${points.length} operating points; two or more are needed`);
  const currents = points.map((point) => point.outputCurrentA);
  const [least, most] = [Math.min(...currents), Math.max(...currents)];
  if (!(most > 0) || most - least < 0.1 * most)
    throw new RangeError(
      `points lie at output currents from ${least} to ${most} A; they must differ by a tenth or more`,
    );
}

function fitInputs(ratio: number, points: readonly WithInput[]): { ohm: number; fixedA: number } {
  const sum = (of: (point: WithInput) => number) => points.reduce((total, p) => total + of(p), 0);
  const drop = sum((p) => p.outputCurrentA * (p.inputVoltageV / ratio - p.outputVoltageV));
  return {
    ohm: drop / sum((p) => p.outputCurrentA ** 2),
    fixedA: sum((p) => p.inputCurrentA - p.outputCurrentA / ratio) / points.length,
  };
}

function fitEfficiencies(ratio: number, points: readonly WithEfficiency[]): { ohm: number; fixedA: number } {
  const sum = (of: (point: WithEfficiency) => number) => points.reduce((total, p) => total + of(p), 0);
  // loss = ohm x + outA y + ohm outA I, with x = I², y = V and outA = N I_f.
  const xx = sum((p) => p.outputCurrentA ** 4);
  const yy = sum((p) => p.outputVoltageV ** 2);
  const xy = sum((p) => p.outputCurrentA ** 2 * p.outputVoltageV);
  const determinant = xx * yy - xy * xy;
  let [ohm, outA] = [0, 0];
  for (let pass = 0; pass < 50; pass++) {
    const loss = (p: WithEfficiency) =>
      p.outputCurrentA * p.outputVoltageV * (1 / p.efficiency - 1) - ohm * outA * p.outputCurrentA;
    const xl = sum((p) => p.outputCurrentA ** 2 * loss(p));
    const yl = sum((p) => p.outputVoltageV * loss(p));
    const before = ohm;
    ohm = (xl * yy - yl * xy) / determinant;
    outA = (yl * xx - xl * xy) / determinant;
    if (Math.abs(ohm - before) <= 1e-14 * Math.abs(ohm)) break;
  }
  return { ohm, fixedA: outA / ratio };
}
