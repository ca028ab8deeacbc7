import { type Command, InvalidArgumentError } from 'commander';
import type { Context } from '../context.ts';
import type { LotLineQuery } from '../contract/lotLine.ts';
import type { ColumnStatistics, Lot } from '../contract/lots.ts';
import { fieldError, Refusal } from '../errors.ts';
import { findCellTypeByName } from '../store/cellTypes.ts';
import { findLotByName, pageLots } from '../store/lots.ts';
import { evaluateLot } from '../use-cases/evaluation/evaluateLot.ts';
import { judgeLot } from '../use-cases/lots/judgeLot.ts';
import { relateColumns } from '../use-cases/lots/relateColumns.ts';
import { studyGauge } from '../use-cases/lots/studyGauge.ts';
import { createLot } from '../use-cases/register/createLot.ts';
import { commandSharing } from './commandSharing.ts';
import { printJson } from './program.ts';
import { summaries } from './summaries.ts';
import { tellGauge } from './tellGauge.ts';
import { tellLotLine } from './tellLotLine.ts';
import { withContext } from './withContext.ts';

/** A lot by its name, as people say it on the command line. */
export async function lotByName(context: Context, name: string): Promise<Lot> {
  const lot = await findLotByName(context.store, name);
  if (lot) return lot;
  const known = (await pageLots(context.store, { limit: 20 })).items.map((item) => item.name);
  throw new Refusal('not-found', `There is no lot named ${name}.`, [
    fieldError(
      'lot',
      name,
      'no lot has this name',
      known.length > 0 ? `one of: ${known.join(', ')}` : 'a lot made with: gemel lot add',
    ),
  ]);
}

/** `gemel lot …`: what can be done with a delivery of cells. */
export function registerLot(program: Command): void {
  const lot = program.command('lot').description(summaries.lot);
  lot
    .command('list')
    .description('all lots with their counts')
    .option('--json', 'machine-readable output')
    .action(async (options: { json?: boolean }) =>
      withContext(async (context) => listLots(context, options.json ?? false)),
    );
  lot
    .command('add')
    .description('add a lot of a cell type')
    .argument('<name>')
    .requiredOption('--cell-type <name>', 'name of the cell type')
    .option('--received <date>', 'day of delivery, e.g. 2026-01-31')
    .option('--json', 'machine-readable output')
    .action(async (name: string, options: { cellType: string; received?: string; json?: boolean }) =>
      withContext(async (context) => {
        const cellType = await findCellTypeByName(context.store, options.cellType);
        if (!cellType) {
          throw new Refusal('not-found', `There is no cell type named ${options.cellType}.`, [
            fieldError(
              'cell-type',
              options.cellType,
              'no cell type has this name',
              'a cell type made with: gemel cell-type add',
            ),
          ]);
        }
        const made = await createLot(context, {
          name,
          cellTypeId: cellType.id,
          receivedOn: options.received ?? null,
          note: '',
        });
        if (options.json) printJson(made);
        else process.stdout.write(`Added the lot ${made.name}.\n`);
      }),
    );
  lot
    .command('evaluate')
    .description('evaluate the tests of a lot')
    .argument('<name>')
    .option('--again', 'also those that were evaluated before')
    .option('--json', 'machine-readable output')
    .action(async (name: string, options: { again?: boolean; json?: boolean }) =>
      withContext(async (context) => {
        const { crew, onProgress } = commandSharing('tests');
        const result = await evaluateLot(
          context,
          (await lotByName(context, name)).id,
          { onlyNotEvaluated: !options.again },
          onProgress,
          crew,
        );
        if (options.json) printJson(result);
        else process.stdout.write(`${result.evaluated} tests evaluated, ${result.failed.length} refused.\n`);
        for (const failure of result.failed) process.stderr.write(`${failure.reason}\n`);
      }),
    );
  lot
    .command('judge')
    .description('spread, outliers, normality and capability of a lot')
    .argument('<name>')
    .option('--columns <keys>', 'keys of the columns, comma-separated')
    .option('--coverage <share>', 'share of the cells that the tolerance limits hold; 0.99 otherwise', share)
    .option('--confidence <share>', 'confidence of the tolerance limits; 0.95 otherwise', share)
    .option('--json', 'machine-readable output')
    .action(async (name: string, { columns, json, ...tolerance }: JudgeOptions) =>
      withContext(async (context) => {
        const statistics = await judgeLot(context, (await lotByName(context, name)).id, columns, tolerance);
        if (json) {
          printJson(statistics);
          return;
        }
        for (const column of statistics.columns) {
          const spread =
            column.relativeSpread === null ? '' : `, spread ${(100 * column.relativeSpread).toFixed(2)} %`;
          process.stdout.write(
            `${column.key}: n ${column.n}, median ${column.median?.toPrecision(5) ?? '—'} ${column.unit}${spread}` +
              `${column.outliers.length > 0 ? `, outliers ${column.outliers.map((o) => o.serial).join(', ')}` : ''}\n`,
          );
          for (const remark of remarksOf(column)) process.stdout.write(`  ${remark}\n`);
        }
      }),
    );
  registerLine(lot);
  lot
    .command('gauge')
    .description('gauge study of one quantity of a lot, by operators where a table names them')
    .argument('<name>')
    .requiredOption('--column <key>', 'key of the column, e.g. impedance-1khz')
    .option('--json', 'machine-readable output')
    .action(async (name: string, { column, json }: { column: string; json?: boolean }) =>
      withContext(async (context) => {
        const study = await studyGauge(context, (await lotByName(context, name)).id, column);
        if (json) printJson(study);
        else process.stdout.write(`${tellGauge(study)}\n`);
      }),
    );
}

