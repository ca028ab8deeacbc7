import type { Context } from '../server/context.ts';
import { ageingSettings } from '../server/contract/ageingAssessment.ts';
import { chargeQuestions } from '../server/contract/chargeStudy.ts';
import { createExport as exportRequest } from '../server/contract/exports.ts';
import type { Lot } from '../server/contract/lots.ts';
import { pairingCriteria } from '../server/contract/pairingCriteria.ts';
import type { StoredPairing } from '../server/contract/pairings.ts';
import { cautionsFor } from '../server/export/cautions.ts';
import { inOrder } from '../server/inOrder.ts';
import { listChemistries } from '../server/store/chemistries.ts';
import { assessAgeing } from '../server/use-cases/ageing/assessAgeing.ts';
import { draftChargeStudy } from '../server/use-cases/charging/draftChargeStudy.ts';
import { keepChargeStudy } from '../server/use-cases/charging/keepChargeStudy.ts';
import { readChargeStudy } from '../server/use-cases/charging/readChargeStudy.ts';
import { evaluateLot } from '../server/use-cases/evaluation/evaluateLot.ts';
import { createExport } from '../server/use-cases/exports/createExport.ts';
import { judgeLot } from '../server/use-cases/lots/judgeLot.ts';
import { studyGauge } from '../server/use-cases/lots/studyGauge.ts';
import { decidePair } from '../server/use-cases/pairing/decidePair.ts';
import { runPairing } from '../server/use-cases/pairing/runPairing.ts';
import { createCellType } from '../server/use-cases/register/createCellType.ts';
import { createLot } from '../server/use-cases/register/createLot.ts';
import { findWarningSigns } from '../server/use-cases/register/findWarningSigns.ts';
import { changeStack } from '../server/use-cases/stacks/changeStack.ts';
import { planStack } from '../server/use-cases/stacks/planStack.ts';
import { assessTemperature } from '../server/use-cases/temperature/assessTemperature.ts';
import { finishJobs } from './finishJobs.ts';
import { scenario } from './scenario.ts';
import { takeFile } from './takeFile.ts';
import { writeCycling, writeDemonstration } from './writeFiles.ts';

type Print = (line: string) => void;

/** How many of the best pairs become stacks whose cycling is shown. */
const STACKS_BUILT = 3;

/** Import, evaluate, judge, pair, build, follow, export: the whole way, through the same use cases as a user's. */
export async function runMainJob(context: Context, folder: string, print: Print): Promise<void> {
  const lot = await createDemonstrationLot(context);
  const files = writeDemonstration(folder);
  print(
    `Demonstration lot "${lot.name}" (everything in it is invented): ${files.length} raw files in ${folder}`,
  );
  for (const file of files) await takeFile(context, lot, file);
  const evaluation = await evaluateLot(context, lot.id, { onlyNotEvaluated: true });
  print(
    `${scenario.cellCount} cells; ${evaluation.evaluated} tests evaluated, ${evaluation.failed.length} refused.`,
  );
  for (const failure of evaluation.failed) print(`  ${failure.reason}`);
  await printJudgement(context, lot, print);
  await followTemperature(context, lot, print);
  const pairing = await pairLot(context, lot, print);
  const stackIds = await buildStacks(context, pairing, print);
  // Before the cells have aged: later their capacity would be that of the last cycle and their resistances those of new cells.
  const studyId = await studyStack(context, stackIds[0], print);
  await takeFile(context, lot, writeCycling(folder, cyclingCells(pairing)));
  await followAgeing(context, lot, print);
  await exportResults(context, lot, pairing, stackIds, studyId, print);
  for (const { text } of cautionsFor([])) print(text);
}

