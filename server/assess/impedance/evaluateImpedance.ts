import type { FittedImpedance } from '../../../fitting/impedance/index.ts';
import {
  type Consistency,
  checkKramersKronig,
  checkSpectrum,
  chooseImpedanceCircuit,
  circuitImpedance,
  highFrequencyIntercept,
  impedanceAt,
  magnitudes,
  magnitudeUncertainty,
  type Spectrum,
  scatterOf,
  sortSpectrum,
} from '../../../fitting/impedance/index.ts';
import type { EvaluatedSweep, ImpedanceResult, SpectrumCurve } from '../../contract/impedance.ts';
import { consistencySentence } from './consistencySentence.ts';
import { parameterUnit } from './parameterUnit.ts';
import { startCharges, sweepSoc } from './sweepSoc.ts';
import type { ImpedanceEvaluationSettings, SweepToEvaluate } from './sweepToEvaluate.ts';

/** Version of the evaluation: a change of any number it gives is a new version. */
export const IMPEDANCE_VERSION = '1.5.0';

/**
 * |Z| at 1 kHz, high-frequency intercept, circuit and Kramers–Kronig check of each spectrum. A pure function of the
 * spectra, the settings and {@link IMPEDANCE_VERSION}.
 *
 * @throws RangeError naming sweep, column and point of a spectrum that cannot be, or the setting
 */
export function evaluateImpedance(
  sweeps: readonly SweepToEvaluate[],
  settings: ImpedanceEvaluationSettings,
): ImpedanceResult {
  const starts = startCharges(sweeps);
  return {
    schemaVersion: 1,
    algorithm: { name: 'impedance', version: IMPEDANCE_VERSION },
    sweeps: sweeps.map((sweep, position) => evaluateSweep(sweep, position, starts, settings)),
  };
}

function evaluateSweep(
  sweep: SweepToEvaluate,
  position: number,
  startChargeAh: ReadonlyMap<string | null, number>,
  settings: ImpedanceEvaluationSettings,
): EvaluatedSweep {
  const { frequencyHz } = sweep.spectrum;
  checkSpectrum(sweep.spectrum);
  const spectrum = sortSpectrum(sweep.spectrum);
  const consistency = checkKramersKronig(spectrum, { limit: settings.consistencyLimit });
  const { interpolationOhm, ...at } = impedanceAt(spectrum, 1000);
  const scatterOhm =
    at.magnitudeOhm === null ? null : magnitudeUncertainty(consistency, 1000, at.magnitudeOhm);
  const fitted = fittedRange(spectrum, settings.fitFromHz);
  // What is left out of the circuit may not obey the relations without a harm to it.
  const behind =
    fitted === null || fitted === spectrum
      ? consistency
      : checkKramersKronig(fitted, { limit: settings.consistencyLimit });
  const { fit, candidates } =
    fitted === null
      ? { fit: null, candidates: [] }
      : chooseImpedanceCircuit(fitted, {
          maxArcs: settings.maxArcs,
          tail: settings.diffusionTail,
          consistent: behind.verdict !== 'inconsistent',
          scatter: scatterOf(behind),
        });
  return {
    position,
    cell: sweep.cell,
    label: sweep.label,
    ...sweepSoc(sweep, startChargeAh, settings),
    temperatureC: sweep.temperatureC,
    voltageV: sweep.voltageV,
    chargeAh: sweep.chargeAh,
    points: frequencyHz.length,
    frequencyMinHz: spectrum.frequencyHz[frequencyHz.length - 1],
    frequencyMaxHz: spectrum.frequencyHz[0],
    at1kHz: {
      ...at,
      standardUncertaintyOhm:
        scatterOhm === null || interpolationOhm === null ? null : Math.hypot(scatterOhm, interpolationOhm),
    },
    intercept: highFrequencyIntercept(spectrum, consistency),
    circuit: fit === null ? null : presentCircuit(fit),
    circuitReason: fit === null ? 'no-circuit-identified' : null,
    candidates: candidates.map(({ withTail, ...candidate }) => ({ ...candidate, diffusionTail: withTail })),
    consistency: presentConsistency(consistency),
    curve: curveOf(spectrum, fit, consistency),
  };
}

/** The points that the circuit is fitted to; null where none is left. */
function fittedRange(spectrum: Spectrum, fromHz: number | undefined): Spectrum | null {
  if (fromHz === undefined) return spectrum;
  const count = spectrum.frequencyHz.filter((f) => f >= fromHz).length;
  if (count === 0) return null;
  return {
    frequencyHz: spectrum.frequencyHz.slice(0, count),
    realOhm: spectrum.realOhm.slice(0, count),
    imaginaryOhm: spectrum.imaginaryOhm.slice(0, count),
  };
}

function presentCircuit(fit: FittedImpedance): EvaluatedSweep['circuit'] {
  return {
    arcs: fit.arcs,
    diffusionTail: fit.withTail,
    parameters: fit.parameters.map(({ reason, ...parameter }) => ({
      ...parameter,
      reason: reason === 'at-lower-bound' || reason === 'at-upper-bound' ? 'at-bound' : reason,
      unit: parameterUnit(parameter.name),
    })),
    residualSd: fit.residualSd,
    points: fit.points / 2,
    termination: fit.termination,
  };
}

function presentConsistency(consistency: Consistency): EvaluatedSweep['consistency'] {
  const { frequencyHz: _f, realResidual: _r, imaginaryResidual: _i, departingHz, ...figures } = consistency;
  return { ...figures, departingHz: [...departingHz], sentence: consistencySentence(consistency) };
}

function curveOf(spectrum: Spectrum, fit: FittedImpedance | null, consistency: Consistency): SpectrumCurve {
  const model = fit === null ? null : circuitImpedance(fit.circuit, spectrum.frequencyHz);
  const size = magnitudes(spectrum);
  const residual = (measured: Float64Array, of: Float64Array | undefined): number[] | null =>
    of === undefined ? null : Array.from(measured, (value, i) => (value - of[i]) / size[i]);
  const checked = consistency.verdict !== 'too-few-points';
  return {
    frequencyHz: [...spectrum.frequencyHz],
    circuitRealOhm: model === null ? null : [...model.realOhm],
    circuitImaginaryOhm: model === null ? null : [...model.imaginaryOhm],
    circuitRealResidual: residual(spectrum.realOhm, model?.realOhm),
    circuitImaginaryResidual: residual(spectrum.imaginaryOhm, model?.imaginaryOhm),
    consistencyRealResidual: checked ? [...consistency.realResidual] : null,
    consistencyImaginaryResidual: checked ? [...consistency.imaginaryResidual] : null,
  };
}
