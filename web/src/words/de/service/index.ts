import { fields } from './fields.ts';
import { records } from './records.ts';
import { refusals } from './refusals.ts';

/**
 * What the service says in English sentences of its own, and the German of it. The keys are the service's sentences with
 * their places numbered; `tests/web/serviceSentences.test.ts` reads both off the source of the service.
 */
export const service: Readonly<Record<string, string>> = { ...refusals, ...fields, ...records };
