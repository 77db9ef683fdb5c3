// A luffing pose turned through its travel: lengths stay, the ends of the travel coincide with the drawn ghosts.
import { expect, test } from 'vitest';

import type { Shape } from '../contract.ts';
import { mounts, posed } from './pose.ts';

const s = (role: Shape['role'], x1: number, z1: number, x2: number, z2: number, label = ''): Shape => ({
  role,
  x1_mm: x1,
  z1_mm: z1,
  x2_mm: x2,
  z2_mm: z2,
  label,
});
// Pivot (10, 20), boom of 100 mm at 30 deg, rod mount 40 mm out on the boom's line, base mount below.
const rad = Math.PI / 180;
const on = (deg: number, r: number): [number, number] => [10 + r * Math.cos(deg * rad), 20 + r * Math.sin(deg * rad)];
const shapes = [
  s('ghost', 10, 20, ...on(0, 100), 'boom, low'),
  s('ghost', 10, 20, ...on(60, 100), 'boom, high'),
  s('moving_beam', 10, 20, ...on(30, 100), 'boom'),
  s('actuator', 30, -20, ...on(30, 40)),
  s('rod_mount', ...on(30, 40), 2, 0, 'rod mount'),
  s('load', ...on(30, 100), 4, 0, '160 g'),
  s('pivot', 10, 20, 2, 0, 'pivot'),
];

test('at both ends the boom lies on its ghosts', () => {
  for (const [index, deg] of [
    [0, 0],
    [2, 60],
  ] as const) {
    const { still, turns } = posed(shapes, [0, 30, 60], index, true);
    expect(turns).toBe(true);
    const beam = still.find((x) => x.role === 'moving_beam')!;
    expect([beam.x2_mm, beam.z2_mm]).toEqual(on(deg, 100).map((v) => expect.closeTo(v, 9)));
    const rod = still.find((x) => x.role === 'actuator')!;
    expect([rod.x1_mm, rod.z1_mm]).toEqual([30, -20]);
    expect([rod.x2_mm, rod.z2_mm]).toEqual(on(deg, 40).map((v) => expect.closeTo(v, 9)));
    const load = still.find((x) => x.role === 'load')!;
    expect([load.x1_mm, load.z1_mm]).toEqual(on(deg, 100).map((v) => expect.closeTo(v, 9)));
  }
});

test('mounts at rest come from the shown pose', () => {
  expect(mounts(shapes, 0)).toEqual([30, -20, expect.closeTo(50, 9), expect.closeTo(20, 9)]);
});

test('shapes without a pivot stay as they are', () => {
  const drum = [s('gear', 0, 0, 16, 0)];
  expect(posed(drum, [0, 1], 1, true)).toEqual({ still: drum, turns: false });
  expect(mounts(drum, 0)).toBeNull();
});
