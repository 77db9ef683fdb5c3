// The load chart as a polar map or a table: what it lifts at which radius and slew, and which limit governs.
import { NativeSelect, SegmentedControl, useComputedColorScheme } from '@mantine/core';
import { extent } from 'd3-array';
import { scaleLinear, scaleSequential } from 'd3-scale';
import { arc } from 'd3-shape';
import { useMemo, useState } from 'react';

import type { Lifting, LiftRow } from '../contract.ts';
import { amount, number, percent, sentence, words } from '../data/format.ts';
import { Glyph } from '../parts/glyph.tsx';
import { inkOn, kMarkInks, kRamps, kUnderInks, rampColour } from '../parts/ramp.ts';

const kMarks = ['none', 'lines', 'dots', 'cross', 'rings', 'dashes'];
interface Cell {
  row: number;
  column: number;
}

function useLimits(rows: LiftRow[]): string[] {
  return useMemo(() => {
    const tally = new Map<string, number>();
    for (const r of rows) for (const g of r.governs) if (g) tally.set(g, (tally.get(g) ?? 0) + 1);
    return [...tally].sort((a, b) => b[1] - a[1] || a[0].localeCompare(b[0])).map(([g]) => g);
  }, [rows]);
}

function Pattern({ id, mark, dark }: { id: string; mark: string; dark: boolean }) {
  const ink = dark ? kMarkInks.light : kMarkInks.dark;
  return (
    <pattern id={id} width="7" height="7" patternUnits="userSpaceOnUse">
      {mark === 'lines' && <path d="M-1 8 8 -1M-1 1 1 -1M6 8 8 6" stroke={ink} strokeWidth="0.9" opacity="0.7" />}
      {mark === 'dots' && <circle cx="3.5" cy="3.5" r="1.1" fill={ink} opacity="0.75" />}
      {mark === 'cross' && <path d="M-1 8 8 -1M-1 -1 8 8" stroke={ink} strokeWidth="0.7" opacity="0.65" />}
      {mark === 'rings' && <circle cx="3.5" cy="3.5" r="2" fill="none" stroke={ink} strokeWidth="0.8" opacity="0.75" />}
      {mark === 'dashes' && <path d="M1 3.5h4" stroke={ink} strokeWidth="1.1" opacity="0.7" />}
    </pattern>
  );
}

/// Marks are dark on bright cells and bright on dark ones, in either scheme.
function markOn(fill: string): string {
  return inkOn(fill, kMarkInks.dark, kMarkInks.light) === kMarkInks.dark ? 'light' : 'dark';
}

function Polar({
  lifting,
  rows,
  cell,
  onCell,
}: {
  lifting: Lifting;
  rows: LiftRow[];
  cell: Cell | null;
  onCell: (c: Cell | null) => void;
}) {
  const limits = useLimits(rows);
  const radii = lifting.radius_mm;
  const half = radii.length > 1 ? ((radii[1] ?? 0) - (radii[0] ?? 0)) / 2 : 5;
  const outer = (radii.at(-1) ?? 1) + half;
  const size = 452;
  const r = scaleLinear()
    .domain([0, outer])
    .range([0, size / 2 - 28]);
  const [low = 0, high = 1] = extent(rows.flatMap((x) => x.rated_g).filter((v): v is number => v !== null));
  const scheme = useComputedColorScheme('light');
  const colour = scaleSequential([Math.min(low, lifting.wanted_g), Math.max(high, low + 1)], (t) =>
    rampColour(scheme, t),
  );
  const turns = rows.length > 1;
  const span = turns ? 360 / rows.length : 30; // what cannot slew lifts straight ahead only
  const toRad = (deg: number) => (-deg * Math.PI) / 180; // slew is positive to the left, arcs turn to the right
  const shape = arc();
  const path = (row: LiftRow, j: number) =>
    shape({
      innerRadius: Math.max(r((radii[j] ?? 0) - half), 0),
      outerRadius: r((radii[j] ?? 0) + half),
      startAngle: toRad(row.slew_deg + span / 2),
      endAngle: toRad(row.slew_deg - span / 2),
    }) ?? '';
  const move = (e: React.KeyboardEvent) => {
    const by: Record<string, [number, number]> = {
      ArrowLeft: [1, 0],
      ArrowRight: [-1, 0],
      ArrowUp: [0, 1],
      ArrowDown: [0, -1],
    };
    const step = by[e.key];
    if (!step) return;
    e.preventDefault();
    const now = cell ?? { row: Math.floor(rows.length / 2), column: Math.floor(radii.length / 2) };
    onCell({
      row: (now.row + step[0] + rows.length) % rows.length,
      column: Math.min(Math.max(now.column + step[1], 0), radii.length - 1),
    });
  };
  const rings = r.ticks(4).filter((t) => t > 0);
  return (
    <svg
      className="polar"
      viewBox={`${-size / 2} ${-size / 2} ${size} ${size}`}
      role="img"
      tabIndex={0}
      aria-label="load chart seen from above; arrow keys move the pointer"
      onKeyDown={move}
      onPointerLeave={() => onCell(null)}
    >
      <defs>
        {limits.flatMap((_, i) => [
          <Pattern key={`${i}l`} id={`mark-${i}-light`} mark={kMarks[i % kMarks.length] ?? ''} dark={false} />,
          <Pattern key={`${i}d`} id={`mark-${i}-dark`} mark={kMarks[i % kMarks.length] ?? ''} dark />,
        ])}
      </defs>
      <circle className="polar-ground" r={r(outer)} />
      {rows.map((row, i) =>
        radii.map((_, j) => {
          const rated = row.rated_g[j];
          if (rated === null || rated === undefined) return null;
          const d = path(row, j);
          const fill = colour(rated);
          const under = rated < lifting.wanted_g;
          const mark = limits.indexOf(row.governs[j] ?? '');
          return (
            <g key={`${i}-${j}`} onPointerEnter={() => onCell({ row: i, column: j })}>
              <path
                d={d}
                fill={fill}
                className={under ? 'polar-cell polar-under' : 'polar-cell'}
                style={under ? { stroke: inkOn(fill, kUnderInks.dark, kUnderInks.light) } : undefined}
              />
              {mark > 0 && <path d={d} fill={`url(#mark-${mark}-${markOn(fill)})`} pointerEvents="none" />}
            </g>
          );
        }),
      )}
      {rings.map((t) => (
        <g key={t}>
          <circle className="polar-ring" r={r(t)} />
          <text className="polar-tick" x="3" y={r(t) - 3}>
            {number(t)} mm
          </text>
        </g>
      ))}
      {lifting.wanted_radius_mm <= outer * 1.05 && (
        <>
          <circle className="polar-wanted-edge" r={r(lifting.wanted_radius_mm)} />
          <circle className="polar-wanted" r={r(lifting.wanted_radius_mm)} />
        </>
      )}
      {cell && rows[cell.row] && (
        <>
          <path className="polar-cursor-edge" d={path(rows[cell.row] as LiftRow, cell.column)} />
          <path className="polar-cursor" d={path(rows[cell.row] as LiftRow, cell.column)} />
        </>
      )}
      <text className="tick" x="0" y={-size / 2 + 11} textAnchor="middle">
        {turns ? 'front, slew 0°' : 'straight ahead: it does not slew'}
      </text>
      <text className="tick" x={-size / 2} y="4" textAnchor="start">
        left
      </text>
      <text className="tick" x={size / 2} y="4" textAnchor="end">
        right
      </text>
    </svg>
  );
}

