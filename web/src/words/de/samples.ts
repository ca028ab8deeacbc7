import type { Texts } from '../i18n.ts';

export const samples: Texts['samples'] = {
  'A record: one row per sample': 'Eine Aufzeichnung: eine Zeile je Messpunkt',
  'A cell table: one row per cell': 'Eine Zellentabelle: eine Zeile je Zelle',
  'A cycle table: one row per cell and cycle': 'Eine Zyklentabelle: eine Zeile je Zelle und Zyklus',
  'An impedance spectrum: one row per frequency': 'Ein Impedanzspektrum: eine Zeile je Frequenz',
  'serial of the cell': 'Seriennummer der Zelle',
  'time from the start': 'Zeit ab Beginn',
  'cell voltage': 'Zellspannung',
  'current, positive on charge or stated otherwise': 'Strom, beim Laden positiv oder anders angegeben',
  'temperature of the cell': 'Temperatur der Zelle',
  'discharge capacity': 'Entladekapazität',
  'impedance magnitude at 1 kHz': 'Betrag der Impedanz bei 1 kHz',
  'resistance 10 s after a step': 'Widerstand 10 s nach einem Sprung',
  'open-circuit voltage': 'Ruhespannung',
  'self-discharge': 'Selbstentladung',
  'number of the cycle': 'Nummer des Zyklus',
  frequency: 'Frequenz',
  'real part': 'Realteil',
  'negative imaginary part': 'negativer Imaginärteil',
};
