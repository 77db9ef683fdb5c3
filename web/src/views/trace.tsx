// Tracing the real machine: a picture, its scale from two points of known distance, and the clicked wheels, pivots, ends and
// feet as places on the hole lattice at the chosen scale.
import { Button, NativeSelect, SegmentedControl, TextInput } from '@mantine/core';
import { useEffect, useRef, useState } from 'react';

import type { Edit } from '../contract.ts';
import { ApiError, get, getBlob, send, sendRaw } from '../data/api.ts';
import { number, sentence, words } from '../data/format.ts';
import { edit, tell, tellError, useStore } from '../data/store.ts';
import { numberFrom } from '../form/schema.ts';
import { ScalePanel } from './scale.tsx';
import { Glyph } from '../parts/glyph.tsx';
import { Drop } from '../parts/import.tsx';
import { Head } from '../parts/states.tsx';
import {
  centreOf,
  groundOf,
  kEmpty,
  mmPerPixel,
  type Placed,
  placed,
  type Point,
  type Role,
  type TraceData,
} from './trace_points.ts';
import { isObject } from '../data/pointer.ts';

type Tool = 'known' | 'ground' | Role;
const kTools: { value: Tool; label: string; help: string }[] = [
  { value: 'known', label: 'Scale', help: 'Click the two ends of something whose real length you know.' },
  { value: 'ground', label: 'Ground', help: 'Click where the machine stands.' },
  { value: 'wheel', label: 'Wheel', help: 'Click the middle of each wheel, sprocket or idler.' },
  { value: 'pivot', label: 'Pivot', help: 'Click each joint: boom foot, stick, bucket.' },
  { value: 'end', label: 'Boom end', help: 'Click the tip of each boom.' },
  { value: 'foot', label: 'Foot', help: 'Click where stabilisers touch the ground.' },
];
const half = (hp: number) =>
  `${hp < 0 ? '−' : ''}${Math.floor(Math.abs(hp) / 2) || (hp % 2 === 0 ? '0' : '')}${hp % 2 !== 0 ? '½' : ''}`;

function Mark({ p, size, tag }: { p: Point; size: number; tag: string }) {
  const s = size;
  const shape = {
    wheel: <circle r={s} />,
    pivot: <path d={`M0 ${-s} L${s} 0 L0 ${s} L${-s} 0 Z`} />,
    end: <path d={`M${-s} ${s} L0 ${-s} L${s} ${s} Z`} />,
    foot: <rect x={-s} y={-s / 2} width={2 * s} height={s} />,
  }[p.role];
  return (
    <g className={`mark mark-${p.role}`} transform={`translate(${p.u} ${p.v})`}>
      {shape}
      <circle r={s / 6} className="mark-dot" />
      <text x={s * 1.3} y={s * 0.5} style={{ fontSize: s * 1.5 }}>
        {tag}
      </text>
    </g>
  );
}

