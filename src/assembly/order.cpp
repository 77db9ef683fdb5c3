#include "assembly/order.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <optional>

#include "assembly/blocking.h"
#include "assembly/pieces.h"
#include "routing/tables.h"

namespace assembly {
namespace {

using lattice::Axis;
using lattice::Way;

constexpr std::size_t kWayCount = lattice::kWays.size();

std::size_t number_of(Way way) {
  return static_cast<std::size_t>(std::find(lattice::kWays.begin(), lattice::kWays.end(), way) -
                                  lattice::kWays.begin());
}

Way back(Way way) {
  return {way.axis, -way.sign};
}

/// "left" for what moves to the right.
std::string from_text(Way in) {
  static constexpr std::array<std::string_view, 6> kFrom{"the front", "the back", "the left",
                                                         "the right", "above",    "below"};
  return std::string(kFrom[number_of(back(in))]);
}

std::string joined(const std::vector<std::string>& items, std::string_view between, std::string_view last) {
  std::string out;
  for (std::size_t i = 0; i < items.size(); ++i) {
    if (i > 0) out += i + 1 == items.size() ? last : between;
    out += items[i];
  }
  return out;
}

/// Takes the pieces apart, one move after the other; what came out last goes in first.
class Undoing {
 public:
  Undoing(const Assembly& assembly, const Blocking& blocking) : assembly_(assembly), blocking_(blocking) {}

  /// Steps in the order of building. What no straight way takes apart is added to locked(); a group that holds such
  /// pieces still goes in as one, so that the rest can be told.
  std::vector<Step> run(const std::vector<int>& pieces, int made_up) {
    std::vector<char> left(assembly_.pieces.size(), 0);
    for (const int i : pieces) left[index(i)] = 1;
    std::vector<std::vector<Step>> undone;  // by move; each a run of steps in the order of building
    while (std::any_of(left.begin(), left.end(), [](char c) { return c != 0; })) {
      std::vector<Step> move = next_move(left, made_up);
      if (move.empty()) break;
      for (const Step& s : move) {
        if (s.made_up != made_up) continue;
        for (const int i : s.pieces) left[index(i)] = 0;
        for (const Held& h : s.held) left[index(h.piece)] = 0;
      }
      undone.push_back(std::move(move));
    }
    for (std::size_t i = 0; i < left.size(); ++i) {
      if (left[i] != 0) locked_.push_back(static_cast<int>(i));
    }
    std::vector<Step> steps;
    for (auto move = undone.rbegin(); move != undone.rend(); ++move) {
      for (Step& s : *move) steps.push_back(std::move(s));
    }
    return steps;
  }
  [[nodiscard]] std::vector<int> locked() const {
    std::vector<int> out = locked_;
    std::sort(out.begin(), out.end());
    return out;
  }

 private:
  static std::size_t index(int i) { return static_cast<std::size_t>(i); }
  [[nodiscard]] const Piece& piece(int i) const { return assembly_.pieces[index(i)]; }

  /// The first way out that is free, its own axis first, then upwards, then the rest.
  [[nodiscard]] std::optional<Way> way_out(const std::vector<int>& moved, Axis own,
                                           const std::vector<char>& left) const {
    std::vector<Way> ways{{own, 1},      {own, -1},    {Axis::z, 1},  {Axis::x, 1},
                          {Axis::x, -1}, {Axis::y, 1}, {Axis::y, -1}, {Axis::z, -1}};
    for (const Way way : ways) {
      if (is_free(blocking_, number_of(way), moved, left)) return way;
    }
    return std::nullopt;
  }

  /// What comes out next, in the order in which a builder would rather have it in last: what sits on the ends of shafts
  /// and motors, then an axle with what is held for it, then a whole shaft made up outside, then a wall, then whatever
  /// group can go. A move that is possible stays possible when others have gone, so taking the first never leads into a
  /// dead end.
  std::vector<Step> next_move(const std::vector<char>& left, int made_up) {
    if (auto s = single(left, made_up)) return {*s};
    if (auto s = axle_with_held(left, made_up)) return {*s};
    if (auto s = whole_shaft(left, made_up); !s.empty()) return s;
    if (auto s = wall(left, made_up)) return {*s};
    return group(left, made_up);
  }

