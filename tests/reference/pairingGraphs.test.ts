import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { matchProvenBest } from '../../fitting/pairing/provenMatching.ts';
import { seededRandom } from '../../fitting/statistics/random.ts';
import { fillTable } from '../fitting/pairing/enumerate.ts';
import { TableCosts } from '../fitting/pairing/tableCosts.ts';
import { TableSource } from '../fitting/pairing/tableSource.ts';
import { findPython, runPython } from '../support/python.ts';
import { isMissing, sharedIsMissing, sharedPath } from '../support/required.ts';

interface WeightedCase {
  name: string;
  edges: [number, number, number][];
  weight: number;
}
interface Graphs {
  k4_greedy_trap: { weights: number[][]; optimum: number; greedyTotal: number };
  two_triangles: { weights: number[][]; optimum: number; greedyTotal: number };
  maximumWeightCases: WeightedCase[];
}

const none = { weights: [], optimum: 0, greedyTotal: 0 };
const file = 'reference/matching_graphs.json';

// Source: matching_graphs.json, each optimum found by exhaustive enumeration and by a library solver; the method of
// Edmonds, Canad. J. Math. 17 (1965) 449.
const fileMissing = sharedIsMissing(file);
const graphs: Graphs = fileMissing
  ? { k4_greedy_trap: none, two_triangles: none, maximumWeightCases: [] }
  : JSON.parse(readFileSync(sharedPath(file), 'utf8'));

describe.skipIf(fileMissing)('the published small graphs', () => {
  test.each(['k4_greedy_trap', 'two_triangles'] as const)('%s has the published optimum', (name) => {
    const { weights, optimum, greedyTotal } = graphs[name];
    const costs = new TableCosts(weights.length, Float64Array.from(weights.flat()));
    const { check } = matchProvenBest(new TableSource(costs));
    expect(check).toMatchObject({ proven: true, total: optimum, lowerBound: optimum });
    expect(check.total).toBeLessThan(greedyTotal);
  });

  test.each(graphs.maximumWeightCases)('$name has the published maximum weight', ({ edges, weight }) => {
    const count = Math.max(...edges.map(([a, b]) => Math.max(a, b)));
    const table = fillTable(count, () => Infinity);
    for (const [a, b, w] of edges) table[(a - 1) * count + b - 1] = table[(b - 1) * count + a - 1] = -w;
    const { check } = matchProvenBest(new TableSource(new TableCosts(count, table)));
    expect(check).toMatchObject({ proven: true, pairs: count / 2, total: -weight });
  });
});

const python = findPython('networkx');
const program = `
import json, sys, networkx as nx
out = []
for case in json.load(sys.stdin):
    graph = nx.Graph()
    graph.add_nodes_from(range(case["count"]))
    for a, b, cost in case["edges"]:
        graph.add_edge(a, b, weight=100000 - cost, cost=cost)
    mates = nx.max_weight_matching(graph, maxcardinality=True)
    out.append([len(mates), sum(graph[a][b]["cost"] for a, b in mates)])
print(json.dumps(out))
`;

// Source: networkx max_weight_matching with maxcardinality (Galil 1986), a general-purpose graph library.
describe.skipIf(isMissing('networkx', python !== null, 'apt-get install python3-networkx'))(
  'networkx',
  () => {
    test('agrees on the pairs and the total of 200 random graphs of 20 to 60 nodes', () => {
      const random = seededRandom(200);
      const cases = Array.from({ length: 200 }, (_, i) => {
        const count = 20 + Math.floor(random() * 41);
        const density = i % 4 === 0 ? 1 : 0.05 + 0.3 * random();
        const spread = i % 3 === 0 ? 5 : 1000;
        const table = fillTable(count, () => (random() < density ? Math.floor(random() * spread) : Infinity));
        return { count, table };
      });
      const input = cases.map(({ count, table }) => {
        const edges: [number, number, number][] = [];
        for (let a = 0; a < count; a++)
          for (let b = a + 1; b < count; b++)
            if (table[a * count + b] < Infinity) edges.push([a, b, table[a * count + b]]);
        return { count, edges };
      });
      const theirs = runPython(python!, program, input) as [number, number][];
      cases.forEach(({ count, table }, i) => {
        const { check } = matchProvenBest(new TableSource(new TableCosts(count, table)));
        expect({ i, pairs: check.pairs, total: check.total, proven: check.proven }).toEqual({
          i,
          pairs: theirs[i][0],
          total: theirs[i][1],
          proven: true,
        });
      });
    });
  },
);
