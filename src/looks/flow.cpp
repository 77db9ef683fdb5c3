#include "looks/flow.h"

#include <fmt/format.h>
#include <lemon/network_simplex.h>
#include <lemon/smart_graph.h>

#include <algorithm>
#include <map>

#include "base/check.h"

namespace looks {

struct Flow::Network {
  using Graph = lemon::SmartDigraph;
  using Simplex = lemon::NetworkSimplex<Graph, std::int64_t, std::int64_t>;

  struct Give {
    Graph::Arc arc;
    int zone = 0, need = 0, type = 0;
  };
  struct Lacking {
    Graph::Arc arc;
    int zone = 0;
  };

  Graph graph;
  Graph::ArcMap<std::int64_t> capacity{graph, 0}, cost{graph, 0};
  Graph::NodeMap<std::int64_t> supply{graph, 0};
  std::vector<Give> gives;
  std::vector<Lacking> lacking;
  std::vector<int> weights;      ///< by zone
  std::int64_t per_missing = 1;  ///< dearer than anything that colours can cost
  std::unique_ptr<Simplex> simplex;
};

Flow::Flow(const std::vector<Zone>& zones, const std::vector<Left>& left) : network_(std::make_unique<Network>()) {
  std::map<std::pair<stock::ClassId, std::string>, int> merged;
  for (const Left& l : left) {
    KW_CHECK(l.count >= 0, fmt::format("{} pieces are left of a type", l.count));
    const bool accepted = std::any_of(zones.begin(), zones.end(), [&](const Zone& z) {
      return std::any_of(z.needs.begin(), z.needs.end(), [&](const Need& n) {
        return std::find(n.accepts.begin(), n.accepts.end(), l.part) != n.accepts.end();
      });
    });
    if (accepted && l.count > 0) merged[{l.part, l.colour}] += l.count;
  }
  for (const auto& [key, count] : merged) types_.push_back({key.first, key.second, count});

  Network& n = *network_;
  std::int64_t wanted = 0;
  for (const Zone& z : zones) {
    KW_CHECK(z.weight >= 1 && z.weight <= kMostWeight, fmt::format("zone \"{}\" weighs {}", z.id, z.weight));
    n.weights.push_back(z.weight);
    for (const Need& need : z.needs) {
      KW_CHECK(need.count >= 1 && !need.accepts.empty(),
               fmt::format("zone \"{}\" needs {} of {} classes", z.id, need.count, need.accepts.size()));
      wanted += need.count;
    }
  }
  KW_CHECK(wanted <= kMostPieces, fmt::format("the zones want {} pieces", wanted));
  n.per_missing = wanted * kMostWeight + 1;

  const auto source = n.graph.addNode(), sink = n.graph.addNode();
  n.supply[source] = wanted;
  n.supply[sink] = -wanted;
  std::vector<Network::Graph::Node> type_node;
  for (const Type& t : types_) {
    type_node.push_back(n.graph.addNode());
    n.capacity[n.graph.addArc(source, type_node.back())] = t.count;
  }
  for (std::size_t z = 0; z < zones.size(); ++z) {
    for (std::size_t k = 0; k < zones[z].needs.size(); ++k) {
      const Need& need = zones[z].needs[k];
      const auto node = n.graph.addNode();
      n.capacity[n.graph.addArc(node, sink)] = need.count;
      for (std::size_t t = 0; t < types_.size(); ++t) {
        if (std::find(need.accepts.begin(), need.accepts.end(), types_[t].part) == need.accepts.end()) continue;
        const auto arc = n.graph.addArc(type_node[t], node);
        n.capacity[arc] = need.count;
        n.gives.push_back({arc, static_cast<int>(z), static_cast<int>(k), static_cast<int>(t)});
      }
      const auto arc = n.graph.addArc(source, node);
      n.capacity[arc] = need.count;
      n.cost[arc] = n.per_missing + zones[z].weight;
      n.lacking.push_back({arc, static_cast<int>(z)});
    }
  }
  n.simplex = std::make_unique<Network::Simplex>(n.graph);
  n.simplex->upperMap(n.capacity).supplyMap(n.supply);
}

Flow::~Flow() = default;

Flow::Answer Flow::solve(const Welcome& welcome) {
  Network& n = *network_;
  for (const Network::Give& g : n.gives) {
    const std::vector<std::string>& colours = welcome.at(static_cast<std::size_t>(g.zone));
    const std::string& colour = types_[static_cast<std::size_t>(g.type)].colour;
    // A colour nobody told matches none.
    const bool matches = !colour.empty() && std::find(colours.begin(), colours.end(), colour) != colours.end();
    n.cost[g.arc] = matches ? 0 : n.weights[static_cast<std::size_t>(g.zone)];
  }
  Answer out;
  if (n.lacking.empty()) return out;
  n.simplex->costMap(n.cost);
  KW_CHECK(n.simplex->run() == Network::Simplex::OPTIMAL, "a flow that may leave every need unserved has an answer");
  for (const Network::Give& g : n.gives) {
    const std::int64_t count = n.simplex->flow(g.arc);
    if (count == 0) continue;
    out.taken.push_back({g.zone, g.need, g.type, static_cast<int>(count)});
    out.cost += count * n.cost[g.arc];
  }
  for (const Network::Lacking& l : n.lacking) {
    const std::int64_t count = n.simplex->flow(l.arc);
    out.missing += static_cast<int>(count);
    out.cost += count * n.weights[static_cast<std::size_t>(l.zone)];
  }
  return out;
}

}  // namespace looks
