/** What is said of groups of more than two cells in series where pairs have words of their own. */
export const groups = {
  cellsInSeries: 'Cells in series',
  pairsOfTwo: '2 (pairs)',
  moreThanTwoAreFound:
    'Pairs are proven best. Groups of more than two are found by a search; the result says how far it can be from the best.',
  forTheLeastTotalOnly: 'More than two in series are found for the least total cost only.',
  keepTogetherIsForPairs: 'For pairs only. For groups: exchange cells by hand once the groups are found.',
  notComparedForGroups:
    'The comparison with other methods and the list of other partners are computed for pairs only. To try another cell in a group, use “Exchange…” beside it: the differences of both groups are computed again, and the exchange can be undone.',
  groups: 'Groups',
  group: 'Group',
  oneGroup: 'group',
  manyGroups: 'groups',
  proposedGroup: 'proposed group',
  proposedGroups: '{{proposed}} proposed groups',
  groupsAreAccepted: '{{groups}} groups are accepted.',
  chosenGroupsAre: '{{groups}} groups: {{state}}.',
  acceptChosen: 'Accept the chosen groups',
  rejectChosen: 'Reject the chosen groups',
  takeBackChosen: 'Take back the decisions on the chosen groups',
  atMostGroupsAtOnce: '; no more than {{groups}} groups at once',
  findGroups: 'Find groups',
  findingGroups: 'Finding groups',
  costOfTheGroups: 'Cost of the groups',
  groupFromTheCheapest: 'Group, from the cheapest',
  cellsAndGroups: 'Cells and groups',
  linesJoinTheCells: 'Lines join the cells of a group. A press on a point opens its cell.{{left}}',
  deltaIsTheLargest: 'Δ is the largest difference between any two cells of a group.',
  largestDifference: 'Largest difference',
  groupOf: 'Group {{names}}',
  computeHowThisGroupCharges: 'Compute how this group charges',
  whyTheyDiffer: '{{names}} go together: no two of them differ by more than {{differences}}.',
  putTogetherByHand:
    '{{names}} were put together by hand; no two of them differ by more than {{differences}}.',
  nothingCompared: 'no quantity that all have',
  notProvenBest: ', not proven best',
  atMostCouldBeSaved: ' (a better grouping could lower the total cost by {{gap}} % at most)',
  aSearchNotProven:
    'Groups of more than two are found by a search that is not proven best: another grouping may cost less, or make more groups. Total cost {{totalCost}}',
  provenBound:
    '. Proven: as many groups cost at least {{lowerBound}}, so a better grouping could lower the total by {{gap}} % at most',
  exchangeCell: 'Cell to exchange',
  exchangeWithCell: 'Exchange with the cell',
  cellOfGroup: '{{serial}} of {{names}}',
  cellsGroupsBy:
    '{{cells}} cells, {{groups}} groups · {{createdAt}}, by {{createdBy}} · {{algorithmName}} {{version}}',
} as const;
