import { vi } from 'vitest';
import { createProgram, runProgram } from '../../server/commands/program.ts';
import { registerEvaluate } from './registerEvaluate.ts';

/** Runs `gemel evaluate …` and collects what it writes. */
export async function runEvaluate(...words: string[]): Promise<{ code: number; out: string; err: string }> {
  let [out, err] = ['', ''];
  const spies = [
    vi.spyOn(process.stdout, 'write').mockImplementation((chunk) => {
      out += chunk;
      return true;
    }),
    vi.spyOn(process.stderr, 'write').mockImplementation((chunk) => {
      err += chunk;
      return true;
    }),
  ];
  try {
    const program = createProgram();
    registerEvaluate(program);
    return { code: await runProgram(program, ['evaluate', ...words]), out, err };
  } finally {
    for (const spy of spies) spy.mockRestore();
  }
}