function Key({ rows, lifting }: { rows: LiftRow[]; lifting: Lifting }) {
  const limits = useLimits(rows);
  const [low = 0, high = 1] = extent(rows.flatMap((x) => x.rated_g).filter((v): v is number => v !== null));
  const from = Math.min(low, lifting.wanted_g);
  const scheme = useComputedColorScheme('light');
  const sample = rampColour(scheme, 0.4);
  const least = rampColour(scheme, 0);
  return (
    <div className="chart-key">
      <p className="key-head">Rated load</p>
      <div
        className="key-ramp"
        style={{ background: `linear-gradient(90deg, ${kRamps[scheme].join(',')})` }}
        aria-hidden="true"
      />
      <p className="key-ends">
        <span>{amount(from, 'g')}</span>
        <span>{amount(high, 'g')}</span>
      </p>
      <p className="key-head">What governs</p>
      <ul className="plain">
        {limits.map((g, i) => (
          <li key={g}>
            <svg width="20" height="14" aria-hidden="true">
              <rect width="20" height="14" fill={sample} />
              <rect width="20" height="14" fill={i > 0 ? `url(#mark-${i}-${markOn(sample)})` : 'none'} />
            </svg>{' '}
            {words(g)}
          </li>
        ))}
      </ul>
      <ul className="plain">
        <li>
          <svg width="20" height="14" aria-hidden="true">
            <rect
              x="1"
              y="1"
              width="18"
              height="12"
              className="polar-cell polar-under"
              style={{ stroke: inkOn(least, kUnderInks.dark, kUnderInks.light) }}
              fill={least}
            />
          </svg>{' '}
          under the wanted {amount(lifting.wanted_g, 'g')}
        </li>
        <li>
          <svg width="20" height="14" aria-hidden="true">
            <line x1="0" x2="20" y1="7" y2="7" className="polar-wanted-edge" />
            <line x1="0" x2="20" y1="7" y2="7" className="polar-wanted" />
          </svg>{' '}
          wanted radius {amount(lifting.wanted_radius_mm, 'mm')}
        </li>
      </ul>
    </div>
  );
}

