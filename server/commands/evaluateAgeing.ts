import { basename, extname } from 'node:path';
import { type Command, InvalidArgumentError, Option } from 'commander';
import { overThroughput } from '../assess/ageing/ageingAxis.ts';
import { conditionOf } from '../assess/ageing/ageingConditions.ts';
import { parseEndOfLife } from '../assess/ageing/ageingLimits.ts';
import type { AgeingInput } from '../assess/ageing/ageingTracks.ts';
import type { AgeingResult } from '../contract/ageingResult.ts';
import {
  type AgeingAxis,
  type AgeingQuantityName,
  ageingAxis,
  ageingQuantityName,
} from '../contract/ageingTrack.ts';
import type { PublishedLawRequest } from '../contract/publishedLaws.ts';
import type { AgeingSeries, RestartedNumbering } from '../import/ageingRows.ts';
import { type AgeingColumns, type AgeingTable, readAgeingTable } from '../import/ageingTable.ts';
import { readTableFile, type TableFile } from '../import/readTableFile.ts';
import { RefusedFile } from '../import/refusedFile.ts';
import { readStressTable } from '../import/stressTable.ts';
import { evaluateAgeingInThreads } from '../use-cases/ageing/evaluateAgeingInThreads.ts';
import { commandSharing } from './commandSharing.ts';
import { printJson } from './program.ts';
import { parsePublishedLaw } from './publishedLaw.ts';
import { summaries } from './summaries.ts';
import { tellAgeing } from './tellAgeing.ts';

/** Options of `gemel evaluate ageing`, as commander hands them over. */
interface AgeingOptions {
  readonly quantity?: AgeingQuantityName;
  readonly axis?: AgeingAxis;
  readonly columns?: AgeingColumns;
  readonly ratedCapacity?: number;
  readonly endOfLife?: readonly string[];
  readonly level?: number;
  readonly refuseBeyond?: number;
  readonly stays?: { k: number; n: number };
  readonly numbering?: RestartedNumbering;
  readonly lotPrior: boolean;
  readonly pair?: readonly (readonly [string, string])[];
  readonly pairTolerance?: number;
  readonly stress?: string;
  readonly stressTerms?: readonly string[];
  readonly stressChargedTo?: number;
  readonly reachedBy?: number;
  readonly publishedLaw?: readonly PublishedLawRequest[];
  readonly cells?: readonly string[];
  readonly json?: boolean;
}

/** `gemel evaluate ageing FILE`: capacity fade and resistance rise of the cells of a table, without a database. */
export function registerEvaluateAgeing(evaluate: Command): void {
  evaluate
    .command('ageing')
    .description(summaries['evaluate ageing'])
    .argument('<file>', 'table with one row per cycle or check-up: cell, cycle, capacity, resistance')
    .addOption(
      new Option('--quantity <name>', 'what is followed; default: capacity where the table has one').choices(
        ageingQuantityName.options,
      ),
    )
    .addOption(new Option('--axis <name>', 'what life is counted in').choices(ageingAxis.options))
    .option(
      '--columns <list>',
      'columns by name: cell=NAME,axis=NAME,capacity=NAME,resistance=NAME',
      parseColumns,
    )
    .option('--rated-capacity <Ah>', 'rated capacity in Ah', positive)
    .option(
      '--end-of-life <limits>',
      'limits, comma-separated: 80%, 80%-of-rated, 80%-of-first, 0.88Ah, 200%, 0.05ohm',
      parseList,
    )
    .option('--level <share>', 'level of the intervals, e.g. 0.8', share)
    .option(
      '--refuse-beyond <ratio>',
      'refuse forecasts beyond this multiple of the observed range',
      positive,
    )
    .option('--stays <k/n>', 'a limit is crossed where k of n points lie beyond it, e.g. 4/5', parseStays)
    .addOption(
      new Option(
        '--numbering <how>',
        'where the cycle numbers of a cell start again: refuse the table (default), continue the count, or average equal numbers',
      ).choices(['refuse', 'continue', 'average']),
    )
    .option('--no-lot-prior', "do not use the table's finished cells for its younger ones")
    .option('--pair <A+B>', 'follow how these two cells drift apart (may be repeated)', collectPair)
    .option('--pair-tolerance <share>', 'relative difference a pair may have', positive, 0.02)
    .option('--stress <file>', 'table with one row per cell: its charge rates, temperature …')
    .option(
      '--stress-terms <columns>',
      'columns of it, comma-separated; arrhenius:NAME for a temperature',
      parseList,
    )
    .option('--stress-charged-to <soc>', 'end of a charge in two stages, 0 to 1', share, 0.8)
    .option('--reached-by <age>', 'also the probability that a limit is reached by this age', positive)
    .option(
      '--published-law <law>',
      'draw a published law beside the series (may be repeated), e.g. wang-2011:cRate=2,temperatureC=30 or schmalstieg-2014:temperatureC=35,storageVoltageV=3.7,cyclingVoltageV=3.7,cyclesPerDay=4',
      parsePublishedLaw,
    )
    .option('--cells <names>', 'only these cells, comma-separated', parseList)
    .option('--json', 'machine-readable output')
    .action(async (file: string, options: AgeingOptions) => {
      const result = await evaluateAgeingFile(file, options);
      if (options.json) printJson(result);
      else process.stdout.write(`${tellAgeing(result)}\n`);
      for (const { code, cell, count } of result.warnings)
        process.stderr.write(
          `warning: ${[cell, code, count > 1 ? String(count) : null].filter((p) => p).join(': ')}\n`,
        );
    });
}

