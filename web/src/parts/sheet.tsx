// A drawing on a sheet: zoom by wheel, buttons or keys, drag to move, and the hole under the pointer in pitches. The drawing
// itself is the server's; its axes tell where a point is.
import { ActionIcon } from '@mantine/core';
import { useCallback, useEffect, useMemo, useRef, useState } from 'react';

import { Glyph } from './glyph.tsx';
import { cleaned, type DrawnView, spot } from './sheet_axes.ts';

interface Box {
  x: number;
  y: number;
  w: number;
  h: number;
}

export function Sheet({ svg, title }: { svg: string; title: string }) {
  const holder = useRef<HTMLDivElement>(null);
  const parsed = useMemo(() => cleaned(svg), [svg]);
  const whole = parsed.box;
  const [box, setBox] = useState<Box>(whole);
  const [views, setViews] = useState<DrawnView[]>([]);
  const [at, setAt] = useState<{ text: string; left: number; top: number } | null>(null);
  const drag = useRef<{ x: number; y: number; box: Box } | null>(null);

  useEffect(() => {
    setBox(parsed.box);
    setViews(parsed.views);
    setAt(null);
  }, [parsed]);
  useEffect(() => {
    holder.current?.querySelector('svg')?.setAttribute('viewBox', `${box.x} ${box.y} ${box.w} ${box.h}`);
  }, [box, parsed]);

  const zoom = useCallback(
    (factor: number, cx = 0.5, cy = 0.5) => {
      setBox((b) => {
        const w = Math.min(Math.max(b.w * factor, whole.w / 20), whole.w * 1.2);
        const h = (w / b.w) * b.h;
        return { x: b.x + (b.w - w) * cx, y: b.y + (b.h - h) * cy, w, h };
      });
    },
    [whole],
  );

  // React listens to the wheel passively; zooming must keep the page from scrolling.
  useEffect(() => {
    const element = holder.current;
    if (!element) return undefined;
    const wheel = (e: WheelEvent) => {
      if (!e.ctrlKey && !e.metaKey && !e.shiftKey) return;
      e.preventDefault();
      const r = element.getBoundingClientRect();
      zoom(e.deltaY > 0 ? 1.15 : 1 / 1.15, (e.clientX - r.left) / r.width, (e.clientY - r.top) / r.height);
    };
    element.addEventListener('wheel', wheel, { passive: false });
    return () => element.removeEventListener('wheel', wheel);
  }, [zoom]);

  const toSheet = (clientX: number, clientY: number) => {
    const inner = holder.current?.querySelector('svg') as SVGSVGElement | null;
    const m = inner?.getScreenCTM();
    if (!m) return null;
    const p = new DOMPoint(clientX, clientY).matrixTransform(m.inverse());
    return { x: p.x, y: p.y };
  };
  const move = (e: React.PointerEvent) => {
    const d = drag.current;
    const r = holder.current?.getBoundingClientRect();
    if (!r) return;
    if (d) {
      const scale = Math.max(d.box.w / r.width, d.box.h / r.height);
      setBox({ ...d.box, x: d.box.x - (e.clientX - d.x) * scale, y: d.box.y - (e.clientY - d.y) * scale });
      return;
    }
    const p = toSheet(e.clientX, e.clientY);
    const found = p ? spot(views, p.x, p.y) : null;
    setAt(found ? { text: found, left: e.clientX - r.left, top: e.clientY - r.top } : null);
  };
  const keys = (e: React.KeyboardEvent) => {
    const shift = box.w / 10;
    const by: Record<string, () => void> = {
      '+': () => zoom(1 / 1.25),
      '=': () => zoom(1 / 1.25),
      '-': () => zoom(1.25),
      '0': () => setBox(whole),
      ArrowLeft: () => setBox((b) => ({ ...b, x: b.x - shift })),
      ArrowRight: () => setBox((b) => ({ ...b, x: b.x + shift })),
      ArrowUp: () => setBox((b) => ({ ...b, y: b.y - shift })),
      ArrowDown: () => setBox((b) => ({ ...b, y: b.y + shift })),
    };
    const act = by[e.key];
    if (!act) return;
    e.preventDefault();
    e.stopPropagation();
    act();
  };

  return (
    <div className="sheet">
      <div className="sheet-tools">
        <ActionIcon
          variant="default"
          size="sm"
          onClick={() => zoom(1 / 1.25)}
          aria-label="zoom in"
          title="zoom in (+, or Ctrl and wheel)"
        >
          <Glyph of="plus" />
        </ActionIcon>
        <ActionIcon variant="default" size="sm" onClick={() => zoom(1.25)} aria-label="zoom out" title="zoom out (−)">
          <Glyph of="minus" />
        </ActionIcon>
        <ActionIcon
          variant="default"
          size="sm"
          onClick={() => setBox(whole)}
          aria-label="fit the drawing"
          title="fit (0)"
        >
          <Glyph of="fit" />
        </ActionIcon>
      </div>
      <div
        ref={holder}
        className="sheet-paper"
        tabIndex={0}
        role="img"
        aria-label={title}
        onKeyDown={keys}
        onPointerMove={move}
        onPointerLeave={() => setAt(null)}
        onPointerDown={(e) => {
          drag.current = { x: e.clientX, y: e.clientY, box };
          e.currentTarget.setPointerCapture(e.pointerId);
        }}
        onPointerUp={() => {
          drag.current = null;
        }}
        dangerouslySetInnerHTML={parsed.html}
      />
      {at && (
        <div
          className="sheet-spot"
          style={{
            left: Math.min(at.left + 14, (holder.current?.clientWidth ?? 0) - 190),
            top: Math.max(at.top - 30, 4),
          }}
        >
          {at.text}
        </div>
      )}
    </div>
  );
}
