import { expect, test } from 'vitest';

import type { Change, JsonObject } from '../contract.ts';
import { editsOf } from './changes.ts';
import { apply } from './pointer.ts';

const project: JsonObject = {
  bodies: [{ id: 'chassis' }, { id: 'tank', centre_mm: [0, 0, 40] }],
  reserves: [
    { part: 'beam_15', count: 2, reason: 'rails' },
    { part: 'beam_9', count: 1, reason: 'looks' },
  ],
  support: { type: 'wheels', width_mm: 144 },
  functions: [{ id: 'lift', wants: { load_g: 160 } }],
};
const set = (table: string, id: string, key: string, value: unknown): Change => ({ op: 'set', table, id, key, value });

test('entries are found by their names, wherever they stand', () => {
  const edits = editsOf(
    [set('bodies', 'tank', 'centre_mm', [-8, 0, 40]), set('functions', 'lift', 'wants/load_g', 120)],
    project,
  );
  expect(edits?.map((e) => e.at)).toEqual(['/bodies/1/centre_mm', '/functions/0/wants/load_g']);
  const after = apply(project, edits ?? []);
  expect(after.bodies).toEqual([{ id: 'chassis' }, { id: 'tank', centre_mm: [-8, 0, 40] }]);
  expect(after.functions).toEqual([{ id: 'lift', wants: { load_g: 120 } }]);
});

test('an entry is added behind the last and a reserve goes by its reason', () => {
  const added = editsOf([{ op: 'add', table: 'bodies', id: '', key: '', value: { id: 'ballast' } }], project) ?? [];
  expect(apply(project, added).bodies).toHaveLength(3);
  const gone = editsOf([{ op: 'remove', table: 'reserves', id: 'rails', key: '' }], project) ?? [];
  expect(apply(project, gone).reserves).toEqual([{ part: 'beam_9', count: 1, reason: 'looks' }]);
});

test('two entries of one list can go at once', () => {
  const remove = (id: string): Change => ({ op: 'remove', table: 'reserves', id, key: '' });
  for (const order of [
    [remove('rails'), remove('looks')],
    [remove('looks'), remove('rails')],
  ])
    expect(apply(project, editsOf(order, project) ?? []).reserves).toEqual([]);
  const both = editsOf([remove('rails'), set('functions', 'lift', 'wants/load_g', 120)], project) ?? [];
  expect(apply(project, both).functions).toEqual([{ id: 'lift', wants: { load_g: 120 } }]);
});

test('nothing is offered where the project has no such place', () => {
  expect(editsOf([set('bodies', 'roof', 'centre_mm', [0, 0, 0])], project)).toBeNull();
  expect(editsOf([set('support', '', 'length_mm', 200)], project)).toBeNull();
  expect(editsOf([set('support', '', 'width_mm', 160)], project)?.[0]?.at).toBe('/support/width_mm');
  expect(editsOf([], project)).toBeNull();
});
