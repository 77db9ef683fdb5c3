// The pack for those who build it: what it holds, how it looks, and its files in the language and on the paper they have.
import { Button, NativeSelect, SegmentedControl, TextInput } from '@mantine/core';
import { useEffect, useRef, useState } from 'react';

import type { Dossier as DossierInfo, Languages } from '../contract.ts';
import { get, getText, query } from '../data/api.ts';
import { count } from '../data/format.ts';
import { useStale } from '../data/picture.ts';
import { go } from '../data/place.ts';
import { isObject } from '../data/pointer.ts';
import { useResource } from '../data/resource.ts';
import { edit, useStore } from '../data/store.ts';
import { Glyph } from '../parts/glyph.tsx';
import { Fault, Head, Nothing, Waiting } from '../parts/states.tsx';

type Paper = 'a4' | 'letter';
const kPapers: { value: Paper; label: string }[] = [
  { value: 'a4', label: 'A4' },
  { value: 'letter', label: 'US Letter' },
];
const kPaperNames: Record<Paper, string> = { a4: 'A4', letter: 'US Letter' };

/// What was chosen last on this machine; the browser's own wishes before anything was.
function remembered(): { language: string; paper: Paper } {
  const kept = window.localStorage.getItem('dossier') ?? '';
  const [language = '', paper = ''] = kept.split(' ');
  const usual = /^en-(US|CA)$/.test(navigator.language) ? 'letter' : 'a4';
  return {
    language: language || navigator.language.slice(0, 2),
    paper: paper === 'a4' || paper === 'letter' ? paper : usual,
  };
}

const size = (bytes: number): string =>
  bytes < 1e6 ? `${Math.max(1, Math.round(bytes / 1000))} kB` : `${(bytes / 1e6).toFixed(1)} MB`;

/// A name for the file on the user's disk that tells model, language and paper.
function savedAs(title: string, name: string, language: string): string {
  const model = title
    .normalize('NFKD')
    .replace(/[^\p{L}\p{N}]+/gu, '_')
    .replace(/^_+|_+$/g, '')
    .toLowerCase()
    .slice(0, 60);
  return `${model || 'model'}_${language}_${name}`;
}

function Files({ info, paper }: { info: DossierInfo; paper: Paper }) {
  const files: { name: string; what: string; note: string }[] = [
    {
      name: `dossier_${paper}.pdf`,
      what: `PDF, ${kPaperNames[paper]}`,
      note: `${count(info.pages[paper], 'page')}, drawings as lines, to print`,
    },
    { name: 'dossier.html', what: 'Page', note: 'one file, opens without a network; pictures move' },
    { name: 'parts.csv', what: 'Parts list', note: 'for a table program' },
    { name: 'parts.json', what: 'Parts list for programs', note: 'what a builder’s own stock is compared with' },
  ];
  return (
    <section className="card">
      <h2>Files</h2>
      <ul className="plain dossier-files">
        {files.map((f, i) => {
          const bytes = info.files.find((x) => x.name === f.name)?.bytes ?? 0;
          return (
            <li key={f.name}>
              <Button
                component="a"
                size="xs"
                variant={i === 0 ? 'filled' : 'default'}
                href={`/api/dossier/files/${f.name}${query({ language: info.language })}`}
                download={savedAs(info.title, f.name, info.language)}
              >
                {f.what}
              </Button>
              <span className="dim">
                {f.note}, {size(bytes)}
              </span>
            </li>
          );
        })}
      </ul>
    </section>
  );
}

/// The page of the dossier without its scripts, so that it can be looked at here; its moving pictures stay out.
function useReading(info: DossierInfo | null) {
  return useResource<string>(
    info && `/api/dossier/files/dossier.html${query({ language: info.language })}#${info.revision}`,
    async (signal) => {
      const html = await getText(`/api/dossier/files/dossier.html${query({ language: info?.language })}`, signal);
      const page = new DOMParser().parseFromString(html, 'text/html');
      for (const e of page.querySelectorAll('script, [data-live], nav, meta[http-equiv]')) e.remove();
      return '<!doctype html>' + page.documentElement.outerHTML;
    },
  );
}

function Reading({ info, at }: { info: DossierInfo; at: string }) {
  const reading = useReading(info);
  const frame = useRef<HTMLIFrameElement>(null);
  const [loaded, setLoaded] = useState(0);
  useEffect(() => {
    // Not scrollIntoView, which moves the page around the frame as well.
    const page = frame.current?.contentWindow;
    const heading = page?.document.getElementById(at);
    if (page && heading) page.scrollTo(0, heading.getBoundingClientRect().top + page.scrollY - 8);
  }, [at, loaded]);
  if (reading.fault) return <Fault error={reading.fault} again={reading.again} />;
  if (!reading.value) return <Waiting text="The dossier is being fetched" />;
  return (
    <iframe
      ref={frame}
      className="dossier-reading"
      title={`dossier of ${info.title}`}
      // Same origin only so that the contents beside it can scroll it; nothing in it may run.
      sandbox="allow-same-origin"
      srcDoc={reading.value}
      onLoad={() => setLoaded((n) => n + 1)}
    />
  );
}

