// Trials in the physics engine beside the closed forms: one course recorded and played, a vehicle to drive, every figure.
// Loaded only when it is looked at.
import { Button, NativeSelect, TextInput } from '@mantine/core';
import { useCallback, useEffect, useMemo, useRef, useState } from 'react';

import type { JsonObject, LiftRun, LiveGround, TrialFigures, TrialGround, TrialRun } from '../contract.ts';
import { ApiError, get, send } from '../data/api.ts';
import { amount, number, percent, sentence } from '../data/format.ts';
import { useStale } from '../data/picture.ts';
import { useResource } from '../data/resource.ts';
import { useStore } from '../data/store.ts';
import { numberFrom } from '../form/schema.ts';
import { Glyph } from '../parts/glyph.tsx';
import { Paper, svgAddress } from '../parts/paper.tsx';
import { Fault, Head, Nothing, Waiting } from '../parts/states.tsx';
import { bodiesOf } from './space.tsx';
import { type Instant, kKeys, kKeysOf, Meters, padSticks, playable, type Vehicle } from './trial_run.ts';
import { makeTrialScene, type TrialScene } from './trial_scene.ts';

const kFirst: Record<string, string> = {
  slope: '10',
  side_slope: '10',
  step: '10',
  drop: '10',
  trench: '30',
  washboard: '6',
};

interface Shown {
  ground: [number, number][];
  vehicle: Vehicle;
  wide?: boolean;
  across_deg?: number;
}

/// Asks for something that takes its time and can be given up.
function useErrand<T>(): {
  value: T | null;
  fault: ApiError | null;
  busy: boolean;
  ask: (path: string, body: unknown) => void;
  stop: () => void;
  clear: () => void;
} {
  const [state, setState] = useState<{ value: T | null; fault: ApiError | null; busy: boolean }>({
    value: null,
    fault: null,
    busy: false,
  });
  const running = useRef<AbortController | null>(null);
  const stop = useCallback(() => {
    running.current?.abort();
    running.current = null;
    setState((s) => ({ ...s, busy: false }));
  }, []);
  useEffect(() => () => running.current?.abort(), []);
  const ask = useCallback((path: string, body: unknown) => {
    running.current?.abort();
    const mine = new AbortController();
    running.current = mine;
    setState((s) => ({ ...s, fault: null, busy: true }));
    send<T>('POST', path, body, mine.signal).then(
      (value) => {
        if (!mine.signal.aborted) setState({ value, fault: null, busy: false });
      },
      (error: unknown) => {
        if (mine.signal.aborted) return;
        const fault =
          error instanceof ApiError ? error : new ApiError(0, 'This could not be tried.', String(error), null);
        setState({ value: null, fault, busy: false });
      },
    );
  }, []);
  const clear = useCallback(() => setState({ value: null, fault: null, busy: false }), []);
  return { ...state, ask, stop, clear };
}

/// One live drive: its pictures, its sticks, its meters.
class LiveDrive {
  readonly meters = new Meters();
  latest: (Instant & { input: number; late_s: number; end: string }) | null = null;
  way_mm = 0;
  private source: EventSource;
  private waiting = 0;
  private pad = 0;
  private sent = 0;
  private sticks: Record<string, number> = {};
  private keys = new Map<string, number>();
  over = '';

