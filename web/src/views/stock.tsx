// The donor kit: what there is, what the design takes, what is kept back and what is left.
import { Button, SegmentedControl, TextInput } from '@mantine/core';
import { useVirtualizer } from '@tanstack/react-virtual';
import { useEffect, useMemo, useRef, useState } from 'react';
import { flushSync } from 'react-dom';

import type { ImportRow, Stock, StockRow } from '../contract.ts';
import { get, send } from '../data/api.ts';
import { count, words, zoom } from '../data/format.ts';
import { useStale } from '../data/picture.ts';
import { usePlace } from '../data/place.ts';
import { useResource } from '../data/resource.ts';
import { refresh, tellError, useStore } from '../data/store.ts';
import { Drop, ImportPanel, type Taken } from '../parts/import.tsx';
import { Glyph } from '../parts/glyph.tsx';
import { Fault, Head, Nothing, Waiting } from '../parts/states.tsx';

type Column = 'name' | 'colour' | 'count' | 'used' | 'reserved' | 'left';
const kColumns: [Column, string][] = [
  ['name', 'Part'],
  ['colour', 'Colour'],
  ['count', 'In stock'],
  ['used', 'Used'],
  ['reserved', 'Kept back'],
  ['left', 'Left'],
];

function Share({ row }: { row: StockRow }) {
  const w = (n: number) => `${row.count > 0 ? (100 * n) / row.count : 0}%`;
  return (
    <span className="share" aria-hidden="true">
      <span className="share-used" style={{ width: w(row.used) }} />
      <span className="share-kept" style={{ width: w(row.reserved) }} />
    </span>
  );
}

/// Whether the page is on its way to paper, which has no window to roll rows through.
function usePrinting(): boolean {
  const [printing, setPrinting] = useState(false);
  useEffect(() => {
    // At once: the browser takes its picture when the listeners return.
    const begin = () => flushSync(() => setPrinting(true));
    const end = () => setPrinting(false);
    window.addEventListener('beforeprint', begin);
    window.addEventListener('afterprint', end);
    return () => {
      window.removeEventListener('beforeprint', begin);
      window.removeEventListener('afterprint', end);
    };
  }, []);
  return printing;
}

function Rows({ rows, sort, onSort }: { rows: StockRow[]; sort: [Column, number]; onSort: (c: Column) => void }) {
  const holder = useRef<HTMLDivElement>(null);
  const rolling = useVirtualizer({
    count: rows.length,
    getScrollElement: () => holder.current,
    estimateSize: () => 30 * zoom(),
    overscan: 12,
    initialRect: { width: 900, height: 480 },
  });
  const printing = usePrinting();
  const shown = printing
    ? rows.map((_, index) => ({ index, key: index, style: undefined }))
    : rolling.getVirtualItems().map((item) => ({
        index: item.index,
        key: item.key,
        style: {
          position: 'absolute' as const,
          top: 0,
          left: 0,
          right: 0,
          transform: `translateY(${item.start}px)`,
          height: item.size,
        },
      }));
  return (
    <div className="stock-table" role="table" aria-label="parts" aria-rowcount={rows.length + 1}>
      <div role="rowgroup">
        <div className="stock-row stock-head" role="row" aria-rowindex={1}>
          {kColumns.map(([key, name]) => (
            <span
              key={key}
              role="columnheader"
              aria-sort={sort[0] === key && sort[1] !== 0 ? (sort[1] > 0 ? 'ascending' : 'descending') : 'none'}
              className={['name', 'colour'].includes(key) ? '' : 'num'}
            >
              <button type="button" onClick={() => onSort(key)}>
                {name}
                {sort[0] === key && sort[1] !== 0 ? (sort[1] > 0 ? ' ▴' : ' ▾') : ''}
              </button>
            </span>
          ))}
          <span role="columnheader">Share</span>
          <span role="columnheader">Taken by</span>
        </div>
      </div>
      <div ref={holder} className="stock-body" tabIndex={0} role="rowgroup" aria-label="rows of parts">
        <div
          style={printing ? undefined : { height: rolling.getTotalSize(), position: 'relative' }}
          role="presentation"
        >
          {shown.map((item) => {
            const r = rows[item.index];
            if (!r) return null;
            return (
              <div
                key={item.key}
                className={`stock-row${r.left === 0 && r.used > 0 ? ' stock-out' : ''}`}
                role="row"
                aria-rowindex={item.index + 2}
                style={item.style}
              >
                <span role="cell" title={r.part}>
                  {r.name}
                </span>
                <span role="cell">{r.colour}</span>
                <span role="cell" className="num">
                  {r.count}
                </span>
                <span role="cell" className="num">
                  {r.used || ''}
                </span>
                <span role="cell" className="num">
                  {r.reserved || ''}
                </span>
                <span role="cell" className="num strong">
                  {r.left}
                  {r.left === 0 && r.used > 0 ? <span className="stock-flag"> none</span> : ''}
                </span>
                <span role="cell">
                  <Share row={r} />
                </span>
                <span
                  role="cell"
                  className="stock-takers"
                  title={r.takers.map((t) => `${words(t.function)} ${t.count}`).join(', ')}
                >
                  {r.takers.map((t) => `${words(t.function)} ${t.count}`).join(', ')}
                </span>
              </div>
            );
          })}
        </div>
      </div>
    </div>
  );
}

