import { storedSetting } from '../../settings/stored.ts';

/** Sizes of labels that are sold on rolls and sheets, across × high. */
export const sizesOfLabels = [
  { widthMm: 25, heightMm: 12 },
  { widthMm: 38, heightMm: 21 },
  { widthMm: 50, heightMm: 25 },
  { widthMm: 63, heightMm: 38 },
  { widthMm: 70, heightMm: 36 },
] as const;

const usual = '50x25';

export const keyOf = ({ widthMm, heightMm }: (typeof sizesOfLabels)[number]) => `${widthMm}x${heightMm}`;

/** The size of label in this reader's printer, as `50x25`. */
export const labelSizes = storedSetting<string>('gemel-label-size', (stored) =>
  sizesOfLabels.some((size) => keyOf(size) === stored) ? String(stored) : usual,
);

export function labelSizeOf(key: string): (typeof sizesOfLabels)[number] {
  return sizesOfLabels.find((size) => keyOf(size) === key) ?? sizesOfLabels[2];
}