  constructor(
    readonly id: number,
    readonly has: LiveGround['sticks'],
    private draw: (at: Instant, way_mm: number) => void,
    private ended: (why: string) => void,
  ) {
    this.source = new EventSource(`/api/trial/live/${id}/frames`);
    this.source.addEventListener('frame', (e) => this.take(JSON.parse((e as MessageEvent<string>).data) as never));
    // The browser would ask again for a stream that is over.
    this.source.onerror = () => this.finish(this.over || 'the program does not answer');
    const look = () => {
      this.padLook();
      if (!this.over) this.pad = requestAnimationFrame(look);
    };
    this.pad = requestAnimationFrame(look);
  }
  private take(frame: NonNullable<LiveDrive['latest']>) {
    const before = this.latest;
    if (before) this.way_mm += ((frame.speed_mm_s + before.speed_mm_s) / 2) * (frame.time_s - before.time_s);
    this.latest = frame;
    // The newest is drawn when the browser draws next; whatever came before it is left.
    if (this.waiting === 0)
      this.waiting = requestAnimationFrame(() => {
        this.waiting = 0;
        if (!this.latest) return;
        this.draw(this.latest, this.way_mm);
        this.meters.pictured(this.latest.input, performance.now());
      });
    if (frame.end) this.finish(frame.end);
  }
  private finish(why: string) {
    if (this.over) return;
    this.over = why;
    this.source.close();
    cancelAnimationFrame(this.pad);
    this.ended(why);
  }
  private set(wanted: Record<string, number>, since_ms: number) {
    const sticks: Record<string, number> = { throttle: wanted.throttle ?? 0 };
    for (const { does } of this.has) sticks[does] = wanted[does] ?? 0;
    const changed = Object.keys(sticks).some((k) => Math.abs((sticks[k] ?? 0) - (this.sticks[k] ?? 0)) >= 0.02);
    if (this.over || !changed) return;
    this.sticks = sticks;
    const input = ++this.sent;
    this.meters.pressed(input, since_ms);
    send('POST', `/api/trial/live/${this.id}/stick`, { number: input, ...sticks }).catch(() => undefined);
  }
  private padActive = false;
  private padLook() {
    const pads = typeof navigator.getGamepads === 'function' ? navigator.getGamepads() : [];
    const pad = [...pads].find((p) => p !== null);
    const wanted = pad
      ? padSticks(
          pad.axes,
          pad.buttons.map((b) => b.value),
        )
      : {};
    const active = Object.values(wanted).some((v) => v !== 0);
    if (active || this.padActive) this.set(wanted, performance.now());
    this.padActive = active;
  }
  /// A key of kKeys; false: this machine has nothing for it.
  key(name: string, down: boolean, slow: boolean, since_ms: number): boolean {
    const does = kKeys[name]?.[0] ?? '';
    if (does !== 'throttle' && !this.has.some((s) => s.does === does)) return false;
    if (down) this.keys.set(name, slow ? 0.4 : 1);
    else this.keys.delete(name);
    const wanted: Record<string, number> = {};
    for (const [held, share] of this.keys) {
      const [stick, sense] = kKeys[held]!;
      wanted[stick] = Math.min(Math.max((wanted[stick] ?? 0) + sense * share, -1), 1);
    }
    this.set(wanted, since_ms);
    return true;
  }
  letGo() {
    this.keys.clear();
    this.set({}, performance.now());
  }
  stop() {
    if (!this.over) {
      this.over = 'ended';
      this.source.close();
      cancelAnimationFrame(this.pad);
      cancelAnimationFrame(this.waiting);
      void fetch(`/api/trial/live/${this.id}`, { method: 'DELETE', keepalive: true }).catch(() => undefined);
    }
  }
}

const keyName = (key: string) => (key.length === 1 ? key.toLowerCase() : key);

