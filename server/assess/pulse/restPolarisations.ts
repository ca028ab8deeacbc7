import { loadPolarisation, type RestAfterLoad, slowRelaxation } from '../../../fitting/open-circuit/index.ts';
import type { EvaluatedPulseRecord } from '../../contract/pulseRecord.ts';
import type { PulseFindings } from './pulseFindings.ts';

/** A load and a rest must last so long for what is slower than a pulse to build up and to be seen going. */
const SHORTEST_LOAD_S = 300;
const SHORTEST_REST_S = 900;

/** The polarisation that each long steady load had built up, where a long rest follows it. */
export function presentRestPolarisations({
  record,
  finding,
  soc,
}: PulseFindings): EvaluatedPulseRecord['restPolarisations'] {
  const { timeS, voltageV, currentA } = record;
  const { steps, voltageResolutionV, voltageNoiseV } = finding;
  const errorV = Math.max(voltageNoiseV, voltageResolutionV / Math.sqrt(12));
  const rests: RestAfterLoad[] = [];
  let beforeEndS: number | null = null;
  const polarisations = steps.flatMap((step, stepIndex) => {
    const load = steps[stepIndex - 1];
    if (load === undefined || step.kind !== 'rest' || load.kind !== 'constant-current') return [];
    if (step.clockRestarted) beforeEndS = null;
    if (step.clockRestarted || load.end !== step.start) return [];
    const endS = timeS[load.end - 1];
    const [loadS, restS] = [endS - timeS[load.start], timeS[step.end - 1] - endS];
    if (loadS < SHORTEST_LOAD_S || restS < SHORTEST_REST_S) return [];
    // A last row between load and rest belongs to neither.
    let last = load.end - 1;
    while (last > load.start && Math.abs(currentA[last] - load.currentA) > 0.02 * Math.abs(load.currentA))
      last--;
    const since = timeS.subarray(step.start, step.end).map((time) => time - endS);
    const voltages = voltageV.subarray(step.start, step.end);
    const found = loadPolarisation(since, voltages, voltageV[last], load.currentA, errorV);
    if (found === null) return [];
    const sinceBeforeS = beforeEndS === null ? null : timeS[load.start] - beforeEndS;
    rests.push({ timeS: since, voltageV: voltages, currentA: load.currentA, loadS, sinceBeforeS });
    beforeEndS = endS;
    return [
      {
        stepIndex,
        soc: soc.socAt(step.end - 1),
        temperatureC: record.temperatureC?.[step.end - 1] ?? null,
        currentA: load.currentA,
        loadS,
        restS,
        ...found,
      },
    ];
  });
  const terms = slowRelaxation(rests, errorV);
  return polarisations.map((one, k) => ({
    ...one,
    slow: terms.map(({ tauS, resistanceOhm }) => ({ tauS, resistanceOhm: resistanceOhm[k] })),
  }));
}
