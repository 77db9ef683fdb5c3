// Numbers and words as people read them.
import { expect, test } from 'vitest';

import { amount, count, hintText, label, margin, number, percent, told } from './format.ts';

test('three digits, whole thousands, real minus, no-break space', () => {
  expect([0.98712, 12.3456, 1810.91, -58.7266, -5e-15].map((v) => number(v))).toEqual([
    '0.987',
    '12.3',
    '1,811',
    '−58.7',
    '0',
  ]);
  expect(number(null)).toBe('–');
  expect(number(Number.NaN)).toBe('–');
  expect(amount(78.3172, 'N mm')).toBe('78.3\u00a0N·mm');
  expect(amount(8.36, 'deg')).toBe('8.36°');
});

test('margins and shares', () => {
  expect([0.994, 1, 1.22222, 9.99, null].map((v) => margin(v))).toEqual(['0.99', '1.00', '1.22', '≥\u00a010', '–']);
  expect([1, 0.9996, 0.88, 0].map((v) => percent(v))).toEqual(['100\u00a0%', '> 99\u00a0%', '88\u00a0%', '0\u00a0%']);
});

test('a margin short of 1 never reads as 1', () => {
  expect(margin(0.9999)).toBe('0.99');
});

test('keys lose their unit, hints for the terminal are not shown', () => {
  expect([label('speed_mm_s'), label('load_g'), label('most_stages'), label('base_region_p')]).toEqual([
    'Speed',
    'Load',
    'Most stages',
    'Base region',
  ]);
  expect(hintText({ hint: 'see them with: kitwright stock x.csv' })).toBe('');
  expect(hintText({ hint: 'give it in grams' })).toBe('Give it in grams');
  expect(told({ message: 'load_g must be a number', hint: 'write 160' })).toBe('load_g must be a number. Write 160');
  expect(told({ message: 'A sentence.', hint: 'or --columns x=1' })).toBe('A sentence.');
  expect(count(1, 'row')).toBe('1\u00a0row');
});
