import type { Texts } from '../i18n.ts';

export const cautions: Texts['cautions'] = {
  'watch-each-cell': 'Überwachen Sie die Spannung jeder Zelle, nie nur die des Stacks.',
  'datasheet-outranks': 'Das Datenblatt des Herstellers geht jeder Vorgabe und jeder berechneten Zahl vor.',
  'not-unattended': 'Laden oder prüfen Sie nicht unbeaufsichtigt ohne unabhängigen Schutz.',
  'qualified-person-decides':
    'Befolgen Sie örtliche Vorschriften und lassen Sie eine befähigte Person entscheiden. Lithiumzellen können brennen.',
  'valid-where-measured':
    'Die Parameter gelten dort, wo sie gemessen wurden: siehe die Bereiche von Ladezustand, Temperatur, Strom und Zeit.',
  'stack-only-overcharges':
    'Wird nur die Stackspannung überwacht, wird hier eine Zelle überladen: Der Stack sieht richtig aus, während es eine Zelle nicht ist.',
  'parameters-extrapolated':
    'Ein Teil des Ladevorgangs liegt außerhalb des gemessenen Bereichs der Parameter; dort wurden sie an dessen Rand festgehalten.',
  'default-limits-not-datasheet':
    'Die Grenzen sind allgemeine Vorgaben der Zellchemie, übliche Praxis ohne Quellenangabe, nicht aus dem Datenblatt: Geben Sie die des Herstellers ein, bevor Sie irgendeine Zahl verwenden.',
  'do-not-charge': 'Laden Sie unter diesen Bedingungen nicht.',
  'lithium-plating-not-modelled':
    'Lithium-Plating ist nicht modelliert: Eine Rate, die hier jede Grenze einhält, kann einer kalten Zelle dennoch schaden.',
};
