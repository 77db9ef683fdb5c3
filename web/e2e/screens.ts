// Pictures of every view at 1280x720, light and dark, into web/screens (not kept).
//   KW_BINARY=... node e2e/screens.ts [name ...] [--dark] [--light] [--4k]
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';

import { copyOf, startBrowser, startServer } from './machine.ts';

const wanted = process.argv.slice(2).filter((a) => !a.startsWith('--'));
const schemes = (['light', 'dark'] as const).filter(
  (s) => !process.argv.includes(s === 'light' ? '--dark' : '--light'),
);
const big = process.argv.includes('--4k');
const size = big ? { width: 3840, height: 2160 } : { width: 1280, height: 720 };
const out = join(import.meta.dirname, '../screens');
mkdirSync(out, { recursive: true });

const shots: [string, string, ((page: Page) => Promise<void>)?][] = [
  ['wants', '#/wants/boom_lift'],
  [
    'wants_more',
    '#/wants/slewing',
    async (p) => {
      await p.locator('.rest-head').first().click();
    },
  ],
  ['wants_machine', '#/wants/'],
  ['findings', '#/findings/'],
  [
    'mechanism',
    '#/mechanism/winch',
    async (p) => {
      await p.locator('.sheet-paper svg').waitFor({ timeout: 60000 });
      const box = await p.locator('.sheet-paper').boundingBox();
      if (box) await p.mouse.move(box.x + box.width * 0.22, box.y + box.height * 0.32);
    },
  ],
  [
    'motion',
    '#/mechanism/boom_lift',
    async (p) => {
      await p.getByText('Motion').click({ timeout: 60000 });
      await p.locator('.motion-slider input').fill('36');
    },
  ],
  [
    'parts',
    '#/mechanism/winch',
    async (p) => {
      await p.getByText(/^Parts \(/).click({ timeout: 60000 });
    },
  ],
  [
    'figures',
    '#/mechanism/slewing',
    async (p) => {
      await p.getByText('Figures').click({ timeout: 60000 });
    },
  ],
  ['mechanisms', '#/mechanism/'],
  [
    'stance',
    '#/stance/',
    async (p) => {
      await p.locator('.polar-cell').nth(60).hover();
    },
  ],
  [
    'stance_low',
    '#/stance/',
    async (p) => {
      await p.getByRole('heading', { name: 'Getting over things' }).scrollIntoViewIfNeeded();
      await p.waitForTimeout(500);
    },
  ],
  [
    'kinds',
    '#/wants/',
    async (p) => {
      await p.getByText('Add a function').click();
      await p.waitForTimeout(400);
    },
  ],
  [
    'stance_table',
    '#/stance/',
    async (p) => {
      await p.getByText('Table').click();
    },
  ],
  ['designs', '#/designs/'],
  [
    'stock',
    '#/stock/',
    async (p) => {
      await p.locator('.stock-row').nth(3).waitFor({ timeout: 30000 });
    },
  ],
  ['power', '#/power/'],
  [
    'power_cycle',
    '#/power/',
    async (p) => {
      await p.getByText('Working cycle', { exact: true }).click();
      await p.waitForTimeout(900);
    },
  ],
  [
    'power_handset',
    '#/power/',
    async (p) => {
      await p.getByText('Handset', { exact: true }).click();
      await p.waitForTimeout(900);
    },
  ],
  [
    'power_guide',
    '#/power/',
    async (p) => {
      await p.getByText('Set-up guide', { exact: true }).click();
      await p.waitForTimeout(900);
    },
  ],
  [
    'space',
    '#/space/',
    async (p) => {
      await p.waitForTimeout(1200);
    },
  ],
  [
    'trial',
    '#/trial/',
    async (p) => {
      await p.getByLabel('Height').fill('12');
      await p.getByRole('button', { name: 'Run the trial' }).click();
      await p.getByLabel('time in the run').waitFor({ timeout: 30000 });
      await p.getByRole('button', { name: 'Pause' }).click();
      await p.getByLabel('time in the run').fill('3');
      await p.waitForTimeout(300);
    },
  ],
  [
    'dossier',
    '#/dossier/',
    async (p) => {
      await p.frameLocator('.dossier-reading').locator('h1').first().waitFor({ timeout: 30000 });
      await p.waitForTimeout(400);
    },
  ],
  [
    'dossier_german',
    '#/dossier/',
    async (p) => {
      await p.locator('.dossier-contents li').first().waitFor({ timeout: 30000 });
      await p.getByLabel('language of the dossier').selectOption('de');
      await p.frameLocator('.dossier-reading').getByText('Auf einen Blick').waitFor({ timeout: 30000 });
      await p.locator('.dossier-contents li').nth(6).locator('button').click();
      await p.waitForTimeout(500);
    },
  ],
  ['trace', '#/trace/'],
  [
    'trace_marked',
    '#/trace/',
    async (p) => {
      const png = await p.evaluate(() => {
        const canvas = document.createElement('canvas');
        [canvas.width, canvas.height] = [900, 520];
        const c = canvas.getContext('2d')!;
        c.fillStyle = '#c7d4da';
        c.fillRect(0, 0, 900, 520);
        c.fillStyle = '#8a7f6a';
        c.fillRect(0, 470, 900, 50);
        c.fillStyle = '#c98a2b';
        c.fillRect(180, 300, 420, 110);
        c.fillRect(230, 200, 160, 100);
        c.lineWidth = 26;
        c.strokeStyle = '#c98a2b';
        c.beginPath();
        c.moveTo(360, 240);
        c.lineTo(760, 90);
        c.stroke();
        c.fillStyle = '#2b3338';
        for (const x of [240, 540]) {
          c.beginPath();
          c.arc(x, 420, 50, 0, 7);
          c.fill();
        }
        return canvas.toDataURL('image/png').split(',')[1]!;
      });
      const input = p.locator('.drop input[type=file]').first();
      await input.setInputFiles({ name: 'quay rig.png', mimeType: 'image/png', buffer: Buffer.from(png, 'base64') });
      const board = p.locator('.trace-board');
      await board.waitFor();
      await p.waitForTimeout(300);
      const put = async (u: number, v: number) => {
        const at = await board.evaluate(
          (e, [x, y]) => {
            const q = new DOMPoint(x, y).matrixTransform((e as SVGSVGElement).getScreenCTM()!);
            return [q.x, q.y];
          },
          [u, v] as [number, number],
        );
        await p.mouse.click(at[0]!, at[1]!);
      };
      const tool = (name: string) => p.locator('.trace-main').getByText(name, { exact: true }).click();
      await put(240, 420);
      await put(540, 420);
      await p.getByLabel('Real length').fill('3000');
      await tool('Ground');
      await put(400, 470);
      await tool('Wheel');
      await put(240, 420);
      await put(540, 420);
      await tool('Pivot');
      await put(360, 240);
      await tool('Boom end');
      await put(760, 90);
    },
  ],
  [
    'import',
    '#/stock/',
    async (p) => {
      await p.locator('.drop input[type=file]').setInputFiles({
        name: 'cellar finds.csv',
        mimeType: 'text/csv',
        buffer: Buffer.from(
          'Description;Colour;Count\ngear 24 tooth;grey;4\ngear;black;2\nbeam 7;red;12\nmotor;grey;2\nwindmill sail;white;4\naxle 5;grey;x\n',
        ),
      });
      await p.locator('.import-sum').waitFor({ timeout: 20000 });
    },
  ],
  [
    'running',
    '#/wants/winch',
    async (p) => {
      await p.getByLabel('Load, winch').fill('2400');
      await p.getByLabel('Load, winch').press('Enter');
      await p.locator('.verdict-running').waitFor({ timeout: 5000 });
    },
  ],
  [
    'impossible',
    '#/findings/',
    async (p) => {
      await p.locator('button.verdict-short').waitFor({ timeout: 120000 });
    },
  ],
  [
    'impossible_wants',
    '#/wants/winch',
    async (p) => {
      await p.locator('button.verdict-short').waitFor({ timeout: 120000 });
    },
  ],
  [
    'impossible_dossier',
    '#/dossier/',
    async (p) => {
      await p.getByText('There is no dossier yet').waitFor({ timeout: 60000 });
    },
  ],
  [
    'impossible_mechanism',
    '#/mechanism/winch',
    async (p) => {
      await p.locator('.mechanism').waitFor({ timeout: 60000 });
      await p.waitForTimeout(1500);
    },
  ],
  [
    'mistake',
    '#/wants/winch',
    async (p) => {
      await p.getByLabel('Load, winch').fill('heavy');
      await p.getByLabel('Load, winch').press('Enter');
      await p.locator('.said-error').first().waitFor({ timeout: 20000 });
      await p.screenshot({
        path: join(
          out,
          `mistake_${await p.evaluate(() => document.documentElement.dataset.mantineColorScheme)}_early.png`,
        ),
      });
      for (let i = 0; i < 2; i++) {
        await p.getByRole('button', { name: /^undo/ }).click();
        await p.waitForTimeout(800);
      }
      await p.locator('.verdict-meets').waitFor({ timeout: 120000 });
    },
  ],
  [
    'start',
    '#/wants/',
    async (p) => {
      await p.locator('.brand').click();
    },
  ],
  [
    'new',
    '#/wants/',
    async (p) => {
      await p.locator('.brand').click();
      await p.getByText('Begin without a list').click();
      await p.locator('.like').first().click();
    },
  ],
];

const printed = process.argv.includes('--print');
const server = await startServer(copyOf(process.env.KW_EXAMPLE ?? 'quay_rig'));
const browser = await startBrowser(size);
const { page } = browser;
try {
  await page.goto(server.address);
  const base = new URL(page.url()).origin;
  await page.goto(`${base}/`);
  await page.locator('.verdict-meets, .verdict-short').waitFor({ timeout: 120000 });
  for (const scheme of schemes) {
    await page.emulateMedia({ colorScheme: scheme });
    for (const [name, hash, act] of shots) {
      if (wanted.length > 0 && !wanted.includes(name)) continue;
      await page.goto(`${base}/${hash}`);
      await page.reload();
      await page.locator('.ledger-row').nth(1).waitFor();
      await page.waitForTimeout(250);
      try {
        await act?.(page);
      } catch (error) {
        console.log(`${name}: ${String(error).split('\n')[0]}`);
      }
      await page.waitForTimeout(250);
      if (printed) await page.pdf({ path: join(out, `${name}.pdf`), format: 'A4' });
      await page.screenshot({ path: join(out, `${name}_${scheme}${big ? '_4k' : ''}.png`) });
    }
  }
} finally {
  if (browser.complaints.length > 0) console.log('the page complained:', browser.complaints.slice(0, 5));
  await browser.close();
  await server.stop();
}
