import type { EvaluationResult } from '../../../../server/contract/tests.ts';
import { say } from '../../words/i18n.ts';
import { impedanceParameterName } from '../../words/impedance.ts';

export interface KeyFigure {
  readonly name: string;
  readonly unit: string;
  readonly value: number;
}

/** The figures by which two evaluations of one test are compared. */
export function keyFigures(evaluation: EvaluationResult): KeyFigure[] {
  switch (evaluation.kind) {
    case 'pulse':
      return evaluation.result.pulses.flatMap((p) => {
        const at = say('test.pulseIndex', { index: p.index + 1 });
        const figures = p.resistances.map((r) => named(`${at}: R(${r.durationS} s)`, 'Ohm', r.valueOhm));
        const c = p.circuit;
        if (c === null) return figures.flat();
        return [
          ...figures,
          named(`${at}: R0`, 'Ohm', c.r0Ohm),
          named(`${at}: R1`, 'Ohm', c.r1Ohm),
          named(`${at}: tau1`, 's', c.tau1S),
          named(`${at}: R2`, 'Ohm', c.r2Ohm),
          named(`${at}: tau2`, 's', c.tau2S),
          named(say('test.atSocBefore', { at }), say('test.fraction'), p.socBefore),
        ].flat();
      });
    case 'capacity':
      return evaluation.result.runs.flatMap((r) => [
        ...named(say('test.runIndexCapacity', { index: r.index + 1 }), 'Ah', r.capacityAh),
        ...named(say('test.runIndexEnergy', { index: r.index + 1 }), 'Wh', r.energyWh),
      ]);
    case 'impedance':
      return evaluation.result.sweeps.flatMap((s) => {
        const at = say('test.sweepLabel', { label: s.label });
        return [
          ...named(say('test.atZAt1Khz', { at }), 'Ohm', s.at1kHz.magnitudeOhm),
          ...named(say('test.atHighFrequencyIntercept', { at }), 'Ohm', s.intercept.resistanceOhm),
          ...(s.circuit?.parameters ?? []).flatMap((p) =>
            named(`${at}: ${impedanceParameterName(p.name)}`, p.unit, p.value),
          ),
        ];
      });
    case 'rest':
      return named(say('test.drift'), 'mV/d', evaluation.result.driftMvPerDay);
  }
}

function named(name: string, unit: string, value: number | null): KeyFigure[] {
  return value === null ? [] : [{ name, unit, value }];
}

export interface FigureChange {
  readonly name: string;
  readonly unit: string;
  readonly before: number | null;
  readonly after: number | null;
}

/** The figures that differ by more than rounding, or that came or went. */
export function changedFigures(before: EvaluationResult, after: EvaluationResult): FigureChange[] {
  const old = new Map(keyFigures(before).map((f) => [f.name, f]));
  const changes: FigureChange[] = [];
  for (const f of keyFigures(after)) {
    const was = old.get(f.name);
    old.delete(f.name);
    if (was === undefined) changes.push({ name: f.name, unit: f.unit, before: null, after: f.value });
    else if (Math.abs(was.value - f.value) > 1e-9 * Math.max(Math.abs(was.value), Math.abs(f.value))) {
      changes.push({ name: f.name, unit: f.unit, before: was.value, after: f.value });
    }
  }
  for (const f of old.values()) changes.push({ name: f.name, unit: f.unit, before: f.value, after: null });
  return changes;
}
