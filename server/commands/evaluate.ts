import type { Command } from 'commander';
import { registerEvaluateAgeing } from './evaluateAgeing.ts';
import { registerEvaluateCapacity } from './evaluateCapacity.ts';
import { registerEvaluateCharge } from './evaluateCharge.ts';
import { registerEvaluateImpedance } from './evaluateImpedance.ts';
import { registerEvaluatePulse } from './evaluatePulse.ts';

/** `gemel evaluate …`: files in, results out, without a database. */
export function registerEvaluate(program: Command): void {
  const evaluate = program.command('evaluate').description('evaluate a file, without a database');
  registerEvaluatePulse(evaluate);
  registerEvaluateCapacity(evaluate);
  registerEvaluateImpedance(evaluate);
  registerEvaluateAgeing(evaluate);
  registerEvaluateCharge(evaluate);
}