/** `gemel lot line NAME`: the line between two quantities of a lot. */
function registerLine(lot: Command): void {
  lot
    .command('line')
    .description('straight line between two quantities of a lot, with errors in both')
    .argument('<name>')
    .requiredOption('--x <key>', 'key of the column along x')
    .requiredOption('--y <key>', 'key of the column along y')
    .option('--at <value>', 'a value of y whose x on the line is wanted, in the unit of the column', number)
    .option('--x-uncertainty <value>', 'standard uncertainty of x where the values state none', positive)
    .option('--y-uncertainty <value>', 'standard uncertainty of y where the values state none', positive)
    .option('--json', 'machine-readable output')
    .action(async (name: string, { json, ...query }: LotLineQuery & { json?: boolean }) =>
      withContext(async (context) => {
        const line = await relateColumns(context, (await lotByName(context, name)).id, query);
        if (json) printJson(line);
        else process.stdout.write(`${tellLotLine(line)}\n`);
      }),
    );
}

function number(text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value)) throw new InvalidArgumentError('It must be a number.');
  return value;
}

function positive(text: string): number {
  const value = number(text);
  if (!(value > 0)) throw new InvalidArgumentError('It must be a number above 0.');
  return value;
}

/** Options of `gemel lot judge`. */
interface JudgeOptions {
  readonly columns?: string;
  readonly coverage?: number;
  readonly confidence?: number;
  readonly json?: boolean;
}

function share(text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !(value > 0 && value < 1))
    throw new InvalidArgumentError('It must be a number between 0 and 1.');
  return value;
}

/** What a reader of a column should know about the values behind it. */
function remarksOf({
  currents,
  mixedCurrents,
  repeated,
  tolerance,
  grubbs,
  unit,
}: ColumnStatistics): string[] {
  const amps = (value: number): string => `${value.toPrecision(3)} A`;
  const remarks: string[] = [];
  if (mixedCurrents !== null)
    remarks.push(
      `measured with unlike currents, ${amps(mixedCurrents.leastA)} to ${amps(mixedCurrents.greatestA)}`,
    );
  else if (currents !== null) remarks.push(`measured at ${amps(currents.greatestA)}`);
  if (repeated !== null)
    remarks.push(
      `${repeated.cells} cells have ${repeated.readings} readings; the newest of each counts (the gauge study uses all)`,
    );
  if (tolerance.lower !== null || tolerance.upper !== null) {
    const ends = [tolerance.lower, tolerance.upper].map((end) =>
      end === null ? 'no limit' : end.toPrecision(5),
    );
    remarks.push(
      `at least ${(100 * tolerance.coverage).toPrecision(4)} % of such cells lie between ${ends.join(' and ')} ${unit}, with ${(100 * tolerance.confidence).toPrecision(3)} % confidence${tolerance.method === 'normal' ? ', if the cells are normally distributed' : ''}`,
    );
  }
  if (grubbs.outliers.length > 0)
    remarks.push(
      `outliers by Grubbs' test at ${100 * grubbs.alpha} %: ${grubbs.outliers.map(({ serial }) => serial).join(', ')}`,
    );
  return remarks;
}

async function listLots(context: Context, json: boolean): Promise<void> {
  const lots: Lot[] = [];
  let cursor: string | undefined;
  do {
    const page = await pageLots(context.store, { limit: 500, cursor });
    lots.push(...page.items);
    cursor = page.nextCursor ?? undefined;
  } while (cursor !== undefined);
  if (json) {
    printJson({ lots });
    return;
  }
  for (const lot of lots) {
    process.stdout.write(
      `${lot.name}: ${lot.counts.cells} cells of ${lot.cellTypeName}, ${lot.counts.tests} tests (${lot.counts.testsNotEvaluated} to evaluate), ${lot.counts.pairings} pairings\n`,
    );
  }
}
