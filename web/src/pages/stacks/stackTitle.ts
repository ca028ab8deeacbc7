import { say } from '../../words/i18n.ts';
/** The name of a stack as a title: `Stack P3-006 + P3-008`, and not `Stack Stack 2`. */
export function stackTitle(name: string): string {
  return /^stack\b/i.test(name) ? name : say('stacks.stackName', { name });
}