function NotCounted({ rows, title }: { rows: ImportRow[]; title: string }) {
  if (rows.length === 0) return null;
  return (
    <details className="whynot">
      <summary>
        <Glyph of="warning" size={12} /> {title}: {count(rows.length, 'row')},{' '}
        {count(
          rows.reduce((n, r) => n + r.count, 0),
          'part',
        )}{' '}
        not counted
      </summary>
      <ul>
        {rows.map((r) => (
          <li key={r.row}>
            Line {r.line}: {r.text || '(empty)'}
            {r.count ? `, ${r.count} of it` : ''}
            {r.alternatives.length > 0
              ? `; ${!r.part && r.confidence === 0 ? 'none of this size, there is' : 'perhaps'} ${r.alternatives
                  .slice(0, 3)
                  .map((a) => words(typeof a === 'string' ? a : a.part))
                  .join(' or ')}`
              : ''}
          </li>
        ))}
      </ul>
    </details>
  );
}

export function StockView() {
  const revision = useStore((s) => `${s.project?.revision ?? 0}.${s.result?.revision ?? 0}`);
  const system = useStore((s) => s.result?.design.project?.kit_system ?? '');
  const stock = useResource(`${revision}|stock`, (signal) => get<Stock>('/api/stock', signal));
  const old = useStale();
  const { chosen } = usePlace();
  const [find, setFind] = useState('');
  const [which, setWhich] = useState('all');
  const [sort, setSort] = useState<[Column, number]>(['name', 0]);
  const [file, setFile] = useState<{ text: string; name: string } | null>(null);
  const [saving, setSaving] = useState(false);
  const rows = useMemo(() => {
    const word = find.trim().toLowerCase();
    const list = (stock.value?.rows ?? []).filter(
      (r) =>
        (word === '' || `${r.name} ${r.colour} ${r.part}`.toLowerCase().includes(word)) &&
        (which === 'all' ||
          (which === 'used' && r.used > 0) ||
          (which === 'out' && r.left === 0) ||
          (which === 'kept' && r.reserved > 0) ||
          (which === 'mine' && r.takers.some((t) => t.function === chosen))),
    );
    const [key, way] = sort;
    if (way === 0) return list;
    return [...list].sort(
      (a, b) =>
        way *
        (typeof a[key] === 'number'
          ? (a[key] as number) - (b[key] as number)
          : String(a[key]).localeCompare(String(b[key]))),
    );
  }, [stock.value, find, which, sort, chosen]);
  const take = async (t: Taken) => {
    setSaving(true);
    try {
      await send('PUT', '/api/stock', { csv: t.csv, columns: t.columns });
      setFile(null);
      await refresh();
      stock.again();
    } catch (error) {
      tellError(error);
    }
    setSaving(false);
  };
  const onSort = (c: Column) =>
    setSort(([key, way]) => (key !== c ? [c, c === 'name' || c === 'colour' ? 1 : -1] : [c, way === 0 ? 1 : -way]));
  const total = stock.value?.rows.reduce(
    (n, r) => ({ count: n.count + r.count, used: n.used + r.used, kept: n.kept + r.reserved }),
    { count: 0, used: 0, kept: 0 },
  );
  return (
    <>
      <Head
        title="Stock"
        lead={
          total
            ? `${count(total.count, 'part')} of ${count(stock.value?.rows.length ?? 0, 'type')}; the design takes ${total.used.toLocaleString('en')}, ${total.kept.toLocaleString('en')} are kept back.`
            : 'The parts of the donor kit.'
        }
      >
        <TextInput
          size="xs"
          w={170}
          aria-label="find a part"
          placeholder="find a part"
          value={find}
          onChange={(e) => setFind(e.currentTarget.value)}
        />
        <SegmentedControl
          size="xs"
          aria-label="which parts"
          value={which}
          onChange={setWhich}
          data={[
            { value: 'all', label: 'all' },
            { value: 'used', label: 'used' },
            { value: 'kept', label: 'kept back' },
            { value: 'out', label: 'none left' },
            ...(chosen ? [{ value: 'mine', label: `of ${words(chosen)}` }] : []),
          ]}
        />
      </Head>
      {file ? (
        <ImportPanel
          first={file.text}
          name={file.name}
          system={system}
          action={saving ? 'Taking over…' : 'Use this list for the model'}
          onTake={(t) => void take(t)}
          onCancel={() => setFile(null)}
        />
      ) : (
        <Drop compact accept=".csv,.tsv,.txt,text/csv" onText={(text, f) => setFile({ text, name: f.name })}>
          Another parts list? Drop a CSV here; nothing changes before you confirm it.
        </Drop>
      )}
      {stock.fault ? (
        <Fault error={stock.fault} again={stock.again} />
      ) : !stock.value ? (
        <Waiting text="Counting parts" />
      ) : (
        <div className={old ? 'stock stale' : 'stock'}>
          <NotCounted rows={stock.value.doubtful} title="Doubtful" />
          <NotCounted rows={stock.value.unknown} title="Not known" />
          <NotCounted rows={stock.value.faulty ?? []} title="Faulty" />
          {stock.value.doubtful.length > 0 && stock.value.csv && (
            <div>
              <Button
                size="compact-sm"
                variant="default"
                onClick={() => setFile({ text: stock.value?.csv ?? '', name: 'The model’s list' })}
              >
                Settle the doubtful rows
              </Button>
            </div>
          )}
          {rows.length > 0 ? (
            <Rows rows={rows} sort={sort} onSort={onSort} />
          ) : (
            <Nothing inner title="No part fits">
              {stock.value.rows.length === 0 ? (
                'The list is empty. Drop a CSV above.'
              ) : (
                <Button
                  size="xs"
                  variant="default"
                  onClick={() => {
                    setFind('');
                    setWhich('all');
                  }}
                >
                  Show all parts
                </Button>
              )}
            </Nothing>
          )}
        </div>
      )}
    </>
  );
}
