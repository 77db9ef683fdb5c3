// Where one begins: a demo to look at, a model like one of these from a few dimensions and one's own parts, or a folder.
import { Button, TextInput } from '@mantine/core';
import { useState } from 'react';

import type { ArchetypeInfo } from '../contract.ts';
import { count, sentence, words } from '../data/format.ts';
import { go } from '../data/place.ts';
import { openProject, setState, useStore } from '../data/store.ts';
import { numberFrom } from '../form/schema.ts';
import { Drop, ImportPanel, type Taken, uncounted } from '../parts/import.tsx';
import { Glyph } from '../parts/glyph.tsx';

/// What a size is when it is left out: "320", or "0.62 × length" for a product as the archetype spells it.
function usual(d: { default: number | string; unit: string }): string {
  if (typeof d.default === 'number') return `${d.default}`;
  const factors = d.default.replace(/ when left out$/, '').split(' * ');
  const is_number = (f: string) => !Number.isNaN(Number(f));
  return [...factors.filter(is_number), ...factors.filter((f) => !is_number(f)).map(words)].join(' × ');
}

function NewModel({ onDone, given }: { onDone: () => void; given: { text: string; name: string } | null }) {
  const archetypes = useStore((s) => s.session?.archetypes ?? []);
  const [like, setLike] = useState<ArchetypeInfo | null>(null);
  const [sizes, setSizes] = useState<Record<string, string>>({});
  const [file, setFile] = useState(given);
  const [taken, setTaken] = useState<Taken | null>(null);
  const [into, setInto] = useState('');
  const [busy, setBusy] = useState(false);
  const dimensions = Object.fromEntries(
    Object.entries(sizes)
      .map(([k, v]) => [k, numberFrom(v)])
      .filter(([, v]) => typeof v === 'number'),
  );
  const wrong = Object.entries(sizes)
    .filter(([, v]) => v.trim() !== '' && typeof numberFrom(v) !== 'number')
    .map(([k]) => k);
  const make = async () => {
    if (!like) return;
    setBusy(true);
    const list = taken ? { stock_csv: taken.csv, stock_columns: taken.columns } : {};
    const ok = await openProject({ like: like.id, into, dimensions, ...list });
    setBusy(false);
    if (ok) {
      go({ view: 'wants', chosen: '' });
      onDone();
    }
  };
  return (
    <ol className="steps">
      <li>
        <h3>What is it like?</h3>
        <div className="likes" role="radiogroup" aria-label="what the model is like">
          {archetypes.map((a) => (
            <button
              key={a.id}
              type="button"
              role="radio"
              aria-checked={like?.id === a.id}
              className="card like"
              onClick={() => {
                setLike(a);
                setSizes({});
              }}
            >
              <b>{sentence(a.title || words(a.id))}</b>
              {a.summary && <span>{a.summary}</span>}
            </button>
          ))}
        </div>
      </li>
      <li className={like ? '' : 'step-later'}>
        <h3>
          How big? <small>Leave a size out and it follows from the others.</small>
        </h3>
        {like && (
          <div className="sizes">
            {like.dimensions.map((d) => (
              <TextInput
                key={d.key}
                size="xs"
                label={sentence(d.key)}
                description={sentence(d.summary)}
                placeholder={usual(d)}
                error={wrong.includes(d.key) ? 'a number, please' : undefined}
                rightSection={<span className="unit">{d.unit}</span>}
                value={sizes[d.key] ?? ''}
                onChange={(e) => setSizes({ ...sizes, [d.key]: e.currentTarget.value })}
              />
            ))}
          </div>
        )}
      </li>
      <li className={like ? '' : 'step-later'}>
        <h3>From which parts?</h3>
        {taken ? (
          <p className="taken">
            <Glyph of="meets" /> {file?.name}: {count(taken.preview.parts, 'part')} of{' '}
            {count(taken.preview.part_types, 'type')}
            {uncounted(taken.preview) > 0 && (
              <span className="taken-not">
                {' '}
                <Glyph of="warning" size={12} /> {count(uncounted(taken.preview), 'row')} not counted; Stock lists them
              </span>
            )}{' '}
            <Button
              size="compact-xs"
              variant="default"
              onClick={() => {
                setTaken(null);
                setFile(null);
              }}
            >
              another list
            </Button>
          </p>
        ) : file ? (
          <ImportPanel
            first={file.text}
            name={file.name}
            system=""
            action="These are my parts"
            onTake={setTaken}
            onCancel={() => setFile(null)}
          />
        ) : (
          <Drop accept=".csv,.tsv,.txt,text/csv" onText={(text, f) => setFile({ text, name: f.name })}>
            Drop the parts list of your kit (CSV: a description and a count are enough). Without one, an invented
            example kit is used.
          </Drop>
        )}
      </li>
      <li className={like ? '' : 'step-later'}>
        <h3>
          Where to keep it? <small>A folder of its own; left empty, one is made.</small>
        </h3>
        <div className="tools">
          <TextInput
            size="xs"
            w={340}
            aria-label="folder for the new project"
            placeholder="folder, for example models/harbour"
            value={into}
            onChange={(e) => setInto(e.currentTarget.value)}
          />
          <Button
            size="xs"
            disabled={!like || busy || wrong.length > 0 || (file !== null && taken === null)}
            onClick={() => void make()}
          >
            {busy ? 'Setting it up…' : 'Set it up and design'}
          </Button>
        </div>
      </li>
    </ol>
  );
}

