// The designs that no other beats (margin, mass, parts left), compared; and the ones the user kept with a note.
import { Button, Checkbox, TextInput } from '@mantine/core';
import { extent } from 'd3-array';
import { scaleLinear } from 'd3-scale';
import { useState } from 'react';

import type { Edit, Explanation, FrontPoint, Variant } from '../contract.ts';
import { get, query, send } from '../data/api.ts';
import { amount, count, margin, sentence, words } from '../data/format.ts';
import { useBusy, entries, useStale } from '../data/picture.ts';
import { useResource } from '../data/resource.ts';
import { edit, getState, replaceText, tellError, useStore } from '../data/store.ts';
import { Glyph } from '../parts/glyph.tsx';
import { Head, Nothing, Waiting } from '../parts/states.tsx';

const kNoLog: string[] = [];
const letter = (i: number) => (i < 26 ? String.fromCharCode(65 + i) : `A${i - 25}`);

function Scatter({ front, picked, onPick }: { front: FrontPoint[]; picked: number[]; onPick: (i: number) => void }) {
  const [w, h] = [460, 280];
  const pad = { left: 52, right: 18, top: 14, bottom: 40 };
  const widen = ([a = 0, b = 1]: [number, number] | [undefined, undefined], by: number): [number, number] => [
    a - Math.max((b - a) * 0.12, by),
    b + Math.max((b - a) * 0.12, by),
  ];
  const x = scaleLinear()
    .domain(
      widen(
        extent(front, (f) => f.parts_mass_g),
        20,
      ),
    )
    .nice(5)
    .range([pad.left, w - pad.right]);
  const y = scaleLinear()
    .domain(
      widen(
        extent(front, (f) => f.worst_margin),
        0.1,
      ),
    )
    .nice(5)
    .range([h - pad.bottom, pad.top]);
  const size = scaleLinear()
    .domain(extent(front, (f) => f.parts_left) as [number, number])
    .range([6, 12]);
  return (
    <svg className="scatter" viewBox={`0 0 ${w} ${h}`} role="group" aria-label="designs by mass and weakest margin">
      {y.ticks(5).map((t) => (
        <g key={t}>
          <line className="grid" x1={pad.left} x2={w - pad.right} y1={y(t)} y2={y(t)} />
          <text className="tick" x={pad.left - 6} y={y(t) + 4} textAnchor="end">
            {t}
          </text>
        </g>
      ))}
      {x.ticks(5).map((t) => (
        <g key={t}>
          <line className="grid" x1={x(t)} x2={x(t)} y1={pad.top} y2={h - pad.bottom} />
          <text className="tick" x={x(t)} y={h - pad.bottom + 15} textAnchor="middle">
            {t}
          </text>
        </g>
      ))}
      {y.domain()[0]! < 1 && y.domain()[1]! > 1 && (
        <line className="one" x1={pad.left} x2={w - pad.right} y1={y(1)} y2={y(1)} />
      )}
      <text className="tick" x={(pad.left + w - pad.right) / 2} y={h - 6} textAnchor="middle">
        mass of the mechanisms, g (less is lighter)
      </text>
      <text
        className="tick"
        transform={`translate(13 ${(h - pad.bottom + pad.top) / 2}) rotate(-90)`}
        textAnchor="middle"
      >
        weakest margin
      </text>
      {front.map((f, i) => (
        <g
          key={i}
          className={`dot${f.chosen ? ' dot-chosen' : ''}${picked.includes(i) ? ' dot-picked' : ''}`}
          transform={`translate(${x(f.parts_mass_g)} ${y(f.worst_margin)})`}
          role="button"
          tabIndex={0}
          aria-pressed={picked.includes(i)}
          aria-label={`design ${letter(i)}: weakest margin ${margin(f.worst_margin)}, ${amount(f.parts_mass_g, 'g')}, ${f.parts_left} parts left`}
          onClick={() => onPick(i)}
          onKeyDown={(e) => {
            if (e.key === 'Enter' || e.key === ' ') {
              e.preventDefault();
              onPick(i);
            }
          }}
        >
          <circle r={Number.isFinite(size(f.parts_left)) && front.length > 1 ? size(f.parts_left) : 9} />
          <text dy="4" textAnchor="middle">
            {letter(i)}
          </text>
        </g>
      ))}
    </svg>
  );
}

