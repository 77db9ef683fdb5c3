#include "gearing/mesh.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/check.h"
#include "base/text.h"
#include "gearing/involute.h"
#include "gearing/tooth.h"
#include "gearing/worm.h"

namespace gearing {
namespace {

using base::plain;
using base::Rational;

struct Member {
  stock::ClassId id{};
  const stock::Gear* gear = nullptr;
  const stock::Ring* ring = nullptr;
};

/// What a pair type asks of the lattice and how strong it is; filled in per type, then judged in one place.
struct Wanted {
  Mesh mesh;
  bool on_lattice = true;
  bool straight_only = false;
};

class Finder {
 public:
  Finder(const stock::KitSystem& system, const MeshOptions& options)
      : system_(system),
        teeth_(tooth_system(system)),
        options_(options),
        tolerance_mm_(options.max_misfit_mm < 0 ? system.max_misfit_mm : options.max_misfit_mm) {
    KW_CHECK(system.module_mm > 0 && system.pitch_mm > 0, "kit system without module or pitch");
  }

  void try_pair(const Member& driver, const Member& driven) {
    if (driver.gear == nullptr) return;  // rings do not drive
    if (driven.gear != nullptr) {
      try_gears(driver, driven);
    } else if (driven.ring != nullptr && driver.gear->form == stock::GearForm::spur) {
      if (driven.ring->outer_teeth > 0) try_ring(driver, driven, MeshType::ring_outer, driven.ring->outer_teeth);
      if (driven.ring->inner_teeth > 0) try_ring(driver, driven, MeshType::ring_inner, driven.ring->inner_teeth);
    }
  }

  MeshTable take() { return std::move(table_); }

 private:
  [[nodiscard]] Wanted start(const Member& driver, const Member& driven, MeshType type, int driven_teeth) const {
    Wanted w;
    Mesh& m = w.mesh;
    m.driver = driver.id;
    m.driven = driven.id;
    m.type = type;
    m.driver_teeth = driver.gear->teeth;
    m.driven_teeth = driven_teeth;
    m.ratio = mesh_ratio(type, m.driver_teeth, m.driven_teeth);
    m.driver_radius_mm = system_.module_mm * m.driver_teeth / 2;
    m.driven_radius_mm = system_.module_mm * m.driven_teeth / 2;
    m.pressure_angle_rad = teeth_.pressure_angle_rad;
    return w;
  }

  [[nodiscard]] double area_mm2(double face_mm, double form_factor) const {
    return tooth_load_n(1.0, face_mm, system_.module_mm, form_factor);
  }

  /// Reports and returns true when either side has too few teeth for a strength figure.
  bool too_few_teeth(const Mesh& m) {
    const int fewest = m.type == MeshType::worm ? m.driven_teeth : std::min(m.driver_teeth, m.driven_teeth);
    if (fewest >= kFewestTeeth) return false;
    reject(m, "too_few_teeth",
           fmt::format("{}: {} teeth are fewer than {}, for which there is no strength figure", pair_text(m), fewest,
                       kFewestTeeth));
    return true;
  }

  void try_gears(const Member& driver, const Member& driven) {
    using stock::GearForm;
    const stock::Gear& a = *driver.gear;
    const stock::Gear& b = *driven.gear;
    if (a.form == GearForm::spur && b.form == GearForm::spur) {
      try_spur(driver, driven);
      if (a.bevelled_too && b.bevelled_too) try_meeting(driver, driven, MeshType::bevel);
    } else if (a.form == GearForm::bevel && b.form == GearForm::bevel) {
      try_meeting(driver, driven, MeshType::bevel);
    } else if ((a.form == GearForm::crown && b.form == GearForm::spur) ||
               (a.form == GearForm::spur && b.form == GearForm::crown)) {
      try_meeting(driver, driven, MeshType::crown);
    } else if (a.form == GearForm::worm && b.form == GearForm::spur) {
      try_worm(driver, driven);
    }
  }

  void try_spur(const Member& driver, const Member& driven) {
    Wanted w = start(driver, driven, MeshType::spur, driven.gear->teeth);
    Mesh& m = w.mesh;
    if (too_few_teeth(m)) return;
    m.centre_distance_mm = standard_distance_mm(m.driver_teeth, m.driven_teeth, system_.module_mm);
    const double face_mm = std::min(driver.gear->face_width_mm, driven.gear->face_width_mm);
    m.lewis_area_mm2 = std::min(area_mm2(face_mm, lewis_form_factor(m.driver_teeth)),
                                area_mm2(face_mm, lewis_form_factor(m.driven_teeth)));
    settle(w);
  }

