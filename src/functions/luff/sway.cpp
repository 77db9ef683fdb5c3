#include "functions/luff/sway.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "brief/body_tree.h"
#include "functions/drive/drive.h"
#include "functions/drive/screw_drive.h"
#include "functions/luff/load_moment.h"
#include "structure/boom_strength.h"
#include "structure/kit_parts.h"

namespace functions::luff {
namespace {

using brief::Parameter;

constexpr double kRadPerDeg = std::numbers::pi / 180;
/// Pins of beams that lie on each other, besides one at either end (common practice, no source).
constexpr int kPinEvery_p = 3;

const brief::Body& body_of(const brief::Brief& brief, int index) {
  return brief.bodies[static_cast<std::size_t>(index)];
}
bool moves(const brief::Body& body) {
  return body.joint.type != brief::Joint::Type::fixed;
}

/// Angle of a joint that comes nearest to straight.
double straight(const brief::Joint& joint) {
  return std::clamp(0.0, joint.low_rad, joint.high_rad);
}

/// A point that hangs on `body`, with every joint between it and `root` as straight as it goes; slewing joints there
/// are taken as straight. Machine frame, root in its zero pose.
brief::Vec3 stretched(const brief::Brief& brief, int root, int body, brief::Vec3 at) {
  for (int b = body; b != root; b = body_of(brief, b).parent) {
    const brief::Joint& joint = body_of(brief, b).joint;
    if (joint.type != brief::Joint::Type::pitch) continue;
    const double q = straight(joint), c = std::cos(q), s = std::sin(q);
    const double x = at.x_mm - joint.pivot_mm.x_mm, z = at.z_mm - joint.pivot_mm.z_mm;
    at.x_mm = joint.pivot_mm.x_mm + x * c - z * s;
    at.z_mm = joint.pivot_mm.z_mm + x * s + z * c;
  }
  return at;
}

/// Whether a joint that moves lies between `body` and `root`.
bool beyond(const brief::Brief& brief, int root, int body) {
  for (int b = body; b != root; b = body_of(brief, b).parent) {
    if (moves(body_of(brief, b))) return true;
  }
  return false;
}

/// The pivot of the next stage, else the end of the body's envelope; nothing when neither is known.
std::optional<double> reach_of(const brief::Brief& brief, int root) {
  const brief::Body& body = body_of(brief, root);
  const double pivot = body.joint.pivot_mm.x_mm;
  std::optional<double> out;
  for (std::size_t i = static_cast<std::size_t>(root) + 1; i < brief.bodies.size(); ++i) {
    const brief::Body& b = brief.bodies[i];
    if (b.joint.type != brief::Joint::Type::pitch || !hangs_on(brief, b.parent, root)) continue;
    if (beyond(brief, root, b.parent)) continue;
    const double x = b.joint.pivot_mm.x_mm - pivot;
    if (!out || std::fabs(x) > std::fabs(*out)) out = x;
  }
  if (!out && body.size_mm.x_mm > 0) out = brief::far_end_mm(body).x_mm - pivot;
  return out;
}

/// Mass per pitch of the family's plain parts: the mean over its classes.
double mass_g_p(const stock::Catalogue& catalogue, stock::Family family) {
  double mass_g = 0, length_p = 0;
  for (const stock::ClassId id : catalogue.of(family)) {
    const stock::PartClass& part = catalogue.at(id);
    if (const auto* beam = std::get_if<stock::Beam>(&part.data)) {
      if (beam->width_p != 1) continue;
      mass_g += part.mass_g.value.nominal;
      length_p += beam->length_p;
    } else if (const auto* axle = std::get_if<stock::Axle>(&part.data)) {
      mass_g += part.mass_g.value.nominal;
      length_p += axle->length_p;
    }
  }
  return length_p > 0 ? mass_g / length_p : 0;
}

std::string_view group_of(const structure::Source& s) {
  using structure::Way;
  const auto starts = [&](std::string_view word) { return s.part.rfind(word, 0) == 0; };
  const bool beam = starts("beam") || starts("upper tie") || starts("lower tie");
  switch (s.way) {
    case Way::bends:
    case Way::stretches:
      return beam ? "bending of the beams" : "bending of axles and pins";
    case Way::twists:
      return "torsion";
    case Way::yields:
      return s.part == "actuator" ? "give of the actuator" : "give of pins in their holes";
    case Way::plays:
      break;
  }
  if (s.part == "foot bearing" || s.part == "foot axle") return "play at the pivot";
  if (s.part == "turntable") return "play of the slew drive";
  if (starts("actuator")) return "play at the actuator";
  return "play of pins and axles";
}

}  // namespace

double Bend::total_mm(const brief::Sample& sample, double nominal_mass_factor) const {
  const double stiffness = sample[Parameter::stiffness_factor];
  const double elastic = elastic_mm + slope_mm * (sample[Parameter::mass_factor] - nominal_mass_factor);
  return std::fabs(elastic) / stiffness + play_mm * sample[Parameter::play_factor];
}

double Gauged::value_mm(const brief::Sample& sample) const {
  double most = 0;
  for (const Bend& b : bends) most = std::max(most, b.total_mm(sample, nominal_mass_factor));
  return most;
}

std::vector<SwayShare> shares_of(const structure::GaugeReport& gauge) {
  std::vector<SwayShare> out;
  for (const structure::Source& s : gauge.sources) {
    const std::string_view group = group_of(s);
    const auto known =
        std::find_if(out.begin(), out.end(), [&](const SwayShare& share) { return share.source == group; });
    if (known == out.end()) {
      out.push_back({group, 100 * s.share});
    } else {
      known->percent += 100 * s.share;
    }
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const SwayShare& a, const SwayShare& b) { return a.percent > b.percent; });
  return out;
}