export function Trace() {
  const folder = useStore((s) => s.session?.folder ?? '');
  const document_ = useStore((s) => s.project?.document);
  const told = useStore((s) => s.session?.pitch_mm ?? 0);
  const [t, setT] = useState<TraceData>(kEmpty);
  const [image, setImage] = useState<{ url: string; w: number; h: number } | null>(null);
  const [tool, setTool] = useState<Tool>('known');
  const [length, setLength] = useState('');
  const [scale, setScale] = useState('20');
  const [at, setAt] = useState<{ u: number; v: number } | null>(null);
  const board = useRef<SVGSVGElement>(null);
  const kept = useRef('');
  const [pitchText, setPitchText] = useState('');
  const pitch = t.pitch_mm ?? (told > 0 ? told : 8);

  const show = async (name: string) => {
    const url = URL.createObjectURL(await getBlob(`/api/pictures/${encodeURIComponent(name)}`));
    const probe = new Image();
    probe.src = url;
    await probe.decode();
    setImage((old) => {
      if (old) URL.revokeObjectURL(old.url);
      return { url, w: probe.naturalWidth, h: probe.naturalHeight };
    });
  };
  useEffect(() => {
    let live = true;
    get<TraceData>('/api/trace')
      .then(async (found) => {
        if (!live || !found || typeof found.picture !== 'string') return;
        const whole = { ...kEmpty, ...found };
        kept.current = JSON.stringify(whole);
        setT(whole);
        setLength(whole.known.length_mm ? String(whole.known.length_mm) : '');
        setScale(String(whole.scale));
        if (whole.picture) await show(whole.picture);
      })
      .catch((e: unknown) => {
        if (!(e instanceof ApiError && e.status === 404)) tellError(e);
      });
    return () => {
      live = false;
    };
  }, [folder]);
  useEffect(() => {
    const text = JSON.stringify(t);
    if (text === kept.current || t === kEmpty) return undefined;
    const timer = setTimeout(() => {
      kept.current = text;
      send('PUT', '/api/trace', t).catch(tellError);
    }, 500);
    return () => clearTimeout(timer);
  }, [t]);

  const take = async (file: File) => {
    const type = file.type || (/\.png$/i.test(file.name) ? 'image/png' : 'image/jpeg');
    const name = file.name.replace(/[^A-Za-z0-9._-]+/g, '_').slice(-60);
    try {
      await sendRaw('PUT', `/api/pictures/${encodeURIComponent(name)}`, type, file);
      setT({ ...kEmpty, picture: name, scale: t.scale });
      setTool('known');
      await show(name);
    } catch (error) {
      tellError(error);
    }
  };
  const place = (e: React.PointerEvent | React.MouseEvent) => {
    const m = board.current?.getScreenCTM();
    if (!m) return null;
    const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(m.inverse());
    return { u: Math.round(p.x * 10) / 10, v: Math.round(p.y * 10) / 10 };
  };
  const put = (p: { u: number; v: number }) => {
    if (tool === 'known') {
      const next =
        !t.known.a || t.known.b
          ? { a: [p.u, p.v] as [number, number], b: null }
          : { a: t.known.a, b: [p.u, p.v] as [number, number] };
      setT({ ...t, known: { ...t.known, ...next } });
    } else if (tool === 'ground') setT({ ...t, ground: p.v });
    else {
      const id = Math.max(0, ...t.points.map((x) => x.id)) + 1;
      const n = t.points.filter((x) => x.role === tool).length + 1;
      setT({
        ...t,
        points: [...t.points, { id, role: tool, name: `${tool === 'end' ? 'boom end' : tool} ${n}`, ...p }],
      });
    }
  };
  const keys = (e: React.KeyboardEvent) => {
    if (!image) return;
    const step = e.shiftKey ? image.w / 20 : image.w / 400;
    const by: Record<string, [number, number]> = {
      ArrowLeft: [-step, 0],
      ArrowRight: [step, 0],
      ArrowUp: [0, -step],
      ArrowDown: [0, step],
    };
    const now = at ?? { u: image.w / 2, v: image.h / 2 };
    const d = by[e.key];
    if (d) {
      e.preventDefault();
      setAt({ u: now.u + d[0], v: now.v + d[1] });
    } else if (e.key === 'Enter' || e.key === ' ') {
      e.preventDefault();
      put(now);
    }
  };
  const per = mmPerPixel(t);
  const rows = t.points.map((p) => ({ p, where: placed(t, p, pitch) }));
  const bodies = (Array.isArray(document_?.bodies) ? document_.bodies : []).filter(isObject);
  const jointed = bodies.flatMap((b, i) =>
    isObject(b.joint) && typeof b.id === 'string' ? [{ id: b.id, index: i, joint: b.joint }] : [],
  );
  const wheels = rows.filter((r) => r.p.role === 'wheel' && r.where).map((r) => r.where as Placed);
  const takeSupport = () => {
    const xs = wheels.map((w) => w.x_hp * (pitch / 2));
    const edits: Edit[] = [{ op: 'set', at: '/support/length_mm', value: Math.max(...xs) - Math.min(...xs) }];
    void edit('take the wheels from the picture', edits).then(() =>
      tell('info', 'The support now reaches from the first traced wheel to the last.'),
    );
  };
  const takePivot = (where: Placed, body: string) => {
    const found = jointed.find((b) => b.id === body);
    if (!found) return;
    const old = Array.isArray(found.joint.pivot_mm) ? (found.joint.pivot_mm as number[]) : [0, 0, 0];
    void edit(`take the pivot of ${words(body)} from the picture`, [
      {
        op: 'set',
        at: `/bodies/${found.index}/joint/pivot_mm`,
        value: [where.x_hp * (pitch / 2), old[1] ?? 0, where.z_hp * (pitch / 2)],
      },
    ]);
  };
  const size = image ? image.w / 90 : 8;
  const missing = [
    per === null ? 'its scale (two points and their real distance)' : '',
    groundOf(t) === null ? 'the ground' : '',
    centreOf(t) === null ? 'at least one wheel, for the middle' : '',
  ].filter((x) => x !== '');
  return (
    <>
      <Head
        title="Trace"
        lead="Take sizes from a side picture of the real machine. The picture stays in the project folder on this computer."
      >
        {image && (
          <NativeSelect
            size="xs"
            aria-label="which way the machine faces"
            value={t.facing}
            onChange={(e) => setT({ ...t, facing: e.currentTarget.value as 'left' | 'right' })}
            data={[
              { value: 'right', label: 'front is right' },
              { value: 'left', label: 'front is left' },
            ]}
          />
        )}
      </Head>
      {!image ? (
        <>
          <Drop big accept="image/png,image/jpeg" onText={(_, f) => void take(f)}>
            Drop a side picture (PNG or JPEG, up to 20 MB) here.
          </Drop>
          <ol className="trace-how">
            <li>
              <b>Scale.</b> Click two points whose real distance you know: the wheelbase, the boom.
            </li>
            <li>
              <b>Ground and wheels.</b> They place the machine: x from its middle, z from the ground.
            </li>
            <li>
              <b>Pivots, boom ends, feet.</b> Each snaps to the nearest half pitch at the scale you choose, and says how
              far off it is.
            </li>
          </ol>
          <ScalePanel />
        </>
      ) : (
        <div className="trace">
          <div className="trace-main">
            <div className="tools">
              <SegmentedControl
                size="xs"
                aria-label="what to mark"
                value={tool}
                onChange={(v) => setTool(v as Tool)}
                data={kTools.map(({ value, label }) => ({ value, label }))}
              />
              <span className="dim">{kTools.find((x) => x.value === tool)?.help}</span>
            </div>
            <svg
              ref={board}
              className="trace-board"
              viewBox={`0 0 ${image.w} ${image.h}`}
              tabIndex={0}
              role="img"
              aria-label="picture of the machine; arrow keys move the cross, Enter marks"
              onKeyDown={keys}
              onPointerMove={(e) => setAt(place(e))}
              onPointerLeave={() => setAt(null)}
              onClick={(e) => {
                const p = place(e);
                if (p) put(p);
              }}
            >
              <image href={image.url} width={image.w} height={image.h} />
              {t.known.a && <circle className="known" cx={t.known.a[0]} cy={t.known.a[1]} r={size / 2} />}
              {t.known.b && <circle className="known" cx={t.known.b[0]} cy={t.known.b[1]} r={size / 2} />}
              {t.known.a && t.known.b && (
                <line className="known" x1={t.known.a[0]} y1={t.known.a[1]} x2={t.known.b[0]} y2={t.known.b[1]} />
              )}
              {groundOf(t) !== null && (
                <line className="ground" x1="0" x2={image.w} y1={groundOf(t) ?? 0} y2={groundOf(t) ?? 0} />
              )}
              {t.points.map((p, i) => (
                <Mark key={p.id} p={p} size={size} tag={String(i + 1)} />
              ))}
              {at && (
                <path
                  className="cross"
                  d={`M${at.u - size * 2} ${at.v}h${size * 4}M${at.u} ${at.v - size * 2}v${size * 4}`}
                />
              )}
            </svg>
            <Drop compact accept="image/png,image/jpeg" onText={(_, f) => void take(f)}>
              Another picture begins anew.
            </Drop>
          </div>
          <div className="panel trace-side">
            <div className="trace-sizes">
              <TextInput
                size="xs"
                label="Real length"
                title="between the two scale points"
                rightSection={<span className="unit">mm</span>}
                value={length}
                onChange={(e) => {
                  setLength(e.currentTarget.value);
                  const v = numberFrom(e.currentTarget.value);
                  setT({ ...t, known: { ...t.known, length_mm: typeof v === 'number' ? v : 0 } });
                }}
              />
              <TextInput
                size="xs"
                label="Scale 1 :"
                title="of the model"
                value={scale}
                onChange={(e) => {
                  setScale(e.currentTarget.value);
                  const v = numberFrom(e.currentTarget.value);
                  if (typeof v === 'number' && v > 0) setT({ ...t, scale: v });
                }}
              />
              <TextInput
                size="xs"
                label="Hole pitch"
                rightSection={<span className="unit">mm</span>}
                placeholder={number(pitch)}
                value={pitchText}
                onChange={(e) => {
                  setPitchText(e.currentTarget.value);
                  const v = numberFrom(e.currentTarget.value);
                  setT({ ...t, pitch_mm: typeof v === 'number' && v > 0 ? v : null });
                }}
              />
            </div>
            {missing.length > 0 && (
              <p className="said-warning">
                <Glyph of="note" /> Still to say: {missing.join('; ')}.
              </p>
            )}
            <table className="margins">
              <thead>
                <tr>
                  <th scope="col">No.</th>
                  <th scope="col">Point</th>
                  <th scope="col" className="num">
                    x, p
                  </th>
                  <th scope="col" className="num">
                    z, p
                  </th>
                  <th scope="col" className="num">
                    off by
                  </th>
                  <th scope="col">
                    <span className="hidden-text">use</span>
                  </th>
                </tr>
              </thead>
              <tbody>
                {rows.map(({ p, where }, i) => (
                  <tr key={p.id}>
                    <td>{i + 1}</td>
                    <th scope="row">
                      {sentence(p.name)}{' '}
                      {p.role === 'pivot' && where && jointed.length > 0 && (
                        <select
                          aria-label={`use ${p.name} as the pivot of`}
                          value=""
                          onChange={(e) => takePivot(where, e.currentTarget.value)}
                        >
                          <option value="">pivot of…</option>
                          {jointed.map((b) => (
                            <option key={b.id} value={b.id}>
                              {words(b.id)}
                            </option>
                          ))}
                        </select>
                      )}
                    </th>
                    <td className="num">{where ? half(where.x_hp) : '–'}</td>
                    <td className="num">{where ? half(where.z_hp) : '–'}</td>
                    <td className="num">{where ? `${number(where.off_mm, 2)} mm` : ''}</td>
                    <td>
                      <button
                        type="button"
                        className="link"
                        aria-label={`remove ${p.name}`}
                        onClick={() => setT({ ...t, points: t.points.filter((x) => x.id !== p.id) })}
                      >
                        <Glyph of="cross" size={12} />
                      </button>
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
            {rows.length === 0 && <p className="lead">Nothing marked yet.</p>}
            {wheels.length > 1 && (
              <Button size="compact-sm" onClick={takeSupport}>
                Use the wheels as support
              </Button>
            )}
            <p className="lead">“Off by” is how far the true place is from the next hole.</p>
            <ScalePanel />
          </div>
        </div>
      )}
    </>
  );
}