function Revision() {
  const document = useStore((s) => s.project?.document);
  const project = isObject(document?.project) ? document.project : {};
  const told = typeof project.revision === 'string' ? project.revision : '';
  const [draft, setDraft] = useState<string | null>(null);
  const keep = () => {
    const text = (draft ?? told).trim();
    setDraft(null);
    if (text === told) return;
    void edit(
      'revision',
      text ? [{ op: 'set', at: '/project/revision', value: text }] : [{ op: 'remove', at: '/project/revision' }],
    );
  };
  return (
    <TextInput
      size="xs"
      label="Revision"
      className="dossier-revision"
      placeholder="none told"
      maxLength={24}
      value={draft ?? told}
      onChange={(e) => setDraft(e.currentTarget.value)}
      onBlur={keep}
      onKeyDown={(e) => {
        if (e.key === 'Enter') keep();
        if (e.key === 'Escape') setDraft(null);
      }}
    />
  );
}

export function Dossier() {
  const result = useStore((s) => s.result);
  const old = useStale();
  const [choice, setChoice] = useState(remembered);
  const [at, setAt] = useState('');
  const languages = useResource<Languages>('/api/dossier/languages', (signal) => get('/api/dossier/languages', signal));
  const known = languages.value?.languages ?? [];
  const language = known.some((l) => l.code === choice.language) ? choice.language : 'en';
  const asked = `/api/dossier${query({ language })}`;
  // Leaving the view, or choosing another language, gives the request up, and the program stops its work on it.
  const info = useResource<DossierInfo>(result && languages.value ? `${asked}#${result.revision}` : null, (signal) =>
    get(asked, signal),
  );
  const choose = (change: Partial<typeof choice>) => {
    const next = { ...choice, language, ...change };
    window.localStorage.setItem('dossier', `${next.language} ${next.paper}`);
    setChoice(next);
  };
  if (!result)
    return <Nothing title="No result yet">The dossier is made from a design; the first one is on its way.</Nothing>;
  const works = info.fault?.status !== 409 || result.design.allocation?.feasible !== false;
  return (
    <>
      <Head
        title="Dossier"
        lead="The pack that lets somebody else build it: drawings, parts, steps, figures and limits."
      >
        <NativeSelect
          size="xs"
          aria-label="language of the dossier"
          data={known.length > 0 ? known.map((l) => ({ value: l.code, label: l.name })) : ['en']}
          value={language}
          onChange={(e) => choose({ language: e.currentTarget.value })}
        />
        <SegmentedControl
          size="xs"
          aria-label="paper"
          data={kPapers}
          value={choice.paper}
          onChange={(paper) => choose({ paper: paper === 'letter' ? 'letter' : 'a4' })}
        />
      </Head>
      {languages.fault && <Fault error={languages.fault} again={languages.again} />}
      {old && (
        <p className="stale-tag">
          <Glyph of="note" /> This is the dossier from before your last change.
        </p>
      )}
      {!works && info.fault ? (
        <Nothing title="There is no dossier yet">
          <p>{info.fault.detail}</p>
          <Button size="xs" variant="default" onClick={() => go({ view: 'findings' })}>
            See what would make it work
          </Button>
        </Nothing>
      ) : info.fault ? (
        <Fault error={info.fault} again={info.again} />
      ) : !info.value ? (
        <Waiting text="The dossier is being written" />
      ) : (
        <div className={info.loading ? 'dossier stale' : 'dossier'}>
          <div className="dossier-side">
            <Files info={info.value} paper={choice.paper} />
            <section className="card">
              <h2>What it holds</h2>
              <p className="lead">
                {count(info.value.pages[choice.paper], 'page')} on {kPaperNames[choice.paper]},{' '}
                {count(info.value.figures, 'drawing')}, {count(info.value.moving, 'moving picture')} on the page.
              </p>
              <ol className="plain dossier-contents" aria-label="contents">
                {info.value.chapters.map((c) => (
                  <li key={c.anchor} className={c.level === 1 ? 'chapter' : 'section-of'}>
                    <button type="button" className="link" onClick={() => setAt(c.anchor)}>
                      {c.text}
                    </button>
                    <span className="num dim">{c[choice.paper] || ''}</span>
                  </li>
                ))}
              </ol>
            </section>
            <section className="card">
              <h2>How it is told apart</h2>
              <Revision />
              <p className="lead">
                On every page, with <code title={info.value.hash}>{info.value.hash.slice(0, 12)}</code>, a mark that
                changes when project, stock or measurements do.
              </p>
              <Button size="compact-xs" variant="default" onClick={() => go({ view: 'wants', chosen: '' })}>
                Add stickers, name, description
              </Button>
            </section>
          </div>
          <Reading info={info.value} at={at} />
        </div>
      )}
    </>
  );
}
