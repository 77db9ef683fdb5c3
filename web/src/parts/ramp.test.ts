import { expect, test } from 'vitest';

import {
  channels,
  contrast,
  inkOn,
  kMarkInks,
  kRamps,
  kUnderInks,
  luminance,
  rampColour,
  type Scheme,
} from './ramp.ts';

const kSchemes: Scheme[] = ['light', 'dark'];
const steps = (scheme: Scheme) => Array.from({ length: 25 }, (_, i) => rampColour(scheme, i / 24));

// Machado, Oliveira, Fernandes, "A physiologically-based model for simulation of color vision deficiency", IEEE TVCG 15
// (2009), severity 1; the digits are from memory. They act on linear light.
const kEyes: Record<string, number[][]> = {
  protanopia: [
    [0.152286, 1.052583, -0.204868],
    [0.114503, 0.786281, 0.099216],
    [-0.003882, -0.048116, 1.051998],
  ],
  deuteranopia: [
    [0.367322, 0.860646, -0.227968],
    [0.280085, 0.672501, 0.047413],
    [-0.01182, 0.04294, 0.968881],
  ],
};
function seen(colour: string, eye: number[][]): number {
  const light = channels(colour).map((c) =>
    c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4,
  );
  const [r, g, b] = eye.map((row) =>
    Math.max(
      0,
      row.reduce((sum, f, i) => sum + f * (light[i] ?? 0), 0),
    ),
  );
  return 0.2126 * (r ?? 0) + 0.7152 * (g ?? 0) + 0.0722 * (b ?? 0);
}

test('contrast is as WCAG gives it', () => {
  expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 6);
  expect(contrast('#777777', '#ffffff')).toBeCloseTo(4.48, 2); // the well-known grey that just misses 4.5
});

test('both ramps go one way in lightness, to normal and to colour-blind eyes', () => {
  for (const scheme of kSchemes) {
    const way = scheme === 'dark' ? 1 : -1;
    for (const eye of [luminance, ...Object.values(kEyes).map((m) => (c: string) => seen(c, m))]) {
      const list = steps(scheme).map(eye);
      for (let i = 1; i < list.length; i++) expect(way * ((list[i] ?? 0) - (list[i - 1] ?? 0))).toBeGreaterThan(0.001);
    }
    const [first = '', last = ''] = [kRamps[scheme][0], kRamps[scheme].at(-1)];
    expect(contrast(first, last)).toBeGreaterThan(8);
  }
});

test('what lifts most stands out from the ground it is drawn on, and what lifts least can be seen on it', () => {
  const ground = { light: '#eef2f2', dark: '#10181c' }; // --desk
  for (const scheme of kSchemes) expect(contrast(rampColour(scheme, 1), ground[scheme])).toBeGreaterThan(8);
  expect(contrast(rampColour('dark', 0), ground.dark)).toBeGreaterThan(1.8);
});

test('marks and the edge of what is too little read on every colour', () => {
  for (const scheme of kSchemes) {
    for (const colour of steps(scheme)) {
      expect(contrast(colour, inkOn(colour, kMarkInks.dark, kMarkInks.light))).toBeGreaterThan(3.9);
      expect(contrast(colour, inkOn(colour, kUnderInks.dark, kUnderInks.light))).toBeGreaterThan(2.4);
    }
  }
});
