// Changing one cell of a list leaves every other byte.
import { expect, test } from 'vitest';

import { withCell } from './csv.ts';

test('one cell is replaced, endings, quotes and byte order mark stay', () => {
  const csv = '\uFEFFno;name;count\r\n1;"gear; small";4\r\n2;axle;7\r\n';
  expect(withCell(csv, 2, 2, ';', 'gear_8')).toBe('\uFEFFno;name;count\r\n1;gear_8;4\r\n2;axle;7\r\n');
  expect(withCell(csv, 3, 2, ';', 'axle; "long"')).toBe(
    '\uFEFFno;name;count\r\n1;"gear; small";4\r\n2;"axle; ""long""";7\r\n',
  );
});

test('no such cell, or a line inside quotes, is refused', () => {
  expect(withCell('a,b\n1,2\n', 2, 5, ',', 'x')).toBeNull();
  expect(withCell('a,b\n1,2\n', 9, 1, ',', 'x')).toBeNull();
  expect(withCell('a,b\n"one\ntwo",2\n', 3, 1, ',', 'x')).toBeNull();
});
