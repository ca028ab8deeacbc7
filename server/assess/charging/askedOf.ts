import type { ChargeStudyDescription } from '../../contract/chargeStudy.ts';
import type { ChargeStudyResult } from '../../contract/chargeStudyResult.ts';
import type { RatioStageDescription } from '../../contract/chargeSupply.ts';
import { converterOf } from './supplyOf.ts';

type Asked = ChargeStudyResult['asked'];

/** What a description asks, in sentences: the same for page, report and command. */
export function askedOf(description: ChargeStudyDescription): Asked {
  const { source, cable, converter, temperatureZones, stack } = description;
  const asked: Asked = [];
  const say = (about: string, parts: readonly (string | null)[]) =>
    asked.push({ about, text: `${parts.filter((part) => part !== null).join(', ')}.` });
  say('Charge', chargeParts(description));
  say('Cells', cellParts(description));
  const ohm = stack.seriesResistance;
  if (ohm !== undefined)
    say('Stack resistance', [
      `${milli(ohm.toSensePointOhm)} mΩ from the charger to the sense point`,
      `${milli(ohm.beyondSensePointOhm)} mΩ from there to the cells`,
    ]);
  if (stack.bypass?.some((each) => each !== null))
    say(
      'Bypass',
      stack.bypass.map((each, k) =>
        each === null
          ? null
          : `${description.cells[k]?.name ?? k}: ${each.kind === 'current' ? `${each.currentA} A` : `${each.resistanceOhm} Ω`} from ${each.startVoltageV} to ${each.stopVoltageV} V`,
      ),
    );
  if (temperatureZones !== undefined)
    say(
      'Temperature zones',
      temperatureZones.map((zone) =>
        [
          `${zone.fromC} to ${zone.toC} °C:`,
          ...amounts(zone.maxRateC, zone.maxCurrentA),
          zone.maxCellVoltageV === undefined ? '' : `${zone.maxCellVoltageV} V`,
        ]
          .filter((part) => part !== '')
          .join(' '),
      ),
    );
  if (description.questions.monteCarlo !== undefined)
    for (const { name, uncertainty } of description.cells)
      if (Object.keys(uncertainty ?? {}).length > 0)
        say(`Uncertainty of ${name}`, uncertaintyParts(uncertainty ?? {}));
  if (source !== undefined)
    say('Source', [
      `${source.minVoltageV === 0 ? 'up to' : `${source.minVoltageV} to`} ${source.maxVoltageV} V`,
      `${source.maxCurrentA} A`,
      source.maxPowerW === undefined ? null : `${source.maxPowerW} W`,
      source.voltageStepV === undefined ? null : `steps of ${source.voltageStepV} V`,
      source.currentStepA === undefined ? null : `steps of ${source.currentStepA} A`,
    ]);
  if (cable !== undefined)
    say('Cable', [
      `${milli(cable.resistanceOhm)} mΩ`,
      cable.maxCurrentA === undefined ? null : `up to ${cable.maxCurrentA} A`,
    ]);
  if (converter?.ratioStage !== undefined) say('Converter', stageParts(converter.ratioStage));
  if (converter?.regulator !== undefined) {
    const { kind, maxOutputCurrentA, inputVoltageV, headroomV, efficiency } = converter.regulator;
    say('Regulator', [
      kind,
      `up to ${maxOutputCurrentA} A`,
      `from ${inputVoltageV} V with ${headroomV} V between input and output`,
      efficiencyText(efficiency),
    ]);
  }
  return asked;
}

function chargeParts({ phases, stack, zoneHysteresisK, temperatureZones }: ChargeStudyDescription) {
  const { precharge, stages, end } = phases;
  const until = ({ until }: (typeof stages)[number]) => {
    if (until === undefined) return '';
    const ends = [
      until.socAtLeast === undefined ? [] : [`${100 * until.socAtLeast} % SOC`],
      until.cellVoltageAtLeastV === undefined ? [] : [`${until.cellVoltageAtLeastV} V`],
      until.temperatureAtLeastC === undefined ? [] : [`${until.temperatureAtLeastC} °C`],
      until.durationS === undefined ? [] : [`${until.durationS} s`],
    ].flat();
    return ends.length === 0 ? '' : ` until ${ends.join(' or ')}`;
  };
  return [
    precharge === undefined
      ? null
      : `precharge ${amounts(precharge.rateC, precharge.currentA).join(' ')} below ${precharge.belowCellVoltageV} V`,
    stages.map((stage) => `${amounts(stage.rateC, stage.currentA).join(' ')}${until(stage)}`).join(', then '),
    `complete at ${end === undefined ? '0.05 C' : amounts(end.rateC, end.currentA).join(' ')}`,
    phases.taper === 'stepped' ? 'taper in steps of the source' : null,
    stack.watch === 'per-cell' ? 'each cell watched' : 'only the stack watched',
    `ambient ${stack.ambientTemperatureC} °C`,
    temperatureZones === undefined ? null : `zone hysteresis ${zoneHysteresisK} K`,
  ];
}

