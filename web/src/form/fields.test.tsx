// A generated form in use: it shows what is set, offers what is not, and hands on edits.
import { MantineProvider } from '@mantine/core';
import { cleanup, fireEvent, render, screen } from '@testing-library/react';
import { afterEach, beforeEach, expect, test, vi } from 'vitest';

import type { Edit, FileProblem, JsonObject } from '../contract.ts';
import * as store from '../data/store.ts';
import { Group } from './fields.tsx';
import { fieldsOf } from './schema.ts';

const wants = {
  required: ['stroke_mm'],
  properties: {
    stroke_mm: { type: 'number', minimum: 2, maximum: 40, 'x-unit': 'mm', description: 'how far it goes' },
    damped: { type: 'boolean', default: false, description: 'whether it is damped' },
    region_p: {
      type: 'object',
      required: ['x', 'z'],
      properties: {
        x: { type: 'array', items: { type: 'number' }, minItems: 2, maxItems: 2 },
        z: { type: 'array', items: { type: 'number' }, minItems: 2, maxItems: 2 },
      },
    },
  },
} as unknown as JsonObject;

let sent: Edit[][] = [];
beforeEach(() => {
  sent = [];
  vi.spyOn(store, 'edit').mockImplementation(async (_label, edits) => {
    sent.push(edits);
  });
  window.matchMedia ??= (() => ({
    matches: false,
    addEventListener: () => undefined,
    removeEventListener: () => undefined,
  })) as never;
});
afterEach(() => {
  cleanup();
  vi.restoreAllMocks();
});

const show = (value: JsonObject, problems: FileProblem[] = []) =>
  render(
    <MantineProvider>
      <Group
        fields={fieldsOf(wants)}
        value={value}
        pointer="/functions/0/wants"
        around={{ owner: 'sieve', problems, bodies: [], parts: [] }}
      />
    </MantineProvider>,
  );

test('what is set is shown with its unit, the rest is offered with its default', () => {
  show({ stroke_mm: 12 });
  expect((screen.getByLabelText('Stroke, sieve') as HTMLInputElement).value).toBe('12');
  expect(screen.getByText('mm')).toBeTruthy();
  fireEvent.click(screen.getByText(/2 left open/));
  fireEvent.click(screen.getByLabelText('set Damped'));
  expect(sent).toEqual([[{ op: 'set', at: '/functions/0/wants/damped', value: false }]]);
});

test('Enter hands on a number, a decimal comma too, and text as it was typed', () => {
  show({ stroke_mm: 12 });
  const box = screen.getByLabelText('Stroke, sieve');
  for (const typed of ['14,5', 'far']) {
    fireEvent.focus(box);
    fireEvent.change(box, { target: { value: typed } });
    fireEvent.keyDown(box, { key: 'Enter' });
  }
  expect(sent.flat().map((e) => ('value' in e ? e.value : null))).toEqual([14.5, 'far']);
});

test('leaving a form hands on what was typed last', () => {
  const { unmount } = show({ stroke_mm: 12 });
  const box = screen.getByLabelText('Stroke, sieve');
  fireEvent.focus(box);
  fireEvent.change(box, { target: { value: '20' } });
  unmount();
  expect(sent).toEqual([[{ op: 'set', at: '/functions/0/wants/stroke_mm', value: 20 }]]);
});

test('a region is one line of from and to', () => {
  show({ stroke_mm: 12, region_p: { x: [-6, 6], z: [-4, -1] } });
  const box = screen.getByLabelText(/^z to, Region/);
  fireEvent.focus(box);
  fireEvent.change(box, { target: { value: '-2' } });
  fireEvent.blur(box);
  expect(sent).toEqual([[{ op: 'set', at: '/functions/0/wants/region_p/z', value: [-4, -2] }]]);
});

test('a problem stands at its field, and an unknown key stays in view', () => {
  show({ stroke_mm: 99, storke_mm: 3 }, [
    {
      severity: 'error',
      code: 'field.range',
      at: '/functions/0/wants/stroke_mm',
      file: 'project.toml',
      line: 4,
      column: 2,
      message: 'at most 40 mm',
      hint: 'take 40',
    },
  ]);
  expect(screen.getByText(/at most 40 mm/).closest('.field')?.textContent).toContain('Stroke');
  expect(screen.getByText('Not known here')).toBeTruthy();
});
