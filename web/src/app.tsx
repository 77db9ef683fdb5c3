// The frame: what is open and whether it works (top), the functions with their margins (left, always in sight), and one view.
import {
  ActionIcon,
  Button,
  Loader,
  Menu,
  Modal,
  Progress,
  useComputedColorScheme,
  useMantineColorScheme,
} from '@mantine/core';
import { lazy, Suspense, useEffect, useState } from 'react';

import type { Steps } from './contract.ts';
import { amount, count, humane, margin, percent } from './data/format.ts';
import { busy, stale } from './data/picture.ts';
import { forget } from './data/resource.ts';
import { go, kViews, usePlace, type View } from './data/place.ts';
import { settleOutside, setState, start, step, stopJob, useStore } from './data/store.ts';
import { Ledger, neighbour } from './ledger.tsx';
import { Glyph } from './parts/glyph.tsx';
import { Fault, Waiting } from './parts/states.tsx';
import { Designs } from './views/designs.tsx';
import { Dossier } from './views/dossier.tsx';
import { Findings } from './views/findings.tsx';
import { Mechanism } from './views/mechanism.tsx';
import { Power } from './views/power.tsx';
import { Stance } from './views/stance.tsx';
import { StartPage } from './views/start.tsx';
import { StockView } from './views/stock.tsx';
import { Trace } from './views/trace.tsx';
import { Wants } from './views/wants.tsx';

const Space = lazy(() => import('./views/space.tsx'));
const Trial = lazy(() => import('./views/trial.tsx'));

const kNames: Record<View, string> = {
  wants: 'Wants',
  findings: 'Findings',
  mechanism: 'Mechanism',
  stance: 'Stance',
  designs: 'Designs',
  stock: 'Stock',
  power: 'Power',
  space: 'Space',
  trace: 'Trace',
  trial: 'Trial',
  dossier: 'Dossier',
};

function Verdict() {
  const result = useStore((s) => s.result);
  const job = useStore((s) => s.job);
  const old = useStore(stale);
  const mistakes = useStore((s) => s.mistakes);
  if (job && busy(job)) {
    const { done, total, text, stage } = job.progress;
    return (
      <div className="verdict verdict-running" role="status">
        <Loader size={14} />
        <span className="verdict-text">{text || stage || 'designing'}</span>
        <Progress
          className="verdict-progress"
          aria-label="progress of the design"
          size="sm"
          value={total > 0 ? (100 * done) / total : 0}
        />
        <Button size="compact-xs" variant="default" onClick={() => void stopJob(job)}>
          Stop
        </Button>
      </div>
    );
  }
  if (job?.state === 'failed')
    return (
      <div className="verdict verdict-short" role="status">
        <Glyph of="warning" />{' '}
        <span className="verdict-text">The design failed: {job.message || 'no reason given'}</span>
      </div>
    );
  if (!result)
    return (
      <div className="verdict" role="status">
        No result yet
      </div>
    );
  if (mistakes)
    return (
      <button type="button" className="verdict verdict-short" onClick={() => go({ view: 'findings' })}>
        <Glyph of="warning" />{' '}
        <span className="verdict-text">
          <b>The project has mistakes.</b>{' '}
          {result.design.status === 'bad_input' ? 'Mend them first.' : 'The figures shown are from before them.'}
        </span>
      </button>
    );
  const d = result.design;
  const tail = job?.state === 'stopped' ? ' (stopped early)' : old ? ' (before your last change)' : '';
  if (d.status === 'feasible') {
    const sure = d.assessment?.certainty.confidence;
    return (
      <div className="verdict verdict-meets" role="status">
        <Glyph of="meets" />{' '}
        <span className="verdict-text">
          <b>It works.</b> Weakest margin {margin(d.allocation?.worst_margin)}
          {sure !== null && sure !== undefined ? `, sure to ${percent(sure)}` : ''}, {amount(d.assessment?.mass_g, 'g')}
          {tail}
        </span>
      </div>
    );
  }
  const why: Record<string, string> = {
    infeasible: 'It does not work yet.',
    bad_input: 'The project has mistakes.',
    undecided: 'Not decided: the search was stopped.',
  };
  const first = d.allocation?.conflicts?.[0] as { text?: string } | undefined;
  return (
    <button type="button" className="verdict verdict-short" onClick={() => go({ view: 'findings' })}>
      <Glyph of="short" />{' '}
      <span className="verdict-text">
        <b>{why[d.status] ?? d.status}</b> {humane(first?.text ?? '')}
        {tail}
      </span>
    </button>
  );
}

function SaveState() {
  const saving = useStore((s) => s.saving > 0);
  const unsaved = useStore((s) => s.unsaved);
  const link = useStore((s) => s.link);
  if (!link)
    return (
      <span className="save save-bad">
        <Glyph of="warning" /> program not reached
      </span>
    );
  if (saving) return <span className="save">saving…</span>;
  if (unsaved)
    return (
      <span className="save save-bad">
        <Glyph of="warning" /> last change not saved
      </span>
    );
  return (
    <span className="save">
      <Glyph of="meets" size={12} /> saved
    </span>
  );
}

