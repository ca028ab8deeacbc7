import type { CircuitFit, EvaluatedPulse } from '../contract/evaluatedPulse.ts';
import type { OpenCircuitCurve } from '../contract/openCircuit.ts';
import type {
  CircuitRow,
  CircuitTable,
  OpenCircuitTable,
  ParameterValue,
  UcumUnit,
} from '../contract/parameterSet.ts';
import type { EvaluatedPulseRecord } from '../contract/pulseRecord.ts';

/** Where an evaluated pulse record came from. */
export interface PulseOrigin {
  readonly fitId: number;
  readonly testId: number;
  readonly temperatureC: number | null;
}

/** States of charge closer than this count as one point of a table. */
const sameSoc = 0.005;

/**
 * The circuit tables of an evaluated pulse record, one for each direction of current that has fitted pulses, ascending
 * in SOC. A table keeps to pulses of about one current, because resistance depends on the current and a table that mixes
 * them would zigzag: of the currents that reach nearly as many states of charge as the one that reaches most, the one
 * nearest to 1 C of the rated capacity.
 */
export function circuitTablesOf(result: EvaluatedPulseRecord, origin: PulseOrigin): CircuitTable[] {
  const tables: CircuitTable[] = [];
  const restPolarisations = restRows(result);
  for (const direction of ['charge', 'discharge'] as const) {
    const chosen = choosePulses(
      result.pulses.filter((pulse) => pulse.direction === direction),
      result.settings.ratedCapacityAh,
    );
    if (chosen.length === 0) continue;
    const temperatures = chosen.flatMap((p) => (p.pulse.temperatureC === null ? [] : [p.pulse.temperatureC]));
    tables.push({
      direction,
      temperatureC: origin.temperatureC ?? (temperatures.length === 0 ? null : mean(temperatures)),
      rows: chosen.map(({ pulse, circuit, soc }) => circuitRowOf(pulse, circuit, soc)),
      validity: {
        socMin: chosen[0].soc,
        socMax: chosen[chosen.length - 1].soc,
        temperatureMinC: temperatures.length === 0 ? null : Math.min(...temperatures),
        temperatureMaxC: temperatures.length === 0 ? null : Math.max(...temperatures),
        currentMaxA: Math.max(...chosen.map((p) => Math.abs(p.pulse.currentA))),
        durationMaxS: Math.max(...chosen.map((p) => p.pulse.durationS)),
      },
      fitId: origin.fitId,
      testId: origin.testId,
      restPolarisations,
    });
  }
  return tables;
}

/** Ascending in SOC; of rests at one state of charge the last. */
function restRows({
  restPolarisations,
}: EvaluatedPulseRecord): NonNullable<CircuitTable['restPolarisations']> {
  const rows = restPolarisations.flatMap(
    ({ soc, currentA, loadS, tauS, slow, resistanceOhm, standardUncertaintyOhm }) => {
      if (soc === null) return [];
      const resistance = fitted(resistanceOhm, standardUncertaintyOhm, 'Ohm');
      return [{ soc, currentA, loadS, tauS, resistance, ...(slow.length > 0 ? { slow } : {}) }];
    },
  );
  rows.sort((a, b) => a.soc - b.soc);
  return rows.filter((row, i) => i === rows.length - 1 || rows[i + 1].soc - row.soc >= sameSoc);
}

interface ChosenPulse {
  readonly pulse: EvaluatedPulse;
  readonly circuit: CircuitFit;
  readonly soc: number;
}

function choosePulses(pulses: readonly EvaluatedPulse[], ratedCapacityAh: number | null): ChosenPulse[] {
  const usable = pulses.flatMap((pulse) =>
    pulse.circuit === null || pulse.socBefore === null
      ? []
      : [{ pulse, circuit: pulse.circuit, soc: pulse.socBefore }],
  );
  const levels = currentLevels(usable).map(onePerSoc);
  const most = Math.max(0, ...levels.map((level) => level.length));
  const distance = (level: readonly ChosenPulse[]) =>
    ratedCapacityAh === null ? 0 : Math.abs(Math.log(Math.abs(level[0].pulse.currentA) / ratedCapacityAh));
  const covering = levels.filter((level) => level.length >= 0.8 * most);
  return covering.sort((a, b) => distance(a) - distance(b))[0] ?? [];
}

