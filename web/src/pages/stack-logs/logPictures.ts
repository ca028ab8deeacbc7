import type { ChargeLogResult } from '../../../../server/contract/chargeLogResult.ts';
import type { StackLogSeries } from '../../../../server/contract/stackLogs.ts';
import type { Picture, Series } from '../../charts/picture.ts';
import { timeUnit } from '../../charts/recordPictures.ts';
import { say } from '../../words/i18n.ts';
import { roleWords } from '../../words/reasons.ts';

type Drawn = ChargeLogResult['series'];

/** Residuals of 1 mV are read in mV. */
const MILLI = 1000;

function timeAxis(timeS: readonly number[]) {
  const last = timeS.at(-1) ?? 0;
  const { unit, divisor } = timeUnit(last - (timeS[0] ?? 0));
  return { x: { label: say('stackLogs.time'), unit }, divisor };
}

function lineOf(
  timeS: readonly number[],
  divisor: number,
  name: string,
  values: readonly number[],
  look: Pick<Series, 'ink' | 'dash'> & Partial<Series>,
): Series {
  return {
    name,
    points: timeS.map((t, i) => ({ x: t / divisor, y: values[i] ?? null })),
    draw: 'line',
    shape: 'none',
    width: 1.6,
    ...look,
  };
}

/** Cell voltages as measured, computed and fitted: colour by cell, dashes by what they are. */
export function voltagePicture({ timeS, cells }: Drawn): Picture {
  const { x, divisor } = timeAxis(timeS);
  return {
    title: say('stackLogs.voltageOfEachCellMeasuredAnd'),
    x,
    y: { label: say('stackLogs.voltage'), unit: 'V' },
    series: cells.flatMap(({ name, measuredV, computedV, fittedV }, k) => [
      lineOf(timeS, divisor, say('stackLogs.nameMeasured', { name }), measuredV, {
        ink: k,
        dash: 'solid',
        width: 2,
      }),
      lineOf(timeS, divisor, say('stackLogs.nameComputed', { name }), computedV, { ink: k, dash: 'dashed' }),
      ...(fittedV === null
        ? []
        : [
            lineOf(timeS, divisor, say('stackLogs.nameFitted', { name }), fittedV, {
              ink: k,
              dash: 'dotted',
            }),
          ]),
    ]),
  };
}

/** Measured minus computed and minus fitted voltage of each cell. */
export function residualPicture({ timeS, cells }: Drawn): Picture {
  const { x, divisor } = timeAxis(timeS);
  const apart = (measured: readonly number[], model: readonly number[]) =>
    measured.map((value, i) => MILLI * (value - model[i]));
  return {
    title: say('stackLogs.measuredMinusComputedVoltage'),
    x,
    y: { label: say('stackLogs.difference'), unit: 'mV' },
    series: cells.flatMap(({ name, measuredV, computedV, fittedV }, k) => [
      lineOf(timeS, divisor, say('stackLogs.nameBeforeTheFit', { name }), apart(measuredV, computedV), {
        ink: k,
        dash: 'solid',
      }),
      ...(fittedV === null
        ? []
        : [
            lineOf(timeS, divisor, say('stackLogs.nameAfterTheFit', { name }), apart(measuredV, fittedV), {
              ink: k,
              dash: 'dotted',
            }),
          ]),
    ]),
    lines: [{ axis: 'y', at: 0, name: '', ink: 7, dash: 'dashed' }],
  };
}

/** Current of the stack, and of the bus where it was logged. */
export function currentPicture({ timeS, currentA, busCurrentA }: Drawn): Picture {
  const { x, divisor } = timeAxis(timeS);
  return {
    title: say('stackLogs.currentPositiveOnCharge'),
    x,
    y: { label: say('stackLogs.current'), unit: 'A' },
    series: [
      lineOf(timeS, divisor, say('stackLogs.stackMeasured'), currentA, { ink: 0, dash: 'solid' }),
      ...measuredAndComputed(timeS, divisor, 'bus', busCurrentA, 1),
    ],
  };
}

/** Voltages of stack and bus; null where neither was logged. */
export function supplyPicture({ timeS, stackVoltageV, busVoltageV }: Drawn): Picture | null {
  if (stackVoltageV === null && busVoltageV === null) return null;
  const { x, divisor } = timeAxis(timeS);
  return {
    title: say('stackLogs.voltageOfStackAndBus'),
    x,
    y: { label: say('stackLogs.voltage'), unit: 'V' },
    series: [
      ...measuredAndComputed(timeS, divisor, 'stack', stackVoltageV, 0),
      ...measuredAndComputed(timeS, divisor, 'bus', busVoltageV, 1),
    ],
  };
}

/** Temperatures of the cells; null where none was logged. */
export function temperaturePicture({ timeS, cells }: Drawn): Picture | null {
  if (cells.every(({ measuredC }) => measuredC === null)) return null;
  const { x, divisor } = timeAxis(timeS);
  return {
    title: say('stackLogs.temperatureOfEachCell'),
    x,
    y: { label: say('stackLogs.temperature'), unit: '°C' },
    series: cells.flatMap(({ name, measuredC, computedC }, k) =>
      measuredAndComputed(
        timeS,
        divisor,
        name,
        measuredC === null ? null : { measured: measuredC, computed: computedC },
        k,
      ),
    ),
  };
}

function measuredAndComputed(
  timeS: readonly number[],
  divisor: number,
  name: string,
  pair: Drawn['busVoltageV'],
  ink: number,
): Series[] {
  if (pair === null) return [];
  return [
    lineOf(timeS, divisor, say('stackLogs.nameMeasured', { name }), pair.measured, { ink, dash: 'solid' }),
    ...(pair.computed === null
      ? []
      : [
          lineOf(timeS, divisor, say('stackLogs.nameComputed', { name }), pair.computed, {
            ink,
            dash: 'dashed',
          }),
        ]),
  ];
}

const kinds = [
  { title: say('stackLogs.voltages'), unit: 'V', label: say('stackLogs.voltage') },
  { title: say('stackLogs.currentsPositiveOnCharge'), unit: 'A', label: say('stackLogs.current') },
  { title: say('stackLogs.temperatures'), unit: '°C', label: say('stackLogs.temperature') },
] as const;

/** A log as it was read, before it is compared: voltages, currents, temperatures. */
export function loggedPictures({ timeS, columns }: StackLogSeries): Picture[] {
  const { x, divisor } = timeAxis(timeS);
  return kinds.flatMap(({ title, unit, label }) => {
    const own = columns.filter((column) => column.unit === unit);
    if (own.length === 0) return [];
    return [
      {
        title,
        x,
        y: { label, unit },
        series: own.map(({ role, values }, i) =>
          lineOf(timeS, divisor, roleWords(role), values, { ink: i, dash: 'solid' }),
        ),
      },
    ];
  });
}
