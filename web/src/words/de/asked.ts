import type { Texts } from '../i18n.ts';

export const asked: Texts['asked'] = {
  Charge: 'Laden',
  Cells: 'Zellen',
  'Stack resistance': 'Widerstand des Stacks',
  Bypass: 'Bypass',
  'Temperature zones': 'Temperaturzonen',
  Source: 'Quelle',
  Cable: 'Kabel',
  Converter: 'Wandler',
  Regulator: 'Regler',
};
