import { en } from './en/index.ts';
import { say } from './i18n.ts';

const isKnown = (about: string): about is keyof typeof en.asked => Object.hasOwn(en.asked, about);

/** A heading of what a study was asked, in the reader's language. */
export function askedHeading(about: string): string {
  if (isKnown(about)) return say(`asked.${about}`);
  const ofCell = /^Uncertainty of (.+)$/.exec(about);
  return ofCell === null ? about : say('charge.uncertaintyOfName', { name: ofCell[1] });
}