async function createDemonstrationLot(context: Context): Promise<Lot> {
  const chemistry = (await listChemistries(context.store)).find((known) => known.name === 'NMC / graphite');
  if (!chemistry) throw new Error('The chemistry NMC / graphite is missing from the database.');
  const cellType = await createCellType(context, {
    name: scenario.cellType,
    maker: scenario.maker,
    chemistryId: chemistry.id,
    ratedCapacityAh: scenario.ratedCapacityAh,
    chargeVoltageLimitV: scenario.chargeVoltageLimitV,
    dischargeCutoffV: scenario.dischargeCutoffV,
    maxChargeCurrentA: scenario.maxChargeCurrentA,
    maxDischargeCurrentA: 11,
    taperCurrentA: 0.11,
    chargeTemperatureMinC: 0,
    chargeTemperatureMaxC: 45,
    chargeZones: [],
    massG: 41.6,
    heatCapacityJPerK: 40,
    heatTransferWPerK: 0.09,
    capacityMinAh: 2.2,
    resistanceMaxOhm: 0.04,
    resistanceDurationS: 10,
    referenceTemperatureC: scenario.temperatureC,
    referenceSoc: 0.5,
    datasheet: 'Invented for the demonstration.',
  });
  return createLot(context, {
    name: scenario.lot,
    cellTypeId: cellType.id,
    receivedOn: scenario.receivedOn,
    note: 'Demonstration: invented maker, part and measurements.',
  });
}

/** The two resistances that pairing and fixture are judged by. */
const PULSE_COLUMN = 'resistance/10s/discharge/soc50';

/** How the resistances depend on temperature; with it those measured beside 25 °C can be carried there. */
async function followTemperature(context: Context, lot: Lot, print: Print): Promise<void> {
  const { dependence } = await assessTemperature(context, lot.cellTypeId);
  for (const key of [PULSE_COLUMN, 'r0/discharge/soc50']) {
    const law = dependence.laws.find((one) => one.key === key);
    if (!law) throw new Error(`${key} has no temperature law.`);
    print(
      `  ${key} over ${law.lowestC.toFixed(0)} to ${law.highestC.toFixed(0)} °C: ${(law.activationJPerMol / 1000).toFixed(1)} kJ/mol (${law.cells} cells, ${law.readings} readings)`,
    );
  }
}

async function printJudgement(context: Context, lot: Lot, print: Print): Promise<void> {
  for (const column of (await judgeLot(context, lot.id)).columns) {
    const outliers = column.outliers.map((outlier) => outlier.serial).join(', ');
    print(
      `  ${column.key}: ${column.n} cells, median ${column.median?.toPrecision(4)} ${column.unit}${outliers ? `, outliers ${outliers}` : ''}`,
    );
  }
  for (const key of [`${PULSE_COLUMN}/25C`, 'impedance-1khz/25C']) {
    const { verdict, ratio, cells, trials } = await studyGauge(context, lot.id, key);
    print(
      `  ${key}, gauge study of ${cells.length} cells, ${trials} insertions each: ${verdict}, repeatability ${(100 * (ratio ?? Number.NaN)).toFixed(0)} % of the spread`,
    );
  }
  for (const sign of await findWarningSigns(context, lot.id)) {
    const value = sign.value === null ? '' : ` ${sign.value.toPrecision(3)} ${sign.unit}`;
    print(`  ${sign.serial} is not offered for pairing: ${sign.code}${value}`);
  }
}

async function pairLot(context: Context, lot: Lot, print: Print): Promise<StoredPairing> {
  const pairing = await runPairing(context, {
    lotIds: [lot.id],
    cellIds: [],
    criteria: pairingCriteria.parse({
      name: 'capacity and resistance at 10 s',
      features: [
        {
          name: 'capacity',
          quantity: 'capacity',
          tolerance: { kind: 'percent', value: 1 },
          pairLimit: { kind: 'percent', value: 2 },
        },
        {
          name: 'resistance at 10 s',
          quantity: 'resistance',
          condition: { durationS: 10, soc: 0.5, temperatureC: scenario.temperatureC, direction: 'discharge' },
          tolerance: { kind: 'percent', value: 5 },
          pairLimit: { kind: 'percent', value: 10 },
        },
      ],
      outlierLimit: 3.5,
      use: { chargeCurrentA: scenario.ratedCapacityAh },
    }),
  });
  const { result } = pairing;
  print(
    `${pairing.pairs.length} pairs, total cost ${result.totalCost.toPrecision(4)}${result.certificate.proven ? ', proven to be the least' : ''}:`,
  );
  for (const pair of pairing.pairs)
    print(`  ${pair.cells.map((cell) => cell.serial).join(' + ')}  ${pair.cost.toPrecision(3)}`);
  for (const left of result.unpaired) print(`  ${left.cell} left over: ${left.reason}`);
  return pairing;
}

