// The model as a skeleton in space. Loaded only when it is looked at.
import { Button } from '@mantine/core';
import { useEffect, useMemo, useRef, useState } from 'react';

import type { Json, JsonObject } from '../contract.ts';
import { get } from '../data/api.ts';
import { amount, words } from '../data/format.ts';
import { entries, useStale } from '../data/picture.ts';
import { useResource } from '../data/resource.ts';
import { getState, useStore } from '../data/store.ts';
import { Glyph } from '../parts/glyph.tsx';
import { mounts } from '../parts/pose.ts';
import { Head, Nothing } from '../parts/states.tsx';
import { type BodyBox, makeScene, type SpaceScene, type Train } from './space_scene.ts';
import { isObject } from '../data/pointer.ts';

const triple = (v: Json | undefined): [number, number, number] | null =>
  Array.isArray(v) && v.length === 3 && v.every((x) => typeof x === 'number') ? (v as [number, number, number]) : null;

export function bodiesOf(document: JsonObject | undefined): BodyBox[] {
  return (Array.isArray(document?.bodies) ? document.bodies : []).filter(isObject).flatMap((b): BodyBox[] => {
    const joint = isObject(b.joint) ? b.joint : null;
    const pivot = triple(joint?.pivot_mm);
    const range = Array.isArray(joint?.range_deg) ? (joint.range_deg as number[]) : [0, 0];
    const centre = triple(b.centre_mm) ?? pivot;
    const size = triple(b.size_mm) ?? [24, 24, 24];
    if (typeof b.id !== 'string' || !centre) return [];
    return [
      {
        id: b.id,
        parent: typeof b.parent === 'string' ? b.parent : null,
        centre,
        size,
        joint: joint && pivot ? { type: String(joint.type), pivot, range: [range[0] ?? 0, range[1] ?? 0] } : null,
      },
    ];
  });
}

/// For browsers without WebGL: the same boxes from the side, at rest.
function Elevation({ bodies }: { bodies: BodyBox[] }) {
  const x0 = Math.min(...bodies.map((b) => b.centre[0] - b.size[0] / 2)) - 20;
  const x1 = Math.max(...bodies.map((b) => b.centre[0] + b.size[0] / 2)) + 20;
  const z1 = Math.max(...bodies.map((b) => b.centre[2] + b.size[2] / 2)) + 20;
  return (
    <svg
      className="elevation"
      viewBox={`${x0} ${-z1} ${x1 - x0} ${z1 + 10}`}
      role="img"
      aria-label="the bodies from the side"
    >
      <line className="grid" x1={x0} x2={x1} y1="0" y2="0" />
      {bodies.map((b) => (
        <g key={b.id}>
          <rect
            className="plan-body"
            x={b.centre[0] - b.size[0] / 2}
            y={-b.centre[2] - b.size[2] / 2}
            width={b.size[0]}
            height={b.size[2]}
          />
          <text className="tick" x={b.centre[0]} y={-b.centre[2]} textAnchor="middle">
            {words(b.id)}
          </text>
        </g>
      ))}
    </svg>
  );
}

