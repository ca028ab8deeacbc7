import { say } from '../../words/i18n.ts';
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
  if (needsSource && sourceMaxV === null) gaps.push(say('charge.sourceEnterItsHighestVoltage'));
  if (needsSource && sourceMaxA === null) gaps.push(say('charge.sourceEnterItsHighestCurrent'));
  if (inputs.steppedTaper && inputs.sourceStepA === null)
    gaps.push(say('charge.steppedTaperEnterTheCurrentStep'));
  return gaps;
}

function bypassGaps(inputs: StudyInputs): string[] {
  const { bypassCurrentA, bypassOhm, bypassStartV, bypassStopV, bypassAtRest } = inputs;
  const bypass = bypassCurrentA !== null || bypassOhm !== null;
  const gaps: string[] = [];
  if (bypassCurrentA !== null && bypassOhm !== null) gaps.push(say('charge.bypassEnterItsCurrentOrIts'));
  if (bypass && bypassStartV === null) gaps.push(say('charge.bypassEnterTheCellVoltageFrom'));
  if (!bypass && (bypassStartV !== null || bypassStopV !== null || bypassAtRest))
    gaps.push(say('charge.bypassEnterItsCurrentOrResistance'));
  return gaps;
}

function converterGaps(inputs: StudyInputs): string[] {
  const { pathMilliohm, pathFixedLossMilliamp, efficiencyTable, unlikePaths, operatingPoints } = inputs;
  const ways = [
    pathMilliohm !== null || pathFixedLossMilliamp !== null ? say('charge.theResistanceAndFixedLoss') : null,
    efficiencyTable.length > 0 ? say('charge.theEfficiencyPoints') : null,
    operatingPoints.length > 0 ? say('charge.theOperatingPoints') : null,
    unlikePaths.length > 0 ? say('charge.theListOfPaths') : null,
  ].filter((way) => way !== null);
  const gaps: string[] = [];
  if (inputs.ratio === 0 && ways.length > 0) gaps.push(say('charge.converterChooseItsRatioOrEmpty'));
  if (ways.length > 1)
    gaps.push(
      say('charge.converterItsLossesAreGivenTwice', {
        ways: ways.slice(0, -1).join(', '),
        ways2: ways[ways.length - 1],
      }),
    );
  if (efficiencyTable.length === 1) gaps.push(say('charge.efficiencyOfTheFixedRatioEnter'));
  if (operatingPoints.length === 1) gaps.push(say('charge.operatingPointsEnterASecondOne'));
  const byEfficiency = operatingPoints.filter((point) => point.efficiencyPercent !== null).length;
  if (byEfficiency > 0 && byEfficiency < operatingPoints.length)
    gaps.push(say('charge.operatingPointsEnterTheInputOf'));
  operatingPoints.forEach((point, i) => {
    const gap = pointGap(point);
    if (gap !== null) gaps.push(say('charge.operatingPointIGap', { i: i + 1, gap }));
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
  if (outputV === null || outputA === null) return say('charge.enterOutputVoltageAndOutputCurrent');
  const input = inputV !== null || inputA !== null;
  if (input && efficiencyPercent !== null) return say('charge.enterItsInputOrItsEfficiency');
  if (efficiencyPercent !== null) return null;
  return inputV === null || inputA === null ? say('charge.enterInputVoltageAndInputCurrent') : null;
}

function regulatorGaps(inputs: StudyInputs): string[] {
  const { regulatorMaxA, regulatorBelowStackV, regulatorBelowOutputA, ratio } = inputs;
  const gaps: string[] = [];
  if ((regulatorBelowStackV ?? regulatorBelowOutputA) !== null && (regulatorMaxA === null || ratio === 0))
    gaps.push(say('charge.regulatorItTakesOverFromA'));
  if (inputs.regulatorEfficiencyTable.length === 1) gaps.push(say('charge.efficiencyOfTheRegulatorEnterA'));
  return gaps;
}

function stageGaps({ stages }: StudyInputs): string[] {
  return stages.slice(0, -1).flatMap((stage, i) => {
    const ends = [stage.untilSocPercent, stage.untilCellV, stage.untilC, stage.untilMinutes];
    return ends.every((end) => end === null || end === undefined)
      ? [say('charge.stageIEnterUntilWhenIt', { i: i + 1 })]
      : [];
  });
}

function questionGaps(inputs: StudyInputs): string[] {
  const gaps: string[] = [];
  const { heatCapacityJPerK, heatTransferWPerK } = inputs;
  if ((heatCapacityJPerK === null) !== (heatTransferWPerK === null))
    gaps.push(say('charge.heatOfEachCellEnterHeat'));
  if (inputs.stackVoltageLimitV !== null && inputs.watch === 'per-cell')
    gaps.push(say('charge.limitOfTheStackVoltageEach'));
  if (inputs.draws > 0 && inputs.draws < 10) gaps.push(say('charge.drawsForTheUncertainty0Or'));
  if (inputs.rateTable && inputs.rateTableC.length === 0)
    gaps.push(say('charge.ratesOverTemperatureEnterAtLeast'));
  if (inputs.rateTable && inputs.rateTableGrowthPercent.length === 0)
    gaps.push(say('charge.ratesOverResistanceGrowthEnterAt'));
  return gaps;
}
