import {
  allowForCommonTemperature,
  fitTemperature,
  fitTemperatureOfCells,
  inverseKelvin,
  type TemperatureFit,
  temperatureFactor,
} from '../../../fitting/resistance/index.ts';
import { mean, standardDeviation, tQuantile } from '../../../fitting/statistics/index.ts';
import { checkResiduals } from '../../assess/checkResiduals.ts';
import type { TemperatureDependence, TemperatureLaw } from '../../contract/temperature.ts';
import { formatColumnKey } from '../../store/columnKey.ts';
import type { TemperatureReading } from '../../store/temperatures.ts';

/** Version of the assessment: a change of any number it gives is a new version. */
export const TEMPERATURE_VERSION = '1.4.0';

/** Temperatures that lie closer than this say nothing about the dependence, in °C. */
const LEAST_SPAN_C = 5;

/** Points of the curve with its bands. */
const BAND_POINTS = 25;

/** Currents that differ by more than this factor are not alike; as in the circuit tables. */
const ALIKE_CURRENTS = 1.25;

/** A law with the measurements it is based on. */
export interface FittedLaws {
  readonly dependence: TemperatureDependence;
  readonly measurementIds: readonly number[];
}

/**
 * Fits the dependence on temperature for every column of resistances: one quantity, duration, direction and SOC. Where
 * cells were measured at several temperatures, only those are used, each with a level of its own, so that differences
 * between the cells do not count as temperature.
 */
export function fitTemperatureLaws(readings: readonly TemperatureReading[], referenceC: number): FittedLaws {
  const laws: TemperatureLaw[] = [];
  const without: TemperatureDependence['without'] = [];
  const measurementIds: number[] = [];
  for (const { key, used, sameCells, reason } of sortReadings(readings)) {
    if (reason !== null) without.push({ key, reason });
    else {
      laws.push(lawOf(key, used, referenceC, sameCells));
      measurementIds.push(...used.map(({ id }) => id));
    }
  }
  const algorithm = { name: 'temperature', version: TEMPERATURE_VERSION } as const;
  return { dependence: { schemaVersion: 1, algorithm, laws, without }, measurementIds };
}

/** The readings of one column that a law is based on, or why there is none. */
interface SortedReadings {
  readonly key: string;
  readonly used: readonly TemperatureReading[];
  readonly sameCells: boolean;
  readonly reason: TemperatureDependence['without'][number]['reason'] | null;
}

function sortReadings(readings: readonly TemperatureReading[]): SortedReadings[] {
  const columns = new Map<string, TemperatureReading[]>();
  for (const reading of readings) {
    const key = formatColumnKey({ ...reading, temperatureC: null });
    const column = columns.get(key);
    if (column) column.push(reading);
    else columns.set(key, [reading]);
  }
  return [...columns].map(([key, column]) => {
    const several = ofSeveralTemperatures(column);
    const used = several.length > 0 ? several : column;
    const reason =
      spanC(used) < LEAST_SPAN_C
        ? 'one-temperature'
        : used.some(({ value }) => !(value > 0))
          ? 'not-positive'
          : null;
    return { key, used, sameCells: several.length > 0, reason };
  });
}

/** The measurements on which the laws of {@link fitTemperatureLaws} would rest. */
export function measurementsOfLaws(readings: readonly TemperatureReading[]): number[] {
  return sortReadings(readings).flatMap(({ used, reason }) =>
    reason === null ? used.map(({ id }) => id) : [],
  );
}

function spanC(readings: readonly TemperatureReading[]): number {
  let lowest = Infinity;
  let highest = -Infinity;
  for (const { measuredC } of readings) {
    lowest = Math.min(lowest, measuredC);
    highest = Math.max(highest, measuredC);
  }
  return highest - lowest;
}

/** The readings of cells that were themselves measured at several temperatures. */
function ofSeveralTemperatures(readings: readonly TemperatureReading[]): TemperatureReading[] {
  const byCell = new Map<number, TemperatureReading[]>();
  for (const reading of readings)
    byCell.set(reading.cellId, [...(byCell.get(reading.cellId) ?? []), reading]);
  return [...byCell.values()].filter((own) => spanC(own) >= LEAST_SPAN_C).flat();
}

