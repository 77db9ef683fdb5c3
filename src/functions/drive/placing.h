// Trains put in their place: which of a function's trains can be built in its room, and how.
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <tuple>
#include <vector>

#include "base/run_control.h"
#include "functions/drive/drive.h"
#include "functions/drive/site.h"
#include "routing/layout.h"
#include "routing/route.h"

namespace functions::drive {

/// What of the catalogue holds a layout together for one function: looked up once for all its layouts.
struct HoldingParts {
  std::map<int, std::vector<stock::ClassId>> axles;  ///< by length in pitches
  std::map<int, std::vector<stock::ClassId>> beams;  ///< plain full ones, likewise
  std::vector<int> beam_lengths_p;                   ///< of those in stock; of all where there is none. Ascending
};
[[nodiscard]] HoldingParts holding_parts(const brief::Brief&, const brief::Function&);

/// A train with its place. The problem is cut down to what the layout uses: one input, one place per output, this
/// train.
struct Placed {
  std::shared_ptr<const Site> site;
  std::shared_ptr<const routing::Problem> problem;
  std::shared_ptr<const routing::Layout> layout;
  std::string limit_text;  ///< when cheaper layouts may exist: where the search for them ended
  /// Of the function it is placed for; null: demand_of() looks them up.
  std::shared_ptr<const HoldingParts> parts = nullptr;
};

/// Where the search for a place of one train ends and counts as without a result, and where the comparison of its
/// layouts ends (RouteOptions::max_steps). Nine in ten searches end far earlier; long trains with a right angle in an
/// ample room would take minutes.
inline constexpr std::int64_t kStepsToFirst = 3'000;
inline constexpr std::int64_t kStepsToBest = 15'000;

/// What a train may be given where it finds no place as it is; tried in this order. `joined`: axles in a joiner, where
/// shafts stood but for a long enough axle. `idlers`: a wheel that only passes the motion on.
enum class Help { none, joined, idlers };
/// Whether stock and train allow it: joiners in stock; a parallel mesh and room for one more.
[[nodiscard]] bool may_help(Help, const gearing::Train&, const routing::Kit&);

/// Places trains for one function. Routers are made when they are first asked for and kept, and so are answers. May be
/// asked from several threads at once: whichever asks first, the answers are the same.
class Placers {
 public:
  Placers(const brief::Brief&, const brief::Function&, int most_stages);
  ~Placers();

  struct First {
    int train = -1;                        ///< index into the trains offered; -1 = none can be built
    std::shared_ptr<const Placed> placed;  ///< of it
    bool complete = true;                  ///< false: stopped
    bool ended = false;                    ///< nothing found, but the search ended at kStepsToFirst
    bool lacked_axle = false;              ///< nothing found; some shafts stood but for an axle of the right length
  };
  /// The first of the trains that can be built, tried style by style (kWallStyles).
  [[nodiscard]] First first(stock::ClassId motor, int motors, const std::shared_ptr<const Site>&,
                            const std::vector<gearing::Train>&, const base::RunControl& = {});
  /// The same for one train with help, one that can be put together (assembly::order_of); what first() found none for.
  [[nodiscard]] First with_help(Help, const Powertrain&, const std::shared_ptr<const Site>&,
                                const base::RunControl& = {});
  /// Why a train cannot be built, in numbers.
  [[nodiscard]] std::string refusal(stock::ClassId motor, int motors, const std::shared_ptr<const Site>&,
                                    const gearing::Train&, const base::RunControl& = {});
  /// The cheapest distinct layouts of a train, at most `count`, cheapest first; of a further style of walls only where
  /// the ones before have too few. One: the layout that first() or with_help() found, whatever it costs. Of a
  /// powertrain with idlers or joiners, layouts with these.
  [[nodiscard]] std::vector<Placed> best(const Powertrain&, const std::shared_ptr<const Site>&, int count,
                                         const base::RunControl& = {});
  /// One train to each output of a drive with several.
  struct Ways {
    std::vector<gearing::Train> path;  ///< from the motor
    std::vector<bool> by_shared;       ///< whose first mesh is one and the same
  };
  /// A layout of several outputs on one motor: first the way to the first output alone, in the first layout that can be
  /// built; then the others from its shafts, by any wheels of the same ratios, at the holes that their ways lead to.
  /// `site` has all outputs; places of the further ones say the axis and what sits there, and the line only where it is
  /// `fixed`. Empty with `refusal` when there is none.
  [[nodiscard]] std::vector<Placed> several(stock::ClassId motor, const Ways&, const std::shared_ptr<const Site>& first,
                                            const std::shared_ptr<const Site>& site, const std::vector<bool>& fixed,
                                            std::string& refusal, const base::RunControl& = {});

