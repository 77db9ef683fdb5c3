// Sockets and run time, the working cycle, the handset and its guide: one page each.
import { SegmentedControl } from '@mantine/core';
import { scaleLinear } from 'd3-scale';
import { useState } from 'react';

import type { Power as PowerResult } from '../contract.ts';
import { amount, number, words } from '../data/format.ts';
import { useBusy, useStale } from '../data/picture.ts';
import { go } from '../data/place.ts';
import { useStore } from '../data/store.ts';
import { Glyph } from '../parts/glyph.tsx';
import { Head, Nothing, Waiting } from '../parts/states.tsx';
import { WorkingCycle } from './duty.tsx';
import { Guide, Handset } from './handset.tsx';

function Load({ running, stall, limit }: { running: number; stall?: number; limit: number }) {
  const x = scaleLinear()
    .domain([0, Math.max(limit, stall ?? 0) * 1.04])
    .range([0, 100]);
  return (
    <span className="load" aria-hidden="true">
      {stall !== undefined && <span className="load-stall" style={{ width: `${x(stall)}%` }} />}
      <span className="load-run" style={{ width: `${x(running)}%` }} />
      <span className="load-limit" style={{ left: `${x(limit)}%` }} />
    </span>
  );
}

function Sockets({ power: p }: { power: PowerResult }) {
  const hubs = p.hub_limit_ma.map((limit, i) => ({
    hub: i + 1,
    limit,
    running: p.hub_running_ma[i] ?? 0,
    sockets: p.sockets.filter((s) => s.hub === i + 1),
  }));
  return (
    <>
      <dl className="facts facts-big">
        <div>
          <dt>Run time</dt>
          <dd>
            {amount(p.run_time_min.nominal, 'min')}
            <small>
              {number(p.run_time_min.low)} to {number(p.run_time_min.high)} min
            </small>
          </dd>
        </div>
        <div>
          <dt>All at once</dt>
          <dd>{amount(p.running_ma, 'mA')}</dd>
        </div>
        <div>
          <dt>On average</dt>
          <dd>
            {amount(p.average_ma, 'mA')}
            <small>each by its share of the time</small>
          </dd>
        </div>
        <div>
          <dt>Cells hold</dt>
          <dd>{amount(p.capacity_mah, 'mAh')}</dd>
        </div>
        <div>
          <dt>Sockets</dt>
          <dd className={p.fits ? '' : 'short-text'}>
            <Glyph of={p.fits ? 'meets' : 'short'} size={16} /> {p.fits ? 'all within limits' : 'over a limit'}
          </dd>
        </div>
      </dl>
      {hubs.map((h) => (
        <section key={h.hub} className="card">
          <h2>
            Hub {h.hub}{' '}
            <span className="dim">
              {amount(h.running, 'mA')} of {amount(h.limit, 'mA')}
            </span>
          </h2>
          <Load running={h.running} limit={h.limit} />
          <table className="margins">
            <thead>
              <tr>
                <th scope="col">Socket</th>
                <th scope="col">Function</th>
                <th scope="col" className="num">
                  Runs at
                </th>
                <th scope="col" className="num">
                  Stalls at
                </th>
                <th scope="col" className="num">
                  Limit
                </th>
                <th scope="col" className="bar-col">
                  Running, stalled, limit
                </th>
              </tr>
            </thead>
            <tbody>
              {h.sockets.map((s) => (
                <tr key={s.socket} className={s.stall_ma > s.limit_ma * 1.0001 ? 'short' : ''}>
                  <td>{s.socket}</td>
                  <th scope="row">
                    <button type="button" className="link" onClick={() => go({ view: 'wants', chosen: s.function })}>
                      {words(s.function)}
                    </button>
                  </th>
                  <td className="num">{amount(s.running_ma, 'mA')}</td>
                  <td className="num">{amount(s.stall_ma, 'mA')}</td>
                  <td className="num">{amount(s.limit_ma, 'mA')}</td>
                  <td className="bar-col">
                    <Load running={s.running_ma} stall={s.stall_ma} limit={s.limit_ma} />
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </section>
      ))}
    </>
  );
}

const kPages = [
  { value: 'sockets', label: 'Sockets' },
  { value: 'cycle', label: 'Working cycle' },
  { value: 'handset', label: 'Handset' },
  { value: 'guide', label: 'Set-up guide' },
];

export function Power() {
  const [shown, setShown] = useState('sockets');
  const result = useStore((s) => s.result);
  const running = useBusy();
  const old = useStale();
  const p = result?.design.assessment?.power;
  if (!p)
    return running ? (
      <Waiting text="The design is being computed" />
    ) : (
      <Nothing title="No power plan yet">Currents and run time need a whole design.</Nothing>
    );
  return (
    <>
      <Head
        title="Power and handset"
        lead="What hangs on which socket, how long the cells last, and which stick moves what."
      >
        <SegmentedControl size="xs" aria-label="page" data={kPages} value={shown} onChange={setShown} />
      </Head>
      <div className={old ? 'narrow narrow-wide stale' : 'narrow narrow-wide'}>
        {shown === 'sockets' && <Sockets power={p} />}
        {shown === 'cycle' &&
          (p.duty ? (
            <WorkingCycle duty={p.duty} />
          ) : (
            <Nothing inner title="No cycle was judged">
              No function draws current.
            </Nothing>
          ))}
        {shown === 'handset' && <Handset />}
        {shown === 'guide' && <Guide />}
        <p className="caution">
          A stalled motor heats its wires and the cells: stop it within seconds. Do not mix old and new cells, mind
          their polarity, and never bridge them.
        </p>
      </div>
    </>
  );
}
