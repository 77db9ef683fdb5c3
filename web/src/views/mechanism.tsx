// One function's candidates: the list, and of the one looked at its drawing, motion, parts and figures.
import { Button, NativeSelect, SegmentedControl } from '@mantine/core';
import { useVirtualizer } from '@tanstack/react-virtual';
import { useEffect, useMemo, useRef, useState } from 'react';

import type { Candidate, CandidateRow, Explanation, Shape } from '../contract.ts';
import { get, getText, query } from '../data/api.ts';
import { amount, count, margin, sentence, words, zoom } from '../data/format.ts';
import { useBusy, useStale, type FunctionEntry, entries } from '../data/picture.ts';
import { go } from '../data/place.ts';
import { useResource } from '../data/resource.ts';
import { edit, getState, useStore } from '../data/store.ts';
import { useChosen } from '../ledger.tsx';
import { CurveChart, together } from '../parts/curves.tsx';
import { Glyph } from '../parts/glyph.tsx';
import { MarginBar, MarginTable, meets } from '../parts/margins.tsx';
import { posed } from '../parts/pose.ts';
import { Sheet } from '../parts/sheet.tsx';
import { Fault, Head, Nothing, Waiting } from '../parts/states.tsx';
import { Rejections } from '../parts/rejections.tsx';

type Order = 'given' | 'worst_margin' | 'parts_mass_g' | 'parts' | 'running_ma';
const kOrders: { value: Order; label: string }[] = [
  { value: 'given', label: 'as found' },
  { value: 'worst_margin', label: 'best margin' },
  { value: 'parts_mass_g', label: 'lightest' },
  { value: 'parts', label: 'fewest parts' },
  { value: 'running_ma', label: 'least current' },
];

function ordered(list: CandidateRow[], order: Order): CandidateRow[] {
  if (order === 'given') return list;
  const sign = order === 'worst_margin' ? -1 : 1;
  return [...list].sort((a, b) => sign * (a[order] - b[order]));
}

function Candidates({
  rows,
  shown,
  chosen,
  onShow,
}: {
  rows: CandidateRow[];
  shown: string | undefined;
  chosen: string | null;
  onShow: (key: string) => void;
}) {
  const holder = useRef<HTMLDivElement>(null);
  const rolling = useVirtualizer({
    count: rows.length,
    getScrollElement: () => holder.current,
    estimateSize: () => 62 * zoom(),
    overscan: 6,
  });
  const at = Math.max(
    rows.findIndex((r) => r.key === shown),
    0,
  );
  useEffect(() => {
    if (rows.length > 0) rolling.scrollToIndex(at);
  }, [at, rows]); // eslint-disable-line react-hooks/exhaustive-deps
  const keys = (e: React.KeyboardEvent) => {
    const by = { ArrowDown: 1, ArrowUp: -1, PageDown: 8, PageUp: -8 }[e.key];
    if (by === undefined) return;
    e.preventDefault();
    const next = rows[Math.min(Math.max(at + by, 0), rows.length - 1)];
    if (next) onShow(next.key);
  };
  return (
    <div
      ref={holder}
      className="candidates"
      role="listbox"
      tabIndex={0}
      aria-label="candidates"
      aria-activedescendant={rows[at] ? `candidate-${at}` : undefined}
      onKeyDown={keys}
    >
      <div style={{ height: rolling.getTotalSize(), position: 'relative' }}>
        {rolling.getVirtualItems().map((item) => {
          const r = rows[item.index];
          if (!r) return null;
          return (
            <div
              key={item.key}
              id={`candidate-${item.index}`}
              role="option"
              aria-selected={r.key === shown}
              aria-setsize={rows.length}
              aria-posinset={item.index + 1}
              className="candidate"
              style={{ transform: `translateY(${item.start}px)`, height: item.size }}
              onClick={() => onShow(r.key)}
            >
              <span className="candidate-title" title={r.title}>
                {r.title}
              </span>
              <span className="candidate-facts">
                <span className={meets(r.worst_margin) ? 'strong' : 'strong short-text'}>
                  <Glyph of={meets(r.worst_margin) ? 'meets' : 'short'} size={11} /> {margin(r.worst_margin)}
                </span>
                <span>{amount(r.parts_mass_g, 'g')}</span>
                <span>{count(r.parts, 'part')}</span>
                {r.key === chosen && <span className="tag">in the design</span>}
              </span>
            </div>
          );
        })}
      </div>
    </div>
  );
}

