// What a placed train takes and tells: parts, cells, wind-up, loads, notes.
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <map>
#include <numbers>
#include <set>

#include "base/check.h"
#include "base/text.h"
#include "functions/drive/frame_parts.h"
#include "functions/drive/placing.h"
#include "functions/drive/route_kit.h"
#include "gearing/train_load.h"
#include "routing/shaft_load.h"
#include "routing/tables.h"
#include "structure/kit_parts.h"
#include "structure/torsion.h"
#include "structure/wind_up.h"

#include <fmt/format.h>

namespace functions::drive {
namespace {

constexpr int kPinsPerMotor = 4;  ///< common practice, no source
/// A beam may be this much longer than what its bearings and pins need (common practice, no source).
constexpr int kBeamSlack_p = 2;
constexpr double kDegPerRad = 180 / std::numbers::pi;
constexpr double kToldWindUp_deg = 0.05;

std::string shaft_role(const routing::PlacedShaft& s) {
  return s.input ? "motor shaft" : s.output >= 0 ? "output shaft" : "intermediate shaft";
}

/// Turn to either side that the joiner of a shaft allows; 0: it has none, or its rods are round and clamped.
double joiner_deg(const Placed& placed, std::size_t shaft, const brief::Brief& brief) {
  const routing::PlacedShaft& s = placed.layout->shafts.at(shaft);
  const stock::KitSystem& system = brief.system();
  if (!system.axle.cross || !placed.problem->kit.axles.at(static_cast<std::size_t>(s.axle)).joined()) return 0;
  return structure::joiner_turn_rad(structure::kit_figures(system).axle_diametral_mm.nominal, system.axle.width_mm) *
         kDegPerRad;
}

}  // namespace

HoldingParts holding_parts(const brief::Brief& brief, const brief::Function& function) {
  HoldingParts out;
  for (const stock::ClassId id : brief.catalogue->of(stock::Family::axle)) {
    const auto* axle = std::get_if<stock::Axle>(&brief.catalogue->at(id).data);
    if (axle != nullptr && allowed(function, id)) out.axles[axle->length_p].push_back(id);
  }
  std::set<int> in_stock;
  for (const stock::ClassId id : brief.catalogue->of(stock::Family::beam)) {
    const auto* beam = std::get_if<stock::Beam>(&brief.catalogue->at(id).data);
    if (beam == nullptr || beam->width_p != 1 || beam->thickness_p != 1 || !allowed(function, id)) continue;
    out.beams[beam->length_p].push_back(id);
    if (brief.stock->count_of(id) > 0) in_stock.insert(beam->length_p);
  }
  out.beam_lengths_p.assign(in_stock.begin(), in_stock.end());
  if (in_stock.empty())
    for (const auto& [length_p, ids] : out.beams) out.beam_lengths_p.push_back(length_p);
  return out;
}

candidate::Demand demand_of(stock::ClassId motor, int motors, const Placed& placed, const brief::Brief& brief,
                            const brief::Function& function) {
  const stock::Catalogue& catalogue = *brief.catalogue;
  const routing::Kit& kit = placed.problem->kit;
  const int sides = function.sides;
  const std::shared_ptr<const HoldingParts> holding =
      placed.parts != nullptr ? placed.parts : std::make_shared<const HoldingParts>(holding_parts(brief, function));
  candidate::Demand demand;
  add_need(demand, {motor}, motors * sides, catalogue.at(motor).name, "motor");
  std::map<stock::ClassId, int> wheels;
  for (const routing::PlacedWheel& w : placed.layout->wheels)
    ++wheels[stock::ClassId{kit.wheels.at(static_cast<std::size_t>(w.wheel)).id}];
  for (const auto& [id, count] : wheels) add_need(demand, {id}, count * sides, catalogue.at(id).name, "train");
  int bushes = 0;
  for (const routing::PlacedShaft& s : placed.layout->shafts) {
    const routing::AxleStock& axle = kit.axles.at(static_cast<std::size_t>(s.axle));
    const std::vector<int> parts =
        axle.joined() ? std::vector<int>{axle.low_part, axle.high_part} : std::vector<int>{s.axle};
    for (const int part : parts) {
      const int length_p = kit.axles.at(static_cast<std::size_t>(part)).length_p;
      const auto axles = holding->axles.find(length_p);
      if (axles != holding->axles.end())
        add_need(demand, axles->second, sides, fmt::format("axle, length {}", length_p), shaft_role(s));
    }
    if (axle.joined())
      add_need(demand, joiners_of(brief, function, kit.joiner_hp), sides, "axle joiner", shaft_role(s));
    bushes += static_cast<int>(s.bushes_hp.size());
  }
  const std::vector<stock::ClassId> fitting = bushes_of(catalogue, kit.bush_hp);
  // Where the kit system tells no lengths, every bush.
  add_need(demand, fitting.empty() ? catalogue.of(stock::Family::bush) : fitting, bushes * sides,
           kit.bush_hp == 1 ? "half bush" : "bush, length 1", "shafts");
  int pins = kPinsPerMotor * motors;
  for (const BeamUse& beam : beams_of(*placed.layout, holding->beam_lengths_p)) {
    std::vector<stock::ClassId> accepts;
    for (auto it = holding->beams.lower_bound(beam.length_p);
         it != holding->beams.end() && it->first <= beam.length_p + kBeamSlack_p; ++it)
      accepts.insert(accepts.end(), it->second.begin(), it->second.end());
    add_need(demand, std::move(accepts), sides,
             fmt::format("beam, length {} to {}", beam.length_p, beam.length_p + kBeamSlack_p), "bearings");
    pins += kPinsPerBeam;
  }
  add_need(demand, catalogue.of(stock::Family::pin), pins * sides, "pin", "fixing");
  demand.ports = motors * sides;
  demand.channels = 1;
  return demand;
}

candidate::Demand demand_of(const Powertrain& p, const Placed& placed, const brief::Brief& brief,
                            const brief::Function& function) {
  return demand_of(p.motor, p.motors, placed, brief, function);
}

candidate::Demand drive_parts(const Powertrain& p, const brief::Brief& brief, const brief::Function& function) {
  const stock::Catalogue& catalogue = *brief.catalogue;
  candidate::Demand demand;
  add_need(demand, {p.motor}, p.motors * function.sides, catalogue.at(p.motor).name, "motor");
  for (const gearing::GearUse& use : p.train.needs(function.sides))
    add_need(demand, {use.part}, use.count, catalogue.at(use.part).name, "train");
  add_need(demand, joiners_of(brief, function, joiner_slots(brief, function)), p.joiners * function.sides,
           "axle joiner", "shafts");
  demand.ports = p.motors * function.sides;
  demand.channels = 1;
  return demand;
}

std::string layout_key(const Placed& placed) {
  // FNV-1a over the layout's own text: short, and the same wherever it is computed.
  std::uint64_t hash = 0xcbf29ce484222325ULL;
  for (const char c : routing::key_of(*placed.problem, *placed.layout)) {
    hash ^= static_cast<unsigned char>(c);
    hash *= 0x100000001b3ULL;
  }
  return fmt::format("at {:08x}", static_cast<std::uint32_t>(hash ^ (hash >> 32)));
}

void set_place(const Placed& placed, candidate::Candidate& c) {
  c.key += "|" + layout_key(placed);
  c.route =
      std::make_shared<const candidate::Route>(candidate::Route{placed.problem, *placed.layout, placed.site->body});
  c.cells = cells_of_all(*placed.site, routing::cells_of(*placed.problem, *placed.layout));
}

void set_demand(const Powertrain& powertrain, const Placed* placed, const brief::Brief& brief,
                const brief::Function& function, candidate::Candidate& c) {
  if (placed == nullptr) {
    c.demand = drive_parts(powertrain, brief, function);
    return;
  }
  c.demand = demand_of(powertrain, *placed, brief, function);
  set_place(*placed, c);
}

void tell_place(const Placed& placed, const brief::Brief& brief, candidate::Candidate& c) {
  const routing::Terminal& motor = placed.problem->inputs.front().motors.front();
  const lattice::Box3& envelope = placed.layout->envelope;
  const double pitch_mm = placed.problem->kit.pitch_mm;
  c.figures.push_back({"gearbox, length", (envelope.high.x_hp - envelope.low.x_hp) * pitch_mm / 2, "mm"});
  c.figures.push_back({"gearbox, width", (envelope.high.y_hp - envelope.low.y_hp) * pitch_mm / 2, "mm"});
  c.figures.push_back({"gearbox, height", (envelope.high.z_hp - envelope.low.z_hp) * pitch_mm / 2, "mm"});
  c.notes.push_back(fmt::format("motor shaft along {} at {} p on {}, in holes of its lattice",
                                lattice::letter(motor.axis), lattice::pitches_text(motor.face),
                                brief.bodies.at(static_cast<std::size_t>(placed.site->body)).id));
  c.notes.insert(c.notes.end(), placed.site->notes.begin(), placed.site->notes.end());
  if (!placed.limit_text.empty())
    c.notes.push_back(fmt::format("a cheaper layout may exist: the comparison of layouts {}", placed.limit_text));
  const std::vector<std::string> names = routing::shaft_names(*placed.layout);
  const routing::Kit& kit = placed.problem->kit;
  for (std::size_t m = 0; m < placed.layout->meshes.size(); ++m) {
    const int wheel = placed.layout->meshes[m].driver;
    const bool idler = std::any_of(placed.layout->meshes.begin(), placed.layout->meshes.begin() + static_cast<int>(m),
                                   [&](const routing::PlacedMesh& before) { return before.driven == wheel; });
    if (!idler) continue;
    const routing::PlacedWheel& at = placed.layout->wheels.at(static_cast<std::size_t>(wheel));
    c.notes.push_back(fmt::format("idler: {} on shaft {} only passes the motion on, because no place was found without",
                                  kit.wheels.at(static_cast<std::size_t>(at.wheel)).name,
                                  names.at(static_cast<std::size_t>(at.shaft))));
  }
  for (std::size_t s = 0; s < placed.layout->shafts.size(); ++s) {
    const int axle = placed.layout->shafts[s].axle;
    if (kit.axles.at(static_cast<std::size_t>(axle)).joined())
      c.notes.push_back(
          fmt::format("shaft {} is two axles end to end in a joiner, {} pitches: the stock has none left "
                      "that is long enough",
                      names.at(s), routing::axle_text(kit, axle)));
    if (const double turn_deg = joiner_deg(placed, s, brief); turn_deg > 0)
      c.figures.push_back({fmt::format("play in the joiner, shaft {}", names.at(s)), turn_deg, "deg"});
  }
  constexpr int kToldMisfit_um = 50;
  for (const routing::PlacedMesh& m : placed.layout->meshes) {
    if (m.misfit_um < kToldMisfit_um) continue;
    const auto teeth = [&](int wheel) {
      const int cls = placed.layout->wheels.at(static_cast<std::size_t>(wheel)).wheel;
      return placed.problem->kit.wheels.at(static_cast<std::size_t>(cls)).teeth;
    };
    c.notes.push_back(fmt::format("{}:{} stands {} mm off its distance on oblique holes", teeth(m.driver),
                                  teeth(m.driven), base::plain(m.misfit_um / 1000.0, 2)));
  }
}

void tell_overhang(const Placed& placed, candidate::Candidate& c) {
  std::vector<std::string> overhung;
  for (const routing::PlacedWheel& w : placed.layout->wheels) {
    if (w.overhung && w.shaft >= 0)
      overhung.push_back(placed.problem->kit.wheels.at(static_cast<std::size_t>(w.wheel)).name);
  }
  if (!overhung.empty())
    c.notes.push_back(
        fmt::format("held on one side only: {}; the axle bends there under load", base::list_text(overhung, "and")));
}

namespace {

/// Twist of the axles between the wheels.
void tell_wind_up(const Powertrain& p, const Placed& placed, const gearing::TrainLoad& load, const brief::Brief& brief,
                  const std::vector<routing::ShaftSpan>& spans, candidate::Candidate& c) {
  const structure::Section section = structure::section_of(brief.system().axle);
  const double modulus_mpa = brief.parameters.nominal()[brief::Parameter::axle_shear_modulus_mpa];
  const routing::Layout& layout = *placed.layout;
  const std::vector<std::string> names = routing::shaft_names(layout);
  double felt_deg = 0, play_deg = 0;
  for (std::size_t s = 0; s < layout.shafts.size(); ++s) {
    // The mesh that drives a shaft says how much torque goes through it and how fast it turns against the output.
    std::size_t behind = 0;
    for (std::size_t m = 0; m < layout.meshes.size(); ++m) {
      if (layout.wheels[static_cast<std::size_t>(layout.meshes[m].driven)].shaft == static_cast<int>(s)) behind = m + 1;
    }
    double to_output = 1;
    for (std::size_t m = behind; m < p.train.stages.size(); ++m)
      to_output *= std::fabs(p.train.stages[m].ratio.value());
    for (const routing::Twist& twist : spans[s].twists) {
      const double deg =
          std::fabs(structure::twist_rad(section, load.shaft_torque_nmm[behind], twist.length_mm, modulus_mpa)) *
          kDegPerRad;
      felt_deg += deg * to_output;
      if (deg >= kToldWindUp_deg) c.figures.push_back({fmt::format("wind-up, shaft {}", names[s]), deg, "deg"});
    }
    // A joiner between two wheels, or a wheel and what the shaft turns, gives its play to the output.
    const std::optional<int> joint = routing::joint_hp(placed.problem->kit, layout.shafts[s]);
    const double at_mm = joint.value_or(0) * placed.problem->kit.half_pitch_mm();
    if (joint && std::any_of(spans[s].twists.begin(), spans[s].twists.end(), [&](const routing::Twist& t) {
          return std::min(t.from_mm, t.to_mm) < at_mm && at_mm < std::max(t.from_mm, t.to_mm);
        }))
      play_deg += joiner_deg(placed, s, brief) * to_output;
  }
  c.figures.push_back({"wind-up, felt at the output", felt_deg, "deg"});
  if (play_deg > 0) c.figures.push_back({"play of joiners, felt at the output", play_deg, "deg"});
}

/// One output's way through a shaft: the axle it twists, with what torque, and how fast that turns the output.
struct Way {
  std::size_t shaft = 0;
  double low_mm = 0, high_mm = 0;
  double torque_nmm = 0;
  double to_output = 1;
};

std::vector<Way> ways_of(const Placed& placed, const gearing::Train& train, const std::vector<int>& path, int output,
                         const gearing::TrainLoad& load, const std::vector<routing::ShaftSpan>& spans) {
  const routing::Layout& layout = *placed.layout;
  std::vector<Way> ways;
  double to_output = 1;
  for (std::size_t i = path.size() + 1; i-- > 0;) {
    const auto mesh = [&](std::size_t k) -> const routing::PlacedMesh& {
      return layout.meshes[static_cast<std::size_t>(path[k])];
    };
    if (i < path.size()) to_output *= std::fabs(train.stages[i].ratio.value());
    const int from_wheel = i > 0 ? mesh(i - 1).driven : -1, to_wheel = i < path.size() ? mesh(i).driver : -1;
    int shaft = 0;
    if (from_wheel >= 0) shaft = layout.wheels[static_cast<std::size_t>(from_wheel)].shaft;
    if (shaft < 0 || (to_wheel < 0 && layout.shafts[static_cast<std::size_t>(shaft)].output != output)) continue;
    // Of what sits on an output's shaft the farthest turns last.
    const routing::Twist* felt = nullptr;
    for (const routing::Twist& t : spans[static_cast<std::size_t>(shaft)].twists) {
      if (t.from_wheel != from_wheel || t.to_wheel != to_wheel) continue;
      if (felt == nullptr || t.length_mm > felt->length_mm) felt = &t;
    }
    if (felt == nullptr) continue;  // an idler, or an output without anything on its axle
    ways.push_back({static_cast<std::size_t>(shaft), std::min(felt->from_mm, felt->to_mm),
                    std::max(felt->from_mm, felt->to_mm), load.shaft_torque_nmm[i], to_output});
  }
  return ways;
}

/// Twist of the axles of a drive whose outputs all turn at once: each way is twisted by its own torque, and where it
/// shares an axle with other ways by theirs too, as far as they go the same way.
void tell_wind_up_of_all(const Placed& placed, const std::vector<std::vector<Way>>& ways, const brief::Brief& brief,
                         candidate::Candidate& c) {
  const structure::Section section = structure::section_of(brief.system().axle);
  const double modulus_mpa = brief.parameters.nominal()[brief::Parameter::axle_shear_modulus_mpa];
  const std::vector<std::string> names = routing::shaft_names(*placed.layout);
  std::vector<double> most_deg(placed.layout->shafts.size(), 0), felt_deg(ways.size(), 0);
  for (std::size_t o = 0; o < ways.size(); ++o) {
    for (const Way& way : ways[o]) {
      double deg = 0;
      for (const std::vector<Way>& others : ways) {
        for (const Way& other : others) {
          const double shared_mm = std::min(way.high_mm, other.high_mm) - std::max(way.low_mm, other.low_mm);
          if (other.shaft != way.shaft || shared_mm <= 0) continue;
          deg += std::fabs(structure::twist_rad(section, other.torque_nmm, shared_mm, modulus_mpa)) * kDegPerRad;
        }
      }
      most_deg[way.shaft] = std::max(most_deg[way.shaft], deg);
      felt_deg[o] += deg * way.to_output;
    }
  }
  for (std::size_t s = 0; s < most_deg.size(); ++s) {
    if (most_deg[s] >= kToldWindUp_deg)
      c.figures.push_back({fmt::format("wind-up, shaft {}", names[s]), most_deg[s], "deg"});
  }
  for (std::size_t o = 0; o < ways.size(); ++o)
    c.figures.push_back({fmt::format("wind-up, felt at {}", placed.problem->outputs[o].name), felt_deg[o], "deg"});
}

/// What the teeth press on each other, on the bearings and on wheels that stand beyond them.
void tell_tooth_loads(const Placed& placed, const std::vector<double>& tangential_n, const brief::Brief& brief,
                      const std::vector<routing::ShaftSpan>& spans, candidate::Candidate& c) {
  const routing::Layout& layout = *placed.layout;
  const std::vector<std::string> names = routing::shaft_names(layout);
  for (std::size_t m = 0; m < layout.meshes.size(); ++m) {
    const auto on = [&](int wheel) {
      const int shaft = layout.wheels.at(static_cast<std::size_t>(wheel)).shaft;
      return shaft < 0 ? "ring" : names.at(static_cast<std::size_t>(shaft));
    };
    c.figures.push_back({fmt::format("tooth load, {} to {}", on(layout.meshes[m].driver), on(layout.meshes[m].driven)),
                         tangential_n[m], "N"});
  }
  // The drive turns both ways; of each figure the greater is told.
  std::vector<double> bearing_n(layout.shafts.size(), 0);
  std::map<int, routing::Overhang> hung;  // by wheel
  for (const int sense : {1, -1}) {
    const auto loads = routing::tooth_loads(*placed.problem, layout, tangential_n,
                                            brief.system().pressure_angle_deg / kDegPerRad, sense);
    for (std::size_t s = 0; s < layout.shafts.size(); ++s) {
      if (spans[s].supports_mm.size() < 2) continue;
      for (const routing::Reaction& r : routing::bearing_reactions(spans[s].supports_mm, loads[s]))
        bearing_n[s] = std::max(bearing_n[s], r.size_n());
      for (const routing::Overhang& o : routing::overhangs(spans[s], loads[s])) {
        routing::Overhang& worst = hung.try_emplace(o.wheel, o).first->second;
        if (o.bending_nmm > worst.bending_nmm) worst = o;
      }
    }
  }
  for (std::size_t s = 0; s < layout.shafts.size(); ++s) {
    if (bearing_n[s] > 0)
      c.figures.push_back({fmt::format("bearing load by the teeth, shaft {}", names[s]), bearing_n[s], "N"});
  }
  for (const auto& [wheel, o] : hung) {
    const routing::PlacedWheel& w = layout.wheels.at(static_cast<std::size_t>(wheel));
    c.notes.push_back(fmt::format(
        "{} on shaft {} stands {} mm beyond its last bearing: {} N on its teeth bend the axle there with {} N mm",
        placed.problem->kit.wheels.at(static_cast<std::size_t>(w.wheel)).name,
        names.at(static_cast<std::size_t>(w.shaft)), base::plain(o.overhang_mm), base::plain(o.force_n),
        base::plain(o.bending_nmm)));
  }
}

}  // namespace

void tell_loads(const Powertrain& p, const Placed& placed, const Machine& machine, const brief::Brief& brief,
                double output_nmm, candidate::Candidate& c) {
  const gearing::TrainLoad load = gearing::torque_at_stages(p.train, output_nmm, machine.meshes, machine.teeth);
  KW_CHECK(static_cast<int>(placed.layout->meshes.size()) == load.stages, "the train is the one that is laid out");
  const std::vector<routing::ShaftSpan> spans = routing::shaft_spans(*placed.problem, *placed.layout);
  tell_wind_up(p, placed, load, brief, spans, c);
  tell_tooth_loads(placed, {load.tooth_force_n.begin(), load.tooth_force_n.begin() + load.stages}, brief, spans, c);
}

void tell_loads_of_all(const Placed& placed, const std::vector<gearing::Train>& trains, const Machine& machine,
                       const brief::Brief& brief, const std::vector<double>& output_nmm, candidate::Candidate& c) {
  const std::vector<std::vector<int>> paths = paths_of(placed);
  KW_CHECK(output_nmm.size() == trains.size() && paths.size() == trains.size(), "one torque for every output");
  const std::vector<routing::ShaftSpan> spans = routing::shaft_spans(*placed.problem, *placed.layout);
  std::vector<double> tangential_n(placed.layout->meshes.size(), 0.0);
  std::vector<std::vector<Way>> ways;
  for (std::size_t o = 0; o < trains.size(); ++o) {
    const gearing::TrainLoad load = gearing::torque_at_stages(trains[o], output_nmm[o], machine.meshes, machine.teeth);
    for (std::size_t i = 0; i < paths[o].size(); ++i)
      tangential_n[static_cast<std::size_t>(paths[o][i])] += load.tooth_force_n[i];
    ways.push_back(ways_of(placed, trains[o], paths[o], static_cast<int>(o), load, spans));
  }
  tell_wind_up_of_all(placed, ways, brief, c);
  tell_tooth_loads(placed, tangential_n, brief, spans, c);
}

}  // namespace functions::drive