/** The pulses in groups of about the same current: no more than a quarter above the smallest of the group. */
function currentLevels(pulses: readonly ChosenPulse[]): ChosenPulse[][] {
  const size = ({ pulse }: ChosenPulse) => Math.abs(pulse.currentA);
  const levels: ChosenPulse[][] = [];
  for (const pulse of [...pulses].sort((a, b) => size(a) - size(b))) {
    const level = levels[levels.length - 1];
    if (level !== undefined && size(pulse) <= 1.25 * size(level[0])) level.push(pulse);
    else levels.push([pulse]);
  }
  return levels;
}

/** Ascending in SOC; of pulses at one state of charge the longest, of equally long ones the last. */
function onePerSoc(level: readonly ChosenPulse[]): ChosenPulse[] {
  const chosen: ChosenPulse[] = [];
  for (const candidate of [...level].sort((a, b) => a.soc - b.soc || a.pulse.index - b.pulse.index)) {
    const last = chosen.length - 1;
    if (last < 0 || candidate.soc - chosen[last].soc >= sameSoc) chosen.push(candidate);
    else if (candidate.pulse.durationS >= chosen[last].pulse.durationS) chosen[last] = candidate;
  }
  return chosen;
}

/** A branch that may as well be the change of the open-circuit voltage with charge is left out: its value is not known. */
function mayBeOpenCircuit({ conditional }: CircuitFit, name: string): boolean {
  return conditional.some(({ parameter, on }) => parameter === name && on === 'ocv-slope');
}

function circuitRowOf(pulse: EvaluatedPulse, fit: CircuitFit, soc: number): CircuitRow {
  const branches = [
    [fit.r1Ohm, fit.r1StandardErrorOhm, fit.tau1S, fit.tau1StandardErrorS],
    [fit.r2Ohm, fit.r2StandardErrorOhm, fit.tau2S, fit.tau2StandardErrorS],
    [fit.r3Ohm, fit.r3StandardErrorOhm, fit.tau3S, fit.tau3StandardErrorS],
  ]
    .slice(0, fit.branches)
    .filter((_, j) => !mayBeOpenCircuit(fit, `r${j + 1}Ohm`));
  return {
    soc,
    currentA: pulse.currentA,
    ocv: fitted(fit.ocvV, fit.ocvStandardErrorV, 'V'),
    r0: fitted(fit.r0Ohm, fit.r0StandardErrorOhm, 'Ohm'),
    branches: branches.map(([r, rError, tau, tauError]) => ({
      r: fitted(r, rError, 'Ohm'),
      tau: fitted(tau, tauError, 's'),
    })),
    covariance:
      fit.covariance === null
        ? null
        : {
            names: fit.covariance.names.map(parameterName),
            units: fit.covariance.names.map(parameterUnit),
            matrix: fit.covariance.matrix,
          },
  };
}

/** `r1Ohm` becomes `r1`: in this document the unit stands beside the name. */
function parameterName(name: string): string {
  return name.replace(/(VPerAs|Ohm|V|S)$/, '');
}

function parameterUnit(name: string): UcumUnit {
  if (/VPerAs$/.test(name) || /slope/i.test(name)) return 'V/(A.s)';
  if (/^r\d/i.test(name)) return 'Ohm';
  if (/^tau/i.test(name)) return 's';
  return /ocv/i.test(name) ? 'V' : '1';
}

function fitted(value: number | null, standardUncertainty: number | null, unit: UcumUnit): ParameterValue {
  if (value === null) return { value, unit, standardUncertainty: null, reason: 'not-fitted' };
  return {
    value,
    unit,
    standardUncertainty,
    reason: standardUncertainty === null ? 'uncertainty-not-known' : null,
  };
}

/** An open-circuit curve ascending in SOC, each SOC once. */
export function openCircuitRows(curve: OpenCircuitCurve, origin: PulseOrigin): OpenCircuitTable {
  const order = [...curve.soc.keys()].sort((a, b) => curve.soc[a] - curve.soc[b]);
  const rows: OpenCircuitTable['rows'] = [];
  for (const i of order) {
    if (rows.length > 0 && curve.soc[i] - rows[rows.length - 1].soc < 1e-6) continue;
    rows.push({ soc: curve.soc[i], ocv: fitted(curve.ocvV[i], curve.standardUncertaintyV[i], 'V') });
  }
  return {
    source: curve.source,
    temperatureC: origin.temperatureC,
    rows,
    fitId: origin.fitId,
    testId: origin.testId,
  };
}

function mean(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
