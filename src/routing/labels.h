// Finds places for labels: no text on another text, no leader through a text, none across a centre line where there is
// any other place near, as few other lines under a text as possible.
// Deterministic: candidates are tried in a fixed order and the cheapest wins, the first of equals.
#pragma once

#include <string>
#include <vector>

#include "routing/drawing.h"

namespace routing {

class LabelPlacer {
 public:
  /// `free` is where labels may stand at no extra cost: the shown lattice.
  LabelPlacer(const DrawingOptions& options, const Window& free) : options_(options), free_(free) {}

  /// Lines that a label should rather not cover, as points about half a letter apart.
  void mind(const std::vector<Spot>& points);
  struct Line {
    Spot from, to;
  };
  /// A line that a label covers only where everything near is worse: a centre line through letters reads as a stroke of
  /// theirs.
  void keep_off(const Line& line) { kept_off_.push_back(line); }
  /// Places that no label may cover.
  void block(const Window& w) { blocks_.push_back(w); }

  struct Request {
    std::string text;
    MarkRole role = MarkRole::part_label;
    std::vector<Spot> preferred;  ///< middles to try first, without a leader
    Spot anchor;                  ///< what the leader points at
    std::vector<Spot> or_at;      ///< further points of the same thing, for an anchor that lies under a text
    double reach_mm = 0;          ///< no nearer to the anchor with a leader than this
    std::vector<Window> off;      ///< bodies that it would seem to name, were it to stand on them
    bool rim = false;             ///< the leader ends at distance reach_mm from the anchor instead of at it
  };
  /// Adds the leader, if one is needed, and the text. Always finds a place: it goes outwards until there is one. A
  /// leader rather crosses another one, or at worst a text, than run far.
  void place(const Request& request, std::vector<Mark>& marks);
  /// A text at a given place, which others then avoid.
  void fix(std::string text, MarkRole role, Spot middle, std::vector<Mark>& marks, double size = 1);

  [[nodiscard]] Window box_of(const std::string& text, Spot middle, double size = 1) const;

 private:
  [[nodiscard]] bool clear(const Window& box) const;
  [[nodiscard]] bool under_text(Spot) const;
  /// What a leader across other leaders and texts costs, in heights of a letter.
  [[nodiscard]] double crossing_cost(const Line& leader) const;
  [[nodiscard]] double cost(const Window& box) const;
  [[nodiscard]] double outside_cost(const Window& box) const;

  const DrawingOptions& options_;
  Window free_;
  std::vector<Spot> minded_;
  std::vector<Window> blocks_, texts_;
  std::vector<Line> leaders_, kept_off_;
};

}  // namespace routing
