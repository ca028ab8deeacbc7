import { type Command, Option } from 'commander';
import { pairCells } from '../assess/pairing/pairCells.ts';
import { parseCriteria } from '../assess/pairing/pairingChecks.ts';
import { cautionSentences } from '../contract/cautions.ts';
import { type PairingPurpose, pairingPurposes } from '../contract/pairingCriteria.ts';
import type { PairingResult } from '../contract/pairingResult.ts';
import { readTableFile } from '../import/readTableFile.ts';
import { cellsOfTable, readCellTable } from '../use-cases/pairing/readCellTable.ts';
import { usualCriteria } from '../use-cases/pairing/usualCriteria.ts';
import { printJson } from './program.ts';
import { readJsonFile } from './readJsonFile.ts';
import { summaries } from './summaries.ts';

/** `gemel pair FILE`: pairs the cells of a plain table, without a database. */
export function registerPair(program: Command): void {
  program
    .command('pair')
    .description(summaries.pair)
    .argument('<file>', 'table of cells, e.g. CSV')
    .option('--criteria <file>', 'criteria document (JSON)')
    .addOption(
      new Option('--purpose <name>', 'usual criteria for what the stacks are for')
        .choices(Object.keys(pairingPurposes))
        .default('all-round')
        .conflicts('criteria'),
    )
    .option('--json', 'machine-readable output')
    .action(async (file: string, options: { criteria?: string; purpose: PairingPurpose; json?: boolean }) => {
      const result = await pairFile(file, options.criteria ?? null, options.purpose);
      if (options.json) printJson(result);
      else process.stdout.write(`${tellPairing(result)}\n`);
      for (const { code, feature, cells } of result.warnings)
        process.stderr.write(`warning: ${[code, feature, cells.join(', ')].filter((p) => p).join(': ')}\n`);
    });
}

/** Pairs the cells of a table file by a criteria file, or else by the usual criteria for a purpose. */
export async function pairFile(
  file: string,
  criteriaFile: string | null,
  purpose: PairingPurpose = 'all-round',
): Promise<PairingResult> {
  const table = readCellTable(await readTableFile(file));
  const document =
    criteriaFile === null ? usualCriteria(table, purpose) : await readJsonFile(criteriaFile, 'criteria');
  const { cells, criteria, unitsAssumed } = cellsOfTable(table, parseCriteria(document));
  const result = pairCells(cells, criteria);
  const assumed = unitsAssumed.map((feature) => ({ code: 'unit-assumed' as const, feature, cells: [] }));
  return { ...result, warnings: [...result.warnings, ...assumed] };
}

function tellPairing(result: PairingResult): string {
  const { pairs, unpaired, certificate, totalCost, groups } = result;
  const lines = pairs.map(({ cells: [a, b], cost, consequences, indistinguishable }) => {
    const loss = consequences.capacityLossAh;
    return [
      `${a} + ${b}  cost ${cost.toPrecision(4)}`,
      ...(loss === null ? [] : [`loses ${(1000 * loss).toPrecision(3)} mAh`]),
      ...(indistinguishable ? ['not told from its next best by these measurements'] : []),
    ].join(', ');
  });
  for (const { cells, cost } of groups?.stacks ?? [])
    lines.push(`${cells.join(' + ')}  cost ${cost.toPrecision(4)}`);
  for (const { cell, reason, feature } of unpaired)
    lines.push(`${cell}  left over: ${feature === null ? reason : `${reason} (${feature})`}`);
  const proof = certificate.proven
    ? `proven best over ${certificate.checkedPairs} acceptable pairs`
    : `not proven (${certificate.reason}), lower bound ${certificate.lowerBound?.toPrecision(6) ?? 'none'}`;
  lines.push(`total cost ${totalCost.toPrecision(6)}, ${proof}`);
  lines.push('Cautions', ...result.cautions.map((code) => `  ${cautionSentences[code]}`));
  return lines.join('\n');
}
