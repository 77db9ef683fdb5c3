// The belt model of the trial ground in another engine: ODE's quickstep has moving contact surfaces of its own
// (dContactMotion1), so nothing of the model is shared but its numbers. Friction there is a pyramid, its contacts
// other.
#include <gtest/gtest.h>
#include <ode/ode.h>

#include <cmath>
#include <vector>

#include "balance/mass.h"
#include "trial/drive.h"

namespace trial {
namespace {

constexpr double kM = 1e-3;

struct World {
  double friction = 0.5, belt_m_s = 0;
  dWorldID world = dWorldCreate();
  dSpaceID space = dSimpleSpaceCreate(nullptr);
  dJointGroupID contacts = dJointGroupCreate(0);
  std::vector<dGeomID> belt;
  ~World() {
    dJointGroupDestroy(contacts);
    dSpaceDestroy(space);
    dWorldDestroy(world);
  }
};

void touch(void* data, dGeomID a, dGeomID b) {
  auto& w = *static_cast<World*>(data);
  const dBodyID body_a = dGeomGetBody(a), body_b = dGeomGetBody(b);
  if ((body_a != nullptr) == (body_b != nullptr)) return;
  dContact c[4];
  const int n = dCollide(a, b, 4, &c[0].geom, sizeof(dContact));
  for (int i = 0; i < n; ++i) {
    // The normal points into the first geom; seen from the ground into the vehicle it is that or its opposite.
    const double side = body_a != nullptr ? 1 : -1;
    const double nx = side * c[i].geom.normal[0], nz = side * c[i].geom.normal[2];
    c[i].surface.mode = dContactFDir1 | dContactMotion1 | dContactApprox1 | dContactSoftERP | dContactSoftCFM;
    c[i].surface.mu = w.friction;
    c[i].surface.soft_erp = 0.3;
    c[i].surface.soft_cfm = 1e-5;
    // Along the belt: its surface runs backwards below, so the vehicle is moved forward.
    c[i].fdir1[0] = nz;
    c[i].fdir1[1] = 0;
    c[i].fdir1[2] = -nx;
    c[i].surface.motion1 = w.belt_m_s * (body_a != nullptr ? 1 : -1);
    const dJointID joint = dJointCreateContact(w.world, w.contacts, &c[i]);
    dJointAttach(joint, dGeomGetBody(c[i].geom.g1), dGeomGetBody(c[i].geom.g2));
  }
}

/// Whether the belt vehicle of unturning capsules gets up a step of this height within 14 s at 0.1 m/s.
bool climbs(const DriveRig& rig, double friction, double height_mm) {
  World w;
  w.friction = friction;
  dWorldSetGravity(w.world, 0, 0, -balance::kGravity);
  dWorldSetQuickStepNumIterations(w.world, 60);
  const dBodyID hull = dBodyCreate(w.world);
  dMass mass;
  dMassSetBoxTotal(&mass, rig.vehicle.weight_n / balance::kGravity, 0.36, 0.1, 0.08);
  dBodySetMass(hull, &mass);
  const double start_m = -0.25, centre_m = rig.vehicle.centre.z_mm * kM;
  dBodySetPosition(hull, start_m, 0, centre_m);
  const auto& wheels = rig.vehicle.wheels;
  for (std::size_t i = 0; i + 1 < wheels.size(); ++i) {
    const double dx = (wheels[i + 1].axle.x_mm - wheels[i].axle.x_mm) * kM;
    const double dz = (wheels[i + 1].axle.z_mm - wheels[i].axle.z_mm) * kM;
    for (const double y : {-0.06, 0.06}) {
      const dGeomID g = dCreateCapsule(w.space, wheels[i].radius_mm * kM, std::hypot(dx, dz));
      dGeomSetBody(g, hull);
      dGeomSetOffsetPosition(g, wheels[i].axle.x_mm * kM + dx / 2, y, wheels[i].axle.z_mm * kM + dz / 2 - centre_m);
      dMatrix3 turn;
      dRFromZAxis(turn, dx, 0, dz);
      dGeomSetOffsetRotation(g, turn);
    }
  }
  const dGeomID low = dCreateBox(w.space, 2, 2, 0.2), high = dCreateBox(w.space, 2, 2, 0.2);
  dGeomSetPosition(low, -1, 0, -0.1);
  dGeomSetPosition(high, 1, 0, height_mm * kM - 0.1);
  for (int step = 0; step < 7000; ++step) {
    w.belt_m_s = step < 200 ? 0 : 0.1;
    dSpaceCollide(w.space, &w, touch);
    dWorldQuickStep(w.world, 0.002);
    dJointGroupEmpty(w.contacts);
    if (dBodyGetPosition(hull)[0] > 0.3) return true;
  }
  return false;
}

TEST(SecondEngine, FindsTheSameLargestStepOfABelt) {
  DriveRig rig;
  balance::SideView& v = rig.vehicle;
  v.belt = true;
  v.wheels.push_back({{-180, 32}, 16});
  for (int i = 0; i < 8; ++i) v.wheels.push_back({{-140.0 + 40 * i, 16}, 16});
  v.wheels.push_back({{180, 32}, 16});
  v.weight_n = 28;
  v.centre = {0, 50};
  dInitODE2(0);
  const double friction = 0.5;
  const auto ours = [&](double height_mm) {
    DriveOptions o;
    o.friction = friction;
    o.sample_ms = 0;
    return drive(rig, balance::step_up(height_mm), o).passed();
  };
  // Both pass well below and fail well above; in between they may differ by a few millimetres.
  const auto largest = [&](const auto& passes) {
    double out = 0;
    for (double h = 12; h <= 44; h += 4) {
      if (!passes(h)) break;
      out = h;
    }
    return out;
  };
  const double here = largest(ours), there = largest([&](double h) { return climbs(rig, friction, h); });
  dCloseODE();
  EXPECT_GE(here, 16);
  EXPECT_GE(there, 16);
  EXPECT_LE(std::fabs(here - there), 4.5);
}

}  // namespace
}  // namespace trial