function lawOf(
  key: string,
  used: readonly TemperatureReading[],
  referenceC: number,
  sameCells: boolean,
): TemperatureLaw {
  const cells = new Set(used.map(({ cellId }) => cellId)).size;
  const readings = used.map(({ cellId, measuredC, value, standardUncertainty }) => ({
    cell: cellId,
    temperatureC: measuredC,
    valueOhm: value,
    ...(cells === 1 && standardUncertainty !== null ? { standardUncertaintyOhm: standardUncertainty } : {}),
  }));
  const found = (sameCells ? fitTemperatureOfCells : fitTemperature)(readings, referenceC);
  if (found === null) throw new Error(`${key}: temperatures that differ gave no law`);
  const fit = allowForCommonTemperature(found, readings, sameCells);
  const points = pointsOf(
    used,
    (celsius) => fit.referenceOhm * temperatureFactor(fit.activationJPerMol, referenceC, celsius),
  );
  const { quantity, durationS, direction, socTwentieths } = used[0];
  return {
    key,
    quantity,
    durationS,
    direction,
    soc: socTwentieths === null ? null : socTwentieths / 20,
    referenceC,
    referenceOhm: fit.referenceOhm,
    referenceStandardErrorOhm: fit.referenceStandardErrorOhm,
    activationJPerMol: fit.activationJPerMol,
    activationStandardErrorJPerMol: fit.activationStandardErrorJPerMol,
    temperatureErrorC: fit.temperatureErrorC,
    covariance: fit.covariance === null ? null : fit.covariance.map((row) => [...row]),
    lowestC: fit.lowestC,
    highestC: fit.highestC,
    referenceExtrapolated: referenceC < fit.lowestC - 0.5 || referenceC > fit.highestC + 0.5,
    readings: used.length,
    cells,
    basis: sameCells ? 'same-cells' : 'different-cells',
    ...currentsOf(used),
    largestDeviation: fit.largestDeviation,
    residualChecks: checkResiduals(residualsByTemperature(fit, used)),
    band: bandOf(fit),
    fallsThroughout: points.every((point, i) => i === 0 || point.meanOhm <= points[i - 1].meanOhm),
    points,
  };
}

function residualsByTemperature(
  { residuals }: TemperatureFit,
  used: readonly TemperatureReading[],
): number[] {
  return used
    .map(({ measuredC }, i) => ({ measuredC, residual: residuals[i] }))
    .sort((a, b) => a.measuredC - b.measuredC)
    .map(({ residual }) => residual);
}

/** The law with the 95 % intervals of the law and of one reading of a further cell, both on ln R. */
function bandOf(fit: TemperatureFit): TemperatureLaw['band'] {
  const { covariance, readingDeviation, degreesOfFreedom, referenceC, lowestC, highestC } = fit;
  if (covariance === null || readingDeviation === null) return [];
  const factor = tQuantile(0.975, degreesOfFreedom);
  return Array.from({ length: BAND_POINTS }, (_, k) => {
    const temperatureC = lowestC + (k / (BAND_POINTS - 1)) * (highestC - lowestC);
    const x = inverseKelvin(temperatureC) - inverseKelvin(referenceC);
    const variance = covariance[0][0] + 2 * x * covariance[0][1] + x * x * covariance[1][1];
    const half = factor * Math.sqrt(Math.max(0, variance));
    const reading = Math.hypot(half, factor * readingDeviation);
    const ohm = fit.referenceOhm * temperatureFactor(fit.activationJPerMol, referenceC, temperatureC);
    return {
      temperatureC,
      ohm,
      low: ohm * Math.exp(-half),
      high: ohm * Math.exp(half),
      readingLow: ohm * Math.exp(-reading),
      readingHigh: ohm * Math.exp(reading),
    };
  });
}

/** Whether one law mixes pulses of different currents, which it would take for temperature. */
function currentsOf(
  used: readonly TemperatureReading[],
): Pick<TemperatureLaw, 'currentsA' | 'mixedCurrents'> {
  const sizes = used.flatMap(({ currentA }) => (currentA === null ? [] : [Math.abs(currentA)]));
  if (sizes.length < used.length) return { currentsA: null, mixedCurrents: null };
  const lowest = Math.min(...sizes);
  const highest = Math.max(...sizes);
  return { currentsA: { lowest, highest }, mixedCurrents: highest > ALIKE_CURRENTS * lowest };
}

/** Means of the readings that round to the same 5 °C, by temperature. */
function pointsOf(
  used: readonly TemperatureReading[],
  fittedOhm: (celsius: number) => number,
): TemperatureLaw['points'] {
  const bands = new Map<number, TemperatureReading[]>();
  for (const reading of used) {
    const band = reading.temperatureC as number;
    bands.set(band, [...(bands.get(band) ?? []), reading]);
  }
  return [...bands.entries()]
    .sort(([a], [b]) => a - b)
    .map(([, own]) => {
      const temperatureC = mean(own.map(({ measuredC }) => measuredC));
      const values = own.map(({ value }) => value);
      return {
        temperatureC,
        readings: own.length,
        meanOhm: mean(values),
        standardDeviationOhm: own.length > 1 ? standardDeviation(values) : null,
        fittedOhm: fittedOhm(temperatureC),
      };
    });
}