interface Compared {
  summary?: string;
  head: string;
  margin: number | null | undefined;
  mass: number | null | undefined;
  left?: number | null;
  picks: Record<string, string | null>;
  title: (f: string, key: string | null) => string;
}

function plain(key: string | null): string {
  return key === null
    ? 'left out'
    : key
        .split('|')
        .filter((p) => !/^at [0-9a-f]{6,}$/.test(p))
        .map(words)
        .join(', ');
}

/// Only the functions on which they differ; the rest is one line.
function Differences({ list }: { list: Compared[] }) {
  const ids = [...new Set(list.flatMap((c) => Object.keys(c.picks)))];
  const differ = ids.filter((id) => new Set(list.map((c) => c.picks[id] ?? null)).size > 1);
  return (
    <table className="margins compare">
      <thead>
        <tr>
          <th scope="col">{list.length > 1 ? 'What differs' : 'The design'}</th>
          {list.map((c, i) => (
            <th key={i} scope="col">
              {c.head}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {list.some((c) => c.summary) && (
          <tr>
            <th scope="row">In short</th>
            {list.map((c, i) => (
              <td key={i}>{c.summary}</td>
            ))}
          </tr>
        )}
        {list.some((c) => typeof c.margin === 'number') && (
          <tr>
            <th scope="row">Weakest margin</th>
            {list.map((c, i) => (
              <td key={i} className="strong">
                {margin(c.margin)}
              </td>
            ))}
          </tr>
        )}
        {list.some((c) => typeof c.mass === 'number') && (
          <tr>
            <th scope="row">Mass of the mechanisms</th>
            {list.map((c, i) => (
              <td key={i}>{amount(c.mass, 'g')}</td>
            ))}
          </tr>
        )}
        {list.some((c) => c.left !== undefined && c.left !== null) && (
          <tr>
            <th scope="row">Parts left</th>
            {list.map((c, i) => (
              <td key={i}>{c.left?.toLocaleString('en') ?? '–'}</td>
            ))}
          </tr>
        )}
        {(list.length > 1 ? differ : ids).map((id) => (
          <tr key={id}>
            <th scope="row">{words(id)}</th>
            {list.map((c, i) => (
              <td key={i}>{c.title(id, c.picks[id] ?? null)}</td>
            ))}
          </tr>
        ))}
        {list.length > 1 && differ.length < ids.length && (
          <tr>
            <th scope="row" className="dim">
              The same in all
            </th>
            <td colSpan={list.length} className="dim">
              {ids
                .filter((id) => !differ.includes(id))
                .map(words)
                .join(', ')}
            </td>
          </tr>
        )}
      </tbody>
    </table>
  );
}

export function locksFor(picks: Record<string, string | null>): Edit[] {
  return entries(getState()).flatMap((e): Edit[] => {
    const key = picks[e.id];
    if (key === undefined) return [];
    const at = `/functions/${e.index}/lock`;
    if (key === null) return 'lock' in e.value ? [{ op: 'remove', at }] : [];
    return e.value.lock === key ? [] : [{ op: 'set', at, value: key }];
  });
}

function numberIn(v: unknown, key: string): number | null {
  const x = v !== null && typeof v === 'object' ? (v as Record<string, unknown>)[key] : undefined;
  return typeof x === 'number' ? x : null;
}

function Variants({ designable }: { designable: boolean }) {
  const [round, setRound] = useState(0);
  const [note, setNote] = useState('');
  const [picked, setPicked] = useState<string[]>([]);
  const folder = useStore((s) => s.session?.folder ?? '');
  const list = useResource(`variants|${folder}|${round}`, (signal) =>
    get<Variant[] | { variants: Variant[] }>('/api/variants', signal),
  );
  const variants = Array.isArray(list.value) ? list.value : (list.value?.variants ?? []);
  const act = (work: Promise<unknown>) => void work.then(() => setRound((r) => r + 1), tellError);
  const chosen = variants.filter((v) => picked.includes(v.id));
  return (
    <section className="panel">
      <h2>Kept designs</h2>
      <form
        className="keep"
        onSubmit={(e) => {
          e.preventDefault();
          act(send('POST', '/api/variants', { note }));
          setNote('');
        }}
      >
        <TextInput
          size="xs"
          aria-label="note for the kept design"
          placeholder="what this one is about"
          value={note}
          onChange={(e) => setNote(e.currentTarget.value)}
        />
        <Button size="xs" type="submit" disabled={!designable || note.trim() === ''}>
          Keep the present design
        </Button>
      </form>
      {variants.length === 0 ? (
        <p className="lead">
          None yet. Keep one before you try something bold: its wants, its choice and your note are stored beside the
          project.
        </p>
      ) : (
        <ul className="plain variants">
          {variants.map((v) => (
            <li key={v.id} className="card variant">
              <Checkbox
                size="xs"
                label={<b>{v.note || 'without a note'}</b>}
                checked={picked.includes(v.id)}
                onChange={() =>
                  setPicked((p) => (p.includes(v.id) ? p.filter((x) => x !== v.id) : [...p, v.id].slice(-3)))
                }
              />
              <span className="dim">
                {numberIn(v.summary, 'worst_margin') !== null
                  ? `weakest margin ${margin(numberIn(v.summary, 'worst_margin'))}`
                  : ''}
                {numberIn(v.summary, 'mass_g') !== null ? `, ${amount(numberIn(v.summary, 'mass_g'), 'g')}` : ''}
                {typeof v.summary === 'string' ? v.summary : ''}
              </span>
              <span className="tools">
                <Button
                  size="compact-xs"
                  variant="default"
                  disabled={v.text === ''}
                  onClick={() => void replaceText(v.text, `go back to ${v.note || v.id}`)}
                >
                  Go back to it
                </Button>
                <Button
                  size="compact-xs"
                  variant="subtle"
                  color="red"
                  aria-label={`delete ${v.note}`}
                  onClick={() => act(send('DELETE', `/api/variants/${encodeURIComponent(v.id)}`))}
                >
                  delete
                </Button>
              </span>
            </li>
          ))}
        </ul>
      )}
      {chosen.length > 1 && (
        <Differences
          list={chosen.map((v) => ({
            summary: typeof v.summary === 'string' ? v.summary : '',
            head: v.note || v.id,
            margin: numberIn(v.summary, 'worst_margin'),
            mass: numberIn(v.summary, 'parts_mass_g') ?? numberIn(v.summary, 'mass_g'),
            picks: v.picks,
            title: (_, key) => plain(key),
          }))}
        />
      )}
    </section>
  );
}

/// Titles of all candidates of those functions, which the design does not carry.
function useTitles(functions: string[]): Map<string, string> {
  const revision = useStore((s) => s.result?.revision ?? 0);
  const names = [...functions].sort();
  const found = useResource(names.length > 0 ? `${revision}|titles|${names.join('|')}` : null, async (signal) => {
    const all = await Promise.all(names.map((f) => get<Explanation>(`/api/explain${query({ function: f })}`, signal)));
    return new Map(all.flatMap((e, i) => e.candidates.map((c) => [`${names[i]}|${c.key}`, c.title] as const)));
  });
  return found.value ?? new Map<string, string>();
}

/// Every change since the project was opened, so that what was given up on the way can be read again.
function Log() {
  const log = useStore((s) => s.session?.log ?? kNoLog);
  return (
    <section className="panel">
      <h2>What was changed, newest first</h2>
      {log.length === 0 ? (
        <p className="lead">Nothing since this project was opened.</p>
      ) : (
        <ol className="log">
          {[...log].reverse().map((text, i) => (
            <li key={log.length - i}>{sentence(text)}</li>
          ))}
        </ol>
      )}
    </section>
  );
}

export function Designs() {
  const result = useStore((s) => s.result);
  const running = useBusy();
  const old = useStale();
  const [picked, setPicked] = useState<number[] | null>(null);
  const titles = useTitles(result?.design.allocation?.feasible ? result.design.functions.map((f) => f.id) : []);
  if (!result)
    return running ? (
      <Waiting text="The design is being computed" />
    ) : (
      <Nothing title="No designs yet">They appear once a design was computed.</Nothing>
    );
  const d = result.design;
  const front = d.front ?? [];
  const chosenAt = Math.max(
    front.findIndex((f) => f.chosen),
    0,
  );
  const now = (picked ?? [...new Set([chosenAt, ...front.keys()])].slice(0, 2)).filter((i) => i < front.length);
  const pick = (i: number) => setPicked(now.includes(i) ? now.filter((x) => x !== i) : [...now, i].slice(-3));
  return (
    <>
      <Head
        title="Designs"
        lead={
          front.length > 1
            ? `${front.length} designs of which none beats another in margin, mass and parts left at once. Pick two or three to compare.`
            : 'What could be built instead, and what you kept.'
        }
      />
      <div className={old ? 'designs stale' : 'designs'}>
        <section className="panel panel-wide">
          <h2>Trade-off</h2>
          {front.length === 0 ? (
            <p className="lead">There is no whole design, so nothing to trade. Findings shows the ways out.</p>
          ) : (
            <>
              <div className="trade">
                <Scatter front={front} picked={now} onPick={pick} />
                <div className="trade-side">
                  {front.map((f, i) => (
                    <div key={i} className={`trade-row${now.includes(i) ? ' trade-row-on' : ''}`}>
                      <Checkbox
                        size="xs"
                        checked={now.includes(i)}
                        onChange={() => pick(i)}
                        label={
                          <>
                            <b>{letter(i)}</b> {margin(f.worst_margin)}, {amount(f.parts_mass_g, 'g')},{' '}
                            {f.parts_left.toLocaleString('en')} left
                          </>
                        }
                      />
                      {f.chosen ? (
                        <span className="tag">present</span>
                      ) : (
                        <Button
                          size="compact-xs"
                          variant="default"
                          onClick={() => void edit(`take design ${letter(i)}`, locksFor(f.candidates))}
                        >
                          Take
                        </Button>
                      )}
                    </div>
                  ))}
                  {front.length === 1 && (
                    <p className="lead">
                      Only one: it is best in margin, mass and parts left at once. Loosen or tighten a want, or keep
                      this one and try another way.
                    </p>
                  )}
                  {d.front_note && (
                    <p className="said-warning">
                      <Glyph of="warning" /> {d.front_note}
                    </p>
                  )}
                </div>
              </div>
              {now.length > 0 && (
                <Differences
                  list={now.map((i) => {
                    const f = front[i] as FrontPoint;
                    return {
                      head: `${letter(i)}${f.chosen ? ', present' : ''}`,
                      margin: f.worst_margin,
                      mass: f.parts_mass_g,
                      left: f.parts_left,
                      picks: f.candidates,
                      title: (f: string, key: string | null) =>
                        key !== null ? (titles.get(`${f}|${key}`) ?? '…') : 'left out',
                    };
                  })}
                />
              )}
              {d.allocation && d.allocation.stages.length > 0 && (
                <details className="whynot">
                  <summary>
                    How it was chosen:{' '}
                    {d.allocation.stages.every((s) => s.proven) ? 'proven best' : 'not proven to the end'}
                  </summary>
                  <ul>
                    {d.allocation.stages.map((s, i) => (
                      <li key={i}>
                        {i + 1}. {s.stage}
                        {s.proven ? ', proven' : ', best found so far'}
                      </li>
                    ))}
                  </ul>
                  {d.allocation.gap && <p>{d.allocation.gap}</p>}
                  <p className="dim">{count(front.length, 'design')} on the front.</p>
                </details>
              )}
            </>
          )}
        </section>
        <div className="designs-side">
          <Variants designable={d.status === 'feasible'} />
          <Log />
        </div>
      </div>
    </>
  );
}
