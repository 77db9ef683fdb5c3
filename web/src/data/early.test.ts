// What is shown of a design that is still being computed: only what belongs to exactly the text in the forms.
import { expect, test } from 'vitest';

import type { MarginsEvent, Offer, Result } from '../contract.ts';
import { earlyOf, earlyText } from './picture.ts';
import { getState, joined, type State } from './store.ts';

const offer = (id: string, worst_margin: number | null, which: Offer['which'] = 'same'): Offer => ({
  id,
  kept: 3,
  meet_all: 2,
  which,
  title: 'a way',
  worst_margin,
  margins: [],
});
const told = (revision: number, settled: boolean, functions: Offer[]): MarginsEvent => ({
  job: revision,
  revision,
  settled,
  functions,
});
const state = (change: Partial<State>): State => ({
  ...getState(),
  project: { revision: 4, text: '', document: {}, problems: [] },
  result: { revision: 3 } as Result,
  early: told(4, false, [offer('winch', 1.2)]),
  ...change,
});

test('early figures are shown for the present text and no other', () => {
  expect(earlyOf(state({}), 'winch')).toMatchObject({ worst_margin: 1.2, settled: false });
  expect(earlyOf(state({}), 'slewing')).toBeNull(); // nothing of it is known yet
  expect(earlyOf(state({ saving: 1 }), 'winch')).toBeNull(); // a further edit is on its way
  expect(earlyOf(state({ early: told(3, true, [offer('winch', 1.2)]) }), 'winch')).toBeNull();
  expect(earlyOf(state({ early: told(5, true, [offer('winch', 1.2)]) }), 'winch')).toBeNull();
  expect(earlyOf(state({ result: { revision: 4 } as Result }), 'winch')).toBeNull(); // the design itself is there
  expect(earlyOf(state({ result: null }), 'winch')).not.toBeNull(); // the very first design
});

test('what is told later of one text joins what was told before; a newer text begins anew', () => {
  const first = joined(null, told(4, false, [offer('winch', 1.2)]));
  const both = joined(first, told(4, false, [offer('slewing', 1.5)]));
  expect(both.functions.map((f) => f.id)).toEqual(['winch', 'slewing']);
  const settled = joined(both, told(4, true, [offer('winch', 1.1, 'chosen'), offer('slewing', 1.5, 'chosen')]));
  expect(settled.settled).toBe(true);
  expect(settled.functions.map((f) => f.worst_margin)).toEqual([1.1, 1.5]);
  expect(joined(settled, told(5, false, [offer('winch', 1.3)])).functions).toHaveLength(1);
});

test('it is said of what the figures are and that they may change', () => {
  const say = (which: Offer['which'], settled: boolean) => earlyText({ ...offer('winch', 1.2, which), settled });
  expect(say('same', false)).toMatch(/chosen before.*another way may still be taken/);
  expect(say('best', false)).toMatch(/best way on its own.*another way may still be taken/);
  expect(say('chosen', true)).not.toMatch(/may still be taken/);
});
