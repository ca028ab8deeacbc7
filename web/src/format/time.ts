import { locale } from '../words/language.ts';
import { written } from './number.ts';

/** An instant (UTC, ISO 8601) in the reader's own zone, with the zone's short name in the long form. */
export function instant(iso: string | null | undefined, zone?: string): string {
  if (iso === null || iso === undefined) return '–';
  return new Intl.DateTimeFormat(locale, {
    dateStyle: 'medium',
    timeStyle: 'short',
    ...(zone === undefined ? {} : { timeZone: zone }),
  }).format(new Date(iso));
}

/** The day of an instant in the reader's zone. */
export function day(iso: string | null | undefined, zone?: string): string {
  if (iso === null || iso === undefined) return '–';
  return new Intl.DateTimeFormat(locale, {
    dateStyle: 'medium',
    ...(zone === undefined ? {} : { timeZone: zone }),
  }).format(new Date(iso));
}

/** A span of seconds in the largest units that keep it readable: `1 h 32 min`, `48 s`, `0.2 s`. */
export function span(seconds: number): string {
  if (!Number.isFinite(seconds)) return '–';
  if (seconds < 0) return `−${span(-seconds)}`;
  if (seconds < 10) return `${written(String(Number(seconds.toPrecision(2))))} s`;
  if (seconds < 120) return `${Math.round(seconds)} s`;
  const minutes = Math.round(seconds / 60);
  if (minutes < 120) return `${minutes} min`;
  const hours = Math.floor(minutes / 60);
  if (hours < 48) return minutes % 60 === 0 ? `${hours} h` : `${hours} h ${minutes % 60} min`;
  const days = Math.floor(hours / 24);
  return hours % 24 === 0 ? `${days} d` : `${days} d ${hours % 24} h`;
}

/** The name of the zone in which times are shown. */
export function zoneName(): string {
  return Intl.DateTimeFormat().resolvedOptions().timeZone;
}
