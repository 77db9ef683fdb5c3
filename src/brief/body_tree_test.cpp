// Covers brief/body_tree: which body is furthest out, and where it ends.
#include "brief/body_tree.h"

#include <gtest/gtest.h>

namespace {

brief::Body body(const char* id, int parent, brief::Joint::Type joint) {
  brief::Body b;
  b.id = id;
  b.parent = parent;
  b.joint.type = joint;
  return b;
}

}  // namespace

TEST(BodyTree, ABoomIsFurtherOutThanALongerChainOfFixedBodies) {
  using Type = brief::Joint::Type;
  brief::Brief b;
  b.bodies = {body("chassis", -1, Type::fixed), body("frame", 0, Type::fixed), body("ballast", 1, Type::fixed),
              body("boom", 0, Type::pitch), body("hook block", 3, Type::fixed)};
  EXPECT_EQ(brief::outermost_body(b, 0), 4);
  EXPECT_EQ(brief::outermost_body(b, 1), 2);
  EXPECT_EQ(brief::outermost_body(b, 2), 2);
  EXPECT_EQ(brief::body_index(b, "boom"), 3);
  EXPECT_EQ(brief::body_index(b, "stick"), -1);
}

TEST(BodyTree, TheFarEndLiesAwayFromTheJoint) {
  brief::Body b = body("arm", 0, brief::Joint::Type::pitch);
  b.centre_mm = {100, 5, 30};
  b.size_mm = {80, 10, 10};
  b.joint.pivot_mm = {60, 0, 30};
  EXPECT_EQ(brief::far_end_mm(b).x_mm, 140);
  b.joint.pivot_mm = {140, 0, 30};
  EXPECT_EQ(brief::far_end_mm(b).x_mm, 60);
  EXPECT_EQ(brief::far_end_mm(b).y_mm, 5);
}
