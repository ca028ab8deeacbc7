import { setImmediate as breathe } from 'node:timers/promises';
import { studyCharge } from '../../assess/charging/studyCharge.ts';
import type { Context } from '../../context.ts';
import { type ChargeStudyDescription, chargeStudyDescription } from '../../contract/chargeStudy.ts';
import {
  CHARGE_ALGORITHM,
  type ChargeStudyResult,
  chargeStudyResult,
} from '../../contract/chargeStudyResult.ts';
import { formatsOfSubject } from '../../contract/exportFormats.ts';
import type { CreateExport, ExportFormat } from '../../contract/exports.ts';
import { type ParameterSet, parameterSetKind } from '../../contract/parameterSet.ts';
import { fieldError, notFound, Refusal } from '../../errors.ts';
import { benchChargeOf } from '../../export/benchCharge.ts';
import { cHeader } from '../../export/cHeader.ts';
import { chargeProfile } from '../../export/chargeProfile.ts';
import { circuitSubjectOf } from '../../export/circuitSubject.ts';
import { csvPackage } from '../../export/csvPackage.ts';
import { fileNamePart } from '../../export/names.ts';
import { compactParametersJson, parametersJson } from '../../export/parametersJson.ts';
import { recordCsvParts } from '../../export/recordCsv.ts';
import { recordParquet } from '../../export/recordParquet.ts';
import { ExportRefused } from '../../export/refusal.ts';
import { spiceSubcircuit } from '../../export/spiceSubcircuit.ts';
import { spiceTestBench } from '../../export/spiceTestBench.ts';
import { studyBenchChargeOf, studyCircuitOf } from '../../export/studyCircuit.ts';
import { inOrder } from '../../inOrder.ts';
import { findStoredStudy, listRecordTestIds } from '../../store/parameterSources.ts';
import { parseStored } from '../../store/storedJson.ts';
import { readParameters } from '../parameters/readParameters.ts';
import { countSamples, readExportRecord } from './readExportRecord.ts';

/** A file ready to download. */
export interface WrittenExport {
  readonly fileName: string;
  readonly mediaType: string;
  readonly data: Uint8Array;
}

const fileKinds: Readonly<Record<ExportFormat, readonly [ending: string, mediaType: string]>> = {
  'parameters-json': ['parameters.json', 'application/json'],
  'parameters-compact-json': ['parameters-compact.json', 'application/json'],
  'csv-package': ['package.zip', 'application/zip'],
  'spice-subcircuit': ['circuit.lib', 'text/plain; charset=utf-8'],
  'spice-test-bench': ['charge.cir', 'text/plain; charset=utf-8'],
  'c-header': ['parameters.h', 'text/plain; charset=utf-8'],
  'charge-profile-csv': ['charge-profile.csv', 'text/csv; charset=utf-8'],
  'record-parquet': ['record.parquet', 'application/vnd.apache.parquet'],
  'record-csv': ['record.csv', 'text/csv; charset=utf-8'],
};

/** Largest number of samples that are put into one file; a database row must hold it. */
const mostSamples = 40_000_000;
/** The same for records inside a package, which is packed in one go. */
const mostPackedSamples = 8_000_000;

/**
 * Writes one thing in one format; nothing is stored.
 *
 * @throws Refusal `cannot-export` naming what is missing or outside its range, `not-found`, `too-large`.
 */
export async function writeExport(context: Context, request: CreateExport): Promise<WrittenExport> {
  const allowed = formatsOfSubject[request.subjectKind];
  if (!allowed.includes(request.format))
    throw new Refusal('cannot-export', `A ${request.subjectKind} cannot be written as ${request.format}.`, [
      fieldError('format', request.format, 'does not fit the subject', `one of: ${allowed.join(', ')}`),
    ]);
  try {
    const { name, data } = await writeBytes(context, request);
    const [ending, mediaType] = fileKinds[request.format];
    const fileName = `${fileNamePart(name)}-${ending}`;
    return { fileName, mediaType, data: typeof data === 'string' ? Buffer.from(data, 'utf8') : data };
  } catch (error) {
    if (!(error instanceof ExportRefused)) throw error;
    throw new Refusal('cannot-export', `This cannot be written as ${request.format}: ${error.message}.`, [
      fieldError(error.field, error.value ?? undefined, error.code, error.expected),
    ]);
  }
}