  /// Bevel and crown: the shafts meet.
  void try_meeting(const Member& driver, const Member& driven, MeshType type) {
    Wanted w = start(driver, driven, type, driven.gear->teeth);
    Mesh& m = w.mesh;
    if (too_few_teeth(m)) return;
    w.on_lattice = false;
    const double face_mm = std::min(driver.gear->face_width_mm, driven.gear->face_width_mm);
    m.lewis_area_mm2 = std::min(area_mm2(face_mm, lewis_form_factor(m.driver_teeth)),
                                area_mm2(face_mm, lewis_form_factor(m.driven_teeth)));
    const stock::Figure& support = type == MeshType::bevel ? system_.craft.bevel_support : system_.craft.crown_support;
    m.nominal_support = support.value.nominal;
    settle(w);
  }

  void try_worm(const Member& driver, const Member& driven) {
    Wanted w = start(driver, driven, MeshType::worm, driven.gear->teeth);
    Mesh& m = w.mesh;
    if (too_few_teeth(m)) return;
    const double d_mm = driver.gear->pitch_diameter_mm;
    KW_CHECK(d_mm > 0 && m.driver_teeth > 0, "worm without pitch diameter or starts");
    w.straight_only = true;
    m.driver_radius_mm = d_mm / 2;
    m.centre_distance_mm = m.driver_radius_mm + m.driven_radius_mm;
    m.lead_angle_rad = worm_lead_angle_of_module_rad(m.driver_teeth, system_.module_mm, d_mm);
    m.lewis_area_mm2 = area_mm2(driven.gear->face_width_mm, lewis_form_factor(m.driven_teeth));
    settle(w);
  }

  void try_ring(const Member& driver, const Member& driven, MeshType type, int ring_teeth) {
    Wanted w = start(driver, driven, type, ring_teeth);
    Mesh& m = w.mesh;
    if (too_few_teeth(m)) return;
    const bool inner = type == MeshType::ring_inner;
    m.centre_distance_mm = standard_distance_mm(m.driver_teeth, ring_teeth, system_.module_mm,
                                                inner ? Pairing::internal : Pairing::external);
    if (inner && internal_tips_foul(m.driver_teeth, ring_teeth, m.centre_distance_mm, teeth_)) {
      reject(m, "ring_too_small",
             fmt::format("{}: the pinion's tips foul the ring's; {} teeth less than the ring are too few", pair_text(m),
                         ring_teeth - m.driver_teeth));
      return;
    }
    const double face_mm = std::min(driver.gear->face_width_mm, driven.ring->face_width_mm);
    const double ring_y = inner ? lewis_form_factor_rack() : lewis_form_factor(ring_teeth);
    m.lewis_area_mm2 = std::min(area_mm2(face_mm, lewis_form_factor(m.driver_teeth)), area_mm2(face_mm, ring_y));
    settle(w);
  }

  [[nodiscard]] Contact contact_of(const Mesh& m, double distance_mm) const {
    switch (m.type) {
      case MeshType::spur:
      case MeshType::ring_outer:
        return contact_at(m.driver_teeth, m.driven_teeth, distance_mm, teeth_);
      case MeshType::ring_inner:
        return contact_at(m.driver_teeth, m.driven_teeth, distance_mm, teeth_, Pairing::internal);
      case MeshType::bevel:
        return bevel_contact(m.driver_teeth, m.driven_teeth, teeth_);
      case MeshType::crown:
        // Either side may be the crown; its straight teeth act on the spur like a rack. The smaller gear is the spur in
        // practice, and it gives the smaller, safe figure.
        return rack_contact(std::min(m.driver_teeth, m.driven_teeth), teeth_);
      case MeshType::worm:
        return rack_contact(m.driven_teeth, teeth_, distance_mm - m.centre_distance_mm);
    }
    KW_CHECK(false, "mesh type");
  }

  [[nodiscard]] lattice::Offset nearest(const Wanted& w) const {
    if (!w.straight_only) return lattice::nearest_offset(w.mesh.centre_distance_mm, system_.pitch_mm);
    const double half_mm = system_.pitch_mm / 2;
    const int steps = std::max(1, static_cast<int>(std::lround(w.mesh.centre_distance_mm / half_mm)));
    return {steps, 0, steps * half_mm};
  }

