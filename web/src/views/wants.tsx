// What is wanted (left, forms made from the schema) and how well it is reached (right, as the server last said).
import { Button, Menu } from '@mantine/core';
import { useEffect, useRef } from 'react';

import { amount, count, percent, sentence, words } from '../data/format.ts';
import { useBusy, earlyOf, earlyText, entries, type FunctionEntry, leftOut, useStale } from '../data/picture.ts';
import { go } from '../data/place.ts';
import { edit, getState, useStore } from '../data/store.ts';
import { useAround } from '../form/around.ts';
import { Group } from '../form/fields.tsx';
import { fieldsOf, functionFields, kindsOf } from '../form/schema.ts';
import { chosenNow, useChosen } from '../ledger.tsx';
import { Glyph } from '../parts/glyph.tsx';
import { MarginTable } from '../parts/margins.tsx';
import { Rejections } from '../parts/rejections.tsx';
import { Head, Waiting } from '../parts/states.tsx';
import { MachineWants } from './machine_wants.tsx';
import { isObject } from '../data/pointer.ts';

function Reached({ entry }: { entry: FunctionEntry }) {
  const old = useStale();
  const running = useBusy();
  const out = leftOut(getState(), entry.id);
  const r = entry.result;
  useStore((s) => s.early);
  const early = earlyOf(getState(), entry.id);
  if (early && early.margins.length > 0)
    return (
      <section className="reached" aria-label={`what ${words(entry.id)} reaches`}>
        <p className="fresh-tag">{earlyText(early)}</p>
        <p className="choice">
          <span>{{ chosen: 'Chosen', same: 'As before', best: 'Best alone', none: '' }[early.which]}</span>{' '}
          {early.title}
        </p>
        <MarginTable margins={early.margins} />
        <dl className="facts">
          <div>
            <dt>Ways that fit</dt>
            <dd>{early.meet_all.toLocaleString('en')}</dd>
          </div>
        </dl>
      </section>
    );
  if (!r) return <Waiting text={running ? 'Looking for ways to build it' : 'Not computed yet'} />;
  const c = r.chosen;
  return (
    <section className={old ? 'reached stale' : 'reached'} aria-label={`what ${words(entry.id)} reaches`}>
      {old && <p className="stale-tag">These figures are from before your last change.</p>}
      {c ? (
        <>
          <p className="choice">
            <span>Chosen</span> {c.title}
          </p>
          <MarginTable margins={c.margins} />
          <dl className="facts">
            <div>
              <dt>Sure to</dt>
              <dd title="share of the draws of friction, motors and masses in which every margin is at least 1">
                {percent(c.confidence)}
              </dd>
            </div>
            <div>
              <dt>Runs at</dt>
              <dd>{amount(c.running_ma, 'mA')}</dd>
            </div>
            <div>
              <dt>Stalls at</dt>
              <dd>{amount(c.stall_ma, 'mA')}</dd>
            </div>
            <div>
              <dt>Sockets</dt>
              <dd>{c.ports}</dd>
            </div>
            <div>
              <dt>Ways that fit</dt>
              <dd>{r.meet_all.toLocaleString('en')}</dd>
            </div>
          </dl>
          <Button size="compact-sm" variant="default" onClick={() => go({ view: 'mechanism', chosen: entry.id })}>
            Show the mechanism
          </Button>
          {c.notes.length > 0 && (
            <ul className="notes">
              {c.notes.map((n, i) => (
                <li key={i}>{sentence(n)}</li>
              ))}
            </ul>
          )}
        </>
      ) : out ? (
        <div className="callout">
          <h2>
            <Glyph of="note" /> Left out of this design
          </h2>
          <p>
            {r.meet_all > 0
              ? `On its own it could be built in ${count(r.meet_all, 'way')}, but not beside the others.`
              : 'No way of building it meets every want.'}
          </p>
          <Button size="compact-sm" variant="default" onClick={() => go({ view: 'findings' })}>
            See what it competes with
          </Button>
        </div>
      ) : (
        <div className="callout callout-short">
          <h2>
            <Glyph of="short" />{' '}
            {r.meet_all === 0 ? 'No way reaches every figure you ask for' : 'The whole model has no design yet'}
          </h2>
          <p>
            {r.kept === 0
              ? `${count(r.examined, 'way was', 'ways were')} examined, and none comes near.`
              : r.meet_all === 0
                ? `${count(r.kept, 'way comes', 'ways come')} near without meeting every want.`
                : `On its own it could be built in ${count(r.meet_all, 'way')}.`}
          </p>
          <div className="tools">
            {r.kept > 0 && (
              <Button size="compact-sm" variant="default" onClick={() => go({ view: 'mechanism', chosen: entry.id })}>
                Look at the nearest
              </Button>
            )}
            <Button size="compact-sm" variant="default" onClick={() => go({ view: 'findings' })}>
              See the ways out
            </Button>
          </div>
        </div>
      )}
      <Rejections
        list={r.rejections}
        examined={r.examined}
        complete={r.complete}
        limit={r.limit}
        open={r.meet_all === 0 ? true : undefined}
      />
    </section>
  );
}

