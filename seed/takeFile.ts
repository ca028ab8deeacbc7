import { readFileSync } from 'node:fs';
import { basename } from 'node:path';
import type { Context } from '../server/context.ts';
import type { ImportOptions, ImportReport } from '../server/contract/import.ts';
import type { Lot } from '../server/contract/lots.ts';
import { findTest } from '../server/store/tests.ts';
import { changeTest } from '../server/use-cases/evaluation/changeTest.ts';
import { importFile } from '../server/use-cases/imports/importFile.ts';
import { fileOnDisk } from '../server/use-cases/imports/importFiles.ts';
import { previewImport } from '../server/use-cases/imports/previewImport.ts';
import { scenario } from './scenario.ts';
import type { DemonstrationFile } from './writeFiles.ts';

/** Imports one file as a careful user would: looks at the preview first, and turns the sign where it is contradicted. */
export async function takeFile(context: Context, lot: Lot, file: DemonstrationFile): Promise<ImportReport> {
  const options: ImportOptions = {
    lot: lot.name,
    kind: file.kind,
    ...(file.testKind === null ? {} : { testKind: file.testKind }),
    ...(file.serial === null ? {} : { cell: file.serial }),
    temperatureC: file.temperatureC,
  };
  const preview = await previewImport(context, basename(file.path), readFileSync(file.path), true, options);
  const report = await importFile(
    context,
    fileOnDisk(file.path),
    preview.signCheck?.verdict === 'reversed' ? { ...options, currentSign: 'discharge-positive' } : options,
    'demonstration',
  );
  if (report.state !== 'taken') {
    throw new Error(`${report.fileName} was refused: ${report.refusal?.reason ?? 'no reason given'}`);
  }
  if (file.startSoc !== undefined) await describePulseTests(context, report, file.startSoc);
  return report;
}

/** At which SOC pulse records begin, and that they were taken through two wires, whose contacts are known. */
async function describePulseTests(context: Context, report: ImportReport, startSoc: number): Promise<void> {
  for (const { testId } of report.runs) {
    const test = testId === null ? null : await findTest(context.store, testId);
    if (!test) continue;
    await changeTest(context, test.id, test.version, {
      startSoc,
      fixtureOhm: scenario.fixtureOhm,
      fixtureUncertaintyOhm: scenario.fixtureUncertaintyOhm,
    });
  }
}
