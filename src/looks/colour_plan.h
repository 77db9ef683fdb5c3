// The colour plan: which parts of what is left over go where, so that as little as possible is seen in another colour
// than wanted, and which few colours this stock carries best.
//
// A zone is something seen from outside: so many parts of given classes, one wanted colour. Each part in another colour
// costs the zone's visible weight. Numbers are whole; the assignment is a minimum-cost flow and therefore exact
// (Ahuja, Magnanti, Orlin, "Network Flows", 1993, ch. 9, from memory; solved by LEMON's network simplex).
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "stock/part.h"

namespace looks {

/// Pieces of one class in one colour that nothing else takes.
struct Left {
  stock::ClassId part{};
  std::string colour;  ///< lower case; empty = not said, matches no wanted colour
  int count = 0;
};

/// So many pieces of which any of these classes serves.
struct Need {
  std::vector<stock::ClassId> accepts;  ///< ascending, no repeats, at least one
  int count = 0;                        ///< >= 1
};

struct Zone {
  std::string id;      ///< "cab", "boom, left"
  std::string colour;  ///< wanted, lower case
  int weight = 1;      ///< of one piece in another colour, 1..kMostWeight: how much it is seen
  std::vector<Need> needs;
};
inline constexpr int kMostWeight = 1000;
/// Pieces of all zones together may not exceed this, so that sums do not overflow.
inline constexpr std::int64_t kMostPieces = 1'000'000;

/// Pieces of one part type that go to one need of a zone.
struct Given {
  int need = 0;  ///< index into Zone::needs
  stock::ClassId part{};
  std::string colour;
  int count = 0;
  bool matches = false;  ///< in the wanted colour
};

/// A way to end a lack, by numbers.
struct WayOut {
  enum class Kind {
    more_pieces,   ///< so many more of these classes
    fewer_wanted,  ///< the zone made smaller by so many
    other_class    ///< another class of the same family has this many left, over and above what the plan takes
  };
  Kind kind = Kind::more_pieces;
  stock::ClassId part{};  ///< more_pieces: the need's first class; other_class: that one
  int count = 0;
};

/// A need that no colour fills.
struct Lack {
  int zone = 0, need = 0;  ///< indices
  int missing = 0;         ///< pieces
  std::vector<WayOut> ways_out;
};

struct ZonePlan {
  std::string colour;        ///< the wanted one
  std::vector<Given> given;  ///< by need, class, colour; matches first
  int wanted = 0;            ///< pieces
  int matching = 0;          ///< in the wanted colour
  int mismatched = 0;        ///< in another one
  int missing = 0;           ///< not to be had in any
  std::int64_t cost = 0;     ///< weight times pieces mismatched or missing
};

struct ColourPlan {
  std::vector<ZonePlan> zones;  ///< as the zones asked
  std::vector<Lack> lacks;      ///< empty = every zone can be built
  std::int64_t cost = 0;        ///< least possible
  int mismatched = 0, missing = 0;
  [[nodiscard]] bool feasible() const { return missing == 0; }
};

/// Fewest missing pieces first; then least cost, in which a missing piece counts like one in another colour, so that
/// lacks fall where they are seen least. Which of several equal plans is told is not promised, but the same input gives
/// the same. `left` may hold a type twice. Bad counts or weights, needs that accept nothing: KW_CHECK.
[[nodiscard]] ColourPlan plan_colours(const std::vector<Zone>& zones, const std::vector<Left>& left,
                                      const stock::Catalogue& catalogue);

/// A few colours for the whole machine.
struct Scheme {
  std::vector<std::string> colours;  ///< those used, ascending
  std::vector<std::string> of_zone;  ///< colour of each zone
  std::int64_t cost = 0;             ///< as of a plan with these colours wanted
  int mismatched = 0, missing = 0;
  int changed_zones = 0;  ///< zones whose colour is another one than was asked for
};

struct SchemeOptions {
  int best = 5;                 ///< so many are told, of each number of colours
  std::int64_t node_limit = 0;  ///< assignments and parts of them looked at; 0 = none
};

struct Schemes {
  std::vector<Scheme> two, three;  ///< least cost first; then fewest changed zones, then by colours of the zones
  std::int64_t examined = 0;       ///< assignments of colours, and parts of them, that were bounded or solved
  std::int64_t sets = 0;           ///< sets of two or three colours that were looked at, each to the end
  bool proven = true;              ///< false: the node limit ended it; what is told may not be the best
};

/// For every set of two or of three colours of the stock: the colours of the zones, each of the set used at least once,
/// that cost least. Exact: branch and bound over the zones; the bound lets each undecided zone take any colour of the
/// set piece by piece. Of each set the best assignment is told; of equal ones the first by the zones' colours. Zones
/// fewer than colours: none.
[[nodiscard]] Schemes best_schemes(const std::vector<Zone>& zones, const std::vector<Left>& left,
                                   const SchemeOptions& options = {});

}  // namespace looks
