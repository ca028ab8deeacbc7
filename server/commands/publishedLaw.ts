import { InvalidArgumentError } from 'commander';
import { type PublishedLawRequest, publishedLawRequest } from '../contract/publishedLaws.ts';

/** Reads `wang-2011:cRate=2,temperatureC=30`; an option that may be repeated. */
export function parsePublishedLaw(
  text: string,
  before: readonly PublishedLawRequest[] = [],
): PublishedLawRequest[] {
  const [law, ...rest] = text.split(':');
  const conditions: Record<string, number> = {};
  for (const part of rest
    .join(':')
    .split(',')
    .filter((one) => one.trim() !== '')) {
    const [name, value, ...more] = part.split('=').map((side) => side.trim());
    if (value === undefined || value === '' || more.length > 0 || !Number.isFinite(Number(value)))
      throw new InvalidArgumentError(`"${part.trim()}" is not a condition; write NAME=NUMBER.`);
    conditions[name] = Number(value);
  }
  const parsed = publishedLawRequest.safeParse({ law: law.trim(), ...conditions });
  if (parsed.success) return [...before, parsed.data];
  const [issue] = parsed.error.issues;
  throw new InvalidArgumentError(`${issue.path.join('.') || 'law'}: ${issue.message}.`);
}