Booms::Booms(std::shared_ptr<const brief::Brief> brief, const brief::Function& function, const Wants& wants)
    : brief_(std::move(brief)),
      wants_(wants),
      beams_(wants.beams.value_or(BeamWants{})),
      sides_(function.sides),
      described_(wants.beams.has_value()) {
  const stock::Catalogue& catalogue = *brief_->catalogue;
  const brief::Body& body = body_of(*brief_, wants_.body);
  const double pitch_mm = brief_->system().pitch_mm;
  const std::optional<double> reach = reach_of(*brief_, wants_.body);
  forward_ = reach && *reach < 0 ? -1 : 1;
  length_p_ =
      beams_.length_p > 0 ? beams_.length_p : static_cast<int>(std::lround(std::fabs(reach.value_or(0)) / pitch_mm));
  for (std::size_t i = 0; i < brief_->bodies.size(); ++i) {
    const int b = static_cast<int>(i);
    if (!hangs_on(*brief_, b, wants_.body)) continue;
    any_estimate_ |= brief_->bodies[i].mass_is_estimate;
    stage_beyond_ |= beyond(*brief_, wants_.body, b);
  }
  if (length_p_ < 2) {
    no_rows_ = fmt::format("how long \"{}\" is, is not known: give beams.length_p or the body's size", body.id);
    return;
  }
  // The first pitching stage on a turntable feels its backlash; later ones have it in the stage below.
  for (int b = body.parent; b >= 0 && body_of(*brief_, b).joint.type != brief::Joint::Type::pitch;
       b = body_of(*brief_, b).parent) {
    const brief::Joint& joint = body_of(*brief_, b).joint;
    if (joint.type != brief::Joint::Type::slew) continue;
    turntable_below_mm_ = body.joint.pivot_mm.z_mm - joint.pivot_mm.z_mm;
    break;
  }

  // Beams of the kit: full ones, one hole wide.
  double thickness_p = 0;
  for (const stock::ClassId id : catalogue.of(stock::Family::beam)) {
    const auto* b = std::get_if<stock::Beam>(&catalogue.at(id).data);
    if (b != nullptr && b->width_p == 1) thickness_p = std::max(thickness_p, b->thickness_p);
  }
  for (const stock::ClassId id : catalogue.of(stock::Family::beam)) {
    const auto* b = std::get_if<stock::Beam>(&catalogue.at(id).data);
    if (b == nullptr || b->width_p != 1 || b->thickness_p != thickness_p || !drive::allowed(function, id)) continue;
    beam_classes_.emplace_back(b->length_p, id);
    have_.push_back({b->length_p, described_ ? brief_->stock->count_of(id) : 1000});
    any_.push_back({b->length_p, 1000});
  }
  const int copies = beams_.rows * sides_;
  rows_ = lay_rows(length_p_, beams_.thickness, copies, have_);
  if (!rows_) {
    const std::optional<BeamRows> wanted = lay_rows(length_p_, beams_.thickness, copies, any_);
    no_rows_ = fmt::format("the stock's beams make no {} row{} of {} holes, {} thick", copies, copies == 1 ? "" : "s",
                           length_p_ + 1, beams_.thickness);
    if (wanted) {
      std::map<int, int> pieces;
      for (const structure::BoomBeam& b : wanted->beams) pieces[b.to_p - b.from_p + 1] += copies;
      std::vector<std::string> parts;
      for (const auto& [holes, count] : pieces) {
        const auto at =
            std::find_if(have_.begin(), have_.end(), [h = holes](const BeamStock& s) { return s.holes == h; });
        parts.push_back(fmt::format("{} with {} holes (there are {})", count, holes, at->count));
      }
      no_rows_ += fmt::format("; it would take {}", base::list_text(parts, "and"));
    }
    return;
  }
  const structure::KitMasses masses{mass_g_p(catalogue, stock::Family::beam), mass_g_p(catalogue, stock::Family::axle),
                                    catalogue.of(stock::Family::pin).empty()
                                        ? 0
                                        : catalogue.at(catalogue.of(stock::Family::pin).front()).mass_g.value.nominal};
  parts_ = structure::kit_parts(brief_->system(), thickness_p, masses);
  // The project may know its axles better than the kit system does.
  const double g_mpa = brief_->parameters.nominal()[Parameter::axle_shear_modulus_mpa];
  parts_.axle_material = {2 * (1 + structure::kit_figures(brief_->system()).poisson) * g_mpa, g_mpa};
  if (beams_.pin_play_mm >= 0) parts_.pin_clearance.diametral_mm = beams_.pin_play_mm;
  if (beams_.axle_play_mm >= 0) parts_.axle_clearance.diametral_mm = beams_.axle_play_mm;
  if (beams_.rows == 2 && beams_.width_p < 2.0 * wants_.max_actuators + 1)
    notes_.push_back(fmt::format("rows of beams {} p apart leave {} p between them, {} need {} p",
                                 base::plain(beams_.width_p), base::plain(beams_.width_p - 1),
                                 wants_.max_actuators > 1 ? "two actuators" : "an actuator", 2 * wants_.max_actuators));
  if (!described_)
    notes_.push_back("sway for a boom of two rows of single beams 4 p apart: tell beams to have your own judged");
}

