import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { projectRoot } from '../../server/projectRoot.ts';

/**
 * What Node needs to run the command line: the built program under `npm test`, which builds it first and where it
 * starts several times sooner; its sources where single test files are run.
 */
export const programArguments: readonly string[] =
  process.env.GEMEL_TEST_PROGRAM === 'built'
    ? [join(projectRoot, 'dist/server/commands/main.js')]
    : ['--import', 'tsx', join(projectRoot, 'server/commands/main.ts')];

/** Runs one command to its end, on the data of `dataFolder` where one is given. */
export function runCommand(
  args: readonly string[],
  dataFolder?: string,
): { readonly status: number | null; readonly stdout: string; readonly stderr: string } {
  return spawnSync(process.execPath, [...programArguments, ...args], {
    encoding: 'utf8',
    cwd: projectRoot,
    maxBuffer: 1 << 28,
    env: { ...process.env, ...(dataFolder === undefined ? {} : { GEMEL_DATA: dataFolder }) },
  });
}
