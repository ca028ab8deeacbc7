// Minimum-cost perfect matching of cells on the complete graph with LEMON, as the peer of the pairing bench.
// Usage: pairing-peer FILE COUNT DIMENSIONS ROUNDS; FILE holds COUNT × DIMENSIONS 32-bit integers, cell by cell.
// The cost of a pair is the sum of the squared differences. Prints the total, then the seconds of each round
// of processor time; reading and building the graph are not counted.
#include <lemon/matching.h>
#include <lemon/smart_graph.h>

#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <vector>

int main(int argc, char **argv) {
  if (argc != 5) return 2;
  const int count = std::atoi(argv[2]);
  const int dimensions = std::atoi(argv[3]);
  const int rounds = std::atoi(argv[4]);
  std::vector<int32_t> values(static_cast<size_t>(count) * dimensions);
  std::FILE *file = std::fopen(argv[1], "rb");
  if (!file || std::fread(values.data(), sizeof(int32_t), values.size(), file) != values.size()) return 1;
  std::fclose(file);

  lemon::SmartGraph graph;
  graph.reserveNode(count);
  graph.reserveEdge(count * (count - 1) / 2);
  std::vector<lemon::SmartGraph::Node> nodes;
  for (int i = 0; i < count; ++i) nodes.push_back(graph.addNode());
  lemon::SmartGraph::EdgeMap<int> weight(graph);
  for (int a = 0; a < count; ++a) {
    for (int b = a + 1; b < count; ++b) {
      int cost = 0;
      for (int d = 0; d < dimensions; ++d) {
        const int difference = values[a * dimensions + d] - values[b * dimensions + d];
        cost += difference * difference;
      }
      weight[graph.addEdge(nodes[a], nodes[b])] = -cost;
    }
  }
  for (int round = 0; round < rounds; ++round) {
    const std::clock_t start = std::clock();
    lemon::MaxWeightedPerfectMatching<lemon::SmartGraph, lemon::SmartGraph::EdgeMap<int>> matching(graph, weight);
    if (!matching.run()) return 1;
    const double seconds = static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
    long long total = 0;
    for (lemon::SmartGraph::EdgeIt edge(graph); edge != lemon::INVALID; ++edge)
      if (matching.matching(edge)) total -= weight[edge];
    if (round == 0) std::printf("%lld\n", total);
    std::printf("%.9f\n", seconds);
  }
}
