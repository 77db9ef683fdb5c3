// How it stands: support polygon with the tipping angle in every direction, masses to drag about; beside it the load chart
// and what it gets over.
import { scaleLinear } from 'd3-scale';
import { useEffect, useRef, useState } from 'react';

import type { Assessment, JsonObject, Stance as StanceResult } from '../contract.ts';
import { get, query } from '../data/api.ts';
import { amount, number, words } from '../data/format.ts';
import { useBusy, useStale } from '../data/picture.ts';
import { edit, tellError, useStore } from '../data/store.ts';
import { Glyph } from '../parts/glyph.tsx';
import { Head, Nothing, Waiting } from '../parts/states.tsx';
import { LoadChart } from './load_chart.tsx';
import { Obstacles } from './obstacles.tsx';
import { isObject } from '../data/pointer.ts';

/// A body whose centre of mass the project tells, so that it can be moved.
interface Mass {
  index: number; ///< in the project's list of bodies
  id: string;
  mass_g: number;
  centre: number[];
  step_mm: number;
  moved: boolean;
}

// Seen from above, x forward = up the picture, y left = left: as one stands behind the model.
function Plan({
  stance,
  bodies,
  masses,
  onMove,
  onDrop,
}: {
  stance: StanceResult;
  bodies: JsonObject[];
  masses: Mass[];
  onMove: (mass: Mass, to: number[]) => void;
  onDrop: () => void;
}) {
  const [k, setK] = useState<number | null>(null);
  const held = useRef<{ mass: Mass; grip: [number, number] } | null>(null);
  const size = 300;
  const reach =
    Math.max(
      ...stance.support_mm.map(([x = 0, y = 0]) => Math.hypot(x, y)),
      Math.hypot(stance.centre_mm[0] ?? 0, stance.centre_mm[1] ?? 0),
      1,
    ) * 1.15;
  const inner = 92;
  const s = scaleLinear().domain([-reach, reach]).range([-inner, inner]);
  const at = ([x = 0, y = 0]: number[]): [number, number] => [-s(y), -s(x)];
  const polygon = stance.support_mm.map((p) => at(p).join(',')).join(' ');
  const [cx, cy] = at(stance.centre_mm);
  // A ring outside the plan: the longer the spoke, the more the ground may tilt that way.
  const most = Math.max(...stance.tipping_deg, 1);
  const ring = scaleLinear()
    .domain([0, most])
    .range([inner + 12, inner + 44]);
  const spoke = (deg: number, r: number): [number, number] => [
    -r * Math.sin((deg * Math.PI) / 180),
    -r * Math.cos((deg * Math.PI) / 180),
  ];
  const outline = stance.direction_deg.map((d, i) => spoke(d, ring(stance.tipping_deg[i] ?? 0)).join(',')).join(' ');
  const [lx, ly] = spoke(stance.least_direction_deg, ring(stance.least_deg));
  const spot = (e: React.PointerEvent): [number, number] => {
    const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(
      (e.currentTarget as SVGGraphicsElement).getScreenCTM()?.inverse(),
    );
    return [-s.invert(p.y), -s.invert(p.x)];
  };
  const heaviest = Math.max(...masses.map((m) => m.mass_g), 1);
  const pick = (e: React.PointerEvent<SVGSVGElement>) => {
    if (held.current) return;
    const r = e.currentTarget.getBoundingClientRect();
    const dx = e.clientX - r.left - r.width / 2;
    const dy = e.clientY - r.top - r.height / 2;
    const deg = ((Math.atan2(-dx, -dy) * 180) / Math.PI + 360) % 360;
    let best = 0;
    stance.direction_deg.forEach((d, i) => {
      if (
        Math.abs(((d - deg + 540) % 360) - 180) <
        Math.abs((((stance.direction_deg[best] ?? 0) - deg + 540) % 360) - 180)
      )
        best = i;
    });
    setK(best);
  };
  const hover = k !== null ? spoke(stance.direction_deg[k] ?? 0, ring(stance.tipping_deg[k] ?? 0)) : null;
  return (
    <figure className="plan">
      <svg
        viewBox={`${-size / 2} ${-size / 2} ${size} ${size}`}
        role="group"
        aria-label="support polygon and tipping angles, seen from above"
        onPointerMove={pick}
        onPointerLeave={() => setK(null)}
      >
        <circle className="grid" r={ring(0)} fill="none" />
        <circle className="grid" r={ring(most)} fill="none" />
        <polygon className="plan-ring" points={outline} />
        {bodies.map((b, i) => {
          const c = Array.isArray(b.centre_mm) ? (b.centre_mm as number[]) : null;
          const z = Array.isArray(b.size_mm) ? (b.size_mm as number[]) : null;
          if (!c || !z || i > 0) return null;
          const [px, py] = at([(c[0] ?? 0) + (z[0] ?? 0) / 2, (c[1] ?? 0) + (z[1] ?? 0) / 2]);
          return <rect key={i} className="plan-body" x={px} y={py} width={s(z[1] ?? 0)} height={s(z[0] ?? 0)} />;
        })}
        <polygon className="plan-support" points={polygon} />
        {stance.support_mm.map((p, i) => {
          const [x, y] = at(p);
          return <circle key={i} className="plan-foot" cx={x} cy={y} r="4" />;
        })}
        <line className="plan-least" x1={cx} y1={cy} x2={lx} y2={ly} />
        <g transform={`translate(${cx} ${cy})`} className="plan-centre">
          <circle r="7" />
          <path d="M0 0 L0 -7 A7 7 0 0 1 7 0 Z M0 0 L0 7 A7 7 0 0 1 -7 0 Z" />
        </g>
        {masses.map((m) => {
          const [mx, my] = at(m.centre);
          const half = 4 + 5 * Math.sqrt(m.mass_g / heaviest);
          const steps: Record<string, [number, number]> = {
            ArrowUp: [1, 0],
            ArrowDown: [-1, 0],
            ArrowLeft: [0, 1],
            ArrowRight: [0, -1],
          };
          return (
            <rect
              key={m.id}
              className={m.moved ? 'plan-mass plan-mass-moved' : 'plan-mass'}
              x={mx - half}
              y={my - half}
              width={2 * half}
              height={2 * half}
              rx="2"
              tabIndex={0}
              role="slider"
              aria-label={`centre of ${words(m.id)}, ${amount(m.mass_g, 'g')}; arrow keys move it`}
              aria-valuenow={m.centre[0] ?? 0}
              aria-valuetext={`${number(m.centre[0])} mm forward, ${number(m.centre[1])} mm left`}
              onPointerDown={(e) => {
                e.currentTarget.setPointerCapture(e.pointerId);
                const [px, py] = spot(e);
                held.current = { mass: m, grip: [px - (m.centre[0] ?? 0), py - (m.centre[1] ?? 0)] };
              }}
              onPointerMove={(e) => {
                if (held.current?.mass.id !== m.id) return;
                const [px, py] = spot(e);
                onMove(m, [px - held.current.grip[0], py - held.current.grip[1], m.centre[2] ?? 0]);
              }}
              onPointerUp={() => {
                if (held.current?.mass.id === m.id) onDrop();
                held.current = null;
              }}
              onPointerCancel={() => {
                held.current = null;
              }}
              onKeyDown={(e) => {
                const step = steps[e.key];
                if (!step) return;
                e.preventDefault();
                onMove(m, [
                  (m.centre[0] ?? 0) + step[0] * m.step_mm,
                  (m.centre[1] ?? 0) + step[1] * m.step_mm,
                  m.centre[2] ?? 0,
                ]);
              }}
              onKeyUp={(e) => {
                if (steps[e.key]) onDrop();
              }}
            >
              <title>{`${words(m.id)}, ${amount(m.mass_g, 'g')}: drag it`}</title>
            </rect>
          );
        })}
        <circle className="plan-worst" cx={lx} cy={ly} r="4" />
        {hover && (
          <>
            <line className="cursor" x1="0" y1="0" x2={hover[0]} y2={hover[1]} />
            <circle className="plan-hover" cx={hover[0]} cy={hover[1]} r="4" />
          </>
        )}
        <text className="tick" x="0" y={-size / 2 + 9} textAnchor="middle">
          front
        </text>
      </svg>
      <figcaption>
        {k === null ? (
          <>
            Ring: how far the ground may tilt each way, {amount(Math.min(...stance.tipping_deg), 'deg')} to{' '}
            {amount(most, 'deg')}. Point at it for one direction.
          </>
        ) : (
          <>
            Tilted towards {amount(stance.direction_deg[k], 'deg')} (0 = front, 90 = left): tips at{' '}
            <b>{amount(stance.tipping_deg[k], 'deg')}</b>.
          </>
        )}
      </figcaption>
    </figure>
  );
}