const kLine: Record<string, string> = {
  beam: 'fig-beam',
  moving_beam: 'fig-moving',
  actuator: 'fig-actuator',
  ghost: 'fig-ghost',
};

function Figure({ shapes }: { shapes: Shape[] }) {
  const lines = shapes.filter((s) => s.role in kLine);
  const dots = shapes.filter((s) => !(s.role in kLine));
  const xs = shapes.flatMap((s) =>
    s.role in kLine ? [s.x1_mm, s.x2_mm] : [s.x1_mm - Math.abs(s.x2_mm), s.x1_mm + Math.abs(s.x2_mm)],
  );
  const zs = shapes.flatMap((s) =>
    s.role in kLine ? [s.z1_mm, s.z2_mm] : [s.z1_mm - Math.abs(s.x2_mm), s.z1_mm + Math.abs(s.x2_mm)],
  );
  const span = Math.max(Math.max(...xs) - Math.min(...xs), Math.max(...zs) - Math.min(...zs), 40);
  const pad = 0.14 * span;
  const [x0, x1, z0, z1] = [
    Math.min(...xs) - pad * 1.2,
    Math.max(...xs) + pad * 1.4,
    Math.min(...zs) - pad,
    Math.max(...zs) + pad,
  ];
  const unit = Math.max(x1 - x0, z1 - z0) / 340; // one screen-like pixel in mm, so that text and lines keep their size
  return (
    <svg
      className="figure"
      viewBox={`${x0} ${-z1} ${x1 - x0} ${z1 - z0}`}
      role="img"
      aria-label="the mechanism seen from the side"
      style={{ '--u': `${unit}px` } as React.CSSProperties}
    >
      {lines.map((s, i) => (
        <line key={i} className={kLine[s.role]} x1={s.x1_mm} y1={-s.z1_mm} x2={s.x2_mm} y2={-s.z2_mm} />
      ))}
      {dots.map((s, i) => (
        <g key={i} className={`fig-${s.role}`}>
          <circle cx={s.x1_mm} cy={-s.z1_mm} r={Math.max(Math.abs(s.x2_mm), 2)} />
        </g>
      ))}
      {dots
        .filter((s) => s.label !== '')
        .map((s, i) => {
          // Pivot left, base mount below, the rest to the right: these three crowd at a boom's foot.
          const [dx, dy, anchor] = (
            { pivot: [-8, -6, 'end'], base_mount: [0, 20, 'middle'], load: [0, 22, 'middle'] } as Record<
              string,
              [number, number, string]
            >
          )[s.role] ?? [10, 4, 'start'];
          return (
            <text
              key={i}
              x={s.x1_mm + dx * unit}
              y={-s.z1_mm + dy * unit}
              style={{ fontSize: 12 * unit }}
              textAnchor={anchor as 'start'}
            >
              {s.label}
            </text>
          );
        })}
    </svg>
  );
}

function Motion({ c }: { c: Candidate }) {
  const groups = useMemo(() => together(c.curves), [c]);
  const first = c.curves[0];
  const [index, setIndex] = useState(0);
  const length = first?.x.length ?? 0;
  const drawn = posed(c.shapes, first?.x ?? [], index, first?.x_unit === 'deg');
  if (!first && c.shapes.length === 0)
    return (
      <Nothing inner title="Nothing moves through a travel here">
        This kind has no travel to step through; the figures say what it does.
      </Nothing>
    );
  return (
    <div className="motion">
      {first && (
        <label className="motion-slider">
          <span>{sentence(first.x_name)}</span>
          <input
            type="range"
            min={0}
            max={length - 1}
            value={Math.min(index, length - 1)}
            onChange={(e) => setIndex(Number(e.currentTarget.value))}
            aria-valuetext={amount(first.x[index], first.x_unit)}
          />
          <output>{amount(first.x[Math.min(index, length - 1)], first.x_unit)}</output>
        </label>
      )}
      <div className="motion-body">
        {c.shapes.length > 0 && <Figure shapes={drawn.still} />}
        <div className="curves">
          {groups.map((g, i) => (
            <CurveChart key={i} curves={g} index={index} onIndex={setIndex} />
          ))}
        </div>
      </div>
    </div>
  );
}

