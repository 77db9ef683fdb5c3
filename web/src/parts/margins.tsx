// Margins as bars on one logarithmic scale from 0.5 to 10, with the line at 1 = exactly what was asked.
import { scaleLog } from 'd3-scale';

import type { Margin } from '../contract.ts';
import { amount, margin, sentence } from '../data/format.ts';
import { Glyph } from './glyph.tsx';

const scale = scaleLog().domain([0.5, 10]).range([0, 100]).clamp(true);
const place = (ratio: number) => scale(Math.max(ratio, 0.01));

export function meets(ratio: number): boolean {
  return ratio >= 1;
}

/// What is asked is a most, not a least: less of it is better.
export function atMost(m: Pick<Margin, 'ratio' | 'capability' | 'requirement'>): boolean {
  return m.capability !== m.requirement && m.ratio >= 1 !== m.capability > m.requirement;
}

/// "at least 110 mm/s", "at most 16 s"
export function asked(m: Margin): string {
  return `${atMost(m) ? 'at most' : 'at least'}\u00a0${amount(m.requirement, m.unit)}`;
}

export function MarginBar({
  ratio,
  interval,
  slim,
}: {
  ratio: number | null | undefined;
  interval?: { low: number; high: number } | null;
  slim?: boolean;
}) {
  if (ratio === null || ratio === undefined)
    return <span className={slim ? 'mbar mbar-slim mbar-none' : 'mbar mbar-none'} />;
  const one = place(1);
  const at = place(ratio);
  const ok = meets(ratio);
  return (
    <span className={`mbar${slim ? ' mbar-slim' : ''}${ok ? '' : ' mbar-short'}`} aria-hidden="true">
      <span className="mbar-fill" style={{ left: `${Math.min(one, at)}%`, width: `${Math.abs(at - one)}%` }} />
      <span className="mbar-one" style={{ left: `${one}%` }} />
      {interval && (
        <span
          className="mbar-span"
          style={{
            left: `${place(interval.low)}%`,
            width: `${Math.max(place(interval.high) - place(interval.low), 0.5)}%`,
          }}
        />
      )}
    </span>
  );
}

export function MarginTable({ margins }: { margins: Margin[] }) {
  const rows = [...margins].sort((a, b) => a.ratio - b.ratio);
  return (
    <table className="margins">
      <thead>
        <tr>
          <th scope="col">Limit</th>
          <th scope="col">Margin</th>
          <th scope="col" className="bar-col">
            <span className="scale">
              <span style={{ left: 0 }}>½</span>
              <span style={{ left: `${place(1)}%` }}>1</span>
              <span style={{ left: `${place(2)}%` }}>2</span>
              <span style={{ left: `${place(5)}%` }}>5</span>
            </span>
          </th>
          <th scope="col" className="num">
            Reached
          </th>
          <th scope="col" className="num">
            Asked
          </th>
        </tr>
      </thead>
      <tbody>
        {rows.map((m, i) => (
          <tr
            key={i}
            className={meets(m.ratio) ? '' : 'short'}
            title={
              m.interval
                ? `between ${margin(m.interval.low)} and ${margin(m.interval.high)} when friction, motors and masses vary`
                : undefined
            }
          >
            <th scope="row">
              <span className="margin-name">
                <Glyph of={meets(m.ratio) ? 'meets' : 'short'} />
                {sentence(m.name)}
              </span>
              {m.note && <span className="margin-note">{m.note}</span>}
            </th>
            <td className="num strong">{margin(m.ratio)}</td>
            <td className="bar-col">
              <MarginBar ratio={m.ratio} interval={m.interval ?? null} />
            </td>
            <td className="num">{amount(m.capability, m.unit)}</td>
            <td className="num asked">
              {atMost(m) ? 'at most' : 'at least'} <span className="whole">{amount(m.requirement, m.unit)}</span>
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
