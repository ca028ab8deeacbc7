import { spawnSync } from 'node:child_process';

/**
 * A Python that can import `modules`, or null. Tries the variable GEMEL_PYTHON, then python3 on the path, then the
 * system's own, because a distribution's scientific packages belong to the latter.
 */
export function findPython(...modules: string[]): string | null {
  const candidates = [process.env.GEMEL_PYTHON, 'python3', '/usr/bin/python3'].filter((c): c is string =>
    Boolean(c),
  );
  for (const candidate of candidates) {
    const probe = spawnSync(candidate, ['-c', modules.map((m) => `import ${m}`).join(';')], {
      stdio: 'ignore',
    });
    if (probe.status === 0) return candidate;
  }
  return null;
}

/** Runs a Python program with JSON on standard input and returns what it prints as JSON. */
export function runPython(python: string, program: string, input: unknown, args: string[] = []): unknown {
  const run = spawnSync(python, ['-c', program, ...args], {
    input: JSON.stringify(input),
    maxBuffer: 1 << 30,
    encoding: 'utf8',
  });
  if (run.status !== 0) throw new Error(`Python ended with ${run.status}: ${run.stderr}`);
  return JSON.parse(run.stdout);
}