  std::optional<Step> single(const std::vector<char>& left, int made_up) const {
    for (const PieceKind kind :
         {PieceKind::attachment, PieceKind::wheel, PieceKind::bush, PieceKind::body, PieceKind::ring}) {
      for (int i = count() - 1; i >= 0; --i) {
        if (left[index(i)] == 0 || piece(i).kind != kind) continue;
        if (const auto out = way_out({i}, piece(i).axis, left)) {
          Step s;
          s.sort = kind == PieceKind::body || kind == PieceKind::ring ? StepSort::put_in : StepSort::push_on;
          s.pieces = {i};
          s.way = back(*out);
          s.made_up = made_up;
          return s;
        }
      }
    }
    return std::nullopt;
  }

  /// An axle drawn out along itself, then at once everything that was on it: nothing stays behind loose.
  std::optional<Step> axle_with_held(const std::vector<char>& left, int made_up) const {
    for (int i = count() - 1; i >= 0; --i) {
      if (left[index(i)] == 0 || piece(i).kind != PieceKind::axle) continue;
      for (const int sign : {1, -1}) {
        const Way out{piece(i).axis, sign};
        if (!is_free(blocking_, number_of(out), {i}, left)) continue;
        std::vector<char> then = left;
        then[index(i)] = 0;
        std::vector<Held> held;
        std::vector<int> on = on_shaft(piece(i).shaft, then);
        bool moved = true;
        while (moved) {
          moved = false;
          for (const int j : on) {
            if (then[index(j)] == 0) continue;
            // Across first: between two walls there is no other way, and a hand reaches in that way.
            const Axis first = piece(j).axis == Axis::z ? Axis::x : Axis::z;
            if (const auto way = way_out({j}, first, then)) {
              held.push_back({j, back(*way)});
              then[index(j)] = 0;
              moved = true;
            }
          }
        }
        if (held.size() != on.size()) continue;
        std::reverse(held.begin(), held.end());
        Step s;
        s.sort = StepSort::slide;
        s.pieces = {i};
        s.held = std::move(held);
        s.way = back(out);
        s.through = passed(i, s.way, left);
        s.made_up = made_up;
        return s;
      }
    }
    return std::nullopt;
  }

  std::vector<Step> whole_shaft(const std::vector<char>& left, int made_up) {
    for (int i = count() - 1; i >= 0; --i) {
      if (left[index(i)] == 0 || piece(i).kind != PieceKind::axle) continue;
      std::vector<int> on = on_shaft(piece(i).shaft, left);
      if (on.empty()) continue;
      on.insert(std::lower_bound(on.begin(), on.end(), i), i);
      if (static_cast<int>(on.size()) == static_cast<int>(std::count(left.begin(), left.end(), 1))) continue;
      const auto out = way_out(on, piece(i).axis, left);
      if (!out) continue;
      return brought(on, *out, made_up);
    }
    return {};
  }

  std::optional<Step> wall(const std::vector<char>& left, int made_up) const {
    for (int i = count() - 1; i >= 0; --i) {
      if (left[index(i)] == 0 || piece(i).kind != PieceKind::wall) continue;
      if (const auto out = way_out({i}, piece(i).axis, left)) {
        Step s;
        s.sort = StepSort::stand;
        s.pieces = {i};
        s.way = back(*out);
        s.made_up = made_up;
        return s;
      }
    }
    return std::nullopt;
  }