export function LoadChart({ lifting }: { lifting: Lifting }) {
  const [state, setState] = useState(0);
  const [chosen, setPosture] = useState<number | null>(null);
  const [cell, setCell] = useState<Cell | null>(null);
  const [as, setAs] = useState('map');
  if (!lifting.judged)
    return (
      <section className="panel">
        <h2>Lifting</h2>
        <p className="lead">{lifting.why_not || 'This machine lifts nothing.'}</p>
      </section>
    );
  const st = lifting.states[Math.min(state, lifting.states.length - 1)];
  // At first the posture in which the wanted load is judged.
  const judged = Math.max(st?.postures.findIndex((x) => x.posture === st.at_wanted?.posture) ?? 0, 0);
  const posture = Math.min(chosen ?? judged, (st?.postures.length ?? 1) - 1);
  const po = st?.postures[posture];
  if (!st || !po)
    return (
      <section className="panel">
        <h2>Lifting</h2>
        <p className="lead">{lifting.note || 'No posture reaches the hook.'}</p>
      </section>
    );
  const row = cell ? po.rows[cell.row] : undefined;
  const rated = row && cell ? row.rated_g[cell.column] : undefined;
  const w = st.at_wanted;
  const wantedOk = w?.rated_g !== null && w?.rated_g !== undefined && w.rated_g >= lifting.wanted_g;
  return (
    <section className="panel panel-wide">
      <div className="panel-head">
        <h2>What it lifts where</h2>
        <div className="tools">
          {lifting.states.length > 1 && (
            <NativeSelect
              size="xs"
              aria-label="how it stands"
              value={String(state)}
              onChange={(e) => setState(Number(e.currentTarget.value))}
              data={lifting.states.map((x, i) => ({ value: String(i), label: x.state }))}
            />
          )}
          {st.postures.length > 1 && (
            <NativeSelect
              size="xs"
              aria-label="posture"
              value={String(posture)}
              onChange={(e) => setPosture(Number(e.currentTarget.value))}
              data={st.postures.map((x, i) => ({ value: String(i), label: x.posture }))}
            />
          )}
          <SegmentedControl
            size="xs"
            aria-label="show as"
            value={as}
            onChange={setAs}
            data={[
              { value: 'map', label: 'Map' },
              { value: 'table', label: 'Table' },
            ]}
          />
        </div>
      </div>
      {w && (
        <p className="lead">
          <Glyph of={wantedOk ? 'meets' : 'short'} /> {amount(lifting.wanted_g, 'g')} wanted at{' '}
          {amount(lifting.wanted_radius_mm, 'mm')} {po.rows.length > 1 ? 'all round' : 'straight ahead'}: rated{' '}
          {amount(w.rated_g, 'g')} ({po.rows.length > 1 ? `worst at slew ${amount(w.slew_deg, 'deg')}, ` : ''}
          {w.posture}), governed by {words(w.governs)}. Radius from the {lifting.radius_from}.
        </p>
      )}
      {as === 'map' ? (
        <div className="chart-body">
          <Polar lifting={lifting} rows={po.rows} cell={cell} onCell={setCell} />
          <div className="chart-side">
            <div className="chart-read" role="status">
              {row && cell ? (
                rated === null || rated === undefined ? (
                  <p>
                    Radius {amount(lifting.radius_mm[cell.column], 'mm')}, slew {amount(row.slew_deg, 'deg')}: not
                    reached in this posture.
                  </p>
                ) : (
                  <dl className="facts facts-column">
                    <div>
                      <dt>Radius, slew</dt>
                      <dd>
                        {amount(lifting.radius_mm[cell.column], 'mm')}, {amount(row.slew_deg, 'deg')}
                      </dd>
                    </div>
                    <div>
                      <dt>Rated</dt>
                      <dd>
                        <b>{amount(rated, 'g')}</b>
                      </dd>
                    </div>
                    <div>
                      <dt>Greatest</dt>
                      <dd>{amount(row.greatest_g[cell.column], 'g')}</dd>
                    </div>
                    <div>
                      <dt>Governed by</dt>
                      <dd>{words(row.governs[cell.column] ?? '–')}</dd>
                    </div>
                    <div>
                      <dt>Sure to</dt>
                      <dd>{percent(row.confidence[cell.column])}</dd>
                    </div>
                  </dl>
                )
              ) : (
                <p className="dim">Point at the map, or focus it and use the arrow keys.</p>
              )}
            </div>
            <Key rows={po.rows} lifting={lifting} />
          </div>
        </div>
      ) : (
        <div className="table-scroll" tabIndex={0} role="region" aria-label="load chart as a table">
          <table className="margins loads">
            <thead>
              <tr>
                <th scope="col">Slew</th>
                {lifting.radius_mm.map((x) => (
                  <th key={x} scope="col" className="num">
                    {number(x)} mm
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {po.rows.map((x) => (
                <tr key={x.slew_deg}>
                  <th scope="row">{amount(x.slew_deg, 'deg')}</th>
                  {x.rated_g.map((v, j) => (
                    <td
                      key={j}
                      className={v !== null && v < lifting.wanted_g ? 'num short-text' : 'num'}
                      title={words(x.governs[j] ?? '')}
                    >
                      {v === null ? (
                        ''
                      ) : (
                        <>
                          {number(v)} <span className="dim">{(x.governs[j] ?? '').slice(0, 2)}</span>
                        </>
                      )}
                    </td>
                  ))}
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
      <p className="caution">For this model only, never for real lifting. {lifting.note && sentence(lifting.note)}</p>
    </section>
  );
}