const stepText = (v: Steps | undefined): string => (v !== undefined && v.count > 0 ? v.label : '');
const canStep = (v: Steps | undefined): boolean => v !== undefined && v.count > 0;

const kKeys: [string, string][] = [
  ['1 … 9', 'go to a view'],
  ['[  ]', 'previous, next function'],
  ['Ctrl Z', 'undo'],
  ['Ctrl Shift Z', 'redo'],
  ['Ctrl P', 'print the view'],
  ['arrow keys', 'move in charts, tables and lists'],
  ['+  −  0', 'zoom a drawing, fit it'],
  ['?', 'this sheet'],
];

const kFiles: [string, string][] = [
  ['results.html', 'Results as a page'],
  ['report.txt', 'Report as text'],
  ['sheet.svg', 'Summary sheet (SVG)'],
  ['chart.csv', 'Load chart (CSV)'],
  ['design.json', 'Everything (JSON)'],
];

function Top({ onStart, onKeys }: { onStart: () => void; onKeys: () => void }) {
  const session = useStore((s) => s.session);
  const sound = useStore((s) => s.result !== null);
  const { setColorScheme } = useMantineColorScheme();
  const dark = useComputedColorScheme('light') === 'dark';
  const undo = stepText(session?.undo);
  const redo = stepText(session?.redo);
  return (
    <div className="top">
      <button type="button" className="brand" onClick={onStart} title="all projects, demos, new">
        <svg width="22" height="22" viewBox="0 0 32 32" aria-hidden="true">
          <path
            d="M4 25 14 9l14 5"
            fill="none"
            stroke="var(--accent)"
            strokeWidth="4"
            strokeLinecap="round"
            strokeLinejoin="round"
          />
          <circle cx="4.5" cy="25" r="3.5" fill="var(--accent)" />
          <circle cx="14" cy="9" r="3.5" fill="var(--rust)" />
          <circle cx="28" cy="14" r="3.5" fill="var(--accent)" />
        </svg>
        <span>Kitwright</span>
      </button>
      <div className="model">
        <span className="model-name" title={session?.folder}>
          {session?.name || 'Unnamed model'}
        </span>
        <SaveState />
      </div>
      <Verdict />
      <div className="top-tools">
        <ActionIcon
          variant="default"
          disabled={!canStep(session?.undo)}
          onClick={() => void step('undo')}
          aria-label={undo ? `undo: ${undo}` : 'undo'}
          title={undo ? `undo: ${undo}` : 'undo'}
        >
          <Glyph of="undo" />
        </ActionIcon>
        <ActionIcon
          variant="default"
          disabled={!canStep(session?.redo)}
          onClick={() => void step('redo')}
          aria-label={redo ? `redo: ${redo}` : 'redo'}
          title={redo ? `redo: ${redo}` : 'redo'}
        >
          <Glyph of="redo" />
        </ActionIcon>
        <ActionIcon
          variant="default"
          onClick={() => setColorScheme(dark ? 'light' : 'dark')}
          aria-label={dark ? 'light colours' : 'dark colours'}
          title={dark ? 'light colours' : 'dark colours'}
        >
          <Glyph of={dark ? 'sun' : 'moon'} />
        </ActionIcon>
        <Menu position="bottom-end" withinPortal={false}>
          <Menu.Target>
            <Button size="xs" variant="default">
              More
            </Button>
          </Menu.Target>
          <Menu.Dropdown>
            <Menu.Item onClick={onStart}>Other project…</Menu.Item>
            <Menu.Item onClick={() => window.print()}>Print this view</Menu.Item>
            <Menu.Divider />
            <Menu.Label>Save from the present design</Menu.Label>
            {kFiles.map(([name, what]) => (
              <Menu.Item key={name} component="a" href={`/api/files/${name}`} download={name} disabled={!sound}>
                {what}
              </Menu.Item>
            ))}
            <Menu.Divider />
            <Menu.Item onClick={onKeys}>Keys</Menu.Item>
          </Menu.Dropdown>
        </Menu>
      </div>
    </div>
  );
}

function Tabs({ view }: { view: View }) {
  const findings = useStore(
    (s) => s.result?.design.assessment?.findings.length ?? s.result?.design.allocation?.conflicts?.length ?? 0,
  );
  return (
    <nav className="tabs" aria-label="views">
      {kViews.map((v, i) => (
        <a
          key={v}
          href={`#/${v}/`}
          aria-current={v === view ? 'page' : undefined}
          title={i < 9 ? `key ${i + 1}` : undefined}
          onClick={(e) => {
            e.preventDefault();
            go({ view: v });
          }}
        >
          {kNames[v]}
          {v === 'findings' && findings > 0 ? <span className="tab-count">{findings}</span> : null}
        </a>
      ))}
    </nav>
  );
}