  /// The smallest group that can leave together along any way, what is on one shaft never parted.
  std::vector<Step> group(const std::vector<char>& left, int made_up) {
    // Nodes: a shaft with all that is on it, or one piece.
    std::vector<std::vector<int>> nodes;
    std::vector<int> node_of(left.size(), -1);
    for (int i = 0; i < count(); ++i) {
      if (left[index(i)] == 0 || node_of[index(i)] >= 0) continue;
      std::vector<int> members{i};
      if (is_on_shaft(i)) {
        members.clear();
        for (int j = i; j < count(); ++j) {
          if (left[index(j)] != 0 && is_on_shaft(j) && piece(j).shaft == piece(i).shaft) members.push_back(j);
        }
      }
      for (const int m : members) node_of[index(m)] = static_cast<int>(nodes.size());
      nodes.push_back(std::move(members));
    }
    std::vector<int> best;
    Way best_way;
    for (std::size_t w = 0; w < kWayCount; ++w) {
      std::vector<std::vector<int>> arrows(nodes.size());
      for (std::size_t n = 0; n < nodes.size(); ++n) {
        for (const int i : nodes[n]) {
          for (const int j : blocking_.blockers[w][index(i)]) {
            if (left[index(j)] != 0 && node_of[index(j)] != static_cast<int>(n)) arrows[n].push_back(node_of[index(j)]);
          }
        }
        std::sort(arrows[n].begin(), arrows[n].end());
        arrows[n].erase(std::unique(arrows[n].begin(), arrows[n].end()), arrows[n].end());
      }
      for (const std::vector<int>& closed : closed_groups(arrows)) {
        if (closed.size() == nodes.size()) continue;
        std::vector<int> members;
        for (const int n : closed) members.insert(members.end(), nodes[index(n)].begin(), nodes[index(n)].end());
        std::sort(members.begin(), members.end());
        if (best.empty() || members.size() < best.size()) {
          best = std::move(members);
          best_way = lattice::kWays[w];
        }
      }
    }
    if (best.empty()) return {};
    return brought(best, best_way, made_up);
  }

  /// A group made up outside and brought in as one.
  std::vector<Step> brought(const std::vector<int>& members, Way out, int made_up) {
    Step s;
    s.sort = StepSort::put_in;
    s.pieces = members;
    s.way = back(out);
    s.made_up = made_up;
    std::vector<Step> steps;
    if (members.size() > 1) {
      s.sort = StepSort::bring;
      s.group = groups_++;
      steps = run(members, s.group);
    }
    steps.push_back(std::move(s));
    return steps;
  }

  [[nodiscard]] int count() const { return static_cast<int>(assembly_.pieces.size()); }
  [[nodiscard]] bool is_on_shaft(int i) const {
    const PieceKind k = piece(i).kind;
    return piece(i).shaft >= 0 &&
           (k == PieceKind::axle || k == PieceKind::wheel || k == PieceKind::bush || k == PieceKind::attachment);
  }
  [[nodiscard]] std::vector<int> on_shaft(int shaft, const std::vector<char>& left) const {
    std::vector<int> out;
    for (int i = 0; i < count(); ++i) {
      if (left[index(i)] != 0 && is_on_shaft(i) && piece(i).kind != PieceKind::axle && piece(i).shaft == shaft)
        out.push_back(i);
    }
    return out;
  }
  /// What stands or is held on the axle's line and is met on the way in, in that order.
  [[nodiscard]] std::vector<int> passed(int axle, Way in, const std::vector<char>& left) const {
    const Piece& a = piece(axle);
    std::vector<std::pair<double, int>> met;
    for (int i = 0; i < count(); ++i) {
      const Piece& p = piece(i);
      if (i == axle || left[index(i)] == 0 || p.axis != a.axis) continue;
      const bool on_line = p.kind == PieceKind::wall ? std::find(p.holes.begin(), p.holes.end(), a.at) != p.holes.end()
                                                     : is_on_shaft(i) && p.at == a.at && p.kind != PieceKind::axle;
      const bool holds = std::any_of(assembly_.terminals.begin(), assembly_.terminals.end(),
                                     [&](const TerminalHold& t) { return t.body == i && t.axle == axle; });
      if (!on_line && !holds) continue;
      const double enters = in.sign > 0 ? p.from_hp : -p.to_hp, ends = in.sign > 0 ? a.to_hp : -a.from_hp;
      if (enters < ends - kTouchHp) met.emplace_back(enters, i);
    }
    std::sort(met.begin(), met.end());
    std::vector<int> out;
    for (const auto& [where, i] : met) out.push_back(i);
    return out;
  }