  /// Of the powertrains that found no place the one with the best margin is kept for tell_wider_room().
  void remember_unplaced(const Powertrain&, const std::shared_ptr<const Site>&, double worst);
  /// For a function without any candidate: tells the log by how many pitches the room must grow, at one face or else at
  /// all, until the best powertrain stands in it. Asks up to 28 rooms, kStepsToFirst each.
  void tell_wider_room(candidate::RejectionLog&, const base::RunControl& = {});

  [[nodiscard]] const gearing::MeshTable& table() const { return table_; }
  [[nodiscard]] const routing::Kit& kit() const { return kit_; }
  [[nodiscard]] int reach() const { return reach_hp_; }

 private:
  using Key = std::tuple<const Site*, stock::ClassId, int, int, Help>;  ///< site, motor, motors, wall style, help
  /// Null where motor or outputs have no place at all.
  const routing::Router* router(const std::shared_ptr<const Site>&, stock::ClassId motor, int motors, int style,
                                Help = Help::none);
  /// Layouts of a train with help that can be put together and have the wheels and joiners of `like`, if given.
  [[nodiscard]] std::vector<Placed> helped(Help, const Powertrain&, const std::shared_ptr<const Site>&, int count,
                                           const Powertrain* like, First* ended, const base::RunControl&);

  /// With the places that the layout uses and no others, and the names left out before.
  [[nodiscard]] Placed placed(const std::shared_ptr<const Site>&, const routing::Router&, stock::ClassId motor,
                              routing::Layout, std::vector<int> train) const;

