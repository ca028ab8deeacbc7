import type { Texts } from '../i18n.ts';

export const groups: Texts['groups'] = {
  cellsInSeries: 'Zellen in Reihe',
  pairsOfTwo: '2 (Paare)',
  moreThanTwoAreFound:
    'Paare sind bewiesen die besten. Gruppen von mehr als zwei findet eine Suche; das Ergebnis sagt, wie weit sie vom Besten entfernt sein kann.',
  forTheLeastTotalOnly: 'Mehr als zwei in Reihe werden nur für die kleinsten Gesamtkosten gesucht.',
  keepTogetherIsForPairs:
    'Nur für Paare. Bei Gruppen: Tauschen Sie Zellen von Hand, sobald die Gruppen gefunden sind.',
  notComparedForGroups:
    'Der Vergleich mit anderen Verfahren und die Liste anderer Partner werden nur für Paare berechnet. Um eine andere Zelle in einer Gruppe zu prüfen, wählen Sie daneben „Tauschen…“: Die Unterschiede beider Gruppen werden neu berechnet, und der Tausch lässt sich zurücknehmen.',
  groups: 'Gruppen',
  group: 'Gruppe',
  oneGroup: 'Gruppe',
  manyGroups: 'Gruppen',
  proposedGroup: 'Die vorgeschlagene Gruppe',
  proposedGroups: 'Die {{proposed}} vorgeschlagenen Gruppen',
  groupsAreAccepted: '{{groups}} Gruppen sind angenommen.',
  chosenGroupsAre: '{{groups}} Gruppen: {{state}}.',
  acceptChosen: 'Ausgewählte Gruppen annehmen',
  rejectChosen: 'Ausgewählte Gruppen ablehnen',
  takeBackChosen: 'Entscheidungen über die ausgewählten Gruppen zurücknehmen',
  atMostGroupsAtOnce: '; nicht mehr als {{groups}} Gruppen gleichzeitig',
  findGroups: 'Gruppen suchen',
  findingGroups: 'Suche nach Gruppen',
  costOfTheGroups: 'Kosten der Gruppen',
  groupFromTheCheapest: 'Gruppe, von der billigsten an',
  cellsAndGroups: 'Zellen und Gruppen',
  linesJoinTheCells:
    'Linien verbinden die Zellen einer Gruppe. Ein Druck auf einen Punkt öffnet seine Zelle.{{left}}',
  deltaIsTheLargest: 'Δ ist die größte Differenz zwischen zwei Zellen einer Gruppe.',
  largestDifference: 'Größte Differenz',
  groupOf: 'Gruppe {{names}}',
  computeHowThisGroupCharges: 'Berechnen, wie diese Gruppe lädt',
  whyTheyDiffer:
    '{{names}} gehören zusammen: Keine zwei von ihnen unterscheiden sich um mehr als {{differences}}.',
  putTogetherByHand:
    '{{names}} wurden von Hand zusammengestellt; keine zwei von ihnen unterscheiden sich um mehr als {{differences}}.',
  nothingCompared: 'keine Größe, die alle haben',
  notProvenBest: ', nicht als beste bewiesen',
  atMostCouldBeSaved: ' (eine bessere Gruppierung könnte die Gesamtkosten um höchstens {{gap}} % senken)',
  aSearchNotProven:
    'Gruppen von mehr als zwei findet eine Suche, die nicht als beste bewiesen ist: Eine andere Gruppierung kann weniger kosten oder mehr Gruppen bilden. Gesamtkosten {{totalCost}}',
  provenBound:
    '. Bewiesen: Ebenso viele Gruppen kosten mindestens {{lowerBound}}, also könnte eine bessere Gruppierung die Gesamtkosten um höchstens {{gap}} % senken',
  exchangeCell: 'Zu tauschende Zelle',
  exchangeWithCell: 'Tauschen mit der Zelle',
  cellOfGroup: '{{serial}} aus {{names}}',
  cellsGroupsBy:
    '{{cells}} Zellen, {{groups}} Gruppen · {{createdAt}}, von {{createdBy}} · {{algorithmName}} {{version}}',
};
