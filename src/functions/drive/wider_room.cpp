// The way out when nothing of a function has a place: how much wider its room must be.
#include <memory>
#include <optional>
#include <string>
#include <tuple>

#include "base/text.h"
#include "functions/drive/placing.h"

#include <fmt/format.h>

namespace functions::drive {
namespace {

using lattice::Axis;

/// Further than this a room is another design (invented).
constexpr int kMostWider_p = 4;
constexpr int kPitch_hp = 2;

/// One face of a room.
struct Face {
  Axis axis = Axis::x;
  bool high = true;
};
constexpr Face kFaces[] = {{Axis::x, true},  {Axis::x, false}, {Axis::y, true},
                           {Axis::y, false}, {Axis::z, true},  {Axis::z, false}};

/// The room with a face moved outward; empty where the mirrored side begins there.
std::optional<lattice::Box3> moved(const Site& site, Face face, int by_hp) {
  const auto [axis, high] = face;
  lattice::Box3 room = site.room;
  for (const Image& image : site.images) {
    const std::optional<int> about = axis == Axis::x   ? image.about_x_hp
                                     : axis == Axis::y ? image.about_y_hp
                                                       : std::nullopt;
    if (!about) continue;
    if (high ? 2 * (room.high.at(axis) + by_hp) > *about && 2 * room.high.at(axis) <= *about
             : 2 * (room.low.at(axis) - by_hp) < *about && 2 * room.low.at(axis) >= *about)
      return std::nullopt;
  }
  if (high) {
    room.high.set(axis, room.high.at(axis) + by_hp);
  } else {
    room.low.set(axis, room.low.at(axis) - by_hp);
  }
  return room;
}

std::string side_text(Face face, const lattice::Box3& room) {
  const int at_hp = face.high ? room.high.at(face.axis) : room.low.at(face.axis);
  return fmt::format("towards {} {}, to {} p", face.high ? "greater" : "smaller", lattice::letter(face.axis),
                     base::plain(at_hp / 2.0));
}

}  // namespace

void Placers::remember_unplaced(const Powertrain& powertrain, const std::shared_ptr<const Site>& site, double worst) {
  const auto rank = [&](const Unplaced& u) {
    // What several threads remember must not depend on who comes first.
    return std::tuple(-u.worst, u.powertrain.train.stages.size(), key_of(u.powertrain, *brief_.catalogue),
                      u.site->keep_outs, u.site->occupied);
  };
  Unplaced mine{powertrain, site, worst};
  const std::lock_guard lock(guard_);
  if (!unplaced_ || rank(mine) < rank(*unplaced_)) unplaced_ = std::move(mine);
}

void Placers::tell_wider_room(candidate::RejectionLog& log, const base::RunControl& control) {
  if (!unplaced_ || control.stopped()) return;
  int open = 0;  // rooms in which the search ended early
  const auto stands_in = [&](const lattice::Box3& room) {
    auto site = std::make_shared<Site>(*unplaced_->site);
    site->room = room;
    const Stands found = stands_once(unplaced_->powertrain, *site, control);
    open += found == Stands::not_known;
    return found == Stands::yes;
  };
  const auto how_sure = [&]() -> std::string {
    if (open == 0) return "";
    return fmt::format(" ({} of the rooms {} not searched to the end, each to {} steps)", open,
                       open == 1 ? "was" : "were", kStepsToFirst);
  };
  const auto tell = [&](int by_p, const std::string& where) {
    log.add("drive.wider_room", by_p, "pitches", [&] {
      return fmt::format("{}: stands in a room (room_p) {} {} wider {}; no place was found in a smaller one{}",
                         title_of(unplaced_->powertrain, *brief_.catalogue), by_p, by_p == 1 ? "pitch" : "pitches",
                         where, how_sure());
    });
  };
  for (int by_p = 1; by_p <= kMostWider_p; ++by_p) {
    for (const Face face : kFaces) {
      const auto room = moved(*unplaced_->site, face, by_p * kPitch_hp);
      if (room && stands_in(*room)) return tell(by_p, side_text(face, *room));
      if (control.stopped()) return;
    }
  }
  for (int by_p = 1; by_p <= kMostWider_p; ++by_p) {
    Site wider = *unplaced_->site;
    for (const Face face : kFaces) {
      if (const auto room = moved(wider, face, by_p * kPitch_hp)) wider.room = *room;
    }
    if (stands_in(wider.room)) return tell(by_p, "on every side");
    if (control.stopped()) return;
  }
  log.add("drive.wider_room", kMostWider_p, "pitches", [&] {
    return fmt::format("{}: no place was found in a room up to {} pitches wider either, one side or all{}",
                       title_of(unplaced_->powertrain, *brief_.catalogue), kMostWider_p, how_sure());
  });
}

}  // namespace functions::drive
