// Minimum-cost perfect matching of cells on the complete graph with LEMON, as the peer of the pairing bench.
// Usage: pairing-peer FILE COUNT DIMENSIONS ROUNDS WAY; FILE holds COUNT × DIMENSIONS 32-bit integers, cell by cell.
// WAY: explicit, all edges stored; implicit, LEMON's FullGraph, which stores none and needs about half the memory.
// The cost of a pair is the sum of the squared differences. Prints the total, then the seconds of each round
// of processor time; reading and building the graph are not counted.
#include <lemon/full_graph.h>
#include <lemon/matching.h>
#include <lemon/smart_graph.h>

#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <string>
#include <vector>

namespace {

struct Cells {
  int count;
  int dimensions;
  std::vector<int32_t> values;

  int cost(int a, int b) const {
    int sum = 0;
    for (int d = 0; d < dimensions; ++d) {
      const int difference = values[a * dimensions + d] - values[b * dimensions + d];
      sum += difference * difference;
    }
    return sum;
  }
};

template <class Graph>
int solve(const Graph &graph, const typename Graph::template EdgeMap<int> &weight, int rounds) {
  for (int round = 0; round < rounds; ++round) {
    const std::clock_t start = std::clock();
    lemon::MaxWeightedPerfectMatching<Graph, typename Graph::template EdgeMap<int>> matching(graph, weight);
    if (!matching.run()) return 1;
    const double seconds = static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
    long long total = 0;
    for (typename Graph::EdgeIt edge(graph); edge != lemon::INVALID; ++edge)
      if (matching.matching(edge)) total -= weight[edge];
    if (round == 0) std::printf("%lld\n", total);
    std::printf("%.9f\n", seconds);
  }
  return 0;
}

int solveExplicit(const Cells &cells, int rounds) {
  lemon::SmartGraph graph;
  graph.reserveNode(cells.count);
  graph.reserveEdge(cells.count * (cells.count - 1) / 2);
  std::vector<lemon::SmartGraph::Node> nodes;
  for (int i = 0; i < cells.count; ++i) nodes.push_back(graph.addNode());
  lemon::SmartGraph::EdgeMap<int> weight(graph);
  for (int a = 0; a < cells.count; ++a)
    for (int b = a + 1; b < cells.count; ++b) weight[graph.addEdge(nodes[a], nodes[b])] = -cells.cost(a, b);
  return solve(graph, weight, rounds);
}

int solveImplicit(const Cells &cells, int rounds) {
  const lemon::FullGraph graph(cells.count);
  lemon::FullGraph::EdgeMap<int> weight(graph);
  for (int a = 0; a < cells.count; ++a)
    for (int b = a + 1; b < cells.count; ++b) weight[graph.edge(graph(a), graph(b))] = -cells.cost(a, b);
  return solve(graph, weight, rounds);
}

}  // namespace

int main(int argc, char **argv) {
  if (argc != 6) return 2;
  Cells cells{std::atoi(argv[2]), std::atoi(argv[3]), {}};
  const int rounds = std::atoi(argv[4]);
  cells.values.resize(static_cast<size_t>(cells.count) * cells.dimensions);
  std::FILE *file = std::fopen(argv[1], "rb");
  if (!file || std::fread(cells.values.data(), sizeof(int32_t), cells.values.size(), file) != cells.values.size())
    return 1;
  std::fclose(file);
  const std::string way = argv[5];
  if (way == "explicit") return solveExplicit(cells, rounds);
  return way == "implicit" ? solveImplicit(cells, rounds) : 2;
}
