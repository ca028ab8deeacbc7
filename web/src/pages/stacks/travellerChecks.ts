import type { Stack } from '../../../../server/contract/stacks.ts';
import { say } from '../../words/i18n.ts';

/** One line of the paper that goes with a stack: what is looked at, read off or measured. */
export interface TravellerCheck {
  readonly text: string;
  readonly kind: 'done' | 'number' | 'serial';
  /** For a serial: the one that the stack has there. */
  readonly serial?: string;
}

/** What is checked while a stack is built, for each of its cells where it is about the cells. */
export function travellerChecks({ cells }: Pick<Stack, 'cells'>): TravellerCheck[] {
  const ofEach = (text: (serial: string) => string): TravellerCheck[] =>
    cells.map(({ serial }) => ({ text: text(serial), kind: 'number' }));
  return [
    ...cells.map(
      ({ position, serial }): TravellerCheck => ({
        text: say('stacks.serialRead', { position }),
        kind: 'serial',
        serial,
      }),
    ),
    { text: say('stacks.noDentSwellingLeakOrDamaged'), kind: 'done' },
    ...ofEach((serial) => say('stacks.openCircuitVoltageOf', { serial })),
    { text: say('stacks.cellsBroughtToTheSameVoltage'), kind: 'done' },
    { text: say('stacks.joinedSenseWireToTheMiddle'), kind: 'done' },
    { text: say('stacks.resistanceOfTheJointsM'), kind: 'number' },
    ...ofEach((serial) => say('stacks.voltageSeenByTheCharger', { serial })),
  ];
}