/// The 3-D picture; `scene` is told to the caller, who poses it.
function Stage({
  shown,
  document: document_,
  onScene,
  live,
  label,
}: {
  shown: Shown;
  document: JsonObject | undefined;
  onScene: (scene: TrialScene | null) => void;
  live: LiveDrive | null;
  label: string;
}) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const scene = useRef<TrialScene | null>(null);
  const [fault, setFault] = useState('');
  const [view, setView] = useState({ azimuth: 112, height: 16, zoom: 1 });
  const drag = useRef<{ x: number; y: number; azimuth: number; height: number } | null>(null);
  const bodies = useMemo(() => bodiesOf(document_), [document_]);
  useEffect(() => {
    const element = canvas.current;
    if (!element) return undefined;
    const style = getComputedStyle(element);
    const colour = (name: string) => style.getPropertyValue(name).trim();
    let made: TrialScene;
    try {
      made = makeTrialScene(element, {
        ...shown,
        bodies,
        ink: colour('--ink'),
        accent: colour('--accent'),
        rust: colour('--rust'),
        paper: colour('--paper'),
      });
    } catch (error) {
      setFault(String(error));
      return undefined;
    }
    scene.current = made;
    const fit = new ResizeObserver(() => made.resize(element.clientWidth, element.clientHeight));
    fit.observe(element);
    made.resize(element.clientWidth, element.clientHeight);
    onScene(made);
    return () => {
      fit.disconnect();
      made.dispose();
      scene.current = null;
      onScene(null);
    };
  }, [shown, bodies, onScene]);
  useEffect(() => scene.current?.turn(view.azimuth, view.height, view.zoom), [view, shown]);
  useEffect(() => {
    if (live) canvas.current?.focus();
  }, [live]);

  const keys = (e: React.KeyboardEvent) => {
    const name = keyName(e.key);
    if (live && kKeys[name] && !e.ctrlKey && !e.metaKey && !e.altKey) {
      if (e.repeat || live.key(name, true, e.shiftKey, performance.now())) {
        e.preventDefault();
        e.stopPropagation();
        return;
      }
    }
    if (live && e.key === ' ') {
      e.preventDefault();
      live.letGo();
      return;
    }
    const by: Record<string, Partial<typeof view>> = {
      ArrowLeft: { azimuth: view.azimuth - 8 },
      ArrowRight: { azimuth: view.azimuth + 8 },
      ArrowUp: { height: Math.min(view.height + 6, 88) },
      ArrowDown: { height: Math.max(view.height - 6, 2) },
      '+': { zoom: Math.min(view.zoom * 1.15, 4) },
      '-': { zoom: Math.max(view.zoom / 1.15, 0.4) },
    };
    const change = by[e.key];
    if (!change) return;
    e.preventDefault();
    setView({ ...view, ...change });
  };
  if (fault)
    return (
      <p className="said-warning">
        <Glyph of="warning" /> This browser draws nothing in space ({fault}). The figures beside it hold all the same.
      </p>
    );
  return (
    <canvas
      ref={canvas}
      className="space-canvas trial-canvas"
      tabIndex={0}
      role="img"
      aria-label={label}
      onKeyDown={keys}
      onKeyUp={(e) => {
        const name = keyName(e.key);
        if (live && kKeys[name]) live.key(name, false, false, performance.now());
      }}
      onBlur={() => live?.letGo()}
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
            height: Math.min(Math.max(d.height + (e.clientY - d.y) * 0.3, 2), 88),
          });
      }}
      onPointerUp={() => {
        drag.current = null;
      }}
    />
  );
}

function Readout({ at }: { at: Instant | null }) {
  return (
    <dl className="trial-readout">
      <div>
        <dt>place</dt>
        <dd>{at ? amount(Math.round(at.x_mm), 'mm', 4) : '–'}</dd>
      </div>
      <div>
        <dt>drive</dt>
        <dd>{at ? `${number(Math.round(at.speed_mm_s))} mm/s` : '–'}</dd>
      </div>
      <div>
        <dt>pull</dt>
        <dd>{at ? amount(Math.round(at.pull_n * 10) / 10, 'N') : '–'}</dd>
      </div>
      <div>
        <dt>nose</dt>
        <dd>{at ? amount(Math.round(at.pitch_deg * 10) / 10, 'deg') : '–'}</dd>
      </div>
      <div>
        <dt>underside</dt>
        <dd>{at?.underside ? 'touches' : 'free'}</dd>
      </div>
    </dl>
  );
}