/** Accepts all pairs; the best become stacks. */
async function buildStacks(context: Context, pairing: StoredPairing, print: Print): Promise<number[]> {
  for (const pair of pairing.pairs)
    await decidePair(context, pair.id, pair.version, { state: 'accepted', reason: null });
  return await inOrder(bestPairs(pairing), async (pair, index) => {
    const stack = await planStack(context, { pairId: pair.id, name: `Stack ${index + 1}`, note: '' });
    const dueMs = context.now().getTime() + 90 * 86_400_000;
    const built = await changeStack(context, stack.id, stack.version, {
      state: 'built',
      checkUpDueAt: new Date(dueMs).toISOString(),
    });
    print(`${built.name} built of ${built.cells.map((cell) => cell.serial).join(' and ')}.`);
    return built.id;
  });
}

/** Fade and resistance rise of the cycled cells, with the forecast of when a limit is reached. */
async function followAgeing(context: Context, lot: Lot, print: Print): Promise<void> {
  const assessed = await assessAgeing(context, lot.id, ageingSettings.parse({ quantity: 'capacity' }));
  print(`Ageing: ${assessed.cells} cells followed.`);
}

/** A temperature below the cells' limit, so that the search has something to find. */
const WANTED_PEAK_C = 35;

/**
 * How the first stack charges at 1 C, what watching only the stack's voltage would do to its cells, and how fast it may be
 * charged where it is to stay cooler than the datasheet asks.
 */
async function studyStack(context: Context, stackId: number, print: Print): Promise<number> {
  const draft = await draftChargeStudy(context, { stackId });
  const kept = await keepChargeStudy(context, {
    name: 'Stack 1 at 1 C',
    stackId,
    description: {
      ...draft.description,
      questions: chargeQuestions.parse({
        seriesStepS: 10,
        stackOnly: true,
        rateSearch: { maxTemperatureC: WANTED_PEAK_C },
        stagedProfile: { maxTemperatureC: WANTED_PEAK_C },
        rateTable: { temperatureC: [20, 25, 30, 35, 40] },
      }),
    },
  });
  await finishJobs(context);
  const { result } = await readChargeStudy(context, kept.id);
  if (!result) throw new Error('The charge study has no result.');
  print(
    `Charge study "${kept.name}": full after ${(result.endTimeS / 60).toFixed(1)} min (${result.endReason}).`,
  );
  return kept.id;
}

function bestPairs(pairing: StoredPairing): StoredPairing['pairs'] {
  return [...pairing.pairs].sort((a, b) => a.cost - b.cost).slice(0, STACKS_BUILT);
}

function cyclingCells(pairing: StoredPairing): string[] {
  return bestPairs(pairing).flatMap((pair) => pair.cells.map((cell) => cell.serial));
}

async function exportResults(
  context: Context,
  lot: Lot,
  pairing: StoredPairing,
  stackIds: readonly number[],
  studyId: number,
  print: Print,
): Promise<void> {
  const wanted = [
    { format: 'parameters-json', subjectKind: 'lot', subjectId: lot.id },
    { format: 'csv-package', subjectKind: 'lot', subjectId: lot.id },
    { format: 'parameters-json', subjectKind: 'cell', subjectId: pairing.pairs[0].cells[0].id },
    { format: 'parameters-json', subjectKind: 'pair', subjectId: pairing.pairs[0].id },
    { format: 'charge-profile-csv', subjectKind: 'charge-study', subjectId: studyId },
    ...stackIds
      .slice(0, 1)
      .flatMap((subjectId) => [
        { format: 'spice-subcircuit', subjectKind: 'stack', subjectId } as const,
        { format: 'c-header', subjectKind: 'stack', subjectId } as const,
      ]),
  ] as const;
  for (const request of wanted) {
    const made = await createExport(context, exportRequest.parse(request));
    print(`Exported ${made.fileName} (${made.bytes} bytes): on the page of exports`);
  }
}
