import type { OperatingPointInput, StudyInputs } from './studyInputs.ts';

/**
 * What was entered and would not count, in sentences with what to do; empty where every entry counts. A study is computed
 * only then.
 */
export function inputGaps(inputs: StudyInputs): string[] {
  return [
    ...sourceGaps(inputs),
    ...bypassGaps(inputs),
    ...converterGaps(inputs),
    ...regulatorGaps(inputs),
    ...stageGaps(inputs),
    ...questionGaps(inputs),
  ];
}

function sourceGaps(inputs: StudyInputs): string[] {
  const { sourceMaxV, sourceMaxA, ratio, regulatorMaxA } = inputs;
  const gaps: string[] = [];
  const needsSource =
    ratio !== 0 ||
    inputs.steppedTaper ||
    [
      inputs.sourceMinV,
      sourceMaxV,
      sourceMaxA,
      inputs.sourceMaxW,
      inputs.sourceStepA,
      inputs.sourceStepV,
      inputs.cableMilliohm,
      inputs.cableMaxA,
      regulatorMaxA,
    ].some((value) => value !== null);
  if (needsSource && sourceMaxV === null) gaps.push('Source: enter its highest voltage.');
  if (needsSource && sourceMaxA === null) gaps.push('Source: enter its highest current.');
  if (inputs.steppedTaper && inputs.sourceStepA === null)
    gaps.push('Stepped taper: enter the current step of the source.');
  return gaps;
}

function bypassGaps(inputs: StudyInputs): string[] {
  const { bypassCurrentA, bypassOhm, bypassStartV, bypassStopV, bypassAtRest } = inputs;
  const bypass = bypassCurrentA !== null || bypassOhm !== null;
  const gaps: string[] = [];
  if (bypassCurrentA !== null && bypassOhm !== null)
    gaps.push('Bypass: enter its current or its resistance, not both.');
  if (bypass && bypassStartV === null) gaps.push('Bypass: enter the cell voltage from which it works.');
  if (!bypass && (bypassStartV !== null || bypassStopV !== null || bypassAtRest))
    gaps.push('Bypass: enter its current or resistance, or empty its voltages.');
  return gaps;
}

function converterGaps(inputs: StudyInputs): string[] {
  const { pathMilliohm, pathFixedLossMilliamp, efficiencyTable, unlikePaths, operatingPoints } = inputs;
  const ways = [
    pathMilliohm !== null || pathFixedLossMilliamp !== null ? 'the resistance and fixed loss' : null,
    efficiencyTable.length > 0 ? 'the efficiency points' : null,
    operatingPoints.length > 0 ? 'the operating points' : null,
    unlikePaths.length > 0 ? 'the list of paths' : null,
  ].filter((way) => way !== null);
  const gaps: string[] = [];
  if (inputs.ratio === 0 && ways.length > 0) gaps.push('Converter: choose its ratio, or empty its losses.');
  if (ways.length > 1)
    gaps.push(
      `Converter: its losses are given twice; empty ${ways.slice(0, -1).join(', ')} or ${ways[ways.length - 1]}.`,
    );
  if (efficiencyTable.length === 1)
    gaps.push('Efficiency of the fixed ratio: enter a second point, or remove the first.');
  if (operatingPoints.length === 1)
    gaps.push(
      'Operating points: enter a second one, or remove the first; two tell resistance and fixed loss apart.',
    );
  const byEfficiency = operatingPoints.filter((point) => point.efficiencyPercent !== null).length;
  if (byEfficiency > 0 && byEfficiency < operatingPoints.length)
    gaps.push('Operating points: enter the input of all of them, or the efficiency of all.');
  operatingPoints.forEach((point, i) => {
    const gap = pointGap(point);
    if (gap !== null) gaps.push(`Operating point ${i + 1}: ${gap}.`);
  });
  return gaps;
}

function pointGap({
  outputV,
  outputA,
  inputV,
  inputA,
  efficiencyPercent,
}: OperatingPointInput): string | null {
  if (outputV === null || outputA === null) return 'enter output voltage and output current';
  const input = inputV !== null || inputA !== null;
  if (input && efficiencyPercent !== null) return 'enter its input or its efficiency, not both';
  if (efficiencyPercent !== null) return null;
  return inputV === null || inputA === null
    ? 'enter input voltage and input current, or the efficiency'
    : null;
}

function regulatorGaps(inputs: StudyInputs): string[] {
  const { regulatorMaxA, regulatorBelowStackV, regulatorBelowOutputA, ratio } = inputs;
  const gaps: string[] = [];
  if ((regulatorBelowStackV ?? regulatorBelowOutputA) !== null && (regulatorMaxA === null || ratio === 0))
    gaps.push(
      'Regulator: it takes over from a fixed ratio; choose a ratio and enter what the regulator gives.',
    );
  if (inputs.regulatorEfficiencyTable.length === 1)
    gaps.push('Efficiency of the regulator: enter a second point, or remove the first.');
  return gaps;
}

function stageGaps({ stages }: StudyInputs): string[] {
  return stages.slice(0, -1).flatMap((stage, i) => {
    const ends = [stage.untilSocPercent, stage.untilCellV, stage.untilC, stage.untilMinutes];
    return ends.every((end) => end === null || end === undefined)
      ? [`Stage ${i + 1}: enter until when it runs; the next one would never begin.`]
      : [];
  });
}

function questionGaps(inputs: StudyInputs): string[] {
  const gaps: string[] = [];
  const { heatCapacityJPerK, heatTransferWPerK } = inputs;
  if ((heatCapacityJPerK === null) !== (heatTransferWPerK === null))
    gaps.push('Heat of each cell: enter heat capacity and heat transfer, or neither.');
  if (inputs.stackVoltageLimitV !== null && inputs.watch === 'per-cell')
    gaps.push('Limit of the stack voltage: each cell is watched; empty it, or watch the stack only.');
  if (inputs.draws > 0 && inputs.draws < 10) gaps.push('Draws for the uncertainty: 0, or at least 10.');
  if (inputs.rateTable && inputs.rateTableC.length === 0)
    gaps.push('Rates over temperature: enter at least one temperature.');
  if (inputs.rateTable && inputs.rateTableGrowthPercent.length === 0)
    gaps.push('Rates over resistance growth: enter at least one growth; 0 is new.');
  return gaps;
}
