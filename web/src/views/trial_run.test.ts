// Covers views/trial_run: places between samples, the way of the drive, the outline of a belt, the meters.
import { describe, expect, it } from 'vitest';

import { beltPoints, type Instant, Meters, padSticks, playable } from './trial_run.ts';

const at = (time_s: number, x_mm: number, speed_mm_s = 100): Instant => ({
  time_s,
  x_mm,
  z_mm: 0,
  pitch_deg: x_mm / 10,
  rocker_deg: [x_mm],
  speed_mm_s,
  pull_n: 0,
  contacts: 2,
  underside: false,
});

describe('a recorded run', () => {
  const run = playable([at(0, 0, 0), at(1, 50), at(2, 150)]);
  it('is between its samples', () => {
    expect(run(1.25)?.at.x_mm).toBeCloseTo(75);
    expect(run(1.25)?.at.rocker_deg[0]).toBeCloseTo(75);
    expect(run(1.25)?.at.pitch_deg).toBeCloseTo(7.5);
  });
  it('adds up what the drive has run', () => {
    expect(run(1)?.way_mm).toBeCloseTo(50);
    expect(run(1.5)?.way_mm).toBeCloseTo(100);
  });
  it('stays at its ends, and is nothing without samples', () => {
    expect(run(-1)?.at.x_mm).toBe(0);
    expect(run(9)?.at.x_mm).toBe(150);
    expect(playable([])(0)).toBeNull();
  });
});

describe('the outline of a belt', () => {
  it('is as long as two half circles and two straights', () => {
    const wheel = (x_mm: number) => ({ x_mm, z_mm: 10, radius_mm: 10, driven: true, rocker: -1 });
    const points = beltPoints([wheel(-50), wheel(0), wheel(50)]);
    const length = points.reduce((sum, [x, z], i) => {
      const [nx, nz] = points[(i + 1) % points.length]!;
      return sum + Math.hypot(nx - x, nz - z);
    }, 0);
    expect(Math.abs(length - (2 * Math.PI * 10 + 200))).toBeLessThan(0.5);
    expect(Math.min(...points.map((p) => p[1]))).toBeCloseTo(0);
  });
});

describe('the meters', () => {
  it('count pictures and tell the slowest input', () => {
    const m = new Meters();
    expect(m.delay_ms).toBeNull();
    m.pressed(1, 100);
    m.pressed(2, 130);
    for (let i = 0; i <= 60; i++) m.pictured(i < 3 ? 0 : 1, 100 + i * 20);
    expect(m.pictures_per_s).toBeCloseTo(50);
    expect(m.delay_ms).toBe(60);
    m.pictured(2, 1400);
    expect(m.delay_ms).toBe(1270);
  });
});

it('a gamepad drives, steers, slews, luffs and hoists', () => {
  const buttons = [0, 0, 0, 0, 0, 1, 0.5, 0];
  const made = padSticks([0.05, -1, 0.5, 0.4], buttons);
  expect(made).toEqual({ throttle: 1, steer: 0, slew: -0.5, luff: -0.4, stage: 1, hoist: -0.5 });
});
