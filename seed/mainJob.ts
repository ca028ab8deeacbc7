import type { Context } from '../server/context.ts';
import type { ImportReport } from '../server/contract/import.ts';
import type { Lot } from '../server/contract/lots.ts';
import { listChemistries } from '../server/store/chemistries.ts';
import { findTest } from '../server/store/tests.ts';
import { changeTest } from '../server/use-cases/changeTest.ts';
import { createCellType } from '../server/use-cases/createCellType.ts';
import { createLot } from '../server/use-cases/createLot.ts';
import { evaluateLot } from '../server/use-cases/evaluateLot.ts';
import { findWarningSigns } from '../server/use-cases/findWarningSigns.ts';
import { importFile } from '../server/use-cases/importFile.ts';
import { judgeLot } from '../server/use-cases/judgeLot.ts';
import { fileOnDisk } from './loadDemonstration.ts';
import { scenario } from './scenario.ts';
import { type DemonstrationFile, writeDemonstration } from './writeFiles.ts';

/** Import, evaluate, judge, pair, build, follow, study, export: the whole way, through the same use cases as a user's. */
export async function runMainJob(
  context: Context,
  folder: string,
  print: (line: string) => void,
): Promise<void> {
  const lot = await createDemonstrationLot(context);
  const files = writeDemonstration(folder);
  print(
    `Demonstration lot "${lot.name}" (everything in it is invented): ${files.length} raw files in ${folder}`,
  );
  for (const file of files) await take(context, lot, file);
  const evaluation = await evaluateLot(context, lot.id, { onlyNotEvaluated: true });
  print(`Evaluated ${evaluation.evaluated} tests; ${evaluation.failed.length} refused.`);
  for (const failure of evaluation.failed) print(`  ${failure.reason}`);
  report(context, lot, print);
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

/** Imports one file; a record whose voltage contradicts its current's sign is taken with the sign turned. */
async function take(context: Context, lot: Lot, file: DemonstrationFile): Promise<void> {
  const report = await importFile(
    context,
    fileOnDisk(file.path),
    {
      lot: lot.name,
      kind: file.kind,
      ...(file.testKind === null ? {} : { testKind: file.testKind }),
      ...(file.serial === null ? {} : { cell: file.serial }),
      temperatureC: scenario.temperatureC,
    },
    'demonstration',
  );
  if (report.state !== 'taken')
    throw new Error(`${report.fileName} was refused: ${report.refusal?.reason ?? 'no reason'}`);
  if (file.testKind === 'pulse') await describePulseTests(context, report);
}

/** The pulse records begin full and were taken through two wires, whose contacts are known. */
async function describePulseTests(context: Context, report: ImportReport): Promise<void> {
  for (const { testId } of report.runs) {
    const test = testId === null ? null : findTest(context.store, testId);
    if (!test) continue;
    await changeTest(context, test.id, test.version, {
      startSoc: 1,
      fixtureOhm: scenario.fixtureOhm,
      fixtureUncertaintyOhm: scenario.fixtureUncertaintyOhm,
    });
  }
}

function report(context: Context, lot: Lot, print: (line: string) => void): void {
  for (const column of judgeLot(context, lot.id).columns) {
    const outliers = column.outliers.map((outlier) => outlier.serial).join(', ');
    print(
      `  ${column.key}: ${column.n} cells, median ${column.median?.toPrecision(4)} ${column.unit}${outliers ? `, outliers ${outliers}` : ''}`,
    );
  }
  for (const sign of findWarningSigns(context, lot.id)) {
    print(
      `  ${sign.serial} is not offered for pairing: ${sign.code}${sign.value === null ? '' : ` ${sign.value.toPrecision(3)} ${sign.unit}`}`,
    );
  }
}
