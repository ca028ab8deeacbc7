import type { Texts } from '../i18n.ts';

export const jobs: Texts['jobs'] = {
  backgroundJobs: 'Hintergrundaufträge',
  importsEvaluationsPairingsAndStudiesThat:
    'Importe, Auswertungen, Paarungen und Studien, die lange dauern. Sie laufen weiter, wenn diese Seite geschlossen ist, und nach einem Absturz beginnt ein Auftrag neu oder wird als fehlgeschlagen markiert.',
  state: 'Zustand',
  everyState: 'jeder Zustand',
  nothingHere: 'Hier ist nichts',
  longWorkAppearsHereByItself:
    'Lange Arbeit erscheint hier von selbst, wenn sie auf einer anderen Seite begonnen wird.',
  jobs: 'Aufträge',
  job: 'Auftrag',
  what: 'Was',
  askedFor: 'Gegenstand',
  by: 'Von',
  ended: 'Beendet',
  remark: 'Bemerkung',
  again: 'Wiederholen',
  filesFiles: '{{files}} Dateien',
  askedFor2: 'verlangt',
  tryAgain: 'Erneut versuchen',
  nameJobId: '{{name}} (Auftrag {{id}})',
};