  /// Lattice, misfit and contact: the same judgement for every type.
  void settle(Wanted& w) {
    Mesh& m = w.mesh;
    std::vector<lattice::Offset> offsets;
    if (w.on_lattice) {
      offsets = lattice::offsets_near(m.centre_distance_mm, tolerance_mm_, system_.pitch_mm);
      if (w.straight_only) std::erase_if(offsets, [](const lattice::Offset& o) { return !o.straight(); });
      if (offsets.empty()) {
        const lattice::Offset near = nearest(w);
        m.offset = near;
        m.misfit_mm = std::fabs(near.distance_mm - m.centre_distance_mm);
        m.contact_ratio = contact_of(m, near.distance_mm).contact_ratio;
        reject(m, "misfit",
               fmt::format("{} needs {} mm, nearest {}lattice distance {} mm is {} mm off", pair_text(m),
                           plain(m.centre_distance_mm), w.straight_only ? "straight " : "", plain(near.distance_mm),
                           plain(m.misfit_mm, 3)));
        return;
      }
      m.offset = offsets.front();
      m.misfit_mm = std::fabs(m.offset.distance_mm - m.centre_distance_mm);
      // Equal distances typed as decimals differ in the last bits; a fit is a fit.
      if (m.misfit_mm < 1e-9) m.misfit_mm = 0;
    } else {
      offsets.push_back({});
    }
    const Contact c = contact_of(m, m.offset.distance_mm);
    m.contact_ratio = c.contact_ratio;
    m.usable_contact_ratio = c.usable_contact_ratio;
    m.cut_by_interference = c.cut_by_interference;
    if (m.contact_ratio < options_.min_contact_ratio) {
      reject(m, "contact",
             fmt::format("{} at {} mm has a contact ratio of {}, {} is needed", pair_text(m),
                         plain(m.offset.distance_mm), plain(m.contact_ratio, 3), plain(options_.min_contact_ratio, 3)));
      return;
    }
    table_.meshes.push_back(m);
    table_.offsets.push_back(std::move(offsets));
  }

  [[nodiscard]] static std::string pair_text(const Mesh& m) {
    const std::string teeth = fmt::format("{}:{}", m.driver_teeth, m.driven_teeth);
    switch (m.type) {
      case MeshType::spur:
        return teeth;
      case MeshType::ring_outer:
        return teeth + " outside the ring";
      case MeshType::ring_inner:
        return teeth + " inside the ring";
      default:
        return fmt::format("{} {}", name_of(m.type), teeth);
    }
  }

  void reject(const Mesh& m, std::string code, std::string text) {
    MeshRejection r;
    r.driver = m.driver;
    r.driven = m.driven;
    r.type = m.type;
    r.code = std::move(code);
    r.wanted_mm = m.centre_distance_mm;
    r.nearest_mm = m.offset.distance_mm;
    r.misfit_mm = m.misfit_mm;
    r.contact_ratio = m.contact_ratio;
    r.text = std::move(text);
    table_.rejections.push_back(std::move(r));
  }

  const stock::KitSystem& system_;
  ToothSystem teeth_;
  MeshOptions options_;
  double tolerance_mm_;
  MeshTable table_;
};

}  // namespace

std::string_view name_of(MeshType type) {
  switch (type) {
    case MeshType::spur:
      return "spur";
    case MeshType::bevel:
      return "bevel";
    case MeshType::crown:
      return "crown";
    case MeshType::worm:
      return "worm";
    case MeshType::ring_outer:
      return "ring_outer";
    case MeshType::ring_inner:
      return "ring_inner";
  }
  KW_CHECK(false, "mesh type");
}

Rational mesh_ratio(MeshType type, int driver_teeth, int driven_teeth) {
  KW_CHECK(driver_teeth > 0 && driven_teeth > 0, "teeth of a mesh");
  const Rational size(driver_teeth, driven_teeth);
  return type == MeshType::worm || type == MeshType::ring_inner ? size : -size;
}

int MeshTable::find(stock::ClassId driver, stock::ClassId driven, MeshType type) const {
  for (std::size_t i = 0; i < meshes.size(); ++i) {
    if (meshes[i].driver == driver && meshes[i].driven == driven && meshes[i].type == type) return static_cast<int>(i);
  }
  return -1;
}

MeshTable find_meshes(const stock::Catalogue& catalogue, std::span<const stock::ClassId> classes,
                      const MeshOptions& options) {
  std::vector<stock::ClassId> sorted(classes.begin(), classes.end());
  std::sort(sorted.begin(), sorted.end());
  sorted.erase(std::unique(sorted.begin(), sorted.end()), sorted.end());
  std::vector<Member> members;
  for (const stock::ClassId id : sorted) {
    const stock::PartData& data = catalogue.at(id).data;
    Member member{id, std::get_if<stock::Gear>(&data), std::get_if<stock::Ring>(&data)};
    if (member.gear != nullptr || member.ring != nullptr) members.push_back(member);
  }
  Finder finder(catalogue.system, options);
  for (const Member& driver : members) {
    for (const Member& driven : members) finder.try_pair(driver, driven);
  }
  return finder.take();
}

MeshTable find_meshes(const stock::Catalogue& catalogue, const MeshOptions& options) {
  std::vector<stock::ClassId> classes;
  for (std::size_t i = 0; i < catalogue.classes.size(); ++i) {
    classes.push_back(stock::ClassId{static_cast<int>(i)});
  }
  return find_meshes(catalogue, classes, options);
}

}  // namespace gearing