  const brief::Brief& brief_;
  std::shared_ptr<const HoldingParts> parts_;
  int most_stages_ = 2;
  gearing::MeshTable table_;
  routing::Kit kit_;
  routing::Kit joined_kit_;         ///< with joined axles; the same as kit_ in a stock without joiners
  int reach_hp_ = 0, step_hp_ = 0;  ///< step: longest distance of one mesh
  struct Made {
    std::once_flag once;
    std::unique_ptr<const routing::Router> router;  ///< null: nothing can be asked
  };
  [[nodiscard]] routing::Problem problem(const Site&, stock::ClassId motor, int motors, int style,
                                         Help = Help::none) const;
  enum class Stands { yes, no, not_known };  ///< not known: a search ended early
  /// Whether it can be built at a site that is not asked again.
  [[nodiscard]] Stands stands_once(const Powertrain&, const Site&, const base::RunControl&) const;
  struct Unplaced {
    Powertrain powertrain;
    std::shared_ptr<const Site> site;
    double worst = 0;
  };
  std::optional<Unplaced> unplaced_;
  [[nodiscard]] std::optional<First> known(const Key&, const std::vector<int>& pairs);
  std::map<Key, std::unique_ptr<Made>> routers_;
  /// One that is ready, by site and wall style: the next in the same room shares its tables.
  std::map<std::pair<const Site*, int>, const routing::Router*> of_room_;
  std::vector<std::shared_ptr<const Site>> sites_;           ///< kept alive, because keys point to them
  std::map<std::pair<Key, std::vector<int>>, First> known_;  ///< of single trains
  std::mutex guard_;  ///< of routers_, of_room_, sites_, known_ and unplaced_; not held while a router works
};

/// Bevel, crown and worm meshes of a placed train: each needs bearings across the others, and a second one turns the
/// motor back to where parallel shafts have it anyway (common practice, no source).
inline constexpr int kMostRightAngles = 1;

/// The best drafts that meet every want get several layouts, the cheapest ones, each a candidate of its own; the others
/// stand in the layout that showed that they can be built.
inline constexpr int kLayouts = 3;
inline constexpr int kDraftsWithLayouts = 40;

/// A powertrain that can be built, before its layouts are laid out in full: what it is compared by (its parts without
/// the frame, margins, currents), and how its candidates are made.
struct Draft {
  candidate::Candidate paper;
  /// Layouts: 1 = the first one, without a search. The log is the call's own: drafts are placed side by side.
  std::function<std::vector<candidate::Candidate>(int layouts, candidate::RejectionLog&)> place;
};
/// Adds what another log told.
void add_all(candidate::RejectionLog&, std::vector<candidate::Rejection>);
/// The draft of a design that has a `powertrain`, a `site` and a place for its `placed`: `make(design)` gives its
/// candidate, `tell(design, candidate)` what people see of it once it is laid out. A candidate that lacks a part that
/// must be used is a rejection "<kind>.must_use". Placers, function and control must outlive the draft.
template <class Design, class Make, class Tell>
[[nodiscard]] Draft draft_of(const std::shared_ptr<const Design>& design, Placers& placers,
                             const brief::Function& function, const base::RunControl& control, const Make& make,
                             const Tell& tell) {
  Draft draft{make(design), {}};
  draft.place = [=, &placers, &function, &control](int layouts, candidate::RejectionLog& log) {
    std::vector<candidate::Candidate> out;
    for (Placed& at : placers.best(design->powertrain, design->site, layouts, control)) {
      Design whole = *design;
      whole.placed = std::move(at);
      const auto laid_out = std::make_shared<const Design>(std::move(whole));
      candidate::Candidate c = make(laid_out);
      if (!uses_all_wanted(function, c.demand)) {
        log.add(function.kind + ".must_use", 1, "parts", [&] { return c.title + " lacks a part that must be used"; });
        continue;
      }
      tell(*laid_out, c);
      out.push_back(std::move(c));
    }
    return out;
  };
  return draft;
}

/// Candidates of the drafts that no other draft beats on paper (candidate::keep_non_dominated), then of these the ones
/// that the stock can serve on their own and that none beats with its frame and its room. Best first. On control.jobs
/// threads, so what a draft's place() looks at must bear that. Where few of a function are enough (best_only), half as
/// many drafts get several layouts. `meanwhile` is called beside the last comparison where there is something to
/// compare; no draft is asked any more then, so that it may give back what they looked at.
[[nodiscard]] std::vector<candidate::Candidate> place_drafts(std::vector<Draft>, const brief::Brief&,
                                                             const brief::Function&, candidate::RejectionLog&,
                                                             const base::RunControl&,
                                                             const std::function<void()>& meanwhile = {});
/// How many pieces the stock has, by part class.
[[nodiscard]] std::vector<int> pieces_of(const brief::Brief&);
/// Whether the stock has the pieces of each need; what is missing goes to the log.
[[nodiscard]] bool stock_serves(const candidate::Candidate&, const brief::Brief&, candidate::RejectionLog&);
/// The same with the stock counted before: pieces_of() it.
[[nodiscard]] bool stock_serves(const candidate::Candidate&, const std::vector<int>& pieces, candidate::RejectionLog&);
/// Motors and gears of a powertrain, all sides, without frame; ports and channels.
[[nodiscard]] candidate::Demand drive_parts(const Powertrain&, const brief::Brief&, const brief::Function&);

/// Indices into Layout::meshes on the way from the motor to each output.
[[nodiscard]] std::vector<std::vector<int>> paths_of(const Placed&);
/// The train to each output as it is laid out, idlers included.
[[nodiscard]] std::vector<gearing::Train> trains_of(const Placed&, const gearing::MeshTable&);
/// Joiners of a layout, one side.
[[nodiscard]] int joiners_in(const Placed&);

/// Other orders of the same stages, the given one left out; `last_fixed` keeps the last one last. In a fixed order.
[[nodiscard]] std::vector<gearing::Train> other_orders(const gearing::Train&, bool last_fixed);

/// Parts of a placed train, all sides: motors, wheels, axles of exactly the lengths laid out, bushes, beams that
/// hold the bearings, pins; ports and channels; currents stay 0.
[[nodiscard]] candidate::Demand demand_of(const Powertrain&, const Placed&, const brief::Brief&,
                                          const brief::Function&);
[[nodiscard]] candidate::Demand demand_of(stock::ClassId motor, int motors, const Placed&, const brief::Brief&,
                                          const brief::Function&);

/// Part of a candidate's key that tells its layout: "at 5f3a09c1". The same layout always has the same.
[[nodiscard]] std::string layout_key(const Placed&);
/// Gives a candidate its place: the layout part of its key, the layout, the cells.
void set_place(const Placed&, candidate::Candidate&);
/// Demand of a powertrain: from its layout with its place, or, while it has none (null), of the drive alone.
void set_demand(const Powertrain&, const Placed*, const brief::Brief&, const brief::Function&, candidate::Candidate&);
/// Adds the figures and notes of the place.
void tell_place(const Placed&, const brief::Brief&, candidate::Candidate&);
/// Notes which wheels stand beyond the bearings; for drives whose load is not known.
void tell_overhang(const Placed&, candidate::Candidate&);
/// What the shafts bear when the drive gives `output_nmm` at its output: twist of the axles between the wheels (figures
/// "wind-up, ..."), tooth and bearing loads, the greater of both ways of turning, and the bending of axles by wheels
/// beyond the bearings. Loads that come in at the output itself (a chain, a rope) are not in the bearing loads.
void tell_loads(const Powertrain&, const Placed&, const Machine&, const brief::Brief&, double output_nmm,
                candidate::Candidate&);
/// Wind-up, tooth and bearing loads of a drive with several outputs that all turn at once, `output_nmm` at each; a mesh
/// on the way to several bears them all, and so does an axle. `trains`: trains_of(). Figures "wind-up, felt at
/// <output>".
void tell_loads_of_all(const Placed&, const std::vector<gearing::Train>& trains, const Machine&, const brief::Brief&,
                       const std::vector<double>& output_nmm, candidate::Candidate&);

}  // namespace functions::drive
