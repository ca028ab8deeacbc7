import type { Command } from 'commander';
import type { Context } from '../context.ts';
import { createCellType as createBody } from '../contract/cellTypes.ts';
import { reasonSentences } from '../contract/reasons.ts';
import { residualSentence } from '../contract/residualChecks.ts';
import type { CellTypeTemperature } from '../contract/temperature.ts';
import { fieldError, Refusal } from '../errors.ts';
import { pageCellTypes } from '../store/cellTypes.ts';
import { listChemistries } from '../store/chemistries.ts';
import { createCellType } from '../use-cases/register/createCellType.ts';
import { assessTemperature } from '../use-cases/temperature/assessTemperature.ts';
import { plusMinus } from './plusMinus.ts';
import { printJson } from './program.ts';
import { summaries } from './summaries.ts';
import { withContext } from './withContext.ts';

interface AddOptions {
  readonly chemistry: string;
  readonly ratedCapacity: string;
  readonly chargeVoltage?: string;
  readonly cutoff?: string;
  readonly maxChargeCurrent?: string;
  readonly json?: boolean;
}

/** `gemel cell-type …`: the maker's types with their datasheet limits. */
export function registerCellType(program: Command): void {
  const cellType = program.command('cell-type').description(summaries['cell-type']);
  cellType
    .command('list')
    .description('all cell types, and the chemistries they can be of')
    .option('--json', 'machine-readable output')
    .action(async (options: { json?: boolean }) =>
      withContext(async (context) => list(context, options.json ?? false)),
    );
  cellType
    .command('add')
    .description('add a cell type; what is left out of the datasheet falls back to the chemistry')
    .argument('<name>')
    .requiredOption('--chemistry <name>', 'a chemistry, as listed by: gemel cell-type list')
    .requiredOption('--rated-capacity <Ah>', 'rated capacity in Ah')
    .option('--charge-voltage <V>', "the datasheet's charge voltage of one cell in V")
    .option('--cutoff <V>', "the datasheet's cut-off voltage in V")
    .option('--max-charge-current <A>', "the datasheet's highest charge current in A")
    .option('--json', 'machine-readable output')
    .action(async (name: string, options: AddOptions) =>
      withContext(async (context) => add(context, name, options)),
    );
  cellType
    .command('temperature')
    .description('assess how the resistances of a cell type depend on temperature')
    .argument('<name>')
    .option('--json', 'machine-readable output')
    .action(async (name: string, options: { json?: boolean }) =>
      withContext(async (context) => {
        const found = (await pageCellTypes(context.store, { limit: 500 })).items.find(
          (known) => known.name === name,
        );
        if (found === undefined)
          throw new Refusal('not-found', `There is no cell type named ${name}.`, [
            fieldError('name', name, 'no cell type has this name', 'a name listed by: gemel cell-type list'),
          ]);
        const assessed = await assessTemperature(context, found.id);
        if (options.json) printJson(assessed);
        else process.stdout.write(`${tellTemperature(assessed)}\n`);
      }),
    );
}

/** The temperature laws of a cell type as text. */
function tellTemperature({ dependence: { laws, without } }: CellTypeTemperature): string {
  const lines = laws.map((law) => {
    const energy = law.activationStandardErrorJPerMol;
    const allowed =
      law.temperatureErrorC === null
        ? ''
        : ` The errors allow for ${law.temperatureErrorC.toPrecision(2)} °C that all readings at a temperature have in common.`;
    const checks = law.residualChecks === null ? '' : ` ${residualSentence(law.residualChecks)}`;
    return (
      `${law.key}: ${plusMinus(1000 * law.referenceOhm, law.referenceStandardErrorOhm === null ? null : 1000 * law.referenceStandardErrorOhm, 'mOhm')} at ${law.referenceC} °C, ` +
      `Ea ${plusMinus(law.activationJPerMol / 1000, energy === null ? null : energy / 1000, 'kJ/mol')}, ` +
      `${law.lowestC} to ${law.highestC} °C, ${law.readings} readings of ${law.cells} cells (${law.basis}).${allowed}${checks}`
    );
  });
  return [...lines, ...without.map(({ key, reason }) => `${key}: no law. ${reasonSentences[reason]}`)].join(
    '\n',
  );
}

async function list(context: Context, json: boolean): Promise<void> {
  const cellTypes = (await pageCellTypes(context.store, { limit: 500 })).items;
  const chemistries = await listChemistries(context.store);
  if (json) {
    printJson({ cellTypes, chemistries });
    return;
  }
  for (const known of cellTypes) {
    process.stdout.write(
      `${known.name}: ${known.ratedCapacityAh} Ah, ${known.chemistryName}, ${known.lotCount} lots\n`,
    );
  }
  process.stdout.write(`Chemistries: ${chemistries.map((chemistry) => chemistry.name).join('; ')}\n`);
}

async function add(context: Context, name: string, options: AddOptions): Promise<void> {
  const chemistries = await listChemistries(context.store);
  const chemistry = chemistries.find((known) => known.name === options.chemistry);
  if (!chemistry) {
    throw new Refusal('not-found', `There is no chemistry named ${options.chemistry}.`, [
      fieldError(
        'chemistry',
        options.chemistry,
        'unknown',
        chemistries.map((known) => known.name).join('; '),
      ),
    ]);
  }
  const parsed = createBody.safeParse({
    name,
    chemistryId: chemistry.id,
    ratedCapacityAh: numberOf('rated-capacity', options.ratedCapacity),
    chargeVoltageLimitV: numberOf('charge-voltage', options.chargeVoltage),
    dischargeCutoffV: numberOf('cutoff', options.cutoff),
    maxChargeCurrentA: numberOf('max-charge-current', options.maxChargeCurrent),
  });
  if (!parsed.success) {
    const places = parsed.error.issues.map((issue) =>
      fieldError(issue.path.join('.'), undefined, issue.message, 'see --help'),
    );
    throw new Refusal('invalid-request', 'The cell type cannot be added.', places);
  }
  const made = await createCellType(context, parsed.data);
  if (options.json) printJson(made);
  else process.stdout.write(`Added the cell type ${made.name}.\n`);
}

function numberOf(option: string, text: string | undefined): number | null {
  if (text === undefined) return null;
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value)) {
    throw new Refusal('invalid-request', `--${option} is not a number.`, [
      fieldError(option, text, 'not a number', 'for example 2.5'),
    ]);
  }
  return value;
}
