// The dossier's page in a real browser, from a file, with no network: no request, no error, the pictures move.
//   KW_BINARY=.../kitwright node --test e2e/dossier.test.ts
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { pathToFileURL } from 'node:url';

import { type Browser, program, repository, startBrowser } from './machine.ts';

const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const kProject = 'examples/bascule_bridge';

let folder = '';
let browser: Browser;
const asked: string[] = [];
const faults: string[] = [];

before(async () => {
  folder = mkdtempSync(join(tmpdir(), 'kw-dossier-'));
  execFileSync(program, ['dossier', join(repository, kProject), '--out', folder, '--quiet'], { stdio: 'pipe' });
  browser = await startBrowser();
  await browser.page.context().setOffline(true);
  browser.page.on('request', (r) => asked.push(r.url()));
  browser.page.on('console', (m) => m.type() === 'error' && faults.push(m.text()));
  browser.page.on('pageerror', (e) => faults.push(String(e)));
  await browser.page.goto(pathToFileURL(join(folder, 'dossier.html')).href);
});
after(async () => {
  await browser?.close();
  rmSync(folder, { recursive: true, force: true });
});

test('opens offline, asks for nothing but itself and complains of nothing', async () => {
  assert.equal(await browser.page.locator('h1').first().innerText(), 'Bascule bridge');
  assert.deepEqual(
    asked.filter((url) => !url.startsWith('file:')),
    [],
  );
  assert.deepEqual(faults, []);
});

test('the linkage follows its slider, its values with it', async () => {
  const live = browser.page.locator('[data-live=linkage]').first();
  const slider = live.locator('input[type=range]');
  const arm = () => live.locator('svg line').nth(1).getAttribute('x2');
  const values = () => live.locator('p').first().innerText();
  const before = [await arm(), await values()];
  await slider.evaluate((e: HTMLInputElement) => {
    e.value = e.max;
    e.dispatchEvent(new Event('input'));
  });
  assert.notEqual(await arm(), before[0]);
  assert.notEqual(await values(), before[1]);
  assert.deepEqual(faults, []);
});

test('the machine in space is drawn and turns', async () => {
  const canvas = browser.page.locator('[data-live=space] canvas');
  const picture = () =>
    canvas.evaluate((c: HTMLCanvasElement) => {
      const pixels = c.getContext('2d')?.getImageData(0, 0, c.width, c.height).data ?? new Uint8ClampedArray();
      const colours = new Set<number>();
      let sum = 0;
      for (let i = 0; i < pixels.length; i += 4) {
        const colour = ((pixels[i] ?? 0) << 16) | ((pixels[i + 1] ?? 0) << 8) | (pixels[i + 2] ?? 0);
        colours.add(colour);
        sum = (sum * 31 + colour) | 0;
      }
      return { colours: colours.size, sum };
    });
  const first = await picture();
  assert.ok(first.colours > 10, `${first.colours} colours`);
  await canvas.focus();
  await browser.page.keyboard.press('ArrowLeft');
  assert.notEqual((await picture()).sum, first.sum);
  assert.deepEqual(faults, []);
});

test('steering and jaws follow their sliders through the positions that are computed', async () => {
  for (const [example, name] of [
    ['tow_tractor', 'steering'],
    ['log_loader', 'grab'],
  ] as const) {
    const out = mkdtempSync(join(tmpdir(), 'kw-dossier-'));
    try {
      const project = join(repository, 'examples', example);
      execFileSync(program, ['dossier', project, '--out', out, '--quiet'], { stdio: 'pipe' });
      const design = JSON.parse(
        execFileSync(program, ['design', project, '--json', '--quiet'], { encoding: 'utf8', maxBuffer: 1e9 }),
      ) as { functions: { id: string; chosen: { shapes: Record<string, number | string>[] } }[] };
      const ghosts = (design.functions.find((f) => f.id === name)?.chosen.shapes ?? []).filter(
        (s) => s.role === 'ghost' && s.label === '',
      );
      assert.ok(ghosts.length > 3, name);
      await browser.page.goto(pathToFileURL(join(out, 'dossier.html')).href);
      const live = browser.page.locator(`[data-live=linkage][aria-label^="${name}"]`);
      const slider = live.locator('input[type=range]');
      // At either end every bar lies where the program computed it, though the page only kept the bars' lengths.
      const bars = async (end: 'min' | 'max') => {
        await slider.evaluate((e: HTMLInputElement, at) => {
          e.value = e[at];
          e.dispatchEvent(new Event('input'));
        }, end);
        return live
          .locator('svg line')
          .evaluateAll((lines) => lines.map((l) => ['x1', 'y1', 'x2', 'y2'].map((k) => Number(l.getAttribute(k)))));
      };
      let found = 0;
      for (const end of ['min', 'max'] as const) {
        for (const [x1 = 0, y1 = 0, x2 = 0, y2 = 0] of await bars(end)) {
          const misfit = Math.min(
            ...ghosts.map((g) =>
              Math.max(
                Math.abs(Number(g.x1_mm) - x1),
                Math.abs(Number(g.z1_mm) + y1),
                Math.abs(Number(g.x2_mm) - x2),
                Math.abs(Number(g.z2_mm) + y2),
              ),
            ),
          );
          if (misfit < 0.3) found += 1;
        }
      }
      assert.equal(found, ghosts.length, `${name}: bars that lie where they were computed`);
      assert.match(await live.locator('p').innerText(), /: −?\d/);
      assert.deepEqual(faults, []);
    } finally {
      rmSync(out, { recursive: true, force: true });
    }
  }
  await browser.page.goto(pathToFileURL(join(folder, 'dossier.html')).href);
});

test('everybody can read it, light, dark and small', async () => {
  await browser.page.evaluate(axeSource);
  for (const colorScheme of ['light', 'dark'] as const) {
    await browser.page.emulateMedia({ colorScheme });
    const found = await browser.page.evaluate(async () => {
      const { axe } = window as unknown as {
        axe: { run(where: Document, o: object): Promise<{ violations: { id: string; nodes: { html: string }[] }[] }> };
      };
      // Texts of drawings lie on their own white paper, which the checker does not see below an SVG.
      const r = await axe.run(document, { resultTypes: ['violations'] });
      return r.violations.map((v) => `${v.id}: ${v.nodes[0]?.html.slice(0, 160)}`);
    });
    assert.deepEqual(found, [], colorScheme);
  }
  await browser.page.setViewportSize({ width: 390, height: 800 });
  const wider = await browser.page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  assert.ok(wider <= 0, `the page is ${wider} px wider than a telephone`);
});
