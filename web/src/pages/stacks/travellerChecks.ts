import type { Stack } from '../../../../server/contract/stacks.ts';
import type { TravellerStep } from '../../../../server/contract/travellers.ts';
import { say } from '../../words/i18n.ts';

/** What a line of the paper asks for: a step that was done, a serial, a voltage of one cell, or the resistance of all joints, or of one. */
export type Asked =
  | { readonly is: 'step'; readonly step: TravellerStep }
  | { readonly is: 'serial'; readonly cellId: number }
  | { readonly is: 'openCircuitVoltageV' | 'chargerVoltageV'; readonly cellId: number }
  | { readonly is: 'joints' }
  | { readonly is: 'joint'; readonly after: number };

/** One line of the paper that goes with a stack: what is looked at, read off or measured. */
export interface TravellerCheck {
  readonly text: string;
  readonly asks: Asked;
}

/** The steps of building a stack that are done rather than measured, in words. */
export const stepWords: Readonly<Record<TravellerStep, string>> = {
  'no-damage': say('stacks.noDentSwellingLeakOrDamaged'),
  'brought-to-same-voltage': say('stacks.cellsBroughtToTheSameVoltage'),
  'sense-wire-joined': say('stacks.joinedSenseWireToTheMiddle'),
};

/** What is checked while a stack is built, for each of its cells where it is about the cells. */
export function travellerChecks({ cells }: Pick<Stack, 'cells'>): TravellerCheck[] {
  const step = (one: TravellerStep): TravellerCheck => ({
    text: stepWords[one],
    asks: { is: 'step', step: one },
  });
  return [
    ...cells.map(
      ({ position, cellId }): TravellerCheck => ({
        text: say('stacks.serialRead', { position }),
        asks: { is: 'serial', cellId },
      }),
    ),
    step('no-damage'),
    ...cells.map(
      ({ serial, cellId }): TravellerCheck => ({
        text: say('stacks.openCircuitVoltageOf', { serial }),
        asks: { is: 'openCircuitVoltageV', cellId },
      }),
    ),
    step('brought-to-same-voltage'),
    step('sense-wire-joined'),
    ...jointChecks(cells),
    ...cells.map(
      ({ serial, cellId }): TravellerCheck => ({
        text: say('stacks.voltageSeenByTheCharger', { serial }),
        asks: { is: 'chargerVoltageV', cellId },
      }),
    ),
  ];
}

/** The joint of two cells; of more, each of them, because one bad weld is hidden in the sum. */
function jointChecks(cells: Stack['cells']): TravellerCheck[] {
  if (cells.length <= 2) return [{ text: say('stacks.resistanceOfTheJointsM'), asks: { is: 'joints' } }];
  return cells.slice(1).map(
    ({ serial }, i): TravellerCheck => ({
      text: say('stacks.resistanceOfTheJointBetween', { first: cells[i].serial, second: serial }),
      asks: { is: 'joint', after: i + 1 },
    }),
  );
}