function Parts({ c }: { c: Candidate }) {
  return (
    <table className="margins wide-table">
      <thead>
        <tr>
          <th scope="col" className="num">
            Count
          </th>
          <th scope="col">Part</th>
          <th scope="col">Where</th>
          <th scope="col">Any of these serves</th>
        </tr>
      </thead>
      <tbody>
        {c.needs.map((n, i) => (
          <tr key={i}>
            <td className="num strong">{n.count}</td>
            <th scope="row">{n.label}</th>
            <td>{n.role}</td>
            <td className="dim">{n.accepts.length > 1 ? n.accepts.map(words).join(', ') : ''}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function Figures({ c, e }: { c: Candidate; e: Explanation }) {
  return (
    <div className="figures-page">
      <MarginTable margins={c.margins} />
      <div className="figures-side">
        <table className="margins">
          <thead>
            <tr>
              <th scope="col">Figure</th>
              <th scope="col" className="num">
                Value
              </th>
            </tr>
          </thead>
          <tbody>
            {c.figures.map((f, i) => (
              <tr key={i}>
                <th scope="row">{sentence(f.name)}</th>
                <td className="num">{amount(f.value, f.unit)}</td>
              </tr>
            ))}
          </tbody>
        </table>
        {c.notes.length > 0 && (
          <ul className="notes">
            {c.notes.map((n, i) => (
              <li key={i}>{sentence(n)}</li>
            ))}
          </ul>
        )}
        <Rejections list={e.rejections} examined={e.examined} complete={e.complete} limit={e.limit} />
      </div>
    </div>
  );
}

function OneFunction({ entry }: { entry: FunctionEntry }) {
  const revision = useStore((s) => s.result?.revision ?? 0);
  const old = useStale();
  const [wanted, setWanted] = useState('');
  const [order, setOrder] = useState<Order>('given');
  const [all, setAll] = useState('meets');
  const [page, setPage] = useState('drawing');
  useEffect(() => setWanted(''), [entry.id]);
  const address = query({ function: entry.id, candidate: wanted });
  const e = useResource(`${revision}|explain${address}`, (signal) =>
    get<Explanation>(`/api/explain${address}`, signal),
  );
  const shown = e.value?.function === entry.id ? e.value.shown : null;
  const drawing = useResource(
    page === 'drawing' && shown ? `${revision}|drawing${query({ function: entry.id, candidate: shown.key })}` : null,
    (signal) => getText(`/api/drawing/candidate.svg${query({ function: entry.id, candidate: wanted })}`, signal),
  );
  const rows = useMemo(() => {
    const list = e.value?.candidates ?? [];
    const some =
      all === 'meets' && list.some((r) => meets(r.worst_margin)) ? list.filter((r) => meets(r.worst_margin)) : list;
    return ordered(some, order);
  }, [e.value, all, order]);
  if (e.fault) return <Fault error={e.fault} again={e.again} />;
  if (!e.value || e.value.function !== entry.id)
    return <Waiting text={`Laying out the candidates of ${words(entry.id)}`} />;
  const x = e.value;
  const locked = entry.value.lock;
  const base = `/functions/${entry.index}/lock`;
  return (
    <>
      <Head title={`Mechanism of ${words(entry.id)}`} lead={shown?.title ?? 'No candidate to show.'}>
        {shown &&
          (locked === shown.key ? (
            <Button
              size="xs"
              variant="default"
              leftSection={<Glyph of="open" />}
              onClick={() => void edit(`unlock ${words(entry.id)}`, [{ op: 'remove', at: base }])}
            >
              Unlock
            </Button>
          ) : (
            <Button
              size="xs"
              leftSection={<Glyph of="lock" />}
              title="the design keeps this one from now on"
              onClick={() => void edit(`lock ${words(entry.id)}`, [{ op: 'set', at: base, value: shown.key }])}
            >
              Lock this one
            </Button>
          ))}
      </Head>
      <div className={old ? 'mechanism stale' : 'mechanism'}>
        <div className="candidates-side">
          <div className="candidates-head">
            <SegmentedControl
              size="xs"
              aria-label="which candidates"
              value={all}
              onChange={setAll}
              data={[
                { value: 'meets', label: 'meet every want' },
                { value: 'all', label: 'all' },
              ]}
            />
            <NativeSelect
              size="xs"
              aria-label="order"
              value={order}
              onChange={(ev) => setOrder(ev.currentTarget.value as Order)}
              data={kOrders}
            />
          </div>
          <p className="candidates-count">
            {count(rows.length, 'candidate')}
            {!rows.some((r) => meets(r.worst_margin)) && rows.length > 0 ? ', none meets every want' : ''}
          </p>
          {rows.length > 0 ? (
            <Candidates rows={rows} shown={wanted || shown?.key} chosen={x.chosen} onShow={setWanted} />
          ) : null}
        </div>
        <div className="mechanism-main">
          {shown ? (
            <>
              <div className="pages">
                <SegmentedControl
                  size="xs"
                  aria-label="what to show of it"
                  value={page}
                  onChange={setPage}
                  data={[
                    { value: 'drawing', label: 'Drawing' },
                    { value: 'motion', label: 'Motion' },
                    { value: 'parts', label: `Parts (${shown.needs.reduce((n, p) => n + p.count, 0)})` },
                    { value: 'figures', label: 'Figures' },
                  ]}
                />
                <div className="pages-margins" aria-hidden="true">
                  {[...shown.margins]
                    .sort((a, b) => a.ratio - b.ratio)
                    .slice(0, 3)
                    .map((m, i) => (
                      <span key={i} title={m.note}>
                        {m.name} <b className={meets(m.ratio) ? '' : 'short-text'}>{margin(m.ratio)}</b>{' '}
                        <MarginBar ratio={m.ratio} slim />
                      </span>
                    ))}
                </div>
                {e.loading && <span className="dim">fetching…</span>}
              </div>
              <div className="page">
                {page === 'drawing' &&
                  (drawing.fault ? (
                    <Fault error={drawing.fault} again={drawing.again} />
                  ) : drawing.value ? (
                    <Sheet svg={drawing.value} title={`drawing of ${words(entry.id)}: ${shown.title}`} />
                  ) : (
                    <Waiting text="Drawing" />
                  ))}
                {page === 'motion' && <Motion c={shown} key={shown.key} />}
                {page === 'parts' && <Parts c={shown} />}
                {page === 'figures' && <Figures c={shown} e={x} />}
              </div>
            </>
          ) : (
            <div className="panel none-found">
              <h2>
                <Glyph of="short" /> No way was found to build it
              </h2>
              <p className="lead">Loosen what falls short most often in Wants, or give it more room or other parts.</p>
              <Rejections list={x.rejections} examined={x.examined} complete={x.complete} limit={x.limit} open />
              <div className="tools">
                <Button size="compact-sm" onClick={() => go({ view: 'wants' })}>
                  To its wants
                </Button>
              </div>
            </div>
          )}
        </div>
      </div>
    </>
  );
}

export function Mechanism() {
  const entry = useChosen();
  const result = useStore((s) => s.result);
  const running = useBusy();
  const list = entries(getState());
  if (!result)
    return running ? (
      <Waiting text="The design is being computed" />
    ) : (
      <Nothing title="No design yet">Its mechanisms appear here once a design was computed.</Nothing>
    );
  if (entry) return <OneFunction entry={entry} key={entry.id} />;
  return (
    <>
      <Head title="Mechanism" lead="How each function is built. Choose one here or in the list on the left." />
      <ul className="overview">
        {list.map((e) => (
          <li key={e.id}>
            <button type="button" className="card overview-card" onClick={() => go({ chosen: e.id })}>
              <span className="overview-name">
                {sentence(words(e.id))} <span className="dim">{words(e.kind)}</span>
              </span>
              <span>{e.result?.chosen?.title ?? (e.result ? 'not in this design' : 'not computed')}</span>
              {e.result?.chosen && (
                <span className="overview-margin">
                  <MarginBar ratio={e.result.chosen.worst_margin} slim /> {margin(e.result.chosen.worst_margin)}
                </span>
              )}
            </button>
          </li>
        ))}
      </ul>
    </>
  );
}