Booms::Load Booms::load_of(double mass_factor) const {
  const brief::Body& root = body_of(*brief_, wants_.body);
  const double tip_mm = length_p_ * brief_->system().pitch_mm;
  const auto along = [&](const brief::Vec3& at) {
    return std::array<double, 2>{forward_ * (at.x_mm - root.joint.pivot_mm.x_mm) - tip_mm,
                                 at.z_mm - root.joint.pivot_mm.z_mm};
  };
  Load out;
  double own_g = 0, hung_g = 0;
  std::array<double, 2> first{};  // mass x place from the tip
  const auto hang = [&](double mass_g, const std::array<double, 2>& at) {
    hung_g += mass_g;
    first[0] += mass_g * at[0];
    first[1] += mass_g * at[1];
  };
  for (std::size_t i = 0; i < brief_->bodies.size(); ++i) {
    const int b = static_cast<int>(i);
    if (!hangs_on(*brief_, b, wants_.body)) continue;
    const brief::Body& body = brief_->bodies[i];
    const double mass_g = body.mass_g.nominal * (body.mass_is_estimate ? mass_factor : 1);
    if (beyond(*brief_, wants_.body, b)) {
      hang(mass_g, along(stretched(*brief_, wants_.body, b, body.centre_mm)));
    } else {
      own_g += mass_g;
    }
  }
  structure::BoomLoad& load = out.load;
  std::array<double, 2> gauge{};
  if (wants_.load_g > 0) {
    gauge = along(stretched(*brief_, wants_.body, wants_.load_body,
                            {wants_.load_at_mm[0], wants_.load_at_mm[1], wants_.load_at_mm[2]}));
    // A load at the boom's own end is taken at its tip axle.
    if (!stage_beyond_ && std::hypot(gauge[0], gauge[1]) < brief_->system().pitch_mm * 1.5) gauge = {};
    hang(wants_.load_g, gauge);
  } else if (stage_beyond_) {
    const int outermost = brief::outermost_body(*brief_, wants_.body);
    gauge = along(stretched(*brief_, wants_.body, outermost, brief::far_end_mm(body_of(*brief_, outermost))));
  }
  load.tip_mass_g = hung_g;
  if (hung_g > 0) load.mass_mm = {first[0] / hung_g, first[1] / hung_g};
  load.gauge_mm = gauge;
  load.side_slope_rad = wants_.side_slope_deg * kRadPerDeg;
  load.side_force_n = wants_.side_force_n;
  // The body's mass spread over its beams; never less than the beams themselves weigh.
  double beams_mm = 0;
  for (const structure::BoomBeam& b : rows_->beams) beams_mm += (b.to_p - b.from_p) * brief_->system().pitch_mm;
  out.beam_g_mm = std::max(parts_.beam_mass_g_mm, own_g / (beams_mm * beams_.rows));
  return out;
}