  const Assembly& assembly_;
  const Blocking& blocking_;
  int groups_ = 0;
  std::vector<int> locked_;
};

/// Names for people, with the shaft's letter where there are several alike.
std::string name_of(const Piece& p, const std::vector<std::string>& letters) {
  const bool on_shaft = p.shaft >= 0 && p.kind != PieceKind::body;
  return on_shaft ? p.name + " of shaft " + letters.at(static_cast<std::size_t>(p.shaft)) : p.name;
}

std::string along_text(const Piece& p) {
  return fmt::format("{} {}", lattice::letter(p.axis), routing::pitches_text(p.from_hp, p.to_hp));
}

class Teller {
 public:
  Teller(const std::vector<Piece>& pieces, std::vector<std::string> letters)
      : pieces_(pieces), letters_(std::move(letters)) {}

  [[nodiscard]] std::string text(const Step& s) const {
    const Piece& first = piece(s.pieces.front());
    const std::string from = from_text(s.way);
    switch (s.sort) {
      case StepSort::stand:
        return fmt::format("Set up the beams of the {}, from {}, with holes free at {}.", first.name, from,
                           holes(first));
      case StepSort::put_in:
        return fmt::format("Put the {} in from {}, at {}.", first.name, from, along_text(first));
      case StepSort::push_on:
        if (first.name == kJoiner)
          return fmt::format("Push the {} onto shaft {} from {}, half over the end of either axle, at {}.", first.name,
                             letter(first), from, along_text(first));
        return fmt::format("Push the {} onto shaft {} from {}, at {}.", first.name, letter(first), from,
                           along_text(first));
      case StepSort::slide:
        return slide(s);
      case StepSort::bring: {
        std::vector<std::string> names;
        for (const int i : s.pieces) names.push_back(name_of(piece(i), letters_));
        return fmt::format("Bring {} in from {} as one, held together.", joined(names, "; ", " and "), from);
      }
    }
    return {};
  }

  [[nodiscard]] std::string names(const std::vector<int>& pieces, std::string_view last) const {
    std::vector<std::string> out;
    for (const int i : pieces) out.push_back(name_of(piece(i), letters_));
    return joined(out, "; ", last);
  }

 private:
  [[nodiscard]] const Piece& piece(int i) const { return pieces_[static_cast<std::size_t>(i)]; }
  [[nodiscard]] std::string letter(const Piece& p) const { return letters_.at(static_cast<std::size_t>(p.shaft)); }
  [[nodiscard]] static std::string holes(const Piece& wall) {
    std::vector<std::string> out;
    for (const lattice::Cross c : wall.holes) out.push_back(routing::hole_text(wall.axis, c));
    return joined(out, "; ", " and ");
  }
  [[nodiscard]] std::string slide(const Step& s) const {
    const Piece& axle = piece(s.pieces.front());
    const std::string where = fmt::format("hole {}, at {}", routing::hole_text(axle.axis, axle.at), along_text(axle));
    if (s.through.empty()) {
      return s.made_up >= 0 ? fmt::format("Take the {} of shaft {}.", axle.name, letter(axle))
                            : fmt::format("Lay the {} of shaft {} in its place, {}.", axle.name, letter(axle), where);
    }
    std::string out;
    if (!s.held.empty()) {
      std::vector<std::string> held;
      for (const Held& h : s.held) {
        held.push_back(
            fmt::format("the {} (from {}, at {})", piece(h.piece).name, from_text(h.way), along_text(piece(h.piece))));
      }
      out = "Hold " + joined(held, ", ", " and ") + " in place. ";
    }
    std::vector<std::string> through;
    for (const int i : s.through) {
      through.push_back((piece(i).kind == PieceKind::body ? "into the " : "through the ") + piece(i).name);
    }
    return out + fmt::format("Slide the {} of shaft {} from {} {}: {}.", axle.name, letter(axle), from_text(s.way),
                             joined(through, ", ", " and "), where);
  }