/** Reads a cycle table and evaluates it. */
export async function evaluateAgeingFile(file: string, options: AgeingOptions): Promise<AgeingResult> {
  const name = basename(file, extname(file));
  const table = takeTable(await readTableFile(file), name, options);
  const wanted = options.cells;
  const known = table.cells.map(({ cell }) => cell);
  const unknown = wanted?.find((cell) => !known.includes(cell));
  if (unknown !== undefined)
    throw new RangeError(
      `There is no cell ${unknown} in ${file}; there are ${known.slice(0, 20).join(', ')}`,
    );
  const taken = wanted === undefined ? table.cells : table.cells.filter(({ cell }) => wanted.includes(cell));
  const rated = options.ratedCapacity ?? table.ratedCapacityAh;
  const { inputs, axis } = onAxis(taken.map(inputOf), table.axis, options.axis ?? null, rated);
  const quantity =
    options.quantity ?? (inputs.some((input) => input.capacityAh !== null) ? 'capacity' : 'resistance');
  const stress =
    options.stress === undefined
      ? undefined
      : readStressTable(
          await readTableFile(options.stress),
          options.stressTerms ?? [],
          options.stressChargedTo,
        );
  const settings = {
    quantity,
    axis,
    ratedCapacityAh: rated,
    limits: options.endOfLife?.map((text) => parseEndOfLife(text, rated)),
    level: options.level,
    refusedBeyondRatio: options.refuseBeyond,
    stays: options.stays,
    lotPrior: options.lotPrior,
    pairs: options.pair?.map((cells) => ({ cells, tolerance: options.pairTolerance ?? 0.02 })),
    stress,
    reachedBy: options.reachedBy,
    publishedLaws: options.publishedLaw,
  };
  const result = await evaluateAgeingInThreads({ inputs, settings }, commandSharing('cells'));
  const guessed = table.guessed.map((column) => ({
    code: 'column-guessed' as const,
    cell: column,
    count: 1,
  }));
  const skipped =
    table.rowsSkipped === 0 ? [] : [{ code: 'rows-skipped' as const, cell: null, count: table.rowsSkipped }];
  return { ...result, warnings: [...guessed, ...skipped, ...result.warnings] };
}

/** A cell of the table with what is known of its conditions. */
function inputOf({ conditions, ...series }: AgeingSeries): AgeingInput {
  const known = Object.entries(conditions).flatMap(([name, { kind, values }]) => {
    const condition = conditionOf(kind, values);
    return condition === null ? [] : [[name, condition] as const];
  });
  return { ...series, conditions: Object.fromEntries(known) };
}

/** The table by the wanted axis, or by its cycles where throughput can be worked out from them. */
function takeTable(file: TableFile, name: string, options: AgeingOptions): AgeingTable {
  const { columns, axis = null, numbering } = options;
  try {
    return readAgeingTable(file, name, columns, axis, numbering);
  } catch (error) {
    const derived = axis === 'equivalent-full-cycles' || axis === 'throughput-ah';
    if (!derived || !(error instanceof RefusedFile) || error.refusal.code !== 'missing-column') throw error;
    return readAgeingTable(file, name, columns, 'cycle', numbering);
  }
}

function onAxis(
  cells: readonly AgeingInput[],
  axis: AgeingAxis,
  wanted: AgeingAxis | null,
  rated: number | null,
): { inputs: readonly AgeingInput[]; axis: AgeingAxis } {
  const derive = axis === 'cycle' && (wanted === 'equivalent-full-cycles' || wanted === 'throughput-ah');
  return derive ? { inputs: overThroughput(cells, wanted, rated), axis: wanted } : { inputs: cells, axis };
}

function parseList(text: string): string[] {
  return text
    .split(',')
    .map((part) => part.trim())
    .filter((part) => part !== '');
}

function positive(text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !(value > 0 && value < Infinity))
    throw new InvalidArgumentError('It must be a number above 0.');
  return value;
}

function share(text: string): number {
  const value = Number(text);
  if (!(value > 0 && value < 1))
    throw new InvalidArgumentError('It must be a number between 0 and 1, e.g. 0.8.');
  return value;
}

function parseStays(text: string): { k: number; n: number } {
  const match = /^(\d+)\/(\d+)$/.exec(text);
  const [k, n] = [Number(match?.[1]), Number(match?.[2])];
  if (match === null || !(k >= 1 && k <= n))
    throw new InvalidArgumentError('Write k/n with 1 ≤ k ≤ n, e.g. 4/5.');
  return { k, n };
}

function collectPair(
  text: string,
  before: readonly (readonly [string, string])[] = [],
): (readonly [string, string])[] {
  const cells = text.split('+').map((part) => part.trim());
  if (cells.length !== 2 || cells.includes('')) throw new InvalidArgumentError('Write two cells as A+B.');
  return [...before, [cells[0], cells[1]]];
}

function parseColumns(text: string): AgeingColumns {
  const columns: Record<string, string> = {};
  for (const part of parseList(text)) {
    const match = /^(cell|axis|capacity|resistance)=(.+)$/.exec(part);
    if (match === null) {
      throw new InvalidArgumentError(
        `"${part}" is not a choice; write ROLE=NAME with one of cell, axis, capacity, resistance.`,
      );
    }
    columns[match[1]] = match[2];
  }
  return columns;
}
