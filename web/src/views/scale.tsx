// Which scale suits: the project designed anew at every scale between, so that failing functions name themselves.
import { Button, Progress } from '@mantine/core';
import { useEffect, useState } from 'react';

import type { ScaleStudy } from '../contract.ts';
import { get, send } from '../data/api.ts';
import { amount, humane, margin, number, percent, sentence, words } from '../data/format.ts';
import { isObject } from '../data/pointer.ts';
import { tellError, useStore } from '../data/store.ts';
import { Glyph } from '../parts/glyph.tsx';

interface State {
  state: 'none' | 'running' | 'done' | 'failed';
  share: number;
  text: string;
  revision: number;
  study: ScaleStudy | null;
}

function Scales({ study }: { study: ScaleStudy }) {
  if (study.scales.length === 0)
    return (
      <ul className="plain">
        {study.diagnostics.map((d, i) => (
          <li key={i} className="said-warning">
            <Glyph of="warning" /> {sentence(d.message)}
          </li>
        ))}
      </ul>
    );
  return (
    <div className="scroll-x">
      <table className="margins">
        <thead>
          <tr>
            <th scope="col">Scale</th>
            <th scope="col">Works</th>
            <th scope="col" className="num">
              Weakest margin
            </th>
            <th scope="col" className="num">
              Parts off by
            </th>
            <th scope="col">What fails</th>
          </tr>
        </thead>
        <tbody>
          {study.scales.map((s) => {
            const failed = s.functions.filter((f) => f.required && !f.served);
            const best = study.best_scale === s.scale;
            return (
              <tr key={s.scale} className={s.feasible ? '' : 'short'}>
                <th scope="row">
                  1:{number(s.scale)} {best && <span className="tag">best</span>}
                  {study.own_scale === s.scale && <span className="tag">yours</span>}
                  {s.length_mm > 0 && <small className="dim block">{amount(s.length_mm, 'mm')} long</small>}
                </th>
                <td>
                  <Glyph of={s.feasible ? 'meets' : 'short'} /> {s.feasible ? 'yes' : 'no'}
                  {s.proven ? '' : ', not proven'}
                </td>
                <td className="num">{s.feasible ? margin(s.worst_margin) : '–'}</td>
                <td className="num">{percent(s.worst_mismatch)}</td>
                <td>
                  {s.bad_input
                    ? sentence(humane(s.bad_input))
                    : failed.map((f) => `${words(f.id)}: ${humane(f.why)}`).join('; ')}
                </td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </div>
  );
}

export function ScalePanel() {
  const real = useStore((s) => s.project?.document.real);
  const revision = useStore((s) => s.project?.revision ?? 0);
  const [state, setState] = useState<State | null>(null);
  const running = state?.state === 'running';
  useEffect(() => {
    const stop = new AbortController();
    const look = () =>
      get<State>('/api/scale', stop.signal).then(setState, (error: unknown) => {
        if (!stop.signal.aborted) tellError(error);
      });
    void look();
    const timer = running ? window.setInterval(() => void look(), 500) : 0;
    return () => {
      stop.abort();
      window.clearInterval(timer);
    };
  }, [running]);
  const begin = () => send<State>('POST', '/api/scale', {}).then(setState, tellError);
  return (
    <section className="scale-study">
      <h2>Which scale suits</h2>
      {!isObject(real) ? (
        <p className="lead">
          Tell the real machine’s size and the scale under Wants, the whole machine; then every scale around it can be
          tried.
        </p>
      ) : (
        <>
          <p className="lead">Designs the whole model at every scale around yours, each from the same kit.</p>
          <div className="tools">
            <Button size="compact-sm" disabled={running} onClick={() => void begin()}>
              {state?.state === 'done' ? 'Try the scales again' : 'Try the scales'}
            </Button>
            {running && (
              <>
                <Progress className="grow" aria-label="progress of the scale study" value={100 * state.share} />
                <span className="dim">{state.text}</span>
              </>
            )}
          </div>
          {state?.state === 'failed' && <p className="said-error">{state.text}</p>}
          {state?.study && state.revision !== revision && <p className="stale-tag">From before your last change.</p>}
          {state?.study && <Scales study={state.study} />}
        </>
      )}
    </section>
  );
}