  const std::vector<Piece>& pieces_;
  std::vector<std::string> letters_;
};

/// One ring of pieces, each in the way of the one before: for each way the first that is found from the first piece on.
std::vector<int> ring_of(const Blocking& b, std::size_t way, const std::vector<char>& left, int start) {
  std::vector<int> path{start};
  std::vector<int> seen(left.size(), -1);
  seen[static_cast<std::size_t>(start)] = 0;
  while (true) {
    const std::vector<int>& next = b.blockers[way][static_cast<std::size_t>(path.back())];
    const auto it =
        std::find_if(next.begin(), next.end(), [&](int j) { return left[static_cast<std::size_t>(j)] != 0; });
    if (it == next.end()) return {};
    const int at = seen[static_cast<std::size_t>(*it)];
    if (at >= 0) return {path.begin() + at, path.end()};
    seen[static_cast<std::size_t>(*it)] = static_cast<int>(path.size());
    path.push_back(*it);
  }
}

void tell_locked(Order& order, const Assembly& assembly, const Blocking& blocking, const Teller& teller) {
  Locked& locked = order.locked;
  std::vector<char> left(assembly.pieces.size(), 0);
  for (const int i : locked.pieces) left[static_cast<std::size_t>(i)] = 1;
  for (std::size_t w = 0; w < kWayCount; ++w) locked.rings.push_back(ring_of(blocking, w, left, locked.pieces.front()));
  for (const int without : locked.pieces) {
    std::vector<int> rest;
    for (const int i : locked.pieces) {
      const Piece &a = assembly.pieces[static_cast<std::size_t>(i)],
                  &b = assembly.pieces[static_cast<std::size_t>(without)];
      // A shaft goes with its axle: what is on it has no place without it.
      const bool gone = i == without || (b.kind == PieceKind::axle && a.shaft == b.shaft && a.kind != PieceKind::body);
      if (!gone) rest.push_back(i);
    }
    Undoing rest_only(assembly, blocking);
    static_cast<void>(rest_only.run(rest, -1));
    if (rest_only.locked().empty()) locked.freed_by.push_back(without);
  }
  locked.text = "No straight way takes these apart, so they cannot be put in one after the other: " +
                teller.names(locked.pieces, " and ") + ". ";
  locked.text +=
      locked.freed_by.empty()
          ? "Moving a single one of them does not help; choose another candidate or give the train more room."
          : "It can be built once one of these stands elsewhere or is left out: " +
                teller.names(locked.freed_by, " or ") + ".";
}

}  // namespace

Order order_of(const routing::Problem& problem, const routing::Layout& layout) {
  const Assembly assembly = assembly_of(problem, layout);
  const Blocking blocking = blocking_of(assembly);
  Order order;
  order.pieces = assembly.pieces;
  std::vector<int> all(assembly.pieces.size());
  for (std::size_t i = 0; i < all.size(); ++i) all[i] = static_cast<int>(i);
  Undoing undoing(assembly, blocking);
  order.steps = undoing.run(all, -1);
  order.locked.pieces = undoing.locked();
  const Teller teller(order.pieces, routing::shaft_names(layout));
  for (Step& s : order.steps) s.text = teller.text(s);
  if (!order.complete()) tell_locked(order, assembly, blocking, teller);
  return order;
}

std::string order_text(const Order& order) {
  std::string out;
  int number = 0;
  for (const Step& s : order.steps) {
    out += fmt::format("{}. {}{}\n", ++number, s.made_up >= 0 ? "Outside: " : "", s.text);
  }
  if (!order.complete()) out += order.locked.text + "\n";
  return out;
}

}  // namespace assembly
