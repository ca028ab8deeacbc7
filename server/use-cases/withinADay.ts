import type { Context } from '../context.ts';

const dayMs = 24 * 3_600_000;

/** Whether an instant (ISO 8601) lies at most a day back: so long a slip can be taken back. */
export function isWithinADay(context: Pick<Context, 'now'>, instant: string): boolean {
  return context.now().getTime() - Date.parse(instant) <= dayMs;
}