interface Tried {
  body: string;
  centre: number[];
  stance: StanceResult | null;
}

/// Follows a dragged mass: one question at a time, the newest place next, so that the figures keep up with the hand.
function useTried(revision: number) {
  const [tried, setTried] = useState<Tried | null>(null);
  const asking = useRef(false);
  const next = useRef<Tried | null>(null);
  useEffect(() => {
    next.current = null;
    setTried(null);
  }, [revision]);
  const ask = async () => {
    if (asking.current) return;
    asking.current = true;
    try {
      while (next.current) {
        const now = next.current;
        next.current = null;
        const [x = 0, y = 0, z = 0] = now.centre;
        const stance = await get<StanceResult>(`/api/stance${query({ body: now.body, x, y, z })}`);
        setTried((t) => (t && t.body === now.body ? { ...t, stance } : t));
      }
    } catch (error) {
      setTried(null);
      tellError(error);
    } finally {
      asking.current = false;
    }
  };
  return {
    tried,
    move(body: string, centre: number[]) {
      next.current = { body, centre, stance: null };
      setTried((t) => ({ body, centre, stance: t?.stance ?? null }));
      void ask();
    },
  };
}

function StancePanel({ stance: now, masses: told }: { stance: StanceResult; masses: Assessment['bodies'] }) {
  const document = useStore((s) => s.project?.document);
  const revision = useStore((s) => s.result?.revision ?? 0);
  const pitch = useStore((s) => s.session?.pitch_mm ?? 0);
  const { tried, move } = useTried(revision);
  const bodies = (Array.isArray(document?.bodies) ? document.bodies : []).filter(isObject);
  const asked = isObject(document?.limits) ? document.limits.tipping_angle_deg : undefined;
  const step_mm = pitch > 0 ? pitch / 2 : 4;
  const masses: Mass[] = bodies.flatMap((b, index) => {
    const mass = told.find((m) => m.body === b.id);
    if (typeof b.id !== 'string' || !Array.isArray(b.centre_mm) || !mass) return [];
    const moved = tried?.body === b.id;
    const centre = moved ? tried.centre : (b.centre_mm as number[]);
    return [{ index, id: b.id, mass_g: mass.mass_g.nominal, centre, step_mm, moved }];
  });
  const stance = tried?.stance ?? now;
  const drop = () => {
    const mass = masses.find((m) => m.moved);
    if (mass)
      void edit(`move ${words(mass.id)}`, [{ op: 'set', at: `/bodies/${mass.index}/centre_mm`, value: mass.centre }]);
  };
  if (!stance.judged)
    return (
      <section className="panel">
        <h2>Standing</h2>
        <p className="lead">{stance.why_not || 'Not judged.'}</p>
      </section>
    );
  const ok = typeof asked !== 'number' || stance.least_deg >= asked;
  return (
    <section className="panel">
      <h2>Standing</h2>
      <Plan
        stance={stance}
        bodies={bodies}
        masses={masses}
        onMove={(m, to) =>
          move(
            m.id,
            to.map((v) => Math.round(v / step_mm) * step_mm),
          )
        }
        onDrop={drop}
      />
      <p className="lead plan-how">
        Squares are bodies, larger when heavier. Drag one, or move it with the arrow keys: the figures follow, and
        letting go changes the project.
      </p>
      <dl className="facts facts-column">
        <div>
          <dt>Least tipping angle</dt>
          <dd className={ok ? '' : 'short-text'}>
            <Glyph of={ok ? 'meets' : 'short'} /> {amount(stance.least_deg, 'deg')}
            {typeof asked === 'number' ? `, asked ${amount(asked, 'deg')}` : ''}
          </dd>
        </div>
        <div>
          <dt>may be</dt>
          <dd>
            {amount(stance.least_interval_deg.low, 'deg')} to {amount(stance.least_interval_deg.high, 'deg')}
          </dd>
        </div>
        <div>
          <dt>towards</dt>
          <dd>{amount(stance.least_direction_deg, 'deg')}</dd>
        </div>
        <div>
          <dt>when</dt>
          <dd>
            {stance.worst_text}
            {stance.loaded ? ` (${amount(stance.load_g, 'g')})` : ''}
          </dd>
        </div>
        <div>
          <dt>centre of mass then</dt>
          <dd>
            x {number(stance.centre_mm[0])}, y {number(stance.centre_mm[1])}, z {number(stance.centre_mm[2])} mm
          </dd>
        </div>
      </dl>
      {stance.coarse && (
        <p className="said-warning">
          <Glyph of="warning" /> Not every posture was tried, there are too many: {stance.postures.toLocaleString('en')}{' '}
          were.
        </p>
      )}
    </section>
  );
}

export function Stance() {
  const result = useStore((s) => s.result);
  const running = useBusy();
  const old = useStale();
  const a = result?.design.assessment;
  if (!a) {
    if (running) return <Waiting text="The design is being computed" />;
    return (
      <Nothing title="There is no model to stand yet">
        A load chart needs a whole design. Findings says what is missing.
      </Nothing>
    );
  }
  return (
    <>
      <Head title="Stance" lead="Where it stands firm, which way it tips first, and what it lifts at which reach." />
      <div className={old ? 'stance stale' : 'stance'}>
        <StancePanel stance={a.stance} masses={a.bodies} />
        <div className="stance-main">
          {a.lifting && <LoadChart lifting={a.lifting} />}
          <Obstacles ground={a.ground} site={a.site.judged} />
        </div>
      </div>
    </>
  );
}