function cellParts({ cells, stack }: ChargeStudyDescription) {
  const limits = cells.map(({ name, startSoc, datasheet }) => {
    const voltage = Math.min(datasheet.maxVoltageV, stack.cellVoltageLimitV ?? Number.POSITIVE_INFINITY);
    return `${name} from ${Number((100 * startSoc).toFixed(2))} % SOC to ${voltage} V, rated ${datasheet.maxChargeCurrentA} A`;
  });
  return [...limits, stack.maxTemperatureC === undefined ? null : `at most ${stack.maxTemperatureC} °C`];
}

function uncertaintyParts(
  of: NonNullable<ChargeStudyDescription['cells'][number]['uncertainty']>,
): (string | null)[] {
  const share = (value: number | undefined, what: string) =>
    value === undefined ? null : `${what} ${Number((100 * value).toPrecision(2))} %`;
  return [
    share(of.capacityRelative, 'capacity'),
    share(of.r0Relative, 'R0'),
    share(of.branchRelative, 'branches'),
    of.r0BranchCorrelation === undefined
      ? null
      : `these two correlated by ${of.r0BranchCorrelation.toFixed(2)}`,
    of.ocvV === undefined ? null : `open-circuit voltage ${milli(of.ocvV)} mV`,
    share(of.startSoc, 'start SOC'),
    of.startTemperatureK === undefined ? null : `start temperature ${of.startTemperatureK} K`,
    share(of.heatCapacityRelative, 'heat capacity'),
    share(of.heatTransferRelative, 'heat transfer'),
  ];
}

function stageParts(stage: RatioStageDescription): (string | null)[] {
  const model = converterOf({ ratioStage: stage }).ratioStage;
  const paths = model?.paths ?? [];
  const alike = typeof stage.paths === 'number';
  return [
    stage.ratio === 1 ? 'direct' : `divides by ${stage.ratio}`,
    ...(alike ? paths.slice(0, 1) : paths).map(({ maxCurrentA, outputResistanceOhm, fixedLossCurrentA }, p) =>
      [
        alike ? `${paths.length} ${paths.length === 1 ? 'path' : 'paths'} of` : `path ${p + 1}:`,
        `${maxCurrentA} A`,
        ...(stage.efficiency === undefined
          ? [`${milli(outputResistanceOhm)} mΩ`, `${milli(fixedLossCurrentA)} mA fixed loss`]
          : []),
      ].join(' '),
    ),
    stage.operatingPoints === undefined
      ? null
      : `from ${stage.operatingPoints.points.length} measured operating points`,
    stage.efficiency === undefined ? null : efficiencyText(stage.efficiency),
    stage.minStackVoltageV === undefined ? null : `from ${stage.minStackVoltageV} V of the stack on`,
    stage.minOutputCurrentA === undefined ? null : `down to ${stage.minOutputCurrentA} A`,
  ];
}

function efficiencyText(efficiency: NonNullable<RatioStageDescription['efficiency']>): string {
  if (typeof efficiency === 'number') return `efficiency ${Number((100 * efficiency).toFixed(3))} %`;
  const { outputCurrentA, of } = efficiency;
  return `efficiency from a table of ${outputCurrentA.length} currents${of === 'one-path' ? ' of one path' : ''}`;
}

function amounts(rateC: number | undefined, currentA: number | undefined): string[] {
  return [
    ...(rateC === undefined ? [] : [`${rateC} C`]),
    ...(currentA === undefined ? [] : [`${currentA} A`]),
  ];
}

function milli(value: number): number {
  return Number((1000 * value).toPrecision(4));
}
