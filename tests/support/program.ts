import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { projectRoot } from '../../server/projectRoot.ts';

/**
 * What Node needs to run a program of the project: the built one under `npm test`, which builds it first and where it
 * starts several times sooner; its source where single test files are run.
 *
 * @param source as `server/commands/main.ts`
 */
export function argumentsOf(source: string): readonly string[] {
  return process.env.GEMEL_TEST_PROGRAM === 'built'
    ? [join(projectRoot, 'dist', source.replace(/\.ts$/, '.js'))]
    : ['--import', 'tsx', join(projectRoot, source)];
}

/** What Node needs to run the command line. */
export const programArguments = argumentsOf('server/commands/main.ts');

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
