/** The duration in a name such as `resistance 10s` or `dcir 100 ms`, in seconds; null where it has none. */
export function durationIn(name: string): number | null {
  const match = /(\d+(?:p\d+)?) ?(ms|s|sec|min)\b/.exec(name);
  if (match === null) return null;
  const number = Number(match[1].replace('p', '.'));
  return match[2] === 'ms' ? number / 1000 : match[2] === 'min' ? number * 60 : number;
}

/** Which way the current of a header's quantity flows; null where it does not say. */
export function directionIn(name: string): 'charge' | 'discharge' | null {
  if (/\b(discharge|discharging|dis|dch|dchg|dsg)\b/.test(name.replace(/self discharge/g, '')))
    return 'discharge';
  return /\b(charge|charging|chg|ch)\b/.test(name) ? 'charge' : null;
}
