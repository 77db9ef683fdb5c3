// JSON pointers and edits: places found as RFC 6901 says, inputs left as they were.
import { expect, test } from 'vitest';

import type { JsonObject } from '../contract.ts';
import { apply, at, join, split } from './pointer.ts';

const document: JsonObject = { functions: [{ id: 'a', wants: { load_g: 100 } }, { id: 'b' }], 'x/y': { '~z': 1 } };

test('the examples of RFC 6901, section 5, with escapes', () => {
  expect(split('')).toEqual([]);
  expect(split('/a~1b/m~0n')).toEqual(['a/b', 'm~n']);
  expect(join('x/y', '~z')).toBe('/x~1y/~0z');
  expect(at(document, '/x~1y/~0z')).toBe(1);
  expect(at(document, '/functions/0/wants/load_g')).toBe(100);
  expect(at(document, '/functions/7/wants')).toBeUndefined();
});

test('edits build what is missing and leave the input alone', () => {
  const before = JSON.stringify(document);
  const next = apply(document, [
    { op: 'set', at: '/functions/1/wants/speed_mm_s', value: 25 },
    { op: 'remove', at: '/functions/0/wants/load_g' },
    { op: 'insert', at: '/functions/-', value: { id: 'c' } },
    { op: 'set', at: '/limits/mass_g', value: 900 },
  ]);
  expect(next).toEqual({
    functions: [{ id: 'a', wants: {} }, { id: 'b', wants: { speed_mm_s: 25 } }, { id: 'c' }],
    'x/y': { '~z': 1 },
    limits: { mass_g: 900 },
  });
  expect(JSON.stringify(document)).toBe(before);
});

test('a whole list can be begun by an edit', () => {
  expect(apply({}, [{ op: 'insert', at: '/reserves/-', value: { part: 'beam_15' } }])).toEqual({
    reserves: [{ part: 'beam_15' }],
  });
});