function Banners() {
  const outside = useStore((s) => s.outside);
  const notice = useStore((s) => s.notice);
  const link = useStore((s) => s.link);
  return (
    <div className="banners" aria-live="polite">
      {!link && (
        <div className="banner banner-bad">
          <Glyph of="warning" /> The program does not answer. What you see is what it last said; the page goes on when
          it is back.
        </div>
      )}
      {outside && (
        <div className="banner">
          <Glyph of="note" /> <span>The project file was changed by another program.</span>
          <Button size="compact-xs" onClick={() => void settleOutside('file')}>
            Take the file
          </Button>
          <Button size="compact-xs" variant="default" onClick={() => void settleOutside('mine')}>
            Keep mine
          </Button>
        </div>
      )}
      {notice && (
        <div className={notice.tone === 'fault' ? 'banner banner-bad' : 'banner'}>
          <Glyph of={notice.tone === 'fault' ? 'warning' : 'note'} />{' '}
          <span>
            <b>{notice.text}</b> {notice.detail}
          </span>
          <Button size="compact-xs" variant="default" onClick={() => setState({ notice: null })}>
            Close
          </Button>
        </div>
      )}
    </div>
  );
}

function typing(target: EventTarget | null): boolean {
  return (
    target instanceof HTMLElement && (/^(INPUT|TEXTAREA|SELECT)$/.test(target.tagName) || target.isContentEditable)
  );
}

function useKeys(onKeys: () => void) {
  useEffect(() => {
    const on = (e: KeyboardEvent) => {
      const command = e.ctrlKey || e.metaKey;
      if (command && e.key.toLowerCase() === 'z' && !typing(e.target)) {
        e.preventDefault();
        void step(e.shiftKey ? 'redo' : 'undo');
      } else if (command && e.key.toLowerCase() === 'y' && !typing(e.target)) {
        e.preventDefault();
        void step('redo');
      } else if (!command && !e.altKey && !typing(e.target)) {
        const view = kViews[Number(e.key) - 1];
        if (view) go({ view });
        else if (e.key === '[') neighbour(-1);
        else if (e.key === ']') neighbour(1);
        else if (e.key === '?') onKeys();
      }
    };
    window.addEventListener('keydown', on);
    return () => window.removeEventListener('keydown', on);
  }, [onKeys]);
}

function CurrentView({ view }: { view: View }) {
  switch (view) {
    case 'wants':
      return <Wants />;
    case 'findings':
      return <Findings />;
    case 'mechanism':
      return <Mechanism />;
    case 'stance':
      return <Stance />;
    case 'designs':
      return <Designs />;
    case 'stock':
      return <StockView />;
    case 'power':
      return <Power />;
    case 'space':
      return (
        <Suspense fallback={<Waiting text="Fetching the view in space" />}>
          <Space />
        </Suspense>
      );
    case 'trace':
      return <Trace />;
    case 'trial':
      return (
        <Suspense fallback={<Waiting text="Fetching the trial ground" />}>
          <Trial />
        </Suspense>
      );
    case 'dossier':
      return <Dossier />;
  }
}

export function App() {
  const phase = useStore((s) => s.phase);
  const fault = useStore((s) => s.fault);
  const session = useStore((s) => s.session);
  const result = useStore((s) => s.result);
  const { view } = usePlace();
  const [atStart, setAtStart] = useState(false);
  const [keys, setKeys] = useState(false);
  useEffect(() => start(), []);
  useEffect(() => forget(), [result]);
  useEffect(() => {
    document.title = session?.open ? `${session.name || 'model'} · Kitwright` : 'Kitwright';
  }, [session]);
  const [onKeys] = useState(() => () => setKeys((k) => !k));
  useKeys(onKeys);

  if (phase === 'starting')
    return (
      <main className="alone">
        <Waiting text="Asking the program" />
      </main>
    );
  if (phase === 'failed' && fault)
    return (
      <main className="alone">
        <Fault error={fault} again={() => window.location.reload()} />
      </main>
    );
  if (!session?.open || atStart)
    return <StartPage onDone={() => setAtStart(false)} canReturn={session?.open === true} />;
  return (
    <div className="frame">
      <header className="frame-top">
        <Top onStart={() => setAtStart(true)} onKeys={() => setKeys(true)} />
        <Tabs view={view} />
      </header>
      <Ledger />
      <main className={`view view-${view}`} aria-label={kNames[view]}>
        <Banners />
        <CurrentView view={view} />
      </main>
      <Modal
        opened={keys}
        onClose={() => setKeys(false)}
        title="Keys"
        size="sm"
        closeButtonProps={{ 'aria-label': 'close' }}
      >
        <table className="keys">
          <tbody>
            {kKeys.map(([k, what]) => (
              <tr key={k}>
                <th scope="row">
                  <kbd>{k}</kbd>
                </th>
                <td>{what}</td>
              </tr>
            ))}
          </tbody>
        </table>
        <p className="lead">{count(kViews.length, 'view')}; digits count the first nine from the left.</p>
      </Modal>
    </div>
  );
}
