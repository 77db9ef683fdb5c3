// Taking over a parts list: drop or choose a file, see how its columns and rows were understood, settle doubts, accept.
import { Button, NativeSelect } from '@mantine/core';
import { useEffect, useRef, useState } from 'react';

import type { ImportRow, StockPreview } from '../contract.ts';
import { query, sendRaw } from '../data/api.ts';
import { count, percent, told, words } from '../data/format.ts';
import { tellError } from '../data/store.ts';
import { withCell } from './csv.ts';
import { Glyph } from './glyph.tsx';

export const kColumns = ['name', 'quantity', 'colour', 'code'] as const;
const kColumnNames: Record<string, string> = { name: 'Description', quantity: 'Count', colour: 'Colour', code: 'Code' };

/// Reads bytes as UTF-8, else as Latin-1, as the program does.
export async function textOf(file: File): Promise<string> {
  const bytes = await file.arrayBuffer();
  try {
    return new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch {
    return new TextDecoder('windows-1252').decode(bytes);
  }
}

export function Drop({
  onText,
  children,
  accept,
  compact,
  big,
}: {
  onText: (text: string, file: File) => void;
  children: React.ReactNode;
  accept: string;
  compact?: boolean;
  big?: boolean;
}) {
  const [over, setOver] = useState(false);
  const input = useRef<HTMLInputElement>(null);
  const take = (file: File | null | undefined) => {
    if (file) void textOf(file).then((t) => onText(t, file), tellError);
  };
  return (
    <div
      className={`drop${over ? ' drop-over' : ''}${compact ? ' drop-compact' : ''}${big ? ' drop-big' : ''}`}
      onDragOver={(e) => {
        e.preventDefault();
        setOver(true);
      }}
      onDragLeave={() => setOver(false)}
      onDrop={(e) => {
        e.preventDefault();
        setOver(false);
        take(e.dataTransfer.files[0]);
      }}
    >
      <span>{children}</span>
      <Button size="compact-sm" variant="default" onClick={() => input.current?.click()}>
        Choose a file
      </Button>
      <input
        ref={input}
        type="file"
        accept={accept}
        hidden
        aria-hidden="true"
        tabIndex={-1}
        onChange={(e) => {
          take(e.currentTarget.files?.[0]);
          e.currentTarget.value = '';
        }}
      />
    </div>
  );
}

export interface Taken {
  csv: string;
  columns: string;
  preview: StockPreview;
}

/// Rows whose pieces are in no count: doubtful, not known, or without a count that can be read.
export function uncounted(preview: StockPreview): number {
  return preview.rows.filter((r) => r.state === 'doubtful' || r.state === 'unmatched' || r.state === 'faulty').length;
}

export function ImportPanel({
  first,
  name,
  system,
  action,
  onTake,
  onCancel,
}: {
  first: string;
  name: string;
  system: string;
  action: string;
  onTake: (t: Taken) => void;
  onCancel: () => void;
}) {
  const [csv, setCsv] = useState(first);
  const [columns, setColumns] = useState<Record<string, number>>({});
  const [preview, setPreview] = useState<StockPreview | null>(null);
  const [busy, setBusy] = useState(true);
  const chosen = Object.entries(columns)
    .map(([k, v]) => `${k}=${v}`)
    .join(',');
  useEffect(() => {
    let live = true;
    setBusy(true);
    sendRaw<StockPreview>('POST', `/api/stock/preview${query({ columns: chosen, system })}`, 'text/csv', csv).then(
      (p) => {
        if (live) {
          setPreview(p);
          setBusy(false);
        }
      },
      (e: unknown) => {
        if (live) {
          tellError(e);
          setBusy(false);
        }
      },
    );
    return () => {
      live = false;
    };
  }, [csv, chosen, system]);
  const heads = (csv.replace(/^\uFEFF/, '').split('\n')[0] ?? '').replace('\r', '').split(preview?.delimiter || ',');
  const settle = (row: ImportRow, part: string) => {
    const column = preview?.columns.name?.column;
    if (!preview || !column) return;
    const next = withCell(csv, row.line, column, preview.delimiter, part);
    if (next) setCsv(next);
  };
  const doubtful = preview?.rows.filter((r) => r.state === 'doubtful') ?? [];
  const unknown = preview?.rows.filter((r) => r.state === 'unmatched' || r.state === 'faulty') ?? [];
  const matched = preview ? preview.rows.length - doubtful.length - unknown.length : 0;
  return (
    <section className="card import" aria-label={`import of ${name}`}>
      <h2>{name}</h2>
      {!preview ? (
        <p className="lead">{busy ? 'Reading the list…' : 'This list could not be read.'}</p>
      ) : (
        <>
          <div className="import-columns">
            {kColumns.map((c) => {
              const found = preview.columns[c];
              return (
                <NativeSelect
                  key={c}
                  size="xs"
                  label={kColumnNames[c]}
                  value={String(found?.column ?? 0)}
                  onChange={(e) => setColumns({ ...columns, [c]: Number(e.currentTarget.value) })}
                  data={[
                    { value: '0', label: 'none' },
                    ...heads.map((h, i) => ({
                      value: String(i + 1),
                      label: `${i + 1}: ${h.replaceAll('"', '') || '(no head)'}`,
                    })),
                  ]}
                />
              );
            })}
            <p className="import-sum">
              {preview.encoding}, columns split by{' '}
              {({ '\t': 'tabs', ',': 'commas', ';': 'semicolons' } as Record<string, string>)[preview.delimiter] ??
                `“${preview.delimiter}”`}
              <br />
              <Glyph of="meets" size={12} /> {matched} rows known, <b>{count(preview.parts, 'part')}</b> of{' '}
              {count(preview.part_types, 'type')}
              {doubtful.length > 0 && <>, {doubtful.length} doubtful</>}
              {unknown.length > 0 && <>, {unknown.length} not known</>}
            </p>
          </div>
          {preview.diagnostics.length > 0 && (
            <ul className="problems">
              {preview.diagnostics.slice(0, 6).map((d, i) => (
                <li key={i} className={d.severity === 'error' ? 'said-error' : 'said-warning'}>
                  <Glyph of="warning" /> {d.line > 0 ? `Line ${d.line}: ` : ''}
                  {told(d)}
                </li>
              ))}
            </ul>
          )}
          {(doubtful.length > 0 || unknown.length > 0) && (
            <div className="import-rows">
              <table className="margins">
                <thead>
                  <tr>
                    <th scope="col">Line</th>
                    <th scope="col">Your list says</th>
                    <th scope="col" className="num">
                      Count
                    </th>
                    <th scope="col">What it is</th>
                  </tr>
                </thead>
                <tbody>
                  {[...doubtful, ...unknown].map((r) => (
                    <tr key={r.row}>
                      <td>{r.line}</td>
                      <th scope="row">{r.text || '(empty)'}</th>
                      <td className="num">{r.count}</td>
                      <td>
                        {r.state === 'faulty' ? (
                          <span className="dim">its count cannot be read; mend it in your file</span>
                        ) : r.alternatives.length > 0 || r.part ? (
                          <span className="tools">
                            {!r.part && r.confidence === 0 && <span className="dim">none of this size; there is</span>}
                            {[
                              ...(r.part ? [{ part: r.part, confidence: r.confidence }] : []),
                              ...r.alternatives
                                .map((a) => (typeof a === 'string' ? { part: a, confidence: undefined } : a))
                                .filter((a) => a.part !== r.part),
                            ]
                              .slice(0, 4)
                              .map((a) => (
                                <Button
                                  key={a.part}
                                  size="compact-xs"
                                  variant="default"
                                  onClick={() => settle(r, a.part)}
                                >
                                  {words(a.part)}
                                  {a.confidence ? ` (${percent(a.confidence)})` : ''}
                                </Button>
                              ))}
                          </span>
                        ) : (
                          <span className="dim">not a part of this kit system; it is not counted</span>
                        )}
                      </td>
                    </tr>
                  ))}
                </tbody>
              </table>
            </div>
          )}
        </>
      )}
      <div className="tools">
        <Button
          size="xs"
          disabled={!preview || busy || preview.parts === 0}
          onClick={() => {
            if (preview) onTake({ csv, columns: chosen, preview });
          }}
        >
          {action}
        </Button>
        <Button size="xs" variant="default" onClick={onCancel}>
          Cancel
        </Button>
        {preview && doubtful.length + unknown.length > 0 && (
          <span className="dim">
            {count(doubtful.length + unknown.length, 'row')} above{' '}
            {doubtful.length + unknown.length === 1 ? 'is' : 'are'} not counted. Say what{' '}
            {doubtful.length + unknown.length === 1 ? 'it is' : 'they are'}, or leave it for later in Stock.
          </span>
        )}
      </div>
    </section>
  );
}
