import type { EvaluatedPulseRecord } from '../../../../server/contract/pulseRecord.ts';
import { heatMapPicture } from '../../charts/heatMap.ts';
import type { Picture, Series } from '../../charts/picture.ts';
import { displayUnit, type UnitChoice } from '../../settings/units.ts';
import { say } from '../../words/i18n.ts';

const shapes = ['circle', 'square', 'triangle', 'diamond', 'cross', 'plus'] as const;

/** Resistance over SOC, one line per duration and direction: colour by duration, dashes for charge. */
export function resistancePicture(result: EvaluatedPulseRecord, units: UnitChoice): Picture {
  const { symbol, factor } = displayUnit('Ohm', units);
  const durations = durationsOf(result);
  const series = durations.flatMap((durationS, ink) =>
    (['discharge', 'charge'] as const).flatMap((direction): Series[] => {
      const points = result.pulses.flatMap((p) => {
        if (p.direction !== direction || p.socBefore === null) return [];
        const found = p.resistances.find((r) => r.durationS === durationS);
        return typeof found?.valueOhm === 'number'
          ? [
              {
                x: p.socBefore * 100,
                y: found.valueOhm * factor,
                name: say('test.pulseIndex', { index: p.index + 1 }),
              },
            ]
          : [];
      });
      return points.length === 0
        ? []
        : [
            {
              name: `R(${durationS} s), ${direction}`,
              points: points.sort((a, b) => a.x - b.x),
              draw: 'line-and-points',
              ink,
              shape: shapes[ink % shapes.length],
              dash: direction === 'charge' ? 'dashed' : 'solid',
            },
          ];
    }),
  );
  return {
    title: say('test.resistanceOverStateOfCharge'),
    x: { label: 'SOC', unit: '%' },
    y: { label: say('test.resistance'), unit: symbol },
    series,
  };
}

/** Discharge resistance as a map over SOC and duration; null where there are too few values for a grid. */
export function resistanceHeatMap(result: EvaluatedPulseRecord, units: UnitChoice): Picture | null {
  const { symbol, factor } = displayUnit('Ohm', units);
  const durations = durationsOf(result);
  const pulses = result.pulses.filter((p) => p.direction === 'discharge' && p.socBefore !== null);
  const bySoc = new Map(pulses.map((p) => [Math.round((p.socBefore ?? 0) * 100), p]));
  if (bySoc.size < 3 || bySoc.size > 30 || durations.length < 2) return null;
  const fields = [...bySoc].flatMap(([soc, p]) =>
    durations.map((durationS, row) => {
      const value = p.resistances.find((r) => r.durationS === durationS)?.valueOhm ?? null;
      return { x: soc, y: row, value: value === null ? null : value * factor };
    }),
  );
  const picture = heatMapPicture(
    say('test.dischargeResistanceSymbolOverSocAnd', { symbol }),
    { label: 'SOC', unit: '%' },
    { label: say('test.duration'), unit: 's' },
    { label: say('test.resistance'), unit: symbol },
    fields,
  );
  return {
    ...picture,
    y: { ...picture.y, ticks: durations.map((d, at) => ({ at, name: String(d) })) },
    areas: picture.areas?.map(({ at, ...area }) =>
      at === undefined ? area : { ...area, at: { x: at.x, y: durations[at.y] } },
    ),
  };
}

/** The durations at which at least one pulse has a resistance. */
export function durationsOf(result: EvaluatedPulseRecord): number[] {
  const found = new Set<number>();
  for (const p of result.pulses) {
    for (const r of p.resistances) if (r.valueOhm !== null) found.add(r.durationS);
  }
  return [...found].sort((a, b) => a - b);
}
