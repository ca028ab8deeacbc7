/** What a study was asked about, by the words of the answer. */
export const asked = {
  Charge: 'Charge',
  Cells: 'Cells',
  'Stack resistance': 'Stack resistance',
  Bypass: 'Bypass',
  'Temperature zones': 'Temperature zones',
  Source: 'Source',
  Cable: 'Cable',
  Converter: 'Converter',
  Regulator: 'Regulator',
} as const;