export default function Space() {
  const document_ = useStore((s) => s.project?.document);
  const a = useStore((s) => s.result?.design.assessment);
  const functions = useStore((s) => s.result?.design.functions);
  const old = useStale();
  const bodies = useMemo(() => bodiesOf(document_), [document_]);
  const revision = useStore((s) => s.result?.revision ?? 0);
  const trains = useResource(`${revision}|space`, (signal) => get<{ trains: Train[] }>('/api/space', signal)).value;
  const canvas = useRef<HTMLCanvasElement>(null);
  const scene = useRef<SpaceScene | null>(null);
  const [fault, setFault] = useState('');
  const [angles, setAngles] = useState<Record<string, number>>({});
  const [view, setView] = useState({ azimuth: 35, height: 24, zoom: 1 });
  const drag = useRef<{ x: number; y: number; azimuth: number; height: number } | null>(null);

  useEffect(() => {
    const element = canvas.current;
    if (!element || bodies.length === 0) return undefined;
    const style = getComputedStyle(element);
    const actuators = entries(getState()).flatMap((e) => {
      const moves = isObject(e.value.wants) ? e.value.wants.moves : undefined;
      const found = e.result?.chosen
        ? mounts(e.result.chosen.shapes, e.result.chosen.curves.find((c) => c.x_unit === 'deg')?.x[0])
        : null;
      return typeof moves === 'string' && found ? [{ moves, mounts: found }] : [];
    });
    let made: SpaceScene;
    try {
      made = makeScene(element, {
        bodies,
        support: a?.stance.judged ? a.stance.support_mm : [],
        centre: a?.centre_mm ?? null,
        actuators,
        trains: trains?.trains ?? [],
        ink: style.getPropertyValue('--ink').trim(),
        accent: style.getPropertyValue('--accent').trim(),
        paper: style.getPropertyValue('--paper').trim(),
      });
    } catch (error) {
      setFault(String(error));
      return undefined;
    }
    scene.current = made;
    const fit = new ResizeObserver(() => made.resize(element.clientWidth, element.clientHeight));
    fit.observe(element);
    made.resize(element.clientWidth, element.clientHeight);
    return () => {
      fit.disconnect();
      made.dispose();
      scene.current = null;
    };
  }, [bodies, a, functions, trains]);
  useEffect(() => scene.current?.pose(angles), [angles, bodies, a, functions, trains]);
  useEffect(() => scene.current?.turn(view.azimuth, view.height, view.zoom), [view, bodies, a, functions, trains]);

  const keys = (e: React.KeyboardEvent) => {
    const by: Record<string, Partial<typeof view>> = {
      ArrowLeft: { azimuth: view.azimuth - 8 },
      ArrowRight: { azimuth: view.azimuth + 8 },
      ArrowUp: { height: Math.min(view.height + 6, 88) },
      ArrowDown: { height: Math.max(view.height - 6, -10) },
      '+': { zoom: Math.min(view.zoom * 1.15, 4) },
      '-': { zoom: Math.max(view.zoom / 1.15, 0.4) },
    };
    const change = by[e.key];
    if (!change) return;
    e.preventDefault();
    setView({ ...view, ...change });
  };
  if (bodies.length === 0)
    return (
      <Nothing title="Nothing to show in space">
        The project names no bodies. Add them under The whole machine in Wants.
      </Nothing>
    );
  const joints = bodies.filter((b) => b.joint);
  return (
    <>
      <Head
        title="Space"
        lead="Bodies as boxes in their joints with their shafts and gears, what they stand on, and where the mass is."
      >
        <Button
          size="xs"
          variant="default"
          onClick={() => {
            setView({ azimuth: 35, height: 24, zoom: 1 });
            setAngles({});
          }}
        >
          As at first
        </Button>
        <Button size="xs" variant="default" onClick={() => setView({ azimuth: 90, height: 2, zoom: 1.1 })}>
          From the right
        </Button>
        <Button size="xs" variant="default" onClick={() => setView({ azimuth: 0, height: 2, zoom: 1.1 })}>
          From the front
        </Button>
        <Button size="xs" variant="default" onClick={() => setView({ azimuth: 90, height: 88, zoom: 1.1 })}>
          From above
        </Button>
      </Head>
      <div className={old ? 'space stale' : 'space'}>
        {fault ? (
          <div className="space-canvas">
            <p className="said-warning">
              <Glyph of="warning" /> This browser draws nothing in space ({fault}). The bodies from the side instead:
            </p>
            <Elevation bodies={bodies} />
          </div>
        ) : (
          <canvas
            ref={canvas}
            className="space-canvas"
            tabIndex={0}
            role="img"
            aria-label="the model in space; arrow keys turn it, plus and minus zoom"
            onKeyDown={keys}
            onPointerDown={(e) => {
              drag.current = { x: e.clientX, y: e.clientY, ...view };
              e.currentTarget.setPointerCapture(e.pointerId);
            }}
            onPointerMove={(e) => {
              const d = drag.current;
              if (d)
                setView({
                  ...view,
                  azimuth: d.azimuth - (e.clientX - d.x) * 0.4,
                  height: Math.min(Math.max(d.height + (e.clientY - d.y) * 0.3, -10), 88),
                });
            }}
            onPointerUp={() => {
              drag.current = null;
            }}
          />
        )}
        <div className="panel space-side">
          <h2>Joints</h2>
          {joints.length === 0 && <p className="lead">Every body is fixed.</p>}
          {joints.map((b) => (
            <label key={b.id} className="joint">
              <span>
                {words(b.id)} <span className="dim">{b.joint?.type}</span>
              </span>
              <input
                type="range"
                min={b.joint?.range[0]}
                max={b.joint?.range[1]}
                step="1"
                value={angles[b.id] ?? Math.min(Math.max(0, b.joint?.range[0] ?? 0), b.joint?.range[1] ?? 0)}
                onChange={(e) => setAngles({ ...angles, [b.id]: Number(e.currentTarget.value) })}
              />
              <output>
                {amount(angles[b.id] ?? Math.min(Math.max(0, b.joint?.range[0] ?? 0), b.joint?.range[1] ?? 0), 'deg')}
              </output>
            </label>
          ))}
          {a && a.stance.judged && (
            <Button size="compact-sm" variant="default" onClick={() => setAngles({ ...a.stance.worst_posture_deg })}>
              Posture that tips first
            </Button>
          )}
          {a && (
            <p className="lead">
              Ball: centre of mass as built, {amount(a.mass_g, 'g')}. Rust: joints, support and actuators. Drag the
              picture to turn it.
            </p>
          )}
        </div>
      </div>
    </>
  );
}