structure::Boom Booms::boom_of(const BeamRows& rows, lattice::Point2 base, lattice::Point2 rod, int actuators) const {
  structure::Boom boom;
  boom.sides = beams_.rows;
  boom.length_p = length_p_;
  boom.inner_p = beams_.width_p / 2;
  boom.beams = rows.beams;
  boom.parts = parts_;
  structure::BoomActuator& a = boom.actuator;
  const double along_p = forward_ * rod.x_hp / 2.0;
  a.at_p = std::clamp(static_cast<int>(std::floor(along_p)), 1, length_p_ - 1);
  a.ahead_p = along_p - a.at_p;
  a.above_p = rod.z_hp / 2.0;
  a.base_x_p = forward_ * base.x_hp / 2.0;
  a.base_z_p = base.z_hp / 2.0;
  // Two pitches wide each; between the rows, or beside the only one.
  const double beside = rows.planes + 0.5;
  if (beams_.rows == 1) {
    a.y_p = {beside};
    if (actuators > 1) a.y_p = {-1.5, beside};
  } else if (actuators > 1) {
    a.y_p = {-1, 1};
  }
  a.stiffness_n_mm = beams_.actuator_stiffness_n_mm;
  a.play_mm = beams_.actuator_play_mm;
  const double outermost_p = (beams_.rows == 2 ? boom.inner_p : 0) + rows.planes - 1;
  boom.foot.bearing_p = beams_.pivot_width_p > 0 ? beams_.pivot_width_p / 2 : outermost_p + 1;
  boom.foot.bearing = parts_.axle_clearance;
  boom.foot.bearing.engaged_mm = parts_.beam_thickness_mm;
  if (turntable_below_mm_) {
    boom.foot.turntable.turn_rad = beams_.slew_play_deg * kRadPerDeg;
    boom.foot.turntable.tilt_rad = beams_.slew_rock_deg * kRadPerDeg;
    boom.foot.turntable_below_p = *turntable_below_mm_ / parts_.pitch_mm;
  }
  const int taken[] = {0, length_p_, a.at_p};
  boom.pins = pins_of(rows, kPinEvery_p, taken);
  if (beams_.ties_every_p > 0 && beams_.rows == 2) {
    int level = 1, next = 1;
    for (int s = 1; s + 1 < length_p_; ++s) {
      if (s < next) continue;
      const auto beam = structure::innermost(boom, s, s + 1);
      if (!beam) continue;
      const std::vector<int> holes = structure::taken_holes(boom, *beam);
      const auto free = [&](int at) { return !std::binary_search(holes.begin(), holes.end(), at); };
      if (!free(s) || !free(s + 1)) continue;
      boom.ties.push_back({s, level});
      level = -level;
      next = s + std::max(2, beams_.ties_every_p);
    }
  }
  return boom;
}