/// A message above what was just clicked would go unseen.
function inSight(e: HTMLElement | null) {
  e?.scrollIntoView({ block: 'nearest' });
}

export function StartPage({ onDone, canReturn }: { onDone: () => void; canReturn: boolean }) {
  const session = useStore((s) => s.session);
  const notice = useStore((s) => s.notice);
  const [making, setMaking] = useState(false);
  const [given, setGiven] = useState<{ text: string; name: string } | null>(null);
  const [folder, setFolder] = useState('');
  const [busy, setBusy] = useState('');
  const open = async (what: object, name: string) => {
    setBusy(name);
    const ok = await openProject(what);
    setBusy('');
    if (ok) {
      go({ view: 'wants', chosen: '' });
      onDone();
    }
  };
  return (
    <main className="start">
      <header className="start-head">
        <h1>Kitwright</h1>
        <p>
          Say what your model shall do and which parts you own. Kitwright computes gear trains, linkages and the whole
          design from exactly those parts, and says what limits it.
        </p>
        {canReturn && (
          <Button size="xs" variant="default" onClick={onDone}>
            Back to {session?.name || 'the open model'}
          </Button>
        )}
      </header>
      {notice && (
        <div ref={inSight} className={notice.tone === 'fault' ? 'banner banner-bad' : 'banner'} role="alert">
          <Glyph of="warning" />{' '}
          <span>
            <b>{notice.text}</b> {notice.detail}
          </span>
          <Button size="compact-xs" variant="default" onClick={() => setState({ notice: null })}>
            Close
          </Button>
        </div>
      )}
      {making ? (
        <section>
          <div className="panel-head">
            <h2>A new model in four steps</h2>
            <Button size="compact-sm" variant="default" onClick={() => setMaking(false)}>
              Back
            </Button>
          </div>
          <NewModel onDone={onDone} given={given} />
        </section>
      ) : (
        <div className="start-ways">
          <section className="start-new card">
            <h2>Begin a model</h2>
            <Drop
              accept=".csv,.tsv,.txt,text/csv"
              onText={(text, f) => {
                setGiven({ text, name: f.name });
                setMaking(true);
              }}
            >
              Drop your kit’s parts list here to begin with it.
            </Drop>
            <Button
              size="sm"
              onClick={() => {
                setGiven(null);
                setMaking(true);
              }}
            >
              Begin without a list
            </Button>
            <h2>Open a folder</h2>
            <form
              className="tools"
              onSubmit={(e) => {
                e.preventDefault();
                void open({ folder }, 'folder');
              }}
            >
              <TextInput
                size="xs"
                className="grow"
                aria-label="project folder"
                placeholder="folder with a project.toml"
                value={folder}
                onChange={(e) => setFolder(e.currentTarget.value)}
              />
              <Button size="xs" type="submit" variant="default" disabled={folder.trim() === '' || busy !== ''}>
                Open
              </Button>
            </form>
          </section>
          <section>
            <h2>
              Look at a finished one <small>invented machines; a copy is opened, play freely</small>
            </h2>
            <ul className="demos">
              {(session?.examples ?? []).map((e) => (
                <li key={e.id}>
                  <button
                    type="button"
                    className="card demo"
                    disabled={busy !== ''}
                    onClick={() => void open({ example: e.id }, e.id)}
                  >
                    <b>{e.title}</b>
                    <span>{e.summary}</span>
                    {busy === e.id && <span className="dim">opening…</span>}
                  </button>
                </li>
              ))}
            </ul>
          </section>
        </div>
      )}
    </main>
  );
}
