// Line charts over one common input, with a cursor that all of them share.
import { extent, max, min } from 'd3-array';
import { scaleLinear } from 'd3-scale';
import { line } from 'd3-shape';

import type { Curve } from '../contract.ts';
import { amount, number, sentence, unitText } from '../data/format.ts';

const kWidth = 300;
const kHeight = 132;
const kPad = { left: 46, right: 10, top: 8, bottom: 32 };

export function CurveChart({
  curves,
  index,
  onIndex,
}: {
  curves: Curve[];
  index: number;
  onIndex: (i: number) => void;
}) {
  const first = curves[0];
  if (!first) return null;
  const x = scaleLinear()
    .domain(extent(first.x) as [number, number])
    .range([kPad.left, kWidth - kPad.right]);
  const all = curves.flatMap((c) => c.y).filter(Number.isFinite);
  const low = Math.min(0, min(all) ?? 0);
  const high = Math.max(max(all) ?? 1, low + 1e-9);
  const y = scaleLinear()
    .domain([low, high])
    .nice(4)
    .range([kHeight - kPad.bottom, kPad.top]);
  const i = Math.min(index, first.x.length - 1);
  const pick = (e: React.PointerEvent<SVGSVGElement>) => {
    const r = e.currentTarget.getBoundingClientRect();
    const value = x.invert(((e.clientX - r.left) / r.width) * kWidth);
    let best = 0;
    first.x.forEach((v, k) => {
      if (Math.abs(v - value) < Math.abs((first.x[best] ?? 0) - value)) best = k;
    });
    onIndex(best);
  };
  return (
    <figure className="curve">
      <figcaption>
        {curves.map((c, k) => (
          <span key={k} className={`curve-key curve-${k}`}>
            {sentence(c.name)}: <b>{amount(c.y[i], c.y_unit)}</b>
          </span>
        ))}
      </figcaption>
      <svg
        viewBox={`0 0 ${kWidth} ${kHeight}`}
        role="img"
        aria-label={`${curves.map((c) => c.name).join(' and ')} over ${first.x_name}`}
        onPointerMove={pick}
      >
        {y.ticks(4).map((t) => (
          <g key={t}>
            <line className="grid" x1={kPad.left} x2={kWidth - kPad.right} y1={y(t)} y2={y(t)} />
            <text className="tick" x={kPad.left - 5} y={y(t) + 3.5} textAnchor="end">
              {number(t)}
            </text>
          </g>
        ))}
        {x.ticks(5).map((t) => (
          <text key={t} className="tick" x={x(t)} y={kHeight - kPad.bottom + 13} textAnchor="middle">
            {number(t)}
          </text>
        ))}
        <text className="tick" x={(kPad.left + kWidth - kPad.right) / 2} y={kHeight - 4} textAnchor="middle">
          {first.x_name}
          {first.x_unit ? `, ${unitText(first.x_unit)}` : ''}
        </text>
        {curves.map((c, k) => (
          <path
            key={k}
            className={`curve-line curve-${k}`}
            d={
              line<number>()
                .defined(Number.isFinite)
                .x((_, j) => x(c.x[j] ?? 0))
                .y((v) => y(v))(c.y) ?? ''
            }
          />
        ))}
        <line
          className="cursor"
          x1={x(first.x[i] ?? 0)}
          x2={x(first.x[i] ?? 0)}
          y1={kPad.top}
          y2={kHeight - kPad.bottom}
        />
        {curves.map(
          (c, k) =>
            Number.isFinite(c.y[i]) && (
              <circle key={k} className={`curve-dot curve-${k}`} cx={x(first.x[i] ?? 0)} cy={y(c.y[i] ?? 0)} r="3" />
            ),
        )}
      </svg>
    </figure>
  );
}

/// Curves that share input and unit and whose names differ in the last word ("force needed", "force available") go together.
export function together(curves: Curve[]): Curve[][] {
  const groups = new Map<string, Curve[]>();
  for (const c of curves) {
    const key = `${c.x_name}|${c.y_unit}|${c.y_name}`;
    groups.set(key, [...(groups.get(key) ?? []), c]);
  }
  return [...groups.values()];
}