std::vector<structure::BoomLoad> Booms::postures(const structure::BoomLoad& load) const {
  std::vector<structure::BoomLoad> out;
  const std::array<double, 2> below = parent_range_rad(*brief_, wants_.body);
  for (const double luff : {wants_.low_rad, (wants_.low_rad + wants_.high_rad) / 2, wants_.high_rad}) {
    for (const double carrier : below) {
      out.push_back(load);
      out.back().luff_rad = forward_ * luff;
      out.back().carrier_rad = forward_ * carrier;
      if (below[0] == below[1]) break;
    }
  }
  return out;
}

Gauged Booms::described(lattice::Point2 base, lattice::Point2 rod, int actuators) const {
  Gauged out;
  out.boom = boom_of(*rows_, base, rod, actuators);
  out.nominal_mass_factor = brief_->parameters.at(Parameter::mass_factor).value.nominal;
  const Load load = load_of(out.nominal_mass_factor);
  out.boom.parts.beam_mass_g_mm = load.beam_g_mm;
  out.load = load.load;
  out.reach_mm = length_p_ * parts_.pitch_mm + load.load.gauge_mm[0];
  out.fault = structure::fault(out.boom);
  return out;
}

double Booms::elastic_mm(const structure::Boom& boom, const structure::BoomLoad& load, structure::Gauge gauge) const {
  const structure::BoomFrame frame = structure::frame_of(boom, load);
  const structure::FrameModel model(frame.frame);
  if (model.mechanism()) return 0;
  const auto moved = model.solve(frame.loads).displacement[static_cast<std::size_t>(frame.tip)];
  return gauge == structure::Gauge::sway ? moved[static_cast<std::size_t>(structure::Freedom::y)]
                                         : -moved[static_cast<std::size_t>(structure::Freedom::z)];
}

/// Judges one posture and keeps its report when it is the worst so far.
void Booms::judge_into(Gauged& out, const structure::BoomLoad& load, structure::Gauge gauge) const {
  structure::BoomReport report = structure::judge(out.boom, load, gauge);
  if (report.mechanism) {
    out.fault = report.mechanism;
    return;
  }
  const structure::GaugeReport& g = report.at(gauge);
  Bend bend{g.elastic, 0, g.play};
  const base::Triple& factor = brief_->parameters.at(Parameter::mass_factor).value;
  if (any_estimate_ && factor.high > factor.nominal) {
    const Load heavy = load_of(factor.high);
    structure::Boom heavier = out.boom;
    heavier.parts.beam_mass_g_mm = heavy.beam_g_mm;
    structure::BoomLoad more = heavy.load;
    more.luff_rad = load.luff_rad;
    more.carrier_rad = load.carrier_rad;
    bend.slope_mm = (elastic_mm(heavier, more, gauge) - g.elastic) / (factor.high - factor.nominal);
  }
  if (out.bends.empty() || g.total > out.report.at(gauge).total) {
    out.load = load;
    out.report = std::move(report);
  }
  out.bends.push_back(bend);
}

Gauged Booms::swaying(lattice::Point2 base, lattice::Point2 rod, int actuators) const {
  constexpr auto kSway = structure::Gauge::sway;
  Gauged out = described(base, rod, actuators);
  if (out.fault) return out;
  const std::vector<structure::BoomLoad> all = postures(out.load);
  if (beams_.rows == 1) {
    for (const structure::BoomLoad& load : all) {
      if (!out.fault) judge_into(out, load, kSway);
    }
    return out;
  }
  // What is the same on both sides of the middle does not sway under forces in the middle plane, so neither gravity's
  // direction in it nor the actuator's matters: postures differ only by the turntable's play.
  std::vector<double> turntable;
  for (const structure::BoomLoad& load : all) turntable.push_back(structure::turntable_play(out.boom, load, kSway));
  const auto worst = std::max_element(turntable.begin(), turntable.end());
  judge_into(out, all[static_cast<std::size_t>(worst - turntable.begin())], kSway);
  return out;
}

