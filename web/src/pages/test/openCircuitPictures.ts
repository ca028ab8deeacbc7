import type { OpenCircuitCurve } from '../../../../server/contract/openCircuit.ts';
import type { Picture, Series } from '../../charts/picture.ts';
import { say } from '../../words/i18n.ts';

/** An open-circuit curve with its uncertainty as a band, and both directions where they were averaged. */
export function openCircuitPicture(curve: OpenCircuitCurve): Picture {
  const at = (values: readonly number[]) => curve.soc.map((s, i) => ({ x: s * 100, y: values[i] }));
  return {
    title: say('test.openCircuitVoltageOverStateOf'),
    x: { label: 'SOC', unit: '%' },
    y: { label: 'OCV', unit: 'V' },
    series: [
      {
        name: say('test.n95IntervalUpper'),
        points: at(curve.ocvV.map((v, i) => v + 1.96 * curve.standardUncertaintyV[i])),
        draw: 'line',
        ink: 0,
        shape: 'none',
        width: 0.5,
        quiet: true,
      },
      {
        name: say('test.n95Interval'),
        points: at(curve.ocvV.map((v, i) => v - 1.96 * curve.standardUncertaintyV[i])),
        draw: 'line',
        ink: 0,
        shape: 'none',
        width: 0.5,
        fillTo: 0,
        fillStrength: 0.25,
      },
      {
        name: say('test.ocvFromSource', { source: curve.source.replace('-', ' ') }),
        points: at(curve.ocvV),
        draw: curve.soc.length > 30 ? 'line' : 'line-and-points',
        ink: 0,
      },
      ...branches(curve),
    ],
  };
}

/** Slow charge above and slow discharge below their mean: the gap is hysteresis and what polarisation is left. */
function branches(curve: OpenCircuitCurve): Series[] {
  const gaps = curve.hysteresisV;
  if (gaps.every((gap) => gap === null)) return [];
  const branch = (name: string, sign: 1 | -1, dash: 'dashed' | 'dotted'): Series => ({
    name,
    points: curve.soc.map((s, i) => {
      const gap = gaps[i];
      return { x: s * 100, y: gap === null ? null : curve.ocvV[i] + (sign * gap) / 2 };
    }),
    draw: 'line',
    ink: sign > 0 ? 1 : 2,
    shape: 'none',
    dash,
  });
  return [branch(say('test.slowCharge'), 1, 'dashed'), branch(say('test.slowDischarge'), -1, 'dotted')];
}

/** dOCV/dSOC over SOC: where it is small, a voltage says little about the state of charge. */
export function slopePicture(curve: OpenCircuitCurve): Picture {
  return {
    title: say('test.slopeOfTheOpenCircuitVoltage'),
    x: { label: 'SOC', unit: '%' },
    y: { label: 'dOCV/dSOC', unit: 'mV/%', min: 0 },
    series: [
      {
        name: 'dOCV/dSOC',
        points: curve.soc.map((s, i) => ({ x: s * 100, y: curve.slopeV[i] * 10 })),
        draw: curve.soc.length > 30 ? 'line' : 'line-and-points',
        ink: 0,
      },
    ],
  };
}