/// A recorded run with its slider.
function Player({ run, scene, shown }: { run: TrialRun; scene: TrialScene | null; shown: Shown }) {
  const samples = useMemo(() => run.trial.samples ?? [], [run]);
  const play = useMemo(() => playable(samples), [samples]);
  const end_s = samples[samples.length - 1]?.time_s ?? 0;
  const [time_s, setTime] = useState(0);
  const [playing, setPlaying] = useState(true);
  useEffect(() => {
    setTime(0);
    setPlaying(true);
  }, [run]);
  useEffect(() => {
    if (!playing) return undefined;
    let last = 0;
    let frame = requestAnimationFrame(function on(now: number) {
      const passed_s = last > 0 ? (now - last) / 1000 : 0;
      last = now;
      setTime((t) => Math.min(t + passed_s, end_s));
      frame = requestAnimationFrame(on);
    });
    return () => cancelAnimationFrame(frame);
  }, [playing, end_s]);
  useEffect(() => {
    if (playing && time_s >= end_s) setPlaying(false);
  }, [playing, time_s, end_s]);
  const now = play(time_s);
  useEffect(() => {
    if (now) scene?.pose(now.at, now.way_mm);
    // eslint-disable-next-line react-hooks/exhaustive-deps
  }, [time_s, scene, shown]);
  return (
    <div className="trial-player">
      <div className="trial-scrub">
        <Button
          size="compact-sm"
          variant="default"
          onClick={() => {
            if (!playing && time_s >= end_s) setTime(0);
            setPlaying(!playing);
          }}
        >
          {playing ? 'Pause' : 'Play'}
        </Button>
        <input
          type="range"
          aria-label="time in the run"
          aria-valuetext={`${number(Math.round(time_s * 100) / 100)} s`}
          min={0}
          max={end_s}
          step={0.02}
          value={time_s}
          onChange={(e) => {
            setPlaying(false);
            setTime(Number(e.currentTarget.value));
          }}
        />
        <output>
          {time_s.toFixed(2)} of {end_s.toFixed(2)} s
        </output>
      </div>
      <Readout at={now?.at ?? null} />
    </div>
  );
}

function verdictOf(trial: TrialRun['trial']): { good: boolean; text: string } {
  if (trial.why_not) return { good: false, text: `not tried: ${trial.why_not}` };
  if (trial.passed) return { good: true, text: 'passed' };
  if (trial.end === 'passed') return { good: false, text: 'got over, but the underside touches' };
  const stop = trial.stop ? ` (${trial.stop})` : '';
  return {
    good: false,
    text: `${trial.end}${stop}, its centre at ${amount(Math.round(trial.stopped_at_mm ?? 0), 'mm')}`,
  };
}

function Verdict({ run }: { run: TrialRun }) {
  const t = run.trial;
  const told = verdictOf(t);
  const apart = !t.why_not && told.good !== t.closed.passed;
  return (
    <section className="card" aria-label="verdict">
      <h2>{sentence(t.course)}</h2>
      <table className="margins trial-verdict">
        <thead>
          <tr>
            <th scope="col">at friction {number(t.friction)}</th>
            <th scope="col">trial</th>
            <th scope="col">closed form</th>
          </tr>
        </thead>
        <tbody>
          <tr>
            <th scope="row">verdict</th>
            <td>
              <Glyph of={told.good ? 'meets' : 'short'} /> {told.text}
            </td>
            <td>
              <Glyph of={t.closed.passed ? 'meets' : 'short'} />{' '}
              {t.closed.passed ? 'passes' : `stopped by ${t.closed.stop}`}
            </td>
          </tr>
          <tr>
            <th scope="row">nose highest</th>
            <td className="num">{amount(t.most_pitch_deg, 'deg')}</td>
            <td className="num">{amount(t.closed.most_pitch_deg, 'deg')}</td>
          </tr>
          <tr>
            <th scope="row">nose lowest</th>
            <td className="num">{amount(t.least_pitch_deg, 'deg')}</td>
            <td className="num">{amount(t.closed.least_pitch_deg, 'deg')}</td>
          </tr>
        </tbody>
      </table>
      {apart && (
        <p className="said-warning">
          <Glyph of="warning" /> The two disagree{t.cause ? `: ${t.cause}` : ''}.
        </p>
      )}
    </section>
  );
}

