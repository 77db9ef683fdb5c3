// Places read back from a drawing's axes, and what is taken out of a drawing before it is shown.
import { expect, test } from 'vitest';

import { cleaned, spot } from './sheet_axes.ts';

// Two views side by side: x from -2 to 2 at 40 px a pitch, z from 0 to 3; then y from -1 to 1. Numbers stand 0.36 of 10 px low.
const text = (x: number, y: number, t: string) => `<text x="${x}" y="${y}" font-size="10">${t}</text>`;
const view = (left: number, from: number, to: number, name: string) =>
  Array.from({ length: to - from + 1 }, (_, i) => text(left + 40 * i, 320, String(from + i).replace('-', '−'))).join(
    '',
  ) +
  text(left + 40 * (to - from) + 30, 320, `${name} →`) +
  [0, 1, 2, 3].map((z) => text(left - 15, 300 - 40 * z + 3.6, String(z))).join('') +
  text(left - 15, 160, 'z ↑');
const svg = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 600 400">${view(100, -2, 2, 'x')}${view(400, -1, 1, 'y')}</svg>`;

test('both views are found and tell half-pitches', () => {
  const { views, box } = cleaned(svg);
  expect(box).toEqual({ x: 0, y: 0, w: 600, h: 400 });
  expect(views).toHaveLength(2);
  expect(spot(views, 100, 300)).toBe('x −2, z 0 p');
  expect(spot(views, 198, 259)).toBe('x ½, z 1 p');
  expect(spot(views, 161, 220)).toBe('x −½, z 2 p');
  expect(spot(views, 440, 181)).toBe('y 0, z 3 p');
  expect(spot(views, 330, 250)).toBeNull();
});

test('a view told by data attributes is taken before the texts', () => {
  const told = svg.replace(
    '<text',
    '<g data-view="xy" data-x0="180" data-y0="300" data-px_per_pitch="40" data-left="0" data-top="0" data-right="600" data-bottom="400"/><text',
  );
  expect(spot(cleaned(told).views, 220, 260)).toBe('x 1, y 1 p');
});

test('nothing that could act is left in a drawing', () => {
  const nasty =
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9" onload="a()"><script>a()</script><a href="javascript:a()"><text>x</text></a><rect onclick="a()" width="1"/><foreignObject/></svg>';
  const { html } = cleaned(nasty);
  expect(html.__html).not.toMatch(/script|onclick|onload|foreignObject/i);
  expect(html.__html).toContain('<rect');
});