function FunctionWants({ entry }: { entry: FunctionEntry }) {
  const schema = useStore((s) => s.schema);
  const around = useAround(words(entry.id));
  if (!schema) return null;
  const kind = kindsOf(schema).find((k) => k.kind === entry.kind);
  const wants = isObject(entry.value.wants) ? entry.value.wants : {};
  const base = `/functions/${entry.index}`;
  const general = functionFields(schema).filter((f) => f.key !== 'lock' || 'lock' in entry.value);
  const remove = () => {
    go({ chosen: '' });
    void edit(`remove ${words(entry.id)}`, [{ op: 'remove', at: base }]);
  };
  return (
    <>
      <Head title={sentence(words(entry.id))} lead={kind?.note ? sentence(kind.note) : undefined}>
        <Menu position="bottom-end" withinPortal={false}>
          <Menu.Target>
            <Button size="xs" variant="default">
              Change…
            </Button>
          </Menu.Target>
          <Menu.Dropdown>
            <Menu.Item
              onClick={() =>
                void edit(`${entry.value.priority === 'wished' ? 'require' : 'only wish for'} ${words(entry.id)}`, [
                  entry.value.priority === 'wished'
                    ? { op: 'remove', at: base + '/priority' }
                    : { op: 'set', at: base + '/priority', value: 'wished' },
                ])
              }
            >
              {entry.value.priority === 'wished' ? 'Make it required' : 'Make it a wish that may be left out'}
            </Menu.Item>
            {typeof entry.value.lock === 'string' && (
              <Menu.Item onClick={() => void edit(`unlock ${words(entry.id)}`, [{ op: 'remove', at: base + '/lock' }])}>
                Unlock its candidate
              </Menu.Item>
            )}
            <Menu.Item color="red" onClick={remove}>
              Remove this function
            </Menu.Item>
          </Menu.Dropdown>
        </Menu>
      </Head>
      <div className="split">
        <div className="form" key={entry.id}>
          <h2>It shall</h2>
          {kind ? (
            <Group fields={fieldsOf(kind.wants)} value={wants} pointer={base + '/wants'} around={around} />
          ) : (
            <p className="said-error">
              <Glyph of="warning" /> The kind “{entry.kind}” is not known to this version.
            </p>
          )}
          <h2>Where and with what</h2>
          <Group fields={general} value={entry.value} pointer={base} around={around} />
        </div>
        <Reached entry={entry} />
      </div>
    </>
  );
}

/// A function that was renamed (here, by undo or in another tab) stays the chosen one.
function useRenamed(entry: FunctionEntry | null): void {
  const last = useRef<{ index: number; count: number } | null>(null);
  useEffect(() => {
    const list = entries(getState());
    if (entry) last.current = { index: entry.index, count: list.length };
    else if (last.current && last.current.count === list.length && chosenNow() !== '') {
      go({ chosen: list[last.current.index]?.id ?? '' });
      last.current = null;
    }
  });
}

export function Wants() {
  const entry = useChosen();
  useRenamed(entry);
  return entry ? <FunctionWants entry={entry} /> : <MachineWants />;
}
