import { Command, CommanderError } from 'commander';
import { Refusal } from '../errors.ts';
import { RefusedFile } from '../import/refusedFile.ts';
import { toRefusal } from '../problem.ts';

/** Exit codes of every command. */
export const exitCodes = { done: 0, refused: 1, wrongUsage: 2 } as const;

/** The command with its common manners: help and messages on standard error only where something is wrong. */
export function createProgram(): Command {
  return new Command('gemel')
    .description(
      'Cell-characterisation database and fitting service for devices with two lithium cells in series',
    )
    .showHelpAfterError('(gemel <command> --help shows what it takes)')
    .exitOverride();
}

/** Writes an answer for programs. */
export function printJson(value: unknown): void {
  process.stdout.write(`${JSON.stringify(value, null, 2)}\n`);
}

/**
 * Runs the command line and returns its exit code: 0 done, 1 refused or failed (the reason is on standard error),
 * 2 wrong usage.
 */
export async function runProgram(program: Command, argv: readonly string[]): Promise<number> {
  applyExitOverride(program);
  try {
    await program.parseAsync([...argv], { from: 'user' });
    return exitCodes.done;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? exitCodes.done : exitCodes.wrongUsage;
    tellFailure(error);
    return exitCodes.refused;
  }
}

/** Writes to standard error why something was refused or failed: each place with what would be right. */
export function tellFailure(error: unknown): void {
  // A refused file's own sentence says place, reason and what would be right.
  if (error instanceof RefusedFile) {
    process.stderr.write(`${error.message}\n`);
    return;
  }
  const refusal = toRefusal(error);
  if (refusal.code === 'internal' && !(error instanceof Refusal)) {
    process.stderr.write(`${error instanceof Error ? error.message : String(error)}\n`);
    return;
  }
  process.stderr.write(`${refusal.message}\n`);
  for (const place of refusal.places) {
    const where = [place.row === null ? '' : `row ${place.row}`, place.field ?? '']
      .filter((p) => p !== '')
      .join(', ');
    const value = place.value === null ? '' : ` (${place.value})`;
    process.stderr.write(
      `  ${where}${value}: ${place.reason}${place.expected ? `; expected ${place.expected}` : ''}\n`,
    );
  }
}

/** Subcommands do not inherit the override of exits, so each gets its own. */
function applyExitOverride(command: Command): void {
  command.exitOverride();
  for (const child of command.commands) applyExitOverride(child);
}