Gauged Booms::sagging(lattice::Point2 base, lattice::Point2 rod, int actuators) const {
  constexpr auto kSag = structure::Gauge::sag;
  Gauged out = described(base, rod, actuators);
  if (out.fault) return out;
  const std::vector<structure::BoomLoad> all = postures(out.load);
  std::size_t most_bent = 0, least_lever = 0;
  double bent_mm = -1, lever = 1e300;
  for (std::size_t i = 0; i < all.size(); ++i) {
    const double mm = std::fabs(elastic_mm(out.boom, all[i], kSag));
    const linkage::TrianglePose pose =
        linkage::pose(drive::triangle_of(base, rod, parts_.pitch_mm), forward_ * all[i].luff_rad);
    if (mm > bent_mm) {
      bent_mm = mm;
      most_bent = i;
    }
    if (std::fabs(pose.lever_mm) < lever) {
      lever = std::fabs(pose.lever_mm);
      least_lever = i;
    }
  }
  judge_into(out, all[most_bent], kSag);
  if (!out.fault && least_lever != most_bent) judge_into(out, all[least_lever], kSag);
  return out;
}

std::shared_ptr<const Gauged> Booms::sway(lattice::Point2 base, lattice::Point2 rod, int actuators) const {
  // Between two rows neither the base mount nor how far it is off matters, see swaying().
  const bool mirrored = beams_.rows == 2 && actuators == 1;
  const Key key{mirrored ? 0 : base.x_hp, mirrored ? 0 : base.z_hp, rod.x_hp, rod.z_hp, actuators};
  {
    const std::lock_guard lock(guard_);
    if (const auto it = sways_.find(key); it != sways_.end()) return it->second;
  }
  auto made = std::make_shared<const Gauged>(swaying(base, rod, actuators));
  const std::lock_guard lock(guard_);
  return sways_.try_emplace(key, std::move(made)).first->second;
}

std::shared_ptr<const Gauged> Booms::sag(lattice::Point2 base, lattice::Point2 rod, int actuators) const {
  const Key key{base.x_hp, base.z_hp, rod.x_hp, rod.z_hp, actuators};
  {
    const std::lock_guard lock(guard_);
    if (const auto it = sags_.find(key); it != sags_.end()) return it->second;
  }
  auto made = std::make_shared<const Gauged>(sagging(base, rod, actuators));
  const std::lock_guard lock(guard_);
  return sags_.try_emplace(key, std::move(made)).first->second;
}

Booms::InPlane Booms::in_plane(lattice::Point2 base, lattice::Point2 rod, int actuators) const {
  InPlane out;
  if (!rows_) return out;
  const Gauged now = described(base, rod, actuators);
  if (now.fault) return out;
  const structure::KitFigures kit = structure::kit_figures(brief_->system());
  const structure::HoledBar bar{kit.beam_height_mm, parts_.beam_thickness_mm, kit.hole_mm, parts_.pitch_mm};
  const double reach_mm = now.reach_mm;
  double weakest_nmm = 0;
  for (const double luff : {wants_.low_rad, (wants_.low_rad + wants_.high_rad) / 2, wants_.high_rad}) {
    structure::BoomLoad load = now.load;
    load.luff_rad = forward_ * luff;
    load.carrier_rad = 0;
    // Near upright a load down the boom says nothing of its bending; leaning the whole by what is missing does.
    constexpr double kSteepest_rad = 60 * kRadPerDeg;
    if (std::fabs(load.luff_rad) > kSteepest_rad)
      load.carrier_rad = std::copysign(kSteepest_rad, load.luff_rad) - load.luff_rad;
    const structure::BoomInPlane one = structure::in_plane(now.boom, load, bar);
    if (one.mechanism || !(one.arm_mm > 0) || !(one.stress_mpa_per_n > 0)) return {};
    out.at_rad.push_back(luff);
    out.rad_per_nmm.push_back(one.give_mm_per_n / reach_mm / one.arm_mm);
    out.holds_nmm.push_back(kit.beam_stress_mpa.low / one.stress_mpa_per_n * one.arm_mm);
    if (out.weakest.empty() || out.holds_nmm.back() < weakest_nmm) {
      weakest_nmm = out.holds_nmm.back();
      out.weakest = one.weakest;
    }
    if (!(wants_.high_rad > wants_.low_rad)) break;
  }
  return out;
}