/// Rows of figures found both ways, with what has to be said of them.
function FigureRows({ figures }: { figures: TrialFigures['trial']['figures'] }) {
  const size = (v: number | undefined, open: boolean | undefined, unit: string) =>
    `${open ? 'at least ' : ''}${amount(v, unit)}`;
  return (
    <table className="margins">
      <thead>
        <tr>
          <th scope="col">Figure</th>
          <th scope="col" className="num">
            closed form
          </th>
          <th scope="col" className="num">
            trial
          </th>
          <th scope="col" className="num">
            apart
          </th>
        </tr>
      </thead>
      <tbody>
        {figures.map((f) => {
          const notes = [...(f.doubts ?? []), ...(f.cause ? [f.cause] : [])];
          return (
            <tr key={f.what} className={notes.length > 0 ? 'short' : undefined}>
              <th scope="row">
                {sentence(f.what)}
                {f.why_not ? (
                  <p className="lead">Not tried: {f.why_not}.</p>
                ) : (
                  notes.map((n) => (
                    <p key={n} className="lead">
                      <Glyph of="note" size={12} /> {sentence(n)}.
                    </p>
                  ))
                )}
              </th>
              {f.why_not ? (
                <td colSpan={3} />
              ) : (
                <>
                  <td className="num">
                    {f.bound ? 'at most ' : ''}
                    {size(f.closed, f.closed_open, f.unit)}
                  </td>
                  <td className="num">{size(f.trial, f.trial_open, f.unit)}</td>
                  <td className="num">{percent(f.gap ?? 0)}</td>
                </>
              )}
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}

function Figures({ figures }: { figures: TrialFigures['trial'] }) {
  return (
    <section className="card trial-figures" aria-label="every figure both ways">
      <h2>Every figure both ways</h2>
      <p className="lead">Sizes are sought in steps, of 2 mm and 1°: apart is what lies beyond one step.</p>
      {figures.why_not ? (
        <p className="lead">{sentence(figures.why_not)}.</p>
      ) : (
        <FigureRows figures={figures.figures} />
      )}
      <h3>What a trial cannot say</h3>
      <ul className="lead">
        {figures.cannot_say.map((c) => (
          <li key={c}>{sentence(c)}.</li>
        ))}
      </ul>
    </section>
  );
}

/// A load lifted, swung round and set down: what came of it.
function Lifted({ lift }: { lift: LiftRun }) {
  const t = lift.trial;
  if (t.why_not)
    return (
      <section className="card" aria-label="lift">
        <h2>Nothing lifted</h2>
        <p className="lead">{sentence(t.why_not)}.</p>
      </section>
    );
  return (
    <section className="card trial-figures" aria-label="lift">
      <h2>
        {amount(t.load_g, 'g')} set down at {amount(t.edge_radius_mm, 'mm', 4)}
      </h2>
      <p>
        <Glyph of={t.set_down && !t.tipped ? 'meets' : 'short'} /> {sentence(t.verdict ?? '')}.
      </p>
      {lift.drawing && <Paper src={svgAddress(lift.drawing)} alt="the way of hook and load, its swing and margin" />}
      <table className="margins">
        <thead>
          <tr>
            <th scope="col">Movement</th>
            <th scope="col" className="num">
              takes
            </th>
            <th scope="col" className="num">
              greatest swing
            </th>
            <th scope="col" className="num">
              to the tipping line
            </th>
            <th scope="col" className="num">
              least foot
            </th>
          </tr>
        </thead>
        <tbody>
          {(t.phases ?? []).map((p) => (
            <tr key={p.movement}>
              <th scope="row">{sentence(p.movement)}</th>
              <td className="num">{amount((p.end_s ?? 0) - (p.start_s ?? 0), 's')}</td>
              <td className="num">{amount(p.most_swing_deg, 'deg')}</td>
              <td className="num">{amount(p.least_margin_mm, 'mm')}</td>
              <td className="num">{amount(p.least_foot_n, 'N')}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <FigureRows figures={t.figures ?? []} />
      {[...(t.doubts ?? []), ...(t.left_out ?? [])].map((n) => (
        <p key={n} className="lead">
          <Glyph of="note" size={12} /> {sentence(n)}.
        </p>
      ))}
    </section>
  );
}

function LiveState({ live, over }: { live: LiveDrive; over: string }) {
  const [, again] = useState(0);
  useEffect(() => {
    const timer = setInterval(() => again((n) => n + 1), 250);
    return () => clearInterval(timer);
  }, [live]);
  const rate = live.meters.pictures_per_s;
  const delay = live.meters.delay_ms;
  return (
    <div className="trial-player">
      <div className="trial-scrub">
        <p
          className="trial-meters"
          data-pictures={rate.toFixed(1)}
          data-delay={delay === null ? '' : delay.toFixed(1)}
          data-input={live.latest?.input ?? 0}
        >
          {over ? (
            <b>Over: {over}.</b>
          ) : (
            <>
              <b>You drive.</b> Up and down arrows (or W and S, or a gamepad’s sticks); Shift slower, Space stops all.
              {live.has.map((s) => (
                <span key={s.does} className="trial-key">
                  {' '}
                  {kKeysOf[s.does]}: {s.name}, {s.plus} and {s.minus}.
                </span>
              ))}
            </>
          )}{' '}
          <span className="dim">
            {Math.round(rate)} pictures a second
            {delay === null ? '' : `, key to picture at most ${Math.round(delay)} ms`}
            {(live.latest?.late_s ?? 0) > 0.05 ? ', in slow motion: this computer is not fast enough' : ''}
          </span>
        </p>
        <output>{(live.latest?.time_s ?? 0).toFixed(1)} s</output>
      </div>
      <Readout at={live.latest} />
    </div>
  );
}

export default function Trial() {
  const document_ = useStore((s) => s.project?.document);
  const revision = useStore((s) => s.result?.revision ?? 0);
  const old = useStale();
  const ground = useResource<TrialGround>(revision > 0 ? `${revision}|trial` : null, (signal) =>
    get('/api/trial', signal),
  );
  const [course, setCourse] = useState('step');
  const [sizes, setSizes] = useState(kFirst);
  const [friction, setFriction] = useState('nominal');
  const [scene, setScene] = useState<TrialScene | null>(null);
  const recorded = useErrand<TrialRun>();
  const figures = useErrand<TrialFigures>();
  const lift = useErrand<LiftRun>();
  const [load, setLoad] = useState('');
  const [slew, setSlew] = useState('');
  const [input, setInput] = useState('100');
  const [live, setLive] = useState<LiveDrive | null>(null);
  const [liveGround, setLiveGround] = useState<LiveGround | null>(null);
  const [over, setOver] = useState('');
  const [refused, setRefused] = useState<ApiError | null>(null);
  const sceneNow = useRef<TrialScene | null>(null);
  const onScene = useCallback((made: TrialScene | null) => {
    sceneNow.current = made;
    setScene(made);
  }, []);
  const liveNow = useRef<LiveDrive | null>(null);
  const endLive = useCallback(() => {
    liveNow.current?.stop();
    liveNow.current = null;
    setLive(null);
    setLiveGround(null);
  }, []);
  useEffect(() => () => liveNow.current?.stop(), []);
  const { clear: clearRun } = recorded;
  const { clear: clearFigures } = figures;
  const { clear: clearLift } = lift;
  useEffect(() => {
    // Another design is another machine.
    endLive();
    clearRun();
    clearFigures();
    clearLift();
  }, [revision, endLive, clearRun, clearFigures, clearLift]);

  const g = ground.value;
  const told = g?.courses.find((c) => c.course === course);
  const size = told?.unit ? numberFrom(sizes[course] ?? '') : 0;
  const fine = typeof size === 'number' && (!told?.unit || (size > 0 && size <= told.most));
  const spread = g?.friction as { low: number; nominal: number; high: number } | null | undefined;
  const request = () => ({
    course,
    size: typeof size === 'number' ? size : 0,
    friction: spread?.[friction as 'low' | 'nominal' | 'high'] ?? 0,
  });
  const shown = useMemo<Shown | null>(() => {
    if (liveGround)
      return {
        ground: liveGround.ground_mm,
        vehicle: liveGround.vehicle,
        wide: true,
        across_deg: liveGround.across_deg,
      };
    if (recorded.value) return { ground: recorded.value.trial.ground_mm, vehicle: recorded.value.vehicle };
    return null;
  }, [liveGround, recorded.value]);
  const begin = async () => {
    endLive();
    setOver('');
    setRefused(null);
    try {
      const made = await send<LiveGround>('POST', '/api/trial/live', request());
      const drive = new LiveDrive(made.id, made.sticks, (at, way) => sceneNow.current?.pose(at, way), setOver);
      liveNow.current = drive;
      setLiveGround(made);
      setLive(drive);
    } catch (error) {
      setRefused(error instanceof ApiError ? error : new ApiError(0, 'This cannot be driven.', String(error), null));
    }
  };
  const told_ = (text: string, low: number, high: number) => {
    const value = text.trim() === '' ? 0 : numberFrom(text);
    return typeof value === 'number' && value >= low && value <= high ? value : null;
  };
  const wish = {
    load_g: told_(load, 0, 100000),
    slew_deg: told_(slew, -360, 360),
    share: told_(input, 5, 100),
  };
  const liftable = wish.load_g !== null && wish.slew_deg !== null && wish.share !== null;
  const head = (
    <Head title="Trial" lead="The design in a physics engine, beside the figures that the closed forms give.">
      <Button
        size="xs"
        variant="default"
        disabled={!g || !g.present || (!g.drives && !g.lifts)}
        onClick={() => (figures.busy ? figures.stop() : figures.ask('/api/trial/figures', {}))}
      >
        {figures.busy ? 'Stop trying' : 'Every figure'}
      </Button>
    </Head>
  );
  if (revision === 0)
    return <Nothing title="No result yet">Trials are made of a design; the first one is on its way.</Nothing>;
  if (ground.fault) return <Fault error={ground.fault} again={ground.again} />;
  if (!g) return <Waiting text="Asking what can be tried" />;
  if (!g.present)
    return (
      <>
        {head}
        <Nothing inner title="This program has no physics engine">
          <p>{sentence(g.engine)}. Everything else works without it.</p>
        </Nothing>
      </>
    );
  return (
    <>
      {head}
      {old && (
        <p className="stale-tag">
          <Glyph of="note" /> Trials are of the design from before your last change.
        </p>
      )}
      <div className="trial">
        <div className="trial-main">
          {shown ? (
            <Stage
              shown={shown}
              document={document_}
              onScene={onScene}
              live={over ? null : live}
              label={
                live
                  ? 'the machine on its course; the keys beside drive it, dragging turns the picture'
                  : 'the vehicle on its course; arrow keys turn the picture, plus and minus zoom'
              }
            />
          ) : (
            <Nothing inner title={g.drives ? 'Nothing tried yet' : 'It does not drive'}>
              <p>
                {g.drives
                  ? 'Choose a course and run the trial, or drive it yourself.'
                  : `${sentence(g.why_not)}.${g.lifts ? ' “Every figure” tries the loads that tip it.' : ''}`}
              </p>
            </Nothing>
          )}
          {live ? (
            <LiveState live={live} over={over} />
          ) : (
            recorded.value && shown && <Player run={recorded.value} scene={scene} shown={shown} />
          )}
          {lift.busy && (
            <p className="lead" role="status">
              Lifting, and again with half the time step, other friction and a lighter load.
            </p>
          )}
          {lift.fault && <Fault error={lift.fault} />}
          {lift.value && <Lifted lift={lift.value} />}
          {figures.busy && (
            <p className="lead" role="status">
              Trying every figure, each with half the time step and other friction as well. It takes a while.
            </p>
          )}
          {figures.fault && <Fault error={figures.fault} />}
          {figures.value && <Figures figures={figures.value.trial} />}
        </div>
        <div className="trial-side">
          {g.drives && (
            <section className="panel">
              <NativeSelect
                size="xs"
                label="Course"
                value={course}
                onChange={(e) => setCourse(e.currentTarget.value)}
                data={g.courses.map((c) => ({ value: c.course, label: c.course.replace('_', ' ') }))}
              />
              {told?.unit && (
                <TextInput
                  size="xs"
                  label={sentence(told.size)}
                  value={sizes[course] ?? ''}
                  error={fine ? undefined : `more than 0, at most ${amount(told.most, told.unit, 4)}`}
                  rightSection={<span className="unit">{told.unit}</span>}
                  onChange={(e) => setSizes({ ...sizes, [course]: e.currentTarget.value })}
                />
              )}
              <NativeSelect
                size="xs"
                label="Friction"
                value={friction}
                onChange={(e) => setFriction(e.currentTarget.value)}
                data={(['low', 'nominal', 'high'] as const).map((k) => ({
                  value: k,
                  label: `${number(spread?.[k])} (${k === 'nominal' ? 'usual' : k})`,
                }))}
              />
              <div className="trial-buttons">
                <Button
                  size="xs"
                  disabled={!fine}
                  onClick={() => {
                    if (recorded.busy) return recorded.stop();
                    endLive();
                    recorded.ask('/api/trial/course', request());
                  }}
                >
                  {recorded.busy ? 'Stop the trial' : 'Run the trial'}
                </Button>
                {live && !over ? (
                  <Button size="xs" variant="default" onClick={endLive}>
                    End the drive
                  </Button>
                ) : (
                  <Button size="xs" variant="default" disabled={!fine} onClick={() => void begin()}>
                    Drive it yourself
                  </Button>
                )}
              </div>
              {recorded.fault && (
                <p className="said-warning">
                  <Glyph of="warning" /> {recorded.fault.message} {recorded.fault.detail}
                </p>
              )}
              {refused && (
                <p className="said-warning">
                  <Glyph of="warning" /> {refused.message} {refused.detail}
                </p>
              )}
            </section>
          )}
          {recorded.value && !live && <Verdict run={recorded.value} />}
          {g.lifts && (
            <section className="panel" aria-label="lift a load">
              <TextInput
                size="xs"
                label="Load to lift"
                placeholder="as the design was asked"
                value={load}
                error={wish.load_g === null ? 'up to 100,000 g' : undefined}
                rightSection={<span className="unit">g</span>}
                onChange={(e) => setLoad(e.currentTarget.value)}
              />
              <TextInput
                size="xs"
                label="Swung round by"
                placeholder="the chart’s worst"
                value={slew}
                error={wish.slew_deg === null ? '-360 to 360°' : undefined}
                rightSection={<span className="unit">deg</span>}
                onChange={(e) => setSlew(e.currentTarget.value)}
              />
              <TextInput
                size="xs"
                label="Slewing input"
                value={input}
                error={wish.share === null ? '5 to 100 %' : undefined}
                rightSection={<span className="unit">%</span>}
                onChange={(e) => setInput(e.currentTarget.value)}
              />
              <div className="trial-buttons">
                <Button
                  size="xs"
                  disabled={!liftable}
                  onClick={() =>
                    lift.busy
                      ? lift.stop()
                      : lift.ask('/api/trial/lift', {
                          load_g: wish.load_g,
                          slew_deg: wish.slew_deg,
                          input: (wish.share ?? 100) / 100,
                        })
                  }
                >
                  {lift.busy ? 'Stop lifting' : 'Lift and set down'}
                </Button>
              </div>
            </section>
          )}
          <p className="lead">
            {g.engine}. A run is from the side and even across, a slope across and what you drive yourself in space. How
            hard belts turn is not predicted. For models only, never for real lifting or driving.
          </p>
        </div>
      </div>
    </>
  );
}
