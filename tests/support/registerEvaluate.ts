import type { Command } from 'commander';
import { registerEvaluateAgeing } from '../../server/commands/evaluateAgeing.ts';
import { registerEvaluateCapacity } from '../../server/commands/evaluateCapacity.ts';
import { registerEvaluateCharge } from '../../server/commands/evaluateCharge.ts';
import { registerEvaluateConverter } from '../../server/commands/evaluateConverter.ts';
import { registerEvaluateImpedance } from '../../server/commands/evaluateImpedance.ts';
import { registerEvaluatePulse } from '../../server/commands/evaluatePulse.ts';
import { summaries } from '../../server/commands/summaries.ts';

/** `gemel evaluate …`: files in, results out, without a database. */
export function registerEvaluate(program: Command): void {
  const evaluate = program.command('evaluate').description(summaries.evaluate);
  registerEvaluatePulse(evaluate);
  registerEvaluateCapacity(evaluate);
  registerEvaluateImpedance(evaluate);
  registerEvaluateAgeing(evaluate);
  registerEvaluateConverter(evaluate);
  registerEvaluateCharge(evaluate);
}
