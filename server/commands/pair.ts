import { type Command, Option } from 'commander';
import { parseCriteria } from '../assess/pairing/pairingChecks.ts';
import { usualCriteria } from '../assess/pairing/usualCriteria.ts';
import { cautionSentences } from '../contract/cautions.ts';
import {
  type PairingPurpose,
  pairingPurposes,
  type WarningSignCode,
  warningSignCodes,
} from '../contract/pairingCriteria.ts';
import type { PairingResult } from '../contract/pairingResult.ts';
import { readTableFile } from '../import/readTableFile.ts';
import { cellsOfTable, measuredColumns, readCellTable } from '../use-cases/pairing/cellsOfTable.ts';
import { pairInThreads } from '../use-cases/pairing/pairInThreads.ts';
import { commandSharing } from './commandSharing.ts';
import { printJson } from './program.ts';
import { type ReadingFlags, readReadingFlags, withReadingOptions } from './readingOptions.ts';
import { readJsonFile } from './readJsonFile.ts';
import { summaries } from './summaries.ts';

interface Flags extends ReadingFlags {
  readonly criteria?: string;
  readonly purpose: PairingPurpose;
  readonly ignoreSign?: WarningSignCode[];
  readonly outliers?: string;
  readonly json?: boolean;
}

/** `gemel pair FILE`: pairs the cells of a plain table, without a database. */
export function registerPair(program: Command): void {
  withReadingOptions(
    program.command('pair').description(summaries.pair).argument('<file>', 'table of cells, e.g. CSV'),
  )
    .option('--criteria <file>', 'criteria document (JSON)')
    .addOption(
      new Option('--purpose <name>', 'usual criteria for what the stacks are for')
        .choices(Object.keys(pairingPurposes))
        .default('all-round')
        .conflicts('criteria'),
    )
    .addOption(
      new Option(
        '--ignore-sign <code...>',
        'pair cells in spite of this warning sign; stays in the report',
      ).choices(warningSignCodes),
    )
    .addOption(
      new Option('--outliers <choice>', 'leave outliers out, or offer them; stays in the report').choices([
        'leave-out',
        'offer',
      ]),
    )
    .option('--json', 'machine-readable output')
    .action(async (file: string, flags: Flags) => {
      const result = await pairFile(file, flags);
      if (flags.json) printJson(result);
      else process.stdout.write(`${tellPairing(result)}\n`);
      for (const { code, feature, cells, detail } of result.warnings)
        process.stderr.write(
          `warning: ${[code, feature, cells.join(', '), detail].filter((p) => p).join(': ')}\n`,
        );
    });
}

/** Pairs the cells of a table file by a criteria file, or else by the usual criteria for a purpose. */
async function pairFile(file: string, flags: Flags): Promise<PairingResult> {
  const reading = readReadingFlags(flags);
  const table = readCellTable(await readTableFile(file, reading), reading);
  const document =
    flags.criteria === undefined
      ? usualCriteria(measuredColumns(table), flags.purpose)
      : await readJsonFile(flags.criteria, 'criteria');
  const parsed = parseCriteria(document);
  const asked = {
    ...parsed,
    signsIgnored: [...new Set([...parsed.signsIgnored, ...(flags.ignoreSign ?? [])])],
    outlierLimit:
      flags.outliers === 'offer'
        ? null
        : flags.outliers === 'leave-out'
          ? (parsed.outlierLimit ?? 3.5)
          : parsed.outlierLimit,
  };
  const { cells, criteria, gates, warnings } = cellsOfTable(table, asked);
  const result = await pairInThreads({ cells, criteria, gates }, commandSharing('repetitions'));
  return { ...result, warnings: [...result.warnings, ...warnings] };
}

function tellPairing(result: PairingResult): string {
  const { pairs, unpaired, certificate, totalCost } = result;
  const above = result.warnings.flatMap(({ code, feature, cells, detail }) =>
    code === 'main-quantity-missing'
      ? [`No ${feature} is measured, the main quantity for this purpose; paired by ${detail} instead.`]
      : code === 'signs-ignored'
        ? [
            `Warning signs were ignored (${detail}): ${cells.length === 0 ? 'no cell has one' : cells.join(', ')}.`,
          ]
        : [],
  );
  const lines = pairs.map(({ cells, cost, consequences, indistinguishable }) => {
    const loss = consequences.capacityLossAh;
    return [
      `${cells.join(' + ')}  cost ${cost.toPrecision(4)}`,
      ...(loss === null ? [] : [`loses ${(1000 * loss).toPrecision(3)} mAh`]),
      ...(indistinguishable ? ['these measurements cannot distinguish it from its next best'] : []),
    ].join(', ');
  });
  lines.unshift(...above);
  for (const { cell, reason, feature, value } of unpaired) {
    const by = feature ?? (reason === 'warning-sign' ? value : null);
    lines.push(`${cell}  left over: ${by === null ? reason : `${reason} (${by})`}`);
  }
  const proof = certificate.proven
    ? `proven best over ${certificate.checkedPairs} acceptable pairs`
    : `not proven (${certificate.reason}), lower bound ${certificate.lowerBound?.toPrecision(6) ?? 'none'}`;
  lines.push(`total cost ${totalCost.toPrecision(6)}, ${proof}`);
  lines.push('Cautions', ...result.cautions.map((code) => `  ${cautionSentences[code]}`));
  return lines.join('\n');
}