TriedRemedy Booms::doubled(const Gauged& now, lattice::Point2 base, lattice::Point2 rod, int actuators) const {
  TriedRemedy out{"doubling the beams", false, "", 0, 0, ""};
  const int thickness = 2 * beams_.thickness, copies = beams_.rows * sides_;
  std::optional<BeamRows> rows = lay_rows(length_p_, thickness, copies, have_);
  const bool in_stock = rows.has_value();
  if (!rows) rows = lay_rows(length_p_, thickness, copies, any_);
  if (!rows) {
    out.what = fmt::format("beams of this kit make no row of {} holes {} thick", length_p_ + 1, thickness);
    return out;
  }
  structure::Boom boom = boom_of(*rows, base, rod, actuators);
  // The body's own mass stays what it is, unless the beams alone weigh more.
  double before_mm = 0, after_mm = 0;
  for (const structure::BoomBeam& b : now.boom.beams) before_mm += b.to_p - b.from_p;
  for (const structure::BoomBeam& b : boom.beams) after_mm += b.to_p - b.from_p;
  boom.parts.beam_mass_g_mm = std::max(parts_.beam_mass_g_mm, now.boom.parts.beam_mass_g_mm * before_mm / after_mm);
  if (const auto wrong = structure::fault(boom)) {
    out.what = *wrong;
    return out;
  }
  const structure::BoomReport after = structure::judge(boom, now.load, structure::Gauge::sway);
  if (after.mechanism) {
    out.what = *after.mechanism;
    return out;
  }
  out.possible = true;
  out.what = fmt::format("{} beams side by side instead of {}", thickness, beams_.thickness);
  out.after_mm = after.sway.total;
  out.cut = 1 - after.sway.total / now.report.sway.total;
  if (in_stock) return out;
  std::map<int, int> pieces;
  for (const structure::BoomBeam& b : rows->beams) pieces[b.to_p - b.from_p + 1] += copies;
  std::vector<std::string> parts;
  for (const auto& [holes, count] : pieces) {
    for (const BeamStock& s : have_) {
      if (s.holes == holes && s.count < count)
        parts.push_back(fmt::format("{} of {} beams with {} holes", count - s.count, count, holes));
    }
  }
  out.lacking = base::list_text(parts, "and");
  return out;
}

const std::vector<TriedRemedy>& Booms::remedies(lattice::Point2 base, lattice::Point2 rod, int actuators) const {
  const std::shared_ptr<const Gauged> now = sway(base, rod, actuators);
  const std::lock_guard lock(guard_);
  if (remedies_) return *remedies_;
  std::vector<TriedRemedy> made;
  made.push_back(doubled(*now, base, rod, actuators));
  structure::RemedyOptions options;
  options.pin_every_p = kPinEvery_p;
  const auto station = [&](int x_hp) { return std::clamp(static_cast<int>(std::fabs(x_hp / 2.0)), 1, length_p_ - 1); };
  const auto [near, far] = std::minmax({station(wants_.rod_box.low.x_hp), station(wants_.rod_box.high.x_hp)});
  options.actuator_from_p = near;
  options.actuator_to_p = far;
  const structure::Remedies tried = structure::try_remedies(now->boom, now->load, options);
  const double before_mm = tried.before.sway.total;
  for (const structure::Remedy& r : tried.remedies) {
    const char* name = r.kind == structure::RemedyKind::close_the_box       ? "closing the box"
                       : r.kind == structure::RemedyKind::move_the_actuator ? "moving the actuator"
                       : r.kind == structure::RemedyKind::add_a_pin         ? "adding a pin or cross axle"
                                                                            : nullptr;
    if (name == nullptr) continue;  // one beam only; all of them stand above
    made.push_back({name, r.possible, r.what, before_mm * (1 - r.sway_cut), r.sway_cut,
                    r.possible ? lacking(now->boom, r.added) : ""});
  }
  return remedies_.emplace(std::move(made));
}

namespace {

/// Axles at least so long, up to two pitches more.
std::vector<stock::ClassId> axles_from(const stock::Catalogue& catalogue, int length_p) {
  std::vector<stock::ClassId> out;
  for (const stock::ClassId id : catalogue.of(stock::Family::axle)) {
    const auto* axle = std::get_if<stock::Axle>(&catalogue.at(id).data);
    if (axle != nullptr && axle->length_p >= length_p && axle->length_p <= length_p + 2) out.push_back(id);
  }
  return out;
}

}  // namespace