async function writeBytes(
  context: Context,
  request: CreateExport,
): Promise<{ name: string; data: Uint8Array | string }> {
  if (request.subjectKind === 'test') return writeRecord(context, request);
  if (request.subjectKind === 'charge-study') return writeStudy(context, request);
  const set = await readParameters(context, parameterSetKind.parse(request.subjectKind), request.subjectId);
  return { name: set.subject.name, data: await writeParameters(context, request, set) };
}

async function writeParameters(
  context: Context,
  request: CreateExport,
  set: ParameterSet,
): Promise<Uint8Array | string> {
  const choice = { direction: request.pulseDirection };
  switch (request.format) {
    case 'parameters-json':
      return parametersJson(set);
    case 'parameters-compact-json':
      return compactParametersJson(set);
    case 'csv-package': {
      const tests = request.withRecords
        ? await listRecordTestIds(
            context.store,
            set.cells.map((cell) => cell.id),
          )
        : [];
      await checkSize(context, tests, mostPackedSamples);
      return csvPackage(set, await inOrder(tests, async (id) => readExportRecord(context, id)));
    }
    case 'spice-subcircuit':
      return spiceSubcircuit(circuitSubjectOf(set, choice));
    case 'spice-test-bench': {
      const subject = circuitSubjectOf(set, choice);
      return spiceTestBench(subject, benchChargeOf(subject.cells));
    }
    case 'c-header':
      return cHeader(circuitSubjectOf(set, choice));
    default:
      throw new Error(`${request.format} is not a format of parameters.`);
  }
}

async function writeRecord(
  context: Context,
  request: CreateExport,
): Promise<{ name: string; data: Uint8Array }> {
  await checkSize(context, [request.subjectId], mostSamples);
  const record = await readExportRecord(context, request.subjectId);
  const name = `${record.cell} test ${record.testId}`;
  if (request.format === 'record-parquet') return { name, data: await recordParquet(record) };
  const parts: Buffer[] = [];
  for (const part of recordCsvParts(record)) {
    parts.push(part);
    // A long record must not hold up the other requests of the service.
    await breathe();
  }
  return { name, data: Buffer.concat(parts) };
}

async function writeStudy(context: Context, request: CreateExport): Promise<{ name: string; data: string }> {
  const study = await findStoredStudy(context.store, request.subjectId);
  if (!study) throw notFound('charge study', request.subjectId, 'subjectId');
  if (study.resultJson === null)
    throw new Refusal('cannot-export', `The charge study ${study.name} has no result yet.`, [
      fieldError('subjectId', study.id, 'not computed', 'a study that is done'),
    ]);
  const description = parseStored(
    chargeStudyDescription,
    study.descriptionJson,
    `description of charge study ${study.id}`,
  );
  const result = parseStored(chargeStudyResult, study.resultJson, `result of charge study ${study.id}`);
  const { name } = study;
  if (request.format === 'charge-profile-csv')
    return {
      name,
      data: chargeProfile(description, withSeries(description, result), request.profileAgainst),
    };
  const circuit = studyCircuitOf(name, description);
  if (request.format === 'spice-subcircuit') return { name, data: spiceSubcircuit(circuit) };
  return { name, data: spiceTestBench(circuit, studyBenchChargeOf(description, result.endTimeS)) };
}

/** Rows of a profile of a study that was computed without a series. */
const usualRows = 500;

/**
 * The result with a series. A study that was computed without one is computed again for it: the charge follows from the
 * description alone, as long as it is the same algorithm that computes it.
 */
function withSeries(description: ChargeStudyDescription, result: ChargeStudyResult): ChargeStudyResult {
  if (result.series !== null || result.algorithm !== CHARGE_ALGORITHM) return result;
  const seriesStepS = Math.max(1, Math.ceil(result.endTimeS / usualRows));
  return studyCharge({ ...description, questions: { stackOnly: false, seriesStepS } });
}

async function checkSize(context: Context, testIds: readonly number[], most: number): Promise<void> {
  let samples = 0;
  for (const id of testIds) samples += await countSamples(context, id);
  if (samples <= most) return;
  throw new Refusal('too-large', `The records hold ${samples} samples, too many for one file.`, [
    fieldError('withRecords', samples, 'too many samples', `at most ${most}; export the tests one by one`),
  ]);
}
