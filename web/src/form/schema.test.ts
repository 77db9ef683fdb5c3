// The project's schema as forms see it: the real one, and one with a kind that nobody has written yet.
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';

import type { JsonObject } from '../contract.ts';
import {
  fieldsOf,
  firstObject,
  functionFields,
  kindsOf,
  numberFrom,
  numbersFrom,
  pointsFrom,
  pointsText,
  section,
  sortOf,
  usualText,
  wordsFrom,
} from './schema.ts';

const real = JSON.parse(
  readFileSync(join(import.meta.dirname, '../../../schema/project.schema.json'), 'utf8'),
) as JsonObject;

test('every kind of the real schema has wants that forms can show', () => {
  const kinds = kindsOf(real);
  expect(kinds.length).toBeGreaterThanOrEqual(7);
  for (const k of kinds) {
    const fields = fieldsOf(k.wants);
    expect(fields.length, k.kind).toBeGreaterThan(0);
    for (const f of fields) expect(f.sort.is, `${k.kind}.${f.key}`).not.toBe('other');
    // What a new function of the kind begins with has every key that must be there.
    expect(Object.keys(firstObject(k.wants)).sort()).toEqual(
      fields
        .filter((f) => f.required)
        .map((f) => f.key)
        .sort(),
    );
  }
});

test('every other table of the real schema, too', () => {
  for (const key of Object.keys(real.properties as JsonObject)) {
    const walk = (s: JsonObject, where: string) => {
      for (const f of fieldsOf(s)) {
        if (key === 'functions' && f.key === 'wants') continue;
        expect(f.sort.is, `${where}/${f.key}`).not.toBe('other');
        if (f.sort.is === 'rows') walk(f.sort.of, `${where}/${f.key}`);
        if (f.sort.is === 'group') walk(f.schema, `${where}/${f.key}`);
      }
    };
    const s = section(real, key);
    const sort = sortOf(s);
    walk(sort.is === 'rows' ? sort.of : s, `/${key}`);
  }
  expect(functionFields(real).some((f) => f.key === 'wants')).toBe(false);
});

test('a kind that is added to the schema is found with its fields', () => {
  const made = {
    properties: {
      functions: {
        items: {
          allOf: [
            {
              if: { properties: { kind: { const: 'shake' } } },
              then: {
                properties: {
                  wants: {
                    description: 'shakes a sieve',
                    required: ['stroke_mm'],
                    properties: {
                      stroke_mm: { type: 'number', minimum: 2, maximum: 40, 'x-unit': 'mm', description: 'how far' },
                      damped: { type: 'boolean', default: false },
                      side: { enum: ['left', 'right'], default: 'right' },
                      friction: {
                        oneOf: [
                          { type: 'number', minimum: 0 },
                          { type: 'object', properties: { low: {}, nominal: {}, high: {} } },
                        ],
                      },
                      at_mm: { type: 'array', items: { type: 'number' }, minItems: 2, maxItems: 2 },
                    },
                  },
                },
              },
            },
          ],
        },
      },
    },
  } as unknown as JsonObject;
  const [kind] = kindsOf(made);
  expect(kind?.kind).toBe('shake');
  expect(fieldsOf(kind!.wants).map((f) => f.sort.is)).toEqual(['number', 'flag', 'choice', 'triple', 'vector']);
  expect(firstObject(kind!.wants)).toEqual({ stroke_mm: 2 });
  expect(fieldsOf(kind!.wants).map(usualText)).toEqual(['', 'no', 'right', '', '']);
});

test('typed text becomes values, and what is none stays text', () => {
  expect(['160', '2,5', '−3', '1e3', 'heavy', ''].map(numberFrom)).toEqual([160, 2.5, -3, 1000, 'heavy', undefined]);
  expect(numbersFrom('1, 2')).toEqual([1, 2]);
  expect(numbersFrom('1; 2.5 3')).toEqual([1, 2.5, 3]);
  expect(pointsFrom('60, 50; -60, 50;')).toEqual([
    [60, 50],
    [-60, 50],
  ]);
  expect(
    pointsText([
      [60, 50],
      [-60, 50],
    ]),
  ).toBe('60, 50; -60, 50');
  expect(['2', 'hub_a', 'hub_a, hub_b', ''].map(wordsFrom)).toEqual([2, 'hub_a', ['hub_a', 'hub_b'], undefined]);
});