candidate::Demand Booms::parts_of(const structure::Boom& boom) const {
  const stock::Catalogue& catalogue = *brief_->catalogue;
  const int copies = boom.sides * sides_;
  candidate::Demand d;
  const auto beams = [&](int holes, int count, const char* role) {
    std::vector<stock::ClassId> accepts;
    for (const auto& [length, id] : beam_classes_) {
      if (length == holes) accepts.push_back(id);
    }
    drive::add_need(d, std::move(accepts), count, fmt::format("beam, {} holes", holes), role);
  };
  int outer = 0;
  for (const structure::BoomBeam& b : boom.beams) {
    beams(b.to_p - b.from_p + 1, copies, "boom");
    outer = std::max(outer, b.plane);
  }
  const int ties = static_cast<int>(boom.ties.size()) * sides_;
  const int across_p = static_cast<int>(std::ceil(2 * ((boom.sides == 2 ? boom.inner_p : 0) + outer) + 1));
  beams(static_cast<int>(std::lround(2 * boom.inner_p)) + 1, ties, "boom's ties");
  drive::add_need(d, catalogue.of(stock::Family::bracket), 2 * ties, "bracket", "boom's ties");
  drive::add_need(d, catalogue.of(stock::Family::pin), static_cast<int>(boom.pins.size()) * copies + 4 * ties, "pin",
                  "boom");
  const auto axles = [&](int length_p, int count) {
    drive::add_need(d, axles_from(catalogue, length_p), count,
                    fmt::format("axle, length {} to {}", length_p, length_p + 2), "boom");
  };
  axles(static_cast<int>(std::ceil(2 * boom.foot.bearing_p)) + 1, sides_);
  const int inside = static_cast<int>(boom.axles.size()) + 2;
  axles(across_p + (boom.sides == 1 ? 2 : 0), inside * sides_);
  drive::add_need(d, catalogue.of(stock::Family::bush), 2 * (inside + 1) * sides_, "bush", "boom's axles");
  return d;
}

void Booms::add_demand(const structure::Boom& boom, candidate::Demand& demand) const {
  if (!described_) return;
  for (candidate::Need& n : parts_of(boom).needs)
    drive::add_need(demand, std::move(n.accepts), n.count, std::move(n.label), std::move(n.role));
}

double Booms::parts_mass_g(const structure::Boom& boom) const {
  return candidate::parts_mass_g(parts_of(boom), *brief_->catalogue);
}

std::string Booms::lacking(const structure::Boom& before, const structure::PartsAdded& added) const {
  const stock::Catalogue& catalogue = *brief_->catalogue;
  const candidate::Demand has = parts_of(before);
  std::vector<std::string> out;
  const auto check = [&](const std::vector<stock::ClassId>& accepts, int count, const std::string& name) {
    if (count <= 0) return;
    int have = 0, used = 0;
    for (const stock::ClassId id : accepts) have += brief_->stock->count_of(id);
    for (const candidate::Need& n : has.needs) {
      const bool shared = std::any_of(n.accepts.begin(), n.accepts.end(), [&](stock::ClassId id) {
        return std::find(accepts.begin(), accepts.end(), id) != accepts.end();
      });
      if (shared && described_) used += n.count;
    }
    const int left = std::max(0, have - used);
    if (left < count) out.push_back(fmt::format("{} of {} {}", count - left, count, name));
  };
  std::map<int, int> beams;
  for (const int holes : added.beams_holes) beams[holes] += sides_;
  for (const auto& [holes, count] : beams) {
    std::vector<stock::ClassId> accepts;
    for (const auto& [length, id] : beam_classes_) {
      if (length == holes) accepts.push_back(id);
    }
    check(accepts, count, fmt::format("beams with {} holes", holes));
  }
  check(catalogue.of(stock::Family::pin), added.pins * sides_, "pins");
  check(catalogue.of(stock::Family::bracket), added.brackets * sides_, "brackets");
  check(catalogue.of(stock::Family::axle), added.axles * sides_, "axles");
  return out.empty() ? "" : base::list_text(out, "and");
}

}  // namespace functions::luff
