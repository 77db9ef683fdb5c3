// Picture points on the lattice, against figures worked by hand.
import { expect, test } from 'vitest';

import { kEmpty, mmPerPixel, placed, type TraceData } from './trace_points.ts';

// 400 px are 3,200 mm, so 8 mm a pixel; at 1:20 a pixel is 0.4 mm of the model, a pitch of 8 mm is 20 px.
const t: TraceData = {
  ...kEmpty,
  known: { a: [0, 0], b: [240, 320], length_mm: 3200 },
  ground: 380,
  scale: 20,
  points: [
    { id: 1, role: 'wheel', name: 'w', u: 200, v: 330 },
    { id: 2, role: 'wheel', name: 'w', u: 600, v: 330 },
  ],
};

test('scale from two points', () => {
  expect(mmPerPixel(t)).toBe(8);
  expect(mmPerPixel({ ...t, known: { ...t.known, b: null } })).toBeNull();
  expect(mmPerPixel({ ...t, known: { ...t.known, length_mm: 0 } })).toBeNull();
  expect(mmPerPixel({ ...t, known: { a: [5, 5], b: [5, 5], length_mm: 10 } })).toBeNull();
});

test('places in half-pitches, with what is left over', () => {
  // 200 px left of the middle = 80 mm = 10 p; 50 px above the ground = 20 mm = 2.5 p.
  expect(placed(t, { u: 200, v: 330 }, 8)).toEqual({ x_mm: -80, z_mm: 20, x_hp: -20, z_hp: 5, off_mm: 0 });
  // 3 px off in both is 1.2 mm each, 1.697 mm together.
  expect(placed(t, { u: 603, v: 327 }, 8)?.off_mm).toBeCloseTo(1.2 * Math.SQRT2, 9);
  expect(placed({ ...t, facing: 'left' }, { u: 200, v: 330 }, 8)?.x_mm).toBe(80);
});

test('nothing is told before scale, ground and middle are known', () => {
  expect(placed({ ...t, ground: null }, { u: 0, v: 0 }, 8)).toBeNull();
  expect(placed({ ...t, points: [] }, { u: 0, v: 0 }, 8)).toBeNull();
});
