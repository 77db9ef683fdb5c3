// Why other ways do not serve, most frequent reason first.
import type { Rejection } from '../contract.ts';
import { count } from '../data/format.ts';
import { Glyph } from './glyph.tsx';

export function Rejections({
  list,
  examined,
  complete,
  limit,
  open,
}: {
  list: Rejection[];
  examined: number;
  complete: boolean;
  limit: string;
  open?: boolean;
}) {
  if (list.length === 0) return null;
  return (
    <details className="whynot" open={open ?? list.length < 4}>
      <summary>
        {open ? 'Why none serves?' : 'Why not the others?'} {count(examined, 'way', 'ways')} examined
      </summary>
      {!complete && (
        <p className="said-warning">
          <Glyph of="warning" /> The search stopped early: {limit}
        </p>
      )}
      <ul>
        {list.map((r, i) => (
          <li key={i}>
            <span className="whynot-count">{r.count.toLocaleString('en')}</span> e.g. {r.text}
          </li>
        ))}
      </ul>
    </details>
  );
}
