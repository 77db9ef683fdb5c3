// What both the tests and the screenshots need: the program with its server, and a browser with a page on it.
import { type ChildProcess, spawn } from 'node:child_process';
import { cpSync, existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { extname, join, resolve } from 'node:path';
import { type BrowserContext, chromium, type Page } from 'playwright-core';

export const repository = resolve(import.meta.dirname, '../..');

/// KW_BINARY = the program.
export const program = resolve(process.env.KW_BINARY ?? join(repository, 'build/ci/src/cli/kitwright'));

export interface Server {
  address: string;
  process: ChildProcess;
  stop(): Promise<void>;
}

export async function startServer(project?: string): Promise<Server> {
  const list = ['serve', ...(project ? [project] : [])];
  const child = spawn(program, list, {
    stdio: ['ignore', 'pipe', 'pipe'],
    env: { ...process.env, HOME: mkdtempSync(join(tmpdir(), 'kw-home-')) }, // demos are copied there
  });
  const address = await new Promise<string>((done, fail) => {
    let said = '';
    const read = (d: Buffer) => {
      said += d.toString();
      const found = /http:\/\/\S+/.exec(said);
      if (found) done(found[0]);
    };
    child.stdout.on('data', read);
    child.stderr.on('data', read);
    child.on('exit', () => fail(new Error(`the program ended: ${said}`)));
  });
  return {
    address,
    process: child,
    stop: () =>
      new Promise((done) => {
        if (child.exitCode !== null || child.signalCode !== null) return done();
        child.on('exit', () => done());
        child.kill('SIGTERM');
      }),
  };
}

const kTypes: Record<string, string> = {
  '.html': 'text/html',
  '.js': 'text/javascript',
  '.css': 'text/css',
  '.svg': 'image/svg+xml',
};

export interface Browser {
  context: BrowserContext;
  page: Page;
  complaints: string[];
  close(): Promise<void>;
}

export async function startBrowser(size = { width: 1280, height: 720 }): Promise<Browser> {
  const profile = mkdtempSync(join(tmpdir(), 'kw-profile-'));
  const context = await chromium.launchPersistentContext(profile, {
    executablePath: process.env.KW_CHROMIUM ?? '/usr/bin/chromium',
    headless: true,
    viewport: size,
    acceptDownloads: true,
    reducedMotion: 'reduce', // colours that are still fading in would be judged by what they are not
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      '--use-angle=swiftshader',
      '--enable-unsafe-swiftshader',
    ],
  });
  // KW_PAGE = a folder with the built page that stands in for the one built into the program.
  const dist = process.env.KW_PAGE ? resolve(process.env.KW_PAGE) : '';
  if (dist) {
    const policy =
      "default-src 'self'; img-src 'self' data: blob:; style-src 'self' 'unsafe-inline'; connect-src 'self'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'; form-action 'none'";
    await context.route(
      (url) => !/^\/(api|open)\b/.test(url.pathname),
      (route) => {
        const file = join(dist, new URL(route.request().url()).pathname.replace(/^\/$/, '/index.html'));
        return existsSync(file)
          ? route.fulfill({
              path: file,
              headers: {
                'content-security-policy': policy,
                'content-type': kTypes[extname(file)] ?? 'application/octet-stream',
              },
            })
          : route.fulfill({ status: 404 });
      },
    );
  }
  const page = context.pages()[0] ?? (await context.newPage());
  const complaints: string[] = [];
  page.on('pageerror', (e) => complaints.push(String(e)));
  page.on('console', (m) => {
    // A refusal that the page shows to the user is also logged by the browser; software WebGL notes its slow reads.
    if (m.type() === 'error' && !/status of 4\d\d|ReadPixels/.test(m.text())) complaints.push(m.text());
  });
  return {
    context,
    page,
    complaints,
    close: async () => {
      await context.close();
      rmSync(profile, { recursive: true, force: true });
    },
  };
}

export function copyOf(example: string): string {
  const folder = join(mkdtempSync(join(tmpdir(), 'kw-e2e-')), example);
  cpSync(join(repository, 'examples', example), folder, { recursive: true });
  return folder;
}
