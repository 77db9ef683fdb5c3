// The functions with their weakest margin, in sight in every view; what is chosen here is what the views show.
import { Button, Menu } from '@mantine/core';

import { kindsOf, firstObject } from './form/schema.ts';
import { margin, sentence, words } from './data/format.ts';
import { busy, earlyOf, earlyText, entries, type FunctionEntry, leftOut, stale } from './data/picture.ts';
import { go, usePlace } from './data/place.ts';
import { edit, getState, problemsAt, useStore } from './data/store.ts';
import { Glyph } from './parts/glyph.tsx';
import { MarginBar, meets } from './parts/margins.tsx';

export const kMachine = ''; // the chosen thing when it is no function: the machine as a whole

export function neighbour(by: number): void {
  const list = [kMachine, ...entries(getState()).map((e) => e.id)];
  const now = Math.max(list.indexOf(chosenNow()), 0);
  go({ chosen: list[(now + by + list.length) % list.length] ?? kMachine });
}
export function chosenNow(): string {
  return decodeURIComponent(window.location.hash.split('/')[2] ?? '');
}

/// The chosen function, if the place names one that exists.
export function useChosen(): FunctionEntry | null {
  const { chosen } = usePlace();
  const project = useStore((s) => s.project);
  const result = useStore((s) => s.result);
  void project;
  void result;
  return entries(getState()).find((e) => e.id === chosen) ?? null;
}

interface RowState {
  glyph: string;
  text: string;
  tone: string;
  ratio: number | null;
  fresh?: string; ///< it is of the present text though the design is not: what that means
}

/// What is known already while the design is being computed.
function earlyState(e: FunctionEntry): RowState | null {
  const early = earlyOf(getState(), e.id);
  if (!early) return null;
  const fresh = earlyText(early);
  const ratio = early.worst_margin;
  if (ratio === null && early.settled) return { glyph: 'cross', text: 'left out', tone: 'none', ratio, fresh };
  if (ratio === null) return { glyph: 'short', text: 'no way found', tone: 'short', ratio, fresh };
  return {
    glyph: meets(ratio) ? 'meets' : 'short',
    text: early.settled ? margin(ratio) : `${margin(ratio)} so far`,
    tone: meets(ratio) ? 'meets' : 'short',
    ratio,
    fresh,
  };
}

function stateOf(e: FunctionEntry): RowState {
  const s = getState();
  const index = e.index;
  if (problemsAt(s.project?.problems ?? [], `/functions/${index}`).some((p) => p.severity === 'error'))
    return { glyph: 'warning', text: 'mistake', tone: 'short', ratio: null };
  const early = earlyState(e);
  if (early) return early;
  if (!e.result) return { glyph: 'note', text: busy(s.job) ? 'computing' : 'not computed', tone: 'none', ratio: null };
  if (e.result.chosen) {
    const ratio = e.result.chosen.worst_margin;
    return {
      glyph: meets(ratio) ? 'meets' : 'short',
      text: margin(ratio),
      tone: meets(ratio) ? 'meets' : 'short',
      ratio,
    };
  }
  if (leftOut(s, e.id)) return { glyph: 'cross', text: 'left out', tone: 'none', ratio: null };
  if (e.result.meet_all === 0) return { glyph: 'short', text: 'no way found', tone: 'short', ratio: null };
  return { glyph: 'note', text: 'possible', tone: 'none', ratio: null };
}

function AddFunction() {
  const schema = useStore((s) => s.schema);
  const project = useStore((s) => s.project);
  if (!schema || !project) return null;
  const taken = entries(getState()).map((e) => e.id);
  const add = (kind: string) => {
    const info = kindsOf(schema).find((k) => k.kind === kind);
    let id = kind;
    for (let n = 2; taken.includes(id); n++) id = `${kind}_${n}`;
    const value = { id, kind, wants: info ? firstObject(info.wants) : {} };
    void edit(`add ${words(id)}`, [
      taken.length === 0
        ? { op: 'set', at: '/functions', value: [value] }
        : { op: 'insert', at: '/functions/-', value },
    ]);
    go({ view: 'wants', chosen: id });
  };
  return (
    <Menu position="right-end" width={320} withinPortal={false}>
      <Menu.Target>
        <Button size="xs" variant="default" fullWidth leftSection={<Glyph of="plus" />}>
          Add a function
        </Button>
      </Menu.Target>
      <Menu.Dropdown className="kinds-menu">
        {kindsOf(schema).map((k) => (
          <Menu.Item key={k.kind} onClick={() => add(k.kind)}>
            <b>{words(k.kind)}</b>
            {k.note && <span className="kind-note">{sentence(k.note)}</span>}
          </Menu.Item>
        ))}
      </Menu.Dropdown>
    </Menu>
  );
}

export function Ledger() {
  const { chosen, view } = usePlace();
  const old = useStore(stale);
  useStore((s) => s.project);
  useStore((s) => s.result);
  useStore((s) => s.early);
  useStore((s) => s.job?.state);
  const design = useStore((s) => s.result?.design);
  const list = entries(getState());
  return (
    <aside className={old ? 'ledger stale' : 'ledger'} aria-label="functions">
      <ul>
        <li>
          <a
            className="ledger-row"
            href={`#/${view}/`}
            aria-current={chosen === kMachine || !list.some((e) => e.id === chosen) ? 'true' : undefined}
            onClick={(e) => {
              e.preventDefault();
              go({ chosen: kMachine });
            }}
          >
            <span className="ledger-name">The whole machine</span>
            <span className="ledger-kind">
              {design?.project?.kit_system ? `kit system ${design.project.kit_system}` : 'bodies, limits, supply'}
            </span>
          </a>
        </li>
        {list.map((e) => {
          const st = stateOf(e);
          return (
            <li key={e.id}>
              <a
                className={`ledger-row tone-${st.tone}${st.fresh ? ' fresh' : ''}`}
                title={st.fresh}
                href={`#/${view}/${encodeURIComponent(e.id)}`}
                aria-current={chosen === e.id ? 'true' : undefined}
                onClick={(ev) => {
                  ev.preventDefault();
                  go({ chosen: e.id });
                }}
              >
                <span className="ledger-name">{words(e.id)}</span>
                <span className="ledger-margin">
                  <Glyph of={st.glyph} size={12} /> {st.text}
                </span>
                <span className="ledger-kind">
                  {words(e.kind)}
                  {e.value.sides === 2 ? ', both sides' : ''}
                  {e.value.priority === 'wished' ? ', wished' : ''}
                  {typeof e.value.lock === 'string' ? ', locked' : ''}
                </span>
                <MarginBar ratio={st.ratio} slim />
              </a>
            </li>
          );
        })}
      </ul>
      <AddFunction />
      {list.length > 0 && <p className="ledger-foot">Bars: weakest margin, the line is 1 = what you asked.</p>}
    </aside>
  );
}
