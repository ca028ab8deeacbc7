import { say } from '../../words/i18n.ts';

type Word =
  | 'title'
  | 'column'
  | 'one'
  | 'many'
  | 'acceptChosen'
  | 'rejectChosen'
  | 'takeBackChosen'
  | 'find'
  | 'finding'
  | 'scatter'
  | 'costs'
  | 'fromTheCheapest'
  | 'charge';

interface SetWords extends Readonly<Record<Word, string>> {
  readonly proposed: (count: number) => string;
  readonly accepted: (count: number) => string;
  readonly decided: (count: number, state: string) => string;
  readonly atOnce: (count: number) => string;
  readonly lines: (leftOver: string) => string;
}

const pair: SetWords = {
  title: say('pairings.pairs'),
  column: say('pairings.pair2'),
  one: say('pairings.pair'),
  many: say('pairings.pairs2'),
  acceptChosen: say('pairings.acceptChosen'),
  rejectChosen: say('pairings.rejectChosen'),
  takeBackChosen: say('pairings.takeBackChosen'),
  find: say('pairings.findTheBestPairing'),
  finding: say('pairings.findingTheBestPairs'),
  scatter: say('pairings.cellsAndPairs'),
  costs: say('pairings.costOfThePairs'),
  fromTheCheapest: say('pairings.pairFromTheCheapest'),
  charge: say('pairings.computeHowThisPairCharges'),
  proposed: (n) =>
    n === 1 ? say('pairings.proposedPair') : say('pairings.proposedProposedPairs', { proposed: n }),
  accepted: (n) => say('pairings.pairsPairsAreAccepted', { pairs: n }),
  decided: (n, state) => say('pairings.chosenPairsAre', { pairs: n, state }),
  atOnce: (n) => say('pairings.atMostPairsAtOnce', { mostPairs: n }),
  lines: (left) => say('pairings.eachLineJoinsTheTwoCells', { left }),
};

const group: SetWords = {
  title: say('groups.groups'),
  column: say('groups.group'),
  one: say('groups.oneGroup'),
  many: say('groups.manyGroups'),
  acceptChosen: say('groups.acceptChosen'),
  rejectChosen: say('groups.rejectChosen'),
  takeBackChosen: say('groups.takeBackChosen'),
  find: say('groups.findGroups'),
  finding: say('groups.findingGroups'),
  scatter: say('groups.cellsAndGroups'),
  costs: say('groups.costOfTheGroups'),
  fromTheCheapest: say('groups.groupFromTheCheapest'),
  charge: say('groups.computeHowThisGroupCharges'),
  proposed: (n) => (n === 1 ? say('groups.proposedGroup') : say('groups.proposedGroups', { proposed: n })),
  accepted: (n) => say('groups.groupsAreAccepted', { groups: n }),
  decided: (n, state) => say('groups.chosenGroupsAre', { groups: n, state }),
  atOnce: (n) => say('groups.atMostGroupsAtOnce', { groups: n }),
  lines: (left) => say('groups.linesJoinTheCells', { left }),
};

/** The words for cells that go together: two are a pair, more are a group. */
export function setWords(cellsInSeries: number): SetWords {
  return cellsInSeries > 2 ? group : pair;
}
